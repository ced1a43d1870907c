//! Puts modules of the page into one script: all of them into a classic one, for pages that may not load a second file (opened from a disk, or in a frame
//! without an origin), and of a release those that the page begins with, which come in one piece then and a fifth smaller.
//!
//! Every module becomes a function that is run when it is first needed; its exports are getters, so a name has the value it has in its own module. What
//! this cannot do is refused: modules that need each other in a circle, `export … from`, `export default`, and addresses that are put together.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use oxc_allocator::Allocator;
use oxc_parser::Parser;
use oxc_span::{SourceType, Span};
use oxc_syntax::module_record::{ExportExportName, ExportLocalName, ImportImportName, ModuleRecord};

use crate::shrink::module_script;
use crate::{Problem, release};

/// The modules that a script begins with and all that they need, by path below the folder, as one script that runs the first of them. In a worker the page
/// says which (`counterpoiseEntry`).
///
/// # Errors
/// Where a module cannot be read, or does what cannot be put into one script.
pub fn linked(folder: &Path, entries: &[&str], leave_out: &[&str]) -> Result<String, Problem> {
    let mut made = BTreeMap::new();
    let mut under_way = Vec::new();
    for entry in entries {
        add(folder, entry, &Whole { leave_out }, &mut made, &mut under_way)?;
    }
    let modules = functions(&made);
    let first = entries.first().copied().unwrap_or_default();
    Ok(format!(
        r#"(() => {{
"use strict";
const own = globalThis.document?.currentScript;
if (own) {{
  globalThis.counterpoiseScript = own.textContent;
  globalThis.counterpoiseFiles = JSON.parse(document.getElementById("counterpoise-files").textContent);
}}
{NEED}
const modules = {{
{modules}}};
need(globalThis.counterpoiseEntry ?? {first:?});
}})();
"#
    ))
}

/// How a module is run when it is first needed, and only then.
const NEED: &str = r#"const made = {};
const need = (path) => {
  if (!Object.hasOwn(made, path)) {
    if (!Object.hasOwn(modules, path)) throw new Error(path + ": not in this file");
    made[path] = {};
    modules[path]((names) => Object.defineProperties(made[path], Object.fromEntries(Object.entries(names).map(([name, get]) => [name, { get, enumerable: true }]))), need, later);
  }
  return made[path];
};
const later = (path) => Promise.resolve().then(() => need(path));"#;

fn functions(made: &BTreeMap<String, String>) -> String {
    made.iter().map(|(path, body)| format!("{path:?}: (give, need, later) => {{\n{body}\n}},\n")).collect()
}

/// Puts the modules that a page begins with, `entry` and all that it needs at once, into one module beside it, and lets every other module take them from
/// there. Workers do so as well: nothing in it runs before it is needed.
///
/// # Errors
/// As [`linked`], or where the folder cannot be written.
pub fn join(folder: &Path, entry: &str, into: &str) -> Result<(), Problem> {
    let failed = |path: &str, error: &std::io::Error| format!("{path}: {error}");
    let mut first = BTreeMap::new();
    let beginning = Beginning { into };
    add(folder, entry, &beginning, &mut first, &mut Vec::new())?;
    let script = format!("{NEED}\nconst modules = {{\n{}}};\nexport {{ need, later }};\n", functions(&first));
    let write = |path: &str, text: String| {
        std::fs::write(folder.join(path), module_script(&text)?).map_err(|error| failed(path, &error))
    };
    for path in first.keys() {
        std::fs::remove_file(folder.join(path)).map_err(|error| failed(path, &error))?;
    }
    write(into, script)?;
    write(entry, format!("import {{ need }} from {:?};\nneed({entry:?});\n", relative(entry, into)))?;
    let mut others: Vec<PathBuf> = Vec::new();
    for part in ["js", "pkg"] {
        release::collect(&folder.join(part), &mut others).map_err(|error| failed(part, &error))?;
    }
    for file in others {
        let path = file.strip_prefix(folder).unwrap_or(&file).to_string_lossy().replace('\\', "/");
        if path.ends_with(".js") && path != into && path != entry {
            let text = std::fs::read_to_string(&file).map_err(|error| failed(&path, &error))?;
            if let Some(text) = taking_from(&text, &path, &first, into)? {
                write(&path, text)?;
            }
        }
    }
    Ok(())
}

/// What becomes of what a module says of others and of itself.
trait Place {
    /// Whether a module is no part of the script.
    fn is_left_out(&self, path: &str) -> bool;
    /// Whether modules that are fetched later are.
    const TAKES_LATER: bool;
    /// What fetches a module later.
    fn fetch(&self, path: &str) -> String;
    /// Where a module says that it lies.
    fn meta(&self, path: &str) -> String;
}

/// All modules in one script, which lies nowhere.
struct Whole<'a> {
    leave_out: &'a [&'a str],
}

impl Place for Whole<'_> {
    const TAKES_LATER: bool = true;
    fn is_left_out(&self, path: &str) -> bool {
        self.leave_out.contains(&path)
    }
    fn fetch(&self, path: &str) -> String {
        format!("later({path:?})")
    }
    fn meta(&self, _: &str) -> String {
        "({ url: \"about:blank\" })".to_owned()
    }
}

/// The first modules in one of them.
struct Beginning<'a> {
    into: &'a str,
}

impl Place for Beginning<'_> {
    const TAKES_LATER: bool = false;
    fn is_left_out(&self, _: &str) -> bool {
        false
    }
    fn fetch(&self, path: &str) -> String {
        format!("import({:?})", relative(self.into, path))
    }
    fn meta(&self, path: &str) -> String {
        format!("({{ url: new URL({:?}, import.meta.url).href }})", relative(self.into, path))
    }
}

fn add<P: Place>(
    folder: &Path,
    path: &str,
    place: &P,
    made: &mut BTreeMap<String, String>,
    under_way: &mut Vec<String>,
) -> Result<(), Problem> {
    if made.contains_key(path) || place.is_left_out(path) {
        return Ok(());
    }
    if under_way.iter().any(|open| open == path) {
        return Err(format!("{path}: needs itself, by way of {}", under_way.join(", ")));
    }
    under_way.push(path.to_owned());
    let text = std::fs::read_to_string(folder.join(path)).map_err(|error| format!("{path}: {error}"))?;
    let (body, needed, wanted) = as_function(&text, path, place)?;
    for next in needed {
        add(folder, &next, place, made, under_way)?;
    }
    under_way.pop();
    made.insert(path.to_owned(), body);
    // What is fetched later may need what is fetching it.
    for next in wanted.into_iter().filter(|_| P::TAKES_LATER) {
        if !under_way.contains(&next) {
            add(folder, &next, place, made, &mut Vec::new())?;
        }
    }
    Ok(())
}

/// A module that takes what is in the first script from there; `None` where it needs none of that.
fn taking_from(
    text: &str,
    path: &str,
    first: &BTreeMap<String, String>,
    into: &str,
) -> Result<Option<String>, Problem> {
    let allocator = Allocator::default();
    let parsed = Parser::new(&allocator, text, SourceType::mjs()).parse();
    if let Some(error) = parsed.errors.first() {
        return Err(format!("{path}: {error}"));
    }
    let record: &ModuleRecord<'_> = &parsed.module_record;
    let mut edits: Vec<(Span, String)> = Vec::new();
    let mut prelude = String::new();
    for (request, places) in &record.requested_modules {
        let resolved = resolve(path, request)?;
        if first.contains_key(&resolved) {
            edits.extend(places.iter().map(|place| (place.statement_span, String::new())));
            prelude.push_str(&needing(record, request, &resolved));
        }
    }
    for import in &record.dynamic_imports {
        // An address that is put together is of another module's own making, never of one that the page begins with.
        if let Ok(resolved) = fetched(text, path, import.module_request)
            && first.contains_key(&resolved)
        {
            edits.push((import.span, format!("later({resolved:?})")));
        }
    }
    if edits.is_empty() {
        return Ok(None);
    }
    let from = relative(path, into);
    Ok(Some(format!("import {{ need, later }} from {from:?};\n{prelude}{}", edited(text, edits))))
}

/// A module's body as that of a function, the modules it needs at once, and those it fetches later.
fn as_function(
    text: &str,
    path: &str,
    place: &impl Place,
) -> Result<(String, Vec<String>, Vec<String>), Problem> {
    let allocator = Allocator::default();
    let parsed = Parser::new(&allocator, text, SourceType::mjs()).parse();
    if let Some(error) = parsed.errors.first() {
        return Err(format!("{path}: {error}"));
    }
    let record: &ModuleRecord<'_> = &parsed.module_record;
    if !record.star_export_entries.is_empty() || !record.indirect_export_entries.is_empty() {
        return Err(format!("{path}: exports of another module"));
    }
    let slice = |span: Span| text.get(span.start as usize..span.end as usize).unwrap_or_default();
    let mut edits: Vec<(Span, String)> = Vec::new();
    let mut needed = Vec::new();
    let mut prelude = String::new();
    for (request, places) in &record.requested_modules {
        let resolved = resolve(path, request)?;
        edits.extend(places.iter().map(|place| (place.statement_span, String::new())));
        prelude.push_str(&needing(record, request, &resolved));
        needed.push(resolved);
    }
    let mut given = Vec::new();
    for entry in &record.local_export_entries {
        let (name, local) = match (&entry.export_name, &entry.local_name) {
            (ExportExportName::Name(name), ExportLocalName::Name(local)) => (name.name, local.name),
            (ExportExportName::Default(_), ExportLocalName::Name(local)) => ("default".into(), local.name),
            _ => return Err(format!("{path}: an export without a name")),
        };
        given.push(format!("{:?}: () => {local}", name.as_str()));
        let statement = entry.statement_span;
        let written = slice(statement);
        let rest = written.strip_prefix("export").map(str::trim_start).unwrap_or_default();
        if rest.starts_with("default") {
            return Err(format!("{path}: `export default`"));
        }
        let whole = rest.starts_with('{');
        let end = if whole { statement.end } else { statement.start + (written.len() - rest.len()) as u32 };
        edits.push((Span::new(statement.start, end), String::new()));
    }
    let mut wanted = Vec::new();
    for import in &record.dynamic_imports {
        let resolved = fetched(text, path, import.module_request)?;
        edits.push((import.span, place.fetch(&resolved)));
        wanted.push(resolved);
    }
    edits.extend(record.import_metas.iter().map(|span| (*span, place.meta(path))));
    let mut body = String::new();
    if !given.is_empty() {
        body.push_str(&format!("give({{ {} }});\n", given.join(", ")));
    }
    body.push_str(&prelude);
    body.push_str(&edited(text, edits));
    Ok((body, needed, wanted))
}

/// What takes the names that a module imports from another.
fn needing(record: &ModuleRecord<'_>, request: &str, resolved: &str) -> String {
    let entries = || record.import_entries.iter().filter(|entry| entry.module_request.name == request);
    let names: Vec<String> = entries()
        .filter_map(|entry| match &entry.import_name {
            ImportImportName::Name(name) => Some(format!("{}: {}", name.name, entry.local_name.name)),
            ImportImportName::Default(_) => Some(format!("default: {}", entry.local_name.name)),
            ImportImportName::NamespaceObject => None,
        })
        .collect();
    let whole = entries().filter(|entry| entry.import_name.is_namespace_object());
    whole.fold(format!("const {{ {} }} = need({resolved:?});\n", names.join(", ")), |before, entry| {
        format!("{before}const {} = need({resolved:?});\n", entry.local_name.name)
    })
}

/// The module that `import()` asks for.
fn fetched(text: &str, path: &str, request: Span) -> Result<String, Problem> {
    let request = text.get(request.start as usize..request.end as usize).unwrap_or_default();
    // The shrinker writes texts between whichever quotes are shortest.
    let plain =
        ['"', '\'', '`'].into_iter().find_map(|quote| request.strip_prefix(quote)?.strip_suffix(quote));
    let plain = plain.filter(|plain| !plain.contains("${"));
    resolve(path, plain.ok_or_else(|| format!("{path}: fetches {request}, which is put together"))?)
}

fn edited(text: &str, mut edits: Vec<(Span, String)>) -> String {
    edits.sort_by_key(|(span, _)| span.start);
    edits.dedup_by_key(|(span, _)| span.start);
    let mut made = String::new();
    let mut at = 0;
    for (span, put) in edits {
        made.push_str(text.get(at..span.start as usize).unwrap_or_default());
        made.push_str(&put);
        at = span.end as usize;
    }
    made.push_str(text.get(at..).unwrap_or_default());
    made
}

/// What a module calls another, both by their paths below the folder.
fn relative(from: &str, to: &str) -> String {
    let mut from: Vec<&str> = from.split('/').collect();
    from.pop();
    let to: Vec<&str> = to.split('/').collect();
    let same = from.iter().zip(&to).take_while(|(a, b)| a == b).count();
    let up = from.len() - same;
    let start = if up == 0 { "./".to_owned() } else { "../".repeat(up) };
    start + &to.get(same..).unwrap_or_default().join("/")
}

/// A path below the folder, from one that is relative to a module.
fn resolve(from: &str, request: &str) -> Result<String, Problem> {
    if !request.starts_with('.') {
        return Err(format!("{from}: needs {request}, which is no file of the page"));
    }
    let mut parts: Vec<&str> = from.split('/').collect();
    parts.pop();
    for part in request.split('/') {
        match part {
            "." => {}
            ".." => {
                parts.pop().ok_or_else(|| format!("{from}: {request} leaves the page"))?;
            }
            part => parts.push(part),
        }
    }
    Ok(parts.join("/"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn module_becomes_a_function_that_gives_and_needs() {
        let text = "import init, * as core from \"../pkg/core.js\";\nimport { a, b as c } from \"./a.js\";\nexport const one = a(c);\nexport function two() { return import(\"./late.js\"); }\nconst three = new URL(\"x\", import.meta.url);\nexport { three as default, one as uno };\n";
        let (body, needed, wanted) = as_function(text, "js/main.js", &Whole { leave_out: &[] }).unwrap();
        assert_eq!(wanted, ["js/late.js"]);
        let mut needed = needed;
        needed.sort();
        assert_eq!(needed, ["js/a.js", "pkg/core.js"]);
        for wanted in [
            "const { default: init } = need(\"pkg/core.js\")",
            "const core = need(\"pkg/core.js\")",
            "const { a: a, b: c } = need(\"js/a.js\")",
            "\nconst one = a(c);",
            "\nfunction two() { return later(\"js/late.js\"); }",
            "({ url: \"about:blank\" }).url",
            "\"default\": () => three",
            "\"uno\": () => one",
        ] {
            assert!(body.contains(wanted), "{wanted}\n{body}");
        }
        assert!(!body.contains("export") && !body.contains("import"), "{body}");
    }

    #[test]
    fn first_modules_are_one_and_all_others_take_them_from_there() {
        let folder = std::env::temp_dir().join(format!("counterpoise-join-{}", std::process::id()));
        let write = |path: &str, text: &str| {
            let file = folder.join(path);
            std::fs::create_dir_all(file.parent().unwrap()).unwrap();
            std::fs::write(file, text).unwrap();
        };
        write("js/main.js", "import { a } from './a.js';\nimport('./late/b.js').then(({ b }) => b(a));\n");
        write("js/a.js", "import * as core from '../pkg/core.js';\nexport const a = core.one;\n");
        write("pkg/core.js", "export const one = new URL('x', import.meta.url);\n");
        write(
            "js/late/b.js",
            "import { a as first } from '../a.js';\nimport c from '../c.js';\nexport const b = () => first + c() + import('../../pkg/core.js');\n",
        );
        write("js/c.js", "export default function c() {}\n");
        join(&folder, "js/main.js", "js/first.js").unwrap();
        let read = |path: &str| std::fs::read_to_string(folder.join(path));
        assert!(read("js/a.js").is_err() && read("pkg/core.js").is_err());
        assert!(read("js/c.js").unwrap().starts_with("export default"));
        let (main, first, late) =
            (read("js/main.js").unwrap(), read("js/first.js").unwrap(), read("js/late/b.js").unwrap());
        std::fs::remove_dir_all(&folder).unwrap();
        let bare = |text: &str| text.replace(['\'', '`'], "\"").replace([' ', '\n'], "");
        assert!(bare(&main).contains("from\"./first.js\""), "{main}");
        assert!(bare(&first).contains("import(\"./late/b.js\")"), "{first}");
        assert!(bare(&first).contains("newURL(\"../pkg/core.js\",import.meta.url)"), "{first}");
        for wanted in ["from\"../first.js\"", "(\"js/a.js\")", "from\"../c.js\"", "(\"pkg/core.js\")"] {
            assert!(bare(&late).contains(wanted), "{wanted}\n{late}");
        }
        assert!(!late.contains("a.js\"from") && !bare(&late).contains("import(\""), "{late}");
    }

    #[test]
    fn modules_are_called_by_the_way_to_them() {
        assert_eq!(relative("js/main.js", "js/first.js"), "./first.js");
        assert_eq!(relative("js/panels/a.js", "js/first.js"), "../first.js");
        assert_eq!(relative("js/first.js", "pkg/balance/core.js"), "../pkg/balance/core.js");
        assert_eq!(relative("main.js", "js/a.js"), "./js/a.js");
    }

    #[test]
    fn what_one_script_cannot_do_is_refused() {
        for text in [
            "export * from \"./a.js\";",
            "export { a } from \"./a.js\";",
            "export default 3;",
            "import a from \"elsewhere\";",
            "const a = \"x\"; import(`./${a}.js`);",
            "export function (",
        ] {
            assert!(as_function(text, "js/main.js", &Whole { leave_out: &[] }).is_err(), "{text}");
        }
    }
}

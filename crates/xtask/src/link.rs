//! Puts the page's modules into one classic script, for pages that may not load a second file: opened from a disk, or in a frame without an origin.
//!
//! Every module becomes a function that is run when it is first needed; its exports are getters, so a name has the value it has in its own module. What
//! this cannot do is refused: modules that need each other in a circle, `export … from`, `export default`, and addresses that are put together.

use std::collections::BTreeMap;
use std::path::Path;

use oxc_allocator::Allocator;
use oxc_parser::Parser;
use oxc_span::{SourceType, Span};
use oxc_syntax::module_record::{ExportExportName, ExportLocalName, ImportImportName, ModuleRecord};

use crate::Problem;

/// The modules that a script begins with and all that they need, by path below the folder, as one script that runs the first of them. In a worker the page
/// says which (`counterpoiseEntry`).
///
/// # Errors
/// Where a module cannot be read, or does what cannot be put into one script.
pub fn linked(folder: &Path, entries: &[&str], leave_out: &[&str]) -> Result<String, Problem> {
    let mut made = BTreeMap::new();
    let mut under_way = Vec::new();
    for entry in entries {
        add(folder, entry, leave_out, &mut made, &mut under_way)?;
    }
    let modules: String = made
        .iter()
        .map(|(path, body)| format!("{path:?}: (give, need, later) => {{\n{body}\n}},\n"))
        .collect();
    let first = entries.first().copied().unwrap_or_default();
    Ok(format!(
        r#"(() => {{
"use strict";
const own = globalThis.document?.currentScript;
if (own) {{
  globalThis.counterpoiseScript = own.textContent;
  globalThis.counterpoiseFiles = JSON.parse(document.getElementById("counterpoise-files").textContent);
}}
const made = {{}};
const need = (path) => {{
  if (!Object.hasOwn(made, path)) {{
    if (!Object.hasOwn(modules, path)) throw new Error(path + ": not in this file");
    made[path] = {{}};
    modules[path]((names) => Object.defineProperties(made[path], Object.fromEntries(Object.entries(names).map(([name, get]) => [name, {{ get, enumerable: true }}]))), need, later);
  }}
  return made[path];
}};
const later = (path) => Promise.resolve().then(() => need(path));
const modules = {{
{modules}}};
need(globalThis.counterpoiseEntry ?? {first:?});
}})();
"#
    ))
}

fn add(
    folder: &Path,
    path: &str,
    leave_out: &[&str],
    made: &mut BTreeMap<String, String>,
    under_way: &mut Vec<String>,
) -> Result<(), Problem> {
    if made.contains_key(path) || leave_out.contains(&path) {
        return Ok(());
    }
    if under_way.iter().any(|open| open == path) {
        return Err(format!("{path}: needs itself, by way of {}", under_way.join(", ")));
    }
    under_way.push(path.to_owned());
    let text = std::fs::read_to_string(folder.join(path)).map_err(|error| format!("{path}: {error}"))?;
    let (body, needed, wanted) = as_function(&text, path)?;
    for next in needed {
        add(folder, &next, leave_out, made, under_way)?;
    }
    under_way.pop();
    made.insert(path.to_owned(), body);
    // What is fetched later may need what is fetching it.
    for next in wanted {
        if !under_way.contains(&next) {
            add(folder, &next, leave_out, made, &mut Vec::new())?;
        }
    }
    Ok(())
}

/// A module's body as that of a function, the modules it needs at once, and those it fetches later.
fn as_function(text: &str, path: &str) -> Result<(String, Vec<String>, Vec<String>), Problem> {
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
        let names: Vec<String> = record
            .import_entries
            .iter()
            .filter(|entry| entry.module_request.name == *request)
            .filter_map(|entry| match &entry.import_name {
                ImportImportName::Name(name) => Some(format!("{}: {}", name.name, entry.local_name.name)),
                ImportImportName::Default(_) => Some(format!("default: {}", entry.local_name.name)),
                ImportImportName::NamespaceObject => None,
            })
            .collect();
        prelude.push_str(&format!("const {{ {} }} = need({resolved:?});\n", names.join(", ")));
        for entry in &record.import_entries {
            if entry.module_request.name == *request && entry.import_name.is_namespace_object() {
                prelude.push_str(&format!("const {} = need({resolved:?});\n", entry.local_name.name));
            }
        }
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
        let request = slice(import.module_request);
        // The shrinker writes texts between whichever quotes are shortest.
        let plain =
            ['"', '\'', '`'].into_iter().find_map(|quote| request.strip_prefix(quote)?.strip_suffix(quote));
        let plain = plain.filter(|plain| !plain.contains("${"));
        let resolved =
            resolve(path, plain.ok_or_else(|| format!("{path}: fetches {request}, which is put together"))?)?;
        edits.push((import.span, format!("later({resolved:?})")));
        wanted.push(resolved);
    }
    edits.extend(record.import_metas.iter().map(|span| (*span, "({ url: \"about:blank\" })".to_owned())));
    edits.sort_by_key(|(span, _)| span.start);
    edits.dedup_by_key(|(span, _)| span.start);
    let mut body = String::new();
    if !given.is_empty() {
        body.push_str(&format!("give({{ {} }});\n", given.join(", ")));
    }
    body.push_str(&prelude);
    let mut at = 0;
    for (span, put) in edits {
        body.push_str(text.get(at..span.start as usize).unwrap_or_default());
        body.push_str(&put);
        at = span.end as usize;
    }
    body.push_str(text.get(at..).unwrap_or_default());
    Ok((body, needed, wanted))
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
        let (body, needed, wanted) = as_function(text, "js/main.js").unwrap();
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
    fn what_one_script_cannot_do_is_refused() {
        for text in [
            "export * from \"./a.js\";",
            "export { a } from \"./a.js\";",
            "export default 3;",
            "import a from \"elsewhere\";",
            "const a = \"x\"; import(`./${a}.js`);",
            "export function (",
        ] {
            assert!(as_function(text, "js/main.js").is_err(), "{text}");
        }
    }
}

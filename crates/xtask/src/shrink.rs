//! The page's sources without what only their readers need: comments, blank space, long local names. Every module does the
//! same afterwards; `serve` shows the sources as they are.

use std::path::Path;

use oxc_allocator::Allocator;
use oxc_codegen::{Codegen, CodegenOptions};
use oxc_mangler::Mangler;
use oxc_parser::Parser;
use oxc_span::SourceType;

use crate::Problem;

/// The content of a released file: shorter where it is a script or a style sheet, else as it is.
///
/// # Errors
/// Where a script cannot be read.
pub fn shrunk(path: &Path, content: Vec<u8>) -> Result<Vec<u8>, Problem> {
    let shrink: fn(&str) -> Result<String, Problem> =
        match path.extension().and_then(|ending| ending.to_str()) {
            Some("js") => module_script,
            Some("css") => |text| Ok(style_sheet(text)),
            _ => return Ok(content),
        };
    let text = std::str::from_utf8(&content).map_err(|error| format!("{}: {error}", path.display()))?;
    let text = shrink(text).map_err(|problem| format!("{}: {problem}", path.display()))?;
    Ok(text.into_bytes())
}

/// A module without comments and blank space. Names at its top level stay, local ones become short.
///
/// # Errors
/// Where it cannot be read.
pub fn module_script(text: &str) -> Result<String, Problem> {
    shortened(text, SourceType::mjs())
}

/// The same of a script that is no module.
///
/// # Errors
/// Where it cannot be read.
pub fn classic_script(text: &str) -> Result<String, Problem> {
    shortened(text, SourceType::cjs())
}

fn shortened(text: &str, kind: SourceType) -> Result<String, Problem> {
    let allocator = Allocator::default();
    let parsed = Parser::new(&allocator, text, kind).parse();
    if let Some(error) = parsed.errors.first() {
        return Err(error.to_string());
    }
    let mangled = Mangler::new().build(&parsed.program);
    let made = Codegen::new()
        .with_options(CodegenOptions::minify())
        .with_scoping(Some(mangled.scoping))
        .with_private_member_mappings(Some(mangled.class_private_mappings))
        .build(&parsed.program);
    Ok(made.code)
}

/// A style sheet without comments, indents and empty lines. What stands within a line stays: little is to be gained there,
/// and a blank can matter.
fn style_sheet(text: &str) -> String {
    let mut bare = String::new();
    let mut rest = text;
    while let Some(at) = rest.find(['"', '\'', '/']) {
        let (before, special) = rest.split_at(at);
        bare.push_str(before);
        let length = if let Some(comment) = special.strip_prefix("/*") {
            comment.find("*/").map_or(special.len(), |end| end + 4)
        } else {
            let quote = special.chars().next().filter(|first| *first != '/');
            let length = quote.and_then(|quote| special.get(1..)?.find(quote)).map_or(1, |end| end + 2);
            bare.push_str(special.get(..length).unwrap_or(special));
            length
        };
        rest = special.get(length..).unwrap_or_default();
    }
    bare.push_str(rest);
    let lines = bare.lines().map(str::trim).filter(|line| !line.is_empty());
    lines.flat_map(|line| [line, "\n"]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn script_keeps_imports_exports_and_strings_and_loses_comments() {
        let text = "// Why.\nimport { a } from \"./a.js\";\n/** What. */\nexport function told(given) {\n  const long = given + 1;\n  return `${long} // ${a(long)}`;\n}\n";
        let made = module_script(text).unwrap();
        assert!(made.contains("import{a}from\"./a.js\"") && made.contains("export function told("), "{made}");
        assert!(made.contains(" // ") && !made.contains("Why") && !made.contains("What"), "{made}");
        assert!(!made.contains("long") && !made.contains("given"), "{made}");
    }

    #[test]
    fn script_that_cannot_be_read_is_refused() {
        assert!(module_script("export function (").is_err());
    }

    #[test]
    fn style_sheet_loses_comments_and_indents_and_nothing_else() {
        let text = "/* a \"b */\n.a {\n  width: calc(1px + 2px); /* why */\n\n  content: \"/* text */\";\n  background: url(a/b.svg);\n}\n";
        let made = style_sheet(text);
        assert_eq!(
            made,
            ".a {\nwidth: calc(1px + 2px);\ncontent: \"/* text */\";\nbackground: url(a/b.svg);\n}\n"
        );
        assert_eq!(style_sheet("a{}/* open"), "a{}\n");
    }

    #[test]
    fn other_files_stay_as_they_are() {
        assert_eq!(shrunk(Path::new("a.json"), b"{ }".to_vec()), Ok(b"{ }".to_vec()));
    }
}

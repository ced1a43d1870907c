//! JSON in its canonical form (RFC 8785, JSON Canonicalization Scheme), so that equal values have equal bytes.

use counterpoise_geometry::SortedMap;

use super::digits::{Tie, shortest};
use super::writer::write_text;
use super::{Outcome, Read, Reader};

/// Any value of JSON.
enum Tree {
    Null,
    Truth(bool),
    Number(f64),
    Text(String),
    List(Vec<Tree>),
    /// By the UTF-16 code units of the names, which is the order of RFC 8785 §3.2.3.
    Object(SortedMap<Vec<u16>, (String, Tree)>),
}

impl Read for Tree {
    fn blank() -> Self {
        Tree::Null
    }
    fn read(&mut self, reader: &mut Reader<'_>) -> Outcome {
        *self = match reader.peek() {
            Some(b'{') => {
                let mut grown = SortedMap::new();
                reader.entries(&mut |name: &str, reader: &mut Reader<'_>| {
                    reader.colon()?;
                    grown.insert(name.encode_utf16().collect(), (name.to_owned(), Tree::next(reader)?));
                    Ok(())
                })?;
                Tree::Object(grown)
            }
            Some(b'[') => Tree::List(Read::next(reader)?),
            Some(b'"') => Tree::Text(Read::next(reader)?),
            Some(b't' | b'f') => Tree::Truth(Read::next(reader)?),
            Some(b'n') => {
                reader.skip()?;
                Tree::Null
            }
            _ => Tree::Number(Read::next(reader)?),
        };
        Ok(())
    }
}

impl Tree {
    fn write(&self, out: &mut String) {
        match self {
            Tree::Null => out.push_str("null"),
            Tree::Truth(truth) => out.push_str(if *truth { "true" } else { "false" }),
            Tree::Number(number) => write_ecmascript(out, *number),
            Tree::Text(text) => write_text(out, text),
            Tree::List(list) => {
                out.push('[');
                for (k, value) in list.iter().enumerate() {
                    if k > 0 {
                        out.push(',');
                    }
                    value.write(out);
                }
                out.push(']');
            }
            Tree::Object(map) => {
                out.push('{');
                for (k, (name, value)) in map.values().enumerate() {
                    if k > 0 {
                        out.push(',');
                    }
                    write_text(out, name);
                    out.push(':');
                    value.write(out);
                }
                out.push('}');
            }
        }
    }
}

/// A finite number as ECMAScript writes it (ECMA-262, `Number::toString` with radix 10).
fn write_ecmascript(out: &mut String, number: f64) {
    if number == 0.0 {
        // Minus zero as well.
        out.push('0');
        return;
    }
    if number < 0.0 {
        out.push('-');
    }
    /// Powers of ten that are written without an exponent.
    const PLAIN: std::ops::Range<i32> = -6..21;
    let decimal = shortest(number.abs(), Tie::Even);
    if PLAIN.contains(&decimal.exponent) {
        decimal.write_plain(out);
        return;
    }
    decimal.write_digits(out);
    out.push_str(if decimal.exponent < 0 { "e-" } else { "e+" });
    out.push_str(&decimal.exponent.unsigned_abs().to_string());
}

/// A JSON text in canonical form; `None` where it is none.
pub fn canonical_text(text: &str) -> Option<String> {
    let tree: Tree = super::read(text).ok()?;
    let mut out = String::with_capacity(text.len());
    tree.write(&mut out);
    Some(out)
}

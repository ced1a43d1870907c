//! JSON in its canonical form (RFC 8785, JSON Canonicalization Scheme), so that equal values have equal bytes.

use std::collections::BTreeMap;

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
    Object(BTreeMap<Vec<u16>, (String, Tree)>),
}

impl Read for Tree {
    fn blank() -> Self {
        Tree::Null
    }
    fn read(&mut self, reader: &mut Reader<'_>) -> Outcome {
        *self = match reader.peek() {
            Some(b'{') => {
                let mut grown = BTreeMap::new();
                reader.entries(&mut |name, reader| {
                    reader.colon()?;
                    let mut value = Tree::Null;
                    value.read(reader)?;
                    grown.insert(name.encode_utf16().collect(), (name.to_owned(), value));
                    Ok(())
                })?;
                Tree::Object(grown)
            }
            Some(b'[') => Tree::List(value(reader)?),
            Some(b'"') => Tree::Text(value(reader)?),
            Some(b't' | b'f') => Tree::Truth(value(reader)?),
            Some(b'n') => {
                reader.skip()?;
                Tree::Null
            }
            _ => Tree::Number(value(reader)?),
        };
        Ok(())
    }
}

fn value<T: Read>(reader: &mut Reader<'_>) -> Outcome<T> {
    let mut value = T::blank();
    value.read(reader)?;
    Ok(value)
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
    let (digits, exponent) = shortest_digits(number.abs());
    let count = i32::try_from(digits.len()).unwrap_or(i32::MAX);
    // The number is 0.digits times ten to this power: the `n` of the standard.
    let power = exponent + 1;
    let zeros = |many: i32| "0".repeat(many.max(0).unsigned_abs() as usize);
    match power {
        1..=21 if power >= count => {
            out.push_str(&digits);
            out.push_str(&zeros(power - count));
        }
        1..=21 => {
            let (whole, rest) = digits.split_at(power.unsigned_abs() as usize);
            out.push_str(whole);
            out.push('.');
            out.push_str(rest);
        }
        -5..=0 => {
            out.push_str("0.");
            out.push_str(&zeros(-power));
            out.push_str(&digits);
        }
        _ => {
            let (first, rest) = digits.split_at(1);
            out.push_str(first);
            if !rest.is_empty() {
                out.push('.');
                out.push_str(rest);
            }
            out.push_str(if power > 0 { "e+" } else { "e-" });
            out.push_str(&(power - 1).unsigned_abs().to_string());
        }
    }
}

/// The shortest digits that give a positive number back, and the power of ten of the first. Where two such are equally near, the even
/// one, as RFC 8785 has it (appendix B, "round to even"); the standard library takes the upper one.
fn shortest_digits(number: f64) -> (String, i32) {
    /// An `f64` has at most so many digits before only zeros follow.
    const ALL_DIGITS: usize = 770;
    let parted = |text: &str| {
        let (digits, exponent) = text.split_once('e').unwrap_or((text, "0"));
        let digits: String = digits.chars().filter(char::is_ascii_digit).collect();
        (digits, exponent.parse::<i32>().unwrap_or(0))
    };
    let (mut digits, exponent) = parted(&format!("{number:e}"));
    let last = digits.pop().unwrap_or('0');
    let lower =
        char::from_u32(u32::from(last).wrapping_sub(1)).filter(|_| "13579".contains(last)).unwrap_or(last);
    let mut even = digits.clone();
    even.push(lower);
    digits.push(last);
    if lower != last
        && even.parse::<u64>().is_ok()
        // Not the standard library's reader: its table is ten kilobytes that do not compress.
        && super::read(&format!("{}e{}", even, exponent + 1 - even.len() as i32)) == Ok(number)
    {
        let (exact, of_exact) = parted(&format!("{number:.ALL_DIGITS$e}"));
        let rest = exact.strip_prefix(&even).and_then(|rest| rest.strip_prefix('5'));
        if of_exact == exponent && rest.is_some_and(|rest| rest.bytes().all(|digit| digit == b'0')) {
            return (even, exponent);
        }
    }
    (digits, exponent)
}

/// A JSON text in canonical form; `None` where it is none.
pub fn canonical_text(text: &str) -> Option<String> {
    let tree: Tree = super::read(text).ok()?;
    let mut out = String::with_capacity(text.len());
    tree.write(&mut out);
    Some(out)
}

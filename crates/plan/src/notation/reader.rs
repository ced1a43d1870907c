//! The reader: JSON text as a serde deserializer.

use std::borrow::Cow;

use serde::Deserializer;
use serde::de::{
    DeserializeSeed, EnumAccess, Error, Expected, MapAccess, SeqAccess, Unexpected, VariantAccess, Visitor,
};

use super::Misread;
use super::number::Written;

/// Lists and objects within each other: deeper than any plan, and shallow enough for any stack.
const DEPTH: u8 = 128;

/// What is wrong; the reader knows where. Nothing that was read is kept, so no sentence has to be made of it.
#[derive(Clone, Copy, Debug)]
pub struct Wrong {
    what: &'static str,
    is_broken: bool,
}

impl Wrong {
    const fn broken(what: &'static str) -> Self {
        Wrong { what, is_broken: true }
    }

    const fn unfit(what: &'static str) -> Self {
        Wrong { what, is_broken: false }
    }
}

impl std::fmt::Display for Wrong {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.what)
    }
}

impl std::error::Error for Wrong {}

impl Error for Wrong {
    fn custom<T: std::fmt::Display>(_: T) -> Self {
        Wrong::unfit("something that cannot be used here")
    }
    fn invalid_type(_: Unexpected<'_>, _: &dyn Expected) -> Self {
        Wrong::unfit("another kind of value is expected")
    }
    fn invalid_value(_: Unexpected<'_>, _: &dyn Expected) -> Self {
        Wrong::unfit("another value is expected")
    }
    fn invalid_length(_: usize, _: &dyn Expected) -> Self {
        Wrong::unfit("another number of values is expected")
    }
    fn unknown_variant(_: &str, _: &'static [&'static str]) -> Self {
        Wrong::unfit("an unknown name")
    }
    fn unknown_field(_: &str, _: &'static [&'static str]) -> Self {
        Wrong::unfit("an unknown field")
    }
    fn missing_field(_: &'static str) -> Self {
        Wrong::unfit("a field is missing")
    }
    fn duplicate_field(_: &'static str) -> Self {
        Wrong::unfit("a field is there twice")
    }
}

type Outcome<T> = Result<T, Wrong>;

/// A place in a text.
pub struct Reader<'text> {
    text: &'text str,
    at: usize,
    depth: u8,
}

impl<'text> Reader<'text> {
    pub const fn new(text: &'text str) -> Self {
        Reader { text, at: 0, depth: 0 }
    }

    /// What is wrong and where.
    pub fn misread(&self, wrong: Wrong) -> Misread {
        let before = self.text.get(..self.at).unwrap_or(self.text);
        let line = before.rsplit('\n').next().unwrap_or_default();
        Misread {
            what: wrong.what,
            line: before.bytes().filter(|byte| *byte == b'\n').count() + 1,
            column: line.chars().count() + 1,
            is_broken: wrong.is_broken,
        }
    }

    /// Nothing but blanks is left.
    pub fn end(&mut self) -> Outcome<()> {
        match self.peek() {
            None => Ok(()),
            Some(_) => Err(Wrong::broken("the text goes on after its end")),
        }
    }

    /// The next byte that is no blank.
    #[inline(never)]
    fn peek(&mut self) -> Option<u8> {
        let rest = self.text.as_bytes().get(self.at..)?;
        let blanks = rest.iter().take_while(|byte| matches!(byte, b' ' | b'\n' | b'\t' | b'\r')).count();
        self.at += blanks;
        rest.get(blanks).copied()
    }

    fn take(&mut self, byte: u8) -> bool {
        let is_there = self.peek() == Some(byte);
        self.at += usize::from(is_there);
        is_there
    }

    /// Why what follows is not what was asked for.
    #[inline(never)]
    fn mismatch(&mut self) -> Wrong {
        match self.peek() {
            Some(b'"' | b'{' | b'[' | b't' | b'f' | b'n' | b'-' | b'0'..=b'9') => {
                Wrong::unfit("another kind of value is expected")
            }
            Some(_) => Wrong::broken("no JSON value"),
            None => Wrong::broken("the text ends too early"),
        }
    }

    fn literal(&mut self, word: &'static str) -> Outcome<()> {
        let is_there = self.text.get(self.at..).is_some_and(|rest| rest.starts_with(word));
        if !is_there {
            return Err(Wrong::broken("no JSON value"));
        }
        self.at += word.len();
        Ok(())
    }

    #[inline(never)]
    fn truth(&mut self) -> Outcome<bool> {
        match self.peek() {
            Some(b't') => self.literal("true").map(|()| true),
            Some(b'f') => self.literal("false").map(|()| false),
            _ => Err(self.mismatch()),
        }
    }

    fn number(&mut self) -> Outcome<Written<'text>> {
        if !matches!(self.peek(), Some(b'-' | b'0'..=b'9')) {
            return Err(self.mismatch());
        }
        let rest = self.text.as_bytes().get(self.at..).unwrap_or_default();
        let (number, length) = Written::scan(rest).ok_or(Wrong::broken("no JSON number"))?;
        self.at += length;
        Ok(number)
    }

    #[inline(never)]
    fn real(&mut self) -> Outcome<f64> {
        self.number()?.value().ok_or(Wrong::broken("the number is too large"))
    }

    #[inline(never)]
    fn whole(&mut self) -> Outcome<(u64, bool)> {
        self.number()?.whole().ok_or(Wrong::unfit("a whole number is expected"))
    }

    #[inline(never)]
    fn string(&mut self) -> Outcome<Cow<'text, str>> {
        if !self.take(b'"') {
            return Err(self.mismatch());
        }
        let mut made = String::new();
        loop {
            let rest = self.text.as_bytes().get(self.at..).unwrap_or_default();
            let plain = rest.iter().take_while(|byte| !matches!(byte, b'"' | b'\\' | 0..0x20)).count();
            let piece = self.text.get(self.at..self.at + plain).unwrap_or_default();
            self.at += plain;
            match rest.get(plain) {
                Some(b'"') => {
                    self.at += 1;
                    if made.is_empty() {
                        return Ok(Cow::Borrowed(piece));
                    }
                    made.push_str(piece);
                    return Ok(Cow::Owned(made));
                }
                Some(b'\\') => {
                    self.at += 1;
                    made.push_str(piece);
                    made.push(self.escaped()?);
                }
                Some(_) => return Err(Wrong::broken("a control character in a string")),
                None => return Err(Wrong::broken("the text ends too early")),
            }
        }
    }

    /// What follows a backslash.
    fn escaped(&mut self) -> Outcome<char> {
        const UNKNOWN: Wrong = Wrong::broken("an unknown escape");
        let letter = self.text.as_bytes().get(self.at).copied().ok_or(UNKNOWN)?;
        let plain = match letter {
            b'"' | b'\\' | b'/' => char::from(letter),
            b'b' => '\u{8}',
            b'f' => '\u{c}',
            b'n' => '\n',
            b'r' => '\r',
            b't' => '\t',
            b'u' => return self.unicode(),
            _ => return Err(UNKNOWN),
        };
        self.at += 1;
        Ok(plain)
    }

    /// `uXXXX`, or two of them for a character beyond 16 bits.
    fn unicode(&mut self) -> Outcome<char> {
        const NONE: Wrong = Wrong::broken("no Unicode character");
        let first = self.four_digits().ok_or(NONE)?;
        let code = match first {
            0xd800..=0xdbff => {
                if self.text.as_bytes().get(self.at) != Some(&b'\\') {
                    return Err(NONE);
                }
                self.at += 1;
                let second =
                    self.four_digits().filter(|second| (0xdc00..=0xdfff).contains(second)).ok_or(NONE)?;
                0x1_0000 + ((first - 0xd800) << 10) + (second - 0xdc00)
            }
            _ => first,
        };
        char::from_u32(code).ok_or(NONE)
    }

    fn four_digits(&mut self) -> Option<u32> {
        let digits = self.text.as_bytes().get(self.at..)?.strip_prefix(b"u")?.get(..4)?;
        self.at += 5;
        digits.iter().try_fold(0, |sum, digit| Some(sum * 16 + char::from(*digit).to_digit(16)?))
    }

    /// Enters a list or an object.
    #[inline(never)]
    fn enter(&mut self, bracket: u8) -> Outcome<()> {
        if !self.take(bracket) {
            return Err(self.mismatch());
        }
        if self.depth == DEPTH {
            return Err(Wrong::broken("too many lists within each other"));
        }
        self.depth += 1;
        Ok(())
    }

    /// Goes to the next entry of a list or an object; false, and out of it, where there is none.
    #[inline(never)]
    fn next(&mut self, bracket: u8, is_first: bool) -> Outcome<bool> {
        if self.take(bracket) {
            self.depth -= 1;
            return Ok(false);
        }
        if !is_first && !self.take(b',') {
            return Err(match self.peek() {
                Some(_) => Wrong::broken("a comma is expected"),
                None => Wrong::broken("the text ends too early"),
            });
        }
        if bracket == b'}' && self.peek() != Some(b'"') {
            return Err(match self.peek() {
                Some(_) => Wrong::broken("a name is expected"),
                None => Wrong::broken("the text ends too early"),
            });
        }
        Ok(true)
    }

    #[inline(never)]
    fn colon(&mut self) -> Outcome<()> {
        if self.take(b':') { Ok(()) } else { Err(Wrong::broken("a colon is expected")) }
    }

    /// Passes over a value of any kind.
    fn skip(&mut self) -> Outcome<()> {
        match self.peek() {
            Some(b'"') => self.string().map(|_| ()),
            Some(b't' | b'f') => self.truth().map(|_| ()),
            Some(b'n') => self.literal("null"),
            Some(b'[') => {
                self.enter(b'[')?;
                let mut is_first = true;
                while self.next(b']', is_first)? {
                    is_first = false;
                    self.skip()?;
                }
                Ok(())
            }
            Some(b'{') => {
                self.enter(b'{')?;
                let mut is_first = true;
                while self.next(b'}', is_first)? {
                    is_first = false;
                    self.string()?;
                    self.colon()?;
                    self.skip()?;
                }
                Ok(())
            }
            Some(b'-' | b'0'..=b'9') => self.number().map(|_| ()),
            _ => Err(self.mismatch()),
        }
    }
}

/// The entries of a list or an object.
struct Entries<'reader, 'text> {
    reader: &'reader mut Reader<'text>,
    bracket: u8,
    is_first: bool,
    is_over: bool,
}

impl<'reader, 'text> Entries<'reader, 'text> {
    fn enter(reader: &'reader mut Reader<'text>, open: u8, bracket: u8) -> Outcome<Self> {
        reader.enter(open)?;
        Ok(Entries { reader, bracket, is_first: true, is_over: false })
    }

    fn next(&mut self) -> Outcome<bool> {
        if self.is_over {
            return Ok(false);
        }
        let is_there = self.reader.next(self.bracket, self.is_first)?;
        self.is_first = false;
        self.is_over = !is_there;
        Ok(is_there)
    }

    /// A type that wants fewer entries than there are stops before the end.
    fn leave(&mut self) -> Outcome<()> {
        if self.next()? { Err(Wrong::unfit("another number of values is expected")) } else { Ok(()) }
    }
}

impl<'text> SeqAccess<'text> for &mut Entries<'_, 'text> {
    type Error = Wrong;
    fn next_element_seed<T: DeserializeSeed<'text>>(&mut self, seed: T) -> Outcome<Option<T::Value>> {
        if self.next()? { seed.deserialize(&mut *self.reader).map(Some) } else { Ok(None) }
    }
}

impl<'text> MapAccess<'text> for &mut Entries<'_, 'text> {
    type Error = Wrong;
    fn next_key_seed<K: DeserializeSeed<'text>>(&mut self, seed: K) -> Outcome<Option<K::Value>> {
        if self.next()? { seed.deserialize(&mut *self.reader).map(Some) } else { Ok(None) }
    }
    fn next_value_seed<V: DeserializeSeed<'text>>(&mut self, seed: V) -> Outcome<V::Value> {
        self.reader.colon()?;
        seed.deserialize(&mut *self.reader)
    }
}

/// A variant: its name alone, or the name and its content as an object with one entry.
struct Variant<'reader, 'text> {
    reader: &'reader mut Reader<'text>,
    has_content: bool,
}

impl<'text> EnumAccess<'text> for Variant<'_, 'text> {
    type Error = Wrong;
    type Variant = Self;
    fn variant_seed<V: DeserializeSeed<'text>>(self, seed: V) -> Outcome<(V::Value, Self)> {
        let name = seed.deserialize(&mut *self.reader)?;
        if self.has_content {
            self.reader.colon()?;
        }
        Ok((name, self))
    }
}

impl<'text> VariantAccess<'text> for Variant<'_, 'text> {
    type Error = Wrong;
    fn unit_variant(self) -> Outcome<()> {
        if self.has_content { Err(Wrong::unfit("a name alone is expected")) } else { Ok(()) }
    }
    fn newtype_variant_seed<T: DeserializeSeed<'text>>(self, seed: T) -> Outcome<T::Value> {
        self.content()?;
        seed.deserialize(&mut *self.reader)
    }
    fn tuple_variant<V: Visitor<'text>>(self, _: usize, visitor: V) -> Outcome<V::Value> {
        self.content()?;
        self.reader.deserialize_seq(visitor)
    }
    fn struct_variant<V: Visitor<'text>>(self, _: &'static [&'static str], visitor: V) -> Outcome<V::Value> {
        self.content()?;
        self.reader.deserialize_map(visitor)
    }
}

impl Variant<'_, '_> {
    fn content(&self) -> Outcome<()> {
        if self.has_content { Ok(()) } else { Err(Wrong::unfit("a name with its content is expected")) }
    }
}

macro_rules! whole_numbers {
    ($($method:ident)*) => {
        $(fn $method<V: Visitor<'text>>(self, visitor: V) -> Outcome<V::Value> {
            let (size, is_negative) = self.whole()?;
            if !is_negative {
                return visitor.visit_u64(size);
            }
            let value = 0_i64.checked_sub_unsigned(size).ok_or(Wrong::unfit("the number is too large"))?;
            visitor.visit_i64(value)
        })*
    };
}

/// Each method reads what it is named for and refuses all else. A struct is an object and never a list.
impl<'text> Deserializer<'text> for &mut Reader<'text> {
    type Error = Wrong;

    /// Only for the canonical form, which knows no types: every other type says what it is.
    fn deserialize_any<V: Visitor<'text>>(self, visitor: V) -> Outcome<V::Value> {
        match self.peek() {
            Some(b'{') => self.deserialize_map(visitor),
            Some(b'[') => self.deserialize_seq(visitor),
            Some(b'"') => self.deserialize_str(visitor),
            Some(b't' | b'f') => self.deserialize_bool(visitor),
            Some(b'n') => {
                self.literal("null")?;
                visitor.visit_unit()
            }
            _ => self.deserialize_f64(visitor),
        }
    }

    whole_numbers! {
        deserialize_i8 deserialize_i16 deserialize_i32 deserialize_i64
        deserialize_u8 deserialize_u16 deserialize_u32 deserialize_u64
    }

    fn deserialize_bool<V: Visitor<'text>>(self, visitor: V) -> Outcome<V::Value> {
        visitor.visit_bool(self.truth()?)
    }
    fn deserialize_f32<V: Visitor<'text>>(self, visitor: V) -> Outcome<V::Value> {
        visitor.visit_f64(self.real()?)
    }
    fn deserialize_f64<V: Visitor<'text>>(self, visitor: V) -> Outcome<V::Value> {
        visitor.visit_f64(self.real()?)
    }
    fn deserialize_str<V: Visitor<'text>>(self, visitor: V) -> Outcome<V::Value> {
        visitor.visit_str(&self.string()?)
    }
    fn deserialize_string<V: Visitor<'text>>(self, visitor: V) -> Outcome<V::Value> {
        visitor.visit_str(&self.string()?)
    }
    fn deserialize_identifier<V: Visitor<'text>>(self, visitor: V) -> Outcome<V::Value> {
        visitor.visit_str(&self.string()?)
    }
    fn deserialize_option<V: Visitor<'text>>(self, visitor: V) -> Outcome<V::Value> {
        if self.peek() == Some(b'n') {
            self.literal("null")?;
            return visitor.visit_none();
        }
        visitor.visit_some(self)
    }
    fn deserialize_newtype_struct<V: Visitor<'text>>(self, _: &'static str, visitor: V) -> Outcome<V::Value> {
        visitor.visit_newtype_struct(self)
    }
    fn deserialize_seq<V: Visitor<'text>>(self, visitor: V) -> Outcome<V::Value> {
        let mut entries = Entries::enter(self, b'[', b']')?;
        let value = visitor.visit_seq(&mut entries)?;
        entries.leave()?;
        Ok(value)
    }
    fn deserialize_tuple<V: Visitor<'text>>(self, _: usize, visitor: V) -> Outcome<V::Value> {
        self.deserialize_seq(visitor)
    }
    fn deserialize_map<V: Visitor<'text>>(self, visitor: V) -> Outcome<V::Value> {
        let mut entries = Entries::enter(self, b'{', b'}')?;
        let value = visitor.visit_map(&mut entries)?;
        entries.leave()?;
        Ok(value)
    }
    fn deserialize_struct<V: Visitor<'text>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Outcome<V::Value> {
        self.deserialize_map(visitor)
    }
    fn deserialize_enum<V: Visitor<'text>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Outcome<V::Value> {
        if self.peek() != Some(b'{') {
            return visitor.visit_enum(Variant { reader: self, has_content: false });
        }
        let mut entries = Entries::enter(self, b'{', b'}')?;
        if !entries.next()? {
            return Err(Wrong::unfit("a name is missing"));
        }
        let value = visitor.visit_enum(Variant { reader: entries.reader, has_content: true })?;
        entries.leave()?;
        Ok(value)
    }
    fn deserialize_ignored_any<V: Visitor<'text>>(self, visitor: V) -> Outcome<V::Value> {
        self.skip()?;
        visitor.visit_unit()
    }
    serde::forward_to_deserialize_any! { <V: Visitor<'text>> char bytes byte_buf unit unit_struct tuple_struct }
}

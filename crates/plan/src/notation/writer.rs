//! The writer: JSON text as a serde serializer.

use std::fmt::{Display, Write};

use serde::Serialize;
use serde::ser::{
    Error, SerializeMap, SerializeSeq, SerializeStruct, SerializeStructVariant, SerializeTuple,
    SerializeTupleStruct, SerializeTupleVariant, Serializer,
};

use super::digits::write_number;

/// A value as one line without blanks.
pub fn write_line<T: Serialize + ?Sized>(value: &T) -> String {
    written(true, &mut |writer| value.serialize(writer))
}

/// A value with objects one field a line and everything inside a list on one line, and an end of line.
pub fn write_document<T: Serialize + ?Sized>(value: &T) -> String {
    let mut text = written(false, &mut |writer| value.serialize(writer));
    text.push('\n');
    text
}

/// Room to begin with, bytes: what is written at each frame seldom takes more than two steps from here.
const ROOM_BYTES: usize = 4096;

#[inline(never)]
fn written(is_line: bool, write: &mut dyn FnMut(&mut Writer) -> Outcome) -> String {
    let mut writer = Writer { out: String::with_capacity(ROOM_BYTES), is_line, indent: 0, lists: 0 };
    let Ok(()) = write(&mut writer);
    writer.out
}

/// A text with its quotation marks, escaped no more than it has to be (RFC 8259 §7; the forms of RFC 8785 §3.2.2.2).
#[inline(never)]
pub fn write_text(out: &mut String, text: &str) {
    out.push('"');
    let mut written = 0;
    for (at, byte) in text.bytes().enumerate() {
        if !matches!(byte, b'"' | b'\\' | 0..0x20) {
            continue;
        }
        // What is escaped is ASCII, so a character begins here and one behind it.
        out.push_str(text.get(written..at).unwrap_or_default());
        written = at + 1;
        out.push('\\');
        match byte {
            b'\n' => out.push('n'),
            b'\r' => out.push('r'),
            b'\t' => out.push('t'),
            0x8 => out.push('b'),
            0xc => out.push('f'),
            0..0x20 => {
                out.push_str(if byte < 0x10 { "u000" } else { "u001" });
                out.extend(char::from_digit(u32::from(byte % 0x10), 0x10));
            }
            _ => out.push(char::from(byte)),
        }
    }
    out.push_str(text.get(written..).unwrap_or_default());
    out.push('"');
}

/// What can go wrong: nothing. With that the code of every type does without looking for it, a tenth of it.
#[derive(Debug)]
pub enum Never {}

impl Display for Never {
    fn fmt(&self, _: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match *self {}
    }
}

impl std::error::Error for Never {}

impl Error for Never {
    fn custom<T: Display>(_: T) -> Self {
        // Serde says this of the kind of a value (a tag on a number, a lock that broke), never of what it holds.
        unreachable!("a type that JSON has no form for")
    }
}

type Outcome<T = ()> = Result<T, Never>;

struct Writer {
    out: String,
    is_line: bool,
    indent: usize,
    /// Lists around this place.
    lists: usize,
}

impl Writer {
    fn is_flat(&self) -> bool {
        self.is_line || self.lists > 0
    }

    /// Whether nothing stands yet in what was opened last; a text that ends so has its quotation mark behind it.
    fn is_at_start(&self) -> bool {
        self.out.ends_with(['{', '['])
    }

    fn new_line(&mut self) {
        self.out.push('\n');
        (0..self.indent).for_each(|_| self.out.push_str("  "));
    }

    #[inline(never)]
    fn open_list(&mut self) {
        self.lists += 1;
        self.out.push('[');
    }

    #[inline(never)]
    fn open_object(&mut self) {
        self.indent += 1;
        self.out.push('{');
    }

    #[inline(never)]
    fn before_element(&mut self) {
        if !self.is_at_start() {
            self.out.push(',');
        }
    }

    #[inline(never)]
    fn before_name(&mut self) {
        let is_first = self.is_at_start();
        if !is_first {
            self.out.push(',');
        }
        if !self.is_flat() {
            self.new_line();
        } else if !self.is_line && !is_first {
            self.out.push(' ');
        }
    }

    #[inline(never)]
    fn after_name(&mut self) {
        self.out.push_str(if self.is_line { ":" } else { ": " });
    }

    #[inline(never)]
    fn name(&mut self, name: &str) {
        self.before_name();
        write_text(&mut self.out, name);
        self.after_name();
    }

    /// Names are strings, so what stands from here on and is none becomes one.
    #[inline(never)]
    fn as_name(&mut self, start: usize) {
        let name = self.out.get(start..).unwrap_or_default();
        if !name.starts_with('"') {
            let name = name.to_owned();
            self.out.truncate(start);
            write_text(&mut self.out, &name);
        }
    }

    /// The name of a variant, whose content follows.
    #[inline(never)]
    fn open_variant(&mut self, name: &str) {
        self.open_object();
        self.name(name);
    }

    #[inline(never)]
    fn close_list(&mut self) {
        self.lists -= 1;
        self.out.push(']');
    }

    #[inline(never)]
    fn close_object(&mut self) {
        self.indent -= 1;
        if !self.is_flat() && !self.is_at_start() {
            self.new_line();
        }
        self.out.push('}');
    }

    #[inline(never)]
    fn whole_number(&mut self, is_negative: bool, size: u64) -> Outcome {
        if is_negative {
            self.out.push('-');
        }
        // A string takes every write.
        let _ = write!(self.out, "{size}");
        Ok(())
    }

    #[inline(never)]
    fn nothing(&mut self) -> Outcome {
        self.out.push_str("null");
        Ok(())
    }
}

/// A list that is being written.
struct List<'writer>(&'writer mut Writer);

/// An object that is being written.
struct Object<'writer>(&'writer mut Writer);

/// The content of a variant that is being written, a list or an object.
struct Content<Part>(Part);

impl List<'_> {
    fn element<T: Serialize + ?Sized>(&mut self, value: &T) -> Outcome {
        self.0.before_element();
        value.serialize(&mut *self.0)
    }

    fn close(&mut self) -> Outcome {
        self.0.close_list();
        Ok(())
    }
}

impl Object<'_> {
    fn field<T: Serialize + ?Sized>(&mut self, name: &str, value: &T) -> Outcome {
        self.0.name(name);
        value.serialize(&mut *self.0)
    }

    fn close(&mut self) -> Outcome {
        self.0.close_object();
        Ok(())
    }
}

impl SerializeSeq for List<'_> {
    type Ok = ();
    type Error = Never;
    fn serialize_element<T: Serialize + ?Sized>(&mut self, value: &T) -> Outcome {
        self.element(value)
    }
    fn end(mut self) -> Outcome {
        self.close()
    }
}

impl SerializeTuple for List<'_> {
    type Ok = ();
    type Error = Never;
    fn serialize_element<T: Serialize + ?Sized>(&mut self, value: &T) -> Outcome {
        self.element(value)
    }
    fn end(mut self) -> Outcome {
        self.close()
    }
}

impl SerializeTupleStruct for List<'_> {
    type Ok = ();
    type Error = Never;
    fn serialize_field<T: Serialize + ?Sized>(&mut self, value: &T) -> Outcome {
        self.element(value)
    }
    fn end(mut self) -> Outcome {
        self.close()
    }
}

impl SerializeTupleVariant for Content<List<'_>> {
    type Ok = ();
    type Error = Never;
    fn serialize_field<T: Serialize + ?Sized>(&mut self, value: &T) -> Outcome {
        self.0.element(value)
    }
    fn end(mut self) -> Outcome {
        self.0.close()?;
        Object(self.0.0).close()
    }
}

impl SerializeMap for Object<'_> {
    type Ok = ();
    type Error = Never;
    fn serialize_key<T: Serialize + ?Sized>(&mut self, key: &T) -> Outcome {
        self.0.before_name();
        let start = self.0.out.len();
        key.serialize(&mut *self.0)?;
        self.0.as_name(start);
        Ok(())
    }
    fn serialize_value<T: Serialize + ?Sized>(&mut self, value: &T) -> Outcome {
        self.0.after_name();
        value.serialize(&mut *self.0)
    }
    fn end(mut self) -> Outcome {
        self.close()
    }
}

impl SerializeStruct for Object<'_> {
    type Ok = ();
    type Error = Never;
    fn serialize_field<T: Serialize + ?Sized>(&mut self, name: &'static str, value: &T) -> Outcome {
        self.field(name, value)
    }
    fn end(mut self) -> Outcome {
        self.close()
    }
}

impl SerializeStructVariant for Content<Object<'_>> {
    type Ok = ();
    type Error = Never;
    fn serialize_field<T: Serialize + ?Sized>(&mut self, name: &'static str, value: &T) -> Outcome {
        self.0.field(name, value)
    }
    fn end(mut self) -> Outcome {
        self.0.close()?;
        self.0.close()
    }
}

impl<'writer> Serializer for &'writer mut Writer {
    type Ok = ();
    type Error = Never;
    type SerializeSeq = List<'writer>;
    type SerializeTuple = List<'writer>;
    type SerializeTupleStruct = List<'writer>;
    type SerializeTupleVariant = Content<List<'writer>>;
    type SerializeMap = Object<'writer>;
    type SerializeStruct = Object<'writer>;
    type SerializeStructVariant = Content<Object<'writer>>;

    fn serialize_bool(self, value: bool) -> Outcome {
        self.out.push_str(if value { "true" } else { "false" });
        Ok(())
    }
    fn serialize_i8(self, value: i8) -> Outcome {
        self.serialize_i64(value.into())
    }
    fn serialize_i16(self, value: i16) -> Outcome {
        self.serialize_i64(value.into())
    }
    fn serialize_i32(self, value: i32) -> Outcome {
        self.serialize_i64(value.into())
    }
    fn serialize_i64(self, value: i64) -> Outcome {
        self.whole_number(value < 0, value.unsigned_abs())
    }
    fn serialize_u8(self, value: u8) -> Outcome {
        self.serialize_u64(value.into())
    }
    fn serialize_u16(self, value: u16) -> Outcome {
        self.serialize_u64(value.into())
    }
    fn serialize_u32(self, value: u32) -> Outcome {
        self.serialize_u64(value.into())
    }
    fn serialize_u64(self, value: u64) -> Outcome {
        self.whole_number(false, value)
    }
    fn serialize_f32(self, value: f32) -> Outcome {
        self.serialize_f64(value.into())
    }
    fn serialize_f64(self, value: f64) -> Outcome {
        write_number(&mut self.out, value);
        Ok(())
    }
    fn serialize_char(self, value: char) -> Outcome {
        self.serialize_str(value.encode_utf8(&mut [0; 4]))
    }
    fn serialize_str(self, value: &str) -> Outcome {
        write_text(&mut self.out, value);
        Ok(())
    }
    fn serialize_bytes(self, value: &[u8]) -> Outcome {
        self.collect_seq(value)
    }
    fn serialize_none(self) -> Outcome {
        self.nothing()
    }
    fn serialize_some<T: Serialize + ?Sized>(self, value: &T) -> Outcome {
        value.serialize(self)
    }
    fn serialize_unit(self) -> Outcome {
        self.nothing()
    }
    fn serialize_unit_struct(self, _: &'static str) -> Outcome {
        self.nothing()
    }
    fn serialize_unit_variant(self, _: &'static str, _: u32, variant: &'static str) -> Outcome {
        self.serialize_str(variant)
    }
    fn serialize_newtype_struct<T: Serialize + ?Sized>(self, _: &'static str, value: &T) -> Outcome {
        value.serialize(self)
    }
    fn serialize_newtype_variant<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        value: &T,
    ) -> Outcome {
        self.open_variant(variant);
        value.serialize(&mut *self)?;
        Object(self).close()
    }
    fn serialize_seq(self, _: Option<usize>) -> Outcome<List<'writer>> {
        self.open_list();
        Ok(List(self))
    }
    fn collect_seq<Elements: IntoIterator<Item: Serialize>>(self, elements: Elements) -> Outcome {
        self.open_list();
        let mut list = List(self);
        elements.into_iter().try_for_each(|element| list.element(&element))?;
        list.close()
    }
    fn serialize_tuple(self, _: usize) -> Outcome<List<'writer>> {
        self.serialize_seq(None)
    }
    fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Outcome<List<'writer>> {
        self.serialize_seq(None)
    }
    fn serialize_tuple_variant(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        _: usize,
    ) -> Outcome<Content<List<'writer>>> {
        self.open_variant(variant);
        self.serialize_seq(None).map(Content)
    }
    fn serialize_map(self, _: Option<usize>) -> Outcome<Object<'writer>> {
        self.open_object();
        Ok(Object(self))
    }
    fn serialize_struct(self, _: &'static str, _: usize) -> Outcome<Object<'writer>> {
        self.serialize_map(None)
    }
    fn serialize_struct_variant(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        _: usize,
    ) -> Outcome<Content<Object<'writer>>> {
        self.open_variant(variant);
        self.serialize_map(None).map(Content)
    }
}

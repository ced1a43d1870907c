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
    let mut writer = Writer { out: String::new(), is_line: true, indent: 0, lists: 0 };
    if value.serialize(&mut writer).is_err() {
        return "null".into();
    }
    writer.out
}

/// A value with objects one field a line and everything inside a list on one line, and an end of line.
pub fn write_document<T: Serialize + ?Sized>(value: &T) -> String {
    let mut writer = Writer { out: String::new(), is_line: false, indent: 0, lists: 0 };
    if value.serialize(&mut writer).is_err() {
        return String::new();
    }
    writer.out.push('\n');
    writer.out
}

/// A text with its quotation marks, escaped no more than it has to be (RFC 8259 §7; the forms of RFC 8785 §3.2.2.2).
#[inline(never)]
pub fn write_text(out: &mut String, text: &str) {
    out.push('"');
    let mut rest = text;
    while let Some(at) = rest.bytes().position(|byte| matches!(byte, b'"' | b'\\' | 0..0x20)) {
        let (plain, special) = rest.split_at(at);
        out.push_str(plain);
        // The found byte is a whole character, since it is ASCII.
        let (special, after) = special.split_at(1);
        match special {
            "\"" => out.push_str("\\\""),
            "\\" => out.push_str("\\\\"),
            "\n" => out.push_str("\\n"),
            "\r" => out.push_str("\\r"),
            "\t" => out.push_str("\\t"),
            "\u{8}" => out.push_str("\\b"),
            "\u{c}" => out.push_str("\\f"),
            _ => {
                let code = special.bytes().next().unwrap_or_default();
                // A string takes every write.
                let _ = write!(out, "\\u{code:04x}");
            }
        }
        rest = after;
    }
    out.push_str(rest);
    out.push('"');
}

/// A value that JSON has no form for.
#[derive(Debug)]
pub struct NoForm;

impl Display for NoForm {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("JSON has no form for this")
    }
}

impl std::error::Error for NoForm {}

impl Error for NoForm {
    fn custom<T: Display>(_: T) -> Self {
        NoForm
    }
}

type Outcome<T = ()> = Result<T, NoForm>;

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

    fn new_line(&mut self) {
        self.out.push('\n');
        (0..self.indent).for_each(|_| self.out.push_str("  "));
    }

    fn string(&mut self, text: &str) {
        write_text(&mut self.out, text);
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
    fn before_element(&mut self, is_first: bool) {
        if !is_first {
            self.out.push(',');
        }
    }

    #[inline(never)]
    fn before_name(&mut self, is_first: bool) {
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
    fn name(&mut self, is_first: bool, name: &str) {
        self.before_name(is_first);
        self.string(name);
        self.after_name();
    }

    #[inline(never)]
    fn close_list(&mut self) {
        self.lists -= 1;
        self.out.push(']');
    }

    #[inline(never)]
    fn close_object(&mut self, is_empty: bool) {
        self.indent -= 1;
        if !self.is_flat() && !is_empty {
            self.new_line();
        }
        self.out.push('}');
    }
}

/// A list or an object that is being written, perhaps as the content of a variant.
struct Part<'writer> {
    writer: &'writer mut Writer,
    is_first: bool,
    in_variant: bool,
}

impl<'writer> Part<'writer> {
    fn list(writer: &'writer mut Writer) -> Outcome<Self> {
        writer.open_list();
        Ok(Part { writer, is_first: true, in_variant: false })
    }

    fn object(writer: &'writer mut Writer) -> Outcome<Self> {
        writer.open_object();
        Ok(Part { writer, is_first: true, in_variant: false })
    }

    fn element<T: Serialize + ?Sized>(&mut self, value: &T) -> Outcome {
        self.writer.before_element(self.is_first);
        self.is_first = false;
        value.serialize(&mut *self.writer)
    }

    fn field<T: Serialize + ?Sized>(&mut self, name: &str, value: &T) -> Outcome {
        self.writer.name(self.is_first, name);
        self.is_first = false;
        value.serialize(&mut *self.writer)
    }

    fn end_list(self) -> Outcome {
        self.writer.close_list();
        self.end_variant()
    }

    fn end_object(self) -> Outcome {
        self.writer.close_object(self.is_first);
        self.end_variant()
    }

    fn end_variant(self) -> Outcome {
        if self.in_variant {
            self.writer.close_object(false);
        }
        Ok(())
    }
}

impl SerializeSeq for Part<'_> {
    type Ok = ();
    type Error = NoForm;
    fn serialize_element<T: Serialize + ?Sized>(&mut self, value: &T) -> Outcome {
        self.element(value)
    }
    fn end(self) -> Outcome {
        self.end_list()
    }
}

impl SerializeTuple for Part<'_> {
    type Ok = ();
    type Error = NoForm;
    fn serialize_element<T: Serialize + ?Sized>(&mut self, value: &T) -> Outcome {
        self.element(value)
    }
    fn end(self) -> Outcome {
        self.end_list()
    }
}

impl SerializeTupleStruct for Part<'_> {
    type Ok = ();
    type Error = NoForm;
    fn serialize_field<T: Serialize + ?Sized>(&mut self, value: &T) -> Outcome {
        self.element(value)
    }
    fn end(self) -> Outcome {
        self.end_list()
    }
}

impl SerializeTupleVariant for Part<'_> {
    type Ok = ();
    type Error = NoForm;
    fn serialize_field<T: Serialize + ?Sized>(&mut self, value: &T) -> Outcome {
        self.element(value)
    }
    fn end(self) -> Outcome {
        self.end_list()
    }
}

impl SerializeMap for Part<'_> {
    type Ok = ();
    type Error = NoForm;
    fn serialize_key<T: Serialize + ?Sized>(&mut self, key: &T) -> Outcome {
        self.writer.before_name(self.is_first);
        self.is_first = false;
        let start = self.writer.out.len();
        key.serialize(&mut *self.writer)?;
        // Names are strings.
        let is_string = self.writer.out.get(start..).is_some_and(|name| name.starts_with('"'));
        if is_string { Ok(()) } else { Err(NoForm) }
    }
    fn serialize_value<T: Serialize + ?Sized>(&mut self, value: &T) -> Outcome {
        self.writer.after_name();
        value.serialize(&mut *self.writer)
    }
    fn end(self) -> Outcome {
        self.end_object()
    }
}

impl SerializeStruct for Part<'_> {
    type Ok = ();
    type Error = NoForm;
    fn serialize_field<T: Serialize + ?Sized>(&mut self, name: &'static str, value: &T) -> Outcome {
        self.field(name, value)
    }
    fn end(self) -> Outcome {
        self.end_object()
    }
}

impl SerializeStructVariant for Part<'_> {
    type Ok = ();
    type Error = NoForm;
    fn serialize_field<T: Serialize + ?Sized>(&mut self, name: &'static str, value: &T) -> Outcome {
        self.field(name, value)
    }
    fn end(self) -> Outcome {
        self.end_object()
    }
}

impl<'writer> Serializer for &'writer mut Writer {
    type Ok = ();
    type Error = NoForm;
    type SerializeSeq = Part<'writer>;
    type SerializeTuple = Part<'writer>;
    type SerializeTupleStruct = Part<'writer>;
    type SerializeTupleVariant = Part<'writer>;
    type SerializeMap = Part<'writer>;
    type SerializeStruct = Part<'writer>;
    type SerializeStructVariant = Part<'writer>;

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
        write!(self.out, "{value}").map_err(|_| NoForm)
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
        write!(self.out, "{value}").map_err(|_| NoForm)
    }
    fn serialize_f32(self, value: f32) -> Outcome {
        self.serialize_f64(value.into())
    }
    fn serialize_f64(self, value: f64) -> Outcome {
        write_number(&mut self.out, value);
        Ok(())
    }
    fn serialize_char(self, value: char) -> Outcome {
        self.string(value.encode_utf8(&mut [0; 4]));
        Ok(())
    }
    fn serialize_str(self, value: &str) -> Outcome {
        self.string(value);
        Ok(())
    }
    fn serialize_bytes(self, _: &[u8]) -> Outcome {
        Err(NoForm)
    }
    fn serialize_none(self) -> Outcome {
        self.serialize_unit()
    }
    fn serialize_some<T: Serialize + ?Sized>(self, value: &T) -> Outcome {
        value.serialize(self)
    }
    fn serialize_unit(self) -> Outcome {
        self.out.push_str("null");
        Ok(())
    }
    fn serialize_unit_struct(self, _: &'static str) -> Outcome {
        self.serialize_unit()
    }
    fn serialize_unit_variant(self, _: &'static str, _: u32, variant: &'static str) -> Outcome {
        self.string(variant);
        Ok(())
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
        let mut part = Part::object(self)?;
        part.field(variant, value)?;
        part.end_object()
    }
    fn serialize_seq(self, _: Option<usize>) -> Outcome<Part<'writer>> {
        Part::list(self)
    }
    fn serialize_tuple(self, _: usize) -> Outcome<Part<'writer>> {
        Part::list(self)
    }
    fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Outcome<Part<'writer>> {
        Part::list(self)
    }
    fn serialize_tuple_variant(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        _: usize,
    ) -> Outcome<Part<'writer>> {
        self.open_object();
        self.name(true, variant);
        Ok(Part { in_variant: true, ..Part::list(self)? })
    }
    fn serialize_map(self, _: Option<usize>) -> Outcome<Part<'writer>> {
        Part::object(self)
    }
    fn serialize_struct(self, _: &'static str, _: usize) -> Outcome<Part<'writer>> {
        Part::object(self)
    }
    fn serialize_struct_variant(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        _: usize,
    ) -> Outcome<Part<'writer>> {
        self.open_object();
        self.name(true, variant);
        Ok(Part { in_variant: true, ..Part::object(self)? })
    }
}

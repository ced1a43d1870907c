//! The reader: the one place that knows how JSON is written.

use std::borrow::Cow;

use super::Misread;
use super::number::Written;

/// Lists and objects within each other: deeper than any plan, and shallow enough for any stack.
const DEPTH: u8 = 128;

/// What is wrong. Nothing that was read is kept, so no sentence has to be made of it.
#[derive(Clone, Copy)]
struct Wrong {
    what: &'static str,
    is_broken: bool,
}

/// Something could not be read; the reader knows what and where.
#[derive(Clone, Copy, Debug)]
pub struct Failed;

/// What reading comes to.
pub type Outcome<T = ()> = Result<T, Failed>;

/// What reads the next value, of which this is known: the index of its field, its name, or nothing.
///
/// A closure does; called as one it would bring a second copy of itself, for whoever might call it once.
pub trait ReadNext<Known> {
    /// Reads it.
    ///
    /// # Errors
    /// Where it is not as expected; the reader knows why.
    fn read_next(&mut self, known: Known, reader: &mut Reader<'_>) -> Outcome;
}

impl<Known, F: FnMut(Known, &mut Reader<'_>) -> Outcome> ReadNext<Known> for F {
    fn read_next(&mut self, known: Known, reader: &mut Reader<'_>) -> Outcome {
        self(known, reader)
    }
}

/// The fields of an object.
pub struct Fields {
    /// Their names, at most 64.
    pub names: &'static [&'static str],
    /// Which of them must be there, a bit each, the first the lowest.
    pub required: u64,
    /// Another field is refused, and not passed over.
    pub is_closed: bool,
}

/// A place in a text.
pub struct Reader<'text> {
    text: &'text str,
    at: usize,
    depth: u8,
    /// A field of the object that begins here which was read already.
    tag: Option<&'static str>,
    wrong: Wrong,
}

impl<'text> Reader<'text> {
    pub(super) const fn new(text: &'text str) -> Self {
        Reader { text, at: 0, depth: 0, tag: None, wrong: Wrong { what: "", is_broken: false } }
    }

    /// The text is no JSON.
    #[cold]
    fn broken(&mut self, what: &'static str) -> Failed {
        self.wrong = Wrong { what, is_broken: true };
        Failed
    }

    /// It is, but not of what is asked for.
    #[cold]
    pub(super) fn unfit(&mut self, what: &'static str) -> Failed {
        self.wrong = Wrong { what, is_broken: false };
        Failed
    }

    /// What is wrong and where, after something failed.
    pub(super) fn misread(&self) -> Misread {
        let before = self.text.get(..self.at).unwrap_or(self.text);
        let line_start = before.bytes().rposition(|byte| byte == b'\n').map_or(0, |end| end + 1);
        let line = before.get(line_start..).unwrap_or_default();
        Misread {
            what: self.wrong.what,
            line: before.bytes().filter(|byte| *byte == b'\n').count() + 1,
            column: line.chars().count() + 1,
            is_broken: self.wrong.is_broken,
        }
    }

    /// Nothing but blanks is left.
    pub(super) fn end(&mut self) -> Outcome {
        match self.peek() {
            None => Ok(()),
            Some(_) => Err(self.broken("the text goes on after its end")),
        }
    }

    /// The next byte that is no blank.
    #[inline(never)]
    pub(super) fn peek(&mut self) -> Option<u8> {
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
    fn mismatch(&mut self) -> Failed {
        match self.peek() {
            Some(b'"' | b'{' | b'[' | b't' | b'f' | b'n' | b'-' | b'0'..=b'9') => {
                self.unfit("another kind of value is expected")
            }
            Some(_) => self.broken("no JSON value"),
            None => self.broken("the text ends too early"),
        }
    }

    fn literal(&mut self, word: &'static str) -> Outcome {
        let is_there = self.text.get(self.at..).is_some_and(|rest| rest.starts_with(word));
        if !is_there {
            return Err(self.broken("no JSON value"));
        }
        self.at += word.len();
        Ok(())
    }

    #[inline(never)]
    pub(super) fn truth(&mut self) -> Outcome<bool> {
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
        let (number, length) = Written::scan(rest).ok_or_else(|| self.broken("no JSON number"))?;
        self.at += length;
        Ok(number)
    }

    #[inline(never)]
    pub(super) fn real(&mut self) -> Outcome<f64> {
        self.number()?.value().ok_or_else(|| self.broken("the number is too large"))
    }

    #[inline(never)]
    pub(super) fn whole(&mut self) -> Outcome<(u64, bool)> {
        self.number()?.whole().ok_or_else(|| self.unfit("a whole number is expected"))
    }

    #[inline(never)]
    pub(super) fn string(&mut self) -> Outcome<Cow<'text, str>> {
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
                Some(_) => return Err(self.broken("a control character in a string")),
                None => return Err(self.broken("the text ends too early")),
            }
        }
    }

    /// What follows a backslash.
    fn escaped(&mut self) -> Outcome<char> {
        let letter = self.text.as_bytes().get(self.at).copied().unwrap_or_default();
        let plain = match letter {
            b'"' | b'\\' | b'/' => char::from(letter),
            b'b' => '\u{8}',
            b'f' => '\u{c}',
            b'n' => '\n',
            b'r' => '\r',
            b't' => '\t',
            b'u' => return self.unicode(),
            _ => return Err(self.broken("an unknown escape")),
        };
        self.at += 1;
        Ok(plain)
    }

    /// `uXXXX`, or two of them for a character beyond 16 bits.
    fn unicode(&mut self) -> Outcome<char> {
        let character = self.code_point().and_then(char::from_u32);
        character.ok_or_else(|| self.broken("no Unicode character"))
    }

    fn code_point(&mut self) -> Option<u32> {
        let first = self.four_digits()?;
        if !(0xd800..0xdc00).contains(&first) {
            return Some(first);
        }
        self.text.as_bytes().get(self.at).filter(|byte| **byte == b'\\')?;
        self.at += 1;
        let second = self.four_digits().filter(|second| (0xdc00..=0xdfff).contains(second))?;
        Some(0x1_0000 + ((first - 0xd800) << 10) + (second - 0xdc00))
    }

    fn four_digits(&mut self) -> Option<u32> {
        let digits = self.text.as_bytes().get(self.at..)?.strip_prefix(b"u")?.get(..4)?;
        self.at += 5;
        digits.iter().try_fold(0, |sum, digit| Some(sum * 16 + char::from(*digit).to_digit(16)?))
    }

    /// Enters a list or an object.
    #[inline(never)]
    fn enter(&mut self, bracket: u8) -> Outcome {
        if !self.take(bracket) {
            return Err(self.mismatch());
        }
        if self.depth == DEPTH {
            return Err(self.broken("too many lists within each other"));
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
                Some(_) => self.broken("a comma is expected"),
                None => self.broken("the text ends too early"),
            });
        }
        if bracket == b'}' && self.peek() != Some(b'"') {
            return Err(match self.peek() {
                Some(_) => self.broken("a name is expected"),
                None => self.broken("the text ends too early"),
            });
        }
        Ok(true)
    }

    #[inline(never)]
    pub(super) fn colon(&mut self) -> Outcome {
        if self.take(b':') { Ok(()) } else { Err(self.broken("a colon is expected")) }
    }

    /// Passes over a value of any kind.
    pub fn skip(&mut self) -> Outcome {
        match self.peek() {
            Some(b'"') => self.string().map(|_| ()),
            Some(b't' | b'f') => self.truth().map(|_| ()),
            Some(b'n') => self.literal("null"),
            Some(b'[') => self.list(&mut |(), reader: &mut Reader<'_>| reader.skip()),
            Some(b'{') => self.entries(&mut |_: &str, reader: &mut Reader<'_>| {
                reader.colon()?;
                reader.skip()
            }),
            Some(b'-' | b'0'..=b'9') => self.number().map(|_| ()),
            _ => Err(self.mismatch()),
        }
    }

    /// Passes over `null`, where that is what follows.
    pub(super) fn null(&mut self) -> Outcome<bool> {
        let is_null = self.peek() == Some(b'n');
        if is_null {
            self.literal("null")?;
        }
        Ok(is_null)
    }

    /// A list; `read` reads one value of it.
    pub(super) fn list(&mut self, read: &mut dyn ReadNext<()>) -> Outcome {
        self.enter(b'[')?;
        let mut is_first = true;
        while self.next(b']', is_first)? {
            is_first = false;
            read.read_next((), self)?;
        }
        Ok(())
    }

    /// An object of any names; `read` gets a name, as what is wrong with it is told where it ends, and reads the colon and the value.
    pub(super) fn entries(&mut self, read: &mut dyn for<'name> ReadNext<&'name str>) -> Outcome {
        self.enter(b'{')?;
        let mut is_first = true;
        while self.next(b'}', is_first)? {
            is_first = false;
            let name = self.string()?;
            read.read_next(&name, self)?;
        }
        Ok(())
    }

    /// An object of these fields; `read` gets the index of one and reads its value. The tag that was read before by
    /// [`tag`](Self::tag) is passed over.
    ///
    /// # Errors
    /// A field that is there twice, that must be there and is not, or that is not known where none else may be.
    pub fn object(&mut self, fields: &Fields, read: &mut dyn ReadNext<usize>) -> Outcome {
        const TWICE: &str = "a field is there twice";
        let tag = self.tag.take();
        let (mut there, mut tags) = (0_u64, 0);
        self.entries(&mut |name: &str, reader: &mut Reader<'_>| {
            let Some(index) = fields.names.iter().position(|known| *known == name) else {
                let is_tag = tag == Some(name);
                tags += u32::from(is_tag);
                if tags > 1 {
                    return Err(reader.unfit(TWICE));
                }
                if fields.is_closed && !is_tag {
                    return Err(reader.unfit("an unknown field"));
                }
                reader.colon()?;
                return reader.skip();
            };
            let bit = 1 << index;
            if there & bit != 0 {
                return Err(reader.unfit(TWICE));
            }
            there |= bit;
            reader.colon()?;
            read.read_next(index, reader)
        })?;
        if fields.required & !there == 0 { Ok(()) } else { Err(self.unfit("a field is missing")) }
    }

    /// Which of these names the field with this name says, of an object that begins here and is to be read next. Writers put
    /// it first; where it is not, all before it is read twice.
    ///
    /// # Errors
    /// Where it is missing, or no known name.
    pub fn tag(&mut self, tag: &'static str, names: &[&str]) -> Outcome<usize> {
        let (at, depth) = (self.at, self.depth);
        self.enter(b'{')?;
        let mut is_first = true;
        while self.next(b'}', is_first)? {
            is_first = false;
            let is_tag = self.string()? == tag;
            self.colon()?;
            if is_tag {
                let index = self.name(names)?;
                (self.at, self.depth, self.tag) = (at, depth, Some(tag));
                return Ok(index);
            }
            self.skip()?;
        }
        Err(self.unfit("a field is missing"))
    }

    /// One of these names, by its index.
    ///
    /// # Errors
    /// Where it is another.
    pub fn name(&mut self, names: &[&str]) -> Outcome<usize> {
        let name = self.string()?;
        names.iter().position(|known| *known == name).ok_or_else(|| self.unfit("an unknown name"))
    }

    /// The same, with the index of what stands for all others.
    ///
    /// # Errors
    /// Where it is no name.
    pub fn name_or(&mut self, names: &[&str], other: usize) -> Outcome<usize> {
        let name = self.string()?;
        Ok(names.iter().position(|known| *known == name).unwrap_or(other))
    }

    /// A name alone, or an object whose one field is a name with its content. `read` gets the index of the name and whether
    /// there is a content, and reads that.
    ///
    /// # Errors
    /// Where the name is another, or there are two.
    pub fn variant(&mut self, names: &[&str], read: &mut dyn ReadNext<(usize, bool)>) -> Outcome {
        if self.peek() != Some(b'{') {
            let index = self.name(names)?;
            return read.read_next((index, false), self);
        }
        self.enter(b'{')?;
        if !self.next(b'}', true)? {
            return Err(self.unfit("a name is missing"));
        }
        let index = self.name(names)?;
        self.colon()?;
        read.read_next((index, true), self)?;
        if self.next(b'}', false)? { Err(self.unfit("another number of values is expected")) } else { Ok(()) }
    }

    /// Refuses a content where there is to be none.
    ///
    /// # Errors
    /// Where there is one.
    pub fn bare(&mut self, has_content: bool) -> Outcome {
        if has_content { Err(self.unfit("a name alone is expected")) } else { Ok(()) }
    }

    /// Asks for a content.
    ///
    /// # Errors
    /// Where there is none.
    pub fn content(&mut self, has_content: bool) -> Outcome {
        if has_content { Ok(()) } else { Err(self.unfit("a name with its content is expected")) }
    }
}

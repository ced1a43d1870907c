//! What can be read: the types that JSON and the standard library have; `derive(Read)` does the rest.

use counterpoise_geometry::{PerSide, Side, SortedMap};

use super::reader::{Fields, Outcome, Reader};

/// A type that is read from JSON.
///
/// A value is read into a place that holds one already: code for a field is then one call, and not a value that is made, moved and put together.
pub trait Read: Sized {
    /// Whether a field of this type must be there.
    const IS_REQUIRED: bool = true;

    /// Something to read into: what is missing stays so where it need not be there.
    fn blank() -> Self;

    /// Reads the value that follows, whatever was there before. After a failure what is there is of no use.
    ///
    /// # Errors
    /// Where what follows is not of this type; the reader knows why.
    fn read(&mut self, reader: &mut Reader<'_>) -> Outcome;

    /// The value that follows, where there is no place for it yet.
    ///
    /// # Errors
    /// As [`read`](Self::read).
    fn next(reader: &mut Reader<'_>) -> Outcome<Self> {
        let mut value = Self::blank();
        value.read(reader)?;
        Ok(value)
    }
}

impl Read for bool {
    fn blank() -> Self {
        false
    }
    fn read(&mut self, reader: &mut Reader<'_>) -> Outcome {
        *self = reader.truth()?;
        Ok(())
    }
}

impl Read for f64 {
    fn blank() -> Self {
        0.0
    }
    fn read(&mut self, reader: &mut Reader<'_>) -> Outcome {
        *self = reader.real()?;
        Ok(())
    }
}

macro_rules! whole_numbers {
    ($($kind:ty)*) => {
        $(impl Read for $kind {
            fn blank() -> Self {
                0
            }
            fn read(&mut self, reader: &mut Reader<'_>) -> Outcome {
                let (size, is_negative) = reader.whole()?;
                let value = if is_negative {
                    0_i64.checked_sub_unsigned(size).and_then(|value| Self::try_from(value).ok())
                } else {
                    Self::try_from(size).ok()
                };
                *self = value.ok_or_else(|| reader.unfit("the number is too large"))?;
                Ok(())
            }
        })*
    };
}
whole_numbers! { u16 u32 u64 usize i64 }

impl Read for String {
    fn blank() -> Self {
        String::new()
    }
    fn read(&mut self, reader: &mut Reader<'_>) -> Outcome {
        *self = reader.string()?.into_owned();
        Ok(())
    }
}

impl<T: Read> Read for Box<T> {
    const IS_REQUIRED: bool = T::IS_REQUIRED;

    fn blank() -> Self {
        Box::new(T::blank())
    }
    fn read(&mut self, reader: &mut Reader<'_>) -> Outcome {
        self.as_mut().read(reader)
    }
}

impl<T: Read> Read for Option<T> {
    const IS_REQUIRED: bool = false;

    fn blank() -> Self {
        None
    }
    fn read(&mut self, reader: &mut Reader<'_>) -> Outcome {
        *self = None;
        if reader.null()? { Ok(()) } else { self.insert(T::blank()).read(reader) }
    }
}

impl<T: Read> Read for Vec<T> {
    fn blank() -> Self {
        Vec::new()
    }
    fn read(&mut self, reader: &mut Reader<'_>) -> Outcome {
        self.clear();
        reader.list(&mut |(), reader: &mut Reader<'_>| {
            self.push(T::next(reader)?);
            Ok(())
        })
    }
}

impl<T: Read, const N: usize> Read for [T; N] {
    fn blank() -> Self {
        std::array::from_fn(|_| T::blank())
    }
    fn read(&mut self, reader: &mut Reader<'_>) -> Outcome {
        const ANOTHER: &str = "another number of values is expected";
        let mut places = self.iter_mut();
        reader.list(&mut |(), reader: &mut Reader<'_>| match places.next() {
            Some(place) => place.read(reader),
            None => Err(reader.unfit(ANOTHER)),
        })?;
        if places.next().is_none() { Ok(()) } else { Err(reader.unfit(ANOTHER)) }
    }
}

/// Where a name is there twice, the last one counts, as for most readers of JSON.
impl<T: Read> Read for SortedMap<String, T> {
    fn blank() -> Self {
        SortedMap::new()
    }
    fn read(&mut self, reader: &mut Reader<'_>) -> Outcome {
        /// Three times as many as there are texts. A list of millions from the last to the first would take minutes.
        const MOST_NAMES: usize = 4096;
        self.clear();
        reader.entries(&mut |name: &str, reader: &mut Reader<'_>| {
            if self.len() == MOST_NAMES {
                return Err(reader.unfit("too many names"));
            }
            reader.colon()?;
            self.insert(name.to_owned(), T::next(reader)?);
            Ok(())
        })
    }
}

impl Read for Side {
    fn blank() -> Self {
        Side::Right
    }
    fn read(&mut self, reader: &mut Reader<'_>) -> Outcome {
        const NAMES: [&str; 2] = [Side::Right.name(), Side::Left.name()];
        *self = if reader.name(&NAMES)? == 0 { Side::Right } else { Side::Left };
        Ok(())
    }
}

impl<T: Read> Read for PerSide<T> {
    fn blank() -> Self {
        PerSide { right: T::blank(), left: T::blank() }
    }
    fn read(&mut self, reader: &mut Reader<'_>) -> Outcome {
        const NAMES: [&str; 2] = [Side::Right.name(), Side::Left.name()];
        let required = if T::IS_REQUIRED { 0b11 } else { 0 };
        *self = PerSide::blank();
        reader.object(
            &Fields { names: &NAMES, required, is_closed: true },
            &mut |index: usize, reader: &mut Reader<'_>| {
                if index == 0 { self.right.read(reader) } else { self.left.read(reader) }
            },
        )
    }
}

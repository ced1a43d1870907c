//! Reading FlatBuffers (the encoding of the TensorFlow Lite file format) without trust: every step is checked.

/// A table somewhere in a buffer.
#[derive(Clone, Copy)]
pub struct Table<'a> {
    buffer: &'a [u8],
    at: usize,
    /// Where its list of field places is.
    fields: usize,
}

/// A vector somewhere in a buffer: where its first element is, and how many there are.
#[derive(Clone, Copy)]
pub struct Vector<'a> {
    buffer: &'a [u8],
    at: usize,
    len: usize,
}

fn bytes<const N: usize>(buffer: &[u8], at: usize) -> Option<[u8; N]> {
    buffer.get(at..at.checked_add(N)?)?.try_into().ok()
}

fn u16_at(buffer: &[u8], at: usize) -> Option<usize> {
    bytes(buffer, at).map(|found| usize::from(u16::from_le_bytes(found)))
}

fn u32_at(buffer: &[u8], at: usize) -> Option<usize> {
    bytes(buffer, at).map(|found| u32::from_le_bytes(found) as usize)
}

/// The table that a buffer begins with.
pub fn root(buffer: &[u8]) -> Option<Table<'_>> {
    Table::at(buffer, u32_at(buffer, 0)?)
}

impl<'a> Table<'a> {
    fn at(buffer: &'a [u8], at: usize) -> Option<Table<'a>> {
        let back = i32::from_le_bytes(bytes(buffer, at)?);
        let fields = usize::try_from(i64::try_from(at).ok()? - i64::from(back)).ok()?;
        u16_at(buffer, fields)?;
        Some(Table { buffer, at, fields })
    }

    /// Where a field is; `None` where it is left out.
    fn field(&self, index: usize) -> Option<usize> {
        let entry = 4 + 2 * index;
        if entry + 2 > u16_at(self.buffer, self.fields)? {
            return None;
        }
        let offset = u16_at(self.buffer, self.fields.checked_add(entry)?)?;
        if offset == 0 { None } else { self.at.checked_add(offset) }
    }

    /// A byte; 0 where it is left out.
    pub fn u8(&self, index: usize) -> Option<u8> {
        self.field(index).map_or(Some(0), |at| self.buffer.get(at).copied())
    }

    /// A whole number; 0 where it is left out.
    pub fn i32(&self, index: usize) -> Option<i32> {
        self.field(index).map_or(Some(0), |at| bytes(self.buffer, at).map(i32::from_le_bytes))
    }

    /// A whole number; 0 where it is left out.
    pub fn u32(&self, index: usize) -> Option<usize> {
        self.field(index).map_or(Some(0), |at| u32_at(self.buffer, at))
    }

    fn followed(&self, index: usize) -> Option<usize> {
        let at = self.field(index)?;
        at.checked_add(u32_at(self.buffer, at)?)
    }

    /// A table that a field points to.
    pub fn table(&self, index: usize) -> Option<Table<'a>> {
        Table::at(self.buffer, self.followed(index)?)
    }

    /// A vector that a field points to, of elements of this many bytes.
    pub fn vector(&self, index: usize, element: usize) -> Option<Vector<'a>> {
        let at = self.followed(index)?;
        let len = u32_at(self.buffer, at)?;
        let at = at.checked_add(4)?;
        self.buffer.get(at..at.checked_add(len.checked_mul(element)?)?)?;
        Some(Vector { buffer: self.buffer, at, len })
    }

    /// The bytes of a vector of bytes or of a string.
    pub fn bytes(&self, index: usize) -> Option<&'a [u8]> {
        let vector = self.vector(index, 1)?;
        vector.buffer.get(vector.at..vector.at + vector.len)
    }

    /// A vector of whole numbers; empty where it is left out.
    pub fn i32s(&self, index: usize) -> Option<Vec<i32>> {
        let Some(vector) = self.vector(index, 4) else { return Some(Vec::new()) };
        (0..vector.len).map(|k| bytes(vector.buffer, vector.at + 4 * k).map(i32::from_le_bytes)).collect()
    }

    /// A vector of tables.
    pub fn tables(&self, index: usize) -> Option<Vec<Table<'a>>> {
        let vector = self.vector(index, 4)?;
        (0..vector.len)
            .map(|k| {
                let at = vector.at + 4 * k;
                Table::at(vector.buffer, at.checked_add(u32_at(vector.buffer, at)?)?)
            })
            .collect()
    }
}

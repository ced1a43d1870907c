//! Reading FlexBuffers, the schema-less encoding in which operators of one's own keep their settings: a map of numbers and of lists
//! of numbers is all that is needed.

/// A map somewhere in a buffer.
pub struct Map<'a> {
    buffer: &'a [u8],
    /// Where its values begin.
    at: usize,
    len: usize,
    /// Bytes of each value.
    width: usize,
    keys: usize,
    key_width: usize,
}

/// Kinds of values as the format numbers them.
mod kind {
    pub const INT: u8 = 1;
    pub const UINT: u8 = 2;
    pub const FLOAT: u8 = 3;
    pub const MAP: u8 = 9;
    pub const VECTOR: u8 = 10;
    pub const VECTOR_INT: u8 = 11;
    pub const VECTOR_UINT: u8 = 12;
}

fn unsigned(buffer: &[u8], at: usize, width: usize) -> Option<usize> {
    let bytes = buffer.get(at..at.checked_add(width)?)?;
    bytes.iter().rev().try_fold(0_usize, |sum, byte| sum.checked_mul(256)?.checked_add(usize::from(*byte)))
}

/// Where an offset at this place leads back to.
fn back(buffer: &[u8], at: usize, width: usize) -> Option<usize> {
    at.checked_sub(unsigned(buffer, at, width)?)
}

const fn width_of(packed: u8) -> usize {
    1 << (packed & 3)
}

fn number(buffer: &[u8], at: usize, width: usize, packed: u8) -> Option<f64> {
    let bytes = buffer.get(at..at.checked_add(width)?)?;
    match (packed >> 2, width) {
        // Settings are small and not negative.
        (kind::INT | kind::UINT, _) => unsigned(buffer, at, width).map(|value| value as f64),
        (kind::FLOAT, 4) => Some(f64::from(f32::from_le_bytes(bytes.try_into().ok()?))),
        (kind::FLOAT, 8) => Some(f64::from_le_bytes(bytes.try_into().ok()?)),
        _ => None,
    }
}

impl<'a> Map<'a> {
    /// The map that a buffer holds.
    pub fn root(buffer: &'a [u8]) -> Option<Map<'a>> {
        let width = usize::from(*buffer.last()?);
        let packed = *buffer.get(buffer.len().checked_sub(2)?)?;
        let root = buffer.len().checked_sub(2)?.checked_sub(width)?;
        if packed >> 2 != kind::MAP {
            return None;
        }
        let (at, width) = (back(buffer, root, width)?, width_of(packed));
        let len = unsigned(buffer, at.checked_sub(width)?, width)?;
        let key_width = unsigned(buffer, at.checked_sub(2 * width)?, width)?;
        let keys = back(buffer, at.checked_sub(3 * width)?, width)?;
        Some(Map { buffer, at, len, width, keys, key_width })
    }

    /// Place and packed type of the value with this name.
    fn find(&self, name: &str) -> Option<(usize, u8)> {
        let index = (0..self.len).find(|k| {
            let key = self.keys.checked_add(k * self.key_width);
            let start = key.and_then(|key| back(self.buffer, key, self.key_width));
            start
                .and_then(|start| self.buffer.get(start..))
                .is_some_and(|text| text.starts_with(name.as_bytes()) && text.get(name.len()) == Some(&0))
        })?;
        let packed =
            *self.buffer.get(self.at.checked_add(self.len.checked_mul(self.width)?)?.checked_add(index)?)?;
        Some((self.at.checked_add(index.checked_mul(self.width)?)?, packed))
    }

    /// A number by its name.
    pub fn number(&self, name: &str) -> Option<f64> {
        let (at, packed) = self.find(name)?;
        number(self.buffer, at, self.width, packed)
    }

    /// A list of whole numbers by its name.
    pub fn list(&self, name: &str) -> Option<Vec<usize>> {
        let (at, packed) = self.find(name)?;
        let (at, width) = (back(self.buffer, at, self.width)?, width_of(packed));
        let len = unsigned(self.buffer, at.checked_sub(width)?, width)?;
        // Each element has at least one byte, so a length that is a lie ends here.
        self.buffer.get(at..at.checked_add(len.checked_mul(width)?)?)?;
        match packed >> 2 {
            kind::VECTOR_INT | kind::VECTOR_UINT => {
                (0..len).map(|k| unsigned(self.buffer, at + k * width, width)).collect()
            }
            kind::VECTOR => (0..len)
                .map(|k| {
                    let packed = *self.buffer.get(at + len * width + k)?;
                    number(self.buffer, at + k * width, width, packed).map(|value| value as usize)
                })
                .collect(),
            _ => None,
        }
    }
}

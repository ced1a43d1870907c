//! The client's own right and left.

use serde::{Deserialize, Serialize};

/// One of the client's two sides. Always the client's own: in an unmirrored photo of her face
/// [`Side::Right`] is on the viewer's left.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum Side {
    /// The client's own right.
    Right,
    /// The client's own left.
    Left,
}

impl Side {
    /// Both sides, right first: the order of every table and list.
    pub const BOTH: [Side; 2] = [Side::Right, Side::Left];

    /// The other side.
    #[must_use]
    pub const fn other(self) -> Side {
        match self {
            Side::Right => Side::Left,
            Side::Left => Side::Right,
        }
    }

    /// Sign of the face frame's x on this side: −1 on the client's right, +1 on her left.
    #[must_use]
    pub const fn sign(self) -> f64 {
        match self {
            Side::Right => -1.0,
            Side::Left => 1.0,
        }
    }

    /// The name in files and messages: `right` or `left`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Side::Right => "right",
            Side::Left => "left",
        }
    }
}

/// One value for each of the client's sides.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PerSide<T> {
    /// The client's own right.
    pub right: T,
    /// The client's own left.
    pub left: T,
}

impl<T> PerSide<T> {
    /// Makes both values from their side.
    pub fn from_fn(mut make: impl FnMut(Side) -> T) -> Self {
        let right = make(Side::Right);
        PerSide { right, left: make(Side::Left) }
    }

    /// The value of one side.
    #[must_use]
    pub const fn get(&self, side: Side) -> &T {
        match side {
            Side::Right => &self.right,
            Side::Left => &self.left,
        }
    }

    /// The value of one side, to change it.
    pub const fn get_mut(&mut self, side: Side) -> &mut T {
        match side {
            Side::Right => &mut self.right,
            Side::Left => &mut self.left,
        }
    }

    /// Both values by reference.
    #[must_use]
    pub const fn as_ref(&self) -> PerSide<&T> {
        PerSide { right: &self.right, left: &self.left }
    }

    /// Both values changed by the same function.
    pub fn map<U>(self, mut change: impl FnMut(T) -> U) -> PerSide<U> {
        let right = change(self.right);
        PerSide { right, left: change(self.left) }
    }

    /// Both values with right and left exchanged.
    #[must_use]
    pub fn swapped(self) -> Self {
        PerSide { right: self.left, left: self.right }
    }
}

impl<T> PerSide<Option<T>> {
    /// Both values, if both are there.
    #[must_use]
    pub fn both(self) -> Option<PerSide<T>> {
        Some(PerSide { right: self.right?, left: self.left? })
    }
}

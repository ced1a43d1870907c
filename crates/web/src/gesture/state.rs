//! What the reducer remembers between events: plain values, to be stored anywhere.

use counterpoise_plan::notation::Read;
use serde::{Deserialize, Serialize};

use super::event::{PointerKind, Spot};
use super::hit::LastTap;

/// The state between two calls. Starts as `Default`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, Read)]
#[serde(default)]
pub struct GestureState {
    /// A pen was seen: touch pans and zooms only.
    pub pen_mode: bool,
    pub(super) contacts: Vec<Contact>,
    pub(super) doing: Doing,
    pub(super) last_tap: Option<LastTap>,
}

impl GestureState {
    /// True while a handle is dragged or a stroke drawn.
    #[must_use]
    pub fn is_editing(&self) -> bool {
        matches!(self.doing, Doing::Dragging { .. } | Doing::Stroking { .. })
    }
}

/// A pointer that is down.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
pub(super) struct Contact {
    pub id: i64,
    pub kind: PointerKind,
    /// The button that must stay down.
    pub button: u16,
    pub x: f64,
    pub y: f64,
}

/// What is under way.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, Read)]
#[serde(rename_all = "snake_case")]
pub(super) enum Doing {
    #[default]
    Nothing,
    /// Down, and not yet known for what.
    Pressed {
        pointer: i64,
        t_ms: f64,
        path: Vec<[f64; 2]>,
        hits: Vec<Spot>,
    },
    /// `grab` leads from the pointer to the handle, so that the handle does not jump under the finger.
    Dragging {
        pointer: i64,
        id: String,
        grab: [f64; 2],
        from: [f64; 2],
        at: [f64; 2],
    },
    Stroking {
        pointer: i64,
    },
    Panning {
        pointer: i64,
    },
    Pinching {
        first: i64,
        second: i64,
    },
}

impl Doing {
    pub fn is_by(&self, id: i64) -> bool {
        match self {
            Doing::Nothing => false,
            Doing::Pressed { pointer, .. }
            | Doing::Dragging { pointer, .. }
            | Doing::Stroking { pointer }
            | Doing::Panning { pointer } => *pointer == id,
            Doing::Pinching { first, second } => *first == id || *second == id,
        }
    }
}

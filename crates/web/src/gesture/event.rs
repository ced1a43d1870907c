//! What goes into the reducer and what comes out.

use counterpoise_plan::notation::Read;
use serde::{Deserialize, Serialize};

/// The primary button: contact of a finger, a pen's tip or the left mouse button.
pub(super) const PRIMARY: u16 = 1;
/// The middle mouse button: pans.
pub(super) const MIDDLE: u16 = 4;

/// What happened.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, Read)]
#[serde(rename_all = "snake_case")]
pub enum EventKind {
    /// A button went down or a finger touched.
    Down,
    /// A pointer moved.
    Move,
    /// A pointer came up.
    Up,
    /// The browser took the pointer away.
    Cancel,
    /// A wheel turned, or a trackpad pinched.
    Wheel,
    /// A key went down.
    Key,
    /// The page drops whatever is under way: another mode, a lost focus.
    Abort,
    /// The artist leaves pen mode.
    LeavePen,
}

/// What kind of pointer.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, Read)]
#[serde(rename_all = "snake_case")]
pub enum PointerKind {
    /// A finger.
    Touch,
    /// A pen.
    Pen,
    /// A mouse, and whatever the browser does not know.
    #[default]
    #[serde(other)]
    Mouse,
}

/// One event of the stage. CSS px of the stage, x right, y down.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
pub struct Event {
    /// What happened.
    #[serde(rename = "type")]
    pub kind: EventKind,
    /// Which pointer.
    #[serde(default)]
    pub pointer_id: i64,
    /// What kind of pointer.
    #[serde(default)]
    pub pointer_type: PointerKind,
    /// Place.
    #[serde(default)]
    pub x: f64,
    /// Place.
    #[serde(default)]
    pub y: f64,
    /// Buttons that are down, as in `PointerEvent.buttons`.
    #[serde(default)]
    pub buttons: u16,
    /// A clock that only runs forward, ms.
    #[serde(default)]
    pub t_ms: f64,
    /// Shift is held.
    #[serde(default)]
    pub shift: bool,
    /// Control is held, or a trackpad pinches.
    #[serde(default)]
    pub ctrl: bool,
    /// Wheel only: px to the right.
    #[serde(default)]
    pub dx: f64,
    /// Wheel only: px down.
    #[serde(default)]
    pub dy: f64,
    /// Key only: as in `KeyboardEvent.key`.
    #[serde(default)]
    pub key: String,
}

impl Event {
    pub(super) fn is_finite(&self) -> bool {
        [self.x, self.y, self.t_ms, self.dx, self.dy].iter().all(|value| value.is_finite())
    }

    /// The button that makes this a contact, or `None` where it is none.
    pub(super) fn button(&self) -> Option<u16> {
        if self.buttons & PRIMARY != 0 {
            Some(PRIMARY)
        } else if self.buttons & MIDDLE != 0 && self.pointer_type == PointerKind::Mouse {
            Some(MIDDLE)
        } else {
            None
        }
    }
}

/// What one finger does on the stage.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, Read)]
#[serde(rename_all = "snake_case")]
pub enum Mode {
    /// Pans; no handle is hit.
    #[default]
    Look,
    /// Places and drags landmarks.
    Points,
    /// Draws a stroke.
    Trace,
    /// Drags the handles of outlines.
    Shape,
}

/// A handle on the screen, CSS px.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
pub struct Spot {
    /// As in the scene.
    pub id: String,
    /// Place.
    pub x: f64,
    /// Place.
    pub y: f64,
}

/// What the stage shows at the moment.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, Read)]
#[serde(default)]
pub struct Context {
    /// What one finger does.
    pub mode: Mode,
    /// Handles that can be hit; needed with `down` only.
    pub handles: Vec<Spot>,
    /// The handle that is selected.
    pub selected: Option<String>,
    /// True while the page asks for a landmark that is not placed yet.
    pub placing: bool,
}

/// What the stage is to do. CSS px of the stage.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "do", rename_all = "snake_case")]
#[expect(missing_docs, reason = "`x` and `y` are places in px, `id` is a handle's")]
pub enum Command {
    /// A drag begins; the handle is at this place. The id is [`super::PLACE`] where a new landmark is being put down.
    DragStart { id: String, x: f64, y: f64 },
    /// The handle belongs here now.
    DragTo { id: String, x: f64, y: f64 },
    /// The drag is done: keep it.
    DragEnd { id: String },
    /// The drag is off: all as before.
    DragCancel { id: String },
    /// A stroke begins.
    StrokeStart { x: f64, y: f64 },
    /// The stroke goes on.
    StrokePoint { x: f64, y: f64 },
    /// The stroke is done.
    StrokeEnd,
    /// The stroke is off.
    StrokeCancel,
    /// Shift the view by this many px.
    Pan { dx: f64, dy: f64 },
    /// Scale the view about this place.
    Zoom { factor: f64, x: f64, y: f64 },
    /// A tap that hit no handle.
    Tap { x: f64, y: f64, touch: bool },
    /// A tap on a handle.
    Select { id: String },
    /// Pen mode was switched.
    PenMode { on: bool },
}

//! Fingers, pens and mice become a few commands. Pure: the state goes in and comes out, so recorded traces replay.
//!
//! Rules, each with a test:
//! - Contact is the pressed primary button, never pressure: pens report pressure 0 on some browsers, and a hovering pen
//!   must not draw. Barrel buttons and erasers are ignored.
//! - The first contact of a pen switches pen mode on: from then on touch only pans and zooms, since a resting palm is
//!   touch too. The page shows a way out; nothing else leaves it.
//! - A second finger within [`LANDING_MS`] makes a pinch and never a drag or stroke.
//! - A pen that lands while a finger draws or drags drops what the finger did.
//! - `pointercancel` is no `pointerup`: what was under way is dropped.
//! - The nearest handle within reach is hit; tapping again where several overlap goes on to the next.

mod event;
mod hit;
mod state;
#[cfg(test)]
mod tests;

pub use event::{Command, Context, Event, EventKind, Mode, PointerKind, Spot};
pub use state::GestureState;

use hit::{LastTap, Reach};
use state::{Contact, Doing};

/// A finger that lands this soon after the first belongs to a pinch, ms.
pub const LANDING_MS: f64 = 80.0;

/// The id of a drag that places the landmark the page asks for.
pub const PLACE: &str = "asked";

/// What follows from these events, in order, and the state for the next call.
#[must_use]
pub fn gesture(state: GestureState, events: &[Event], context: &Context) -> (GestureState, Vec<Command>) {
    let mut reducer = Reducer { state, context, commands: Vec::new() };
    for event in events {
        reducer.take(event);
    }
    (reducer.state, reducer.commands)
}

struct Reducer<'a> {
    state: GestureState,
    context: &'a Context,
    commands: Vec<Command>,
}

impl Reducer<'_> {
    fn take(&mut self, event: &Event) {
        if !event.is_finite() {
            return;
        }
        match event.kind {
            EventKind::Down => self.down(event),
            EventKind::Move => self.moved(event),
            EventKind::Up => self.up(event),
            EventKind::Cancel => self.cancelled(event.pointer_id),
            EventKind::Wheel => self.wheel(event),
            EventKind::Key if event.key == "Escape" => self.abort(),
            EventKind::Key => {}
            EventKind::Abort => self.abort(),
            EventKind::LeavePen => {
                self.abort();
                if self.state.pen_mode {
                    self.state.pen_mode = false;
                    self.commands.push(Command::PenMode { on: false });
                }
            }
        }
    }

    fn down(&mut self, event: &Event) {
        if self.contact(event.pointer_id).is_some() {
            // Its end was never reported.
            self.cancelled(event.pointer_id);
        }
        let Some(button) = event.button() else { return };
        if event.pointer_type == PointerKind::Pen {
            if !self.state.pen_mode {
                self.state.pen_mode = true;
                self.commands.push(Command::PenMode { on: true });
            }
            self.drop_touches();
        }
        let contact =
            Contact { id: event.pointer_id, kind: event.pointer_type, button, x: event.x, y: event.y };
        let pans = button == event::MIDDLE
            || (event.shift && event.pointer_type == PointerKind::Mouse)
            || (self.state.pen_mode && event.pointer_type == PointerKind::Touch);
        match &self.state.doing {
            Doing::Nothing => {
                self.state.contacts.push(contact);
                self.state.doing = if pans {
                    Doing::Panning { pointer: event.pointer_id }
                } else {
                    Doing::Pressed {
                        pointer: event.pointer_id,
                        t_ms: event.t_ms,
                        path: vec![[event.x, event.y]],
                        hits: self.hits(event),
                    }
                };
            }
            Doing::Pressed { pointer, .. } | Doing::Panning { pointer }
                if event.pointer_type == PointerKind::Touch && self.is_touch(*pointer) =>
            {
                let first = *pointer;
                self.state.contacts.push(contact);
                self.state.doing = Doing::Pinching { first, second: event.pointer_id };
            }
            // A drag or stroke began within the landing time only if the clock ran oddly; a later finger is a palm.
            _ => {}
        }
    }

    fn moved(&mut self, event: &Event) {
        let Some(before) = self.contact(event.pointer_id).cloned() else { return };
        if event.buttons & before.button == 0 {
            // The release happened where nobody saw it.
            self.finish(event.pointer_id);
            return;
        }
        for contact in &mut self.state.contacts {
            if contact.id == event.pointer_id {
                contact.x = event.x;
                contact.y = event.y;
            }
        }
        let mut doing = std::mem::take(&mut self.state.doing);
        match &mut doing {
            Doing::Pressed { pointer, t_ms, path, .. } if *pointer == event.pointer_id => {
                path.push([event.x, event.y]);
                let waits = before.kind == PointerKind::Touch && event.t_ms - *t_ms < LANDING_MS;
                if strayed(path, before.kind) && !waits {
                    doing = self.begin(doing);
                }
            }
            Doing::Dragging { pointer, id, grab, at, .. } if *pointer == event.pointer_id => {
                let to = [event.x + grab[0], event.y + grab[1]];
                if to != *at {
                    *at = to;
                    self.commands.push(Command::DragTo { id: id.clone(), x: to[0], y: to[1] });
                }
            }
            Doing::Stroking { pointer } if *pointer == event.pointer_id => {
                self.commands.push(Command::StrokePoint { x: event.x, y: event.y });
            }
            Doing::Panning { pointer } if *pointer == event.pointer_id => {
                self.pan(event.x - before.x, event.y - before.y);
            }
            Doing::Pinching { first, second } => {
                let other = if *first == event.pointer_id { *second } else { *first };
                if let Some(other) = self.contact(other).cloned() {
                    self.pinch([before.x, before.y], [event.x, event.y], [other.x, other.y]);
                }
            }
            _ => {}
        }
        self.state.doing = doing;
    }

    /// A press that went far enough becomes a drag, a stroke or a pan, and catches up with the pointer.
    fn begin(&mut self, pressed: Doing) -> Doing {
        let Doing::Pressed { pointer, path, hits, .. } = pressed else { return pressed };
        let (Some(start), Some(last)) = (path.first().copied(), path.last().copied()) else {
            return Doing::Nothing;
        };
        if self.context.mode == Mode::Trace {
            self.commands.push(Command::StrokeStart { x: start[0], y: start[1] });
            for point in path.iter().skip(1) {
                self.commands.push(Command::StrokePoint { x: point[0], y: point[1] });
            }
            return Doing::Stroking { pointer };
        }
        let chosen = hits
            .iter()
            .find(|hit| self.context.selected.as_deref() == Some(hit.id.as_str()))
            .or(hits.first())
            .cloned()
            .or_else(|| {
                self.context.placing.then(|| Spot { id: PLACE.to_owned(), x: start[0], y: start[1] })
            });
        let Some(hit) = chosen else {
            self.pan(last[0] - start[0], last[1] - start[1]);
            return Doing::Panning { pointer };
        };
        let grab = [hit.x - start[0], hit.y - start[1]];
        let at = [last[0] + grab[0], last[1] + grab[1]];
        self.commands.push(Command::DragStart { id: hit.id.clone(), x: hit.x, y: hit.y });
        self.commands.push(Command::DragTo { id: hit.id.clone(), x: at[0], y: at[1] });
        Doing::Dragging { pointer, id: hit.id, grab, from: [hit.x, hit.y], at }
    }

    fn up(&mut self, event: &Event) {
        if self.contact(event.pointer_id).is_none() {
            return;
        }
        // The last stretch up to the release belongs to the gesture.
        let mut last = event.clone();
        last.kind = EventKind::Move;
        last.buttons = u16::MAX;
        self.moved(&last);
        self.finish(event.pointer_id);
    }

    fn finish(&mut self, pointer_id: i64) {
        let Some(contact) = self.contact(pointer_id).cloned() else { return };
        let mut doing = std::mem::take(&mut self.state.doing);
        if let Doing::Pressed { pointer, path, .. } = &doing
            && *pointer == pointer_id
            && strayed(path, contact.kind)
        {
            // A flick, over before the landing time was.
            doing = self.begin(doing);
        }
        match doing {
            Doing::Pressed { pointer, path, hits, .. } if pointer == pointer_id => {
                if let Some(&start) = path.first() {
                    self.tap(start, hits, contact.kind);
                }
            }
            Doing::Dragging { pointer, id, from, at, .. } if pointer == pointer_id => {
                // Back where it came from: no change, no undo entry.
                let stayed = from == at && id != PLACE;
                self.commands.push(if stayed { Command::DragCancel { id } } else { Command::DragEnd { id } });
            }
            Doing::Stroking { pointer } if pointer == pointer_id => {
                self.commands.push(Command::StrokeEnd);
            }
            Doing::Panning { pointer } if pointer == pointer_id => {}
            Doing::Pinching { first, second } if first == pointer_id || second == pointer_id => {
                let pointer = if first == pointer_id { second } else { first };
                self.state.doing = Doing::Panning { pointer };
            }
            other => self.state.doing = other,
        }
        self.forget(pointer_id);
    }

    fn tap(&mut self, at: [f64; 2], hits: Vec<Spot>, kind: PointerKind) {
        let touch = kind == PointerKind::Touch;
        let takes_handles = matches!(self.context.mode, Mode::Points | Mode::Shape);
        if !takes_handles || hits.is_empty() {
            self.state.last_tap = None;
            self.commands.push(Command::Tap { x: at[0], y: at[1], touch });
            return;
        }
        let again = self.state.last_tap.as_ref().filter(|tap| tap.repeats(at, kind));
        let place = again.and_then(|tap| hits.iter().position(|hit| hit.id == tap.id));
        let index = place.map_or(0, |index| (index + 1) % hits.len());
        if let Some(hit) = hits.get(index) {
            self.state.last_tap = Some(LastTap { id: hit.id.clone(), x: at[0], y: at[1] });
            self.commands.push(Command::Select { id: hit.id.clone() });
        }
    }

    fn cancelled(&mut self, pointer_id: i64) {
        if self.contact(pointer_id).is_none() {
            return;
        }
        if self.state.doing.is_by(pointer_id) {
            self.drop_doing();
        }
        self.forget(pointer_id);
    }

    /// Drops whatever is under way; pointers that are still down do nothing more until they come up.
    fn abort(&mut self) {
        self.drop_doing();
        self.state.contacts.clear();
    }

    fn drop_touches(&mut self) {
        let by_touch = self
            .state
            .contacts
            .iter()
            .any(|contact| contact.kind == PointerKind::Touch && self.state.doing.is_by(contact.id));
        if by_touch {
            self.drop_doing();
        }
        self.state.contacts.retain(|contact| contact.kind != PointerKind::Touch);
    }

    fn drop_doing(&mut self) {
        match std::mem::take(&mut self.state.doing) {
            Doing::Dragging { id, .. } => self.commands.push(Command::DragCancel { id }),
            Doing::Stroking { .. } => self.commands.push(Command::StrokeCancel),
            Doing::Nothing | Doing::Pressed { .. } | Doing::Panning { .. } | Doing::Pinching { .. } => {}
        }
    }

    fn wheel(&mut self, event: &Event) {
        if !matches!(self.state.doing, Doing::Nothing) {
            // A view that moved under a drag would drag along what the hand did not move.
            return;
        }
        if event.shift {
            self.pan(-(event.dx + event.dy), 0.0);
            return;
        }
        // One notch of a mouse is 100 px in most browsers and should be a gentle step; a pinch on a trackpad arrives as
        // a wheel with ctrl and much smaller numbers. Both rates were tuned by hand.
        let rate = if event.ctrl { 0.01 } else { 0.0015 };
        let factor = (-event.dy * rate).exp().clamp(0.5, 2.0);
        if factor != 1.0 {
            self.commands.push(Command::Zoom { factor, x: event.x, y: event.y });
        }
    }

    fn pan(&mut self, dx: f64, dy: f64) {
        if dx != 0.0 || dy != 0.0 {
            self.commands.push(Command::Pan { dx, dy });
        }
    }

    /// Moves the midpoint's place along with the fingers, then scales about it.
    fn pinch(&mut self, from: [f64; 2], to: [f64; 2], other: [f64; 2]) {
        self.pan(0.5 * (to[0] - from[0]), 0.5 * (to[1] - from[1]));
        let before = (from[0] - other[0]).hypot(from[1] - other[1]);
        let after = (to[0] - other[0]).hypot(to[1] - other[1]);
        // Fingers closer than a few px say nothing of a ratio.
        if before > 8.0 && after > 8.0 && before != after {
            self.commands.push(Command::Zoom {
                factor: after / before,
                x: 0.5 * (to[0] + other[0]),
                y: 0.5 * (to[1] + other[1]),
            });
        }
    }

    fn hits(&self, event: &Event) -> Vec<Spot> {
        match self.context.mode {
            Mode::Points | Mode::Shape => {
                hit::within(&self.context.handles, [event.x, event.y], Reach::of(event, self.context.placing))
            }
            Mode::Trace | Mode::Look => Vec::new(),
        }
    }

    fn contact(&self, id: i64) -> Option<&Contact> {
        self.state.contacts.iter().find(|contact| contact.id == id)
    }

    fn is_touch(&self, id: i64) -> bool {
        self.contact(id).is_some_and(|contact| contact.kind == PointerKind::Touch)
    }

    fn forget(&mut self, id: i64) {
        self.state.contacts.retain(|contact| contact.id != id);
    }
}

/// True where the pointer went farther from its start than a tap does.
fn strayed(path: &[[f64; 2]], kind: PointerKind) -> bool {
    let slop = match kind {
        // A fingertip rolls when it lands.
        PointerKind::Touch => 6.0,
        PointerKind::Mouse | PointerKind::Pen => 2.5,
    };
    path.first()
        .is_some_and(|start| path.iter().any(|point| (point[0] - start[0]).hypot(point[1] - start[1]) > slop))
}

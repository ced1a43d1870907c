//! Brow geometry in millimetres.
//!
//! # Frames
//! - **image**: photo pixels after EXIF orientation, x right, y down ([`ImagePoint`]). Only `face_frame` touches it.
//! - **face**: mm; x towards the client's left, y up; the origin is where the centre line meets the line through the
//!   two inner eye corners.
//! - **side**: mm; `(out, up)` with `out = |x|` measured outward from the centre line on either side. A brow is always
//!   expressed in its own side's frame, so left and right compare directly, and "mirror" is a change of side, not of
//!   numbers. A [`kurbo::Point`] in this crate is `(out, up)` unless its name says `face`.
//!
//! Angles are radians inside except where a name ends in `_deg` and for the two parameters that the artist reads in
//! degrees (see [`Param`]). A contour is counter-clockwise in `(out, up)`.

mod caliper_points;
mod landmark;
mod param;
mod side;

pub use caliper_points::CaliperPoints;
pub use landmark::{ImagePoint, Landmark};
pub use param::{OutlineParams, PARAM_COUNT, Param, ParamInfo, Unit};
pub use side::{PerSide, Side};

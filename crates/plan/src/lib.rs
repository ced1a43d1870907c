//! The plan document of a brow mapping, and everything derived from it.
//!
//! A gesture or a control becomes an [`Edit`]; [`apply`] gives the next plan and never changes the old one. From the
//! plan alone [`frame`] derives a [`Scene`] (millimetres and meanings) and a [`Report`] (measures, checks, problems).
//! Nothing derived is stored, and nothing here does I/O, reads a clock, draws a random number or holds a global.

// What `derive(Read)` writes names this crate as others see it.
extern crate self as counterpoise_plan;

mod agreement;
mod apply;
mod balance;
mod build_poses;
mod build_report;
mod build_scene;
mod build_touch_up;
mod cautions;
mod checks;
pub mod codes;
mod convert;
mod derive;
mod derive_memo;
mod describe;
mod document;
mod edit;
mod error;
pub mod field;
mod frame;
mod ground;
mod headline;
mod json;
mod migrate;
mod moment;
pub mod notation;
mod pose_report;
mod poses;
mod report;
mod scene;
#[cfg(feature = "schema")]
mod schema;
mod share;
mod shown;
mod signature;
mod svg;
mod touch_up;
mod validate;
mod variants;
mod wishes;

pub use counterpoise_geometry::SortedMap;

pub use agreement::{AgreedNumbers, AgreedSide, Agreement, AgreementReport};
pub use apply::apply;
pub use balance::*;
pub use build_touch_up::{HealedMeasure, HealedSide, TouchUpReport};
pub use cautions::{CAUTIONS, Cautions};
pub use derive_memo::DeriveMemo;
pub use describe::*;
pub use document::*;
pub use edit::Edit;
pub use error::PlanError;
pub use frame::{frame, glance_after, report, report_after, same_frame, scene, scene_after, scene_in_pose};
pub use json::{open, read_edit, to_json};
pub use pose_report::*;
pub use poses::*;
pub use report::*;
pub use scene::{Align, Handle, Item, Kind, Label, Scene};
#[cfg(feature = "schema")]
pub use schema::schema_json;
pub use shown::{DECIMAL_SIGN, DIRECTION, decimals, is_right_to_left, shown, shown_in, shown_signed};
pub use svg::{SvgOptions, Theme, svg, xml_escaped};
pub use touch_up::{TOUCH_UP, TouchUp, TouchUpLine, Trace};
pub use validate::{in_range, validate};
pub use variants::Variant;
pub use wishes::{ClientLimits, WISHES, WishInfo, Wishes, wishes_held};

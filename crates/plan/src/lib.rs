//! The plan document of a brow mapping, and everything derived from it.

mod document;
mod edit;
mod error;
mod report;
mod scene;

pub use document::*;
pub use edit::Edit;
pub use error::PlanError;
pub use report::*;
pub use scene::{Handle, Item, Kind, Label, Scene};

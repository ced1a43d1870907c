//! Shared helpers of the reference checks and acceptance tests.

pub mod any_plan;
#[cfg(feature = "page")]
pub mod browser;
pub mod cases;
mod chance;
mod data;
pub mod face;
mod hand;
pub mod laws;
mod named;
#[cfg(feature = "page")]
pub mod pictures;
pub mod vision;

pub use chance::Chance;
pub use data::{RealBrow, data_dir, read_json, real_brows};
pub use hand::wavering;
pub use named::command_line;
use named::named_file;

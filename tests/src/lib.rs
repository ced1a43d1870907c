//! Shared helpers of the reference checks and acceptance tests.

#[cfg(feature = "page")]
pub mod browser;
mod data;

pub use data::data_dir;

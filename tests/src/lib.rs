//! Shared helpers of the reference checks and acceptance tests.

mod data;

pub use data::data_dir;

//! The planner without a browser.
fn main() {}

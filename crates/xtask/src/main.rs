//! cargo xtask serve | test | bench | release
fn main() {}

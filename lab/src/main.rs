//! The bench.
fn main() {}

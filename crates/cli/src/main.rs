//! The binary `calotte`.
fn main() {}

//! Does nothing: it is here so that the features of its dependencies, libraries of macros, count.

fn main() {}

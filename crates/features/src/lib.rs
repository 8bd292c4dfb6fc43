//! One set of features of the libraries that the workspace shares. There is no code.
//!
//! Cargo compiles a library anew for every set of its features, and with it all that stands on it. The program, the tests and the
//! Python package each ask for slightly other sets; the program and the package depend on this crate so that the sets are one, and
//! nothing is compiled twice. `cargo xtask tidy` does not look at it: a set that differs costs time and nothing else.

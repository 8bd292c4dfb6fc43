//! The lab: what side views, clips, bench tests and logbooks say about a part, every figure with its error.
//!
//! Bytes and pixels go in, reports go out; nothing here reads a file, prints or looks at the clock.

pub mod bench;
pub mod clip;
pub mod logbook;
pub mod picture;
pub mod side;

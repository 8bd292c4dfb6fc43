//! Invented clips of known motions: what is read from them lies within the stated errors.

#![allow(clippy::unwrap_used, reason = "helpers of tests, outside a #[test] function")]

mod alone;
mod coverage;
mod motion;

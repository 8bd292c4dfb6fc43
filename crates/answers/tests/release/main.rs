//! Releases against known answers, closed forms and their own evidence.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "helpers of tests, outside a #[test] function"
)]

mod jumps;
mod parts;
mod slowing;
mod snaps;
mod waits;

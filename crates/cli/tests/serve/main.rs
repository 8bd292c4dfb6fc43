//! `calotte serve`, asked as a browser would ask it, and as one should not.

#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "helpers of tests, outside a #[test] function")]

#[path = "../common/mod.rs"]
mod common;

mod figures;
mod folder;
mod guards;
mod http;
mod many;
mod same;
mod server;
mod stop;
mod workers;

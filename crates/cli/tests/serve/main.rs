//! `calotte serve`, asked as a browser would ask it, and as one should not.

#![cfg(unix)]

#[path = "../common/mod.rs"]
mod common;

mod folder;
mod guards;
mod http;
mod many;
mod same;
mod server;
mod stop;
mod workers;

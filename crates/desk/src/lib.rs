//! The desk: a question about a case goes in by its name and its options, everything that belongs to the answer comes back:
//! words as a [`Sheet`], the report as JSON, shapes for pictures, figures, tables.
//!
//! The terminal and the page both ask here, so they cannot say different things. Nothing is printed and no file is touched.

#[cfg(test)]
mod api;
pub mod axes;
pub mod heat;
pub mod look;
mod many;
pub mod map;
pub mod modes;
mod options;
pub mod poke;
mod provenance;
mod questions;
pub mod release;
mod reply;
mod sheet;
pub mod size;
pub mod spread;
pub mod states;
pub mod tables;
mod trade;
pub mod verdict;
mod words;

pub use calotte_answers::film::Film;
pub use options::{Written, misread};
pub use provenance::{PROGRAM, VERSION, facts, with_provenance};
pub use questions::{QUESTIONS, ask, refuse};
pub use reply::{NoWatch, Refusal, Reply, Want, Watch};
pub use sheet::{Block, Sheet};

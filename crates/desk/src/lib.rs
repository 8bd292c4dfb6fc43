//! The desk: a question about a case goes in by its name and its options, everything that belongs to the answer comes back:
//! words as a [`Sheet`], the report as JSON, shapes for pictures, figures, tables.
//!
//! The terminal and the page both ask here, so they cannot say different things. Nothing is printed and no file is touched.

pub mod look;
mod options;
mod provenance;
mod questions;
mod reply;
mod sheet;
pub mod verdict;
mod words;

pub use options::Written;
pub use provenance::{PROGRAM, VERSION, facts, with_provenance};
pub use questions::{QUESTIONS, ask, refuse};
pub use reply::{Film, NoWatch, Refusal, Reply, Want, Watch};
pub use sheet::{Block, Sheet};

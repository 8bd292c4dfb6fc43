//! A report about a case: asked of the desk once, composed once as a [`model::Document`], written as a page that needs no network and
//! as a PDF. It computes no mechanics and touches no file.
//!
//! The page carries what it was computed from; [`again`] makes it anew and compares every number.

pub mod again;
mod answers;
mod book;
mod chapters;
mod closing;
mod compose;
mod data;
mod html;
mod lead;
mod lesson;
pub mod measured;
pub mod model;
mod part;
mod pdf;
mod request;
mod sheet;
pub mod sources;

pub use answers::ReadSpecimens;
pub use compose::{Report, report};
pub use data::{KIND, Kept, LAYOUT, Provenance};
pub use html::{DATA, html};
pub use lesson::sheet;
pub use pdf::{PdfFailure, pdf};
pub use request::{Given, Paper, Plan, Request, choices};

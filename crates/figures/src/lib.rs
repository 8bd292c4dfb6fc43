//! Figures fit for a paper, from answers.
//!
//! Three figures come from a verdict: the section of the part to scale (`shape`), the energy along
//! the arc (`energy`) and the branch of inverted states over thickness (`branch`). They show what
//! the report holds and compute no mechanics. A figure whose data are absent is left out.
//!
//! All text is set in DejaVu Sans at about 7.5 pt when the figure keeps its width of 170 mm.

mod axis;
mod branch;
mod energy;
mod ink;
mod png;
mod section;
mod shape;
mod svg;
mod text;

use calotte_answers::report::VerdictReport;

pub use png::{PngFailure, png};

/// A figure with the words that belong to it.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Short name, fit for a file name: `shape`, `energy` or `branch`.
    pub name: &'static str,
    /// The drawing: a complete SVG file.
    pub svg: String,
    /// What a reader who cannot see the figure should know; plain text, nothing escaped.
    pub alt: String,
    /// A caption fit for print; plain text, nothing escaped.
    pub caption: String,
}

/// The figures of a verdict, in the order `shape`, `energy`, `branch`.
///
/// Rows of the report that hold something not finite are passed over; a figure that has too few
/// rows left is left out.
pub fn verdict_figures(report: &VerdictReport) -> Vec<Figure> {
    [shape::figure(report), energy::figure(report), branch::figure(report)].into_iter().flatten().collect()
}

/// Width of every figure on the page, in user units (170 mm).
const WIDTH: f64 = 170.0 * svg::UNITS_PER_MM;

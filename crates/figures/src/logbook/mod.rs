//! Figures of a logbook: margins across the threshold (`margins`), numbers read over numbers computed (`compared`), what the trials
//! say about each number sought (`sought`), and what a next specimen would teach (`next`).

mod compared;
mod margins;
mod next;
mod sought;

use calotte_lab::logbook::report::LogbookReport;

use crate::Figure;
use crate::ink::{self, Pen};
use crate::svg::Mark;

/// The figures, in the order `margins`, `compared`, `sought`, `next`; those without data are left out.
pub fn logbook_figures(report: &LogbookReport) -> Vec<Figure> {
    [margins::figure(report), compared::figure(report), sought::figure(report), next::figure(report)]
        .into_iter()
        .flatten()
        .collect()
}

/// Mark, fill and pen of an outcome.
fn mark_of(outcome: &str) -> (Mark, &'static str, Pen) {
    match outcome {
        "stays" => (Mark::Disc, ink::DEEP, Pen::solid(ink::DEEP, 1.0)),
        "waits" => (Mark::Diamond, ink::AMBER, Pen::solid(ink::INK, 0.8)),
        _ => (Mark::Square, ink::PAPER, Pen::solid(ink::RUST, 1.3)),
    }
}

/// The outcomes in the order of a legend.
const OUTCOMES: [&str; 3] = ["returns", "waits", "stays"];

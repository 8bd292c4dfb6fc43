//! What a part does when let go, drawn, and answers about many releases.

pub(crate) mod film;
mod ledger;
mod motion;
mod sideways;
mod slowing;
pub(crate) mod split;
mod spread;
mod strobe;
pub(crate) mod time;
mod wait;

use calotte_answers::release::curves::{Slowing, WaitCurve, WaitSpread};
use calotte_answers::release::report::ReleaseReport;

use crate::Figure;

/// The figures of a release, in the order `motion`, `strobe`, `ledger`, `sideways`.
///
/// Rows that hold something not finite are passed over; a figure that has too few left is left out.
pub fn release_figures(report: &ReleaseReport) -> Vec<Figure> {
    [motion::figure(report), strobe::figure(report), ledger::figure(report), sideways::figure(report)]
        .into_iter()
        .flatten()
        .collect()
}

/// Wait against hold, both logarithmic (`wait`); `None` when no point can be drawn.
pub fn wait_figure(curve: &WaitCurve, title: &str) -> Option<Figure> {
    wait::figure(curve, title)
}

/// How the wait spreads over a batch (`spread`); `None` when nothing was drawn.
pub fn spread_figure(spread: &WaitSpread, title: &str) -> Option<Figure> {
    spread::figure(spread, title)
}

/// Slowing down near the threshold (`slowing`); `None` when there is nothing to draw.
pub fn slowing_figure(slowing: &Slowing, title: &str) -> Option<Figure> {
    slowing::figure(slowing, title)
}

/// Sentences after a caption, each with its full stop.
fn sentences(words: &[String]) -> String {
    words
        .iter()
        .map(|w| w.trim())
        .filter(|w| !w.is_empty())
        .map(|w| if w.ends_with(['.', '!', '?']) { format!(" {w}") } else { format!(" {w}.") })
        .collect()
}

//! Figures of the stable states of a part: their sections (`states`), their energies and the passes between (`levels`).

mod levels;
mod sections;

use calotte_answers::states::report::{State, StatesReport};

use crate::Figure;

/// The figures, those that have something to show.
pub(crate) fn figures(report: &StatesReport) -> Vec<Figure> {
    [sections::figure(report), levels::figure(report)].into_iter().flatten().collect()
}

/// Most states that are drawn.
const MOST: usize = 12;

/// The stable states that are drawn, each with its index in the report.
fn shown(report: &StatesReport) -> Vec<(usize, &State)> {
    let whole = |s: &&State| s.stable && s.energy_J.is_finite() && s.energy_J.abs() < 1e100;
    report.states.iter().enumerate().filter(|(_, s)| whole(s)).take(MOST).collect()
}

/// A note on what is not drawn.
fn left_out(report: &StatesReport, drawn: usize) -> String {
    let all = report.states.iter().filter(|s| s.stable).count();
    if drawn < all { format!(" {} further states are not drawn.", all - drawn) } else { String::new() }
}

/// A name without the words that every other one has as well: `2, 4 turned`.
fn short(name: &str) -> String {
    let name = name.strip_prefix("pieces ").or_else(|| name.strip_prefix("piece ")).unwrap_or(name);
    name.replace(" turned over", " turned")
}

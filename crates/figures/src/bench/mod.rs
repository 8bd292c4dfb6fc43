//! Figures of bench tests: estimates beside each other (`estimates`), strips (`strips`), walls (`wall`), the fitted memory (`memory`)
//! and what speaks for its number of terms (`evidence`).

mod estimates;
mod evidence;
mod strips;
mod wall;

use calotte_lab::bench::BenchReport;

use crate::Figure;
use crate::memory::{SeriesFit, memory_figure};

/// The figures of bench tests, in the order `estimates`, `strips`, `wall`, `memory`, `evidence`; what has no data is left out.
pub fn bench_figures(report: &BenchReport) -> Vec<Figure> {
    let memory = report.memory.as_ref().and_then(|m| {
        let (what, unit) = match m.column {
            "youngs" => ("Young's modulus", "Pa"),
            "modulus" => ("relaxation modulus", "Pa"),
            "compliance" => ("creep compliance", "1/Pa"),
            _ => ("modulus over its first value", ""),
        };
        let fit = SeriesFit {
            what: what.to_owned(),
            unit: unit.to_owned(),
            readings: m.readings.iter().map(|r| [r[0], r[1], r[2]]).collect(),
            terms: m.terms.iter().map(|t| [t.share, t.time_s]).collect(),
        };
        memory_figure(&fit, &report.title)
    });
    [
        estimates::figure(report),
        strips::figure(report),
        wall::figure(report),
        memory,
        evidence::figure(report),
    ]
    .into_iter()
    .flatten()
    .collect()
}

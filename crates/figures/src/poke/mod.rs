//! What trips a part, drawn: the path (`path`), sideways modes (`mode`) and energy barriers (`barrier`).

mod barrier;
mod mode;
mod path;
mod shapes;
mod stretch;
mod words;

use calotte_answers::poke::report::{Event, PokeReport};

use crate::Figure;

/// The figures of a poke, in the order `path`, `mode`, `barrier`.
pub(crate) fn figures(report: &PokeReport) -> Vec<Figure> {
    [path::figure(report), mode::figure(report), barrier::figure(report)].into_iter().flatten().collect()
}

/// Whether the case asks for a set load (else the displacement is set).
fn by_load(report: &PokeReport) -> bool {
    report.load.control != "displacement"
}

/// Whether a pair of numbers can be drawn at all.
fn drawable(a: f64, b: f64) -> bool {
    const HUGE: f64 = 1e100;
    a.abs() < HUGE && b.abs() < HUGE
}

/// Radius and height of an event's meridian, whole rows only, with their arclengths.
fn meridian(m: &calotte_answers::report::SampledMeridian) -> Vec<(f64, f64, f64)> {
    m.s_m
        .iter()
        .zip(&m.r_m)
        .zip(&m.z_m)
        .map(|((&s, &r), &z)| (s, r, z))
        .filter(|&(s, r, z)| drawable(s, r) && drawable(z, 0.0))
        .collect()
}

/// Whether an event has a place in the plane.
fn placed(event: &Event) -> bool {
    drawable(event.displacement_SI, event.load_SI)
}

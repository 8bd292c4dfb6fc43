//! A batch of parts: what was read of them with its edges, shares with their intervals, where the spread comes from.

mod histogram;
mod indices;
mod shares;

use calotte_answers::spread::report::{BatchGauge, BatchReport};

use crate::Figure;
use crate::text::{Scaled, number};

/// The figures of a batch, in the order `batch`, `shares`, `indices`; one whose data are absent is left out.
pub fn batch_figures(report: &BatchReport) -> Vec<Figure> {
    [histogram::figure(report), shares::figure(report), indices::figure(report)]
        .into_iter()
        .flatten()
        .collect()
}

/// A share for people.
fn percent(share: f64) -> String {
    format!("{} %", number(100.0 * share, 3))
}

/// How the values of a gauge are shown: factor, shift and unit.
struct Shown {
    scaled: Scaled,
    zero: f64,
}

impl Shown {
    fn of(g: &BatchGauge) -> Self {
        let ends = &g.histogram.ends_SI;
        let largest = ends.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
        match g.unit.as_str() {
            "K" if g.gauge.ends_with("temperature") => {
                Self { scaled: Scaled { factor: 1.0, name: "°C".to_owned() }, zero: 273.15 }
            }
            "K" => Self { scaled: Scaled { factor: 1.0, name: "K".to_owned() }, zero: 0.0 },
            // A kilogram has a prefix already.
            "kg" => {
                let mut scaled = Scaled::suiting(1e3 * largest, "g");
                scaled.factor *= 1e3;
                Self { scaled, zero: 0.0 }
            }
            unit => Self { scaled: Scaled::suiting(largest, unit), zero: 0.0 },
        }
    }

    fn at(&self, si: f64) -> f64 {
        (si - self.zero) * self.scaled.factor
    }

    fn title(&self, name: &str) -> String {
        if self.scaled.name.is_empty() { name.to_owned() } else { format!("{name} ({})", self.scaled.name) }
    }
}

//! Frequencies and buckling, drawn: frequency over the number of waves (`spectrum`), the lowest modes (`modes`), pressure over the
//! number of waves (`buckling`).

mod buckling;
mod shapes;
mod spectrum;

use calotte_answers::modes::report::ModesReport;

use crate::Figure;

/// The figures of modes, in the order `spectrum`, `modes`, `buckling`.
pub(crate) fn figures(report: &ModesReport) -> Vec<Figure> {
    [spectrum::figure(report), shapes::figure(report), buckling::figure(report)]
        .into_iter()
        .flatten()
        .collect()
}

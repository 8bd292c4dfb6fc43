//! Measured specimens laid over a map: what is predicted, what was seen, and how they compare.

use crate::map::Chart;
use crate::map::report::{Comparison, Counts, Observed, Specimen};
use crate::report::Verdict;
use crate::verdict::{Detail, verdict};

/// A specimen as measured: SI values and half-widths of the two numbers of the axes.
#[derive(Clone, Debug)]
pub struct Measured {
    /// Name.
    pub name: String,
    /// Values.
    pub values: [f64; 2],
    /// Half-widths.
    pub half_widths: [Option<f64>; 2],
    /// What was seen.
    pub observed: Option<Observed>,
}

/// Predicts each specimen from the case with the two numbers replaced, and counts.
pub fn compare(chart: &Chart<'_>, measured: &[Measured]) -> (Vec<Specimen>, Counts) {
    let mut counts = Counts::default();
    let specimens = measured.iter().map(|m| one(chart, m)).collect::<Vec<_>>();
    for s in &specimens {
        match s.predicted {
            Verdict::Stays => counts.predicted_stay += 1,
            Verdict::Returns | Verdict::Waits => counts.predicted_return += 1,
            Verdict::Undecided => {}
        }
        match s.observed {
            Some(Observed::Stays) => counts.observed_stay += 1,
            Some(_) => counts.observed_return += 1,
            None => {}
        }
        match s.comparison {
            Comparison::Agrees => counts.agree += 1,
            Comparison::WithinTolerance => counts.within_tolerance += 1,
            Comparison::Contradicted => counts.contradicted += 1,
            Comparison::Open => counts.open += 1,
        }
    }
    (specimens, counts)
}

const SHORT: Detail = Detail { branch: false, depth: false };

fn one(chart: &Chart<'_>, m: &Measured) -> Specimen {
    let answer = |values: [f64; 2]| chart.part(values).map(|(p, _)| verdict(&p, SHORT));
    let here = answer(m.values);
    let predicted = here.as_ref().map_or(Verdict::Undecided, |r| r.verdict);
    let ratio_of = |r: &crate::report::VerdictReport| r.margin.as_ref().map(|m| m.thickness_ratio);
    let thickness_ratio = here.as_ref().and_then(ratio_of);
    // Half-width by differences to both ends of each tolerance.
    let mut square = 0.0;
    let mut any = false;
    for i in 0..2 {
        let Some(w) = m.half_widths[i].filter(|w| *w > 0.0) else { continue };
        let end = |sign: f64| {
            let mut v = m.values;
            v[i] += sign * w;
            answer(v).as_ref().and_then(ratio_of)
        };
        let reach = match (end(1.0), end(-1.0), thickness_ratio) {
            (Some(a), Some(b), _) => 0.5 * (a - b),
            (Some(a), None, Some(h)) | (None, Some(a), Some(h)) => a - h,
            _ => continue,
        };
        any = true;
        square += reach * reach;
    }
    let ratio_half_width = any.then(|| square.sqrt());
    let returns = |o: Observed| !matches!(o, Observed::Stays);
    let comparison = match (m.observed, predicted) {
        (None, _) | (_, Verdict::Undecided) => Comparison::Open,
        (Some(o), p) if returns(o) == (p == Verdict::Returns) => Comparison::Agrees,
        _ if thickness_ratio.zip(ratio_half_width).is_some_and(|(r, w)| (r - 1.0).abs() <= w) => {
            Comparison::WithinTolerance
        }
        _ => Comparison::Contradicted,
    };
    Specimen {
        name: m.name.clone(),
        x_si: m.values[0],
        y_si: m.values[1],
        x_half_width_si: m.half_widths[0],
        y_half_width_si: m.half_widths[1],
        observed: m.observed,
        predicted,
        thickness_ratio,
        ratio_half_width,
        comparison,
    }
}

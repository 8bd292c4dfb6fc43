//! Folding bowls: the force that folds one, the force that keeps it folded, the force that opens it, and the strain.

use serde::Serialize;

use super::Place;
use crate::explain::digits;

/// One row of the path from the open bowl to the folded one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FoldRow {
    /// Travel and force, positive along the push that folds.
    pub place: Place,
    /// Largest strain in the wall, a number ≥ 0.
    pub strain: f64,
}

/// What is known of a bowl that folds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Folding<'a> {
    /// The path, in its order, travel from zero.
    pub rows: &'a [FoldRow],
    /// Travel at which it counts as folded, m.
    pub folded_at: f64,
    /// Whether the folded shape holds by itself; `None` when that is not known.
    pub stays: Option<bool>,
    /// Where the folded bowl opens again, when it is known better than from the rows; the force is then the one along the
    /// push, negative for a pull.
    pub opens: Option<Place>,
    /// Strain that the material bears over and over, a number.
    pub strain_limit: Option<f64>,
}

/// Why rows make no folding bowl.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FoldFault {
    /// No rows.
    Empty,
    /// Something in this row (from 0) is no number.
    NotFinite {
        /// Which row.
        row: usize,
    },
    /// The path ends before the bowl is folded.
    NotFolded {
        /// Travel wanted, m.
        wanted: f64,
        /// Largest travel of the rows, m.
        reached: f64,
    },
}

impl FoldFault {
    /// In words.
    pub fn words(&self) -> String {
        let length = crate::explain::length;
        match self {
            Self::Empty => "the path has no rows".to_owned(),
            Self::NotFinite { row } => {
                format!("row {} of the path holds something that is no number", row + 1)
            }
            Self::NotFolded { wanted, reached } => format!(
                "the path ends at a travel of {}, and the bowl counts as folded at {}",
                length(*reached),
                length(*wanted)
            ),
        }
    }
}

/// A folding bowl in the trade's terms.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct FoldReport {
    /// Largest force on the way to the folded shape, N.
    pub fold_force_N: f64,
    /// Travel at which it is met, m.
    pub fold_travel_m: f64,
    /// Force that keeps it folded, N: 0 when it stays by itself.
    pub hold_force_N: f64,
    /// Pull that opens the folded bowl, N: 0 when it opens by itself.
    pub unfold_force_N: f64,
    /// Whether it stays folded.
    pub stays: bool,
    /// Largest strain on the way.
    pub peak_strain: f64,
    /// Travel at which it is met, m.
    pub peak_strain_travel_m: f64,
    /// Largest strain left in the folded shape.
    pub remaining_strain: f64,
    /// Strain that the material bears.
    pub strain_limit: Option<f64>,
    /// Peak strain over the limit.
    pub peak_share: Option<f64>,
    /// Remaining strain over the limit.
    pub remaining_share: Option<f64>,
    /// What to keep in mind.
    pub cautions: Vec<String>,
}

/// Reads a folding bowl from its path.
///
/// Rows between which the folded travel lies are joined by straight lines. Where nobody says whether it stays, the sign of
/// the force at the folded travel decides, and the report says so.
///
/// # Errors
/// [`FoldFault`] when there is nothing to read.
pub fn read(bowl: &Folding<'_>) -> Result<FoldReport, FoldFault> {
    let sound = |r: &FoldRow| r.place.is_finite() && r.strain.is_finite();
    if let Some(row) = bowl.rows.iter().position(|r| !sound(r)) {
        return Err(FoldFault::NotFinite { row });
    }
    let first = bowl.rows.first().ok_or(FoldFault::Empty)?;
    let reached = bowl.rows.iter().map(|r| r.place.travel).fold(f64::NEG_INFINITY, f64::max);
    let wanted = bowl.folded_at;
    // The last crossing: a path that turns back passes the same travel more than once on its way.
    let crossing = |w: &[FoldRow]| w[0].place.travel < wanted && w[1].place.travel >= wanted;
    let Some(i) = bowl.rows.windows(2).rposition(crossing) else {
        return Err(FoldFault::NotFolded { wanted, reached });
    };
    let (a, b) = (bowl.rows[i], bowl.rows[i + 1]);
    let x = (wanted - a.place.travel) / (b.place.travel - a.place.travel);
    let mix = |p: f64, q: f64| p + x * (q - p);
    let folded = FoldRow {
        place: Place { travel: wanted, force: mix(a.place.force, b.place.force) },
        strain: mix(a.strain, b.strain),
    };
    let way = || bowl.rows[..=i].iter().copied().chain([folded]);
    let best = |of: fn(&FoldRow) -> f64| way().fold(*first, |top, r| if of(&r) > of(&top) { r } else { top });
    let (hardest, most) = (best(|r| r.place.force), best(|r| r.strain));
    let stays = bowl.stays.unwrap_or(folded.place.force <= 0.0);
    let lowest = way().map(|r| r.place.force).fold(f64::INFINITY, f64::min);
    let opens = bowl.opens.map_or(lowest, |p| p.force);
    let limit = bowl.strain_limit.filter(|l| *l > 0.0);
    let mut report = FoldReport {
        fold_force_N: hardest.place.force,
        fold_travel_m: hardest.place.travel,
        hold_force_N: if stays { 0.0 } else { folded.place.force.max(0.0) },
        unfold_force_N: if stays { (-opens).max(0.0) } else { 0.0 },
        stays,
        peak_strain: most.strain,
        peak_strain_travel_m: most.place.travel,
        remaining_strain: folded.strain,
        strain_limit: limit,
        peak_share: limit.map(|l| most.strain / l),
        remaining_share: limit.map(|l| folded.strain / l),
        cautions: Vec::new(),
    };
    report.cautions = cautions(bowl, &report);
    Ok(report)
}

fn cautions(bowl: &Folding<'_>, r: &FoldReport) -> Vec<String> {
    let mut out = Vec::new();
    let percent = |x: f64| digits(100.0 * x, 3);
    if bowl.stays.is_none() {
        out.push(
            "Whether it stays folded was read from the sign of the force alone; stability was not looked at."
                .to_owned(),
        );
    }
    if bowl.stays == Some(true) && r.unfold_force_N == 0.0 {
        out.push("It is said to stay folded, yet no row of the path shows a pull that opens it.".to_owned());
    }
    match (r.strain_limit, r.peak_share, r.remaining_share) {
        (Some(limit), Some(peak), _) if peak > 1.0 => out.push(format!(
            "On the way the strain reaches {} %, above the limit of {} %.",
            percent(r.peak_strain),
            percent(limit)
        )),
        (None, ..) => {
            out.push("No strain limit is given: whether the material bears this was not judged.".to_owned())
        }
        _ => {}
    }
    if r.stays && r.remaining_strain > 0.0 {
        out.push(format!(
            "Kept folded, {} % of strain remain in the wall; rubber and plastics creep and set under it.",
            percent(r.remaining_strain)
        ));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(points: &[(f64, f64, f64)]) -> Vec<FoldRow> {
        points
            .iter()
            .map(|&(travel, force, strain)| FoldRow { place: Place { travel, force }, strain })
            .collect()
    }

    const BOWL: [(f64, f64, f64); 6] = [
        (0.0, 0.0, 0.0),
        (0.01, 12.0, 0.05),
        (0.02, 4.0, 0.12),
        (0.03, -3.0, 0.09),
        (0.04, -1.0, 0.04),
        (0.05, 6.0, 0.06),
    ];

    fn bowl(rows: &[FoldRow], folded_at: f64) -> Folding<'_> {
        Folding { rows, folded_at, stays: Some(true), opens: None, strain_limit: Some(0.1) }
    }

    /// By hand.
    #[test]
    fn a_bowl_that_stays() {
        let rows = rows(&BOWL);
        let r = read(&bowl(&rows, 0.041)).unwrap();
        assert_eq!((r.fold_force_N, r.fold_travel_m), (12.0, 0.01));
        assert_eq!((r.hold_force_N, r.unfold_force_N, r.stays), (0.0, 3.0, true));
        assert_eq!((r.peak_strain, r.peak_strain_travel_m), (0.12, 0.02));
        assert!((r.remaining_strain - 0.042).abs() < 1e-12);
        assert!((r.peak_share.unwrap() - 1.2).abs() < 1e-12);
        assert!(r.cautions.iter().any(|c| c.contains("above the limit")), "{:?}", r.cautions);
    }

    /// What lies beyond the folded shape is not on the way; without bistability a hand must hold it.
    #[test]
    fn a_bowl_that_must_be_held() {
        let all = rows(&BOWL);
        let r = read(&Folding { stays: Some(false), ..bowl(&all, 0.015) }).unwrap();
        assert!((r.hold_force_N - 8.0).abs() < 1e-12 && r.unfold_force_N == 0.0);
        assert!((r.peak_strain - 0.085).abs() < 1e-12 && r.peak_strain == r.remaining_strain);
    }

    /// A refined event is believed before the rows; where nobody knows, the sign decides and that is said.
    #[test]
    fn events_and_guesses() {
        let rows = rows(&BOWL);
        let opens = Some(Place { travel: 0.029, force: -3.2 });
        assert_eq!(read(&Folding { opens, ..bowl(&rows, 0.04) }).unwrap().unfold_force_N, 3.2);
        let r = read(&Folding { stays: None, strain_limit: None, ..bowl(&rows, 0.04) }).unwrap();
        assert!(r.stays && r.cautions.iter().any(|c| c.contains("sign")), "{:?}", r.cautions);
        assert!(r.peak_share.is_none() && r.cautions.iter().any(|c| c.contains("not judged")));
    }

    #[test]
    fn what_is_no_path_is_told() {
        let all = rows(&BOWL);
        assert_eq!(read(&bowl(&[], 0.01)), Err(FoldFault::Empty));
        let far = read(&bowl(&all, 0.06)).unwrap_err();
        assert_eq!(far, FoldFault::NotFolded { wanted: 0.06, reached: 0.05 });
        assert!(far.words().contains("50"), "{}", far.words());
        let bad = rows(&[(0.0, 0.0, 0.0), (0.1, f64::NAN, 0.0)]);
        assert_eq!(read(&bowl(&bad, 0.05)), Err(FoldFault::NotFinite { row: 1 }));
    }
}

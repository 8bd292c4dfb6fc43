//! Folding as far as pushes at the inner end lead: one after the other, read as a folding bowl.

use super::report::{StatesReport, Way};
use crate::trade::{FoldReport, FoldRow, Folding, Place, folding};

/// What folding a part by its inner end does.
#[derive(Default)]
pub(super) struct Folded {
    /// The figures, when the pushes lead to another stable state.
    pub(super) report: Option<FoldReport>,
    /// Index of the state to which they lead.
    pub(super) to: Option<usize>,
    /// What was not found.
    pub(super) note: Option<String>,
}

/// Folds a part from as made towards its stable state with most pieces turned over; nothing when it has no other.
pub(super) fn read(r: &StatesReport) -> Folded {
    let turned = |i: usize| r.states[i].turned.len();
    let stable = || (0..r.states.len()).filter(|i| r.states[*i].stable);
    let most = stable().map(turned).max().unwrap_or(0);
    // Of several with as many pieces turned, the one of least energy: states are in that order.
    let wanted = stable().find(|i| turned(*i) == most);
    let made = r.states.iter().position(|s| s.name == "as made");
    let (Some(made), Some(wanted)) = (made, wanted.filter(|_| most > 0)) else { return Folded::default() };
    let mut steps = pushes(r, made);
    // What comes after the last stable state does not stay.
    let keep = steps.iter().position(|w| w.to == wanted).map(|i| i + 1);
    let keep = keep.or_else(|| steps.iter().rposition(|w| r.states[w.to].stable).map(|i| i + 1));
    steps.truncate(keep.unwrap_or(0));
    let Some(last) = steps.last() else {
        let note = "No way out of the shape as made was found by pushing at the inner end: what folds it is unknown.";
        return Folded { note: Some(note.to_owned()), ..Folded::default() };
    };
    let to = last.to;
    let note = (to != wanted).then(|| {
        format!(
            "Pushed at its inner end it was followed to \"{}\"; how it gets from there to \"{}\" was not found.",
            r.states[to].name, r.states[wanted].name
        )
    });
    match figures(r, made, to, &steps) {
        Ok(report) => Folded { report: Some(report), to: Some(to), note },
        Err(why) => Folded { note: Some(why), ..Folded::default() },
    }
}

/// Pushes towards the rim plane at the inner end, from one state to the next, no state twice.
fn pushes(r: &StatesReport, from: usize) -> Vec<&Way> {
    let mut at = from;
    let mut out: Vec<&Way> = Vec::new();
    let inner = |w: &&Way| w.pushed_at_m == 0.0 && w.trip_force_N > 0.0;
    while let Some(next) = r.ways.iter().filter(inner).find(|w| w.from == at) {
        if next.to == from || out.iter().any(|w| w.to == next.to) {
            break;
        }
        out.push(next);
        at = next.to;
    }
    out
}

/// The trade's figures of the pushes that lead from `made` to `to`.
fn figures(r: &StatesReport, made: usize, to: usize, steps: &[&Way]) -> Result<FoldReport, String> {
    let height = |i: usize| r.states[i].height_m - r.states[made].height_m;
    let rest = |i: usize| FoldRow {
        place: Place { travel: height(i), force: 0.0 },
        strain: r.states[i].largest_strain,
    };
    let mut rows = vec![rest(made)];
    for w in steps {
        let trip = Place { travel: height(w.from) + w.trip_travel_m, force: w.trip_force_N };
        rows.extend([FoldRow { place: trip, strain: w.peak_strain }, rest(w.to)]);
    }
    let out = r.ways.iter().filter(|w| w.from == to);
    let weakest = out.map(|w| w.trip_force_N.abs()).min_by(f64::total_cmp);
    let bowl = Folding {
        rows: &rows,
        folded_at: height(to),
        stays: Some(true),
        // Without a known way out the rows show no pull either, and the reading says so.
        opens: weakest.map(|f| Place { travel: height(to), force: -f }),
        strain_limit: r.strain_limit,
    };
    folding::read(&bowl).map_err(|why| format!("The folding cannot be read: {}.", why.words()))
}

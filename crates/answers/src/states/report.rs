//! All stable states that were found, as data: their energies, the ways between them, with evidence.

use serde::Serialize;

use crate::report::{Limit, PartSummary, SampledMeridian, Work};
use crate::trade::FoldReport;

/// The whole answer.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct StatesReport {
    /// Version of the JSON layout.
    pub schema_version: u32,
    /// Title of the case.
    pub title: String,
    /// Number of stable states; `None` when the evidence does not carry it.
    pub stable: Option<usize>,
    /// In sentences.
    pub explanation: Vec<String>,
    /// Reasons to doubt the number.
    pub doubts: Vec<String>,
    /// Warnings and cautions.
    pub warnings: Vec<String>,
    /// The part as computed.
    pub part: PartSummary,
    /// Its pieces, from the inner end.
    pub pieces: Vec<Piece>,
    /// Round equilibria that are minima among round shapes, by energy.
    pub states: Vec<State>,
    /// Ways between them.
    pub ways: Vec<Way>,
    /// Folding it by pushes at its inner end as far as they were followed; `None` with one stable state, or when no way was found.
    pub fold: Option<FoldReport>,
    /// Index of the state to which they lead.
    pub folded: Option<usize>,
    /// What was not found about the folding.
    pub fold_note: Option<String>,
    /// Strain that the material bears, when the case says.
    pub strain_limit: Option<f64>,
    /// Evidence.
    pub evidence: StatesEvidence,
}

/// A piece of the meridian.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Piece {
    /// Number, from 1 at the inner end.
    pub number: usize,
    /// Natural arclengths at its ends.
    pub span_m: [f64; 2],
    /// Natural rise from its inner to its outer end.
    pub rise_m: f64,
    /// Whether it can be turned over: neither rigid nor flat.
    pub turns: bool,
}

/// A round equilibrium that is a minimum among round shapes.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct State {
    /// In words, e.g. `as made`, `piece 2 turned over`.
    pub name: String,
    /// Numbers of the pieces that are turned over.
    pub turned: Vec<usize>,
    /// Whether it is stable: no sideways waves lost.
    pub stable: bool,
    /// Sideways waves that are lost.
    pub unstable_n: Vec<u32>,
    /// Height of the inner end over the rim, m; negative as made.
    pub height_m: f64,
    /// Elastic energy, J.
    pub energy_J: f64,
    /// Lowest barrier found out of it, J; an upper bound of the true one.
    pub barrier_J: Option<f64>,
    /// Index of the state beyond that barrier.
    pub beyond: Option<usize>,
    /// Largest strain at a face.
    pub largest_strain: f64,
    /// Where, arclength.
    pub largest_strain_at_m: f64,
    /// Largest strain over the limit.
    pub strain_share: Option<f64>,
    /// Relative difference of the energy between two meshes (of the largest energy among the states where its own is nothing).
    pub mesh_difference: Option<f64>,
    /// Shape.
    pub meridian: SampledMeridian,
}

/// A way from one state to another along a path of one force.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Way {
    /// Index of the state that is left.
    pub from: usize,
    /// Index of the state reached.
    pub to: usize,
    /// Natural arclength of the circle that is pushed, m; 0 for the inner end of a part without a hole.
    pub pushed_at_m: f64,
    /// Force that trips it there, N; positive from the inner end of the natural bowl towards its rim plane.
    pub trip_force_N: f64,
    /// Travel of the circle at the trip, m.
    pub trip_travel_m: f64,
    /// Energy of the pass over that of the state left, J.
    pub barrier_J: f64,
    /// Unstable round directions at the pass; 1 is a true pass, more means that a lower one lies beside it.
    pub unstable: usize,
    /// Largest strain at a face along the way.
    pub peak_strain: f64,
}

/// What was searched.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct StatesEvidence {
    /// Elements of the mesh of the search and of the finer one.
    pub elements: [usize; 2],
    /// Folded starts that were minimised.
    pub starts: usize,
    /// Starts whose minimisation failed or left the part (crossing itself).
    pub failed: usize,
    /// Paths followed.
    pub paths: usize,
    /// Points on them.
    pub points: usize,
    /// Paths that ended early.
    pub cut_short: usize,
    /// Validity limits.
    pub limits: Vec<Limit>,
    /// Work.
    pub work: Work,
}

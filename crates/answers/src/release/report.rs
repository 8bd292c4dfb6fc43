//! What a part does when it is let go, as data: wait, snap, jump, ringing, with evidence.
//!
//! Keys carry their unit; heights are along the axis, positive from the plane of the natural rim towards the turned pole
//! (upwards for a cap that lies on its rim). Times count from the moment the hand begins to let go.

use serde::Serialize;

use crate::report::{Limit, PartSummary};

/// The whole answer.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct ReleaseReport {
    /// Version of the JSON layout.
    pub schema_version: u32,
    /// Title of the case.
    pub title: String,
    /// What happens.
    pub outcome: Outcome,
    /// Why, in sentences.
    pub explanation: Vec<String>,
    /// Reasons to doubt the outcome (empty when there are none).
    pub doubts: Vec<String>,
    /// Warnings and cautions.
    pub warnings: Vec<String>,
    /// The part as computed.
    pub part: PartSummary,
    /// How it was turned, held and let go.
    pub protocol: Protocol,
    /// What the words below mean.
    pub definitions: Vec<Definition>,
    /// Own times of the part.
    pub scales: Scales,
    /// When it snaps and how fast; `None` when it does not within the time followed.
    pub snap: Option<Snap>,
    /// Jump; `None` when it leaves nothing to jump from, or does not leave it.
    pub jump: Option<Jump>,
    /// Ringing after the snap (or about the state where it stays).
    pub ringing: Option<Ringing>,
    /// Energies at the moments that matter.
    pub energies: Vec<EnergyRow>,
    /// What happened, in order.
    pub events: Vec<Event>,
    /// Time history, one row per step taken.
    pub history: History,
    /// Shapes for pictures, in order of time.
    pub frames: Vec<Frame>,
    /// Growth of sideways deflections, when asked for.
    pub sideways: Vec<Sideways>,
    /// Evidence.
    pub evidence: ReleaseEvidence,
}

/// What happens when the part is let go.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "ReleaseOutcome"))]
#[serde(rename_all = "lowercase")]
pub enum Outcome {
    /// It is still inverted, in stable equilibrium, when the motion has been followed to the end.
    Stays,
    /// It snaps back without hesitation: nothing but inertia delays it.
    Returns,
    /// It rests a while, because its material has relaxed, and then snaps back.
    Waits,
    /// The evidence does not carry an answer.
    Undecided,
}

/// How the part was turned, held and let go; always told with the answer.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Protocol {
    /// `mirror`, `inverted`, `poke`, `flat` or `given`.
    pub shape: String,
    /// How long it was held.
    pub hold_s: f64,
    /// Time in which the hand lets go; 0 for at once.
    pub ramp_s: f64,
    /// `nowhere` or `table`.
    pub rests: String,
    /// Gravity towards the table.
    pub gravity_m_per_s2: f64,
    /// Temperature, when stated.
    pub temperature_K: Option<f64>,
    /// Terms of the memory at that temperature.
    pub memory: Vec<MemoryTerm>,
    /// Axial force of the hand at the end of the hold: half the sum of its magnitudes on the nodes. (A free edge is held by
    /// moments beside it.)
    pub hand_force_N: f64,
    /// The whole protocol in sentences.
    pub words: Vec<String>,
}

/// One relaxing share.
#[derive(Clone, Copy, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct MemoryTerm {
    /// Share of the instantaneous modulus.
    pub share: f64,
    /// Relaxation time at the temperature of the case.
    pub time_s: f64,
}

/// A word and what is meant by it.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Definition {
    /// The word.
    pub word: String,
    /// Its meaning.
    pub meaning: String,
}

/// Own times of the part.
#[derive(Clone, Copy, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Scales {
    /// `R √(ρ/E)`: time in which a stretching wave runs one radius.
    pub wave_time_s: f64,
    /// `ℓ² √(ρh/D)`: time of bending over the arc ℓ, h and D at the rim.
    pub bending_time_s: f64,
    /// Lowest axisymmetric frequency of the natural state.
    pub natural_frequency_Hz: Option<f64>,
}

/// When it snaps and how fast.
#[derive(Clone, Copy, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Snap {
    /// See the definitions: the time until the snap begins.
    pub wait_s: f64,
    /// From the end of the wait to nine tenths of the way.
    pub snap_time_s: f64,
    /// Pole and rim at one height.
    pub halfway_s: f64,
    /// Nine tenths of the way done.
    pub end_s: f64,
    /// Largest speed of the pole against the rim, up to the end of the snap.
    pub peak_speed_m_per_s: f64,
    /// When.
    pub peak_speed_at_s: f64,
    /// Elastic energy at the start less that of the natural state at rest.
    pub energy_available_J: f64,
    /// Kinetic energy at the end of the snap.
    pub kinetic_energy_J: f64,
    /// `wait_s` without inertia (a memory that creeps to the end of its equilibrium); `None` when there is none.
    pub creep_wait_s: Option<f64>,
}

/// Leaving the table.
#[derive(Clone, Copy, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "ReleaseJump"))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Jump {
    /// When it leaves the table for the flight.
    pub takeoff_s: f64,
    /// Speed of the centre of mass then.
    pub takeoff_speed_m_per_s: f64,
    /// Largest rise of the centre of mass above its place at the start: marched to when the motion is followed that far,
    /// else that of a free flight (with the drag of the case) from take-off.
    pub height_m: f64,
    /// Whether the height was marched to.
    pub height_marched: bool,
    /// Upper bound: energy available over weight.
    pub height_bound_m: f64,
    /// Flight energy `½ m v²` at take-off.
    pub flight_energy_J: f64,
    /// Impulse of the table up to take-off.
    pub impulse_N_s: f64,
    /// Momentum gained plus weight times time, less the impulses of table, hand, air and bath, over that of the table: should
    /// vanish.
    pub impulse_closure: f64,
    /// Largest reaction of the table.
    pub largest_reaction_N: f64,
    /// Landing, when marched to.
    pub landing_s: Option<f64>,
}

/// Ringing.
#[derive(Clone, Copy, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Ringing {
    /// From the crossings of the pole height with its mean over the window.
    pub frequency_Hz: f64,
    /// Window.
    pub from_s: f64,
    /// Window.
    pub to_s: f64,
    /// Whole periods in it.
    pub periods: usize,
    /// Half the range of the pole height in the window.
    pub amplitude_m: f64,
}

/// Energies at one moment; their sum less the work of the hand is constant.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct EnergyRow {
    /// What moment.
    pub moment: String,
    /// When.
    pub time_s: f64,
    /// Kinetic.
    pub kinetic_J: f64,
    /// Elastic, of wall and rim springs, with what the memory still holds.
    pub elastic_J: f64,
    /// Weight times height of the centre of mass, from the start.
    pub gravity_J: f64,
    /// Kept in the contact with the table.
    pub contact_J: f64,
    /// Lost in the memory since letting go.
    pub relaxed_J: f64,
    /// Lost in air and bath since letting go.
    pub dragged_J: f64,
    /// Work of the hand while letting go.
    pub hand_J: f64,
}

/// Something that happened.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "ReleaseEvent"))]
pub struct Event {
    /// When.
    pub time_s: f64,
    /// `let-go`, `gone`, `snap`, `halfway`, `snapped`, `lift-off`, `touch-down`, `take-off`, `apex`, `landing`.
    pub kind: String,
    /// In words.
    pub what: String,
}

/// Columns of one length, one row per step.
#[derive(Clone, Debug, Default, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct History {
    /// Time.
    pub time_s: Vec<f64>,
    /// Pole (or hole edge) above rim; positive inverted, minus the rise when natural.
    pub pole_over_rim_m: Vec<f64>,
    /// Speed of that.
    pub pole_over_rim_speed_m_per_s: Vec<f64>,
    /// Height of the pole; the table, where there is one, is at 0, else the rim starts there.
    pub pole_height_m: Vec<f64>,
    /// Height of the rim.
    pub rim_height_m: Vec<f64>,
    /// Height of the centre of mass.
    pub centre_height_m: Vec<f64>,
    /// Speed of the centre of mass.
    pub centre_speed_m_per_s: Vec<f64>,
    /// Reaction of the table.
    pub reaction_N: Vec<f64>,
    /// Kinetic energy.
    pub kinetic_J: Vec<f64>,
    /// Elastic energy.
    pub elastic_J: Vec<f64>,
    /// Gravity energy.
    pub gravity_J: Vec<f64>,
    /// Energy in contact.
    pub contact_J: Vec<f64>,
    /// Lost in the memory so far.
    pub relaxed_J: Vec<f64>,
    /// Lost in air and bath so far.
    pub dragged_J: Vec<f64>,
    /// Work of the hand so far.
    pub hand_J: Vec<f64>,
}

/// A shape at one time.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "ReleaseFrame"))]
pub struct Frame {
    /// When.
    pub time_s: f64,
    /// Radii from pole (or hole edge) to rim.
    pub r_m: Vec<f64>,
    /// Heights, origin as in the history.
    pub z_m: Vec<f64>,
}

/// Growth of a sideways deflection along the motion (linearised).
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Sideways {
    /// Circumferential wave number.
    pub n: u32,
    /// Amplitude when the hand is gone: largest deflection anywhere.
    pub start_m: f64,
    /// Largest amplitude up to the end of the snap.
    pub largest_m: f64,
    /// When.
    pub largest_at_s: f64,
    /// Growth: largest over start.
    pub growth: f64,
    /// Largest number of unstable modes of this wave number at any step where they could be counted.
    pub unstable_modes: usize,
    /// Whether the deflection exceeds the wall's thickness before the snap ends: the motion is then not axisymmetric.
    pub wins: bool,
    /// Times of the samples.
    pub time_s: Vec<f64>,
    /// Amplitudes.
    pub amplitude_m: Vec<f64>,
}

/// Evidence.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct ReleaseEvidence {
    /// Elements.
    pub elements: usize,
    /// Largest change of the energy balance up to the end of the snap (or the whole run without one), over the energy
    /// available.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub balance_to_snap: f64,
    /// The same over the whole run.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub balance_whole: f64,
    /// Relative change of the half-way time with every element halved.
    pub mesh_difference: Option<f64>,
    /// Relative change of the half-way time with a tenth of the tolerance.
    pub step_difference: Option<f64>,
    /// Relative change of the peak speed between those runs, the larger of both.
    pub speed_difference: Option<f64>,
    /// Deepest the wall was pressed into the table, over its thickness.
    pub deepest_contact: f64,
    /// Local error allowed, over the rise.
    pub tolerance: f64,
    /// Steps taken.
    pub steps: u64,
    /// Steps refused.
    pub refused: u64,
    /// Newton iterations.
    pub iterations: u64,
    /// Factorisations (one real and one complex band each count one).
    pub factorisations: u64,
    /// Time followed.
    pub followed_s: f64,
    /// Why it ended there.
    pub ended: String,
    /// Largest surface strain on the way, as sampled in the frames.
    pub largest_strain: f64,
    /// Validity limits.
    pub limits: Vec<Limit>,
}

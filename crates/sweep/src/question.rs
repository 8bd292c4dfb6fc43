//! What can be asked at a point, and the row that answers: one piece of code for `calotte series` and for sweeps.

use std::panic::{AssertUnwindSafe, catch_unwind};

use calotte_answers::gauge::{Gauge, Gauges, NoReading};
use calotte_answers::heat::Branches;
use calotte_answers::heat::report::HeatOutcome as Heated;
use calotte_answers::poke::report::Outcome as Poked;
use calotte_answers::release::report::Outcome as Released;
use calotte_answers::release::{self, release};
use calotte_answers::report::Verdict;
use calotte_answers::states::{lists_states, states};
use calotte_answers::{Detail, THIN_LIMIT, poke, verdict};
use calotte_desk::tables::{column, number};
use calotte_desk::{Refusal, heat, poke as poked, release as released};
use calotte_runs::{Column, Kind, Value, panic_words};
use calotte_solve::Work;
use calotte_specimen::{Case, Heat, Load, Motion, Part};

/// What is asked at every point.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Question {
    /// By what margin does it stay? The cheapest: the threshold alone, followed from the part as described and certified.
    Threshold,
    /// Does it stay, and by what margin?
    Verdict,
    /// What trips it under the case's `[load]`?
    Poke,
    /// Let go after the case's `[hold]`: when does it snap, how fast?
    Release,
    /// At which temperatures does it trip and reset, with the case's `[heat]`?
    Heat,
}

impl Question {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::Threshold, Self::Verdict, Self::Poke, Self::Release, Self::Heat];

    /// Its name in a plan and before its columns.
    pub fn name(self) -> &'static str {
        match self {
            Self::Threshold => "threshold",
            Self::Verdict => "verdict",
            Self::Poke => "poke",
            Self::Release => "release",
            Self::Heat => "heat",
        }
    }

    /// Words of its outcomes, where they are few, best first.
    pub fn outcomes(self) -> &'static [&'static str] {
        match self {
            Self::Threshold => &[],
            Self::Verdict => &["stays", "returns", "undecided"],
            Self::Poke => &["trips", "follows", "undecided"],
            Self::Release => &["stays", "waits", "returns", "undecided"],
            Self::Heat => &["trips", "buckles", "follows", "undecided"],
        }
    }

    /// Why it makes no sense for a case.
    ///
    /// # Errors
    /// A refusal that says so.
    pub fn refuse(self, case: &Case) -> Result<(), Refusal> {
        match self {
            Self::Threshold => {
                released::refuse_to_turn(case)?;
                Gauges::senseless(case, Gauge::Margin).map_or(Ok(()), |why| Err(Refusal::question(why)))
            }
            Self::Verdict | Self::Poke => poked::refuse(case),
            Self::Release => released::refuse(case),
            Self::Heat => {
                poked::refuse(case)?;
                if case.part().wall.layers().is_none() { heat::refuse(case) } else { Ok(()) }
            }
        }
    }

    /// Columns of its answer, of parts like that of the case.
    pub fn columns(self, case: &Case) -> Vec<Column> {
        match self {
            Self::Threshold => vec![
                column(
                    "thickness_ratio",
                    "1",
                    "h/h*, below 1 stays; empty where there is no threshold",
                    Kind::Number,
                ),
                column(
                    "threshold_thickness_m",
                    "m",
                    "h*: thickness of the wall at the rim that would just stay",
                    Kind::Number,
                ),
                column(
                    "certified",
                    "",
                    "whether inertia counts and waves round the axis certify the threshold and the wall is a shell there",
                    Kind::Flag,
                ),
            ],
            Self::Verdict if lists_states(case.part()) => vec![
                column(
                    "stable_states",
                    "1",
                    "number of stable states; empty where that is undecided",
                    Kind::Count,
                ),
                column("states", "", "their names", Kind::Text),
                column("lowest_barrier_J", "J", "lowest pass found out of a stable state", Kind::Number),
                column("largest_strain", "1", "at a face of the wall, in a stable state", Kind::Number),
            ],
            Self::Verdict => vec![
                column(
                    "verdict",
                    "",
                    "stays, returns or undecided; empty where no such part exists",
                    Kind::Text,
                ),
                column("thickness_ratio", "1", "h/h*, below 1 stays", Kind::Number),
                column("pole_height_m", "m", "pole over rim, inverted", Kind::Number),
                column("lip_width_m", "m", "width of the lip", Kind::Number),
                column("inverted_energy_J", "J", "elastic energy of the inverted state", Kind::Number),
                column("barrier_J", "J", "saddle less inverted state", Kind::Number),
            ],
            Self::Poke => vec![
                column("outcome", "", "trips, follows or undecided", Kind::Text),
                column("trip_load_SI", "SI", "trip load, load set", Kind::Number),
                column("trip_displacement_SI", "SI", "displacement there", Kind::Number),
                column("trip_n", "1", "wave number of the trip, 0 axisymmetric", Kind::Count),
                column("trip_load_displacement_set_SI", "SI", "trip load, displacement set", Kind::Number),
                column("return_load_SI", "SI", "load at which it jumps back", Kind::Number),
                column("work_to_trip_J", "J", "work up to the trip", Kind::Number),
                column("stays_afterwards", "", "whether a far unloaded state holds", Kind::Flag),
            ],
            Self::Release => vec![
                column("outcome", "", "stays, returns, waits or undecided", Kind::Text),
                column("wait_s", "s", "until the snap begins", Kind::Number),
                column("creep_wait_s", "s", "the same without inertia", Kind::Number),
                column(
                    "snap_time_s",
                    "s",
                    "from the end of the wait to nine tenths of the way",
                    Kind::Number,
                ),
                column(
                    "peak_speed_m_per_s",
                    "m/s",
                    "largest speed of the pole against the rim",
                    Kind::Number,
                ),
                column("energy_available_J", "J", "elastic energy when the hand lets go", Kind::Number),
                column("jump_height_m", "m", "rise of the centre of mass", Kind::Number),
            ],
            Self::Heat => vec![
                column("outcome", "", "trips, buckles, follows or undecided", Kind::Text),
                column("trip_K", "K", "trip temperature", Kind::Number),
                column("reset_K", "K", "reset temperature", Kind::Number),
                column("delta_K", "K", "trip less reset", Kind::Number),
                column("trip_n", "1", "waves of the way it trips, 0 axisymmetric", Kind::Count),
                column("movement_m", "m", "how far the centre jumps on the trip", Kind::Number),
                column("creep_m", "m", "slow movement before the trip", Kind::Number),
                column("stays_tripped", "", "whether it stays tripped where its shape is given", Kind::Flag),
            ],
        }
    }
}

/// What is asked about at one point.
#[derive(Debug)]
pub struct Asked {
    part: Part,
    load: Load,
    motion: Motion,
    heat: Heat,
}

/// Cells of an answer, with words where something is missing or doubtful.
pub type Answer = (Vec<Value>, Option<String>);

impl Asked {
    /// The case with some numbers changed (place among its inputs, SI value) and, where given, another depth.
    ///
    /// # Errors
    /// Words on why there is no such part.
    pub fn at(case: &Case, changes: &[(usize, f64)], depth: Option<f64>) -> Result<Self, String> {
        let (part, load) = case.changed(changes, depth).map_err(|e| e.to_string())?;
        let motion = case.motion_with(changes).map_err(|e| e.to_string())?;
        let heat = case.heat_with(changes).map_err(|e| e.to_string())?.unwrap_or_default();
        Ok(Self { part, load, motion, heat })
    }

    /// The answer to any question but that for the threshold, as cells, with words where it is undecided or missing.
    pub fn cells(&self, question: Question) -> (Vec<Value>, Option<String>) {
        match question {
            Question::Threshold => (Vec::new(), None),
            Question::Verdict if lists_states(&self.part) => self.states(),
            Question::Verdict => self.verdict(),
            Question::Poke => self.poke(),
            Question::Release => self.release(),
            Question::Heat => self.heat(),
        }
    }

    /// The threshold, followed from that of the part as described.
    pub(crate) fn threshold(&self, gauges: &Gauges<'_>) -> Answer {
        let m = &self.part.meridian;
        let (h, radius) = (self.part.wall.thickness(m.length()), m.arc_sphere().0);
        match gauges.margin_of(&self.part, &mut Work::default()) {
            Ok((margin, _)) => {
                let least = h * libm::exp(margin);
                // Beyond, the wall is a solid: the number is a guide.
                let shell = h.max(least) <= THIN_LIMIT * radius;
                let note = (!shell).then(|| {
                    let which = if h > THIN_LIMIT * radius { "the wall" } else { "the threshold" };
                    format!("not certified: {which} is thicker than {THIN_LIMIT} of the radius, a solid and no shell")
                });
                let cells = vec![Value::Number(libm::exp(-margin)), Value::Number(least), Value::Flag(shell)];
                (cells, note)
            }
            Err(why @ (NoReading::NoSuchPart | NoReading::Nowhere(_) | NoReading::Failed(_))) => {
                (Vec::new(), Some(why.to_string()))
            }
        }
    }

    fn states(&self) -> Answer {
        let r = states(&self.part, None);
        let stable = || r.states.iter().filter(|s| s.stable);
        let names: Vec<&str> = stable().map(|s| s.name.as_str()).collect();
        let cells = vec![
            r.stable.map_or(Value::Missing, |n| Value::Count(n as i64)),
            Value::Text(names.join("; ")),
            number(stable().filter_map(|s| s.barrier_J).min_by(f64::total_cmp)),
            number(stable().map(|s| s.largest_strain).max_by(f64::total_cmp)),
        ];
        (cells, doubts(r.stable.is_none(), &r.doubts))
    }

    fn verdict(&self) -> Answer {
        let r = verdict(&self.part, Detail { branch: false, depth: false });
        let word = match r.verdict {
            Verdict::Stays => "stays",
            Verdict::Returns => "returns",
            Verdict::Waits => "waits",
            Verdict::Undecided => "undecided",
        };
        let inv = r.inverted.as_ref();
        let cells = vec![
            Value::Text(word.to_owned()),
            number(r.margin.as_ref().map(|m| m.thickness_ratio)),
            number(inv.map(|i| i.pole_height_m)),
            number(inv.and_then(|i| i.lip_width_m)),
            number(inv.map(|i| i.stretching_energy_J + i.bending_energy_J + i.rim_energy_J)),
            number(inv.and_then(|i| i.barrier_J)),
        ];
        (cells, doubts(r.verdict == Verdict::Undecided, &r.doubts))
    }

    fn poke(&self) -> Answer {
        let r = poke(&self.part, &self.load);
        let word = match r.outcome {
            Poked::Trips => "trips",
            Poked::Follows => "follows",
            Poked::Undecided => "undecided",
        };
        let t = r.by_load.as_ref();
        let cells = vec![
            Value::Text(word.to_owned()),
            number(t.map(|t| t.load_SI)),
            number(t.map(|t| t.displacement_SI)),
            t.map_or(Value::Missing, |t| Value::Count(i64::from(t.n))),
            number(r.by_displacement.as_ref().map(|t| t.load_SI)),
            number(r.return_trip.as_ref().map(|b| b.load_SI)),
            number(t.map(|t| t.work_J)),
            r.stays_afterwards.map_or(Value::Missing, Value::Flag),
        ];
        (cells, doubts(r.outcome == Poked::Undecided, &r.doubts))
    }

    fn release(&self) -> Answer {
        let r = match release(&self.part, &self.motion, &release::Ask::default(), &mut |_| true) {
            Ok(r) => r,
            // A part that cannot follow the hold has no answer.
            Err(why) => return (Vec::new(), Some(why.to_string())),
        };
        let word = match r.outcome {
            Released::Stays => "stays",
            Released::Returns => "returns",
            Released::Waits => "waits",
            Released::Undecided => "undecided",
        };
        let s = r.snap.as_ref();
        let cells = vec![
            Value::Text(word.to_owned()),
            number(s.map(|s| s.wait_s)),
            number(s.and_then(|s| s.creep_wait_s)),
            number(s.map(|s| s.snap_time_s)),
            number(s.map(|s| s.peak_speed_m_per_s)),
            number(s.map(|s| s.energy_available_J)),
            number(r.jump.map(|j| j.height_m)),
        ];
        (cells, doubts(r.outcome == Released::Undecided, &r.doubts))
    }

    fn heat(&self) -> Answer {
        let branches = match Branches::with(&self.part, &self.heat) {
            Ok(branches) => branches,
            Err(no) => return (Vec::new(), Some(no.0)),
        };
        let r = branches.report();
        let word = match r.outcome {
            Heated::Trips => "trips",
            Heated::Buckles => "buckles",
            Heated::Follows => "follows",
            Heated::Undecided => "undecided",
        };
        let t = r.trip.as_ref();
        let cells = vec![
            Value::Text(word.to_owned()),
            number(t.map(|t| t.temperature_K)),
            number(r.reset.as_ref().map(|t| t.temperature_K)),
            number(r.delta_K),
            t.map_or(Value::Missing, |t| Value::Count(i64::from(t.n))),
            number(t.and_then(|t| t.movement_m)),
            number(r.creep.as_ref().map(|c| c.travel_m)),
            r.stays_tripped.map_or(Value::Missing, Value::Flag),
        ];
        (cells, doubts(r.outcome == Heated::Undecided, &r.doubts))
    }
}

/// The doubts of an undecided answer in one line.
fn doubts(undecided: bool, doubts: &[String]) -> Option<String> {
    undecided.then(|| if doubts.is_empty() { "undecided".to_owned() } else { doubts.join(" ") })
}

/// The threshold of one part, as a sweep tells it (columns: [`Question::columns`]); of no cells where there is no such part. `gauges`
/// are set up on `case` with [`Gauge::Margin`].
pub fn threshold_at(
    case: &Case,
    gauges: &Gauges<'_>,
    changes: &[(usize, f64)],
    depth: Option<f64>,
) -> Answer {
    guarded(|| match Asked::at(case, changes, depth) {
        Ok(asked) => asked.threshold(gauges),
        Err(why) => (Vec::new(), Some(format!("no such part: {why}"))),
    })
}

/// What a computation gives; a panic in it becomes words, for one point must not lose the others.
pub(crate) fn guarded(compute: impl FnOnce() -> Answer) -> Answer {
    catch_unwind(AssertUnwindSafe(compute)).unwrap_or_else(|panic| {
        let message = panic_words(&*panic);
        (Vec::new(), Some(format!("the computation broke down, a fault of the program: {message}")))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_becomes_a_note() {
        let (cells, note) = guarded(|| panic!("no {}", 5));
        assert!(cells.is_empty() && note.unwrap().ends_with("no 5"));
        assert_eq!(guarded(|| (vec![Value::Missing], None)), (vec![Value::Missing], None));
    }
}

//! `calotte series`: one number of the case varied, every point answered in full, on all cores, resumable.

use std::collections::BTreeMap;
use std::fs;
use std::ops::Range;
use std::path::PathBuf;

use calotte_answers::heat::Branches;
use calotte_answers::heat::report::HeatOutcome as Heated;
use calotte_answers::map::Chart;
use calotte_answers::poke::report::Outcome as Poked;
use calotte_answers::release::report::Outcome as Released;
use calotte_answers::release::{self, release};
use calotte_answers::report::Verdict;
use calotte_answers::states::{lists_states, states};
use calotte_answers::{Detail, poke, verdict};
use calotte_desk::axes::axis;
use calotte_desk::tables::{column, number};
use calotte_desk::{PROGRAM, Refusal, VERSION, Written, facts, heat};
use calotte_runs::{Column, Job, Kind, Outcome, Table, Value};
use calotte_specimen::{Case, Heat, Load, Motion, Part};

use crate::answer::{read_to_turn, read_with_rim, refused};
use crate::map::left;
use crate::progress::bar;
use crate::{End, paint, stop};

/// Options of the command.
#[derive(clap::Args)]
pub(crate) struct Options {
    /// Case file (TOML).
    case: PathBuf,
    /// The number to vary, with its range: `wall.thickness=0.5mm..2mm`; `depth` for the depth.
    #[arg(long, value_name = "KEY=FROM..TO")]
    over: String,
    /// Number of points, evenly spaced, ends included.
    #[arg(long, default_value_t = 25)]
    count: u32,
    /// What is asked at every point.
    #[arg(long, value_enum, default_value_t = Ask::Verdict)]
    ask: Ask,
    /// Threads; 0 takes every core.
    #[arg(long, default_value_t = 0)]
    threads: usize,
    /// Folder for series.csv and series.parquet; a series that was stopped goes on from there.
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
}

#[derive(Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Ask {
    /// Does it stay, and by what margin?
    Verdict,
    /// What trips it under the case's `[load]`?
    Poke,
    /// Let go after the case's `[hold]`: when does it snap, how fast?
    Release,
    /// At which temperatures does it trip and reset, with the case's `[heat]`?
    Heat,
}

/// Points computed in one piece; fixed, so that a series can go on with another number of threads.
const CHUNK: u64 = 4;

pub(crate) fn series(o: &Options) -> End {
    // A release is of a part turned over as a whole.
    let found = if o.ask == Ask::Release { read_to_turn(&o.case) } else { read_with_rim(&o.case) };
    let Some(case) = found else { return End::BadInput };
    match run(o, &case) {
        Ok(end) => end,
        Err(refusal) => refused(&refusal, ""),
    }
}

fn columns(o: &Options, states: bool, key: &str, unit: &str) -> Vec<Column> {
    let mut out = vec![column("value_si", unit, key, Kind::Number)];
    match o.ask {
        Ask::Verdict if states => out.extend([
            column(
                "stable_states",
                "1",
                "number of stable states; empty where that is undecided",
                Kind::Count,
            ),
            column("states", "", "their names", Kind::Text),
            column("lowest_barrier_J", "J", "lowest pass found out of a stable state", Kind::Number),
            column("largest_strain", "1", "at a face of the wall, in a stable state", Kind::Number),
        ]),
        Ask::Verdict => out.extend([
            column("verdict", "", "stays, returns or undecided; empty where no such part exists", Kind::Text),
            column("thickness_ratio", "1", "h/h*, below 1 stays", Kind::Number),
            column("pole_height_m", "m", "pole over rim, inverted", Kind::Number),
            column("lip_width_m", "m", "width of the lip", Kind::Number),
            column("inverted_energy_J", "J", "elastic energy of the inverted state", Kind::Number),
            column("barrier_J", "J", "saddle less inverted state", Kind::Number),
        ]),
        Ask::Poke => out.extend([
            column("outcome", "", "trips, follows or undecided", Kind::Text),
            column("trip_load_SI", "SI", "trip load, load set", Kind::Number),
            column("trip_displacement_SI", "SI", "displacement there", Kind::Number),
            column("trip_n", "1", "wave number of the trip, 0 axisymmetric", Kind::Count),
            column("trip_load_displacement_set_SI", "SI", "trip load, displacement set", Kind::Number),
            column("return_load_SI", "SI", "load at which it jumps back", Kind::Number),
            column("work_to_trip_J", "J", "work up to the trip", Kind::Number),
            column("stays_afterwards", "", "whether a far unloaded state holds", Kind::Flag),
        ]),
        Ask::Release => out.extend([
            column("outcome", "", "stays, returns, waits or undecided", Kind::Text),
            column("wait_s", "s", "until the snap begins", Kind::Number),
            column("creep_wait_s", "s", "the same without inertia", Kind::Number),
            column("snap_time_s", "s", "from the end of the wait to nine tenths of the way", Kind::Number),
            column("peak_speed_m_per_s", "m/s", "largest speed of the pole against the rim", Kind::Number),
            column("energy_available_J", "J", "elastic energy when the hand lets go", Kind::Number),
            column("jump_height_m", "m", "rise of the centre of mass", Kind::Number),
        ]),
        Ask::Heat => out.extend([
            column("outcome", "", "trips, buckles, follows or undecided", Kind::Text),
            column("trip_K", "K", "trip temperature", Kind::Number),
            column("reset_K", "K", "reset temperature", Kind::Number),
            column("delta_K", "K", "trip less reset", Kind::Number),
            column("trip_n", "1", "waves of the way it trips, 0 axisymmetric", Kind::Count),
            column("movement_m", "m", "how far the centre jumps on the trip", Kind::Number),
            column("creep_m", "m", "slow movement before the trip", Kind::Number),
            column("stays_tripped", "", "whether it stays tripped where its shape is given", Kind::Flag),
        ]),
    }
    out
}

fn row(ask: Ask, value: f64, found: Option<Asked>, width: usize) -> Vec<Value> {
    let mut out = vec![Value::Number(value)];
    let Some(Asked { part, load, motion, heat }) = found else {
        out.resize(width, Value::Missing);
        return out;
    };
    match ask {
        Ask::Verdict if lists_states(&part) => {
            let r = states(&part, None);
            let stable = || r.states.iter().filter(|s| s.stable);
            let names: Vec<&str> = stable().map(|s| s.name.as_str()).collect();
            out.extend([
                r.stable.map_or(Value::Missing, |n| Value::Count(n as i64)),
                Value::Text(names.join("; ")),
                number(stable().filter_map(|s| s.barrier_J).min_by(f64::total_cmp)),
                number(stable().map(|s| s.largest_strain).max_by(f64::total_cmp)),
            ]);
        }
        Ask::Verdict => {
            let r = verdict(&part, Detail { branch: false, depth: false });
            let word = match r.verdict {
                Verdict::Stays => "stays",
                Verdict::Returns => "returns",
                Verdict::Waits => "waits",
                Verdict::Undecided => "undecided",
            };
            let inv = r.inverted.as_ref();
            out.extend([
                Value::Text(word.to_owned()),
                number(r.margin.map(|m| m.thickness_ratio)),
                number(inv.map(|i| i.pole_height_m)),
                number(inv.and_then(|i| i.lip_width_m)),
                number(inv.map(|i| i.stretching_energy_J + i.bending_energy_J + i.rim_energy_J)),
                number(inv.and_then(|i| i.barrier_J)),
            ]);
        }
        Ask::Poke => {
            let r = poke(&part, &load);
            let word = match r.outcome {
                Poked::Trips => "trips",
                Poked::Follows => "follows",
                Poked::Undecided => "undecided",
            };
            let t = r.by_load.as_ref();
            out.extend([
                Value::Text(word.to_owned()),
                number(t.map(|t| t.load_SI)),
                number(t.map(|t| t.displacement_SI)),
                t.map_or(Value::Missing, |t| Value::Count(i64::from(t.n))),
                number(r.by_displacement.as_ref().map(|t| t.load_SI)),
                number(r.return_trip.as_ref().map(|b| b.load_SI)),
                number(t.map(|t| t.work_J)),
                r.stays_afterwards.map_or(Value::Missing, Value::Flag),
            ]);
        }
        Ask::Release => {
            let Ok(r) = release(&part, &motion, &release::Ask::default(), &mut |_| true) else {
                out.resize(width, Value::Missing);
                return out;
            };
            let word = match r.outcome {
                Released::Stays => "stays",
                Released::Returns => "returns",
                Released::Waits => "waits",
                Released::Undecided => "undecided",
            };
            let s = r.snap.as_ref();
            out.extend([
                Value::Text(word.to_owned()),
                number(s.map(|s| s.wait_s)),
                number(s.and_then(|s| s.creep_wait_s)),
                number(s.map(|s| s.snap_time_s)),
                number(s.map(|s| s.peak_speed_m_per_s)),
                number(s.map(|s| s.energy_available_J)),
                number(r.jump.map(|j| j.height_m)),
            ]);
        }
        Ask::Heat => {
            let Ok(branches) = Branches::with(&part, &heat) else {
                out.resize(width, Value::Missing);
                return out;
            };
            let r = branches.report();
            let word = match r.outcome {
                Heated::Trips => "trips",
                Heated::Buckles => "buckles",
                Heated::Follows => "follows",
                Heated::Undecided => "undecided",
            };
            let t = r.trip.as_ref();
            out.extend([
                Value::Text(word.to_owned()),
                number(t.map(|t| t.temperature_K)),
                number(r.reset.as_ref().map(|t| t.temperature_K)),
                number(r.delta_K),
                t.map_or(Value::Missing, |t| Value::Count(i64::from(t.n))),
                number(t.and_then(|t| t.movement_m)),
                number(r.creep.as_ref().map(|c| c.travel_m)),
                r.stays_tripped.map_or(Value::Missing, Value::Flag),
            ]);
        }
    }
    // A part that cannot follow the hold has no answer.
    out.resize(width, Value::Missing);
    out
}

/// "3 points with 2 stable states, …": how often each number occurs.
fn counts_of_states(table: &Table) -> String {
    let mut counts: BTreeMap<Option<i64>, usize> = BTreeMap::new();
    for row in &table.rows {
        let n = if let Value::Count(n) = row[1] { Some(n) } else { None };
        *counts.entry(n).or_default() += 1;
    }
    let told: Vec<String> = counts
        .into_iter()
        .map(|(n, points)| {
            let s = if points == 1 { "" } else { "s" };
            match n {
                None => format!("{points} point{s} undecided"),
                Some(1) => format!("{points} point{s} with 1 stable state"),
                Some(n) => format!("{points} point{s} with {n} stable states"),
            }
        })
        .collect();
    told.join(", ")
}

/// What is asked about at one point.
struct Asked {
    part: Part,
    load: Load,
    motion: Motion,
    heat: Heat,
}

fn asked_at(chart: &Chart<'_>, value: f64) -> Option<Asked> {
    let (part, load) = chart.part_along(value)?;
    Some(Asked { part, load, motion: chart.moved_along(value)?.1, heat: chart.heated_along(value)?.1 })
}

fn run(o: &Options, case: &Case) -> Result<End, Refusal> {
    if o.ask == Ask::Heat && case.part().wall.layers().is_none() {
        heat::refuse(case)?;
    }
    if !(2..=1_000_000).contains(&o.count) {
        return Err(Refusal::question(format!("--count {}: from 2 to 1000000 points", o.count)));
    }
    let spec = axis(&Written::new("--over", &o.over), case)?;
    // A chart has two axes; the second is not moved.
    let axes = [spec.clone(), spec];
    let chart = Chart::new(case, &axes);
    fs::create_dir_all(&o.out).map_err(|e| format!("cannot write to {}: {e}", o.out.display()))?;
    let [low, high] = axes[0].range;
    let value = |k: u64| low + (high - low) * k as f64 / f64::from(o.count - 1);
    let by_states = o.ask == Ask::Verdict && lists_states(case.part());
    let columns = columns(o, by_states, &axes[0].key, &axes[0].unit);
    let width = columns.len();
    let ask = match o.ask {
        Ask::Verdict => "verdict",
        Ask::Poke => "poke",
        Ask::Release => "release",
        Ask::Heat => "heat",
    };
    let job = Job {
        name: "series".to_owned(),
        identity: format!(
            "program {} {}\ncase {}\nask {ask}\nover {} {low:?} {high:?}\ncount {}",
            PROGRAM,
            VERSION,
            case.digest(),
            axes[0].key,
            o.count
        ),
        columns,
        points: u64::from(o.count),
        chunk: CHUNK,
        provenance: facts(case),
    };
    let bar = bar("points", u64::from(o.count));
    let asked = stop::watch();
    let compute =
        |range: Range<u64>| range.map(|k| row(o.ask, value(k), asked_at(&chart, value(k)), width)).collect();
    let found = calotte_runs::run(
        &job,
        &o.out,
        o.threads,
        &asked,
        &mut |p| {
            bar.set_position(p.done);
            bar.set_message(left(p.left));
        },
        &compute,
    );
    bar.finish_and_clear();
    match found.map_err(|e| e.to_string())? {
        Outcome::Stopped { done, total } => {
            paint::complain(&format!(
                "stopped at {done} of {total}; finished points are kept in {}: the same command goes on from there",
                o.out.display()
            ));
            Ok(End::Stopped)
        }
        Outcome::Finished(table) if by_states => Ok(paint::line(&format!(
            "SERIES: {} over {}: {}\nseries.csv and series.parquet are in {}",
            case.title,
            axes[0].key,
            counts_of_states(&table),
            o.out.display()
        ))),
        Outcome::Finished(table) => {
            let words = |w: &str| table.rows.iter().filter(|r| r[1] == Value::Text(w.to_owned())).count();
            let kinds: &[&str] = match o.ask {
                Ask::Verdict => &["stays", "returns", "undecided"],
                Ask::Poke => &["trips", "follows", "undecided"],
                Ask::Release => &["stays", "waits", "returns", "undecided"],
                Ask::Heat => &["trips", "buckles", "follows", "undecided"],
            };
            let counts: Vec<String> = kinds.iter().map(|k| format!("{} {k}", words(k))).collect();
            Ok(paint::line(&format!(
                "SERIES: {} over {}: {}\nseries.csv and series.parquet are in {}",
                case.title,
                axes[0].key,
                counts.join(", "),
                o.out.display()
            )))
        }
    }
}

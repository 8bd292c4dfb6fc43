//! `calotte series`: one number of the case varied, every point answered in full, on all cores, resumable.

use std::collections::BTreeMap;
use std::fs;
use std::ops::Range;
use std::path::PathBuf;

use calotte_answers::map::Quantity;
use calotte_answers::states::lists_states;
use calotte_desk::axes::axis;
use calotte_desk::tables::column;
use calotte_desk::{PROGRAM, Refusal, VERSION, Written, facts, heat};
use calotte_runs::{Job, Kind, Outcome, Table, Value};
use calotte_specimen::Case;
use calotte_sweep::{Asked, Question};

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

impl Ask {
    fn question(self) -> Question {
        match self {
            Self::Verdict => Question::Verdict,
            Self::Poke => Question::Poke,
            Self::Release => Question::Release,
            Self::Heat => Question::Heat,
        }
    }
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

/// The row of one value: the value and the answer's cells, missing ones where there is no such part.
fn row(ask: Question, value: f64, found: Option<Asked>, width: usize) -> Vec<Value> {
    let mut out = vec![Value::Number(value)];
    out.extend(found.map(|a| a.cells(ask).0).unwrap_or_default());
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

fn run(o: &Options, case: &Case) -> Result<End, Refusal> {
    if o.ask == Ask::Heat && case.part().wall.layers().is_none() {
        heat::refuse(case)?;
    }
    if !(2..=1_000_000).contains(&o.count) {
        return Err(Refusal::question(format!("--count {}: from 2 to 1000000 points", o.count)));
    }
    let spec = axis(&Written::new("--over", &o.over), case)?;
    let asked_at = |value: f64| match spec.quantity {
        Quantity::Depth => Asked::at(case, &[], Some(value)).ok(),
        Quantity::Given(i) => Asked::at(case, &[(i, value)], None).ok(),
    };
    fs::create_dir_all(&o.out).map_err(|e| format!("cannot write to {}: {e}", o.out.display()))?;
    let [low, high] = spec.range;
    let value = |k: u64| low + (high - low) * k as f64 / f64::from(o.count - 1);
    let by_states = o.ask == Ask::Verdict && lists_states(case.part());
    let question = o.ask.question();
    let mut columns = vec![column("value_si", &spec.unit, &spec.key, Kind::Number)];
    columns.extend(question.columns(case));
    let width = columns.len();
    let ask = question.name();
    let job = Job {
        name: "series".to_owned(),
        identity: format!(
            "program {} {}\ncase {}\nask {ask}\nover {} {low:?} {high:?}\ncount {}",
            PROGRAM,
            VERSION,
            case.digest(),
            spec.key,
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
        |range: Range<u64>| range.map(|k| row(question, value(k), asked_at(value(k)), width)).collect();
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
            spec.key,
            counts_of_states(&table),
            o.out.display()
        ))),
        Outcome::Finished(table) => {
            let words = |w: &str| table.rows.iter().filter(|r| r[1] == Value::Text(w.to_owned())).count();
            let counts: Vec<String> =
                question.outcomes().iter().map(|k| format!("{} {k}", words(k))).collect();
            Ok(paint::line(&format!(
                "SERIES: {} over {}: {}\nseries.csv and series.parquet are in {}",
                case.title,
                spec.key,
                counts.join(", "),
                o.out.display()
            )))
        }
    }
}

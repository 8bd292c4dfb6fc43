//! A grid of full verdicts on all cores, resumable.

use std::path::Path;
use std::sync::atomic::AtomicBool;

use calotte_answers::map::report::Grid;
use calotte_answers::map::{AxisSpec, Chart};
use calotte_answers::report::Verdict;
use calotte_answers::{Detail, verdict};
use calotte_runs::{Column, Job, Kind, Outcome, Value};
use calotte_specimen::Case;

use crate::map::left;
use crate::paint;
use crate::provenance::facts;

/// Cells computed in one piece. Fixed: a grid begun with one number of threads can go on with another.
const CHUNK: u64 = 256;

pub(super) fn run(
    case: &Case,
    chart: &Chart<'_>,
    axes: &[AxisSpec; 2],
    size: [usize; 2],
    dir: &Path,
    threads: usize,
    stop: &AtomicBool,
) -> Result<Option<Grid>, String> {
    // Even steps of the logarithm, as the curves run.
    let value = |i: usize, k: usize| {
        let (a, b) = (axes[i].range[0].ln(), axes[i].range[1].ln());
        (a + (b - a) * (k as f64 + 0.5) / size[i] as f64).exp()
    };
    let points = (size[0] * size[1]) as u64;
    let column = |name: &str, unit: &str, about: &str, kind: Kind| Column {
        name: name.to_owned(),
        unit: unit.to_owned(),
        about: about.to_owned(),
        kind,
    };
    let axis = |i: usize| format!("{} {:?} {:?}", axes[i].key, axes[i].range[0], axes[i].range[1]);
    let job = Job {
        name: "grid".to_owned(),
        identity: format!(
            "program {} {}\ncase {}\nx {}\ny {}\nsize {}x{}",
            env!("CARGO_PKG_NAME"),
            env!("CARGO_PKG_VERSION"),
            case.digest(),
            axis(0),
            axis(1),
            size[0],
            size[1]
        ),
        columns: vec![
            column("x_si", "SI", &axes[0].key, Kind::Number),
            column("y_si", "SI", &axes[1].key, Kind::Number),
            column("verdict", "", "stays, returns or undecided; empty where no such part exists", Kind::Text),
            column("thickness_ratio", "1", "h/h*, below 1 stays", Kind::Number),
        ],
        points,
        chunk: CHUNK,
        provenance: facts(case),
    };
    let bar = paint::bar("cells", points);
    let found = calotte_runs::run(
        &job,
        dir,
        threads,
        stop,
        &mut |p| {
            bar.set_position(p.done);
            bar.set_message(left(p.left));
        },
        &|range| {
            range
                .map(|k| {
                    let (c, r) = (k as usize % size[0], k as usize / size[0]);
                    let values = [value(0, c), value(1, r)];
                    let answer = chart
                        .part(values)
                        .map(|(part, _)| verdict(&part, Detail { branch: false, depth: false }));
                    let word = answer.as_ref().map(|a| match a.verdict {
                        Verdict::Stays => "stays",
                        Verdict::Returns => "returns",
                        Verdict::Undecided => "undecided",
                    });
                    let ratio = answer.and_then(|a| a.margin).map(|m| m.thickness_ratio);
                    vec![
                        Value::Number(values[0]),
                        Value::Number(values[1]),
                        word.map_or(Value::Missing, |w| Value::Text(w.to_owned())),
                        ratio.map_or(Value::Missing, Value::Number),
                    ]
                })
                .collect()
        },
    );
    bar.finish_and_clear();
    match found.map_err(|e| e.to_string())? {
        Outcome::Stopped { .. } => Ok(None),
        Outcome::Finished(table) => {
            let verdicts = table
                .rows
                .iter()
                .map(|r| match &r[2] {
                    Value::Text(t) if t == "stays" => Some(Verdict::Stays),
                    Value::Text(t) if t == "returns" => Some(Verdict::Returns),
                    Value::Text(_) => Some(Verdict::Undecided),
                    _ => None,
                })
                .collect();
            let ratio = |r: &Vec<Value>| if let Value::Number(v) = r[3] { Some(v) } else { None };
            Ok(Some(Grid {
                x_si: (0..size[0]).map(|k| value(0, k)).collect(),
                y_si: (0..size[1]).map(|k| value(1, k)).collect(),
                verdicts,
                thickness_ratio: table.rows.iter().map(ratio).collect(),
            }))
        }
    }
}

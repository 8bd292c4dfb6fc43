//! A grid of full verdicts on all cores, resumable.

use std::path::Path;
use std::sync::atomic::AtomicBool;

use calotte_answers::Cells;
use calotte_answers::map::report::Grid;
use calotte_answers::map::{AxisSpec, Chart};
use calotte_answers::report::Verdict;
use calotte_desk::tables::column;
use calotte_desk::{PROGRAM, Refusal, VERSION, facts};
use calotte_runs::{Job, Kind, Outcome, Value};
use calotte_specimen::Case;

use crate::map::left;
use crate::progress::bar;

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
) -> Result<Option<Grid>, Refusal> {
    // Even steps on the axis as it is drawn: logarithmic when it spans more than a factor of twenty.
    let value = |i: usize, k: usize| {
        let [a, b] = axes[i].range;
        let u = (k as f64 + 0.5) / size[i] as f64;
        if b / a > 20.0 {
            libm::exp(libm::log(a) + u * (libm::log(b) - libm::log(a)))
        } else {
            a + u * (b - a)
        }
    };
    let points = (size[0] * size[1]) as u64;
    // Cells that differ in thickness alone share their threshold, so the thickness runs fastest.
    let walls_fastest = axes[0].key.starts_with("wall.") && !axes[1].key.starts_with("wall.");
    let cell = |k: usize| {
        if walls_fastest { [k % size[0], k / size[0]] } else { [k / size[1], k % size[1]] }
    };
    let axis = |i: usize| format!("{} {:?} {:?}", axes[i].key, axes[i].range[0], axes[i].range[1]);
    let job = Job {
        name: "grid".to_owned(),
        identity: format!(
            "program {} {}\ncase {}\nx {}\ny {}\nsize {}x{}",
            PROGRAM,
            VERSION,
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
    let bar = bar("cells", points);
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
            let mut cells = Cells::default();
            range
                .map(|k| {
                    let [c, r] = cell(k as usize);
                    let values = [value(0, c), value(1, r)];
                    let answer = chart.part(values).map(|(part, _)| cells.verdict(&part));
                    let word = answer.map(|a| match a.0 {
                        Verdict::Stays => "stays",
                        // Cells of a grid are elastic.
                        Verdict::Returns | Verdict::Waits => "returns",
                        Verdict::Undecided => "undecided",
                    });
                    vec![
                        Value::Number(values[0]),
                        Value::Number(values[1]),
                        word.map_or(Value::Missing, |w| Value::Text(w.to_owned())),
                        answer.and_then(|a| a.1).map_or(Value::Missing, Value::Number),
                    ]
                })
                .collect()
        },
    );
    bar.finish_and_clear();
    match found.map_err(|e| e.to_string())? {
        Outcome::Stopped { .. } => Ok(None),
        Outcome::Finished(table) => {
            let mut verdicts = vec![None; size[0] * size[1]];
            let mut ratios = vec![None; size[0] * size[1]];
            for (k, row) in table.rows.iter().enumerate() {
                let [c, r] = cell(k);
                let at = r * size[0] + c;
                verdicts[at] = match &row[2] {
                    Value::Text(t) if t == "stays" => Some(Verdict::Stays),
                    Value::Text(t) if t == "returns" => Some(Verdict::Returns),
                    Value::Text(_) => Some(Verdict::Undecided),
                    _ => None,
                };
                ratios[at] = if let Value::Number(v) = row[3] { Some(v) } else { None };
            }
            Ok(Some(Grid {
                x_si: (0..size[0]).map(|k| value(0, k)).collect(),
                y_si: (0..size[1]).map(|k| value(1, k)).collect(),
                verdicts,
                thickness_ratio: ratios,
            }))
        }
    }
}

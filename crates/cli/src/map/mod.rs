//! `calotte map`: curves over two numbers of a case, a grid of verdicts, specimens.

mod axes;
mod grid;
mod specimens;

pub(crate) use axes::{axis, ends, grid_size};

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

use calotte_answers::explain::digits;
use calotte_answers::map::report::{Curve, MapReport, Observed};
use calotte_answers::map::{Chart, Request, compare, map as answer_map};
use calotte_runs::{Column, Kind, Table, Value};
use calotte_specimen::Case;

use crate::answer::read_to_turn;
use crate::folder;
use crate::paint::Page;
use crate::provenance::{Answer, facts};
use crate::{End, paint, stop};

/// Options of the command.
#[derive(clap::Args)]
pub(crate) struct Options {
    /// Case file (TOML).
    case: PathBuf,
    /// Horizontal axis: a number of the case, or `depth`; with a range if you like: `depth=10deg..60deg`.
    #[arg(long, value_name = "KEY[=FROM..TO]", default_value = "depth")]
    x: String,
    /// Vertical axis: `wall.thickness=0.5mm..3mm`.
    #[arg(long, value_name = "KEY[=FROM..TO]", default_value = "wall.thickness")]
    y: String,
    /// Curves of equal margin h/h* to draw beside the threshold, e.g. `0.8,1.25`.
    #[arg(long, value_delimiter = ',', value_name = "RATIO", default_value = "0.8,1.25")]
    margin: Vec<f64>,
    /// Curves of a given trip load under the case's `[load]`, e.g. `"2 N"`; may be repeated.
    #[arg(long, value_name = "LOAD", allow_hyphen_values = true)]
    trip_load: Vec<String>,
    /// Draw where the load first has a limit: beyond that curve the part snaps.
    #[arg(long)]
    snapping: bool,
    /// A grid of full verdicts, columns by rows, e.g. `64x64`. Needs --out; goes on where it was stopped.
    #[arg(long, value_name = "NxM", requires = "out")]
    grid: Option<String>,
    /// Threads for the grid; 0 takes every core.
    #[arg(long, default_value_t = 0)]
    threads: usize,
    /// Measured specimens: CSV with the two axis keys as columns (`2.10 ± 0.05 mm`), `name` and `observed`
    /// (stays, returns, waits).
    #[arg(long, value_name = "FILE")]
    specimens: Option<PathBuf>,
    /// Print the whole answer as JSON.
    #[arg(long)]
    json: bool,
    /// Write the figure (SVG and PNG), curves and grid as CSV and Parquet, and the answer as JSON into this folder.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

pub(crate) fn map(o: &Options) -> End {
    let Some(case) = read_to_turn(&o.case) else { return End::BadInput };
    match run(o, &case) {
        Ok(end) => end,
        Err(why) => {
            paint::complain(&why);
            End::BadInput
        }
    }
}

fn run(o: &Options, case: &Case) -> Result<End, String> {
    let request = Request {
        axes: [axes::axis(&o.x, "--x", case)?, axes::axis(&o.y, "--y", case)?],
        margins: margins(&o.margin)?,
        trip_loads: o.trip_load.iter().map(|t| axes::load(t, case)).collect::<Result<_, _>>()?,
        snapping: o.snapping,
    };
    if request.axes[0].quantity == request.axes[1].quantity {
        return Err(format!("both axes show `{}`; name another number for one of them", request.axes[0].key));
    }
    let chart = Chart::new(case, &request.axes);
    let size = o.grid.as_deref().map(axes::grid_size).transpose()?;
    let measured = match &o.specimens {
        None => Vec::new(),
        Some(path) => specimens::read(path, &request.axes, case)?,
    };
    if let Some(dir) = &o.out {
        fs::create_dir_all(dir).map_err(|e| format!("cannot write to {}: {e}", dir.display()))?;
    }
    let bar = paint::bar("curves", 1000);
    let asked = stop::watch();
    let found = answer_map(case, &request, &mut |share| {
        bar.set_position((1000.0 * share) as u64);
        !asked.load(std::sync::atomic::Ordering::Relaxed)
    });
    bar.finish_and_clear();
    let Some(mut report) = found else {
        paint::complain("stopped; nothing was written");
        return Ok(End::Stopped);
    };
    if !measured.is_empty() {
        let (specimens, counts) = compare(&chart, &measured);
        (report.specimens, report.counts) = (specimens, Some(counts));
    }
    if let (Some(size), Some(dir)) = (size, &o.out) {
        match grid::run(case, &chart, &request.axes, size, dir, o.threads, &asked)? {
            Some(g) => report.grid = Some(g),
            None => {
                paint::complain(&format!(
                    "stopped; finished cells are kept in {}: the same command goes on from there",
                    dir.display()
                ));
                return Ok(End::Stopped);
            }
        }
    }
    if let Some(dir) = &o.out {
        write_all(dir, case, &report).map_err(|e| format!("cannot write to {}: {e}", dir.display()))?;
    }
    let end = if o.json { paint::json(&Answer::new(case, &report)) } else { paint::line(&page(&report)) };
    if let Some(dir) = o.out.as_ref().filter(|_| !o.json) {
        paint::line(&format!(
            "map.svg, map.png, curves.csv, curves.parquet and answer.json are in {}",
            dir.display()
        ));
    }
    let doubtful = end == End::Answered && !report.doubts.is_empty();
    Ok(if doubtful { End::Undecided } else { end })
}

fn margins(all: &[f64]) -> Result<Vec<f64>, String> {
    match all.iter().find(|m| !(**m > 0.0 && m.is_finite())) {
        Some(m) => Err(format!("--margin {m}: a margin h/h* is greater than 0; below 1 the part stays")),
        None => Ok(all.to_vec()),
    }
}

/// Every curve as rows.
fn table(case: &Case, r: &MapReport) -> Table {
    let column = |name: &str, unit: &str, about: &str, kind: Kind| Column {
        name: name.to_owned(),
        unit: unit.to_owned(),
        about: about.to_owned(),
        kind,
    };
    let mut rows = Vec::new();
    let mut add = |family: &str, level: f64, curves: &[Curve]| {
        for (k, c) in curves.iter().enumerate() {
            for i in 0..c.x_si.len() {
                rows.push(vec![
                    Value::Text(family.to_owned()),
                    if level.is_finite() { Value::Number(level) } else { Value::Missing },
                    Value::Count(k as i64),
                    Value::Number(c.x_si[i]),
                    Value::Number(c.y_si[i]),
                    Value::Flag(c.cusps.contains(&i)),
                ]);
            }
        }
    };
    add("threshold", 1.0, &r.threshold);
    r.margins.iter().for_each(|m| add("margin", m.ratio, &m.curves));
    r.waiting.iter().for_each(|w| add(&format!("end of waiting, {}", w.hold), w.loss, &w.curves));
    add("snapping first", f64::NAN, &r.snapping_first);
    r.trip_loads.iter().for_each(|t| add("trip load", t.load_SI, &t.curves));
    r.validity.iter().for_each(|v| add(&v.name, v.limit, &v.curves));
    let columns = vec![
        column("family", "", "what the curve is", Kind::Text),
        column(
            "level",
            "1",
            "h/h*, share of the modulus lost, trip load in its SI unit, or limit",
            Kind::Number,
        ),
        column("curve", "1", "number of the curve within its family", Kind::Count),
        column("x_si", "SI", &r.axes[0].key, Kind::Number),
        column("y_si", "SI", &r.axes[1].key, Kind::Number),
        column("cusp", "", "whether the point is a cusp", Kind::Flag),
    ];
    Table { columns, rows, provenance: facts(case) }
}

fn write_all(dir: &Path, case: &Case, r: &MapReport) -> Result<(), String> {
    folder::answer(dir, &Answer::new(case, r))?;
    folder::table(dir, "curves", &table(case, r))?;
    folder::figures(dir, calotte_figures::map_figures(r))
}

/// The answer as text.
fn page(r: &MapReport) -> String {
    let mut p = Page::new(&format!("MAP: {}", r.title));
    let axis = |i: usize| {
        let a = &r.axes[i];
        let v = |x: f64| digits(x / a.unit_si, 4);
        format!("{} from {} to {} {} (here {})", a.label, v(a.low_si), v(a.high_si), a.unit, v(a.here_si))
    };
    p.text(&format!("{}; {}", axis(0), axis(1)));
    r.doubts.iter().for_each(|d| p.item(&format!("Doubt: {d}")));
    p.head("What it shows");
    r.explanation.iter().for_each(|e| p.item(e));
    let ends = |p: &mut Page, name: &str, curves: &[Curve]| {
        for c in curves.iter().filter(|c| !c.x_si.is_empty()) {
            let last = c.x_si.len() - 1;
            let at = |i: usize| {
                format!(
                    "({}, {})",
                    digits(c.x_si[i] / r.axes[0].unit_si, 4),
                    digits(c.y_si[i] / r.axes[1].unit_si, 4)
                )
            };
            p.row(
                name,
                &format!(
                    "{} points from {} to {}; ends: {}; {}",
                    last + 1,
                    at(0),
                    at(last),
                    c.ends[0],
                    c.ends[1]
                ),
            );
            for k in &c.cusps {
                if c.cusps.len() < c.x_si.len() {
                    p.row("", &format!("cusp at {}", at(*k)));
                }
            }
        }
    };
    p.head(&format!(
        "Curves ({} in {}, {} in {})",
        r.axes[0].label, r.axes[0].unit, r.axes[1].label, r.axes[1].unit
    ));
    ends(&mut p, "threshold", &r.threshold);
    r.margins.iter().for_each(|m| ends(&mut p, &format!("margin h/h* = {}", digits(m.ratio, 3)), &m.curves));
    r.waiting.iter().for_each(|w| ends(&mut p, &format!("end of waiting, {}", w.hold), &w.curves));
    ends(&mut p, "snapping first", &r.snapping_first);
    for t in &r.trip_loads {
        let name = calotte_answers::poke::words::quantity(t.load_SI, &t.load_unit);
        ends(&mut p, &format!("trip load {name}"), &t.curves);
    }
    if let Some(g) = &r.grid {
        let count = |v| g.verdicts.iter().flatten().filter(|x| **x == v).count();
        use calotte_answers::report::Verdict::{Returns, Stays, Undecided};
        p.head("Grid");
        p.row(
            "verdicts",
            &format!(
                "{} x {}: {} stay, {} return, {} undecided",
                g.x_si.len(),
                g.y_si.len(),
                count(Stays),
                count(Returns),
                count(Undecided)
            ),
        );
    }
    if let Some(c) = &r.counts {
        p.head("Specimens");
        p.row("predicted", &format!("{} stay, {} return", c.predicted_stay, c.predicted_return));
        p.row("observed", &format!("{} stay, {} return", c.observed_stay, c.observed_return));
        p.row("agree", &c.agree.to_string());
        p.row("differ within tolerance", &c.within_tolerance.to_string());
        p.row("contradicted", &c.contradicted.to_string());
        p.row("open", &c.open.to_string());
        for s in r
            .specimens
            .iter()
            .filter(|s| s.comparison == calotte_answers::map::report::Comparison::Contradicted)
        {
            let seen = if s.observed == Some(Observed::Stays) { "stayed" } else { "came back" };
            let ratio = s.thickness_ratio.map_or("unknown".to_owned(), |v| digits(v, 4));
            p.item(&format!("{}: {seen}, against h/h* = {ratio}", s.name));
        }
    }
    if !r.warnings.is_empty() {
        p.head("Warnings");
        r.warnings.iter().for_each(|w| p.item(w));
    }
    p.finish()
}

/// How long is left, for people.
pub(crate) fn left(d: Option<Duration>) -> String {
    match d.map(|d| d.as_secs()) {
        None => "time left unknown".to_owned(),
        Some(s) if s < 90 => format!("{s} s left"),
        Some(s) if s < 5400 => format!("{} min left", s.div_ceil(60)),
        Some(s) => format!("{:.1} h left", s as f64 / 3600.0),
    }
}

//! `calotte map`: curves over two numbers of a case, a grid of verdicts, specimens.

mod grid;
pub(crate) mod specimens;
mod swept;

use std::fs;
use std::path::PathBuf;
use std::time::Duration;

use calotte_answers::map::{Chart, compare};
use calotte_desk::axes::grid_size;
use calotte_desk::map::{Options as Asked, USUAL_X, USUAL_Y, compute, reply};
use calotte_desk::{Refusal, Written};
use calotte_specimen::Case;

use crate::answer::{give, read_to_turn, refused, want};
use crate::looks::Looks;
use crate::progress::Bars;
use crate::{End, paint, stop};

/// Options of the command.
#[derive(clap::Args)]
pub(crate) struct Options {
    /// Case file (TOML). With --sweep: that of the sweep.
    #[arg(required_unless_present = "sweep", conflicts_with = "sweep")]
    case: Option<PathBuf>,
    /// Horizontal axis: a number of the case, or `depth`; with a range if you like: `depth=10deg..60deg` [default: depth; with --sweep a
    /// number that it varies, over its range].
    #[arg(long, value_name = "KEY[=FROM..TO]")]
    x: Option<String>,
    /// Vertical axis: `wall.thickness=0.5mm..3mm` [default: wall.thickness; with --sweep a number that it varies, over its range].
    #[arg(long, value_name = "KEY[=FROM..TO]")]
    y: Option<String>,
    /// Lay the points of a sweep over the map, as computed: the folder that `calotte sweep` wrote, of two numbers that vary.
    #[arg(long, value_name = "DIR")]
    sweep: Option<PathBuf>,
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
    /// Write the figure (SVG, PNG, PDF, CSV), curves and grid as CSV and Parquet, and the answer as JSON into this folder.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    looks: Looks,
}

pub(crate) fn map(o: &Options) -> End {
    let ended = match (&o.case, &o.sweep) {
        (_, Some(folder)) => match swept::open(folder) {
            Some((plan, case)) => swept::lay(&plan, &case, folder, o),
            None => return End::BadInput,
        },
        (Some(path), None) => match read_to_turn(path) {
            Some(case) => run(o, &case, None),
            None => return End::BadInput,
        },
        (None, None) => Err(Refusal::question("a case file is missing")),
    };
    ended.unwrap_or_else(|refusal| refused(&refusal, ""))
}

/// `laid`: the axes of a sweep where none are asked for, and how its points are read over the axes.
fn run(o: &Options, case: &Case, laid: Option<&swept::Laid<'_>>) -> Result<End, Refusal> {
    let axis = |option, given: &Option<String>, i: usize, usual: &str| {
        let usual = || laid.map_or_else(|| usual.to_owned(), |l| l.axes[i].clone());
        Written::new(option, given.clone().unwrap_or_else(usual))
    };
    let asked = Asked {
        x: axis("--x", &o.x, 0, USUAL_X),
        y: axis("--y", &o.y, 1, USUAL_Y),
        margins: ("--margin", o.margin.clone()),
        trip_loads: o.trip_load.iter().map(|t| Written::new("--trip-load", t)).collect(),
        snapping: o.snapping,
    };
    let request = asked.request(case)?;
    let chart = Chart::new(case, &request.axes);
    let size = o.grid.as_ref().map(|g| grid_size(&Written::new("--grid", g))).transpose()?;
    let measured = match &o.specimens {
        None => Vec::new(),
        Some(path) => specimens::read(path, &request.axes, case)?,
    };
    let out = o.out.as_deref();
    if let Some(dir) = out {
        fs::create_dir_all(dir)
            .map_err(|e| Refusal::question(format!("cannot write to {}: {e}", dir.display())))?;
    }
    // Read before anything is computed: what cannot be laid over the map is told at once.
    let points = laid.map(|l| l.points([&request.axes[0].key, &request.axes[1].key])).transpose()?;
    let mut report = compute(case, &request, &Bars::new())?;
    report.points = points;
    if !measured.is_empty() {
        let (specimens, counts) = compare(&chart, &measured);
        (report.specimens, report.counts) = (specimens, Some(counts));
    }
    if let (Some(size), Some(dir)) = (size, out) {
        match grid::run(case, &chart, &request.axes, size, dir, o.threads, &stop::watch())? {
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
    let made = "map.svg, map.png, curves.csv, curves.parquet and answer.json";
    Ok(give(reply(case, &report, want(out, 1, &o.looks)), "", o.json, out, &o.looks, made))
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

//! `calotte heat`: trip and reset of a heated part, printed or written.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::Ordering;

use calotte_answers::explain::{digits, energy, force, length};
use calotte_answers::heat::report::{HeatMap, HeatOutcome, HeatReport, HeatRow, HeatSpread, Jump, Move};
use calotte_answers::heat::words::{celsius, kelvins};
use calotte_answers::heat::{Branches, Watch};
use calotte_quantity::Dimension;
use calotte_runs::{Column, Kind, Table, Value};
use calotte_specimen::Case;
use serde::Serialize;

use crate::answer::read;
use crate::folder::PNG_SCALE;
use crate::paint::Page;
use crate::provenance::{Answer, facts};
use crate::{End, files, heat_map, paint, stop};

/// What the command takes.
#[derive(clap::Args)]
pub(crate) struct Options {
    /// Case file (TOML) with a wall of `[layers]`.
    case: PathBuf,
    /// Also: the spread of trip and reset over this many parts drawn from the tolerances of the case.
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u32).range(10..=1_000_000))]
    spread: Option<u32>,
    #[command(flatten)]
    map: heat_map::MapOptions,
    /// Threads for `--spread` and `--map`; 0 takes every core.
    #[arg(long, default_value_t = 0)]
    threads: usize,
    /// Print the whole answer as JSON (SI units in the key names) instead of words.
    #[arg(long)]
    json: bool,
    /// Write figures (SVG and PNG), the branches (CSV and Parquet) and the answer as text and JSON into this folder.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

/// The answer with what was asked for beside it.
#[derive(Serialize)]
struct Whole {
    #[serde(flatten)]
    heat: HeatReport,
    /// Spread of trip and reset.
    spread: Option<HeatSpread>,
    /// Trip and delta over depth and thickness.
    map: Option<HeatMap>,
}

pub(crate) fn heat(o: &Options) -> End {
    let Some(case) = read(&o.case) else { return End::BadInput };
    let refuse = |why: &str| {
        paint::complain(&format!("{}: {why}", o.case.display()));
        End::BadInput
    };
    let branches = match Branches::of(&case) {
        Ok(branches) => branches,
        Err(no) => return refuse(&no.0),
    };
    let mut whole = Whole { heat: branches.report(), spread: None, map: None };
    let flag = stop::watch();
    let threads = match o.threads {
        0 => std::thread::available_parallelism().map_or(1, usize::from),
        n => n,
    };
    if let Some(count) = o.spread {
        let bar = paint::bar("draws", u64::from(count));
        let progress = |n: usize| bar.set_position(n as u64);
        let found = branches.spread(count as usize, &Watch { threads, stop: &flag, progress: &progress });
        bar.finish_and_clear();
        whole.spread = match found {
            Ok(spread) => spread,
            Err(no) => return refuse(&no.0),
        };
    }
    whole.map = match heat_map::map(&o.map, &case, &branches, threads, &flag) {
        Ok(map) => map,
        Err(why) => return refuse(&why),
    };
    if flag.load(Ordering::Relaxed) {
        paint::complain("stopped; nothing was written");
        return End::Stopped;
    }
    let page = page(&case, &whole);
    if let Some(dir) = &o.out
        && let Err(e) = write_all(dir, &case, &whole, &page)
    {
        paint::complain(&format!("cannot write to {}: {e}", dir.display()));
        return End::BadInput;
    }
    let printed = if o.json { paint::json(&Answer::new(&case, &whole)) } else { paint::line(&page) };
    if let Some(dir) = o.out.as_ref().filter(|_| !o.json) {
        paint::line(&format!(
            "Figures, heat.csv, heat.parquet, answer.txt and answer.json are in {}",
            dir.display()
        ));
    }
    let doubtful = whole.map.as_ref().is_some_and(|m| !m.doubts.is_empty());
    match printed {
        End::Answered if doubtful || whole.heat.outcome == HeatOutcome::Undecided => End::Undecided,
        end => end,
    }
}

fn write_all(dir: &Path, case: &Case, whole: &Whole, page: &str) -> Result<(), String> {
    let text = |e: std::io::Error| e.to_string();
    fs::create_dir_all(dir).map_err(text)?;
    let json = serde_json::to_vec_pretty(&Answer::new(case, whole)).map_err(|e| e.to_string())?;
    files::write(&dir.join("answer.json"), &json).map_err(text)?;
    files::write(&dir.join("answer.txt"), format!("{page}\n").as_bytes()).map_err(text)?;
    let mut tables = vec![("heat", branch_table(case, &whole.heat))];
    tables.extend(whole.spread.as_ref().map(|s| ("draws", draw_table(case, s))));
    for (name, table) in tables {
        files::write(&dir.join(format!("{name}.csv")), &table.to_csv()).map_err(text)?;
        let parquet = table.to_parquet().map_err(|e| e.to_string())?;
        files::write(&dir.join(format!("{name}.parquet")), &parquet).map_err(text)?;
    }
    let mut figures = calotte_figures::heat_figures(&whole.heat);
    figures.extend(
        whole.spread.as_ref().and_then(|s| calotte_figures::heat_spread_figure(s, &whole.heat.title)),
    );
    for f in figures {
        files::write(&dir.join(format!("{}.svg", f.name)), f.svg.as_bytes()).map_err(text)?;
        let png = calotte_figures::png(&f.svg, PNG_SCALE).map_err(|e| e.to_string())?;
        files::write(&dir.join(format!("{}.png", f.name)), &png).map_err(text)?;
    }
    if let Some(m) = &whole.map {
        heat_map::write(dir, case, m)?;
    }
    Ok(())
}

fn column(name: &str, unit: &str, about: &str, kind: Kind) -> Column {
    Column { name: name.to_owned(), unit: unit.to_owned(), about: about.to_owned(), kind }
}

fn number(v: Option<f64>) -> Value {
    v.map_or(Value::Missing, Value::Number)
}

/// Both branches, in order.
fn branch_table(case: &Case, r: &HeatReport) -> Table {
    let columns = vec![
        column(
            "branch",
            "",
            "near: that of the described shape; far: that on which the trip lands",
            Kind::Text,
        ),
        column("temperature_K", "K", "temperature of the middle of the wall", Kind::Number),
        column("travel_m", "m", "travel of the centre, positive towards the other state", Kind::Number),
        column("rim_slope_rad", "rad", "slope of the rim", Kind::Number),
        column(
            "energy_J",
            "J",
            "elastic energy of part and spring less the work of the preload",
            Kind::Number,
        ),
        column("pin_force_N", "N", "push of the centre on the pin", Kind::Number),
        column("unstable", "1", "unstable axisymmetric directions", Kind::Count),
        column(
            "unstable_n",
            "",
            "wave numbers n >= 1 that are unstable, sought where the round shape is stable",
            Kind::Text,
        ),
    ];
    let row = |branch: &str, p: &HeatRow| {
        let n: Vec<String> = p.unstable_n.iter().map(u32::to_string).collect();
        vec![
            Value::Text(branch.to_owned()),
            Value::Number(p.temperature_K),
            Value::Number(p.travel_m),
            Value::Number(p.rim_slope_rad),
            Value::Number(p.energy_J),
            Value::Number(p.pin_force_N),
            Value::Count(p.unstable as i64),
            Value::Text(n.join(" ")),
        ]
    };
    let near = r.near.iter().map(|p| row("near", p));
    let rows = near.chain(r.far.iter().map(|p| row("far", p))).collect();
    Table { columns, rows, provenance: facts(case) }
}

/// Trip and reset of every draw.
fn draw_table(case: &Case, s: &HeatSpread) -> Table {
    let columns = vec![
        column("draw", "1", "number of the draw", Kind::Count),
        column("trip_K", "K", "trip temperature; missing where there is none or it is unknown", Kind::Number),
        column(
            "reset_K",
            "K",
            "reset temperature; missing where there is none or it is unknown",
            Kind::Number,
        ),
    ];
    let both = s.trips_K.iter().zip(&s.resets_K).enumerate();
    let rows = both.map(|(i, (t, r))| vec![Value::Count(i as i64 + 1), number(*t), number(*r)]).collect();
    Table { columns, rows, provenance: facts(case) }
}

/// What happens in a few words.
fn headline(r: &HeatReport) -> String {
    let jump = |j: &Jump, verb: &str| format!("{verb} at {} on {}", celsius(j.temperature_K), j.on);
    let word = match r.outcome {
        HeatOutcome::Trips => "TRIPS",
        HeatOutcome::Buckles => "BUCKLES",
        HeatOutcome::Follows => "FOLLOWS",
        HeatOutcome::Undecided => "UNDECIDED",
    };
    let mut line = format!("{word}: {}", r.title);
    let mut told = Vec::new();
    told.extend(r.trip.as_ref().map(|t| jump(t, "trips")));
    told.extend(r.reset.as_ref().map(|t| jump(t, "resets")));
    told.extend(r.delta_K.map(|d| format!("delta {}", kelvins(d.abs()))));
    if !told.is_empty() {
        line += &format!("\n{}", told.join(", "));
    }
    line
}

/// The answer as text.
fn page(case: &Case, whole: &Whole) -> String {
    let r = &whole.heat;
    let mut p = Page::new(&headline(r));
    p.text(&paint::part_words(&r.part));
    r.doubts.iter().for_each(|d| p.item(&format!("Doubt: {d}")));
    p.head("What happens");
    r.explanation.iter().for_each(|e| p.item(e));
    jumps(&mut p, r);
    moves(&mut p, case, r);
    if let Some(s) = &whole.spread {
        spread(&mut p, s);
    }
    if let Some(m) = &whole.map {
        heat_map::page(&mut p, m);
    }
    evidence(&mut p, case, r);
    for (head, lines) in [
        ("Notes on the case", case.notes()),
        ("Beyond this model", &r.beyond[..]),
        ("Warnings", &r.warnings[..]),
    ] {
        if !lines.is_empty() {
            p.head(head);
            lines.iter().for_each(|l| p.item(l));
        }
    }
    p.finish()
}

/// Trip and reset side by side.
fn jumps(p: &mut Page, r: &HeatReport) {
    let both = [r.trip.as_ref(), r.reset.as_ref()];
    if both.iter().all(Option::is_none) {
        return;
    }
    p.head("Trip and reset");
    p.columns("", &["trip", "reset"]);
    let mut row = |name: &str, tell: &dyn Fn(&Jump) -> String| {
        let told = both.map(|j| j.map_or("none found".to_owned(), tell));
        p.columns(name, &[&told[0], &told[1]]);
    };
    let unknown = |v: Option<f64>, tell: fn(f64) -> String| v.map_or("unknown".to_owned(), tell);
    row("temperature", &|j| celsius(j.temperature_K));
    row("on", &|j| j.on.clone());
    row("route", &|j| if j.n == 0 { j.route.clone() } else { format!("{}, n = {}", j.route, j.n) });
    row("movement of the centre", &|j| unknown(j.movement_m, length));
    row("travel before", &|j| length(j.travel_before_m));
    row("travel after", &|j| unknown(j.travel_after_m, length));
    row("energy set free", &|j| unknown(j.released_J, energy));
    if r.device.pin_gap_m.is_some() {
        row("force on the pin before", &|j| force(j.pin_force_before_N));
        row("force on the pin after", &|j| unknown(j.pin_force_after_N, force));
    }
    if both.iter().flatten().any(|j| j.n > 0) {
        row("limit, kept round", &|j| unknown(j.round_limit_K, celsius));
    }
    row("two meshes differ by", &|j| {
        j.mesh_difference_K.map_or("not compared".to_owned(), |d| format!("{d:.0e} K"))
    });
    if let Some(d) = r.delta_K {
        p.row("delta", &kelvins(d));
    }
    if let Some(c) = &r.creep {
        p.row(
            "creep before the trip",
            &format!(
                "{} from {} on, at first {} per kelvin",
                length(c.travel_m),
                celsius(c.from_K),
                length(c.at_first_m_per_K)
            ),
        );
    }
    if let Some(c) = &r.cycle {
        p.row("lost in a full cycle", &energy(c.lost_J));
    }
}

/// What moves trip and reset, the strongest first.
fn moves(p: &mut Page, case: &Case, r: &HeatReport) {
    if r.moves.is_empty() {
        return;
    }
    let worth = |m: &Move| {
        let largest = |a: [Option<f64>; 2]| a.into_iter().flatten().fold(0.0, |m: f64, x| m.max(x.abs()));
        (
            largest([m.trip_half_width_K, m.reset_half_width_K]),
            largest([m.trip_K_per_percent, m.reset_K_per_percent]),
        )
    };
    let mut sorted: Vec<&Move> = r.moves.iter().collect();
    sorted.sort_by(|a, b| {
        let (a, b) = (worth(a), worth(b));
        b.0.total_cmp(&a.0).then(b.1.total_cmp(&a.1))
    });
    p.head("What moves trip / reset (K for 1 % more; K by its tolerance)");
    let pair = |a: Option<f64>, b: Option<f64>, sign: bool| {
        let one = |v: Option<f64>| {
            v.map_or("unknown".to_owned(), |v| {
                let plus = if sign && v > 0.0 { "+" } else { "" };
                format!("{plus}{}", digits(v, 3))
            })
        };
        format!("{} / {}", one(a), one(b))
    };
    p.columns("input", &["1 % more", "tolerance"]);
    for m in sorted {
        let temperature =
            case.inputs().iter().any(|i| i.key == m.input && i.dimension == Dimension::Temperature);
        let percent = if temperature {
            // A per cent of a temperature means little.
            format!("{} per K", pair(m.trip_K_per_SI, m.reset_K_per_SI, true))
        } else if m.trip_K_per_percent.is_none() && m.reset_K_per_percent.is_none() {
            "stands at 0".to_owned()
        } else {
            pair(m.trip_K_per_percent, m.reset_K_per_percent, true)
        };
        let by_tolerance = if m.trip_half_width_K.is_none() && m.reset_half_width_K.is_none() {
            "none given".to_owned()
        } else {
            format!("± {}", pair(m.trip_half_width_K, m.reset_half_width_K, false))
        };
        p.columns(&m.input, &[&percent, &by_tolerance]);
    }
    if let Some(t) = &r.tolerance {
        let both = pair(t.trip_half_width_K, t.reset_half_width_K, false);
        p.columns("all tolerances together", &["", &format!("± {both}")]);
    }
    p.item(&format!("`depth`: {}. `thickness`: all layers by one factor.", r.depth_rule));
}

fn spread(p: &mut Page, s: &HeatSpread) {
    p.head("Spread over parts made within the tolerances");
    s.words.iter().for_each(|e| p.item(e));
    for (name, one) in [("trip", &s.trip), ("reset", &s.reset), ("delta", &s.delta)] {
        let told = |v: Option<f64>| v.map_or("unknown".to_owned(), |v| format!("± {}", kelvins(v)));
        p.row(
            name,
            &format!(
                "two standard deviations {}; to first order {}",
                told(one.two_deviations_K),
                told(one.first_order_half_width_K)
            ),
        );
    }
    p.row("varied", &s.varied.join(", "));
}

fn evidence(p: &mut Page, case: &Case, r: &HeatReport) {
    let e = &r.evidence;
    p.head("Evidence");
    p.row(
        "branches",
        &format!(
            "{} equilibria near, {} far, on {} elements (trip and reset again on {} and more)",
            r.near.len(),
            r.far.len(),
            e.elements,
            e.elements_fine
        ),
    );
    if let Some(c) = &r.cycle {
        p.row(
            "energy over a cycle",
            &format!("what heat puts in and what the jumps set free differ by {:.0e}", c.gap),
        );
    }
    p.row("waves examined", &format!("n up to {} wherever the round shape is stable", e.largest_n));
    if let Some(w) = &e.refinement {
        p.row("trip found again in", &format!("{} assemblies", w.assemblies));
    }
    p.row("case digest", &case.digest());
}

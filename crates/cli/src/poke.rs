//! `calotte poke`: follow the path of a load, print or write what trips the part.

use std::fs;
use std::path::Path;

use calotte_answers::explain::{digits, energy, length};
use calotte_answers::poke::report::{Event, EventKind, Outcome, PokeReport};
use calotte_answers::poke::words::quantity;
use calotte_answers::{load_or_pole, poke as answer_poke};
use calotte_runs::{Column, Kind, Table, Value};
use calotte_specimen::Case;

use crate::answer::{PNG_SCALE, read};
use crate::paint::Page;
use crate::provenance::{Answer, facts};
use crate::{End, files, paint};

pub(crate) fn poke(path: &Path, json: bool, out: Option<&Path>) -> End {
    let Some(case) = read(path) else { return End::BadInput };
    let mut report = answer_poke(&case, &load_or_pole(case.load()));
    if case.load().is_none() {
        report.warnings.insert(0, "The case has no [load] table: a force on the pole is taken.".to_owned());
    }
    if let Some(dir) = out
        && let Err(e) = write_all(dir, &case, &report)
    {
        paint::complain(&format!("cannot write to {}: {e}", dir.display()));
        return End::BadInput;
    }
    let printed = if json { paint::json(&Answer::new(&case, &report)) } else { paint::line(&page(&report)) };
    if let Some(dir) = out.filter(|_| !json) {
        paint::line(&format!("Figures, path.csv, path.parquet and answer.json are in {}", dir.display()));
    }
    match (printed, report.outcome) {
        (End::Answered, Outcome::Undecided) => End::Undecided,
        (end, _) => end,
    }
}

fn write_all(dir: &Path, case: &Case, report: &PokeReport) -> Result<(), String> {
    let text = |e: std::io::Error| e.to_string();
    fs::create_dir_all(dir).map_err(text)?;
    let json = serde_json::to_vec_pretty(&Answer::new(case, report)).map_err(|e| e.to_string())?;
    files::write(&dir.join("answer.json"), &json).map_err(text)?;
    let table = table(case, report);
    files::write(&dir.join("path.csv"), &table.to_csv()).map_err(text)?;
    let parquet = table.to_parquet().map_err(|e| e.to_string())?;
    files::write(&dir.join("path.parquet"), &parquet).map_err(text)?;
    for f in calotte_figures::poke_figures(report) {
        files::write(&dir.join(format!("{}.svg", f.name)), f.svg.as_bytes()).map_err(text)?;
        let png = calotte_figures::png(&f.svg, PNG_SCALE).map_err(|e| e.to_string())?;
        files::write(&dir.join(format!("{}.png", f.name)), &png).map_err(text)?;
    }
    Ok(())
}

/// The path as a table.
fn table(case: &Case, r: &PokeReport) -> Table {
    let column = |name: &str, unit: &str, about: &str, kind: Kind| Column {
        name: name.to_owned(),
        unit: unit.to_owned(),
        about: about.to_owned(),
        kind,
    };
    let columns = vec![
        column(
            "load",
            &r.load.load_unit,
            &format!("{}, positive along the push", r.load.load_name),
            Kind::Number,
        ),
        column("displacement", &r.load.displacement_unit, &r.load.displacement_name, Kind::Number),
        column("travel_m", "m", "travel of the inner end relative to the rim", Kind::Number),
        column("energy_J", "J", "elastic energy", Kind::Number),
        column("work_J", "J", "work of the load since the start", Kind::Number),
        column("unstable_load", "1", "unstable axisymmetric directions, load set", Kind::Count),
        column(
            "unstable_displacement",
            "1",
            "unstable axisymmetric directions, displacement set",
            Kind::Count,
        ),
        column("unstable_n", "", "wave numbers n >= 1 that are unstable", Kind::Text),
        column("contact_from_m", "m", "arclength where contact begins", Kind::Number),
        column("contact_to_m", "m", "arclength where contact ends", Kind::Number),
    ];
    let number = |v: Option<f64>| v.map_or(Value::Missing, Value::Number);
    let rows = r
        .path
        .iter()
        .map(|p| {
            let n: Vec<String> = p.unstable_n.iter().map(u32::to_string).collect();
            vec![
                Value::Number(p.load_SI),
                Value::Number(p.displacement_SI),
                Value::Number(p.travel_m),
                Value::Number(p.energy_J),
                Value::Number(p.work_J),
                Value::Count(p.unstable_load as i64),
                Value::Count(p.unstable_displacement as i64),
                Value::Text(n.join(" ")),
                number(p.contact_m.map(|c| c[0])),
                number(p.contact_m.map(|c| c[1])),
            ]
        })
        .collect();
    Table { columns, rows, provenance: facts(case) }
}

fn kind_words(e: &Event) -> String {
    let n = e.n.unwrap_or(0);
    match e.kind {
        EventKind::LoadPeak => "load has a peak".to_owned(),
        EventKind::LoadValley => "load has a valley".to_owned(),
        EventKind::DisplacementLimit => "displacement has a limit".to_owned(),
        EventKind::DisplacementReturn => "displacement turns again".to_owned(),
        EventKind::Sideways => format!("{n} wave{}: stability lost", if n == 1 { "" } else { "s" }),
        EventKind::SidewaysRegained => format!("{n} wave{}: regained", if n == 1 { "" } else { "s" }),
        EventKind::NoLoad => "no load".to_owned(),
        EventKind::RimLifts => "rim lifts off its support".to_owned(),
        EventKind::PoleLiftsOff => "pole lifts off the pusher".to_owned(),
        EventKind::Stop => "stop is met".to_owned(),
    }
}

/// The answer as text.
fn page(r: &PokeReport) -> String {
    let word = match r.outcome {
        Outcome::Trips => "TRIPS",
        Outcome::Follows => "FOLLOWS",
        Outcome::Undecided => "UNDECIDED",
    };
    let l = &r.load;
    let mut p = Page::new(&format!("{word}: {}", r.title));
    p.text(&format!(
        "{}; {}; from the {} state, {} set",
        paint::part_words(&r.part),
        l.words,
        l.from,
        l.control
    ));
    r.doubts.iter().for_each(|d| p.item(&format!("Doubt: {d}")));
    p.head("What happens");
    r.explanation.iter().for_each(|e| p.item(e));
    let load = |v: f64| quantity(v, &l.load_unit);
    let moved = |v: f64| quantity(v, &l.displacement_unit);
    p.head("Numbers");
    if !r.path.is_empty() {
        p.row(
            "initial stiffness",
            &format!("{} {}/{}", digits(r.initial_stiffness_SI, 4), l.load_unit, l.displacement_unit),
        );
    }
    for (name, trip) in [("trip, load set", &r.by_load), ("trip, displacement set", &r.by_displacement)] {
        let Some(t) = trip else { continue };
        let how = if t.n == 0 { "axisymmetric".to_owned() } else { format!("sideways, n = {}", t.n) };
        p.row(
            name,
            &format!(
                "{} at {} ({how}); work {}",
                load(t.load_SI),
                moved(t.displacement_SI),
                energy(t.work_J)
            ),
        );
    }
    if let Some(b) = &r.return_trip {
        p.row("return, load set", &format!("{} at {}", load(b.load_SI), moved(b.displacement_SI)));
    }
    if let Some(s) = &r.snap {
        let back = s.peak_to_return.map_or("no return".to_owned(), |v| format!("{} %", digits(100.0 * v, 3)));
        p.row(
            "snap ratio (F1−F2)/F1",
            &format!("{} % to contact or valley; {back} to return", digits(100.0 * s.peak_to_contact, 3)),
        );
    }
    if let Some(e) = r.hysteresis.by_load_J {
        p.row("lost in a full cycle", &energy(e));
    }
    for b in &r.barriers {
        let at = if b.load_SI == 0.0 { "without load".to_owned() } else { format!("at {}", load(b.load_SI)) };
        p.row(&format!("barrier from {}", b.from), &format!("{} {at}", energy(b.barrier_J)));
    }
    p.head("Events along the path");
    for e in &r.events {
        let mesh = e.mesh_difference.map_or(String::new(), |d| format!("; two meshes differ by {d:.0e}"));
        p.row(&kind_words(e), &format!("{} at {}{mesh}", load(e.load_SI), moved(e.displacement_SI)));
        if let Some(m) = &e.mode {
            let at = format!("largest {} from the pole along the arc", length(m.peak_at_m));
            let branch = m.branch.as_ref().map_or(String::new(), |b| {
                let to = if b.load_curvature_SI_per_m2 < 0.0 { "falling" } else { "rising" };
                format!("; the sideways branch starts with a {to} load")
            });
            p.row("", &format!("{at}{branch}"));
        }
    }
    let e = &r.evidence;
    p.head("Evidence");
    p.row("path", &format!("{} equilibria on {} elements; {}", r.path.len(), e.elements, e.ended));
    p.row("forces balance to", &format!("{:.0e} of the largest", e.residual));
    if e.energy_work_gap.is_finite() {
        p.row("energy against work", &format!("{:.0e} of the largest energy", e.energy_work_gap));
    }
    let compared = r.events.iter().any(|e| e.mesh_difference.is_some());
    let meshes = format!("({} and {} elements)", e.elements, e.elements_fine);
    p.row(
        "limits on two meshes",
        &if compared {
            format!("differ by at most {:.0e} {meshes}", e.mesh_difference)
        } else {
            format!("there was none to compare {meshes}")
        },
    );
    p.row("waves examined", &format!("n up to {} at every point", e.largest_n));
    if let Some(d) = e.penetration {
        p.row("deepest penetration", &format!("{d:.0e} of the thickness"));
    }
    if !r.beyond.is_empty() {
        p.head("Beyond this model");
        r.beyond.iter().for_each(|w| p.item(w));
    }
    if !r.warnings.is_empty() {
        p.head("Warnings");
        r.warnings.iter().for_each(|w| p.item(w));
    }
    p.finish()
}

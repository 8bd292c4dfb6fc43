//! `calotte poke`: follow the path of a load, print or write what trips the part.

use std::path::Path;

use calotte_answers::explain::{digits, energy, force, length};
use calotte_answers::poke::report::{Event, EventKind, Outcome, PokeReport};
use calotte_answers::poke::trade::{DiscAnswer, Trade};
use calotte_answers::poke::words::quantity;
use calotte_answers::trade::GRAM_FORCE;
use calotte_answers::trade::coned_disc::{DiscExtreme, DiscStresses};
use calotte_answers::{load_or_pole, poke as answer_poke};
use calotte_runs::{Column, Kind, Table, Value};
use calotte_specimen::Case;

use crate::answer::read_with_rim;
use crate::folder::{self, number};
use crate::paint::Page;
use crate::provenance::{Answer, facts};
use crate::{End, paint};

pub(crate) fn poke(path: &Path, json: bool, out: Option<&Path>) -> End {
    let Some(case) = read_with_rim(path) else { return End::BadInput };
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
    folder::answer(dir, &Answer::new(case, report))?;
    folder::table(dir, "path", &table(case, report))?;
    folder::figures(dir, calotte_figures::poke_figures(report))
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

/// The trade's figures, where the part has any.
fn trade(p: &mut Page, trade: &Trade) {
    let share = |v: f64| format!("{} %", digits(100.0 * v, 3));
    let both = |n: f64| format!("{} ({} gf)", force(n), digits(n / GRAM_FORCE, 3));
    if let Some(k) = &trade.key {
        let f = &k.forces;
        p.head("Key, as the trade states it");
        p.row(
            "actuation force F1",
            &format!("{} at {}", both(f.actuation_force_N), length(f.actuation_travel_m)),
        );
        if let (Some(n), Some(by), Some(s)) = (f.contact_force_N, &f.contact_by, f.stroke_m) {
            p.row("contact force F2", &format!("{} at the {by}; stroke {}", both(n), length(s)));
        }
        if let (Some(n), Some(s)) = (f.return_force_N, f.return_travel_m) {
            p.row("return force F3", &format!("{} at {}", both(n), length(s)));
        }
        if let Some(v) = f.snap_ratio {
            let back = f.return_ratio.map_or(String::new(), |v| format!("; {} to return", share(v)));
            p.row("snap ratio", &format!("{} to contact{back}", share(v)));
        }
        let of = k
            .peak_share
            .zip(k.strain_limit)
            .map_or(String::new(), |(s, limit)| format!("; {} of the limit of {}", share(s), share(limit)));
        p.row(
            "largest strain",
            &format!(
                "{} at {}, {} from the inner end along the arc{of}",
                share(k.peak_strain),
                length(k.peak_strain_travel_m),
                length(k.peak_strain_at_m)
            ),
        );
        if let Some(e) = k.contact_strain {
            p.row("strain at the contact", &share(e));
        }
        f.cautions.iter().for_each(|c| p.item(c));
    }
    if let Some(d) = &trade.coned_disc {
        coned_disc(p, d);
    }
}

/// A coned disc: formula and shell side by side.
fn coned_disc(p: &mut Page, d: &DiscAnswer) {
    let f = &d.formula;
    p.head("Coned disc, formula beside shell");
    p.row(
        "De, Di, t, h0",
        &format!(
            "{}, {}, {}, {}; h0/t = {}",
            length(f.outer_diameter_m),
            length(f.inner_diameter_m),
            length(f.thickness_m),
            length(f.height_m),
            digits(f.height_over_thickness, 4)
        ),
    );
    let stress = |v: f64| digits(v * 1e-6, 4);
    let last = f.rows.last().map_or(1.0, |r| r.share);
    for (row, shell) in f.rows.iter().zip(&d.shell) {
        let own = match (shell.load_N, shell.difference) {
            (Some(n), Some(x)) => format!("{} ({:+.1} %)", force(n), 100.0 * x),
            _ => "not followed so far".to_owned(),
        };
        p.row(
            &format!("{} h0 = {}", digits(row.share, 3), length(row.deflection_m)),
            &format!("formula {}, shell {own}", force(row.load_N)),
        );
        // The makers look at three quarters of the height; the last row is as far as it is driven.
        let looked_at = (row.share - 0.75).abs() < 1e-9 || (row.share - last).abs() < 1e-9;
        if !looked_at {
            continue;
        }
        let five = |s: &DiscStresses| [s.om_Pa, s.i_Pa, s.ii_Pa, s.iii_Pa, s.iv_Pa].map(stress).join(", ");
        p.row("OM, I, II, III, IV (MPa)", &five(&row.stresses));
        if let Some(s) = &shell.hoop {
            p.row("shell, hoop", &five(s));
        }
        if let Some(s) = &shell.meridional {
            p.row("shell, meridional", &five(s));
        }
    }
    let place = |at: Option<[f64; 2]>| {
        at.map_or("none".to_owned(), |[s, n]| format!("{} at {}", force(n), length(s)))
    };
    let formula = |e: Option<DiscExtreme>| place(e.map(|e| [e.deflection_m, e.load_N]));
    p.row("peak of the load", &format!("formula {}, shell {}", formula(f.peak), place(d.shell_peak)));
    p.row("valley", &format!("formula {}, shell {}", formula(f.valley), place(d.shell_valley)));
    let word = |s: Option<bool>| match s {
        Some(true) => "yes",
        Some(false) => "no",
        None => "not known",
    };
    p.row("stays turned over", &format!("formula {}, shell {}", word(Some(f.stays)), word(d.shell_stays)));
    f.cautions.iter().for_each(|c| p.item(c));
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
    if r.initial_stiffness_SI.is_finite() {
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
        let percent = |v: f64| format!("{} %", digits(100.0 * v, 3));
        let back = s.peak_to_return.map_or(String::new(), |v| format!("; {} to return", percent(v)));
        p.row("snap ratio (F1−F2)/F1", &format!("{} to contact or valley{back}", percent(s.peak_to_contact)));
    }
    if let Some(e) = r.hysteresis.by_load_J {
        p.row("lost in a full cycle", &energy(e));
    }
    for b in &r.barriers {
        let at = if b.load_SI == 0.0 { "without load".to_owned() } else { format!("at {}", load(b.load_SI)) };
        p.row(&format!("barrier from {}", b.from), &format!("{} {at}", energy(b.barrier_J)));
    }
    trade(&mut p, &r.trade);
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

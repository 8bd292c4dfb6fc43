//! `calotte verdict` on parts of lines and arcs: every stable state, printed or written.

use std::path::Path;

use calotte_answers::explain::{digits, energy, force, length};
use calotte_answers::states::report::{State, StatesReport};
use calotte_answers::states::states as answer_states;
use calotte_answers::trade::FoldReport;
use calotte_specimen::Case;

use crate::folder;
use crate::paint::Page;
use crate::provenance::Answer;
use crate::{End, paint};

pub(crate) fn states(case: &Case, json: bool, out: Option<&Path>) -> End {
    let report = answer_states(case, case.strain_limit());
    if let Some(dir) = out
        && let Err(e) = write_all(dir, case, &report)
    {
        paint::complain(&format!("cannot write to {}: {e}", dir.display()));
        return End::BadInput;
    }
    let printed =
        if json { paint::json(&Answer::new(case, &report)) } else { paint::line(&page(case, &report)) };
    if let Some(dir) = out.filter(|_| !json) {
        paint::line(&format!("Figures and answer.json are in {}", dir.display()));
    }
    match (printed, report.stable) {
        (End::Answered, None) => End::Undecided,
        (end, _) => end,
    }
}

fn write_all(dir: &Path, case: &Case, report: &StatesReport) -> Result<(), String> {
    folder::answer(dir, &Answer::new(case, report))?;
    folder::figures(dir, calotte_figures::states_figures(report))
}

/// "5 STABLE STATES".
fn headline(stable: Option<usize>) -> String {
    match stable {
        None => "UNDECIDED".to_owned(),
        Some(1) => "1 STABLE STATE".to_owned(),
        Some(n) => format!("{n} STABLE STATES"),
    }
}

/// The answer as text.
fn page(case: &Case, r: &StatesReport) -> String {
    let mut p = Page::new(&format!("{}: {}", headline(r.stable), r.title));
    p.text(&paint::part_words(&r.part));
    r.doubts.iter().for_each(|d| p.item(&format!("Doubt: {d}")));
    p.head("What was found");
    r.explanation.iter().for_each(|e| p.item(e));
    if !r.states.is_empty() {
        p.head("States, by energy");
        table(&mut p, &state_rows(&r.states));
    }
    if !r.ways.is_empty() {
        p.head("Ways between them (numbers of the states)");
        table(&mut p, &way_rows(r));
    }
    if let (Some(f), Some(to)) = (&r.fold, r.folded) {
        fold(&mut p, f, &r.states[to].name);
    }
    p.head("Pieces, from the inner end");
    table(&mut p, &piece_rows(r));
    evidence(&mut p, case, r);
    if !case.notes().is_empty() {
        p.head("Notes on the case");
        case.notes().iter().for_each(|n| p.item(n));
    }
    p.head("Warnings");
    r.warnings.iter().for_each(|w| p.item(w));
    p.finish()
}

/// Rows of cells, the first the heads; columns as wide as their longest cell.
fn table(p: &mut Page, rows: &[Vec<String>]) {
    let count = rows.iter().map(Vec::len).max().unwrap_or(0);
    let wide = |i: usize| rows.iter().filter_map(|r| r.get(i)).map(|c| c.chars().count()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..count).map(wide).collect();
    for row in rows {
        let cells: Vec<String> = row
            .iter()
            .zip(&widths)
            .map(|(c, w)| format!("{c}{}", " ".repeat(w - c.chars().count())))
            .collect();
        p.columns(&cells.join("  "), &[]);
    }
}

fn heads(names: &[&str]) -> Vec<String> {
    names.iter().map(|n| (*n).to_owned()).collect()
}

fn percent(x: f64) -> String {
    format!("{} %", digits(100.0 * x, 3))
}

/// A strain; what is left of rounding in a wall at rest is none.
fn strain(x: f64) -> String {
    if x.abs() < 1e-6 { "< 0.0001 %".to_owned() } else { percent(x) }
}

fn state_rows(states: &[State]) -> Vec<Vec<String>> {
    let mut rows = vec![heads(&["", "state", "inner end", "energy", "lowest pass", "strain", "stable"])];
    for (i, s) in states.iter().enumerate() {
        let pass = match (s.barrier_J, s.beyond) {
            (Some(b), Some(to)) => format!("{} to {}", energy(b), to + 1),
            _ => "none found".to_owned(),
        };
        let shown = s.strain_share.filter(|_| s.largest_strain > 1e-6);
        let share = shown.map_or(String::new(), |x| format!(" ({} of limit)", percent(x)));
        let waves: Vec<String> = s.unstable_n.iter().map(ToString::to_string).collect();
        rows.push(vec![
            (i + 1).to_string(),
            s.name.clone(),
            length(s.height_m),
            energy(s.energy_J),
            pass,
            strain(s.largest_strain) + &share,
            if s.stable { "yes".to_owned() } else { format!("lost, n = {}", waves.join(", ")) },
        ]);
    }
    rows
}

fn way_rows(r: &StatesReport) -> Vec<Vec<String>> {
    let mut rows =
        vec![heads(&["from → to", "pushed at", "force", "travel", "barrier", "strain on the way"])];
    for w in &r.ways {
        let at = if w.pushed_at_m == 0.0 {
            "inner end".to_owned()
        } else {
            format!("arc {}", length(w.pushed_at_m))
        };
        let lower = if w.unstable > 1 { ", a lower one lies beside it" } else { "" };
        rows.push(vec![
            format!("{} → {}", w.from + 1, w.to + 1),
            at,
            force(w.trip_force_N),
            length(w.trip_travel_m),
            format!("{}{lower}", energy(w.barrier_J)),
            percent(w.peak_strain),
        ]);
    }
    rows
}

fn piece_rows(r: &StatesReport) -> Vec<Vec<String>> {
    let mut rows = vec![heads(&["", "along the arc", "rise", "turns over"])];
    for q in &r.pieces {
        rows.push(vec![
            q.number.to_string(),
            format!("{} to {}", length(q.span_m[0]), length(q.span_m[1])),
            length(q.rise_m),
            if q.turns { "yes" } else { "no" }.to_owned(),
        ]);
    }
    rows
}

fn fold(p: &mut Page, f: &FoldReport, to: &str) {
    let share = |s: Option<f64>| s.map_or(String::new(), |s| format!("; {} of the limit", percent(s)));
    p.head("Folding, pushed at the inner end");
    p.row("as far as followed", to);
    p.row("force that folds", &format!("{} at {}", force(f.fold_force_N), length(f.fold_travel_m)));
    p.row("force that keeps it folded", &force(f.hold_force_N));
    p.row("force that opens it", &force(f.unfold_force_N));
    p.row("largest strain on the way", &format!("{}{}", percent(f.peak_strain), share(f.peak_share)));
    p.row("strain that remains", &format!("{}{}", percent(f.remaining_strain), share(f.remaining_share)));
    f.cautions.iter().for_each(|c| p.item(c));
}

fn evidence(p: &mut Page, case: &Case, r: &StatesReport) {
    let e = &r.evidence;
    p.head("Evidence");
    let starts = format!(
        "{} shapes; {} led to no equilibrium, or to one whose wall crosses itself",
        e.starts, e.failed
    );
    p.row("starts minimised", &starts);
    p.row("pushes followed", &format!("{} paths, {} points; {} ended early", e.paths, e.points, e.cut_short));
    let differ = r.states.iter().filter_map(|s| s.mesh_difference).fold(0.0, f64::max);
    p.row(
        "two meshes",
        &format!("{} and {} elements; energies differ by at most {differ:.0e}", e.elements[0], e.elements[1]),
    );
    for l in &e.limits {
        let sign = if l.met { "within" } else { "BEYOND" };
        p.row(&l.name, &format!("{}, {sign} {}", digits(l.value, 3), l.limit));
    }
    p.row("work", &format!("{} assemblies, {} factorisations", e.work.assemblies, e.work.factorisations));
    p.row("case digest", &case.digest());
}

//! `states`: every stable state of a part of lines and arcs, and the ways between them.

use calotte_answers::explain::{digits, energy, force, length};
use calotte_answers::refuse;
use calotte_answers::states::report::{State, StatesReport};
use calotte_answers::states::{lists_states, states_with_film as answer};
use calotte_answers::trade::FoldReport;
use calotte_specimen::Case;
use serde_json::Value;

use crate::options::Given;
use crate::provenance::with_provenance;
use crate::reply::{Refusal, Reply, Want};
use crate::sheet::Sheet;
use crate::words::part_words;

/// Name of the question.
pub const NAME: &str = "states";

/// Reads the options of the page: there are none.
pub(crate) fn options(value: &Value) -> Result<(), Refusal> {
    Given::new(NAME, value, &[]).map(|_| ())
}

/// Why the question makes no sense for the case.
///
/// # Errors
/// A [`Refusal`] that says so.
pub fn refuse(case: &Case) -> Result<(), Refusal> {
    if let Some(why) = refuse::no_rim(case.part()) {
        return Err(Refusal::question(why));
    }
    if !lists_states(case.part()) {
        return Err(Refusal::with_help(
            "stable states are listed for parts of lines and arcs alone; this part is turned inside out as a whole",
            "ask `verdict`",
        ));
    }
    Ok(())
}

/// Answers.
///
/// # Errors
/// A [`Refusal`] where the question makes no sense.
pub fn ask(case: &Case, want: Want) -> Result<Reply, Refusal> {
    refuse(case)?;
    let (report, film) = answer(case, case.strain_limit());
    Ok(Reply {
        question: NAME,
        sheet: sheet(case, &report),
        report: with_provenance(case, &report)?,
        doubtful: report.stable.is_none(),
        film: want.film.then_some(film),
        figures: if want.figures {
            calotte_figures::laid_out(&want.style, || calotte_figures::states_figures(&report))
        } else {
            Vec::new()
        },
        tables: Vec::new(),
    })
}

/// "5 STABLE STATES".
fn headline(stable: Option<usize>) -> String {
    match stable {
        None => "UNDECIDED".to_owned(),
        Some(1) => "1 STABLE STATE".to_owned(),
        Some(n) => format!("{n} STABLE STATES"),
    }
}

/// The answer in words.
fn sheet(case: &Case, r: &StatesReport) -> Sheet {
    let mut p = Sheet::new(&format!("{}: {}", headline(r.stable), r.title));
    p.text_block(&part_words(&r.part));
    p.doubts(&r.doubts);
    p.head("What was found");
    p.items(&r.explanation);
    if !r.states.is_empty() {
        p.head("States, by energy");
        p.table(state_rows(&r.states));
    }
    if !r.ways.is_empty() {
        p.head("Ways between them (numbers of the states)");
        p.table(way_rows(r));
    }
    if let (Some(f), Some(to)) = (&r.fold, r.folded) {
        fold(&mut p, f, &r.states[to].name);
    }
    p.head("Pieces, from the inner end");
    p.table(piece_rows(r));
    evidence(&mut p, case, r);
    p.list("Notes on the case", case.notes());
    p.head("Warnings");
    p.items(&r.warnings);
    p
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

fn fold(p: &mut Sheet, f: &FoldReport, to: &str) {
    let share = |s: Option<f64>| s.map_or(String::new(), |s| format!("; {} of the limit", percent(s)));
    p.head("Folding, pushed at the inner end");
    p.row("as far as followed", to);
    p.row("force that folds", &format!("{} at {}", force(f.fold_force_N), length(f.fold_travel_m)));
    p.row("force that keeps it folded", &force(f.hold_force_N));
    p.row("force that opens it", &force(f.unfold_force_N));
    p.row("largest strain on the way", &format!("{}{}", percent(f.peak_strain), share(f.peak_share)));
    p.row("strain that remains", &format!("{}{}", percent(f.remaining_strain), share(f.remaining_share)));
    p.items(&f.cautions);
}

fn evidence(p: &mut Sheet, case: &Case, r: &StatesReport) {
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

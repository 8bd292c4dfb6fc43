//! Which stable states does a part of several pieces have, and what lies between them?

mod fold;
pub mod report;
mod search;

use calotte_shell::{Grading, Mesh, Model};
use calotte_solve::Work;
use calotte_solve::follow;
use calotte_specimen::{Meridian, Part, Rim};

use self::report::{Piece, State, StatesEvidence, StatesReport, Way};
use self::search::{Search, face_strain, pieces};
use crate::explain::{energy, force, limits_passed};
use crate::film::{Camera, Film, Frame, MOST};
use crate::report::SCHEMA_VERSION;
use crate::ripples;
use crate::scene::length_unit;
use crate::state::columns;
use crate::subject::Subject;
use crate::verdict::{STRAIN_WARNING, limits_of, summarise};

/// Relative difference of energies between two meshes beyond which a state is doubted.
const MESH_LIMIT: f64 = 1e-2;

/// Rim radius below which a part is called small, m: generous, and no standard's number.
const SMALL: f64 = 0.025;

/// Whether the verdict on a part is a list of its states: it is made of lines and arcs.
pub fn lists_states(part: &Part) -> bool {
    matches!(part.meridian, Meridian::Corners(_))
}

/// How many pieces of a part of lines and arcs can be turned over one by one; 0 for other parts.
pub fn turning_pieces(part: &Part) -> usize {
    if !lists_states(part) {
        return 0;
    }
    pieces(part, 1.0).iter().filter(|p| p.turns).count()
}

/// All stable states found, and the ways between them. `strain_limit`: what the material bears.
pub fn states(subject: &dyn Subject, strain_limit: Option<f64>) -> StatesReport {
    answer(subject, strain_limit, None)
}

/// The same with the shape of every state, in the order of the report.
pub fn states_with_film(subject: &dyn Subject, strain_limit: Option<f64>) -> (StatesReport, Film) {
    let camera = Camera::new(subject.part());
    let mut frames = Vec::new();
    let report = answer(subject, strain_limit, Some((&camera, &mut frames)));
    // Names are told apart at the end; pictures stop at the most that a film holds.
    for (i, (frame, state)) in frames.iter_mut().zip(&report.states).enumerate() {
        (frame.name, frame.at, frame.row) = (state.name.clone(), i as f64, Some(i));
    }
    frames.truncate(MOST);
    (report, camera.film("shapes", frames))
}

fn answer(
    subject: &dyn Subject,
    strain_limit: Option<f64>,
    mut film: Option<(&Camera<'_>, &mut Vec<Frame>)>,
) -> StatesReport {
    let mut work = Work::default();
    let rim = if subject.part().rim == Rim::Table { Rim::Free } else { subject.part().rim };
    let part = Part { rim, ..subject.part().clone() };
    let radius = length_unit(&part);
    let mesh = Mesh::graded(&part, radius, &Grading::default());
    let model = Model::new(&part, radius, &mesh);
    let fine = Model::new(&part, radius, &mesh.bisected());
    let list = pieces(&part, radius);
    let mut search = Search::new(&model, &list);
    search.fold_all(&mut work);
    search.push_all(&mut work);
    let unit = part.material.youngs * radius.powi(3);
    // Nothing is nothing beside the highest state, or beside a wall bent by a millionth of its thickness.
    let highest = search.states.iter().map(|s| s.energy).fold(search.nothing, f64::max);
    let mut order: Vec<usize> = (0..search.states.len()).collect();
    order.sort_by(|a, b| search.states[*a].energy.total_cmp(&search.states[*b].energy));
    let place = |i: usize| order.iter().position(|o| *o == i).unwrap_or(i);
    let mut ways: Vec<Way> = search
        .ways
        .iter()
        .map(|w| Way {
            from: place(w.from),
            to: place(w.to),
            pushed_at_m: model.nodes()[w.node] * radius,
            trip_force_N: w.force * part.material.youngs * radius * radius,
            trip_travel_m: w.travel * radius,
            barrier_J: w.pass * unit,
            unstable: w.unstable,
            peak_strain: w.peak_strain,
        })
        .collect();
    ways.sort_by(|a, b| (a.from, a.to).cmp(&(b.from, b.to)).then(a.barrier_J.total_cmp(&b.barrier_J)));
    let z = -Setup0::natural_height(&part, radius);
    let mut doubts = Vec::new();
    let mut states: Vec<State> = Vec::new();
    for (at, &i) in order.iter().enumerate() {
        let x = &search.states[i].x;
        let finer = finer(&model, &fine, x, &mut work);
        let (own, shown, shown_x): (f64, &Model, &[f64]) = match &finer {
            Some((x, e)) => (*e, &fine, x),
            None => (search.states[i].energy, &model, x),
        };
        let mesh_difference = finer.as_ref().map(|(_, e)| {
            (e - search.states[i].energy).abs() / e.abs().max(1e-3 * highest).max(search.nothing)
        });
        if let Some((camera, frames)) = &mut film {
            frames.push(camera.frame(shown, shown_x, 1.0));
        }
        let (lost, open) = lost_waves(shown, shown_x, &mut work);
        let turned = turned(&list, shown, shown_x);
        let (strain, strain_at) = face_strain(shown, shown_x);
        let out = ways.iter().filter(|w| w.from == at).min_by(|a, b| a.barrier_J.total_cmp(&b.barrier_J));
        let name = name(&turned, search.states[i].energy < 1e-9 * highest || at == 0 && turned.is_empty());
        if let Some(why) = open {
            doubts.push(format!("Whether \"{name}\" is stable is open: {why}."));
        }
        match mesh_difference {
            None => doubts.push(format!("The state \"{name}\" was not found again on a finer mesh.")),
            Some(d) if d > MESH_LIMIT => {
                doubts.push(format!("Two meshes differ by {:.1} % on the energy of \"{name}\".", 100.0 * d));
            }
            Some(_) => {}
        }
        states.push(State {
            name,
            turned,
            stable: lost.is_empty(),
            unstable_n: lost,
            height_m: shown_x[shown.inner_height()] * radius,
            energy_J: if own.abs() < (1e-12 * highest).max(1e-3 * search.nothing) { 0.0 } else { own * unit },
            barrier_J: out.map(|w| w.barrier_J),
            beyond: out.map(|w| w.to),
            largest_strain: strain,
            largest_strain_at_m: strain_at * radius,
            strain_share: strain_limit.map(|l| strain / l),
            mesh_difference,
            meridian: columns(&shown.profile(shown_x, 4), radius, 1.0, z),
        });
    }
    distinguish(&mut states);
    let summary = summarise(subject);
    let worst = states.iter().map(|s| s.largest_strain).fold(0.0, f64::max);
    let limits = limits_of(&summary, Some(worst), None);
    let t = search.tally;
    if t.full {
        doubts.push("There are more states than are kept: the list is not whole.".to_owned());
    }
    let mut report = StatesReport {
        schema_version: SCHEMA_VERSION,
        title: subject.title().to_owned(),
        stable: Some(states.iter().filter(|s| s.stable).count()),
        explanation: Vec::new(),
        doubts,
        warnings: limits_passed(&limits).collect(),
        part: summary,
        pieces: list
            .iter()
            .enumerate()
            .map(|(i, p)| Piece {
                number: i + 1,
                span_m: p.span.map(|s| s * radius),
                rise_m: p.rise * radius,
                turns: p.turns,
            })
            .collect(),
        states,
        ways,
        fold: None,
        folded: None,
        fold_note: None,
        strain_limit,
        evidence: StatesEvidence {
            elements: [model.elements(), fine.elements()],
            starts: t.starts,
            failed: t.failed,
            paths: t.paths,
            points: t.points,
            cut_short: t.cut_short,
            limits,
            work: work.into(),
        },
    };
    if 2 * t.failed > t.starts {
        report.warnings.push(format!(
            "{} of {} folded starts led to no equilibrium, or to one whose wall crosses itself: a state may be missing.",
            t.failed, t.starts
        ));
    }
    if report.states.is_empty() {
        report.doubts.push("No equilibrium was found, not even near the natural shape.".to_owned());
    }
    if !report.doubts.is_empty() {
        report.stable = None;
    }
    let folded = fold::read(&report);
    (report.fold, report.folded, report.fold_note) = (folded.report, folded.to, folded.note);
    report.warnings.extend(cautions(&report));
    report.explanation = explain(&report);
    report
}

/// What to keep in mind with a part that stores energy.
fn cautions(r: &StatesReport) -> Vec<String> {
    let mut out = Vec::new();
    if r.part.rim == "frictionless table" {
        out.push("Nothing presses the rim on its table: it is free, and so it was computed.".to_owned());
    }
    let stored = r.states.iter().filter(|s| s.stable).map(|s| s.energy_J).fold(0.0, f64::max);
    if r.states.iter().filter(|s| s.stable).count() > 1 {
        out.push(format!(
            "Turned over, the part stores up to {}. When it snaps it gives this back within milliseconds and may jump: keep \
             eyes and faces clear.",
            energy(stored)
        ));
        if r.pieces.iter().filter(|p| p.turns).count() > 1 {
            out.push(
                "A vessel that folds may fold with something in it: with hot contents take barriers and forces as a design \
                 aid, never as a proof that it stays open."
                    .to_owned(),
            );
        }
        if r.part.rim_radius_m < SMALL {
            out.push(
                "Small parts that snap belong out of reach of small children; the maker checks the safety standard in force."
                    .to_owned(),
            );
        }
    }
    out.push(
        "Elastic prediction at rest, without gravity: a material with memory may hold a shape a while that is no state here, \
         and handling may tip one that is."
            .to_owned(),
    );
    out
}

/// Natural height of the inner end, as the heat answer counts it.
use crate::heat::setup::Setup as Setup0;

fn finer(model: &Model, fine: &Model, x: &[f64], work: &mut Work) -> Option<(Vec<f64>, f64)> {
    let y = model.transfer(x, fine);
    let (x, energy, negative) = follow::shift_to(fine, &y, 1.0, 1.0, 15, work)?;
    (negative == 0).then_some((x, energy))
}

/// Waves examined at most.
const LARGEST_N: u32 = 400;

/// Waves that a state loses, and why the list may not be whole.
fn lost_waves(model: &Model, x: &[f64], work: &mut Work) -> (Vec<u32>, Option<String>) {
    let (last, _) = ripples::wave_bound(model, x, 1.0);
    let harmonics = calotte_shell::Harmonics::new(model, x, 1.0);
    let (mut lost, mut failed) = (Vec::new(), 0);
    for n in 1..=last.min(LARGEST_N) {
        match harmonics.negative(n, work) {
            Some(0) => {}
            Some(_) => lost.push(n),
            None => failed += 1,
        }
    }
    let why = if failed > 0 {
        Some(format!("{failed} counts of sideways waves failed"))
    } else {
        (last > LARGEST_N)
            .then(|| format!("sideways waves were counted up to {LARGEST_N}, and {last} are asked for"))
    };
    (lost, why)
}

/// Pieces whose rise has changed sign.
fn turned(list: &[search::Part1], model: &Model, x: &[f64]) -> Vec<usize> {
    let profile = model.profile(x, 6);
    let height = |s: f64| {
        let p = &profile.samples;
        let near = p.iter().min_by(|a, b| (a.s - s).abs().total_cmp(&(b.s - s).abs()));
        near.map_or(0.0, |q| q.z)
    };
    let over = |p: &search::Part1| (height(p.span[1]) - height(p.span[0])) * p.rise < 0.0;
    list.iter().enumerate().filter(|(_, p)| p.turns && over(p)).map(|(i, _)| i + 1).collect()
}

fn name(turned: &[usize], natural: bool) -> String {
    match turned {
        [] if natural => "as made".to_owned(),
        [] => "bent, nothing turned over".to_owned(),
        [one] => format!("piece {one} turned over"),
        many => {
            let all: Vec<String> = many.iter().map(ToString::to_string).collect();
            format!("pieces {} turned over", all.join(", "))
        }
    }
}

/// States of one name get a letter.
fn distinguish(states: &mut [State]) {
    let names: Vec<String> = states.iter().map(|s| s.name.clone()).collect();
    for (i, s) in states.iter_mut().enumerate() {
        let before = names[..i].iter().filter(|n| **n == names[i]).count();
        if names.iter().filter(|n| **n == names[i]).count() > 1 {
            s.name = format!("{} ({})", names[i], char::from(b'a' + before.min(25) as u8));
        }
    }
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

fn explain(r: &StatesReport) -> Vec<String> {
    let mut out = Vec::new();
    let stable: Vec<&State> = r.states.iter().filter(|s| s.stable).collect();
    let word = match stable.len() {
        1 => "one stable state".to_owned(),
        n => format!("{n} stable states"),
    };
    out.push(format!("The search found {word} of this part."));
    for s in &stable {
        let mut line = format!("{}: {}", capital(&s.name), energy(s.energy_J));
        match (s.barrier_J, s.beyond) {
            (Some(b), Some(to)) => {
                line += &format!(
                    "; the lowest pass found out of it costs {} and leads to \"{}\"",
                    energy(b),
                    r.states[to].name
                );
            }
            _ => line += "; no way out of it was found among the pushes tried",
        }
        out.push(line + ".");
    }
    for s in r.states.iter().filter(|s| !s.stable) {
        let waves: Vec<String> = s.unstable_n.iter().map(ToString::to_string).collect();
        out.push(format!(
            "With {} it rests as a round shape only: it gives way sideways (n = {}), to a shape that is not computed.",
            s.name,
            waves.join(", ")
        ));
    }
    if let (Some(f), Some(to)) = (&r.fold, r.folded) {
        out.push(format!(
            "Pushed at its inner end as made, it folds at {} and stays folded by itself, with {}; {} open it again.",
            force(f.fold_force_N),
            r.states[to].name,
            force(f.unfold_force_N)
        ));
    }
    out.extend(r.fold_note.clone());
    if let Some(limit) = r.strain_limit {
        let over: Vec<&str> =
            stable.iter().filter(|s| s.largest_strain > limit).map(|s| s.name.as_str()).collect();
        if !over.is_empty() {
            out.push(format!("Strained beyond its limit: {}.", over.join("; ")));
        }
    } else if r.states.iter().any(|s| s.largest_strain > STRAIN_WARNING) {
        out.push("Strains are large: give `strain_limit` in `[material]` to see how near they are to what the material bears.".to_owned());
    }
    out
}

//! `poke`: what trips the part, and by which route?

use calotte_answers::explain::{digits, energy, length};
use calotte_answers::poke::report::{Event, EventKind, Outcome, PokeReport};
use calotte_answers::poke::words::quantity;
use calotte_answers::{load_or_pole, poke_with_film as answer, refuse};
use calotte_runs::{Kind, Table, Value as Cell};
use calotte_specimen::{Case, Control, Load, Start};
use serde_json::Value;

use crate::options::Given;
use crate::provenance::{facts, with_provenance};
use crate::reply::{Refusal, Reply, Want};
use crate::sheet::Sheet;
use crate::tables::{column, number};
use crate::trade::trade;
use crate::words::part_words;

/// Name of the question.
pub const NAME: &str = "poke";

/// What pushes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Options {
    /// A finger on the pole (or the edge of the hole) that sets the travel, starting from this state, instead of the load of the
    /// case.
    pub hand: Option<Start>,
}

impl Options {
    /// The load asked about.
    fn load(self, case: &Case) -> Load {
        match self.hand {
            None => load_or_pole(case.load()),
            Some(from) => Load { from, control: Control::Displacement, ..Load::default() },
        }
    }
}

/// Reads the options of the page.
pub(crate) fn options(value: &Value) -> Result<Options, Refusal> {
    let given = Given::new(NAME, value, &["hand", "from"])?;
    let hand = given.flag("hand", false)?;
    let from = given.choice("from", &[("natural", Start::Natural), ("inverted", Start::Inverted)])?;
    if from.is_some() && !hand {
        return Err(Refusal::with_help(
            "option `from` of `poke`: only a push by hand takes it; the load of the case has its own",
            "give `hand` too, or leave `from` out",
        ));
    }
    Ok(Options { hand: hand.then(|| from.unwrap_or(Start::Natural)) })
}

/// Why the question makes no sense for the case.
///
/// # Errors
/// A [`Refusal`] that says so.
pub fn refuse(case: &Case) -> Result<(), Refusal> {
    refuse::no_rim(case.part()).map_or(Ok(()), |why| Err(Refusal::question(why)))
}

/// Answers.
///
/// # Errors
/// A [`Refusal`] where the question makes no sense.
pub fn ask(case: &Case, options: Options, want: Want) -> Result<Reply, Refusal> {
    refuse(case)?;
    let (mut report, film) = answer(case, &options.load(case));
    if case.load().is_none() && options.hand.is_none() {
        report.warnings.insert(0, "The case has no [load] table: a force on the pole is taken.".to_owned());
    }
    Ok(Reply {
        question: NAME,
        sheet: sheet(&report),
        report: with_provenance(case, &report)?,
        doubtful: report.outcome == Outcome::Undecided,
        film: want.film.then_some(film),
        figures: if want.figures {
            calotte_figures::laid_out(&want.style, || calotte_figures::poke_figures(&report))
        } else {
            Vec::new()
        },
        tables: if want.tables { vec![("path".to_owned(), table(case, &report))] } else { Vec::new() },
    })
}

/// The path as a table.
fn table(case: &Case, r: &PokeReport) -> Table {
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
                Cell::Number(p.load_SI),
                Cell::Number(p.displacement_SI),
                Cell::Number(p.travel_m),
                Cell::Number(p.energy_J),
                Cell::Number(p.work_J),
                Cell::Count(p.unstable_load as i64),
                Cell::Count(p.unstable_displacement as i64),
                Cell::Text(n.join(" ")),
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

/// The answer in words.
fn sheet(r: &PokeReport) -> Sheet {
    let word = match r.outcome {
        Outcome::Trips => "TRIPS",
        Outcome::Follows => "FOLLOWS",
        Outcome::Undecided => "UNDECIDED",
    };
    let l = &r.load;
    let mut p = Sheet::new(&format!("{word}: {}", r.title));
    p.text_block(&format!(
        "{}; {}; from the {} state, {} set",
        part_words(&r.part),
        l.words,
        l.from,
        l.control
    ));
    p.doubts(&r.doubts);
    p.head("What happens");
    p.items(&r.explanation);
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
    p.list("Beyond this model", &r.beyond);
    p.list("Warnings", &r.warnings);
    p
}

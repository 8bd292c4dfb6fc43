//! `modes`: frequencies of every wave number, pressures of buckling.

use std::ops::RangeInclusive;

use calotte_answers::explain::{digits, length};
use calotte_answers::modes::report::{Mode, ModesReport, Outcome, Pressure};
use calotte_answers::modes::words::{pattern, pitch};
use calotte_answers::modes::{Face, Settings, State, modes_with_film as answer};
use calotte_answers::poke::words::quantity;
use calotte_runs::{Kind, Table, Value as Cell};
use calotte_specimen::Case;
use serde_json::Value;

use crate::options::Given;
use crate::provenance::{facts, with_provenance};
use crate::reply::{Refusal, Reply, Want};
use crate::sheet::Sheet;
use crate::tables::{column, number};
use crate::words::part_words;

/// Name of the question.
pub const NAME: &str = "modes";
/// How many of the lowest frequencies may be asked for.
pub const LOWEST: RangeInclusive<i64> = 1..=200;
/// How many are found where nothing is said.
pub const USUAL_LOWEST: u16 = 10;
/// How many frequencies of every wave number may be asked for.
pub const EACH: RangeInclusive<i64> = 1..=60;
/// How many are found where nothing is said.
pub const USUAL_EACH: u16 = 4;
/// The highest wave number that may be asked for.
pub const WAVES: RangeInclusive<i64> = 0..=400;

/// What is to be found.
pub type Options = Settings;

/// Reads the options of the page.
pub(crate) fn options(value: &Value) -> Result<Options, Refusal> {
    let given = Given::new(NAME, value, &["inverted", "lowest", "each", "waves", "pressure"])?;
    let inverted = given.flag("inverted", false)?;
    let count = |name, range, usual: u16| {
        given.count(name, range).map(|n| n.map_or(usize::from(usual), |n| n as usize))
    };
    Ok(Settings {
        state: if inverted { State::Inverted } else { State::Natural },
        count: count("each", EACH, USUAL_EACH)?,
        lowest: count("lowest", LOWEST, USUAL_LOWEST)?,
        most: given.count("waves", WAVES)?.map(|n| n as u32),
        pressure: given.choice("pressure", &[("outside", Face::Outside), ("inside", Face::Inside)])?,
    })
}

/// Answers.
///
/// # Errors
/// [`Refusal::Failed`] when the report cannot be told as JSON, which none does.
pub fn ask(case: &Case, options: &Options, want: Want) -> Result<Reply, Refusal> {
    let (report, film) = answer(case, options);
    Ok(Reply {
        question: NAME,
        sheet: sheet(&report),
        report: with_provenance(case, &report)?,
        doubtful: report.outcome == Outcome::Undecided,
        film: want.film.then_some(film),
        figures: if want.figures {
            calotte_figures::laid_out(&want.style, || calotte_figures::modes_figures(&report))
        } else {
            Vec::new()
        },
        tables: if want.tables { tables(case, &report) } else { Vec::new() },
    })
}

fn tables(case: &Case, report: &ModesReport) -> Vec<(String, Table)> {
    let mut all = vec![("frequencies".to_owned(), frequencies(case, report))];
    all.extend(report.pressure.as_ref().map(|p| ("pressures".to_owned(), pressures(case, p))));
    all
}

fn frequencies(case: &Case, r: &ModesReport) -> Table {
    let columns = vec![
        column("n", "1", "waves around the axis", Kind::Count),
        column("order", "1", "place among the modes of this n, from 1", Kind::Count),
        column(
            "nodal_circles",
            "1",
            "circles inside the wall where the largest field changes sign",
            Kind::Count,
        ),
        column("kind", "", "bending, stretching or torsion", Kind::Text),
        column("frequency_Hz", "Hz", "frequency", Kind::Number),
        column("omega_squared", "1", "square of the angular frequency over E/(rho R^2)", Kind::Number),
        column("plate_parameter", "1", "omega a^2 sqrt(rho h/D), a the largest radius", Kind::Number),
        column("bending_share", "1", "share of bending in the elastic energy", Kind::Number),
        column("normal_share", "1", "share of the kinetic energy across the wall", Kind::Number),
        column("around_share", "1", "share of the kinetic energy around the axis", Kind::Number),
        column("mesh_difference", "1", "relative, of omega_squared between two meshes", Kind::Number),
    ];
    let row = |m: &Mode| {
        vec![
            Cell::Count(i64::from(m.n)),
            Cell::Count(m.order as i64),
            Cell::Count(m.nodal_circles as i64),
            Cell::Text(m.kind.word().to_owned()),
            number(m.frequency_Hz),
            Cell::Number(m.omega_squared),
            number(m.plate_parameter),
            Cell::Number(m.bending_share),
            Cell::Number(m.normal_share),
            Cell::Number(m.around_share),
            number(m.mesh_difference),
        ]
    };
    Table { columns, rows: r.modes.iter().map(row).collect(), provenance: facts(case) }
}

fn pressures(case: &Case, p: &Pressure) -> Table {
    let columns = vec![
        column("n", "1", "waves around the axis", Kind::Count),
        column("pressure_Pa", "Pa", "pressure at which the form of n waves is lost", Kind::Number),
        column("ratio", "1", "over the classical pressure of a complete sphere", Kind::Number),
        column("bracket", "1", "relative width between counts that differ", Kind::Number),
        column("mesh_difference", "1", "relative, between two meshes", Kind::Number),
    ];
    let rows = p
        .losses
        .iter()
        .map(|l| {
            vec![
                Cell::Count(i64::from(l.n)),
                Cell::Number(l.pressure_Pa),
                Cell::Number(l.ratio),
                Cell::Number(l.bracket),
                number(l.mesh_difference),
            ]
        })
        .collect();
    Table { columns, rows, provenance: facts(case) }
}

/// The answer in words.
fn sheet(r: &ModesReport) -> Sheet {
    let head = match (r.outcome, r.lowest.first().map(|i| &r.modes[*i])) {
        (Outcome::Undecided, _) => "UNDECIDED".to_owned(),
        (Outcome::Answered, Some(m)) => format!("LOWEST {}", pitch(m)),
        (Outcome::Answered, None) => "ANSWERED".to_owned(),
    };
    let mut p = Sheet::new(&format!("{head}: {}", r.title));
    p.text_block(&format!("{}; about the {} shape", part_words(&r.part), r.state));
    p.doubts(&r.doubts);
    p.list("What was found", &r.explanation);
    if !r.lowest.is_empty() {
        p.head("Lowest frequencies");
        for m in r.lowest.iter().map(|i| &r.modes[*i]) {
            p.row(&pitch(m), &line(m));
        }
        p.head("Lowest of each number of waves");
        for m in r.modes.iter().filter(|m| m.order == 1) {
            p.row(&format!("n = {}", m.n), &format!("{}; {}", pitch(m), line(m)));
        }
    }
    if let Some(q) = &r.pressure {
        pressure(&mut p, q);
    }
    if !r.modes.is_empty() {
        evidence(&mut p, r);
    }
    p.head("Beyond this model");
    p.items(&r.beyond);
    p.list("Warnings", &r.warnings);
    p
}

fn line(m: &Mode) -> String {
    let plate = m.plate_parameter.map_or(String::new(), |o| format!("; Ω = {}", digits(o, 6)));
    format!("{}; {}{plate}", pattern(m), m.kind.word())
}

fn pressure(p: &mut Sheet, q: &Pressure) {
    let pa = |v: f64| quantity(v, "Pa");
    p.head(&format!("Pressure on the {}", q.face));
    p.row("classical, complete sphere", &pa(q.classical_Pa));
    let limit = match (q.axisymmetric_limit_Pa, q.limit_mesh_difference) {
        (Some(l), Some(d)) => format!("{}; two meshes differ by {d:.0e}", pa(l)),
        (Some(l), None) => pa(l),
        (None, _) => format!("none up to {}: {}", pa(q.followed_to_Pa), q.ended),
    };
    p.row("limit, kept round", &limit);
    for (i, l) in q.losses.iter().enumerate() {
        let first = if q.first == Some(i) { "; the lowest" } else { "" };
        let mesh = l.mesh_difference.map_or(String::new(), |d| format!("; two meshes differ by {d:.0e}"));
        let says = format!("{} ({} of the classical){mesh}{first}", pa(l.pressure_Pa), digits(l.ratio, 4));
        p.row(&format!("n = {} lost", l.n), &says);
    }
    if q.losses.is_empty() {
        p.row("waves", &format!("none of n up to {} is lost", q.largest_n));
    }
    p.text_block(&format!("  {}", q.method));
}

fn evidence(p: &mut Sheet, r: &ModesReport) {
    let e = &r.evidence;
    p.head("Evidence");
    p.row("unit of length", &length(r.units.length_m));
    p.row(
        "two meshes",
        &format!(
            "differ by at most {:.0e} on ω² of the lowest ({} and {} elements)",
            e.mesh_difference, e.elements_coarse, e.elements_fine
        ),
    );
    p.row("eigenpairs", &format!("hold to {:.0e} of their terms", e.residual));
    let counted =
        if e.certified { "counts confirm that none is missing" } else { "counts do not confirm them" };
    p.row("modes of each n", counted);
    p.row("numbers of waves", &r.search.reason);
    for g in &r.rigid {
        let s = if g.count == 1 { "" } else { "s" };
        let zero = format!("{} exact zero{s}; forces {:.0e} of the stiffness", g.count, g.residual);
        p.row(&format!("rigid motions, n = {}", g.n), &zero);
    }
}

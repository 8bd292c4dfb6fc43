//! `calotte modes`: frequencies of every wave number, pressures of buckling, printed or written.

use std::path::{Path, PathBuf};

use calotte_answers::explain::{digits, length};
use calotte_answers::modes::report::{Mode, ModesReport, Outcome, Pressure};
use calotte_answers::modes::words::{pattern, pitch};
use calotte_answers::modes::{Face, Settings, State, modes as answer_modes};
use calotte_answers::poke::words::quantity;
use calotte_runs::{Kind, Table, Value};
use calotte_specimen::Case;

use crate::answer::read;
use crate::folder::{self, column, number};
use crate::paint::Page;
use crate::provenance::{Answer, facts};
use crate::{End, paint};

/// What the command takes.
#[derive(clap::Args)]
pub(crate) struct Options {
    /// Case file (TOML).
    case: PathBuf,
    /// About the stable inverted shape instead of the natural one.
    #[arg(long)]
    inverted: bool,
    /// Lowest frequencies of all wave numbers that must surely be found.
    #[arg(long, value_name = "COUNT", default_value = "10", value_parser = clap::value_parser!(u16).range(1..=200))]
    lowest: u16,
    /// Frequencies of every wave number.
    #[arg(long, value_name = "COUNT", default_value = "4", value_parser = clap::value_parser!(u16).range(1..=60))]
    each: u16,
    /// Wave numbers from 0 up to this one, instead of as many as it takes.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(0..=400))]
    waves: Option<u32>,
    /// Also the pressure at which the part buckles, from the outside (the convex face) or the inside.
    #[arg(long, value_name = "FACE")]
    pressure: Option<Side>,
    /// Print the whole answer as JSON (SI units in the key names) instead of words.
    #[arg(long)]
    json: bool,
    /// Write figures (SVG and PNG), tables as CSV and Parquet, and the answer as JSON into this folder.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

#[derive(Clone, Copy, clap::ValueEnum)]
enum Side {
    /// The convex face of a bowl, the outside of a complete sphere.
    #[value(alias = "out")]
    Outside,
    /// The concave face.
    #[value(alias = "in")]
    Inside,
}

pub(crate) fn modes(o: &Options) -> End {
    let Some(case) = read(&o.case) else { return End::BadInput };
    let settings = Settings {
        state: if o.inverted { State::Inverted } else { State::Natural },
        count: usize::from(o.each),
        lowest: usize::from(o.lowest),
        most: o.waves,
        pressure: o.pressure.map(|p| match p {
            Side::Outside => Face::Outside,
            Side::Inside => Face::Inside,
        }),
    };
    let report = answer_modes(&case, &settings);
    if let Some(dir) = &o.out
        && let Err(e) = write_all(dir, &case, &report)
    {
        paint::complain(&format!("cannot write to {}: {e}", dir.display()));
        return End::BadInput;
    }
    let printed =
        if o.json { paint::json(&Answer::new(&case, &report)) } else { paint::line(&page(&report)) };
    if let Some(dir) = o.out.as_ref().filter(|_| !o.json) {
        paint::line(&format!("Figures, tables and answer.json are in {}", dir.display()));
    }
    match (printed, report.outcome) {
        (End::Answered, Outcome::Undecided) => End::Undecided,
        (end, _) => end,
    }
}

fn write_all(dir: &Path, case: &Case, report: &ModesReport) -> Result<(), String> {
    folder::answer(dir, &Answer::new(case, report))?;
    let mut tables = vec![("frequencies", frequencies(case, report))];
    if let Some(p) = &report.pressure {
        tables.push(("pressures", pressures(case, p)));
    }
    for (name, table) in tables {
        folder::table(dir, name, &table)?;
    }
    folder::figures(dir, calotte_figures::modes_figures(report))
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
            Value::Count(i64::from(m.n)),
            Value::Count(m.order as i64),
            Value::Count(m.nodal_circles as i64),
            Value::Text(m.kind.word().to_owned()),
            number(m.frequency_Hz),
            Value::Number(m.omega_squared),
            number(m.plate_parameter),
            Value::Number(m.bending_share),
            Value::Number(m.normal_share),
            Value::Number(m.around_share),
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
                Value::Count(i64::from(l.n)),
                Value::Number(l.pressure_Pa),
                Value::Number(l.ratio),
                Value::Number(l.bracket),
                number(l.mesh_difference),
            ]
        })
        .collect();
    Table { columns, rows, provenance: facts(case) }
}

/// The answer as text.
fn page(r: &ModesReport) -> String {
    let head = match (r.outcome, r.lowest.first().map(|i| &r.modes[*i])) {
        (Outcome::Undecided, _) => "UNDECIDED".to_owned(),
        (Outcome::Answered, Some(m)) => format!("LOWEST {}", pitch(m)),
        (Outcome::Answered, None) => "ANSWERED".to_owned(),
    };
    let mut p = Page::new(&format!("{head}: {}", r.title));
    p.text(&format!("{}; about the {} shape", paint::part_words(&r.part), r.state));
    r.doubts.iter().for_each(|d| p.item(&format!("Doubt: {d}")));
    if !r.explanation.is_empty() {
        p.head("What was found");
        r.explanation.iter().for_each(|e| p.item(e));
    }
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
    r.beyond.iter().for_each(|w| p.item(w));
    if !r.warnings.is_empty() {
        p.head("Warnings");
        r.warnings.iter().for_each(|w| p.item(w));
    }
    p.finish()
}

fn line(m: &Mode) -> String {
    let plate = m.plate_parameter.map_or(String::new(), |o| format!("; Ω = {}", digits(o, 6)));
    format!("{}; {}{plate}", pattern(m), m.kind.word())
}

fn pressure(p: &mut Page, q: &Pressure) {
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
    p.text(&format!("  {}", q.method));
}

fn evidence(p: &mut Page, r: &ModesReport) {
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

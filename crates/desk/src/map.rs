//! `map`: how thresholds run over two numbers of the case.

use calotte_answers::explain::digits;
use calotte_answers::map::report::{Curve, MapReport, Observed, SweptPoints};
use calotte_answers::map::{Request, map as answer};
use calotte_runs::{Kind, Table, Value as Cell};
use calotte_specimen::Case;
use serde_json::Value;

use crate::axes::{axis, load};
use crate::options::{Given, Written};
use crate::provenance::{facts, with_provenance};
use crate::release::refuse_to_turn;
use crate::reply::{Refusal, Reply, Want, Watch};
use crate::sheet::Sheet;
use crate::tables::column;

/// Name of the question.
pub const NAME: &str = "map";
/// The horizontal axis where nothing is said.
pub const USUAL_X: &str = "depth";
/// The vertical axis where nothing is said.
pub const USUAL_Y: &str = "wall.thickness";
/// Margins h/h* drawn where nothing is said.
pub const USUAL_MARGINS: [f64; 2] = [0.8, 1.25];

/// What is to be drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// Horizontal axis: `KEY` or `KEY=FROM..TO`.
    pub x: Written,
    /// Vertical axis.
    pub y: Written,
    /// Name of the option that gives the margins, and the margins h/h*.
    pub margins: (&'static str, Vec<f64>),
    /// Loads of the case's kind at which it trips.
    pub trip_loads: Vec<Written>,
    /// Where the load first has a limit.
    pub snapping: bool,
}

impl Options {
    /// What is asked of this case.
    ///
    /// # Errors
    /// [`Refusal::Question`] for what cannot be drawn.
    pub fn request(&self, case: &Case) -> Result<Request, Refusal> {
        let axes = [axis(&self.x, case)?, axis(&self.y, case)?];
        let (option, margins) = &self.margins;
        if let Some(m) = margins.iter().find(|m| !(**m > 0.0 && m.is_finite())) {
            let says = format!("{option} {m}: a margin h/h* is greater than 0; below 1 the part stays");
            return Err(Refusal::question(says));
        }
        let trip_loads = self.trip_loads.iter().map(|t| load(t, case)).collect::<Result<_, _>>()?;
        if axes[0].quantity == axes[1].quantity {
            let says = format!("both axes show `{}`; name another number for one of them", axes[0].key);
            return Err(Refusal::question(says));
        }
        Ok(Request { axes, margins: margins.clone(), trip_loads, snapping: self.snapping })
    }
}

/// Reads the options of the page.
pub(crate) fn options(value: &Value) -> Result<Options, Refusal> {
    let given = Given::new(NAME, value, &["x", "y", "margin", "trip_load", "snapping"])?;
    Ok(Options {
        x: given.text("x")?.unwrap_or_else(|| Written::new("x", USUAL_X)),
        y: given.text("y")?.unwrap_or_else(|| Written::new("y", USUAL_Y)),
        margins: ("margin", given.numbers("margin")?.unwrap_or_else(|| USUAL_MARGINS.to_vec())),
        trip_loads: given.texts("trip_load")?.unwrap_or_default(),
        snapping: given.flag("snapping", false)?,
    })
}

/// Why the question makes no sense for the case.
///
/// # Errors
/// A [`Refusal`] that says so.
pub fn refuse(case: &Case) -> Result<(), Refusal> {
    refuse_to_turn(case)
}

/// Computes the curves.
///
/// # Errors
/// A [`Refusal`] where the question makes no sense or the watch stopped it.
pub fn compute(case: &Case, request: &Request, watch: &dyn Watch) -> Result<MapReport, Refusal> {
    refuse(case)?;
    answer(case, request, &mut |share| watch.progress(Some(share), "curves")).ok_or(Refusal::Stopped)
}

/// The answer as it is given.
///
/// # Errors
/// [`Refusal::Failed`] when the report cannot be told as JSON, which none does.
pub fn reply(case: &Case, report: &MapReport, want: Want) -> Result<Reply, Refusal> {
    Ok(Reply {
        question: NAME,
        sheet: sheet(report),
        report: with_provenance(case, report)?,
        doubtful: !report.doubts.is_empty(),
        film: None,
        figures: if want.figures {
            calotte_figures::laid_out(&want.style, || calotte_figures::map_figures(report))
        } else {
            Vec::new()
        },
        tables: if want.tables { vec![("curves".to_owned(), table(case, report))] } else { Vec::new() },
    })
}

/// Every curve as rows.
fn table(case: &Case, r: &MapReport) -> Table {
    let mut rows = Vec::new();
    let mut add = |family: &str, level: f64, curves: &[Curve]| {
        for (k, c) in curves.iter().enumerate() {
            for i in 0..c.x_si.len() {
                rows.push(vec![
                    Cell::Text(family.to_owned()),
                    if level.is_finite() { Cell::Number(level) } else { Cell::Missing },
                    Cell::Count(k as i64),
                    Cell::Number(c.x_si[i]),
                    Cell::Number(c.y_si[i]),
                    Cell::Flag(c.cusps.contains(&i)),
                ]);
            }
        }
    };
    add("threshold", 1.0, &r.threshold);
    r.margins.iter().for_each(|m| add("margin", m.ratio, &m.curves));
    r.waiting.iter().for_each(|w| add(&format!("end of waiting, {}", w.hold), w.loss, &w.curves));
    add("snapping first", f64::NAN, &r.snapping_first);
    r.trip_loads.iter().for_each(|t| add("trip load", t.load_SI, &t.curves));
    r.validity.iter().for_each(|v| add(&v.name, v.limit, &v.curves));
    let columns = vec![
        column("family", "", "what the curve is", Kind::Text),
        column(
            "level",
            "1",
            "h/h*, share of the modulus lost, trip load in its SI unit, or limit",
            Kind::Number,
        ),
        column("curve", "1", "number of the curve within its family", Kind::Count),
        column("x_si", "SI", &r.axes[0].key, Kind::Number),
        column("y_si", "SI", &r.axes[1].key, Kind::Number),
        column("cusp", "", "whether the point is a cusp", Kind::Flag),
    ];
    Table { columns, rows, provenance: facts(case) }
}

/// The answer in words.
fn sheet(r: &MapReport) -> Sheet {
    let mut p = Sheet::new(&format!("MAP: {}", r.title));
    let axis = |i: usize| {
        let a = &r.axes[i];
        let v = |x: f64| digits(x / a.unit_si, 4);
        format!("{} from {} to {} {} (here {})", a.label, v(a.low_si), v(a.high_si), a.unit, v(a.here_si))
    };
    p.text_block(&format!("{}; {}", axis(0), axis(1)));
    p.doubts(&r.doubts);
    p.head("What it shows");
    p.items(&r.explanation);
    let ends = |p: &mut Sheet, name: &str, curves: &[Curve]| {
        for c in curves.iter().filter(|c| !c.x_si.is_empty()) {
            let last = c.x_si.len() - 1;
            let at = |i: usize| {
                format!(
                    "({}, {})",
                    digits(c.x_si[i] / r.axes[0].unit_si, 4),
                    digits(c.y_si[i] / r.axes[1].unit_si, 4)
                )
            };
            p.row(
                name,
                &format!(
                    "{} points from {} to {}; ends: {}; {}",
                    last + 1,
                    at(0),
                    at(last),
                    c.ends[0],
                    c.ends[1]
                ),
            );
            for k in &c.cusps {
                if c.cusps.len() < c.x_si.len() {
                    p.row("", &format!("cusp at {}", at(*k)));
                }
            }
        }
    };
    p.head(&format!(
        "Curves ({} in {}, {} in {})",
        r.axes[0].label, r.axes[0].unit, r.axes[1].label, r.axes[1].unit
    ));
    ends(&mut p, "threshold", &r.threshold);
    r.margins.iter().for_each(|m| ends(&mut p, &format!("margin h/h* = {}", digits(m.ratio, 3)), &m.curves));
    r.waiting.iter().for_each(|w| ends(&mut p, &format!("end of waiting, {}", w.hold), &w.curves));
    ends(&mut p, "snapping first", &r.snapping_first);
    for t in &r.trip_loads {
        let name = calotte_answers::poke::words::quantity(t.load_SI, &t.load_unit);
        ends(&mut p, &format!("trip load {name}"), &t.curves);
    }
    if let Some(g) = &r.grid {
        let count = |v| g.verdicts.iter().flatten().filter(|x| **x == v).count();
        use calotte_answers::report::Verdict::{Returns, Stays, Undecided};
        p.head("Grid");
        p.row(
            "verdicts",
            &format!(
                "{} x {}: {} stay, {} return, {} undecided",
                g.x_si.len(),
                g.y_si.len(),
                count(Stays),
                count(Returns),
                count(Undecided)
            ),
        );
    }
    if let Some(s) = &r.points {
        swept(&mut p, s);
    }
    if let Some(c) = &r.counts {
        p.head("Specimens");
        p.row("predicted", &format!("{} stay, {} return", c.predicted_stay, c.predicted_return));
        p.row("observed", &format!("{} stay, {} return", c.observed_stay, c.observed_return));
        p.row("agree", &c.agree.to_string());
        p.row("differ within tolerance", &c.within_tolerance.to_string());
        p.row("contradicted", &c.contradicted.to_string());
        p.row("open", &c.open.to_string());
        for s in r
            .specimens
            .iter()
            .filter(|s| s.comparison == calotte_answers::map::report::Comparison::Contradicted)
        {
            let seen = if s.observed == Some(Observed::Stays) { "stayed" } else { "came back" };
            let ratio = s.thickness_ratio.map_or("unknown".to_owned(), |v| digits(v, 4));
            p.item(&format!("{}: {seen}, against h/h* = {ratio}", s.name));
        }
    }
    p.list("Warnings", &r.warnings);
    p
}

/// The points of a sweep in words.
fn swept(p: &mut Sheet, s: &SweptPoints) {
    use calotte_answers::report::Verdict::{Returns, Stays, Undecided};
    p.head("Points of a sweep");
    p.row("sweep", &format!("{}, plan {}", s.title, s.plan_digest));
    let there = s.x_si.len();
    let missing = match s.planned.saturating_sub(there as u64) {
        0 => String::new(),
        n => format!("; {n} of the plan are missing"),
    };
    p.row(
        "points",
        &format!(
            "{there}: {} stay, {} return, {} undecided, {} without an answer{missing}",
            s.count(Some(Stays)),
            s.count(Some(Returns)),
            s.count(Some(Undecided)),
            s.count(None)
        ),
    );
}

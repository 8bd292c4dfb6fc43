//! `make`: what is made of a case, as files with their names and a report.

mod files;
mod report;
mod series_files;
mod words;

use calotte_answers::gauge::{Gauge, Gauges};
use calotte_desk::{Refusal, with_provenance};
use calotte_solve::Work;
use calotte_specimen::{Case, Meridian};
use serde_json::Value;

use crate::cautions::{Doing, cautions};
use crate::guide::{self, Choice, Wanted};
use crate::mould::{self, Settings};
use crate::series::{self, Outcome, Outlook};
use crate::sketch::Paper;
use crate::{drawing, tool};

pub use report::{MakeReport, SCHEMA_VERSION};

/// What can be made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum What {
    /// A casting mould.
    Mould,
    /// A guide for cutting slices from a hollow ball.
    Guide,
    /// A dimensioned drawing.
    Drawing,
    /// Profiles of a forming tool.
    Tool,
    /// A series of specimens.
    Series,
}

impl What {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::Mould, Self::Guide, Self::Drawing, Self::Tool, Self::Series];
    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Mould => "mould",
            Self::Guide => "guide",
            Self::Drawing => "drawing",
            Self::Tool => "tool",
            Self::Series => "series",
        }
    }
    /// The one of that name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|w| w.name() == name.trim())
    }
}

/// What a series is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct SeriesAsk {
    /// `thickness`, `depth`, or a key of the case.
    pub vary: String,
    /// How many.
    pub count: usize,
    /// How far theory is held to be off, standard deviation.
    pub doubt: f64,
    /// Sizes are multiples of this, SI; the usual where nothing is said.
    pub step: Option<f64>,
    /// Whether a mould is made for each.
    pub moulds: bool,
}

impl Default for SeriesAsk {
    /// Six specimens of different walls; theory within 4 % (from memory of what thin-shell theory misses at h/R of a tenth).
    fn default() -> Self {
        Self { vary: "thickness".to_owned(), count: 6, doubt: 0.04, step: None, moulds: false }
    }
}

/// What is asked.
#[derive(Clone, Debug, Default)]
pub struct Ask {
    /// What is made; what suits the part where nothing is said.
    pub what: Vec<What>,
    /// The mould's numbers.
    pub mould: Settings,
    /// The guide's numbers.
    pub guide: Choice,
    /// Half-angles of slices, rad; that of the part where nothing is said.
    pub slices: Vec<f64>,
    /// The series.
    pub series: SeriesAsk,
    /// Files beside the case that it names, with their content: they go with a series.
    pub beside: Vec<(String, Vec<u8>)>,
}

/// What was made.
#[derive(Clone, Debug)]
pub struct Made {
    /// In words.
    pub sheet: calotte_desk::Sheet,
    /// The whole answer with its provenance.
    pub report: Value,
    /// Files: path below the folder, content.
    pub files: Vec<(String, Vec<u8>)>,
}

/// What suits a part: a drawing always; a mould and, for slices of a ball, a guide of what is not metal; a tool of what is.
pub fn suits(case: &Case) -> Vec<What> {
    let part = case.part();
    let metal = tool::is_metal(part);
    let slice =
        matches!(&part.meridian, Meridian::Sphere(s) if s.hole_angle == 0.0) && part.wall.is_uniform();
    What::ALL
        .into_iter()
        .filter(|w| match w {
            What::Mould => !metal,
            What::Guide => !metal && slice,
            What::Drawing => true,
            What::Tool => metal,
            What::Series => false,
        })
        .collect()
}

/// Makes what is asked.
///
/// # Errors
/// A [`Refusal`] that says what cannot be made so, and what would work.
pub fn make(case: &Case, ask: &Ask) -> Result<Made, Refusal> {
    let mut what = if ask.what.is_empty() { suits(case) } else { ask.what.clone() };
    what.sort_unstable();
    what.dedup();
    let part = case.part();
    let mut report = MakeReport::new(case);
    let mut out = files::Files::default();
    let mut made = Vec::new();
    for w in &what {
        let before = out.list.len();
        match one(case, *w, ask, &mut report, &mut out) {
            Ok(()) => made.push(*w),
            // What was not asked for by name is left out, and said.
            Err(why @ Refusal::Question { .. }) if ask.what.is_empty() && usual(*w, ask) => {
                out.list.truncate(before);
                report.not_made.push(why.line());
            }
            Err(why) => return Err(why),
        }
    }
    report.what = made.iter().map(|w| w.name()).collect();
    report.cautions = cautions(part, &doing(&made));
    report.files = out.list.iter().map(|f| f.0.clone()).collect();
    let sheet = words::sheet(case, &report);
    Ok(Made { sheet, report: with_provenance(case, &report)?, files: out.list })
}

/// Whether nothing was said of how it is made: then what cannot be made so is the part's doing.
fn usual(w: What, ask: &Ask) -> bool {
    match w {
        What::Mould => ask.mould.is_usual(),
        What::Guide => ask.guide == Choice::default() && ask.slices.is_empty(),
        What::Drawing | What::Tool | What::Series => true,
    }
}

/// Makes one thing.
fn one(
    case: &Case,
    w: What,
    ask: &Ask,
    report: &mut MakeReport,
    out: &mut files::Files,
) -> Result<(), Refusal> {
    let part = case.part();
    match w {
        What::Mould => {
            let m = mould::mould(part, &ask.mould)
                .map_err(|e| Refusal::with_help(format!("mould: {e}"), e.help()))?;
            let mind = cautions(part, &[Doing::Casting, Doing::Trying]);
            report.mould = Some(report::mould(&m, &ask.mould, part));
            out.mould("mould/", case, &m, &ask.mould, &mind, &ask.guide.paper)?;
        }
        What::Guide => {
            let mind = cautions(part, &[Doing::Cutting, Doing::Trying]);
            let g = guide::guide(part, &case.title, &wanted(case, ask), &ask.guide, &mind)
                .map_err(|e| Refusal::with_help(format!("guide: {}", e.says), e.help))?;
            report.guide = Some(report::guide(&g));
            out.guide("guide/", &g)?;
        }
        What::Drawing => {
            let d = drawing::drawing(case, &ask.guide.paper)
                .map_err(|e| Refusal::question(format!("drawing: {e}")))?;
            report.drawing = Some(report::drawing(&d));
            out.drawing("drawing/", &d)?;
        }
        What::Tool => {
            let t = tool::tool(part).map_err(|e| Refusal::question(format!("tool: {e}")))?;
            report.tool = Some(report::tool(&t, part));
            out.tool("tool/", case, &t, &cautions(part, &[Doing::Forming, Doing::Trying]), &ask.guide.paper)?;
        }
        What::Series => {
            let s = &ask.series;
            let refused = |e: series::NoSeries| Refusal::with_help(format!("series: {}", e.says), e.help);
            let input = series::which(case, &s.vary).map_err(refused)?;
            let step = s.step.unwrap_or_else(|| series::usual_step(case, input));
            let asked = series::Ask { input, count: s.count, doubt: s.doubt, scatter: 0.003, step };
            let found = series::series(case, &asked, &mut Work::default()).map_err(refused)?;
            let mind = cautions(part, &[Doing::Trying]);
            report.series = Some(report::series(case, input, &found));
            out.series("series/", case, input, &found, ask, &mind)?;
        }
    }
    Ok(())
}

/// What is done with what is made.
fn doing(what: &[What]) -> Vec<Doing> {
    let has = |w: What| what.contains(&w);
    let mut out = Vec::new();
    for (w, d) in [(What::Guide, Doing::Cutting), (What::Mould, Doing::Casting), (What::Tool, Doing::Forming)]
    {
        if has(w) {
            out.push(d);
        }
    }
    out.push(Doing::Trying);
    out
}

/// The slices asked for, each with what is predicted of it where that can be said.
fn wanted(case: &Case, ask: &Ask) -> Vec<Wanted> {
    let own = match &case.part().meridian {
        Meridian::Sphere(s) => vec![s.half_angle],
        _ => Vec::new(),
    };
    let angles = if ask.slices.is_empty() { own } else { ask.slices.clone() };
    let mut work = Work::default();
    let outlook = Outlook::new(case, &mut work).ok();
    let input = case.inputs().iter().position(|i| i.key == "shape.half_angle");
    let mut predict = |angle: f64| -> Option<String> {
        let changes: Vec<(usize, f64)> = match input {
            Some(i) => vec![(i, angle)],
            None if ask.slices.is_empty() => Vec::new(),
            // The case gives other sizes: the part of another depth is asked by itself, and as an elastic one.
            None => {
                let part = case.part_with_depth(angle).ok()?;
                let read = Gauges::new(&part, &[Gauge::Margin], &mut work).ok()?.read(&[], &mut work);
                let margin = read.into_iter().next()?.ok()?;
                let outcome = match (margin > 0.0, &case.motion().memory) {
                    (true, _) => Outcome::Stays,
                    (false, None) => Outcome::Returns,
                    (false, Some(_)) => Outcome::DoesNotStay,
                };
                return Some(told(outcome, margin));
            }
        };
        let outlook = outlook.as_ref()?;
        let margin = outlook.margin(&changes, &mut work).ok()?;
        Some(told(outlook.outcome(margin, &changes, &mut work), margin))
    };
    let one = |(k, angle): (usize, &f64)| Wanted {
        label: format!("B{}", k + 1),
        half_angle: *angle,
        predicted: predict(*angle).unwrap_or_else(|| "not known".to_owned()),
    };
    angles.iter().enumerate().map(one).collect()
}

/// A prediction with its margin.
fn told(outcome: Outcome, margin: f64) -> String {
    format!("{} ({}{:.1} %)", outcome.word(), if margin < 0.0 { "−" } else { "+" }, 1e2 * margin.abs())
}

/// The sheet of that name.
///
/// # Errors
/// A [`Refusal`] with the names that are known.
pub fn paper(name: &str) -> Result<Paper, Refusal> {
    Paper::named(name).ok_or_else(|| {
        let names: Vec<&str> = Paper::ALL.iter().map(|p| p.name).collect();
        Refusal::with_help(format!("there is no paper `{name}`"), format!("one of {}", names.join(", ")))
    })
}

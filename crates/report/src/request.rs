//! What goes into a report, and which questions that means for a case.

use calotte_answers::states::lists_states;
use calotte_desk::{
    QUESTIONS, Refusal, heat, map, modes, poke, refuse, release, size, spread, states, verdict,
};
use calotte_specimen::{Case, Meridian};
use serde::{Deserialize, Serialize};

use crate::measured::{Kind, Measurement};

/// A sheet of paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Paper {
    /// 210 mm × 297 mm.
    #[default]
    A4,
    /// 8.5 in × 11 in.
    Letter,
}

impl Paper {
    /// Width and height, mm.
    pub fn size_mm(self) -> [f64; 2] {
        match self {
            Self::A4 => [210.0, 297.0],
            Self::Letter => [215.9, 279.4],
        }
    }
}

/// A file as it was given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Given {
    /// Its name.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// What goes into a report.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Request {
    /// Questions asked beside the usual ones.
    pub with: Vec<String>,
    /// Usual questions left out.
    pub without: Vec<String>,
    /// Date as it shall be printed; none is taken from a clock.
    pub date: Option<String>,
    /// Paper of the PDF.
    pub paper: Paper,
    /// Answers about measurements, as `side`, `clip`, `bench` and `logbook` wrote them.
    pub measured: Vec<Given>,
    /// Measured specimens for the map, CSV.
    pub specimens: Option<Given>,
    /// Name of the case file.
    pub case_name: String,
    /// Files that the case names, by the name written there.
    pub side_files: Vec<Given>,
}

/// Questions in the order of a report's chapters.
const ORDER: [&str; 9] = [
    verdict::NAME,
    states::NAME,
    heat::NAME,
    poke::NAME,
    release::NAME,
    map::NAME,
    spread::NAME,
    modes::NAME,
    size::NAME,
];

/// Questions of a report, and why some that were asked for by nobody are left out.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Plan {
    /// Questions in the order of chapters.
    pub questions: Vec<&'static str>,
}

/// Questions that one can add or leave out.
pub fn choices() -> Vec<&'static str> {
    ORDER.into_iter().filter(|q| ![verdict::NAME, states::NAME].contains(q)).collect()
}

/// The name of a question as it was written with `option`.
fn known(option: &str, name: &str, case: &Case) -> Result<&'static str, Refusal> {
    let first = first(case);
    if name == first || [verdict::NAME, states::NAME].contains(&name) {
        return match (name == first, option) {
            (true, "--with") => Ok(first),
            (true, _) => Err(Refusal::with_help(
                format!("{option} {name}: a report begins with it"),
                "leave out others, or ask `calotte poke`, `heat` … alone",
            )),
            (false, _) => Err(Refusal::with_help(
                format!("{option} {name}: this part's report begins with `{first}`"),
                format!("{option} takes {}", choices().join(", ")),
            )),
        };
    }
    ORDER.into_iter().find(|q| *q == name).ok_or_else(|| {
        let near = calotte_quantity::nearest(name, choices().into_iter());
        let help = near.map_or_else(
            || format!("{option} takes {}", choices().join(", ")),
            |near| format!("did you mean `{near}`?"),
        );
        Refusal::with_help(format!("{option} {name}: there is no such question"), help)
    })
}

/// The question every report begins with.
fn first(case: &Case) -> &'static str {
    let part = case.part();
    if part.meridian.ends_at_pole() {
        modes::NAME
    } else if lists_states(part) {
        states::NAME
    } else {
        verdict::NAME
    }
}

/// Whether a question belongs into a report where nothing is said.
fn usual(case: &Case, question: &str, request: &Request) -> bool {
    let makes_sense = refuse(case, question).is_ok();
    let one_wall = case.inputs().iter().any(|i| i.key == map::USUAL_Y);
    makes_sense
        && match question {
            heat::NAME => case.part().wall.layers().is_some(),
            poke::NAME => case.load().is_some(),
            release::NAME => case.says_motion(),
            map::NAME => {
                request.specimens.is_some() || one_wall && matches!(case.part().meridian, Meridian::Sphere(_))
            }
            size::NAME => case.size().is_some(),
            _ => false,
        }
}

/// The questions of a report.
///
/// # Errors
/// A [`Refusal`] for a name that is no question, a question that makes no sense for the case, or one both wanted and not.
pub(crate) fn plan(case: &Case, request: &Request, measured: &[Measurement]) -> Result<Plan, Refusal> {
    let with = request.with.iter().map(|w| known("--with", w, case)).collect::<Result<Vec<_>, _>>()?;
    let without =
        request.without.iter().map(|w| known("--without", w, case)).collect::<Result<Vec<_>, _>>()?;
    if let Some(both) = with.iter().find(|w| without.contains(w)) {
        let says = format!("{both}: is both in --with and in --without");
        return Err(Refusal::with_help(says, "name it in one of them"));
    }
    if request.specimens.is_some() && without.contains(&map::NAME) {
        return Err(Refusal::with_help(
            "--specimens are drawn on the map, and --without leaves it out",
            "drop one of them",
        ));
    }
    let begin = first(case);
    refuse(case, begin)?;
    let mut questions = vec![begin];
    for question in choices().into_iter().filter(|q| *q != begin) {
        let wanted = with.contains(&question) || request.specimens.is_some() && question == map::NAME;
        if wanted {
            refuse(case, question).map_err(|why| match why {
                Refusal::Question { says, help } => {
                    Refusal::Question { says: format!("--with {question}: {says}"), help }
                }
                other => other,
            })?;
        }
        // A clip is compared with the motion.
        let beside = question == release::NAME && measured.iter().any(|m| m.kind == Kind::Clip);
        let asked = wanted || usual(case, question, request) || beside && refuse(case, question).is_ok();
        if asked && !without.contains(&question) {
            questions.push(question);
        }
    }
    Ok(Plan { questions })
}

/// Every question has its place in a report.
const _: () = assert!(ORDER.len() == QUESTIONS.len());

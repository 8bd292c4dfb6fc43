//! `look`: the part as described, before any mechanics, and which questions make sense for it.

use calotte_answers::beforehand::{cautions, load_words, summarise};
use calotte_answers::film::natural;
use calotte_answers::report::PartSummary;
use calotte_answers::states::lists_states;
use calotte_specimen::Case;
use serde::Serialize;
use serde_json::Value;

use crate::options::Given;
use crate::provenance::with_provenance;
use crate::questions::{QUESTIONS, refuse};
use crate::reply::{Refusal, Reply, Want};
use crate::sheet::Sheet;
use crate::words::part_words;

/// Name of the question.
pub const NAME: &str = "look";

/// A part as described.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Look {
    /// Title of the case.
    pub title: String,
    /// The part in numbers.
    #[cfg_attr(test, ts(type = "import(\"./PartSummary\").PartSummary"))]
    pub part: PartSummary,
    /// Whether it is made of lines and arcs, so that its verdict is a list of stable states.
    pub lists_states: bool,
    /// Layers of the wall; 0 for a wall of one piece.
    pub layers: usize,
    /// Largest strain that the material bears.
    pub strain_limit: Option<f64>,
    /// What was decided on the way.
    pub notes: Vec<String>,
    /// Every number that entered.
    pub inputs: Vec<LookInput>,
    /// Every question, and whether it makes sense.
    pub asks: Vec<LookAsk>,
    /// The load of the case in words; `None` when it has none.
    pub loads: Option<String>,
    /// What to mind, whatever is asked.
    pub cautions: Vec<String>,
}

/// A number that entered.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct LookInput {
    /// Key in the case file.
    pub key: String,
    /// SI value.
    pub value_si: f64,
    /// Half-width of its tolerance, SI.
    pub half_width_si: Option<f64>,
    /// Unit as written; empty for a pure number.
    pub unit: String,
    /// The number in its unit, with its tolerance.
    pub shown: String,
}

/// A question about the part.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct LookAsk {
    /// Its name.
    pub question: String,
    /// Whether it makes sense.
    pub ok: bool,
    /// Why it does not; empty when it does.
    pub says: String,
}

/// Looks.
///
/// # Errors
/// [`Refusal::Question`] for options: it takes none.
pub(crate) fn ask(case: &Case, options: &Value, want: Want) -> Result<Reply, Refusal> {
    Given::new(NAME, options, &[])?;
    let look = look(case);
    Ok(Reply {
        question: NAME,
        sheet: sheet(&look),
        report: with_provenance(case, &look)?,
        doubtful: false,
        film: want.film.then(|| natural(case.part())),
        figures: Vec::new(),
        tables: Vec::new(),
    })
}

/// What there is to see.
pub fn look(case: &Case) -> Look {
    let part = summarise(case);
    let asks = QUESTIONS.into_iter().map(|question| {
        let refused = refuse(case, question).err();
        LookAsk {
            question: question.to_owned(),
            ok: refused.is_none(),
            says: refused.map_or(String::new(), |r| r.line()),
        }
    });
    Look {
        title: case.title.clone(),
        lists_states: lists_states(case.part()),
        layers: case.part().wall.layers().map_or(0, |l| l.layers.len()),
        strain_limit: case.strain_limit(),
        notes: case.notes().to_vec(),
        inputs: case
            .inputs()
            .iter()
            .map(|i| LookInput {
                key: i.key.clone(),
                value_si: i.value,
                half_width_si: i.half_width,
                unit: i.unit.clone(),
                shown: i.to_string(),
            })
            .collect(),
        asks: asks.collect(),
        loads: case.load().map(|l| load_words(case.part(), l)),
        cautions: cautions(case, &part),
        part,
    }
}

/// The same in words.
fn sheet(l: &Look) -> Sheet {
    let mut p = Sheet::new(&l.title);
    p.text_block(&part_words(&l.part));
    p.items(&l.cautions);
    p.head("Numbers of the case");
    l.inputs.iter().for_each(|i| p.row(&i.key, &i.shown));
    if let Some(load) = &l.loads {
        p.head("Load");
        p.text_block(load);
    }
    p.head("Questions");
    for a in &l.asks {
        p.row(&a.question, if a.ok { "makes sense" } else { &a.says });
    }
    p.list("Notes on the case", &l.notes);
    p
}

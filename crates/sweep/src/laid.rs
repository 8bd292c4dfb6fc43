//! The points of a sweep over two of its numbers, as a map takes them.

use calotte_answers::map::report::SweptPoints;
use calotte_answers::report::Verdict;
use calotte_desk::Refusal;
use calotte_runs::{Shard, Value};

use crate::folder::Place;
use crate::question::Question;
use crate::sweep::Sweep;

/// Most points that a map is asked to hold.
const MOST: u64 = 1_000_000;

impl Sweep<'_> {
    /// Keys of the two numbers that vary, for a map: the wall upwards where one of them is of the wall, else the second.
    ///
    /// # Errors
    /// [`Refusal::Question`] where another count of numbers varies, or neither threshold nor verdict was asked.
    pub fn axes(&self) -> Result<[&str; 2], Refusal> {
        let keys: Vec<&str> = self.plan().vary.iter().map(|v| v.key.as_str()).collect();
        let [a, b] = keys[..] else {
            let says =
                format!("a map shows two numbers, and the sweep varies {}: {}", keys.len(), keys.join(", "));
            return Err(Refusal::with_help(
                says,
                "lay a sweep over the map that varies two numbers and no other",
            ));
        };
        self.answered()?;
        Ok(if a.starts_with("wall.") && !b.starts_with("wall.") { [b, a] } else { [a, b] })
    }

    /// The question whose answer says whether a part stays.
    fn answered(&self) -> Result<Question, Refusal> {
        let asked = &self.plan().questions;
        [Question::Verdict, Question::Threshold].into_iter().find(|q| asked.contains(q)).ok_or_else(|| {
            Refusal::with_help(
                "the sweep asked neither for the threshold nor for the verdict",
                "a map shows which parts stay: write `questions = [\"threshold\"]` into a plan",
            )
        })
    }
}

impl Place {
    /// The points that are there, over two numbers by their keys: a verdict where one was asked for, else what a certified threshold
    /// says. Chunks that are missing are left out.
    ///
    /// # Errors
    /// [`Refusal::Question`] for keys that do not vary, too many points, a shard that is damaged or another sweep's.
    pub fn laid(&self, sweep: &Sweep<'_>, keys: [&str; 2]) -> Result<SweptPoints, Refusal> {
        if sweep.points() > MOST {
            let says = format!("the sweep has {} points, a map takes {MOST} at most", sweep.points());
            return Err(Refusal::with_help(says, "lay a smaller sweep over the map"));
        }
        let vary = &sweep.plan().vary;
        let place = |key: &str| {
            // The number of the point stands first.
            vary.iter().position(|v| v.key == key).map(|i| i + 1).ok_or_else(|| {
                let those: Vec<&str> = vary.iter().map(|v| v.key.as_str()).collect();
                let says = format!("the sweep does not vary `{key}`, which is an axis of the map");
                Refusal::with_help(says, format!("it varies {}", those.join(" and ")))
            })
        };
        let (x, y) = (place(keys[0])?, place(keys[1])?);
        let question = sweep.answered()?;
        let several = sweep.plan().questions.len() > 1;
        let column = |name: &str| {
            let name = if several { format!("{}_{name}", question.name()) } else { name.to_owned() };
            sweep.job().columns.iter().position(|c| c.name == name)
        };
        let (ratio, word, certified) = (column("thickness_ratio"), column("verdict"), column("certified"));
        let mut out = SweptPoints {
            title: sweep.plan().title.clone(),
            plan_digest: sweep.digest().to_owned(),
            planned: sweep.points(),
            x_si: Vec::new(),
            y_si: Vec::new(),
            verdicts: Vec::new(),
            thickness_ratio: Vec::new(),
        };
        let shards = self.shards(sweep);
        let cell =
            |row: &[Value], at: Option<usize>| at.and_then(|i| row.get(i).cloned()).unwrap_or(Value::Missing);
        for chunk in 0..sweep.chunks() {
            let table = match shards.look(chunk).map_err(|e| Refusal::question(e.to_string()))? {
                Shard::Whole(whole) => whole.table,
                Shard::Missing => continue,
                Shard::Foreign(why) | Shard::Damaged(why) => {
                    let says = format!("{}: {why}", shards.path(chunk).display());
                    return Err(Refusal::with_help(says, "`calotte sweep … --gather` puts the folder right"));
                }
            };
            for row in &table.rows {
                let (Value::Number(a), Value::Number(b)) = (cell(row, Some(x)), cell(row, Some(y))) else {
                    continue;
                };
                let ratio = if let Value::Number(r) = cell(row, ratio) { Some(r) } else { None };
                let verdict = match (cell(row, word), cell(row, certified), ratio) {
                    (Value::Text(w), ..) if w == "stays" => Some(Verdict::Stays),
                    (Value::Text(w), ..) if w == "returns" => Some(Verdict::Returns),
                    (Value::Text(_), ..) | (_, Value::Flag(false), Some(_)) => Some(Verdict::Undecided),
                    (_, Value::Flag(true), Some(r)) => {
                        Some(if r < 1.0 { Verdict::Stays } else { Verdict::Returns })
                    }
                    _ => None,
                };
                out.x_si.push(a);
                out.y_si.push(b);
                out.verdicts.push(verdict);
                out.thickness_ratio.push(ratio);
            }
        }
        Ok(out)
    }
}

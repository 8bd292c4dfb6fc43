//! A report made again from what it carries, and every number beside the one it told.

use calotte_desk::{Refusal, VERSION};
use serde::Serialize;
use serde_json::Value;

use crate::data::{KIND, LAYOUT, Provenance};
use crate::html::DATA;

/// A number or word that is not the same again.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Difference {
    /// Where in the data, `answers/verdict/margin/thickness_ratio`; `line 12` of the page.
    pub place: String,
    /// As the report says.
    pub told: String,
    /// As computed again.
    pub again: String,
}

/// How a report compares with itself made again.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Repeated {
    /// Version of this layout.
    pub schema_version: u32,
    /// Title of the case.
    pub title: String,
    /// Version that made the report.
    pub told_by: String,
    /// Version that made it again.
    pub again_by: String,
    /// Numbers compared.
    pub numbers: usize,
    /// Those of each answer.
    pub answers: Vec<AnswerCount>,
    /// What differs.
    pub differences: Vec<Difference>,
    /// Whether the page is the same byte for byte; `None` where only the data were given.
    pub same_page: Option<bool>,
}

/// Numbers of an answer.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct AnswerCount {
    /// Question.
    pub question: String,
    /// Numbers compared.
    pub numbers: usize,
    /// Numbers that differ.
    pub different: usize,
}

/// What a report carries, read out of its page or its data file.
///
/// # Errors
/// A [`Refusal`] for a file that is no report or whose data are damaged.
pub fn carried(name: &str, bytes: &[u8]) -> Result<(Value, Provenance), Refusal> {
    let help = "give a report.html or a report.json that `calotte report` wrote";
    let wrong = |says: &str| Refusal::with_help(format!("{name}: {says}"), help);
    if bytes.starts_with(b"%PDF") {
        return Err(wrong(
            "is a PDF; what is needed to make the report again is in the HTML file and in report.json beside it",
        ));
    }
    let text = std::str::from_utf8(bytes).map_err(|_| wrong("is no text"))?;
    let data = if text.trim_start().starts_with('{') {
        text
    } else {
        let mark = format!("id=\"{DATA}\">");
        let from = text.find(&mark).ok_or_else(|| wrong("carries no data of a report"))? + mark.len();
        let length =
            text[from..].find("</script>").ok_or_else(|| wrong("the data it carries are cut off"))?;
        &text[from..from + length]
    };
    let value: Value =
        serde_json::from_str(data).map_err(|e| wrong(&format!("the data it carries cannot be read: {e}")))?;
    if value.get("kind").and_then(Value::as_str) != Some(KIND) {
        return Err(wrong("is not a report of this program"));
    }
    match value.get("schema_version").and_then(Value::as_u64) {
        Some(v) if v == u64::from(LAYOUT) => {}
        other => {
            let other = other.map_or("none".to_owned(), |v| v.to_string());
            return Err(wrong(&format!(
                "its data have layout version {other}; this program, {VERSION}, reads {LAYOUT}"
            )));
        }
    }
    let from = value.get("provenance").cloned().unwrap_or_default();
    let provenance: Provenance =
        serde_json::from_value(from).map_err(|e| wrong(&format!("its provenance is damaged: {e}")))?;
    Ok((value, provenance))
}

/// Leaves of two values side by side: how many numbers there are, and what differs.
fn leaves(place: &str, told: &Value, again: &Value, count: &mut usize, out: &mut Vec<Difference>) {
    let missing = Value::Null;
    let inside = |key: &str| if place.is_empty() { key.to_owned() } else { format!("{place}/{key}") };
    match (told, again) {
        (Value::Object(a), Value::Object(b)) => {
            for (k, v) in a {
                leaves(&inside(k), v, b.get(k).unwrap_or(&missing), count, out);
            }
            for (k, v) in b.iter().filter(|(k, _)| !a.contains_key(*k)) {
                leaves(&inside(k), &missing, v, count, out);
            }
        }
        (Value::Array(a), Value::Array(b)) => {
            for i in 0..a.len().max(b.len()) {
                let at = |l: &[Value]| l.get(i).cloned().unwrap_or_default();
                leaves(&inside(&i.to_string()), &at(a), &at(b), count, out);
            }
        }
        (a, b) => {
            *count += usize::from(a.is_number() || b.is_number());
            if a != b {
                let shown = |v: &Value| match v {
                    Value::Null => "nothing".to_owned(),
                    Value::Object(_) | Value::Array(_) => "several".to_owned(),
                    other => other.to_string(),
                };
                out.push(Difference { place: place.to_owned(), told: shown(a), again: shown(b) });
            }
        }
    }
}

/// Lines of a page that are not the same, the data it carries left out (they are compared leaf by leaf).
fn lines(told: &str, again: &str, out: &mut Vec<Difference>) {
    let body = |t: &str| t.split("<script type=\"application/json\"").next().unwrap_or("").to_owned();
    let (told, again) = (body(told), body(again));
    let (mut a, mut b) = (told.lines(), again.lines());
    let short = |l: &str| l.chars().take(160).collect::<String>();
    for number in 1.. {
        match (a.next(), b.next()) {
            (None, None) => break,
            (x, y) if x == y => {}
            (x, y) => out.push(Difference {
                place: format!("line {number} of the page"),
                told: x.map_or("nothing".to_owned(), short),
                again: y.map_or("nothing".to_owned(), short),
            }),
        }
    }
}

/// Compares a report with itself made again. `page` holds both pages where a page was given.
pub fn compare(told: &Value, again: &Value, provenance: &Provenance, page: Option<[&str; 2]>) -> Repeated {
    let mut differences = Vec::new();
    let mut numbers = 0;
    let mut answers = Vec::new();
    let none = serde_json::Map::new();
    let of = |v: &Value| v.get("answers").and_then(Value::as_object).cloned().unwrap_or_else(|| none.clone());
    let (a, b) = (of(told), of(again));
    let questions: Vec<&String> = a.keys().chain(b.keys().filter(|k| !a.contains_key(*k))).collect();
    for question in questions {
        let (mut count, before) = (0, differences.len());
        let at = |m: &serde_json::Map<String, Value>| m.get(question).cloned().unwrap_or_default();
        leaves(&format!("answers/{question}"), &at(&a), &at(&b), &mut count, &mut differences);
        numbers += count;
        answers.push(AnswerCount {
            question: question.clone(),
            numbers: count,
            different: differences.len() - before,
        });
    }
    for key in ["title", "answer", "doubts", "measured"] {
        let at = |v: &Value| v.get(key).cloned().unwrap_or_default();
        leaves(key, &at(told), &at(again), &mut numbers, &mut differences);
    }
    // What was computed from must itself be what it says.
    let digest = |v: &Value| v.pointer("/provenance/case_digest").cloned().unwrap_or_default();
    leaves("provenance/case_digest", &digest(told), &digest(again), &mut 0, &mut differences);
    if let Some([told, again]) = page {
        lines(told, again, &mut differences);
    }
    let title = again.get("title").and_then(Value::as_str).unwrap_or("").to_owned();
    Repeated {
        schema_version: LAYOUT,
        title,
        told_by: provenance.version.clone(),
        again_by: VERSION.to_owned(),
        numbers,
        answers,
        differences,
        same_page: page.map(|[a, b]| a == b),
    }
}

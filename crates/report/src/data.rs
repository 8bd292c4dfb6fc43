//! The report as data: the numbers told, and everything that is needed to compute them again.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use calotte_desk::{PROGRAM, Refusal, Reply, VERSION};
use calotte_specimen::{Case, fingerprint};
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value, json};

use crate::measured::Compared;
use crate::request::{Given, Paper, Request};

/// Version of the layout of `report.json`.
pub const LAYOUT: u32 = 1;
/// What the data call themselves.
pub const KIND: &str = "report";
/// Numbers in a list above which it is told by its length and fingerprint.
const LONGEST: usize = 24;

/// A file carried as text where it is text, and in base64 where not.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Kept {
    /// Its name.
    pub name: String,
    /// Its text.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub text: Option<String>,
    /// Its bytes, where they are no text.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub base64: Option<String>,
}

impl Kept {
    /// A file as it is carried.
    pub fn of(file: &Given) -> Self {
        match std::str::from_utf8(&file.bytes) {
            Ok(text) => Self { name: file.name.clone(), text: Some(text.to_owned()), base64: None },
            Err(_) => {
                Self { name: file.name.clone(), text: None, base64: Some(STANDARD.encode(&file.bytes)) }
            }
        }
    }
    /// The file again.
    ///
    /// # Errors
    /// In words, where it holds neither text nor base64.
    pub fn given(&self) -> Result<Given, String> {
        let bytes = match (&self.text, &self.base64) {
            (Some(text), None) => text.clone().into_bytes(),
            (None, Some(code)) => STANDARD.decode(code).map_err(|e| format!("file `{}`: {e}", self.name))?,
            _ => return Err(format!("file `{}`: holds neither text nor base64", self.name)),
        };
        Ok(Given { name: self.name.clone(), bytes })
    }
}

/// What computed the report, and from what.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Provenance {
    /// Name of the program.
    pub program: String,
    /// Its version.
    pub version: String,
    /// Fingerprint of the case and the files it names.
    pub case_digest: String,
    /// The case file.
    pub case: Kept,
    /// Files that it names.
    pub files: Vec<Kept>,
    /// Answers about measurements.
    pub measured: Vec<Kept>,
    /// Measured specimens.
    pub specimens: Option<Kept>,
    /// Questions added.
    pub with: Vec<String>,
    /// Questions left out.
    pub without: Vec<String>,
    /// Date as printed.
    pub date: Option<String>,
    /// Paper of the PDF.
    pub paper: Paper,
}

impl Provenance {
    /// Of a request.
    pub(crate) fn of(case: &Case, r: &Request) -> Self {
        let kept = |files: &[Given]| files.iter().map(Kept::of).collect();
        let text = Given { name: r.case_name.clone(), bytes: case.text().as_bytes().to_vec() };
        Self {
            program: PROGRAM.to_owned(),
            version: VERSION.to_owned(),
            case_digest: case.digest(),
            case: Kept::of(&text),
            files: kept(&r.side_files),
            measured: kept(&r.measured),
            specimens: r.specimens.as_ref().map(Kept::of),
            with: r.with.clone(),
            without: r.without.clone(),
            date: r.date.clone(),
            paper: r.paper,
        }
    }
    /// The request again.
    ///
    /// # Errors
    /// In words, where a carried file is damaged.
    pub fn request(&self) -> Result<Request, String> {
        let files = |kept: &[Kept]| kept.iter().map(Kept::given).collect::<Result<Vec<_>, _>>();
        Ok(Request {
            with: self.with.clone(),
            without: self.without.clone(),
            date: self.date.clone(),
            paper: self.paper,
            measured: files(&self.measured)?,
            specimens: self.specimens.as_ref().map(Kept::given).transpose()?,
            case_name: self.case.name.clone(),
            side_files: files(&self.files)?,
        })
    }
}

/// A report with long lists told by length and fingerprint, its provenance left out.
fn short(v: &Value) -> Value {
    match v {
        Value::Array(list) if list.len() > LONGEST => {
            json!({ "length": list.len(), "fingerprint": fingerprint(v.to_string().as_bytes()) })
        }
        Value::Array(list) => Value::Array(list.iter().map(short).collect()),
        Value::Object(map) => Value::Object(
            map.iter()
                .filter(|(k, _)| *k != "provenance")
                .map(|(k, v)| (k.clone(), short(v)))
                .collect::<Map<_, _>>(),
        ),
        other => other.clone(),
    }
}

/// Everything, as `report.json` holds it.
///
/// # Errors
/// [`Refusal::Failed`] when it cannot be told as JSON, which nothing does.
pub(crate) fn data(
    case: &Case,
    request: &Request,
    replies: &[Reply],
    compared: &[Compared],
    answer: &str,
    doubts: &[String],
) -> Result<Value, Refusal> {
    let failed = |e: serde_json::Error| Refusal::Failed { says: e.to_string() };
    let answers: Map<String, Value> =
        replies.iter().map(|r| (r.question.to_owned(), short(&r.report))).collect();
    Ok(json!({
        "schema_version": LAYOUT,
        "kind": KIND,
        "title": case.title,
        "answer": answer,
        "doubts": doubts,
        "provenance": serde_json::to_value(Provenance::of(case, request)).map_err(failed)?,
        "answers": answers,
        "measured": serde_json::to_value(compared).map_err(failed)?,
    }))
}

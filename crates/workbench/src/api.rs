//! What goes over the wire, as types. `docs/page.md` describes it for people.

use std::collections::BTreeMap;

use calotte_specimen::TableForm;
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// A question about a case, as the page sends it.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(deny_unknown_fields)]
pub(crate) struct Ask {
    /// The case file.
    pub(crate) text: String,
    /// Files that the case names, by the name written there.
    #[serde(default)]
    pub(crate) files: BTreeMap<String, String>,
    /// Options of the question.
    #[serde(default)]
    #[cfg_attr(test, ts(type = "Record<string, unknown>"))]
    pub(crate) options: Value,
    /// What to send besides sheet and report.
    #[serde(default)]
    pub(crate) want: Wants,
    /// A name that the page gave itself; work of one page waits behind its own only. Empty: none.
    #[serde(default)]
    pub(crate) page: String,
}

/// What to send besides sheet and report.
#[derive(Clone, Copy, Debug, Default, Deserialize, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(deny_unknown_fields, default)]
pub struct Wants {
    /// Shapes for moving pictures.
    pub film: bool,
    /// Figures as SVG and PNG.
    pub figures: bool,
    /// Tables as CSV.
    pub tables: bool,
}

/// The same on its way to a worker.
#[derive(Clone, Debug, Deserialize, Serialize)]
pub(crate) struct Job {
    pub(crate) question: String,
    pub(crate) text: String,
    pub(crate) files: BTreeMap<String, String>,
    pub(crate) options: Value,
    pub(crate) want: Wants,
}

/// A line of an answer's stream.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "lowercase")]
pub enum Line {
    /// What the reader of the case says; the first line.
    Findings(Vec<FindingLine>),
    /// How far the work is.
    Progress(ProgressLine),
    /// The answer; the last line.
    Answer(Box<AnswerLine>),
    /// No answer; the last line.
    Refused(Refused),
}

/// How far the work is.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct ProgressLine {
    /// From 0 to 1; null when the end is not known.
    pub share: Option<f64>,
    /// What is being done.
    pub words: String,
}

/// A remark of the case reader, at its place.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct FindingLine {
    /// `error` or `warning`.
    #[cfg_attr(test, ts(type = "\"error\" | \"warning\""))]
    pub level: &'static str,
    /// The file it is about; null for the case itself.
    pub file: Option<String>,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// First byte at fault.
    pub from: usize,
    /// Byte behind the last one at fault.
    pub to: usize,
    /// The key at fault, `table.name`; null where there is none.
    pub key: Option<String>,
    /// What is wrong.
    pub says: String,
    /// What to do.
    pub hint: Option<String>,
}

/// An answer.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct AnswerLine {
    /// The question.
    pub question: String,
    /// How long it was worked on, s.
    pub seconds: f64,
    /// What the terminal prints, in pieces.
    #[cfg_attr(test, ts(type = "import(\"../api/Sheet\").Sheet"))]
    pub sheet: Value,
    /// What `--json` prints.
    #[cfg_attr(test, ts(type = "unknown"))]
    pub report: Value,
    /// Whether the evidence carries no verdict.
    pub doubtful: bool,
    /// Shapes, where wanted and there are any.
    #[cfg_attr(test, ts(type = "import(\"../api/Film\").Film | null"))]
    pub film: Option<Value>,
    /// Figures, where wanted.
    pub figures: Vec<FigureLine>,
    /// Tables, where wanted.
    pub tables: Vec<TableLine>,
}

/// A figure.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct FigureLine {
    /// Short name, fit for a file.
    pub name: String,
    /// A complete SVG file.
    pub svg: String,
    /// The same as PNG, in base 64.
    pub png: String,
    /// What a reader who cannot see it should know.
    pub alt: String,
    /// A caption fit for print.
    pub caption: String,
}

/// A table.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct TableLine {
    /// Short name, fit for a file.
    pub name: String,
    /// The table.
    pub csv: String,
}

/// Why there is no answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// The case has errors.
    Case,
    /// The question cannot be asked of this case, not like this, or not by whoever asked.
    Question,
    /// Too much is waiting.
    Busy,
    /// It took longer than the limit.
    Slow,
    /// Somebody stopped it, or a newer question took its place.
    Stopped,
    /// The program failed.
    Failed,
}

/// No answer, and why.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Refused {
    /// What kind of reason.
    pub kind: Kind,
    /// The reason.
    pub says: String,
    /// What to do.
    pub help: Option<String>,
}

impl Refused {
    pub(crate) fn new(kind: Kind, says: impl Into<String>) -> Self {
        Self { kind, says: says.into(), help: None }
    }

    pub(crate) fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// As the last line of a stream.
    pub(crate) fn line(self) -> String {
        to_line(&Line::Refused(self))
    }
}

/// A line of a stream, its end included.
pub(crate) fn to_line(line: &Line) -> String {
    let text = serde_json::to_string(line);
    // Only maps whose keys are no strings, or numbers JSON lacks, fail; there are none here.
    text.map_or_else(
        |e| {
            format!(
                "{{\"refused\":{{\"kind\":\"failed\",\"says\":\"{}\",\"help\":null}}}}\n",
                e.to_string().replace(['"', '\\'], "'")
            )
        },
        |t| t + "\n",
    )
}

/// What the page must know before it asks.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct About {
    /// Name of the program.
    pub program: &'static str,
    /// Its version.
    pub version: &'static str,
    /// What is too much.
    pub limits: Limits,
    /// Whether the program was built without its page.
    pub node_missing: bool,
    /// Tables and keys of a case file.
    #[cfg_attr(test, ts(type = "Array<import(\"../api/TableForm\").TableForm>"))]
    pub tables: Vec<TableForm>,
    /// Materials in stock.
    pub shelf: Vec<Named>,
    /// Worked cases.
    pub cases: Vec<CaseName>,
    /// Kinds of new cases; `/api/cases/new-KIND` has each.
    pub templates: Vec<&'static str>,
    /// The folder where cases may be kept; null without one.
    pub folder: Option<FolderName>,
}

/// What is too much.
#[derive(Clone, Copy, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Limits {
    /// Largest body of a request, bytes.
    pub body_bytes: usize,
    /// Time for `look` and `verdict`, s.
    pub quick_seconds: f64,
    /// Time for the other questions, s.
    pub long_seconds: f64,
}

/// Something with a name.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Named {
    /// Its name.
    pub name: &'static str,
    /// What it is.
    pub says: &'static str,
}

/// A worked case.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct CaseName {
    /// Name of its folder.
    pub name: String,
    /// Its title.
    pub title: String,
    /// What it shows.
    pub says: String,
}

/// The folder where cases may be kept.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct FolderName {
    /// Its name, without the way to it.
    pub name: String,
}

/// Names of the cases in the folder.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct FolderFiles {
    /// Case files, sorted.
    pub files: Vec<String>,
}

/// A case with the files it names.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct CaseFiles {
    /// Its name.
    pub name: String,
    /// The case file.
    pub text: String,
    /// Files that it names.
    pub files: BTreeMap<String, String>,
}

/// A case to keep in the folder.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Keep {
    /// The case file.
    pub(crate) text: String,
    /// Files beside it.
    #[serde(default)]
    pub(crate) files: BTreeMap<String, String>,
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use ts_rs::{Config, TS};

    fn file<T: TS + 'static>() -> (String, String) {
        let config = Config::new().with_large_int("number");
        let text = T::export_to_string(&config).unwrap();
        (T::ident(&config), text.lines().map(|l| format!("{}\n", l.trim_end())).collect())
    }

    /// `UPDATE_API=1` writes the files anew.
    #[test]
    fn typescript_is_fresh() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../ui/src/wire");
        let mut all = vec![
            file::<About>(),
            file::<AnswerLine>(),
            file::<Ask>(),
            file::<CaseFiles>(),
            file::<CaseName>(),
            file::<FigureLine>(),
            file::<FindingLine>(),
            file::<FolderFiles>(),
            file::<FolderName>(),
            file::<Kind>(),
            file::<Limits>(),
            file::<Line>(),
            file::<Named>(),
            file::<ProgressLine>(),
            file::<Refused>(),
            file::<TableLine>(),
            file::<Wants>(),
        ];
        let index: String =
            all.iter().map(|(n, _)| format!("export type {{ {n} }} from \"./{n}\";\n")).collect();
        all.push((
            "index".to_owned(),
            format!("// What goes between page and server, generated from the server's types.\n\n{index}"),
        ));
        for (name, text) in all {
            let path = folder.join(format!("{name}.ts"));
            if std::env::var_os("UPDATE_API").is_some() {
                std::fs::create_dir_all(&folder).unwrap();
                std::fs::write(&path, &text).unwrap();
            }
            let kept = std::fs::read_to_string(&path).unwrap_or_default();
            assert!(kept == text, "{name}.ts is stale: run the tests with UPDATE_API=1");
        }
    }
}

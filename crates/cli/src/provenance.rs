//! What produced an answer.

use calotte_specimen::Case;
use serde::Serialize;

/// The answer with its provenance, as printed by `--json`.
#[derive(Serialize)]
pub(crate) struct Answer<'a, R> {
    provenance: Provenance,
    #[serde(flatten)]
    report: &'a R,
}

#[derive(Serialize)]
struct Provenance {
    program: &'static str,
    version: &'static str,
    case_digest: String,
    inputs: Vec<GivenInput>,
    notes: Vec<String>,
}

#[derive(Serialize)]
struct GivenInput {
    key: String,
    value_si: f64,
    half_width_si: Option<f64>,
    unit_as_written: String,
    from_shelf: bool,
}

impl<'a, R> Answer<'a, R> {
    pub(crate) fn new(case: &Case, report: &'a R) -> Self {
        let input = |i: &calotte_specimen::Input| GivenInput {
            key: i.key.clone(),
            value_si: i.value,
            half_width_si: i.half_width,
            unit_as_written: i.unit.clone(),
            from_shelf: i.from_shelf,
        };
        let provenance = Provenance {
            program: env!("CARGO_PKG_NAME"),
            version: env!("CARGO_PKG_VERSION"),
            case_digest: case.digest(),
            inputs: case.inputs().iter().map(input).collect(),
            notes: case.notes().to_vec(),
        };
        Self { provenance, report }
    }
}

/// An answer about a table alone, with its provenance.
#[derive(Serialize)]
pub(crate) struct TableAnswer<'a, R> {
    provenance: TableProvenance,
    #[serde(flatten)]
    report: &'a R,
}

#[derive(Serialize)]
struct TableProvenance {
    program: &'static str,
    version: &'static str,
    table: String,
    table_digest: String,
}

impl<'a, R> TableAnswer<'a, R> {
    pub(crate) fn new(table: &str, digest: &str, report: &'a R) -> Self {
        let provenance = TableProvenance {
            program: env!("CARGO_PKG_NAME"),
            version: env!("CARGO_PKG_VERSION"),
            table: table.to_owned(),
            table_digest: digest.to_owned(),
        };
        Self { provenance, report }
    }
}

/// Provenance as lines of a table's head.
pub(crate) fn facts(case: &Case) -> Vec<(String, String)> {
    let mut out = vec![
        ("program".to_owned(), format!("{} {}", env!("CARGO_PKG_NAME"), env!("CARGO_PKG_VERSION"))),
        ("case".to_owned(), case.title.clone()),
        ("case_digest".to_owned(), case.digest()),
    ];
    out.extend(case.inputs().iter().map(|i| (i.key.clone(), i.to_string())));
    out
}

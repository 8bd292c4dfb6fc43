//! What produced an answer.

use calotte_specimen::Case;
use serde::Serialize;
use serde_json::Value;

use crate::reply::Refusal;

/// Name of the program, as answers and tables state it.
pub const PROGRAM: &str = "calotte";
/// Its version: that of the workspace.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");

#[derive(Serialize)]
struct Answer<'a, R> {
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

/// A report with its provenance, as `--json` prints it.
///
/// # Errors
/// [`Refusal::Failed`] when the report cannot be told as JSON, which none does.
pub fn with_provenance(case: &Case, report: &impl Serialize) -> Result<Value, Refusal> {
    let input = |i: &calotte_specimen::Input| GivenInput {
        key: i.key.clone(),
        value_si: i.value,
        half_width_si: i.half_width,
        unit_as_written: i.unit.clone(),
        from_shelf: i.from_shelf,
    };
    let provenance = Provenance {
        program: PROGRAM,
        version: VERSION,
        case_digest: case.digest(),
        inputs: case.inputs().iter().map(input).collect(),
        notes: case.notes().to_vec(),
    };
    serde_json::to_value(Answer { provenance, report }).map_err(|e| Refusal::Failed { says: e.to_string() })
}

/// Provenance as lines of a table's head.
pub fn facts(case: &Case) -> Vec<(String, String)> {
    let mut out = vec![
        ("program".to_owned(), format!("{PROGRAM} {VERSION}")),
        ("case".to_owned(), case.title.clone()),
        ("case_digest".to_owned(), case.digest()),
    ];
    out.extend(case.inputs().iter().map(|i| (i.key.clone(), i.to_string())));
    out
}

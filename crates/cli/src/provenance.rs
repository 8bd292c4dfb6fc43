//! What produced an answer.

use calotte_answers::report::VerdictReport;
use calotte_specimen::Case;
use serde::Serialize;

/// The answer with its provenance, as printed by `--json`.
#[derive(Serialize)]
pub(crate) struct Answer<'a> {
    provenance: Provenance,
    #[serde(flatten)]
    report: &'a VerdictReport,
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

impl<'a> Answer<'a> {
    pub(crate) fn new(case: &Case, report: &'a VerdictReport) -> Self {
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

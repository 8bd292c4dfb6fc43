//! Exceptions: one tree under `CalotteError`, whose members stand in `calotte/_errors.py`.

use calotte_desk::Refusal;
use calotte_specimen::{File, Finding, Level, place};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};

pyo3::import_exception!(calotte._errors, CaseError);
pyo3::import_exception!(calotte._errors, PlanError);
pyo3::import_exception!(calotte._errors, QuestionError);
pyo3::import_exception!(calotte._errors, FailedError);
pyo3::import_exception!(calotte._errors, FolderError);

/// A refusal as an exception; one that was stopped is the interrupt that stopped it.
pub(crate) fn refused(refusal: &Refusal) -> PyErr {
    match refusal {
        Refusal::Question { says, help } => QuestionError::new_err((says.clone(), help.clone())),
        Refusal::Stopped => pyo3::exceptions::PyKeyboardInterrupt::new_err("stopped"),
        Refusal::Failed { says } => FailedError::new_err(says.clone()),
    }
}

/// Findings as a list of dictionaries: level, file, line, column, text of the line, what is wrong, what to do.
pub(crate) fn findings<'py>(
    py: Python<'py>,
    name: &str,
    bytes: &[u8],
    beside: &dyn Fn(&str) -> Vec<u8>,
    found: &[Finding],
) -> PyResult<Bound<'py, PyList>> {
    let out = PyList::empty(py);
    for f in found {
        let (file, content) = match &f.file {
            File::Case => (name.to_owned(), bytes.to_vec()),
            File::Other(other) => (other.clone(), beside(other)),
        };
        let at = place(&content, f.span.start);
        let line = content.split(|b| *b == b'\n').nth(at.line.saturating_sub(1)).unwrap_or_default();
        let d = PyDict::new(py);
        d.set_item("level", if f.level == Level::Error { "error" } else { "warning" })?;
        d.set_item("file", file)?;
        d.set_item("line", at.line)?;
        d.set_item("column", at.column)?;
        d.set_item("text", String::from_utf8_lossy(line).trim_end().to_owned())?;
        d.set_item("says", &f.says)?;
        d.set_item("hint", f.hint.as_deref())?;
        out.append(d)?;
    }
    Ok(out)
}

//! A case, read from the text of a case file.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

use calotte_quantity::Quantity;
use calotte_specimen::{Case as Specimen, Level, json_schema, new_template, read_case};
use pyo3::prelude::*;
use pyo3::types::{PyBytes, PyDict, PyList};

use crate::asked;
use crate::failure::{CaseError, QuestionError, findings};
use crate::told::Reply;

/// A whole and consistent case. What is asked of it does not change it.
#[pyclass(frozen, module = "calotte._core")]
pub(crate) struct Case {
    pub(crate) case: Arc<Specimen>,
    /// Files that the case names, by the names written there.
    beside: BTreeMap<String, Vec<u8>>,
}

#[pymethods]
impl Case {
    /// Reads a case. Files that it names come from `beside` (name to bytes) or, where that is None, from `folder`. Gives the case
    /// and its warnings.
    #[staticmethod]
    #[pyo3(signature = (text, name, folder, beside))]
    fn read<'py>(
        py: Python<'py>,
        text: &[u8],
        name: &str,
        folder: Option<PathBuf>,
        beside: Option<BTreeMap<String, Vec<u8>>>,
    ) -> PyResult<(Self, Bound<'py, PyList>)> {
        let opened = RefCell::new(BTreeMap::new());
        let open = |other: &str| {
            let content = match (&beside, &folder) {
                (Some(given), _) if given.contains_key(other) => {
                    given.get(other).cloned().unwrap_or_default()
                }
                (_, Some(folder)) => std::fs::read(folder.join(other))?,
                _ => {
                    let says =
                        "no folder is known to look for it: read the case from its file, or give `folder`";
                    return Err(std::io::Error::new(std::io::ErrorKind::NotFound, says));
                }
            };
            opened.borrow_mut().insert(other.to_owned(), content.clone());
            Ok(content)
        };
        let (case, found) = read_case(text, &open);
        let opened = opened.into_inner();
        let told = findings(py, name, text, &|n| opened.get(n).cloned().unwrap_or_default(), &found)?;
        match case {
            Some(case) => {
                debug_assert!(found.iter().all(|f| f.level == Level::Warning));
                Ok((Self { case: Arc::new(case), beside: opened }, told))
            }
            None => Err(CaseError::new_err((name.to_owned(), told.unbind()))),
        }
    }

    #[getter]
    fn title(&self) -> &str {
        &self.case.title
    }

    #[getter]
    fn text(&self) -> &str {
        self.case.text()
    }

    #[getter]
    fn digest(&self) -> String {
        self.case.digest()
    }

    /// Files that it names, by name.
    fn beside<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let out = PyDict::new(py);
        for (name, content) in &self.beside {
            out.set_item(name, PyBytes::new(py, content))?;
        }
        Ok(out)
    }

    /// Every number that entered: key, SI value, half-width of its tolerance, unit as written, the number in words.
    fn inputs(&self) -> Vec<(String, f64, Option<f64>, String, String)> {
        let one = |i: &calotte_specimen::Input| {
            (i.key.clone(), i.value, i.half_width, i.unit.clone(), i.to_string())
        };
        self.case.inputs().iter().map(one).collect()
    }

    /// The text of the case with other numbers; each is SI, or a text with a unit.
    fn rewritten(&self, changes: Vec<(String, Bound<'_, PyAny>)>) -> PyResult<String> {
        let mut si = Vec::with_capacity(changes.len());
        for (key, value) in changes {
            let at = input(&self.case, &key)?;
            let of = &self.case.inputs()[at];
            let number = match value.extract::<f64>() {
                Ok(number) => number,
                Err(_) => {
                    let text: String = value.extract()?;
                    let read = Quantity::parse(&text, of.dimension);
                    let wrong = |e: calotte_quantity::QuantityError| {
                        QuestionError::new_err((
                            format!("`{key}` = {text}: {e}"),
                            e.hint().map(|h| h.to_string()),
                        ))
                    };
                    read.map_err(wrong)?.value
                }
            };
            if !number.is_finite() {
                let says = format!("`{key}`: a finite number is wanted, not {number}");
                return Err(QuestionError::new_err((says, None::<String>)));
            }
            si.push((at, number));
        }
        self.case.rewritten(&si).map_err(|why| QuestionError::new_err((why, None::<String>)))
    }

    /// Asks a question with its options as JSON.
    #[pyo3(signature = (question, options, figures, tables, film, threads, progress))]
    #[allow(clippy::fn_params_excessive_bools, reason = "each is a keyword on the other side")]
    fn ask(
        &self,
        py: Python<'_>,
        question: String,
        options: &str,
        figures: bool,
        tables: bool,
        film: bool,
        threads: usize,
        progress: Option<Bound<'_, PyAny>>,
    ) -> PyResult<Reply> {
        let want = asked::want(figures, tables, film, threads);
        asked::ask(py, &self.case, question, options, want, progress.as_ref())
    }

    /// Why a question makes no sense for this case; None when it does.
    fn refuses(&self, question: &str) -> Option<String> {
        calotte_desk::refuse(&self.case, question).err().map(|r| r.line())
    }
}

/// The place of a number among the inputs of a case.
pub(crate) fn input(case: &Specimen, key: &str) -> PyResult<usize> {
    let keys = || case.inputs().iter().map(|i| i.key.as_str());
    keys().position(|k| k == key).ok_or_else(|| {
        let help = calotte_quantity::nearest(key, keys()).map_or_else(
            || format!("its numbers are {}", keys().collect::<Vec<_>>().join(", ")),
            |near| format!("did you mean `{near}`?"),
        );
        QuestionError::new_err((format!("the case has no number `{key}`"), Some(help)))
    })
}

/// A commented case to start from: cap, disc, key, cone or bowl.
#[pyfunction]
pub(crate) fn template(kind: &str) -> PyResult<&'static str> {
    new_template(kind).ok_or_else(|| {
        let help = Some("kinds are cap, disc, key, cone, bowl");
        QuestionError::new_err((format!("there is no kind of part `{kind}`"), help))
    })
}

/// The JSON schema of case files.
#[pyfunction]
pub(crate) fn schema() -> String {
    json_schema()
}

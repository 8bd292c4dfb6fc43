//! Answers on their way to Python: text, JSON, figures, tables.

use calotte_desk::Reply as Desk;
use calotte_figures::{Figure, Style, png};
use calotte_runs::{Kind, Table, Value};
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::{PyBytes, PyDict, PyList};

use crate::failure::{FailedError, QuestionError};

/// An answer as the desk gave it.
#[pyclass(frozen, module = "calotte._core")]
pub(crate) struct Reply {
    #[pyo3(get)]
    question: &'static str,
    #[pyo3(get)]
    doubtful: bool,
    /// Its words, as the command prints them.
    #[pyo3(get)]
    text: String,
    /// Its JSON, as the command prints it with `--json`.
    #[pyo3(get)]
    json: String,
    /// Shapes as JSON, where they were wanted.
    #[pyo3(get)]
    film: Option<String>,
    figures: Vec<Figure>,
    tables: Vec<(String, Table)>,
}

fn failed(e: impl std::fmt::Display) -> PyErr {
    FailedError::new_err(e.to_string())
}

impl Reply {
    pub(crate) fn new(reply: Desk) -> Result<Self, serde_json::Error> {
        Ok(Self {
            question: reply.question,
            doubtful: reply.doubtful,
            text: reply.sheet.text(),
            json: serde_json::to_string_pretty(&reply.report)?,
            film: reply.film.as_ref().map(serde_json::to_string).transpose()?,
            figures: reply.figures,
            tables: reply.tables,
        })
    }

    fn figure(&self, name: &str) -> PyResult<&Figure> {
        let figure = self.figures.iter().find(|f| f.name == name);
        let figure = figure.ok_or_else(|| {
            let names: Vec<_> = self.figures.iter().map(|f| f.name).collect();
            let help = match names.is_empty() {
                true => "this answer has none".to_owned(),
                false => format!("its figures are {}", names.join(", ")),
            };
            QuestionError::new_err((format!("there is no figure `{name}`"), Some(help)))
        })?;
        match &figure.misfit {
            Some(misfit) => Err(QuestionError::new_err((misfit.to_string(), None::<String>))),
            None => Ok(figure),
        }
    }

    fn table_of(&self, name: &str) -> PyResult<&Table> {
        self.tables.iter().find(|(n, _)| n == name).map(|(_, t)| t).ok_or_else(|| {
            let names: Vec<_> = self.tables.iter().map(|(n, _)| n.as_str()).collect();
            let help = match names.is_empty() {
                true => "this answer has none".to_owned(),
                false => format!("its tables are {}", names.join(", ")),
            };
            QuestionError::new_err((format!("there is no table `{name}`"), Some(help)))
        })
    }
}

#[pymethods]
impl Reply {
    fn figure_names(&self) -> Vec<&'static str> {
        self.figures.iter().map(|f| f.name).collect()
    }

    /// SVG, data as CSV, words for those who cannot see it, caption.
    fn figure_parts(&self, name: &str) -> PyResult<(String, String, String, String)> {
        let f = self.figure(name)?;
        Ok((f.svg.clone(), f.data.clone(), f.alt.clone(), f.caption.clone()))
    }

    fn figure_png<'py>(&self, py: Python<'py>, name: &str) -> PyResult<Bound<'py, PyBytes>> {
        let svg = &self.figure(name)?.svg;
        let bytes = py.detach(|| png(svg, Style::default().png_scale()).map_err(|e| e.to_string()));
        Ok(PyBytes::new(py, &bytes.map_err(failed)?))
    }

    fn figure_pdf<'py>(&self, py: Python<'py>, name: &str) -> PyResult<Bound<'py, PyBytes>> {
        let f = self.figure(name)?;
        let bytes = py.detach(|| calotte_paper::figure(f).map_err(|e| e.to_string()));
        Ok(PyBytes::new(py, &bytes.map_err(failed)?))
    }

    fn table_names(&self) -> Vec<String> {
        self.tables.iter().map(|(n, _)| n.clone()).collect()
    }

    fn table<'py>(&self, py: Python<'py>, name: &str) -> PyResult<Bound<'py, PyDict>> {
        columns(py, self.table_of(name)?)
    }

    fn table_parquet<'py>(&self, py: Python<'py>, name: &str) -> PyResult<Bound<'py, PyBytes>> {
        Ok(PyBytes::new(py, &self.table_of(name)?.to_parquet().map_err(failed)?))
    }

    fn table_csv<'py>(&self, py: Python<'py>, name: &str) -> PyResult<Bound<'py, PyBytes>> {
        Ok(PyBytes::new(py, &self.table_of(name)?.to_csv()))
    }
}

/// A table by columns, in order: numbers as float64 with NaN for gaps, whole numbers as int64 (as float64 where there are gaps),
/// flags and texts as lists with None for gaps. Beside each its unit and what it holds.
fn columns<'py>(py: Python<'py>, table: &Table) -> PyResult<Bound<'py, PyDict>> {
    let out = PyDict::new(py);
    for (i, column) in table.columns.iter().enumerate() {
        let cells = || table.rows.iter().map(move |r| &r[i]);
        let gaps = cells().any(|v| *v == Value::Missing);
        let values = match column.kind {
            Kind::Count if !gaps => {
                let whole = cells().map(|v| if let Value::Count(n) = v { *n } else { 0 });
                PyArray1::from_iter(py, whole).into_any()
            }
            Kind::Number | Kind::Count => {
                let number = cells().map(|v| match v {
                    Value::Number(x) => *x,
                    Value::Count(n) => *n as f64,
                    _ => f64::NAN,
                });
                PyArray1::from_iter(py, number).into_any()
            }
            Kind::Text => {
                let text = cells().map(|v| if let Value::Text(t) = v { Some(t.as_str()) } else { None });
                PyList::new(py, text.collect::<Vec<_>>())?.into_any()
            }
            Kind::Flag => {
                let flag = cells().map(|v| if let Value::Flag(b) = v { Some(*b) } else { None });
                PyList::new(py, flag.collect::<Vec<_>>())?.into_any()
            }
        };
        out.set_item(&column.name, (values, &column.unit, &column.about))?;
    }
    Ok(out)
}

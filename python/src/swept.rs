//! Sweeps: a plan with its case, computed chunk by chunk into a folder.

use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use calotte_desk::Refusal;
use calotte_runs::Value;
use calotte_specimen::Case as Specimen;
use calotte_sweep::{Damaged, Place, Plan, Sweep as Ready, read_plan};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};

use crate::failure::{FolderError, PlanError, QuestionError, findings};
use crate::watched::{Watched, watched};

self_cell::self_cell!(
    /// A sweep with the plan and the case that it stands on.
    struct OnPlan {
        owner: (Plan, Specimen),
        #[covariant]
        dependent: Ready,
    }
);

/// A plan, ready to be asked.
#[pyclass(frozen, module = "calotte._core")]
pub(crate) struct Sweep {
    on: Arc<OnPlan>,
}

/// What the folder refuses.
fn folder(refusal: &Refusal) -> PyErr {
    match refusal {
        Refusal::Question { says, help } => FolderError::new_err((says.clone(), help.clone())),
        other => FolderError::new_err((other.to_string(), None::<String>)),
    }
}

fn damaged(py: Python<'_>, found: &[Damaged]) -> PyResult<Py<PyList>> {
    let out = PyList::empty(py);
    for d in found {
        out.append((d.chunk, &d.why, &d.set_aside))?;
    }
    Ok(out.unbind())
}

/// Bytes of a file by its name: given ones first, then those of a folder.
struct Files {
    given: BTreeMap<String, Vec<u8>>,
    folder: Option<PathBuf>,
}

impl Files {
    fn open(&self, name: &str) -> io::Result<Vec<u8>> {
        match (self.given.get(name), &self.folder) {
            (Some(bytes), _) => Ok(bytes.clone()),
            (None, Some(folder)) => std::fs::read(folder.join(name)),
            (None, None) => Err(io::Error::new(io::ErrorKind::NotFound, "no folder is known to look for it")),
        }
    }
}

#[pymethods]
impl Sweep {
    /// Reads a plan. Files that it names come from `beside` (name to bytes) or, where they are not there, from `folder`; those that
    /// the case names from beside it. Gives the sweep and the warnings.
    #[staticmethod]
    #[pyo3(signature = (text, name, folder, beside))]
    fn read<'py>(
        py: Python<'py>,
        text: Vec<u8>,
        name: &str,
        folder: Option<PathBuf>,
        beside: BTreeMap<String, Vec<u8>>,
    ) -> PyResult<(Self, Bound<'py, PyList>)> {
        let files = Files { given: beside, folder };
        let read = read_plan(&text, &|other| files.open(other), &|case, other| {
            let near = Path::new(case).parent().unwrap_or(Path::new("")).join(other);
            files.open(&near.to_string_lossy())
        });
        let told =
            findings(py, name, &text, &|n| read.files.get(n).cloned().unwrap_or_default(), &read.findings)?;
        if let Some(case) = &read.case_name {
            let content = read.files.get(case).cloned().unwrap_or_default();
            let beside = |n: &str| read.case_files.get(n).cloned().unwrap_or_default();
            for finding in findings(py, case, &content, &beside, &read.case_findings)? {
                told.append(finding)?;
            }
        }
        let Some(plan) = read.plan else {
            return Err(PlanError::new_err((name.to_owned(), told.unbind())));
        };
        let made = watched(py, None, move |_| OnPlan::try_new(plan, |(plan, case)| Ready::new(plan, case)))?;
        let on = made.map_err(|why| QuestionError::new_err((why, None::<String>)))?;
        Ok((Self { on: Arc::new(on) }, told))
    }

    #[getter]
    fn title(&self) -> &str {
        &self.ready().plan().title
    }

    #[getter]
    fn digest(&self) -> &str {
        self.ready().digest()
    }

    #[getter]
    fn points(&self) -> u64 {
        self.ready().points()
    }

    #[getter]
    fn chunks(&self) -> u64 {
        self.ready().chunks()
    }

    /// Name, unit and content of every column.
    fn columns(&self) -> Vec<(String, String, String)> {
        let of = |c: &calotte_runs::Column| (c.name.clone(), c.unit.clone(), c.about.clone());
        self.ready().job().columns.iter().map(of).collect()
    }

    /// The row of one point, by column; computed now.
    fn row<'py>(&self, py: Python<'py>, point: u64) -> PyResult<Bound<'py, PyDict>> {
        if point >= self.ready().points() {
            let says = format!("there is no point {point}");
            return Err(QuestionError::new_err((
                says,
                Some(format!("points are 0 to {}", self.ready().points() - 1)),
            )));
        }
        let on = Arc::clone(&self.on);
        let cells = watched(py, None, move |_| on.borrow_dependent().row(point))?;
        let out = PyDict::new(py);
        for (column, cell) in self.ready().job().columns.iter().zip(cells) {
            match cell {
                Value::Number(x) => out.set_item(&column.name, x)?,
                Value::Count(n) => out.set_item(&column.name, n)?,
                Value::Text(t) => out.set_item(&column.name, t)?,
                Value::Flag(b) => out.set_item(&column.name, b)?,
                Value::Missing => out.set_item(&column.name, py.None())?,
            }
        }
        Ok(out)
    }

    /// Makes a folder ready: plan, case and manifest in `_sweep/`.
    fn prepare(&self, out: PathBuf) -> PyResult<()> {
        Place::new(&out).prepare(self.ready()).map_err(|e| folder(&e))
    }

    /// Chunks that are missing in a folder, and damaged ones that were set aside: (chunk, what is wrong, where it was put).
    fn missing(&self, py: Python<'_>, out: PathBuf) -> PyResult<(Vec<u64>, Py<PyList>)> {
        let on = Arc::clone(&self.on);
        let found = watched(py, None, move |_| {
            let sweep = on.borrow_dependent();
            let asked: Vec<u64> = (0..sweep.chunks()).collect();
            Place::new(&out).missing(sweep, &asked)
        })?;
        let (missing, broken) = found.map_err(|e| folder(&e))?;
        Ok((missing, damaged(py, &broken)?))
    }

    /// Computes those of the given chunks that are missing in a prepared folder; gives how many were computed, and damaged ones.
    #[pyo3(signature = (out, chunks, threads, progress))]
    fn run(
        &self,
        py: Python<'_>,
        out: PathBuf,
        chunks: Option<Vec<u64>>,
        threads: usize,
        progress: Option<Bound<'_, PyAny>>,
    ) -> PyResult<(usize, Py<PyList>)> {
        let chunks = chunks.unwrap_or_else(|| (0..self.chunks()).collect());
        if let Some(beyond) = chunks.iter().find(|c| **c >= self.chunks()) {
            let says = format!("there is no chunk {beyond}");
            return Err(QuestionError::new_err((
                says,
                Some(format!("chunks are 0 to {}", self.chunks() - 1)),
            )));
        }
        let on = Arc::clone(&self.on);
        let done = watched(py, progress.as_ref(), move |watch| {
            compute(on.borrow_dependent(), &Place::new(&out), &chunks, threads, watch)
        })?;
        let (computed, broken) = done.map_err(|e| folder(&e))?;
        Ok((computed, damaged(py, &broken)?))
    }

    /// Looks at every shard and writes the manifest; gives what there is, as JSON.
    #[pyo3(signature = (out, progress))]
    fn gather(&self, py: Python<'_>, out: PathBuf, progress: Option<Bound<'_, PyAny>>) -> PyResult<String> {
        let on = Arc::clone(&self.on);
        let gathered = watched(py, progress.as_ref(), move |watch| {
            let sweep = on.borrow_dependent();
            let all = sweep.chunks() as f64;
            Place::new(&out).gather(sweep, &mut |done| watch.tell(Some(done as f64 / all), "chunks"))
        })?;
        let gathered = gathered.map_err(|e| folder(&e))?;
        serde_json::to_string(&gathered).map_err(|e| crate::failure::FailedError::new_err(e.to_string()))
    }
}

impl Sweep {
    fn ready(&self) -> &Ready<'_> {
        self.on.borrow_dependent()
    }
}

fn compute(
    sweep: &Ready<'_>,
    place: &Place,
    chunks: &[u64],
    threads: usize,
    watch: &Watched,
) -> Result<(usize, Vec<Damaged>), Refusal> {
    let (missing, damaged) = place.missing(sweep, chunks)?;
    let ended = place.shards(sweep).run(
        &missing,
        0,
        threads,
        &watch.stop,
        &mut |p| watch.tell(Some(p.done as f64 / p.total.max(1) as f64), "points"),
        &|k| sweep.row(k),
    );
    match ended {
        Ok(true) => Ok((missing.len(), damaged)),
        Ok(false) => Err(Refusal::Stopped),
        Err(e) => Err(Refusal::with_help(
            e.to_string(),
            "finished chunks are kept; make room or repair this, then run it again",
        )),
    }
}

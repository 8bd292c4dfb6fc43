//! Readings of many parts that differ from one case in a few numbers: arrays in, arrays out.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use calotte_answers::gauge::{Gauge, Gauges as Set};
use calotte_answers::map::Quantity;
use calotte_quantity::{Dimension, find_unit, nearest, units};
use calotte_runs::{Value, cores, panic_words};
use calotte_solve::Work;
use calotte_specimen::Case as Specimen;
use calotte_sweep::{find_key, threshold_at};
use numpy::{PyArray1, PyReadonlyArray1};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};

use crate::case::Case;
use crate::failure::QuestionError;
use crate::watched::{Watched, watched};

self_cell::self_cell!(
    /// Gauges with the case that they stand on.
    struct OnCase {
        owner: Arc<Specimen>,
        #[covariant]
        dependent: Set,
    }
);

/// Points that a thread takes at a time.
const PIECE: usize = 16;
/// Fewer points than this are read on the calling thread, where they are cheap.
const FEW: usize = 2;

/// Gauges set up on a case: what is known of it is found once.
#[pyclass(frozen, module = "calotte._core")]
pub(crate) struct Gauges {
    on: Arc<OnCase>,
    kinds: Vec<Gauge>,
}

/// What varies, point by point.
struct Varied {
    /// Place among the numbers of the case; none is the depth.
    place: Option<usize>,
    values: Vec<f64>,
}

/// One point.
type Changes = (Vec<(usize, f64)>, Option<f64>);

fn at(varied: &[Varied], k: usize) -> Changes {
    let mut changes = Vec::with_capacity(varied.len());
    let mut depth = None;
    for v in varied {
        match v.place {
            Some(i) => changes.push((i, v.values[k])),
            None => depth = Some(v.values[k]),
        }
    }
    (changes, depth)
}

fn wrong(says: String, help: impl Into<Option<String>>) -> PyErr {
    QuestionError::new_err((says, help.into()))
}

/// The numbers that vary, all of one length and finite.
fn varied(case: &Specimen, keys: &[String], arrays: &[PyReadonlyArray1<'_, f64>]) -> PyResult<Vec<Varied>> {
    let mut out: Vec<Varied> = Vec::with_capacity(keys.len());
    for (key, array) in keys.iter().zip(arrays) {
        let (quantity, _, _) = find_key(key, case).map_err(|(says, help)| wrong(says, help))?;
        let values = array.as_array().to_vec();
        if let Some(k) = values.iter().position(|v| !v.is_finite()) {
            return Err(wrong(
                format!("`{key}`: value {k} is {}", values[k]),
                "finite numbers are wanted: leave such points out".to_owned(),
            ));
        }
        let place = match quantity {
            Quantity::Given(i) => Some(i),
            Quantity::Depth => None,
        };
        if let Some(first) = out.first()
            && first.values.len() != values.len()
        {
            let says =
                format!("`{}` has {} values, `{key}` has {}", keys[0], first.values.len(), values.len());
            return Err(wrong(says, "all arrays are of one length, or single numbers".to_owned()));
        }
        out.push(Varied { place, values });
    }
    Ok(out)
}

/// `each` of all points, in order, on several threads; what is missing was stopped.
fn all<T: Send>(
    count: usize,
    threads: usize,
    watch: &Watched,
    each: &(dyn Fn(usize) -> T + Sync),
) -> Option<Vec<T>> {
    let next = AtomicUsize::new(0);
    let done = AtomicUsize::new(0);
    let pieces = |_| {
        let mut mine = Vec::new();
        loop {
            let start = next.fetch_add(PIECE, Ordering::Relaxed);
            if start >= count || watch.stop.load(Ordering::Relaxed) {
                return mine;
            }
            let end = (start + PIECE).min(count);
            let piece: Vec<T> = (start..end).map(each).collect();
            mine.push((start, piece));
            let now = done.fetch_add(end - start, Ordering::Relaxed) + end - start;
            watch.tell(Some(now as f64 / count as f64), "points");
        }
    };
    let threads = cores(threads).min(count.div_ceil(PIECE)).max(1);
    let mut found: Vec<(usize, Vec<T>)> = match threads {
        1 => pieces(()),
        _ => std::thread::scope(|scope| {
            let team: Vec<_> = (0..threads).map(|_| scope.spawn(|| pieces(()))).collect();
            team.into_iter().flat_map(|t| t.join().unwrap_or_default()).collect()
        }),
    };
    found.sort_by_key(|(start, _)| *start);
    let out: Vec<T> = found.into_iter().flat_map(|(_, piece)| piece).collect();
    (out.len() == count).then_some(out)
}

/// One reading of one gauge: the number, its waves, or why there is none.
type Read = Result<(f64, u32), String>;

fn readings(set: &Set<'_>, kinds: usize, (changes, _): &Changes) -> Vec<Read> {
    let read = catch_unwind(AssertUnwindSafe(|| set.read_in_waves(changes, &mut Work::default())));
    match read {
        Ok(read) => read.into_iter().map(|r| r.map_err(|why| why.to_string())).collect(),
        Err(panic) => {
            vec![
                Err(format!("the computation broke down, a fault of the program: {}", panic_words(&*panic)));
                kinds
            ]
        }
    }
}

/// A threshold: h/h*, h*, certified, note.
type Threshold = (f64, f64, bool, Option<String>);

fn threshold(set: &Set<'_>, case: &Specimen, (changes, depth): &Changes) -> Threshold {
    let (cells, note) = threshold_at(case, set, changes, *depth);
    let number = |i: usize| match cells.get(i) {
        Some(Value::Number(x)) => *x,
        _ => f64::NAN,
    };
    (number(0), number(1), matches!(cells.get(2), Some(Value::Flag(true))), note)
}

#[pymethods]
impl Gauges {
    #[new]
    #[pyo3(signature = (case, kinds))]
    fn new(py: Python<'_>, case: &Case, kinds: Vec<String>) -> PyResult<Self> {
        let named = |name: &String| {
            Gauge::named(name).ok_or_else(|| {
                let names = || Gauge::ALL.into_iter().map(Gauge::name);
                let help = nearest(name, names()).map_or_else(
                    || {
                        format!(
                            "gauges are {}",
                            names().collect::<Vec<_>>().join(", ").replace(' ', "_").replace(",_", ", ")
                        )
                    },
                    |near| format!("did you mean `{}`?", near.replace(' ', "_")),
                );
                wrong(format!("there is no gauge `{name}`"), help)
            })
        };
        let kinds = kinds.iter().map(named).collect::<PyResult<Vec<_>>>()?;
        let owner = Arc::clone(&case.case);
        let asked = kinds.clone();
        let made = watched(py, None, move |_| {
            OnCase::try_new(owner, |case| Set::new(&**case, &asked, &mut Work::default()))
        })?;
        let on = made.map_err(|why| wrong(why, None))?;
        Ok(Self { on: Arc::new(on), kinds })
    }

    /// SI units, in the order of the kinds.
    fn units(&self) -> Vec<&'static str> {
        let load = calotte_answers::poke::load_or_pole(self.on.borrow_owner().load());
        self.kinds.iter().map(|k| k.unit(&load)).collect()
    }

    /// Whether other parts are followed from the case, in the order of the kinds.
    fn follows(&self) -> Vec<bool> {
        self.kinds.iter().map(|k| self.on.borrow_dependent().follows(*k)).collect()
    }

    /// Reads every gauge of every part: for each gauge its numbers (NaN where there is none) and waves; and why, where there is none.
    #[pyo3(signature = (keys, arrays, threads, progress))]
    fn read<'py>(
        &self,
        py: Python<'py>,
        keys: Vec<String>,
        arrays: Vec<PyReadonlyArray1<'py, f64>>,
        threads: usize,
        progress: Option<Bound<'py, PyAny>>,
    ) -> PyResult<(Bound<'py, PyList>, Bound<'py, PyDict>)> {
        let varied = varied(self.on.borrow_owner(), &keys, &arrays)?;
        if varied.iter().any(|v| v.place.is_none()) {
            let help =
                "vary the numbers that make the depth, or ask for thresholds, which take it".to_owned();
            return Err(wrong("gauges do not vary `depth`".to_owned(), help));
        }
        let count = varied.first().map_or(1, |v| v.values.len());
        let kinds = self.kinds.len();
        let on = &self.on;
        let follows = self.kinds.iter().all(|k| on.borrow_dependent().follows(*k));
        let rows = if count <= FEW && follows {
            py.detach(|| {
                (0..count).map(|k| readings(on.borrow_dependent(), kinds, &at(&varied, k))).collect()
            })
        } else {
            let on = Arc::clone(on);
            watched(py, progress.as_ref(), move |watch| {
                let each = |k| readings(on.borrow_dependent(), kinds, &at(&varied, k));
                all(count, threads, watch, &each).unwrap_or_default()
            })?
        };
        let notes = PyDict::new(py);
        let columns = PyList::empty(py);
        for g in 0..kinds {
            let number = rows.iter().map(|r| r[g].as_ref().map_or(f64::NAN, |r| r.0)).collect();
            let waves = rows.iter().map(|r| r[g].as_ref().map_or(-1, |r| i64::from(r.1))).collect();
            columns.append((PyArray1::from_vec(py, number), PyArray1::from_vec(py, waves)))?;
        }
        for (k, row) in rows.iter().enumerate() {
            let why: Vec<String> = row
                .iter()
                .zip(&self.kinds)
                .filter_map(|(r, kind)| r.as_ref().err().map(|why| (why, kind)))
                .map(|(why, kind)| if kinds > 1 { format!("{}: {why}", kind.name()) } else { why.clone() })
                .collect();
            if !why.is_empty() {
                notes.set_item(k, why.join("; "))?;
            }
        }
        Ok((columns, notes))
    }

    /// Thresholds of every part: h/h*, h*, certified, notes by place.
    #[pyo3(signature = (keys, arrays, threads, progress))]
    #[allow(clippy::type_complexity, reason = "four things go back")]
    fn thresholds<'py>(
        &self,
        py: Python<'py>,
        keys: Vec<String>,
        arrays: Vec<PyReadonlyArray1<'py, f64>>,
        threads: usize,
        progress: Option<Bound<'py, PyAny>>,
    ) -> PyResult<(
        Bound<'py, PyArray1<f64>>,
        Bound<'py, PyArray1<f64>>,
        Bound<'py, PyArray1<bool>>,
        Bound<'py, PyDict>,
    )> {
        let varied = varied(self.on.borrow_owner(), &keys, &arrays)?;
        let count = varied.first().map_or(1, |v| v.values.len());
        let on = Arc::clone(&self.on);
        let rows = if count <= FEW {
            let one = |k| threshold(on.borrow_dependent(), on.borrow_owner(), &at(&varied, k));
            py.detach(|| (0..count).map(one).collect::<Vec<_>>())
        } else {
            watched(py, progress.as_ref(), move |watch| {
                let each = |k| threshold(on.borrow_dependent(), on.borrow_owner(), &at(&varied, k));
                all(count, threads, watch, &each).unwrap_or_default()
            })?
        };
        let notes = PyDict::new(py);
        for (k, row) in rows.iter().enumerate() {
            if let Some(note) = &row.3 {
                notes.set_item(k, note)?;
            }
        }
        Ok((
            PyArray1::from_vec(py, rows.iter().map(|r| r.0).collect()),
            PyArray1::from_vec(py, rows.iter().map(|r| r.1).collect()),
            PyArray1::from_vec(py, rows.iter().map(|r| r.2).collect()),
            notes,
        ))
    }
}

/// SI values of numbers of a case given in a unit: the same bits as the same numbers written in the case file.
#[pyfunction]
pub(crate) fn si<'py>(
    py: Python<'py>,
    case: &Case,
    key: &str,
    unit: &str,
    values: PyReadonlyArray1<'py, f64>,
) -> PyResult<Bound<'py, PyArray1<f64>>> {
    let (_, dimension, _) = find_key(key, &case.case).map_err(|(says, help)| wrong(says, help))?;
    let found = find_unit(unit, dimension).ok_or_else(|| {
        let usual = match dimension {
            Dimension::Number => "it is a pure number: give it without a unit".to_owned(),
            other => format!("for example `{}`", other.usual_unit()),
        };
        wrong(format!("`{key}` is {}: `{unit}` is no unit of that", dimension.noun()), usual)
    })?;
    let si = values.as_array().iter().map(|v| found.to_si(*v)).collect();
    Ok(PyArray1::from_vec(py, si))
}

/// SI unit of a number of a case; empty for a pure number.
#[pyfunction]
pub(crate) fn si_unit(case: &Case, key: &str) -> PyResult<&'static str> {
    let (_, dimension, _) = find_key(key, &case.case).map_err(|(says, help)| wrong(says, help))?;
    Ok(units(dimension).next().map_or("", |u| u.symbol))
}

//! What Python asks: cases, questions, readings of many parts, sweeps.
//!
//! This crate turns Python values into what the desk and the sweeps take, and back; it computes nothing. The package around it is
//! `python/calotte`. Built with the feature `python`; without it the crate is empty, so that the workspace needs no interpreter.

#![cfg(feature = "python")]

mod asked;
mod case;
mod failure;
mod readings;
mod swept;
mod told;
mod watched;

use pyo3::prelude::*;

/// The compiled half of the package `calotte`.
#[pymodule]
#[pyo3(name = "_core")]
fn calotte_core(m: &Bound<'_, PyModule>) -> PyResult<()> {
    m.add("VERSION", calotte_desk::VERSION)?;
    m.add("QUESTIONS", calotte_desk::QUESTIONS.to_vec())?;
    m.add("GAUGES", calotte_answers::gauge::Gauge::ALL.map(|g| g.name().replace(' ', "_")).to_vec())?;
    m.add_class::<case::Case>()?;
    m.add_class::<told::Reply>()?;
    m.add_class::<readings::Gauges>()?;
    m.add_class::<swept::Sweep>()?;
    m.add_function(wrap_pyfunction!(case::template, m)?)?;
    m.add_function(wrap_pyfunction!(case::schema, m)?)?;
    m.add_function(wrap_pyfunction!(readings::si, m)?)?;
    m.add_function(wrap_pyfunction!(readings::si_unit, m)?)?;
    Ok(())
}

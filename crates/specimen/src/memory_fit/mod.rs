//! Memory from a table: readings of relaxation or creep, the Prony series that fits them, and how well.

mod columns;
mod interconvert;
mod nnls;
mod series;

pub use columns::{MemoryColumn, MemoryTable, read_memory_table};
pub use interconvert::Creep;

use std::fmt;

use crate::{File, Finding, MemoryTerm};
use series::{Readings, Shape};

/// Most terms that may be asked for.
pub const MOST_TERMS: usize = 20;

/// Accuracy taken for readings when none is stated: no bench test does better. Common practice, no source.
pub const USUAL_ACCURACY: f64 = 1e-4;

/// What is asked of a fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MemoryFitSettings {
    /// Terms of the series; `None` leaves the choice to the fit.
    pub terms: Option<usize>,
    /// Relative accuracy of the readings: a series within it (rms) is good enough.
    pub accuracy: f64,
}

impl Default for MemoryFitSettings {
    fn default() -> Self {
        Self { terms: None, accuracy: USUAL_ACCURACY }
    }
}

/// One reading beside the fit, in the unit of [`MemoryFit::column`] (SI).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MemoryReading {
    /// Time, s.
    pub time: f64,
    /// As read.
    pub measured: f64,
    /// As fitted.
    pub fitted: f64,
}

impl MemoryReading {
    /// Fitted less measured, as a part of the measured value.
    pub fn residual(&self) -> f64 {
        self.fitted / self.measured - 1.0
    }
}

/// A Prony series from a table.
#[derive(Clone, Debug, PartialEq)]
pub struct MemoryFit {
    /// What the table holds.
    pub column: MemoryColumn,
    /// Terms of the relaxation, times increasing.
    pub terms: Vec<MemoryTerm>,
    /// Instantaneous value of the modulus that the series implies: Pa, or a pure number when the table holds ratios.
    pub instantaneous: f64,
    /// The creep that was fitted, when the table holds compliances; the terms above follow from it exactly.
    pub creep: Option<Creep>,
    /// Every reading.
    pub readings: Vec<MemoryReading>,
    /// Root mean square of the relative residuals.
    pub rms: f64,
    /// Largest relative residual, without its sign.
    pub largest: f64,
    /// Reading at which it stands.
    pub largest_at: usize,
    /// Root mean square that a fine grid of times reaches: no series with positive shares does much better.
    pub grid_rms: f64,
    /// Most terms that the readings tell apart.
    pub most_terms: usize,
}

/// Why no series fits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MemoryFitFailure {
    /// The readings show no relaxation.
    NoRelaxation,
    /// Nothing would be left after a long time.
    NothingLeft,
    /// Nothing of the compliance is instantaneous.
    NothingAtOnce,
}

impl fmt::Display for MemoryFitFailure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NoRelaxation => "the readings show no relaxation",
            Self::NothingLeft => "by the best fit nothing of the modulus is left after a long time",
            Self::NothingAtOnce => "by the best fit the compliance starts from 0",
        })
    }
}

impl std::error::Error for MemoryFitFailure {}

impl MemoryFitFailure {
    /// What to do about it.
    pub fn hint(self) -> &'static str {
        match self {
            Self::NoRelaxation => "an elastic material needs no memory: leave it out",
            Self::NothingLeft => {
                "measure longer, until the modulus levels off; a material that flows is beyond this series"
            }
            Self::NothingAtOnce => "measure from earlier on",
        }
    }
}

impl MemoryFit {
    /// Fits a table.
    ///
    /// Least squares of the relative residuals with positive shares: on a fine grid of times first, then with few
    /// terms whose times are free. Unless the number of terms is given, the fewest are taken whose residual per degree
    /// of freedom is within 1.1 times the least one, or whose residual is within the stated accuracy of the readings.
    ///
    /// # Errors
    /// [`MemoryFitFailure`] when the readings give no memory.
    pub fn of(table: &MemoryTable, settings: MemoryFitSettings) -> Result<Self, MemoryFitFailure> {
        let (shape, readings) = Self::readings(table);
        Self::from_found(table, shape, &readings.fit(settings.terms, settings.accuracy))
    }

    /// The best fit with every number of terms, the most that the readings tell apart (at most `most`) first, one last; numbers of
    /// terms that came together in the search, or give no memory, are left out. Which of them the readings speak for is left to
    /// the caller.
    ///
    /// # Errors
    /// [`MemoryFitFailure`] when the readings give no memory with any.
    pub fn each(table: &MemoryTable, most: usize) -> Result<Vec<Self>, MemoryFitFailure> {
        let (shape, readings) = Self::readings(table);
        let mut failure = MemoryFitFailure::NoRelaxation;
        let mut out: Vec<Self> = Vec::new();
        for found in readings.ladder(most) {
            match Self::from_found(table, shape, &found) {
                Ok(fit) => out.push(fit),
                Err(f) => failure = f,
            }
        }
        if out.is_empty() { Err(failure) } else { Ok(out) }
    }

    fn readings(table: &MemoryTable) -> (Shape, Readings<'_>) {
        let creeping = table.column == MemoryColumn::Compliance;
        let shape = if creeping { Shape::Growing } else { Shape::Falling };
        (shape, Readings { shape, times: &table.times, values: &table.values })
    }

    fn from_found(
        table: &MemoryTable,
        shape: Shape,
        found: &series::Found,
    ) -> Result<Self, MemoryFitFailure> {
        let creeping = shape == Shape::Growing;
        let series = &found.series;
        if series.terms.is_empty() {
            return Err(MemoryFitFailure::NoRelaxation);
        }
        // A constant below the residual of the smallest reading is none that the readings speak for.
        let smallest = table.values.iter().copied().fold(f64::INFINITY, f64::min);
        if series.constant <= series.rms.max(series::ROUNDING) * smallest {
            return Err(if creeping {
                MemoryFitFailure::NothingAtOnce
            } else {
                MemoryFitFailure::NothingLeft
            });
        }
        let creep = creeping.then(|| Creep { instantaneous: series.constant, terms: series.terms.clone() });
        let (instantaneous, terms) = match &creep {
            Some(creep) => (1.0 / creep.instantaneous, creep.relaxation()),
            None => {
                let whole = series.constant + series.terms.iter().map(|t| t[0]).sum::<f64>();
                let term = |[a, time]: &[f64; 2]| MemoryTerm { share: a / whole, time: *time };
                (whole, series.terms.iter().map(term).collect())
            }
        };
        let readings: Vec<MemoryReading> = table
            .times
            .iter()
            .zip(&table.values)
            .map(|(t, y)| MemoryReading { time: *t, measured: *y, fitted: series.at(shape, *t) })
            .collect();
        let (mut largest, mut largest_at) = (0.0, 0);
        for (i, r) in readings.iter().enumerate() {
            if r.residual().abs() > largest {
                (largest, largest_at) = (r.residual().abs(), i);
            }
        }
        Ok(Self {
            column: table.column,
            terms,
            instantaneous,
            creep,
            readings,
            rms: series.rms,
            largest,
            largest_at,
            grid_rms: found.grid_rms,
            most_terms: found.most,
        })
    }

    /// First and last time of the table, s.
    pub fn span(&self) -> [f64; 2] {
        [self.readings[0].time, self.readings[self.readings.len() - 1].time]
    }

    /// Whether a time lies outside those of the table, so that little in it speaks for the term.
    pub fn doubtful(&self, term: &MemoryTerm) -> bool {
        let [first, last] = self.span();
        term.time < first || term.time > last
    }
}

/// Reads a table and fits it; `None` when any finding is an error.
pub fn fit_memory_table(
    name: &str,
    bytes: &[u8],
    settings: MemoryFitSettings,
) -> (Option<MemoryFit>, Vec<Finding>) {
    let (table, mut found) = read_memory_table(name, bytes);
    let fit = table.and_then(|table| match MemoryFit::of(&table, settings) {
        Ok(fit) => Some(fit),
        Err(failure) => {
            let head = crate::case::header_stems(bytes);
            let span = head.first().map_or(0, |h| h.1.start)..head.last().map_or(0, |h| h.1.end);
            let file = File::Other(name.to_owned());
            found.push(Finding::error(file, span, failure.to_string()).hint(failure.hint()));
            None
        }
    });
    (fit, found)
}

#[cfg(test)]
mod tests;

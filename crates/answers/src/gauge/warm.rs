//! Trip, reset and delta: limits of temperature followed from one part to others.

use calotte_solve::Work;
use calotte_specimen::{Heat, Part};

use super::{Gauge, InWaves, NoReading, Reading};
use crate::heat::Followed;
use crate::heat::spread::{Found, delta, draw};

/// The part as described over temperature.
pub(super) struct Limits {
    base: Followed,
    /// Temperatures of trip and reset on the finest mesh less those on the mesh on which others are followed, K.
    finer: [f64; 2],
}

/// Readings of one part.
pub(super) struct Temperatures {
    trip: Reading,
    reset: Reading,
    delta: Reading,
    /// Waves in which the trip goes first.
    n: u32,
}

impl Temperatures {
    pub(super) fn of(&self, kind: Gauge) -> InWaves {
        let found = match kind {
            Gauge::TripTemperature => &self.trip,
            Gauge::ResetTemperature => &self.reset,
            _ => &self.delta,
        };
        found.clone().map(|at| (at, if kind == Gauge::ResetTemperature { 0 } else { self.n }))
    }
}

impl Limits {
    pub(super) fn of(part: &Part, heat: &Heat, work: &mut Work) -> Result<Self, String> {
        let base = Followed::of(part, heat).map_err(|no| no.0)?;
        *work += base.work();
        let finer = base.limits().map_or([0.0; 2], |l| {
            let gap = |p: &crate::heat::path::Place| (p.best() - p.f) * base.heated.unit();
            [gap(l.trip), l.reset.map_or(0.0, gap)]
        });
        Ok(Self { base, finer })
    }

    /// Whether others are followed from it.
    pub(super) fn known(&self) -> bool {
        self.base.limits().is_some_and(|l| l.reset.is_some())
    }

    pub(super) fn read(&self, part: &Part, heat: &Heat, anew: bool, work: &mut Work) -> Temperatures {
        if anew {
            return told(part, heat, work);
        }
        let d = draw(&self.base, self.base.limits(), part, heat, work);
        // Waves that come before the limit make it trip earlier: the limit alone would be told too high.
        if d.trip.at().is_some() && d.sideways != Some(false) {
            return told(part, heat, work);
        }
        let [trip, reset] = self.finer;
        Temperatures {
            trip: reading(d.trip, trip, "trip"),
            reset: reading(d.reset, reset, "reset"),
            delta: reading(delta(d), trip - reset, "trip and reset"),
            n: 0,
        }
    }
}

fn reading(found: Found, finer: f64, what: &str) -> Reading {
    match found {
        Found::At(t) => Ok(t + finer),
        Found::Nowhere => Err(nowhere()),
        Found::Unknown => Err(NoReading::Failed(format!("its {what} was not found"))),
    }
}

fn nowhere() -> NoReading {
    NoReading::Nowhere("it moves without a jump over the whole range of temperatures".to_owned())
}

/// The branches followed anew: the first loss of stability, in waves too.
fn told(part: &Part, heat: &Heat, work: &mut Work) -> Temperatures {
    let failed = |what: &str| Err(NoReading::Failed(format!("its {what} was not found")));
    let Ok(followed) = Followed::of(part, heat) else {
        return Temperatures { trip: failed("trip"), reset: failed("reset"), delta: failed("delta"), n: 0 };
    };
    *work += followed.work();
    let (trip, reset, n) = followed.told().unwrap_or_default();
    let none = if followed.follows() { Err(nowhere()) } else { failed("trip") };
    Temperatures {
        trip: trip.map_or(none.clone(), Ok),
        reset: match (trip, reset) {
            (Some(_), r) => r.map_or_else(|| failed("reset"), Ok),
            _ => none.clone(),
        },
        delta: match (trip, reset) {
            (Some(t), Some(r)) => Ok(t - r),
            (Some(_), None) => failed("reset"),
            _ => none,
        },
        n,
    }
}

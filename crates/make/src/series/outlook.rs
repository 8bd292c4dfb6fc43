//! What is predicted of parts that differ from a case: one reading of the margin, and whether the hold of the case keeps the part a while.

use calotte_answers::gauge::{Gauge, Gauges, NoReading};
use calotte_solve::Work;
use calotte_specimen::Case;

use super::Outcome;

/// Thresholds of a case, elastic and after its hold.
pub(crate) struct Outlook<'a> {
    margin: Gauges<'a>,
    /// `None` for an elastic material; else the threshold after the hold, where that is known.
    waiting: Option<Option<Gauges<'a>>>,
}

impl<'a> Outlook<'a> {
    /// Finds them.
    ///
    /// # Errors
    /// In words, for a part that has no other side to go to.
    pub(crate) fn new(case: &'a Case, work: &mut Work) -> Result<Self, String> {
        let margin = Gauges::new(case, &[Gauge::Margin], work)?;
        let waiting =
            case.motion().memory.as_ref().map(|_| Gauges::new(case, &[Gauge::WaitingMargin], work).ok());
        Ok(Self { margin, waiting })
    }

    /// ln(h*/h) with numbers changed.
    ///
    /// # Errors
    /// Why there is no reading.
    pub(crate) fn margin(&self, changes: &[(usize, f64)], work: &mut Work) -> Result<f64, NoReading> {
        self.margin.read(changes, work).into_iter().next().unwrap_or(Err(NoReading::NoSuchPart))
    }

    /// What is predicted of a part with this margin. Whether a part with a memory waits is not known where its hold is none of the exact
    /// mirror image, or its threshold was not found: then nothing more is said than that it does not stay.
    pub(crate) fn outcome(&self, margin: f64, changes: &[(usize, f64)], work: &mut Work) -> Outcome {
        if margin > 0.0 {
            return Outcome::Stays;
        }
        match &self.waiting {
            None => Outcome::Returns,
            Some(None) => Outcome::DoesNotStay,
            Some(Some(gauges)) => match gauges.read(changes, work).into_iter().next() {
                Some(Ok(m)) if m > 0.0 => Outcome::Waits,
                Some(Ok(_)) => Outcome::Returns,
                Some(Err(_)) | None => Outcome::DoesNotStay,
            },
        }
    }
}

//! Drawn parts and what they count as.

use calotte_chance::binomial;

use super::Window;
use super::design::{Found, Surfaces};
use super::laws::Varied;
use super::report::{BatchShare, BatchTightening};
use super::surface::Room;
use crate::gauge::Gauge;
use crate::many::{Watch, each};

/// A drawn part.
#[derive(Clone, Debug)]
pub(super) struct Part {
    pub(super) x: Vec<f64>,
    pub(super) found: Vec<Found>,
    /// Too near to an edge for the surface that judged it.
    pub(super) near: bool,
    pub(super) exact: bool,
}

impl Part {
    /// What it does when it is turned inside out, by its margins (the first gauges).
    pub(super) fn kind(&self, kinds: &[Gauge]) -> &'static str {
        let waiting = kinds.iter().position(|k| *k == Gauge::WaitingMargin).map(|i| self.found[i]);
        match (self.found[0], waiting) {
            (Found::At(m), _) if m > 0.0 => "stays",
            (Found::At(_), Some(Found::At(w))) if w > 0.0 => "waits",
            (Found::At(_), None | Some(Found::At(_))) => "returns",
            _ => "unknown",
        }
    }
}

/// Which parts are good.
pub(super) struct Good<'a> {
    pub(super) kinds: &'a [Gauge],
    pub(super) windows: &'a [Window],
}

impl Good<'_> {
    /// Place of a gauge among those read; a part is in no window of a gauge that is not read.
    fn place(&self, g: Gauge) -> Option<usize> {
        self.kinds.iter().position(|k| *k == g)
    }

    pub(super) fn inside(&self, p: &Part, w: &Window) -> bool {
        let found = self.place(w.gauge).and_then(|g| p.found[g].at());
        found.is_some_and(|v| w.ends[0] <= v && v <= w.ends[1])
    }

    /// Whether a part lies in all windows; where there are none, whether it stays.
    pub(super) fn is(&self, p: &Part) -> bool {
        if self.windows.is_empty() {
            return p.found[0].at().is_some_and(|m| m > 0.0);
        }
        self.windows.iter().all(|w| self.inside(p, w))
    }

    /// The same of readings.
    pub(super) fn is_at(&self, values: &[f64]) -> bool {
        if self.windows.is_empty() {
            return values[0] > 0.0;
        }
        self.windows.iter().all(|w| {
            let found = self.place(w.gauge).map(|g| values[g]);
            found.is_some_and(|v| w.ends[0] <= v && v <= w.ends[1])
        })
    }

    /// Whether something that is needed is not known of it.
    pub(super) fn unknown(&self, p: &Part) -> bool {
        p.found.contains(&Found::Unknown)
    }

    /// What it counts as in a figure.
    pub(super) fn kind(&self, p: &Part) -> &'static str {
        if self.kinds[0] == Gauge::Margin {
            return p.kind(self.kinds);
        }
        if self.unknown(p) {
            "unknown"
        } else if self.is(p) {
            "good"
        } else {
            "bad"
        }
    }

    /// Places of a gauge where a part changes what it counts as.
    pub(super) fn edges(&self, g: usize) -> Vec<f64> {
        let kind = self.kinds[g];
        let own = matches!(kind, Gauge::Margin | Gauge::WaitingMargin) && self.kinds[0] == Gauge::Margin;
        let mut out: Vec<f64> = own.then_some(0.0).into_iter().collect();
        out.extend(self.windows.iter().filter(|w| w.gauge == kind).flat_map(|w| w.ends));
        out.retain(|e| e.is_finite());
        out.sort_by(f64::total_cmp);
        out.dedup();
        out
    }

    pub(super) fn words(&self) -> String {
        if self.windows.is_empty() {
            return "they stay inverted".to_owned();
        }
        let names: Vec<&str> = self.windows.iter().map(|w| w.gauge.name()).collect();
        let (lie, s) = if names.len() == 1 { ("lies", "") } else { ("lie", "s") };
        format!("their {} {lie} in the window{s}", names.join(" and "))
    }
}

/// The batch.
pub(super) struct Batch {
    pub(super) parts: Vec<Part>,
}

impl Batch {
    pub(super) fn share(&self, hit: impl Fn(&Part) -> bool, unsure: impl Fn(&Part) -> bool) -> BatchShare {
        let all = self.parts.len();
        let hits = self.parts.iter().filter(|p| hit(p)).count();
        let [low, high] = binomial::interval(hits as u64, all as u64, 0.95);
        let unsure = self.parts.iter().filter(|p| unsure(p)).count();
        BatchShare {
            share: hits as f64 / all.max(1) as f64,
            low,
            high,
            surface_error: unsure as f64 / all.max(1) as f64,
        }
    }

    /// What each tolerance made half as wide would save, on the same draws; `None` when stopped.
    pub(super) fn tightened(
        &self,
        s: &Surfaces,
        varied: &[Varied],
        good: &Good<'_>,
        watch: &Watch<'_>,
    ) -> Option<Vec<BatchTightening>> {
        let pieces: Vec<&[Part]> = self.parts.chunks(1000).collect();
        // Of each piece: failing now, and for every number how many become good and how many bad.
        let found = each(pieces.len(), watch, |i| {
            let mut room = Room::default();
            let mut failing = 0usize;
            let mut changed = vec![[0usize; 2]; s.active.len()];
            for p in pieces[i] {
                let before = good.is_at(&s.at(&p.x, &mut room).0);
                failing += usize::from(!before);
                let mut x = p.x.clone();
                for (j, changed) in s.active.iter().zip(&mut changed) {
                    x[*j] = varied[*j].tightened(p.x[*j], 0.5);
                    let after = good.is_at(&s.at(&x, &mut room).0);
                    x[*j] = p.x[*j];
                    match (before, after) {
                        (false, true) => changed[0] += 1,
                        (true, false) => changed[1] += 1,
                        _ => {}
                    }
                }
            }
            (failing, changed)
        })?;
        let n = self.parts.len().max(1) as f64;
        let failing = found.iter().map(|f| f.0).sum::<usize>() as f64 / n;
        let mut out: Vec<BatchTightening> = s
            .active
            .iter()
            .enumerate()
            .map(|(k, j)| {
                let [won, lost] = [0, 1].map(|e| found.iter().map(|f| f.1[k][e]).sum::<usize>() as f64 / n);
                let saved = won - lost;
                BatchTightening {
                    input: varied[*j].key.clone(),
                    saved,
                    // Of paired draws: each adds +1, −1 or nothing.
                    saved_error: ((won + lost - saved * saved).max(0.0) / n).sqrt(),
                    of_failing: (failing > 0.0).then(|| saved / failing),
                }
            })
            .collect();
        out.sort_by(|a, b| b.saved.total_cmp(&a.saved));
        Some(out)
    }
}

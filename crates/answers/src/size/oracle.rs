//! Readings of all wishes at places of the ranges, each place read once, several on all cores.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};

use calotte_solve::Work;

use super::ask::{Ask, Varied, Wish};
use crate::gauge::NoReading;
use crate::many::{Watch, each};

/// What can be read of a part with other numbers.
pub(super) trait Readings: Sync {
    /// One reading per wish of the part with these values (SI) of the numbers that may change.
    fn read(&self, values: &[f64]) -> Vec<Result<f64, NoReading>>;
    /// The forward questions about parts with these values, asked anew: for each part one answer per wish. `None` when stopped.
    fn forward(&self, parts: &[Vec<f64>], watch: &Watch<'_>) -> Option<Vec<Vec<Forward>>>;
    /// How many of `count` parts drawn from the tolerances about these values meet a wish, and how many give no reading; `None` when
    /// stopped.
    fn draw(&self, values: &[f64], wish: usize, count: usize, watch: &Watch<'_>) -> Option<[usize; 2]>;
    /// Work done so far.
    fn work(&self) -> Work;
}

/// What a forward question says.
#[derive(Clone)]
pub(super) struct Forward {
    /// Which question.
    pub(super) question: &'static str,
    /// What it says of the wish, or why it says nothing.
    pub(super) value: Result<f64, String>,
    /// The number that the solver reads, where the question tells it beside another that a person would measure.
    pub(super) like: Option<f64>,
    /// Why it doubts its own answer.
    pub(super) doubts: Vec<String>,
}

/// One reading per wish.
pub(super) type Row = Vec<Result<f64, NoReading>>;

/// The readings taken so far.
pub(super) struct Oracle<'a> {
    source: &'a dyn Readings,
    watch: &'a Watch<'a>,
    pub(super) vary: &'a [Varied],
    pub(super) wishes: &'a [Wish],
    known: BTreeMap<Vec<u64>, Row>,
    /// Set once the watch stopped it: everything after is without value.
    pub(super) stopped: bool,
}

impl<'a> Oracle<'a> {
    pub(super) fn new(ask: &'a Ask, source: &'a dyn Readings, watch: &'a Watch<'a>) -> Self {
        Self { source, watch, vary: &ask.vary, wishes: &ask.wishes, known: BTreeMap::new(), stopped: false }
    }

    pub(super) fn values(&self, u: &[f64]) -> Vec<f64> {
        self.vary.iter().zip(u).map(|(v, u)| v.at(*u)).collect()
    }

    /// Readings at places given in shares of the ranges.
    pub(super) fn rows(&mut self, places: &[Vec<f64>]) -> Vec<Row> {
        let values: Vec<Vec<f64>> = places.iter().map(|u| self.values(u)).collect();
        self.rows_at(&values)
    }

    /// The same at values, SI.
    pub(super) fn rows_at(&mut self, values: &[Vec<f64>]) -> Vec<Row> {
        let key = |v: &Vec<f64>| v.iter().map(|x| x.to_bits()).collect::<Vec<u64>>();
        let mut fresh: Vec<&Vec<f64>> = Vec::new();
        for v in values {
            if !self.known.contains_key(&key(v)) && !fresh.contains(&v) {
                fresh.push(v);
            }
        }
        if !self.stopped && !fresh.is_empty() {
            let before = self.known.len();
            let progress = |n: usize| (self.watch.progress)(before + n);
            let watch = Watch { threads: self.watch.threads, stop: self.watch.stop, progress: &progress };
            match each(fresh.len(), &watch, |i| self.source.read(fresh[i])) {
                Some(rows) => self.known.extend(fresh.into_iter().map(key).zip(rows)),
                None => self.stopped = true,
            }
        }
        let nothing = || vec![Err(NoReading::Failed("stopped".to_owned())); self.wishes.len()];
        values.iter().map(|v| self.known.get(&key(v)).cloned().unwrap_or_else(nothing)).collect()
    }

    pub(super) fn row(&mut self, u: &[f64]) -> Row {
        self.rows(&[u.to_vec()]).pop().unwrap_or_default()
    }

    /// Readings where every wish has one.
    pub(super) fn whole(&mut self, places: &[Vec<f64>]) -> Vec<Option<Vec<f64>>> {
        self.rows(places).into_iter().map(|r| r.into_iter().map(Result::ok).collect()).collect()
    }

    /// Everything read of a single number, in growing order.
    pub(super) fn everything(&self) -> Vec<(Vec<f64>, Row)> {
        let value = |k: &Vec<u64>| k.iter().map(|b| f64::from_bits(*b)).collect::<Vec<f64>>();
        let mut all: Vec<(Vec<f64>, Row)> = self.known.iter().map(|(k, r)| (value(k), r.clone())).collect();
        all.sort_by(|a, b| a.0[0].total_cmp(&b.0[0]));
        all
    }

    /// Several computations on all cores, each with its own copy of what was read so far; the copies come together again in the order of
    /// the computations, so that the result does not depend on the threads. Inside, every computation reads part by part.
    pub(super) fn apart<T: Send>(
        &mut self,
        count: usize,
        f: impl Fn(usize, &mut Oracle<'_>) -> T + Sync,
    ) -> Vec<T> {
        let (known, before) = (&self.known, self.known.len());
        let read = AtomicUsize::new(before);
        let watch = Watch { threads: self.watch.threads, stop: self.watch.stop, progress: &|_| {} };
        let found = each(count, &watch, |i| {
            let progress = |_: usize| (self.watch.progress)(read.fetch_add(1, Ordering::Relaxed) + 1);
            let watch = Watch { threads: 1, stop: self.watch.stop, progress: &progress };
            let mut own = Oracle {
                source: self.source,
                watch: &watch,
                vary: self.vary,
                wishes: self.wishes,
                known: known.clone(),
                stopped: false,
            };
            let value = f(i, &mut own);
            (value, own.known, own.stopped)
        });
        let Some(found) = found else {
            self.stopped = true;
            return Vec::new();
        };
        let mut out = Vec::new();
        for (value, known, stopped) in found {
            self.known.extend(known);
            self.stopped |= stopped;
            out.push(value);
        }
        out
    }

    pub(super) fn source(&self) -> &'a dyn Readings {
        self.source
    }

    pub(super) fn watch(&self) -> &'a Watch<'a> {
        self.watch
    }

    /// Parts read, those without some reading, and those of them where one failed.
    pub(super) fn counts(&self) -> [usize; 3] {
        let failed = |r: &Row| r.iter().any(|v| matches!(v, Err(NoReading::Failed(_))));
        [
            self.known.len(),
            self.known.values().filter(|r| r.iter().any(Result::is_err)).count(),
            self.known.values().filter(|r| failed(r)).count(),
        ]
    }

    /// Why a wish has no reading anywhere; `None` where it has some.
    pub(super) fn nowhere(&self, wish: usize) -> Option<String> {
        let mut reasons: BTreeMap<String, usize> = BTreeMap::new();
        for row in self.known.values() {
            match &row[wish] {
                Ok(_) => return None,
                Err(why) => *reasons.entry(why.to_string()).or_default() += 1,
            }
        }
        reasons.into_iter().max_by_key(|r| r.1).map(|r| r.0)
    }
}

/// A place and its neighbours either way along every number.
pub(super) fn around(u: &[f64], step: f64) -> Vec<Vec<f64>> {
    let mut places = vec![u.to_vec()];
    for i in 0..u.len() {
        for d in [step, -step] {
            let mut v = u.to_vec();
            v[i] = (v[i] + d).clamp(0.0, 1.0);
            places.push(v);
        }
    }
    places
}

/// Slopes of every reading over the share of each range at a place, by central differences where both sides have a reading.
pub(super) fn slopes(oracle: &mut Oracle<'_>, u: &[f64], step: f64) -> Vec<Vec<f64>> {
    let places = around(u, step);
    let rows = oracle.rows(&places);
    let value = |k: usize, wish: usize| rows[k][wish].as_ref().ok().copied();
    (0..oracle.wishes.len())
        .map(|w| {
            (0..u.len())
                .map(|i| {
                    let (a, b) = (1 + 2 * i, 2 + 2 * i);
                    let sides = [(a, b), (a, 0), (0, b)];
                    let slope = |(p, q): (usize, usize)| {
                        let run = places[p][i] - places[q][i];
                        Some((value(p, w)? - value(q, w)?) / run).filter(|_| run != 0.0)
                    };
                    sides.into_iter().find_map(slope).unwrap_or(f64::NAN)
                })
                .collect()
        })
        .collect()
}

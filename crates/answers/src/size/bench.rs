//! What is read of real parts: gauges near the part as described, and the forward questions asked anew.

use std::sync::Mutex;

use calotte_chance::{Stream, normal};
use calotte_solve::Work;

use super::ask::{About, Ask, Varied, Wanted, Wish};
use super::changed::Changed;
use super::forward::Question;
use super::oracle::{Forward, Readings, Row};
use crate::gauge::{Gauge, Gauges, NoReading, Reading};
use crate::many::{Watch, each};
use crate::subject::{Given, Subject};

/// A wait longer than this many times the wish reads as so many times: a part that stays waits for ever.
const LONGEST: f64 = 100.0;
/// Distance of differences over a number with a tolerance, in shares of its half-width.
const DIFFERENCE: f64 = 0.1;
/// Standard deviation of a normal number cut off at two of its standard deviations, closed form: √(1 − 4φ(2)/(2Φ(2) − 1)).
const CUT: f64 = 0.879_626;

/// Gauges that share one hold.
struct Group<'a> {
    hold: Option<(usize, f64)>,
    gauges: Gauges<'a>,
    /// Wishes read here, with the place of each among the gauges.
    wishes: Vec<(usize, usize)>,
}

/// A part on the bench.
pub(super) struct Bench<'a> {
    subject: &'a dyn Subject,
    givens: Vec<Given>,
    vary: &'a [Varied],
    wishes: &'a [Wish],
    groups: Vec<Group<'a>>,
    work: Mutex<Work>,
}

impl<'a> Bench<'a> {
    /// Sets up every gauge that a wish is about.
    pub(super) fn new(subject: &'a dyn Subject, ask: &'a Ask) -> Result<Self, String> {
        let givens = subject.givens();
        let hold_at = givens.iter().position(|g| g.key == "hold.time");
        let mut holds: Vec<Option<f64>> = Vec::new();
        for w in &ask.wishes {
            if matches!(w.about, About::Gauge(_)) && !holds.contains(&w.hold) {
                holds.push(w.hold);
            }
        }
        let mut work = Work::default();
        let mut groups = Vec::new();
        for hold in holds {
            let change = match (hold, hold_at) {
                (Some(t), Some(i)) => Some((i, t)),
                (Some(_), None) => {
                    return Err("a wish says how long the part is held, but the case gives no `hold.time` that could be changed; \
                                add `[hold]` with `time = \"5 s\"` to it"
                        .to_owned());
                }
                (None, _) => None,
            };
            let mut kinds: Vec<Gauge> = Vec::new();
            let mut wishes = Vec::new();
            for (i, w) in ask.wishes.iter().enumerate() {
                let About::Gauge(g) = w.about else { continue };
                if w.hold != hold {
                    continue;
                }
                let at = kinds.iter().position(|k| *k == g).unwrap_or_else(|| {
                    kinds.push(g);
                    kinds.len() - 1
                });
                wishes.push((i, at));
            }
            groups.push(Group { hold: change, gauges: Gauges::new(subject, &kinds, &mut work)?, wishes });
        }
        let (vary, wishes) = (ask.vary.as_slice(), ask.wishes.as_slice());
        Ok(Self { subject, givens, vary, wishes, groups, work: Mutex::new(work) })
    }

    fn changes(&self, values: &[f64], hold: Option<(usize, f64)>) -> Vec<(usize, f64)> {
        self.vary.iter().zip(values).map(|(v, x)| (v.given, *x)).chain(hold).collect()
    }

    /// Numbers with a tolerance: place, value with these values of what may change, half-width.
    fn loose(&self, values: &[f64]) -> Vec<(usize, f64, f64)> {
        let at = |i: usize, g: &Given| {
            self.vary.iter().zip(values).find(|(v, _)| v.given == i).map_or(g.value, |(_, x)| *x)
        };
        self.givens
            .iter()
            .enumerate()
            .filter_map(|(i, g)| Some((i, at(i, g), g.half_width.filter(|h| *h > 0.0)?)))
            .collect()
    }

    /// The reading a wish about a share of a batch is about, from the reading of the part itself: to first order, the reading at the
    /// end of the share.
    fn at_share(
        &self,
        group: &Group<'_>,
        values: &[f64],
        wanted: &[(usize, usize)],
        base: &[Reading],
        work: &mut Work,
    ) -> Vec<(usize, Reading)> {
        let changes = self.changes(values, group.hold);
        let mut variance = vec![0.0; base.len()];
        for (i, value, half) in self.loose(values) {
            let mut moved = changes.clone();
            moved.push((i, value + DIFFERENCE * half));
            let there = group.gauges.read(&moved, work);
            for ((v, a), b) in variance.iter_mut().zip(base).zip(&there) {
                if let (Ok(a), Ok(b)) = (a, b) {
                    // Two standard deviations are the half-width.
                    *v += (0.5 * CUT * (b - a) / DIFFERENCE).powi(2);
                }
            }
        }
        wanted
            .iter()
            .map(|(wish, at)| {
                let w = &self.wishes[*wish];
                let z = w.share.map_or(0.0, normal::quantile);
                let away = z * variance[*at].sqrt();
                let reading = base[*at].clone().map(|v| match w.wanted {
                    Wanted::AtMost(_) | Wanted::Smallest => v + away,
                    _ => v - away,
                });
                (*wish, reading)
            })
            .collect()
    }

    /// A reading as wishes take it.
    fn taken(&self, wish: usize, reading: Reading) -> Reading {
        let w = &self.wishes[wish];
        if w.about != About::Gauge(Gauge::Wait) {
            return reading;
        }
        match (reading?, w.wanted) {
            (t, Wanted::AtLeast(v)) => Ok(t.min(LONGEST * v)),
            (t, _) if t.is_infinite() => Err(NoReading::Nowhere("it stays for ever".to_owned())),
            (t, _) => Ok(t),
        }
    }
}

impl Readings for Bench<'_> {
    fn read(&self, values: &[f64]) -> Row {
        let mut work = Work::default();
        let mut out: Row = vec![Err(NoReading::Failed("not read".to_owned())); self.wishes.len()];
        for (i, w) in self.wishes.iter().enumerate() {
            if let About::Given(g) = w.about {
                let v = self.vary.iter().zip(values).find(|(v, _)| v.given == g);
                out[i] = Ok(v.map_or(self.givens[g].value, |(_, x)| *x));
            }
        }
        for group in &self.groups {
            let base = group.gauges.read(&self.changes(values, group.hold), &mut work);
            let (shared, plain): (Vec<_>, Vec<_>) =
                group.wishes.iter().copied().partition(|(i, _)| self.wishes[*i].share.is_some());
            for (i, at) in plain {
                out[i] = self.taken(i, base[at].clone());
            }
            if !shared.is_empty() {
                for (i, reading) in self.at_share(group, values, &shared, &base, &mut work) {
                    out[i] = self.taken(i, reading);
                }
            }
        }
        if let Ok(mut all) = self.work.lock() {
            *all += work;
        }
        out
    }

    fn draw(&self, values: &[f64], wish: usize, count: usize, watch: &Watch<'_>) -> Option<[usize; 2]> {
        let (group, at) =
            self.groups.iter().find_map(|g| Some((g, g.wishes.iter().find(|w| w.0 == wish)?.1)))?;
        let loose = self.loose(values);
        let changes = self.changes(values, group.hold);
        let found = each(count, watch, |k| {
            let mut stream = Stream::of(1, k as u64);
            let mut drawn = changes.clone();
            for (i, value, half) in &loose {
                // Normal, cut off at two standard deviations, which are the half-width.
                let z = std::iter::repeat_with(|| stream.normal()).find(|z| z.abs() <= 2.0).unwrap_or(0.0);
                drawn.push((*i, value + 0.5 * half * z));
            }
            let mut work = Work::default();
            let reading = group.gauges.read(&drawn, &mut work)[at].clone();
            (self.taken(wish, reading), work)
        })?;
        let w = &self.wishes[wish];
        let mut out = [0, 0];
        for (reading, work) in found {
            out[0] += usize::from(reading.as_ref().is_ok_and(|r| w.miss(*r) == 0.0));
            out[1] += usize::from(reading.is_err());
            if let Ok(mut all) = self.work.lock() {
                *all += work;
            }
        }
        Some(out)
    }

    fn forward(&self, parts: &[Vec<f64>], watch: &Watch<'_>) -> Option<Vec<Vec<Forward>>> {
        let mut jobs: Vec<(usize, Option<f64>, Question)> = Vec::new();
        for part in 0..parts.len() {
            for w in self.wishes {
                if let About::Gauge(g) = w.about {
                    let job = (part, w.hold, Question::of(g, self.subject));
                    if !jobs.contains(&job) {
                        jobs.push(job);
                    }
                }
            }
        }
        let told = each(jobs.len(), watch, |k| {
            let (part, hold, question) = &jobs[k];
            let group = self.groups.iter().find(|x| x.hold.map(|h| h.1) == *hold);
            let changes = self.changes(&parts[*part], group.and_then(|x| x.hold));
            let changed = Changed::new(self.subject, &changes)?;
            Some(question.ask(&changed, &|g| {
                let at = group.and_then(|x| Some((x, x.gauges.kinds().iter().position(|k| *k == g)?)));
                at.map(|(x, k)| x.gauges.read_anew(&changes, &mut Work::default())[k].clone())
            }))
        })?;
        let one = |part: usize, w: &Wish| {
            let (g, said) = match w.about {
                About::Given(i) => {
                    let v = self.vary.iter().zip(&parts[part]).find(|(v, _)| v.given == i);
                    return Forward::plain("case", Ok(v.map_or(self.givens[i].value, |(_, x)| *x)));
                }
                About::Gauge(g) => {
                    let job = (part, w.hold, Question::of(g, self.subject));
                    (g, jobs.iter().position(|j| *j == job).and_then(|k| told[k].as_ref()))
                }
            };
            said.map_or_else(
                || Forward::plain("case", Err("there is no such part".to_owned())),
                |s| s.tell(g),
            )
        };
        let all = (0..parts.len()).map(|p| {
            let mut out: Vec<Forward> = self.wishes.iter().map(|w| one(p, w)).collect();
            // A doubt of one question is told once.
            for i in 1..out.len() {
                let (before, here) = out.split_at_mut(i);
                let question = here[0].question;
                let told = |d: &String| before.iter().any(|f| f.question == question && f.doubts.contains(d));
                here[0].doubts.retain(|d| !told(d));
            }
            out
        });
        Some(all.collect())
    }

    fn work(&self) -> Work {
        self.work.lock().map_or_else(|_| Work::default(), |w| *w)
    }
}

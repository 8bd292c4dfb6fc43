//! What is read of real parts: gauges near the part as described, and the forward questions asked anew.

use std::sync::Mutex;

use calotte_chance::{Stream, normal};
use calotte_solve::Work;

use super::ask::{About, Ask, Varied, Wanted, Wish};
use super::changed::Changed;
use super::oracle::{Forward, Readings, Row};
use crate::gauge::{Gauge, Gauges, NoReading, Reading};
use crate::many::{Watch, each};
use crate::poke::report::Outcome as Poked;
use crate::release::report::Outcome as Released;
use crate::report::Verdict;
use crate::subject::{Given, Subject};
use crate::{Detail, heat, load_or_pole, poke, release, verdict};

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

    fn ask(&self, part: &Changed<'_>, g: Gauge, values: &[f64]) -> Forward {
        let nothing = |what: &str| Err(format!("the answer has no {what}"));
        let plain = Detail { branch: false, depth: false };
        match g {
            Gauge::Margin => {
                let r = verdict(part, plain);
                let value = r.margin.as_ref().map(|m| -libm::log(m.thickness_ratio));
                let agrees = value.is_none_or(|v| match r.verdict {
                    Verdict::Stays => v > 0.0,
                    Verdict::Returns | Verdict::Waits => v <= 0.0,
                    Verdict::Undecided => true,
                });
                let mut doubts = r.doubts;
                if !agrees {
                    doubts.push("The verdict and the sign of the margin disagree.".to_owned());
                }
                Forward {
                    question: "verdict",
                    value: value.ok_or_else(|| "the verdict has no margin".to_owned()),
                    like: None,
                    doubts,
                }
            }
            Gauge::TripLoad | Gauge::SnapRatio => {
                let r = poke(part, &load_or_pole(part.load().as_ref()));
                let key = r.trade.key.as_ref();
                let value = match g {
                    Gauge::SnapRatio => {
                        key.and_then(|k| k.forces.snap_ratio).map_or_else(|| nothing("snap ratio"), Ok)
                    }
                    _ => r.by_load.as_ref().map(|t| t.load_SI).map_or_else(|| nothing("trip"), Ok),
                };
                let doubts = if r.outcome == Poked::Undecided { r.doubts } else { Vec::new() };
                Forward { question: "poke", value, like: None, doubts }
            }
            Gauge::PeakStrain => {
                if part.load().is_some() {
                    let r = poke(part, &load_or_pole(part.load().as_ref()));
                    if let Some(k) = &r.trade.key {
                        return Forward {
                            question: "poke",
                            value: Ok(k.peak_strain),
                            like: None,
                            doubts: r.doubts,
                        };
                    }
                }
                let r = verdict(part, plain);
                let value = r.inverted.as_ref().map(|i| i.strains.largest_surface);
                Forward {
                    question: "verdict",
                    value: value.map_or_else(|| nothing("inverted state"), Ok),
                    like: None,
                    doubts: r.doubts,
                }
            }
            Gauge::TripTemperature | Gauge::ResetTemperature | Gauge::Delta => {
                match heat::Branches::of(part).map(|b| b.report()) {
                    Ok(r) => {
                        let value = match g {
                            Gauge::TripTemperature => r.trip.as_ref().map(|t| t.temperature_K),
                            Gauge::ResetTemperature => r.reset.as_ref().map(|t| t.temperature_K),
                            _ => r.delta_K,
                        };
                        Forward {
                            question: "heat",
                            value: value.map_or_else(|| nothing("such temperature"), Ok),
                            like: None,
                            doubts: r.doubts,
                        }
                    }
                    Err(no) => Forward { question: "heat", value: Err(no.0), like: None, doubts: Vec::new() },
                }
            }
            Gauge::Wait => {
                let found = release::release(part, &part.motion(), &release::Ask::default(), &mut |_| true);
                match found {
                    Ok(r) => {
                        let value = match (r.outcome, &r.snap) {
                            (Released::Stays, _) => Ok(f64::INFINITY),
                            (_, Some(s)) => Ok(s.wait_s),
                            _ => nothing("snap"),
                        };
                        // The solver tells long rests without inertia, and the time of the hand's ramp; a motion takes its inertia along.
                        let long = release::LONG * r.scales.bending_time_s;
                        let rest = r.snap.as_ref().and_then(|s| s.creep_wait_s).filter(|t| *t > long);
                        let like = rest.map(|t| t + r.protocol.ramp_s);
                        Forward { question: "release", value, like, doubts: r.doubts }
                    }
                    Err(fault) => Forward {
                        question: "release",
                        value: Err(fault.to_string()),
                        like: None,
                        doubts: Vec::new(),
                    },
                }
            }
            Gauge::WaitingMargin | Gauge::Mass => {
                let at = self.groups.iter().find_map(|x| {
                    let k = x.gauges.kinds().iter().position(|k| *k == g)?;
                    Some((x, k))
                });
                let value = match at {
                    Some((x, k)) => {
                        let mut work = Work::default();
                        let all = x.gauges.read_anew(&self.changes(values, x.hold), &mut work);
                        all[k].clone().map_err(|e| e.to_string())
                    }
                    None => nothing("such gauge"),
                };
                Forward { question: "the same, anew", value, like: None, doubts: Vec::new() }
            }
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

    fn forward(&self, values: &[f64]) -> Vec<Forward> {
        let mut out: Vec<Forward> = Vec::new();
        let mut told: Vec<(Option<f64>, Gauge, usize)> = Vec::new();
        for w in self.wishes {
            let g = match w.about {
                About::Given(i) => {
                    let v = self.vary.iter().zip(values).find(|(v, _)| v.given == i);
                    let value = v.map_or(self.givens[i].value, |(_, x)| *x);
                    out.push(Forward { question: "case", value: Ok(value), like: None, doubts: Vec::new() });
                    continue;
                }
                About::Gauge(g) => g,
            };
            if let Some((_, _, k)) = told.iter().find(|(h, o, _)| *h == w.hold && *o == g) {
                let f = &out[*k];
                out.push(Forward {
                    question: f.question,
                    value: f.value.clone(),
                    like: f.like,
                    doubts: Vec::new(),
                });
                continue;
            }
            told.push((w.hold, g, out.len()));
            let group = self.groups.iter().find(|x| x.gauges.kinds().contains(&g));
            let hold = group.and_then(|x| x.hold).filter(|_| w.hold.is_some());
            out.push(match Changed::new(self.subject, &self.changes(values, hold)) {
                Some(part) => self.ask(&part, g, values),
                None => Forward {
                    question: "case",
                    value: Err("there is no such part".to_owned()),
                    like: None,
                    doubts: Vec::new(),
                },
            });
        }
        out
    }

    fn work(&self) -> Work {
        self.work.lock().map_or_else(|_| Work::default(), |w| *w)
    }
}

//! A motion marched and watched: rows, frames, crossings.

use crate::film::surface_strain;
use calotte_shell::InMotion;
use calotte_solve::march::{Count, March, Settings, Stuck};
use calotte_solve::{Ledger, Moving, State};

/// When to end.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Until {
    /// Time of the motion at the latest.
    pub(crate) time: f64,
    /// Time after the snap has ended.
    pub(crate) after_snap: f64,
    /// Whether to go on through take-off until it has landed.
    pub(crate) landing: bool,
    /// Steps allowed.
    pub(crate) steps: u64,
}

/// Why it ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Ended {
    /// All that was asked for has been followed.
    Followed,
    /// Steps spent.
    Spent,
    /// The march was stuck.
    Stuck(Stuck),
    /// The caller stopped it.
    Stopped,
}

/// One step of a motion, in its units.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Row {
    pub(crate) t: f64,
    pub(crate) pole: f64,
    pub(crate) rim: f64,
    /// Speed of the pole against the rim.
    pub(crate) closing: f64,
    pub(crate) centre: f64,
    pub(crate) centre_speed: f64,
    pub(crate) reaction: f64,
    /// Impulse of the table so far.
    pub(crate) impulse: f64,
    /// Impulse of air and bath so far (told of a part on a table).
    pub(crate) drag: f64,
    pub(crate) depth: f64,
    pub(crate) contact: f64,
    pub(crate) gravity: f64,
    pub(crate) ledger: Ledger,
}

impl Row {
    /// Pole above rim.
    pub(crate) fn height(&self) -> f64 {
        self.pole - self.rim
    }
}

/// A shape at one time: radii and heights.
#[derive(Clone, Debug)]
pub(crate) struct Shape {
    pub(crate) t: f64,
    pub(crate) points: Vec<[f64; 2]>,
    /// Largest surface strain.
    pub(crate) strain: f64,
    /// The unknowns, for films.
    pub(crate) q: Vec<f64>,
}

/// A whole motion.
#[derive(Clone, Debug)]
pub(crate) struct Track {
    pub(crate) rows: Vec<Row>,
    pub(crate) shapes: Vec<Shape>,
    /// Beginning of the snap: the last time before the half at which the closing speed was a tenth of its peak.
    pub(crate) begins: Option<f64>,
    /// Half of the way.
    pub(crate) halfway: Option<f64>,
    /// Nine tenths of the way.
    pub(crate) ninth: Option<f64>,
    /// Largest closing speed up to the end of the snap, and when.
    pub(crate) peak: [f64; 2],
    pub(crate) ended: Ended,
    pub(crate) count: Count,
}

impl Track {
    /// Largest change of the energy balance up to time `t`.
    pub(crate) fn imbalance(&self, t: f64) -> f64 {
        let Some(first) = self.rows.first() else { return f64::NAN };
        let start = first.ledger.total();
        self.rows
            .iter()
            .take_while(|r| r.t <= t)
            .map(|r| (r.ledger.total() - start).abs())
            .fold(0.0, f64::max)
    }

    /// See [`Track::begins`]; between rows the speed is taken to grow exponentially.
    fn beginning(&self) -> Option<f64> {
        let halfway = self.halfway?;
        let wanted = SLOW * self.peak[0];
        let end = self.rows.iter().position(|r| r.t >= halfway)?;
        let speed = |i: usize| self.rows[i].closing.abs();
        let Some(i) = (0..end).rev().find(|i| speed(*i) < wanted) else { return Some(0.0) };
        let (a, b) = (speed(i), speed(i + 1).max(wanted));
        let share = if a > 0.0 {
            libm::log(wanted / a) / libm::log(b / a)
        } else {
            // From rest the speed grows evenly.
            wanted / b
        };
        let [from, to] = [self.rows[i].t, self.rows[i + 1].t];
        Some((from + share.clamp(0.0, 1.0) * (to - from)).min(halfway))
    }
}

/// Heights that mark the way: pole above rim at the start, and in the natural state.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Way {
    pub(crate) from: f64,
    pub(crate) to: f64,
}

impl Way {
    fn at(&self, share: f64) -> f64 {
        self.from + share * (self.to - self.from)
    }

    /// Height that counts as half-way: pole and rim level, or half of the way for a part that starts about flat.
    pub(crate) fn half(&self) -> f64 {
        if self.from * self.to < -0.05 * self.to * self.to { 0.0 } else { self.at(0.5) }
    }
}

/// Shapes kept at most in each pass before every second one is dropped.
const SHAPES: usize = 600;
/// Error allowed after the snap, over that before: ringing is told to fewer digits.
const RINGING: f64 = 3.0;
/// Share of the peak speed at which a snap begins.
const SLOW: f64 = 0.1;
/// Samples of the closing speed in a step.
const SAMPLES: usize = 8;

struct Watcher<'a> {
    motion: &'a InMotion,
    inner: usize,
    rim: Option<usize>,
    rim_height: f64,
}

impl Watcher<'_> {
    fn ends(&self, x: &[f64]) -> [f64; 2] {
        [x[self.inner], self.rim.map_or(self.rim_height, |i| x[i])]
    }

    fn height(&self, x: &[f64]) -> f64 {
        let [pole, rim] = self.ends(x);
        pole - rim
    }

    fn row(&self, state: &State, impulse: f64) -> Row {
        let m = self.motion;
        let [pole, rim] = self.ends(&state.q);
        let speed = |i: Option<usize>| i.map_or(0.0, |i| state.v[i]);
        let table = m.on_table(&state.q);
        let ledger = state.ledger(m);
        let centre = m.mean_height(&state.q);
        let gravity = m.weight() * m.total_mass() * centre;
        Row {
            t: state.t,
            pole,
            rim,
            closing: speed(Some(self.inner)) - speed(self.rim),
            centre,
            centre_speed: m.mean_speed(&state.v),
            reaction: table.force,
            impulse,
            drag: 0.0,
            depth: table.depth,
            contact: m.contact_energy(&state.q),
            gravity,
            ledger,
        }
    }

    fn shape(&self, state: &State) -> Shape {
        let h = self.motion.thickness_factor();
        let p = self.motion.model().profile(&state.q, 4);
        let strain = |s: &calotte_shell::Sample| surface_strain(s, h);
        Shape {
            t: state.t,
            points: p.samples.iter().map(|s| [s.r, s.z]).collect(),
            strain: p.samples.iter().map(strain).fold(0.0, f64::max),
            q: state.q.clone(),
        }
    }
}

/// Marches from `state` and watches. `see` is shown every state, told whether the snap is over, and says whether to go on.
pub(crate) fn follow(
    motion: &InMotion,
    state: State,
    set: Settings,
    way: Way,
    until: Until,
    kinks: &[f64],
    see: &mut dyn FnMut(&State, bool) -> bool,
) -> Track {
    let model = motion.model();
    let last = model.nodes().len() - 1;
    let watcher = Watcher {
        motion,
        inner: model.inner_height(),
        rim: model.height_of(last),
        rim_height: model.profile(&state.q, 1).rim().z,
    };
    let mut track = Track {
        rows: vec![watcher.row(&state, 0.0)],
        shapes: vec![watcher.shape(&state)],
        begins: None,
        halfway: None,
        ninth: None,
        peak: [0.0; 2],
        ended: Ended::Spent,
        count: Count::default(),
    };
    let down = way.to < way.from;
    let passed = |x: f64, level: f64| if down { x <= level } else { x >= level };
    let mut march = March::new(motion, state, set);
    let (mut impulse, mut drag) = (0.0, 0.0);
    let (mut stride, mut since) = (1, 0);
    let mut landing = Landing::default();
    let touches = motion.has_table();
    while march.count.steps < until.steps {
        let before = march.state().t;
        // Forces that jump in time end a step.
        let next = kinks.iter().copied().filter(|k| *k > before).fold(until.time, f64::min);
        if let Err(stuck) = march.step(next) {
            track.ended = Ended::Stuck(stuck);
            break;
        }
        let taken = march.taken().clone();
        // The step is read before step control forgets it.
        if kinks.contains(&march.state().t) {
            march.restart(set.first);
        }
        let radau = march.radau().clone();
        let at = |x: f64| taken.at(&radau, x);
        let when = |level: f64| {
            let (mut a, mut b) = (0.0, 1.0);
            for _ in 0..50 {
                let m = 0.5 * (a + b);
                if passed(watcher.height(&at(m).0), level) { b = m } else { a = m }
            }
            taken.t + 0.5 * (a + b) * taken.h
        };
        if touches {
            for j in 0..3 {
                let (w, (q, v)) = (taken.h * radau.b[j], at(radau.c[j]));
                impulse += w * motion.on_table(&q).force;
                drag += w
                    * (motion.air_force(&v) - motion.damping() * motion.total_mass() * motion.mean_speed(&v));
            }
        }
        let row = Row { drag, ..watcher.row(march.state(), impulse) };
        if track.halfway.is_none() && passed(row.height(), way.half()) {
            track.halfway = Some(when(way.half()));
        }
        if track.ninth.is_none() {
            let mut best = [0.0_f64; 2];
            for i in 0..SAMPLES {
                let x = i as f64 / SAMPLES as f64;
                let v = at(x).1;
                let closing = (v[watcher.inner] - watcher.rim.map_or(0.0, |r| v[r])).abs();
                if closing > best[0] {
                    best = [closing, taken.t + x * taken.h];
                }
            }
            if best[0] > track.peak[0] {
                track.peak = best;
            }
            if track.halfway.is_some() && passed(row.height(), way.at(0.9)) {
                track.ninth = Some(when(way.at(0.9)));
                march.allow(RINGING * set.tolerance);
            }
        }
        track.rows.push(row);
        since += 1;
        if since >= stride {
            since = 0;
            track.shapes.push(watcher.shape(march.state()));
            if track.shapes.len() > SHAPES && track.ninth.is_some() {
                let mut keep = 0;
                track.shapes.retain(|_| {
                    keep += 1;
                    keep % 2 == 1
                });
                stride *= 2;
            }
        }
        landing.see(&row, track.ninth.is_some());
        let t = row.t;
        let snapped = track.ninth.is_some_and(|n| t >= n + until.after_snap);
        let done = t >= until.time
            || (snapped && (!until.landing || !touches || landing.landed(t, until.after_snap)));
        if !see(march.state(), track.ninth.is_some()) {
            track.ended = Ended::Stopped;
            break;
        }
        if done {
            track.ended = Ended::Followed;
            break;
        }
    }
    track.shapes.push(watcher.shape(march.state()));
    track.begins = track.beginning();
    track.count = march.count;
    track
}

/// Watches for flight and landing.
#[derive(Default)]
struct Landing {
    free_since: Option<f64>,
    flown: bool,
    landed: Option<f64>,
}

impl Landing {
    fn see(&mut self, row: &Row, snapped: bool) {
        if !snapped {
            return;
        }
        if row.reaction > 0.0 {
            if self.flown && self.landed.is_none() {
                self.landed = Some(row.t);
            }
            self.free_since = None;
        } else {
            let since = *self.free_since.get_or_insert(row.t);
            // A flight, not a rebound within the ringing: the centre of mass is on its way down.
            self.flown |= row.t > since && row.centre_speed < 0.0;
        }
    }

    fn landed(&self, t: f64, after: f64) -> bool {
        self.landed.is_some_and(|l| t >= l + after)
    }
}

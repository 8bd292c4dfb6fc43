//! Reports of releases for the tests. Everything in them is INVENTED: a made-up creep, a made-up snap, ringing and
//! flight, shapes that are parabolas, energies that add up because the elastic one is what is left. They exercise the
//! drawing and say nothing about any real part.

#![allow(dead_code, reason = "each test file uses another part")]

use calotte_answers::release::curves::{
    Delay, Quantile, Slow, Slowing, WaitCurve, WaitPoint, WaitSensitivity, WaitSpread,
};
use calotte_answers::release::report::{
    Event, Frame, History, Jump, Outcome, Protocol, ReleaseEvidence, ReleaseReport, Ringing, Scales,
    Sideways, Snap,
};

use crate::common::Invented;

/// What to invent.
#[derive(Clone, Debug)]
pub(crate) struct Release {
    pub(crate) outcome: Outcome,
    /// Half-way time, or time followed when it stays.
    pub(crate) halfway_s: f64,
    pub(crate) snap_s: f64,
    pub(crate) ramp_s: f64,
    pub(crate) frequency_hz: f64,
    pub(crate) table: bool,
    /// Speed at take-off.
    pub(crate) jumps: Option<f64>,
    /// Whether flight and landing are followed.
    pub(crate) lands: bool,
    pub(crate) sideways: bool,
    pub(crate) part: Invented,
}

impl Default for Release {
    fn default() -> Self {
        Self {
            outcome: Outcome::Waits,
            halfway_s: 12.4,
            snap_s: 2.6e-3,
            ramp_s: 0.02,
            frequency_hz: 480.0,
            table: true,
            jumps: None,
            lands: false,
            sideways: false,
            part: Invented::default(),
        }
    }
}

const G: f64 = 9.81;
const MASS: f64 = 4e-3;
const ENERGY: f64 = 12e-3;

impl Release {
    pub(crate) fn snaps(&self) -> bool {
        matches!(self.outcome, Outcome::Waits | Outcome::Returns)
    }

    fn takeoff(&self) -> f64 {
        self.halfway_s + 1.1 * self.snap_s
    }

    fn flies_for(&self) -> f64 {
        2.0 * self.jumps.unwrap_or(0.0) / G
    }

    fn last(&self) -> f64 {
        if !self.snaps() {
            return self.halfway_s;
        }
        let ring = self.halfway_s + 30.0 / self.frequency_hz;
        if self.lands { self.takeoff() + 1.1 * self.flies_for() } else { ring }
    }

    /// Share of the way done, creeping and snapping.
    fn way(&self, t: f64) -> f64 {
        let creep = 0.05 * (1.0 - libm::exp(-8.0 * t / self.halfway_s));
        if !self.snaps() {
            return creep;
        }
        let near = 0.012 / (0.012 + ((self.halfway_s - t) / self.halfway_s).abs());
        let u = (2.0 * libm::log(9.0) / self.snap_s * (t - self.halfway_s)).clamp(-600.0, 600.0);
        let s = 1.0 / (1.0 + libm::exp(-u));
        let creep = if self.outcome == Outcome::Waits { creep + 0.035 * near * near } else { 0.0 };
        creep * (1.0 - s) + s
    }

    fn over(&self, t: f64, rise: f64) -> f64 {
        let after = t - self.halfway_s;
        let ring = if self.snaps() && after > 0.0 {
            let swell = 1.0 - libm::exp(-after / (0.5 * self.snap_s));
            0.25 * swell
                * libm::exp(-after * self.frequency_hz / 9.0)
                * libm::sin(2.0 * std::f64::consts::PI * self.frequency_hz * after)
        } else {
            0.0
        };
        rise * (0.925 - 1.85 * self.way(t) - ring)
    }

    fn lift(&self, t: f64) -> f64 {
        let (Some(v), since) = (self.jumps, t - self.takeoff()) else { return 0.0 };
        if since <= 0.0 { 0.0 } else { (v * since - 0.5 * G * since * since).max(0.0) }
    }

    fn times(&self) -> Vec<f64> {
        let (half, snap, last) = (self.halfway_s, self.snap_s, self.last());
        let even = |from: f64, to: f64, n: u32| {
            (0..n).map(move |i| from + (to - from) * f64::from(i) / f64::from(n))
        };
        let mut out: Vec<f64> = Vec::new();
        if self.snaps() {
            let begin = (half - 4.0 * snap).max(0.0);
            out.extend(even(0.0, begin, 160));
            out.extend(even(begin, half + 2.0 * snap, 260));
            let ring = (half + 30.0 / self.frequency_hz).min(last);
            out.extend(even(half + 2.0 * snap, ring, 700));
            out.extend(even(ring, last, 300));
        } else {
            out.extend(even(0.0, last, 300));
        }
        out.push(last);
        out.dedup();
        out
    }

    pub(crate) fn report(&self) -> ReleaseReport {
        let part = self.part.report().part;
        let rise = part.rise_m;
        let (half, snap_s) = (self.halfway_s, self.snap_s);
        let mut h = History::default();
        for t in self.times() {
            let (over, lift) = (self.over(t, rise), self.lift(t));
            let speed = (self.over(t + 1e-7, rise) - self.over(t - 1e-7, rise)) / 2e-7;
            let rim = if self.table { (-over).max(0.0) } else { 0.0 } + lift;
            let relaxed = 0.18 * ENERGY * (1.0 - libm::exp(-5.0 * t / half));
            let dragged = 0.15 * ENERGY * (1.0 - libm::exp(-((t - half) * 30.0).max(0.0)));
            let flying = if lift > 0.0 { self.jumps.unwrap_or(0.0) - G * (t - self.takeoff()) } else { 0.0 };
            let kinetic = 0.5 * MASS * flying * flying + 0.012 * MASS * speed * speed;
            let gravity = MASS * G * (lift + 0.4 * over);
            let contact = if self.table && self.snaps() {
                0.06 * ENERGY * libm::exp(-libm::pow((t - half - 0.6 * snap_s) / (0.2 * snap_s), 2.0))
            } else {
                0.0
            };
            h.time_s.push(t);
            h.pole_over_rim_m.push(over);
            h.pole_over_rim_speed_m_per_s.push(speed);
            h.pole_height_m.push(over + rim);
            h.rim_height_m.push(rim);
            h.centre_height_m.push(rim + 0.5 * over);
            h.centre_speed_m_per_s.push(flying);
            h.reaction_N.push(0.0);
            h.kinetic_J.push(kinetic);
            h.gravity_J.push(gravity);
            h.contact_J.push(contact);
            h.relaxed_J.push(relaxed);
            h.dragged_J.push(dragged);
            h.hand_J.push(0.0);
            h.elastic_J.push(ENERGY - kinetic - gravity - contact - relaxed - dragged);
        }
        let snap = self.snaps().then_some(Snap {
            wait_s: half - 0.5 * snap_s,
            snap_time_s: snap_s,
            halfway_s: half,
            end_s: half + 0.5 * snap_s,
            peak_speed_m_per_s: 8.4,
            peak_speed_at_s: half,
            energy_available_J: ENERGY,
            kinetic_energy_J: 0.4 * ENERGY,
            creep_wait_s: None,
        });
        let events = [(0.0, "let-go"), (self.ramp_s, "gone")].map(|(time_s, kind)| Event {
            time_s,
            kind: kind.to_owned(),
            what: String::new(),
        });
        ReleaseReport {
            schema_version: 1,
            title: "Invented cap".to_owned(),
            outcome: self.outcome,
            explanation: Vec::new(),
            doubts: Vec::new(),
            warnings: Vec::new(),
            protocol: Protocol {
                shape: "mirror".to_owned(),
                hold_s: 600.0,
                ramp_s: self.ramp_s,
                rests: if self.table { "table" } else { "nowhere" }.to_owned(),
                gravity_m_per_s2: G,
                temperature_K: None,
                memory: Vec::new(),
                hand_force_N: 1.0,
                words: Vec::new(),
            },
            definitions: Vec::new(),
            scales: Scales { wave_time_s: 1e-3, bending_time_s: 2e-3, natural_frequency_Hz: None },
            snap,
            jump: self.jumps.map(|v| Jump {
                takeoff_s: self.takeoff(),
                takeoff_speed_m_per_s: v,
                height_m: v * v / 2.0 / G,
                height_marched: self.lands,
                height_bound_m: ENERGY / MASS / G,
                flight_energy_J: 0.5 * MASS * v * v,
                impulse_N_s: MASS * v,
                impulse_closure: 0.0,
                largest_reaction_N: 3.0,
                landing_s: self.lands.then(|| self.takeoff() + self.flies_for()),
            }),
            ringing: self.snaps().then(|| Ringing {
                frequency_Hz: self.frequency_hz,
                from_s: half + snap_s,
                to_s: half + 30.0 / self.frequency_hz,
                periods: 27,
                amplitude_m: 0.2 * rise,
            }),
            energies: Vec::new(),
            events: events.into(),
            frames: self.frames(&part.meridian.r_m, rise),
            sideways: if self.sideways { self.growth() } else { Vec::new() },
            history: h,
            evidence: evidence(self.last()),
            part,
        }
    }

    fn frames(&self, radii: &[f64], rise: f64) -> Vec<Frame> {
        let times = self.times();
        let rim = radii[radii.len() - 1];
        let shape = |t: f64| {
            let over = self.over(t, rise);
            let lift = self.lift(t) + if self.table { (-over).max(0.0) } else { 0.0 };
            let r_m: Vec<f64> = radii.iter().step_by(8).copied().collect();
            let z_m = r_m.iter().map(|r| lift + over * (1.0 - r * r / (rim * rim))).collect();
            Frame { time_s: t, r_m, z_m }
        };
        times.iter().step_by(4).map(|t| shape(*t)).collect()
    }

    fn growth(&self) -> Vec<Sideways> {
        let times: Vec<f64> = self.times().into_iter().step_by(3).collect();
        [(2_u32, 300.0, 0.6), (3, 90.0, 1.0), (4, 0.3, 0.2)]
            .map(|(n, growth, rate)| {
                let amplitude_m: Vec<f64> = times
                    .iter()
                    .map(|t| {
                        let u = ((t - self.halfway_s) / self.snap_s * rate).clamp(-40.0, 3.0);
                        1e-6 * (1.0 + (growth - 1.0) / (1.0 + libm::exp(-4.0 * u)))
                    })
                    .collect();
                Sideways {
                    n,
                    start_m: 1e-6,
                    largest_m: 1e-6 * f64::max(growth, 1.0),
                    largest_at_s: self.halfway_s,
                    growth,
                    unstable_modes: 1,
                    wins: false,
                    time_s: times.clone(),
                    amplitude_m,
                }
            })
            .into()
    }
}

fn evidence(followed_s: f64) -> ReleaseEvidence {
    ReleaseEvidence {
        elements: 0,
        balance_to_snap: 0.0,
        balance_whole: 0.0,
        mesh_difference: None,
        step_difference: None,
        speed_difference: None,
        deepest_contact: 0.0,
        tolerance: 0.0,
        steps: 0,
        refused: 0,
        iterations: 0,
        factorisations: 0,
        followed_s,
        ended: String::new(),
        largest_strain: 0.0,
        limits: Vec::new(),
    }
}

/// A made-up curve: at once below 3 s, waits above, stays from 4 h.
pub(crate) fn wait_curve(with_zero: bool) -> WaitCurve {
    let mut points: Vec<WaitPoint> = (0..19)
        .map(|i| {
            let hold_s = libm::pow(10.0, f64::from(i) * 0.25);
            let rests = hold_s > 3.0;
            let stays = hold_s > 14_400.0;
            let wait = if rests { 0.4 * libm::pow(hold_s - 2.9, 0.8) } else { 4e-3 + 1e-3 * hold_s };
            WaitPoint { hold_s, wait_s: (!stays).then_some(wait), rests, stays }
        })
        .collect();
    if with_zero {
        points.insert(0, WaitPoint { hold_s: 0.0, wait_s: Some(3.6e-3), rests: false, stays: false });
    }
    WaitCurve { points, shortest_hold_s: Some(3.0), words: vec!["Made up".to_owned()] }
}

/// A made-up batch of 500.
pub(crate) fn wait_spread() -> WaitSpread {
    let waits: Vec<f64> = (0..500)
        .map(|i| match (f64::from(i) * 0.618_033_988_7).fract() {
            u if u < 0.06 => 4e-3 * (1.0 + u),
            u if u > 0.88 => f64::INFINITY,
            u => 10.0 * libm::exp(1.3 * libm::log((u - 0.05) / (0.9 - u))),
        })
        .collect();
    let mut sorted = waits.clone();
    sorted.sort_by(f64::total_cmp);
    let quantiles = [0.1, 0.5, 0.9].map(|share| Quantile {
        share,
        wait_s: Some(sorted[(share * 499.0) as usize]).filter(|w| w.is_finite()),
    });
    let input = |input: &str, share: f64, slope: Option<f64>| WaitSensitivity {
        input: input.to_owned(),
        relative_slope: slope,
        at_low_s: None,
        at_high_s: None,
        share,
    };
    WaitSpread {
        drawn: 500,
        stay: 0.12,
        wait: 0.82,
        at_once: 0.06,
        unknown: 0.0,
        quantiles: quantiles.into(),
        waits,
        sensitivities: vec![
            input("wall.thickness", 0.71, Some(18.3)),
            input("shape.depth", 0.22, Some(-11.0)),
            input("material.memory.share", 0.05, None),
            input("hold.time", 0.004, Some(0.8)),
        ],
        words: vec!["The thickness decides".to_owned()],
    }
}

/// Made-up powers of the distance.
pub(crate) fn slowing() -> Slowing {
    let delay = |scale: f64, slope: f64| -> Vec<Delay> {
        (0..9)
            .map(|i| {
                let distance = libm::pow(10.0, -4.0 + 0.375 * f64::from(i));
                let exponent = (i > 0 && i < 8).then_some(slope + 0.1 * libm::sqrt(distance));
                Delay { distance, time_s: scale * libm::pow(distance, slope), exponent }
            })
            .collect()
    };
    let frequencies = delay(300.0, 0.25)
        .into_iter()
        .map(|d| Slow { distance: d.distance, frequency_Hz: d.time_s, exponent: d.exponent })
        .collect();
    Slowing {
        threshold_thickness_m: 2.1e-3,
        elastic: delay(4e-3, -0.25),
        damped: delay(1.3, -0.5),
        frequencies,
        words: Vec::new(),
    }
}

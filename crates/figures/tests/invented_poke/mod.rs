//! Reports of pokes for the tests. Everything in them is INVENTED: loads and displacements are made-up
//! functions of a parameter, stability follows from their slopes, shapes are parabolas. They exercise the
//! drawing and say nothing about any real part.

use calotte_answers::poke::report::{
    Barrier, BranchOff, Event, EventKind, Hysteresis, Landing, LoadSummary, Outcome, PathRow, PokeEvidence,
    PokeReport, Return, SidewaysMode, Trip,
};
use calotte_answers::poke::trade::Trade;
use calotte_answers::report::SampledMeridian;

use crate::common::Invented;

/// Displacement and load of a made-up path at a parameter from 0 to 1, in the units of the loads.
pub(crate) type Made = fn(f64) -> (f64, f64);

/// A peak, a valley below zero and a rise.
pub(crate) fn over(t: f64) -> (f64, f64) {
    let x = 10.0 * t;
    (x * 1e-3, 0.09 * (x * x * x / 3.0 - 4.6 * x * x + 15.5 * x))
}

/// A valley above zero: it jumps back by itself.
pub(crate) fn springs_back(t: f64) -> (f64, f64) {
    let x = 10.0 * t;
    (x * 1e-3, 0.09 * (x * x * x / 3.0 - 4.6 * x * x + 18.0 * x))
}

/// Three peaks; the displacement goes back and forth.
pub(crate) fn loops(t: f64) -> (f64, f64) {
    let a = 6.0 * std::f64::consts::PI * t;
    (
        9e-3 * t - 1.5e-3 * (libm::sin(a + 2.2) - libm::sin(2.2)),
        2.0 * libm::sin(a) * (1.0 - 0.3 * t) + 2.4 * t,
    )
}

/// No limit point.
pub(crate) fn rises(t: f64) -> (f64, f64) {
    (5e-3 * t, 1.4 * t + 0.4 * t * t * t)
}

/// Loads below zero only.
pub(crate) fn pulled(t: f64) -> (f64, f64) {
    let (d, f) = over(t);
    (-d, -f)
}

/// A path that stiffens far beyond its limit points.
pub(crate) fn stiffens(t: f64) -> (f64, f64) {
    let (d, f) = over(t);
    (d, f + 900.0 * libm::pow((t - 0.85).max(0.0), 2.0) * 10.0)
}

/// What to invent.
#[derive(Clone, Debug)]
pub(crate) struct Poke {
    pub(crate) made: Made,
    pub(crate) load_factor: f64,
    pub(crate) displacement_factor: f64,
    pub(crate) load: (&'static str, &'static str),
    pub(crate) displacement: (&'static str, &'static str),
    pub(crate) control: &'static str,
    pub(crate) stop_m: Option<f64>,
    /// Parameters at which a wave number is lost and regained.
    pub(crate) sideways: Option<(u32, f64, f64)>,
    pub(crate) barriers: bool,
}

impl Default for Poke {
    fn default() -> Self {
        Self {
            made: over,
            load_factor: 1.0,
            displacement_factor: 1.0,
            load: ("force", "N"),
            displacement: ("travel of the pole", "m"),
            control: "load",
            stop_m: None,
            sideways: None,
            barriers: false,
        }
    }
}

const ROWS: u32 = 160;

impl Poke {
    fn at(&self, t: f64) -> (f64, f64) {
        let (d, f) = (self.made)(t);
        (d * self.displacement_factor, f * self.load_factor)
    }

    /// Slopes of displacement and load along the parameter.
    fn slopes(&self, t: f64) -> (f64, f64) {
        let (a, b) = (self.at(t - 1e-6), self.at(t + 1e-6));
        let sign = if self.at(0.05).0 < 0.0 { -1.0 } else { 1.0 };
        (sign * (b.0 - a.0), sign * (b.1 - a.1))
    }

    fn row(&self, t: f64) -> PathRow {
        let (d, f) = self.at(t);
        let (dd, df) = self.slopes(t);
        let lost = self.sideways.filter(|s| t > s.1 && t < s.2).map(|s| s.0);
        PathRow {
            load_SI: f,
            displacement_SI: d,
            travel_m: d,
            energy_J: 0.0,
            work_J: 0.0,
            unstable_load: usize::from(dd < 0.0 || df < 0.0),
            unstable_displacement: usize::from(dd < 0.0),
            unstable_n: lost.into_iter().collect(),
            contact_m: None,
            rim_reaction_N: None,
        }
    }

    fn event(&self, kind: EventKind, t: f64) -> Event {
        let row = self.row(t);
        let before = self.row(t - 1e-4);
        let sideways = matches!(kind, EventKind::Sideways | EventKind::SidewaysRegained);
        let n = self.sideways.filter(|_| sideways).map(|s| s.0);
        Event {
            kind,
            n,
            after_row: (t * f64::from(ROWS)).floor() as usize,
            load_SI: row.load_SI,
            displacement_SI: row.displacement_SI,
            travel_m: row.travel_m,
            energy_J: 0.0,
            work_J: 0.0,
            stable_before_load: before.stable_by_load(),
            stable_before_displacement: before.stable_by_displacement(),
            bracket: 1e-8,
            mesh_difference: None,
            meridian: deformed(1.6 * t),
            mode: n.filter(|_| kind == EventKind::Sideways).map(|n| self.mode(n)),
        }
    }

    fn mode(&self, n: u32) -> SidewaysMode {
        let m = deformed(0.0);
        let rim = m.s_m[m.s_m.len() - 1];
        let bump = |s: f64| {
            let y = s / rim;
            y * y * (1.0 - y) * 6.7
        };
        let u: Vec<f64> = m.s_m.iter().map(|&s| 0.5 * bump(s)).collect();
        SidewaysMode {
            n,
            v: u.iter().map(|u| -u / f64::from(n)).collect(),
            w: m.s_m.iter().map(|&s| 0.85 * bump(s)).collect(),
            u,
            peak_at_m: rim * 2.0 / 3.0,
            s_m: m.s_m,
            branch: Some(BranchOff {
                load_curvature_SI_per_m2: -0.9 * self.load_factor,
                displacement_curvature_SI_per_m2: 1e-3 * self.displacement_factor,
                stable_by_load: false,
                stable_by_displacement: true,
                energy_gap_J_per_m4: -1.0,
                slope_SI: -900.0 * self.load_factor / self.displacement_factor,
                path_slope_SI: 1.0,
                trusted_to_m: 1e-4,
            }),
        }
    }

    /// Sign changes of a function of the parameter: where, and whether it falls through zero.
    fn crossings(&self, f: impl Fn(f64) -> f64) -> Vec<(f64, bool)> {
        let mut out = Vec::new();
        for i in 1..ROWS {
            let (mut a, mut b) = (f64::from(i) / f64::from(ROWS), f64::from(i + 1) / f64::from(ROWS));
            let falls = f(a) > 0.0;
            if falls == (f(b) > 0.0) {
                continue;
            }
            for _ in 0..60 {
                let m = (a + b) / 2.0;
                if (f(m) > 0.0) == falls { a = m } else { b = m }
            }
            out.push((a, falls));
        }
        out
    }

    pub(crate) fn report(&self) -> PokeReport {
        let mut found: Vec<(f64, EventKind)> = Vec::new();
        for (t, falls) in self.crossings(|t| self.slopes(t).1) {
            found.push((t, if falls { EventKind::LoadPeak } else { EventKind::LoadValley }));
        }
        for (t, falls) in self.crossings(|t| self.slopes(t).0) {
            found.push((t, if falls { EventKind::DisplacementLimit } else { EventKind::DisplacementReturn }));
        }
        for (t, _) in self.crossings(|t| self.at(t).1) {
            found.push((t, EventKind::NoLoad));
        }
        if let Some((_, lost, regained)) = self.sideways {
            found.extend([(lost, EventKind::Sideways), (regained, EventKind::SidewaysRegained)]);
        }
        if let Some(stop) = self.stop_m {
            found.extend(self.crossings(|t| self.at(t).0 - stop).iter().map(|c| (c.0, EventKind::Stop)));
        }
        found.sort_by(|a, b| a.0.total_cmp(&b.0));
        let events: Vec<Event> = found.iter().map(|&(t, kind)| self.event(kind, t)).collect();
        let ts: Vec<f64> = found.iter().map(|f| f.0).collect();
        let path: Vec<PathRow> = (0..=ROWS).map(|i| self.row(f64::from(i) / f64::from(ROWS))).collect();
        let trip = |by_load: bool| {
            let limit = if by_load { EventKind::LoadPeak } else { EventKind::DisplacementLimit };
            let i = events.iter().position(|e| e.kind == limit || e.kind == EventKind::Sideways)?;
            let (d, f) = (events[i].displacement_SI, events[i].load_SI);
            Some(Trip {
                event: i,
                route: if events[i].n.is_some() { "sideways" } else { "axisymmetric" }.to_owned(),
                n: events[i].n.unwrap_or(0),
                load_SI: f,
                displacement_SI: d,
                work_J: 0.0,
                lands: self.landing(ts[i], (d, f), by_load),
            })
        };
        let back = events.iter().position(|e| e.kind == EventKind::LoadValley).map(|i| {
            let (d, f) = (events[i].displacement_SI, events[i].load_SI);
            Return { event: i, load_SI: f, displacement_SI: d, lands: self.landing(-ts[i], (d, f), true) }
        });
        let (by_load, by_displacement) = (trip(true), trip(false));
        let barriers = if self.barriers { invented_barriers(self.load_factor) } else { Vec::new() };
        PokeReport {
            schema_version: 1,
            title: "Invented cap".to_owned(),
            outcome: if by_load.is_some() { Outcome::Trips } else { Outcome::Follows },
            explanation: Vec::new(),
            doubts: Vec::new(),
            warnings: Vec::new(),
            beyond: Vec::new(),
            part: Invented::default().report().part,
            load: LoadSummary {
                kind: "pole".to_owned(),
                words: "an invented push".to_owned(),
                from: "natural".to_owned(),
                control: self.control.to_owned(),
                load_unit: self.load.1.to_owned(),
                displacement_unit: self.displacement.1.to_owned(),
                load_name: self.load.0.to_owned(),
                displacement_name: self.displacement.0.to_owned(),
                work_factor: 1.0,
                stop_m: self.stop_m,
                gravity_m_per_s2: 0.0,
            },
            by_load,
            by_displacement,
            return_trip: back,
            snap: None,
            hysteresis: Hysteresis::default(),
            barriers,
            stays_afterwards: None,
            trade: Trade::default(),
            initial_stiffness_SI: 1.0,
            path,
            events,
            evidence: PokeEvidence::default(),
        }
    }

    /// The next place after `t` (before it when `t` is negative) with the same load or displacement.
    fn landing(&self, t: f64, from: (f64, f64), by_load: bool) -> Option<Landing> {
        let forth = t > 0.0;
        let gap = |x: f64| if by_load { self.at(x).1 - from.1 } else { self.at(x).0 - from.0 };
        let all = self.crossings(gap);
        let mut places = all.iter().map(|c| c.0);
        let near = |x: &f64| if forth { *x > t + 0.02 } else { *x < -t - 0.02 };
        let x = if forth { places.find(near) } else { places.rev().find(near) };
        let stop = self.stop_m.filter(|s| forth && by_load && x.is_none_or(|x| self.at(x).0 > *s));
        let (d, f) = match (stop, x) {
            (Some(s), _) => (s, from.1),
            (None, Some(x)) => self.at(x),
            (None, None) => return None,
        };
        Some(Landing {
            load_SI: f,
            displacement_SI: d,
            travel_m: d,
            at_stop: stop.is_some(),
            released_J: 0.0,
        })
    }
}

/// A made-up shape: a bowl pushed through by a share of its rise.
fn deformed(share: f64) -> SampledMeridian {
    let natural = Invented::default().report().part.meridian;
    let last = natural.r_m.len() - 1;
    let (rim, rise) = (natural.r_m[last], natural.z_m[last]);
    let mut m = natural;
    for i in 0..=last {
        let y = m.r_m[i] / rim;
        let push = libm::pow(1.0 - y * y, 2.0);
        m.z_m[i] += share * rise * push;
        m.r_m[i] += 0.05 * share * rim * y * y * y;
    }
    m
}

fn invented_barriers(load: f64) -> Vec<Barrier> {
    (0..12)
        .flat_map(|i| {
            let x = f64::from(i) / 8.0 - 0.3;
            [("start", 1.2 - x), ("far", x + 0.3)].map(|(from, gap)| Barrier {
                from: from.to_owned(),
                load_SI: x * load,
                barrier_J: 2e-3 * load * libm::pow(gap.max(0.0), 1.5),
                displacement_SI: 0.0,
                saddle_displacement_SI: 0.0,
            })
        })
        .collect()
}

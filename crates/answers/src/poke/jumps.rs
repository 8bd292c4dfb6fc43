//! From a path with events to jumps: trip, landing, return, barriers, lost energy.

use crate::poke::path::Path;
use crate::poke::report::{
    Barrier, Event, EventKind, Hysteresis, Landing, PathRow, PokeReport, Return, SnapRatios, Trip,
};
use crate::poke::setup::Setup;

/// How the part is driven.
#[derive(Clone, Copy, PartialEq)]
enum Driven {
    Load,
    Displacement,
}

impl Driven {
    fn set(self, r: &PathRow) -> f64 {
        if self == Self::Load { r.load_SI } else { r.displacement_SI }
    }
    fn set_at(self, e: &Event) -> f64 {
        if self == Self::Load { e.load_SI } else { e.displacement_SI }
    }
    fn unstable(self, r: &PathRow) -> usize {
        if self == Self::Load { r.unstable_load } else { r.unstable_displacement }
    }
    fn stable_before(self, e: &Event) -> bool {
        if self == Self::Load { e.stable_before_load } else { e.stable_before_displacement }
    }
    fn trips(self, k: EventKind) -> bool {
        let limit = if self == Self::Load { EventKind::LoadPeak } else { EventKind::DisplacementLimit };
        k == limit || k == EventKind::Sideways
    }
    fn returns(self, k: EventKind) -> bool {
        let limit = if self == Self::Load { EventKind::LoadValley } else { EventKind::DisplacementReturn };
        k == limit || k == EventKind::SidewaysRegained
    }
}

/// Potential that a jump at a set load or displacement brings down.
fn potential(driven: Driven, energy: f64, load: f64, displacement: f64, factor: f64) -> f64 {
    if driven == Driven::Load { energy - factor * load * displacement } else { energy }
}

/// A point between two rows.
struct Between {
    row: usize,
    load: f64,
    displacement: f64,
    travel: f64,
    energy: f64,
}

fn between(rows: &[PathRow], i: usize, u: f64) -> Between {
    let (a, b) = (&rows[i], &rows[i + 1]);
    let mix = |x: f64, y: f64| x + u * (y - x);
    Between {
        row: i,
        load: mix(a.load_SI, b.load_SI),
        displacement: mix(a.displacement_SI, b.displacement_SI),
        travel: mix(a.travel_m, b.travel_m),
        energy: mix(a.energy_J, b.energy_J),
    }
}

/// The first crossing of `value` by the quantity set, in the rows given, on a stretch axisymmetrically stable (or not).
fn crossing(
    rows: &[PathRow],
    driven: Driven,
    value: f64,
    range: impl Iterator<Item = usize>,
    stable: bool,
) -> Option<Between> {
    range.filter(|i| i + 1 < rows.len()).find_map(|i| {
        let (a, b) = (driven.set(&rows[i]) - value, driven.set(&rows[i + 1]) - value);
        // Where a part comes to rest it is stable against ripples too; a saddle is one of the round shapes.
        let fits = |r: &PathRow| {
            if stable { driven.unstable(r) == 0 && r.unstable_n.is_empty() } else { driven.unstable(r) > 0 }
        };
        (a * b <= 0.0 && a != b && fits(&rows[i]) && fits(&rows[i + 1]))
            .then(|| between(rows, i, a / (a - b)))
    })
}

fn landing(
    driven: Driven,
    from: &Event,
    to: Option<&Between>,
    stop: Option<&Event>,
    factor: f64,
) -> Option<Landing> {
    let before = potential(driven, from.energy_J, from.load_SI, from.displacement_SI, factor);
    if let Some(s) = stop
        && driven == Driven::Load
        && to.is_none_or(|t| t.displacement > s.displacement_SI)
    {
        let after = potential(driven, s.energy_J, from.load_SI, s.displacement_SI, factor);
        return Some(Landing {
            load_SI: s.load_SI,
            displacement_SI: s.displacement_SI,
            travel_m: s.travel_m,
            at_stop: true,
            released_J: before - after,
        });
    }
    let t = to?;
    let released = before - potential(driven, t.energy, t.load, t.displacement, factor);
    // A jump goes downhill, or it goes elsewhere than along this path.
    (released > 0.0).then_some(Landing {
        load_SI: t.load,
        displacement_SI: t.displacement,
        travel_m: t.travel,
        at_stop: false,
        released_J: released,
    })
}

/// Trip and return of one way of driving.
struct Cycle {
    trip: Trip,
    back: Option<Return>,
    lost: Option<f64>,
}

fn cycle(rows: &[PathRow], events: &[Event], driven: Driven, factor: f64) -> Option<Cycle> {
    let (at, e) = events.iter().enumerate().find(|(_, e)| driven.trips(e.kind) && driven.stable_before(e))?;
    let stop = events.iter().find(|s| s.kind == EventKind::Stop);
    let value = driven.set_at(e);
    let there = crossing(rows, driven, value, e.after_row + 1..rows.len(), true);
    let lands = landing(driven, e, there.as_ref(), stop, factor);
    let n = e.n.unwrap_or(0);
    let trip = Trip {
        event: at,
        route: if n == 0 { "axisymmetric" } else { "sideways" }.to_owned(),
        n,
        load_SI: e.load_SI,
        displacement_SI: e.displacement_SI,
        work_J: e.work_J,
        lands: lands.clone(),
    };
    let far_row = there.as_ref().map(|t| t.row).or(stop.map(|s| s.after_row));
    let back = far_row.and_then(|far| {
        let (i, r) = events
            .iter()
            .enumerate()
            .rev()
            .find(|(i, r)| *i > at && r.after_row <= far && driven.returns(r.kind))?;
        // The near branch at that load: before the trip, from the start on.
        let near = crossing(rows, driven, driven.set_at(r), (0..=e.after_row).rev(), true);
        let home = landing(driven, r, near.as_ref(), None, factor);
        Some(Return { event: i, load_SI: r.load_SI, displacement_SI: r.displacement_SI, lands: home })
    });
    let lost = match (&trip.lands, back.as_ref().and_then(|b| b.lands.as_ref())) {
        (Some(a), Some(b)) if !a.at_stop => Some(a.released_J + b.released_J),
        _ => None,
    };
    Some(Cycle { trip, back, lost })
}

/// Reads everything about jumps into the report. `stays` judges an unloaded state with the rim the case has;
/// `let_go` what a part that left its pusher does.
pub(super) fn read(
    setup: &Setup,
    path: &mut Path,
    report: &mut PokeReport,
    stays: impl Fn(&[f64]) -> Option<bool>,
    let_go: Option<Option<bool>>,
) {
    let rows = &path.rows;
    let factor = report.load.work_factor;
    let by_load = cycle(rows, &report.events, Driven::Load, factor);
    let by_displacement = cycle(rows, &report.events, Driven::Displacement, factor);
    report.hysteresis = Hysteresis {
        by_load_J: by_load.as_ref().and_then(|c| c.lost),
        by_displacement_J: by_displacement.as_ref().and_then(|c| c.lost),
    };
    let peak = report.events.iter().find(|e| e.kind == EventKind::LoadPeak);
    let contact = report
        .events
        .iter()
        .find(|e| e.kind == EventKind::Stop)
        .or_else(|| report.events.iter().find(|e| e.kind == EventKind::LoadValley));
    report.return_trip = by_load.as_ref().and_then(|c| c.back.clone());
    report.snap = peak.filter(|p| p.load_SI > 0.0).zip(contact).map(|(p, c)| SnapRatios {
        peak_to_contact: (p.load_SI - c.load_SI) / p.load_SI,
        peak_to_return: report.return_trip.as_ref().map(|r| (p.load_SI - r.load_SI) / p.load_SI),
    });
    report.by_load = by_load.map(|c| c.trip);
    report.by_displacement = by_displacement.map(|c| c.trip);
    report.barriers = barriers(setup, rows, report, factor);
    // The last unloaded state that is stable as a round shape decides; what cannot be judged stays unknown.
    let mut verdict = None;
    for e in report.events.iter().filter(|e| e.kind == EventKind::NoLoad) {
        let next = &rows[(e.after_row + 1).min(rows.len() - 1)];
        let rising = next.load_SI > rows[e.after_row].load_SI;
        let after_stop = setup.load.stop.is_some_and(|s| e.displacement_SI > s);
        if rising && next.unstable_load == 0 && !after_stop {
            // The unloaded state lies between two points; the nearer stands for it.
            let near = if next.load_SI.abs() < rows[e.after_row].load_SI.abs() {
                e.after_row + 1
            } else {
                e.after_row
            };
            let free = stays(&path.points[near].x);
            verdict = Some(free.map(|s| s && next.unstable_n.is_empty()));
        }
    }
    report.stays_afterwards = verdict.or(let_go).unwrap_or_else(|| path.end.covers().then_some(false));
}

/// Barriers without load, and at half and nine tenths of the trip load.
fn barriers(setup: &Setup, rows: &[PathRow], report: &PokeReport, factor: f64) -> Vec<Barrier> {
    let mut out = Vec::new();
    let none: Vec<&Event> = report.events.iter().filter(|e| e.kind == EventKind::NoLoad).collect();
    let rising = |e: &Event| rows[(e.after_row + 1).min(rows.len() - 1)].load_SI > rows[e.after_row].load_SI;
    // The far state is the first unloaded one that is stable as a round shape; the saddle before it on the path is the
    // one that it passes on its way back, the first on the path the one that the start passes.
    let rests = |e: &Event| rising(e) && rows[(e.after_row + 1).min(rows.len() - 1)].unstable_load == 0;
    let mut say = |from: &str, energy: f64, displacement: f64, saddle: Option<&&Event>| {
        if let Some(s) = saddle.filter(|s| s.energy_J > energy) {
            out.push(Barrier {
                from: from.to_owned(),
                load_SI: 0.0,
                barrier_J: s.energy_J - energy,
                displacement_SI: displacement,
                saddle_displacement_SI: s.displacement_SI,
            });
        }
    };
    if setup.load.gravity == 0.0 {
        say("start", rows[0].energy_J, 0.0, none.iter().find(|e| !rising(e)));
        if let Some(k) = none.iter().position(|e| rests(e)) {
            let saddle = none[..k].iter().rev().find(|e| !rising(e));
            say("far", none[k].energy_J, none[k].displacement_SI, saddle);
        }
    }
    let peak = report.events.iter().find(|e| e.kind == EventKind::LoadPeak && e.stable_before_load);
    if let Some(p) = peak.filter(|p| p.load_SI > 0.0) {
        for share in [0.5, 0.75, 0.9, 0.97] {
            let load = share * p.load_SI;
            let start = crossing(rows, Driven::Load, load, 0..p.after_row, true);
            let saddle = crossing(rows, Driven::Load, load, p.after_row + 1..rows.len(), false);
            if let (Some(a), Some(s)) = (start, saddle) {
                let drop = |b: &Between| b.energy - factor * load * b.displacement;
                out.push(Barrier {
                    from: "start".to_owned(),
                    load_SI: load,
                    barrier_J: drop(&s) - drop(&a),
                    displacement_SI: a.displacement,
                    saddle_displacement_SI: s.displacement,
                });
            }
        }
    }
    out
}

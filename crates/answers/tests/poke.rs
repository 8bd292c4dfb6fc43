//! Pokes against known answers.
//!
//! Clamped caps under pressure, ν = 1/3: equations of Budiansky 1959 and Huang 1964, "Unsymmetrical buckling of thin
//! shallow spherical shells", J. Appl. Mech. 31, 447; recomputed from them by collocation. Shallow values are approached
//! with a cap of small half-angle, so that differences of the order of the angle squared remain.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "helpers of tests, outside a #[test] function")]

use calotte_answers::poke;
use calotte_answers::poke::report::{Event, EventKind, PokeReport};
use calotte_specimen::{Control, Load, LoadKind, Material, Meridian, Part, Rim, SphereCap, Start, Wall};

/// Shallow enough that the shallow-shell equations hold to about 1e-4.
const ALPHA: f64 = 0.02;

fn cap(alpha: f64, h: f64, nu: f64, rim: Rim) -> Part {
    Part {
        meridian: Meridian::Sphere(SphereCap { radius: 1.0, half_angle: alpha, hole_angle: 0.0 }),
        wall: Wall::uniform(h),
        material: Material { youngs: 1.0, poisson: nu, density: Some(1.0) },
        rim,
    }
}

/// h/R of a shallow cap with this λ.
fn thickness(nu: f64, lambda: f64) -> f64 {
    (12.0_f64 * (1.0 - nu * nu)).sqrt() * (ALPHA / lambda).powi(2)
}

fn with(kind: LoadKind) -> Load {
    Load { kind, ..Load::default() }
}

fn first(r: &PokeReport, kind: EventKind) -> Option<&Event> {
    r.events.iter().find(|e| e.kind == kind)
}

fn pressed(lambda: f64) -> (PokeReport, f64) {
    let nu = 1.0 / 3.0;
    let h = thickness(nu, lambda);
    let r = poke(&cap(ALPHA, h, nu, Rim::Clamped), &with(LoadKind::Pressure { follows: true }));
    let q0 = 2.0 * h * h / (3.0_f64 * (1.0 - nu * nu)).sqrt();
    (r, q0)
}

#[test]
fn clamped_caps_under_pressure() {
    for (lambda, limit, sideways) in [
        (4.0, 0.573_493_1, None),
        (6.0, 0.992_294_9, Some((2, 0.773_253_5))),
        (10.0, 0.814_249_8, Some((5, 0.775_411_9))),
    ] {
        let (r, q0) = pressed(lambda);
        let peak = first(&r, EventKind::LoadPeak).expect("a limit");
        let found = peak.load_SI / q0;
        assert!((found / limit - 1.0).abs() < 5e-4, "λ {lambda}: {found} {limit}");
        assert!(peak.mesh_difference.unwrap() < 1e-5, "λ {lambda}: {:?}", peak.mesh_difference);
        match sideways {
            None => assert_eq!(r.by_load.as_ref().unwrap().n, 0, "λ {lambda}"),
            Some((n, at)) => {
                let trip = r.by_load.as_ref().unwrap();
                assert_eq!(trip.n, n, "λ {lambda}");
                let found = trip.load_SI / q0;
                assert!((found / at - 1.0).abs() < 5e-4, "λ {lambda}: {found} {at}");
            }
        }
    }
}

#[test]
fn pressure_limit_appears_between_3_30_and_3_31() {
    assert!(first(&pressed(3.30).0, EventKind::LoadPeak).is_none());
    assert!(first(&pressed(3.31).0, EventKind::LoadPeak).is_some());
}

#[test]
fn sideways_governs_from_between_5_50_and_5_52() {
    assert_eq!(pressed(5.50).0.by_load.unwrap().n, 0);
    assert!(pressed(5.52).0.by_load.unwrap().n > 0);
}

/// Recomputed from the equations of Reissner 1950 by collocation: free-to-slide rim, force on the apex, ν = 0.3,
/// p = PR/2πD at W = w/H.
#[test]
fn sliding_caps_under_a_force_on_the_apex() {
    for (lambda, limits) in [
        (4.0, [(0.722_344, 1.740_259_3), (1.268_610, 1.538_697_9)]),
        (6.0, [(0.693_756, 3.545_972_7), (1.551_871, -1.013_790_3)]),
    ] {
        let h = thickness(0.3, lambda);
        let r = poke(&cap(ALPHA, h, 0.3, Rim::Ring), &Load::default());
        let unit = 2.0 * std::f64::consts::PI * h.powi(3) / (12.0 * 0.91);
        let rise = 2.0 * libm::pow(libm::sin(0.5 * ALPHA), 2.0);
        let turns: Vec<&Event> = r
            .events
            .iter()
            .filter(|e| matches!(e.kind, EventKind::LoadPeak | EventKind::LoadValley))
            .collect();
        assert_eq!(turns.len(), 2, "λ {lambda}");
        for (e, (w, p)) in turns.iter().zip(limits) {
            let (found_w, found_p) = (e.displacement_SI / rise, e.load_SI / unit);
            assert!((found_w / w - 1.0).abs() < 1e-3, "λ {lambda}: W {found_w} {w}");
            assert!((found_p / p - 1.0).abs() < 1e-3, "λ {lambda}: p {found_p} {p}");
        }
    }
}

/// Recomputed by collocation: exact cap on a frictionless table, α = 45°, h/R = 0.05, ν = 0.3, PR/Eh³ at w/H.
#[test]
fn exact_cap_on_a_table() {
    let r = poke(&cap(45.0_f64.to_radians(), 0.05, 0.3, Rim::Table), &Load::default());
    let rise = 1.0 - libm::cos(45.0_f64.to_radians());
    let unit = 0.05_f64.powi(3);
    for (kind, w, p) in
        [(EventKind::LoadPeak, 0.78943, 2.358_584), (EventKind::LoadValley, 1.56764, -1.237_827)]
    {
        let e = first(&r, kind).unwrap();
        assert!((e.displacement_SI / rise - w).abs() < 2e-5, "{} {w}", e.displacement_SI / rise);
        assert!((e.load_SI / unit / p - 1.0).abs() < 2e-5, "{} {p}", e.load_SI / unit);
    }
    assert_eq!(r.stays_afterwards, Some(true));
    assert!(first(&r, EventKind::RimLifts).is_some());
    assert!(r.evidence.energy_work_gap < 1e-6, "{:e}", r.evidence.energy_work_gap);
    assert!(r.evidence.residual < 1e-8, "{:e}", r.evidence.residual);
}

/// Every kind of load, both directions: energy equals work, points balance, tangents never reverse, no doubt.
#[test]
fn every_load_closes_its_books() {
    let a = 50.0_f64.to_radians();
    let ball = LoadKind::Ball { radius: 0.4 };
    let pusher = |bonded: bool| LoadKind::Pusher { radius: 0.15, bonded, edge: 0.03 };
    for (kind, rim) in [
        (LoadKind::Pole, Rim::Table),
        (LoadKind::Ring { arc: 0.3 }, Rim::Ring),
        (pusher(true), Rim::Table),
        (pusher(false), Rim::Table),
        (ball, Rim::Table),
        (LoadKind::Flat, Rim::Table),
        (LoadKind::Pressure { follows: true }, Rim::Hinged),
        (LoadKind::Pressure { follows: false }, Rim::Ring),
        (LoadKind::RimPull, Rim::Free),
        (LoadKind::RimDisplacement, Rim::Hinged),
        (LoadKind::Gravity, Rim::Table),
    ] {
        for from in [Start::Natural, Start::Inverted] {
            if from == Start::Inverted
                && matches!(kind, LoadKind::RimDisplacement | LoadKind::Pressure { .. })
            {
                continue;
            }
            let load = Load { from, control: Control::Displacement, ..with(kind) };
            let r = poke(&cap(a, 0.045, 0.3, rim), &load);
            let e = &r.evidence;
            println!(
                "{kind:?} {from:?}: {} rows, gap {:.1e}, residual {:.1e}, meshes {:.1e}, penetration {:?}, cos {:.3}, ended {}; {:?} {:?}",
                r.path.len(),
                e.energy_work_gap,
                e.residual,
                e.mesh_difference,
                e.penetration,
                e.least_cosine,
                e.ended,
                r.doubts,
                r.events.iter().map(|e| (e.kind, e.n, e.load_SI, e.mesh_difference)).collect::<Vec<_>>()
            );
            assert!(r.path.len() > 10, "{kind:?} {from:?}");
            assert!(
                e.energy_work_gap < 1e-6
                    || matches!(kind, LoadKind::Flat | LoadKind::Ball { .. } | LoadKind::Pusher { .. }),
                "{kind:?} {from:?}: {:e}",
                e.energy_work_gap
            );
            assert!(e.residual < 1e-6, "{kind:?} {from:?}: {:e}", e.residual);
            assert!(e.least_cosine > 0.9, "{kind:?} {from:?}: {}", e.least_cosine);
        }
    }
}

/// The force on a point bends the wall as x ln x there: the trip converges all the same when the mesh is halved, and
/// agrees with a pusher that shrinks to a point. (A mesh study; the known answers above are the outside check.)
#[test]
fn a_small_bonded_pusher_tends_to_the_force_on_a_point() {
    let part = cap(45.0_f64.to_radians(), 0.05, 0.3, Rim::Ring);
    let point = first(&poke(&part, &Load::default()), EventKind::LoadPeak).unwrap().load_SI;
    let with_radius = |radius: f64| {
        let r = poke(&part, &with(LoadKind::Pusher { radius, bonded: true, edge: 0.0 }));
        first(&r, EventKind::LoadPeak).unwrap().load_SI
    };
    let (a, b) = (with_radius(0.02) - point, with_radius(0.01) - point);
    assert!(b.abs() < 5e-3 * point && b.abs() < 0.5 * a.abs(), "{a:e} {b:e} of {point:e}");
}

/// A ball that shrinks to a point pushes as a force on the pole does; its force is continuous along the path; what it
/// passes the wall by is a small part of the thickness.
#[test]
fn contact_converges_and_its_force_is_continuous() {
    let part = cap(45.0_f64.to_radians(), 0.05, 0.3, Rim::Table);
    let point = poke(&part, &Load::default());
    let small = poke(&part, &with(LoadKind::Ball { radius: 0.01 }));
    let peak = |r: &PokeReport| first(r, EventKind::LoadPeak).unwrap().load_SI;
    assert!((peak(&small) / peak(&point) - 1.0).abs() < 0.02, "{} {}", peak(&small), peak(&point));
    let r = poke(&part, &with(LoadKind::Ball { radius: 0.5 }));
    assert!(r.evidence.penetration.unwrap() < 0.02);
    let trip = r.by_load.as_ref().unwrap();
    assert!(r.events[trip.event].mesh_difference.unwrap() < 1e-3);
    let largest = r.path.iter().map(|p| p.load_SI).fold(0.0, f64::max);
    let travel = r.path.last().unwrap().displacement_SI;
    for w in r.path.windows(2) {
        // No step of the force without a step of the displacement.
        let (df, dd) = (
            (w[1].load_SI - w[0].load_SI).abs() / largest,
            (w[1].displacement_SI - w[0].displacement_SI).abs() / travel,
        );
        assert!(df < 20.0 * dd.max(1e-3), "{df} {dd}");
    }
    // The contact spreads from the pole and lifts off it.
    assert!(first(&r, EventKind::PoleLiftsOff).is_some());
    let rings = r.path.iter().filter_map(|p| p.contact_m).filter(|c| c[0] > 0.05);
    assert!(rings.count() > 5);
}

/// Thin caps loop: the path never runs back over itself, whichever way it is followed, and both ways meet the same
/// limits.
#[test]
fn looping_paths_never_retrace_and_are_the_same_both_ways() {
    let part = cap(50.0_f64.to_radians(), 0.045, 0.3, Rim::Table);
    let there = poke(&part, &Load::default());
    let back = poke(&part, &Load { from: Start::Inverted, ..Load::default() });
    assert!(there.events.iter().filter(|e| e.kind == EventKind::DisplacementLimit).count() >= 2, "it loops");
    for r in [&there, &back] {
        assert!(r.evidence.least_cosine > 0.95);
        // Two rows with the same load and displacement would be one state, or a crossing of different shapes.
        for (i, a) in r.path.iter().enumerate() {
            for b in r.path.iter().skip(i + 2) {
                let close = (a.load_SI - b.load_SI).abs() < 1e-7
                    && (a.displacement_SI - b.displacement_SI).abs() < 1e-6;
                assert!(!(close && (a.energy_J / b.energy_J - 1.0).abs() < 1e-4), "row {i} met again");
            }
        }
    }
    let limits = |r: &PokeReport, sign: f64| {
        let mut all: Vec<f64> = r
            .events
            .iter()
            .filter(|e| matches!(e.kind, EventKind::LoadPeak | EventKind::LoadValley))
            .map(|e| sign * e.load_SI)
            .collect();
        all.sort_by(f64::total_cmp);
        all
    };
    let (a, b) = (limits(&there, 1.0), limits(&back, -1.0));
    assert_eq!(a.len(), b.len());
    for (x, y) in a.iter().zip(&b) {
        assert!((x - y).abs() < 1e-6 * a[a.len() - 1], "{x} {y}");
    }
}

/// The barrier falls as (1 − F/F*)^{3/2} towards the trip (any fold: closed form of the cubic).
#[test]
fn the_barrier_under_load_vanishes_with_power_three_halves() {
    let r = poke(&cap(45.0_f64.to_radians(), 0.05, 0.3, Rim::Table), &Load::default());
    let at: Vec<&calotte_answers::poke::report::Barrier> =
        r.barriers.iter().filter(|b| b.load_SI > 0.0).collect();
    let trip = r.by_load.as_ref().unwrap().load_SI;
    let (a, b) = (at[at.len() - 2], at[at.len() - 1]);
    let power = libm::log(a.barrier_J / b.barrier_J) / libm::log((trip - a.load_SI) / (trip - b.load_SI));
    assert!((power - 1.5).abs() < 0.05, "{power}");
    assert!(r.barriers.iter().all(|b| b.barrier_J > 0.0));
}

/// A stop catches the jump, and the snap ratio then speaks of the force there.
#[test]
fn a_stop_catches_the_jump() {
    let part = cap(45.0_f64.to_radians(), 0.05, 0.3, Rim::Ring);
    let r = poke(&part, &Load { stop: Some(0.4), ..Load::default() });
    let lands = r.by_load.as_ref().unwrap().lands.as_ref().unwrap();
    assert!(lands.at_stop && (lands.displacement_SI - 0.4).abs() < 1e-6);
    let stop = first(&r, EventKind::Stop).unwrap();
    let peak = first(&r, EventKind::LoadPeak).unwrap();
    let ratio = r.snap.as_ref().unwrap().peak_to_contact;
    assert!((ratio - (1.0 - stop.load_SI / peak.load_SI)).abs() < 1e-12);
}

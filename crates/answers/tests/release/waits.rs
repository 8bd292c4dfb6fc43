//! Waits of parts whose material remembers: known values, what holds do to them, their spread.

use super::parts::{QUICK, Specimen, at_threshold, go, memory, watch};
use calotte_answers::release::report::Outcome;
use calotte_answers::release::{Fault, wait_curve, wait_spread};
use calotte_answers::{Detail, verdict};
use calotte_specimen::{HeldShape, Hold, LetGo, Motion};

/// α = 45°, ν = 0.5, one term of share 0.2 and time 1 s, held as the exact mirror image.
fn specimen(delta: f64, hold: f64, density: f64) -> Specimen {
    let part = at_threshold(45.0, 0.5, 1.0 + delta, 1.0, 1.0, density);
    let hold = Hold { shape: HeldShape::Mirror, time: hold, ..Hold::default() };
    let motion = Motion { memory: memory(&[(0.2, 1.0)]), hold, ..Motion::default() };
    Specimen { part, motion, tolerances: [0.003, 0.2] }
}

/// So light that inertia does not count.
const LIGHT: f64 = 1e-12;

/// Recomputed from the stated equations with an independent program (collocation, stepped along the creep; nine digits).
#[test]
fn waits_are_as_known() {
    for (delta, known) in [(0.01, [7.717_314_43, 9.191_691_33]), (0.05, [1.948_101_20, 3.567_853_95])] {
        let c = wait_curve(&specimen(delta, 1.0, LIGHT), [0.5, 5.0], 2, &watch(1)).unwrap().unwrap();
        for (p, known) in c.points.iter().zip(known) {
            assert!(p.rests && !p.stays);
            let wait = p.wait_s.unwrap();
            assert!((wait / known - 1.0).abs() < 5e-7, "{delta} {}: {wait} {known}", p.hold_s);
        }
    }
}

/// Common practice, no source: holding longer waits longer. After the shortest holds it does not rest at all, and a hold of
/// many relaxation times is as good as one for ever.
#[test]
fn longer_holds_wait_longer() {
    let s = specimen(0.05, 1.0, LIGHT);
    let c = wait_curve(&s, [0.01, 50.0], 9, &watch(2)).unwrap().unwrap();
    let waits: Vec<f64> = c.points.iter().map(|p| p.wait_s.unwrap()).collect();
    let resting = c.points.iter().position(|p| p.rests).unwrap();
    assert!((1..5).contains(&resting), "{resting}");
    assert!(waits[resting..].windows(2).all(|w| w[0] < w[1]), "{waits:?}");
    assert!(c.points[resting..].iter().all(|p| p.rests && !p.stays));
    assert!((waits[8] / waits[7] - 1.0).abs() < 1e-6, "{waits:?}");
    // Where it does not rest, only inertia delays it.
    assert!(waits[resting - 1] < 1e-4 && waits[resting] > 0.1, "{waits:?}");
    let shortest = c.shortest_hold_s.unwrap();
    assert!(shortest > c.points[resting - 1].hold_s && shortest < c.points[resting].hold_s);
    // It does rest just after that, hardly at all, and not just before.
    let around = wait_curve(&s, [0.99 * shortest, 1.01 * shortest], 2, &watch(1)).unwrap().unwrap();
    assert!(!around.points[0].rests && around.points[1].rests, "{around:?}");
    assert!(around.points[1].wait_s.unwrap() < 0.1 * waits[resting]);
}

/// By the equations: at a constant Poisson ratio memory moves no threshold. A part just within its own stays after
/// any hold; just beyond it returns, after however long; and the waits grow towards it.
#[test]
fn memory_moves_no_elastic_threshold() {
    let points = |delta: f64| {
        let c = wait_curve(&specimen(delta, 1.0, LIGHT), [0.5, 50.0], 3, &watch(2)).unwrap().unwrap();
        c.points
    };
    assert!(points(-1e-3).iter().all(|p| p.stays && p.rests && p.wait_s.is_none()));
    assert!(points(-1e-5).iter().all(|p| p.stays));
    let (near, far) = (points(1e-4), points(1e-3));
    assert!(
        near.iter().zip(&far).all(|(a, b)| a.wait_s.unwrap() > 2.0 * b.wait_s.unwrap()),
        "{near:?} {far:?}"
    );
    let s = specimen(0.01, 1.0, LIGHT);
    let detail = Detail { branch: false, depth: false };
    let (with, without) = (verdict(&s, detail), verdict(&s.part, detail));
    let of = |r: &calotte_answers::report::VerdictReport| r.margin.as_ref().unwrap().threshold_thickness_m;
    assert_eq!(of(&with).to_bits(), of(&without).to_bits());
}

/// Marched with its inertia, the part waits as long as without, and some own times more: of the ramp and of a slow passage.
#[test]
fn a_marched_wait_is_that_of_the_creep_and_a_moment() {
    let mut s = specimen(0.05, 0.5, 1e-7);
    let ramp = 0.02;
    s.motion.hold.let_go = LetGo::Ramp(ramp);
    let r = go(&s.part, &s.motion, &QUICK).unwrap();
    assert_eq!(r.outcome, Outcome::Waits, "{:?}", r.doubts);
    let snap = r.snap.unwrap();
    let creep = snap.creep_wait_s.unwrap();
    assert!((creep / 1.948_101_20 - 1.0).abs() < 5e-7, "{creep}");
    let late = snap.wait_s - creep;
    assert!(late > 0.0 && late < ramp + 10.0 * r.scales.bending_time_s, "{late} {:?}", r.scales);
    assert!(r.evidence.balance_to_snap < 1e-6 && r.evidence.balance_whole < 1e-4, "{:?}", r.evidence);
}

/// The same bits for any number of threads; quantiles, shares and slopes of one piece with the draws.
#[test]
fn spread_and_curve_do_not_depend_on_threads() {
    let s = specimen(0.01, 1.0, LIGHT);
    let [one, two] = [1, 2].map(|n| wait_spread(&s, 40, &watch(n)).unwrap().unwrap());
    let bits = |w: &[f64]| w.iter().map(|x| x.to_bits()).collect::<Vec<_>>();
    assert_eq!(bits(&one.waits), bits(&two.waits));
    assert_eq!(format!("{one:?}"), format!("{two:?}"));
    let [a, b] = [1, 2].map(|n| wait_curve(&s, [0.05, 5.0], 5, &watch(n)).unwrap().unwrap());
    assert_eq!(format!("{a:?}"), format!("{b:?}"));

    assert_eq!(one.drawn, 40);
    assert!((one.stay + one.wait + one.at_once + one.unknown - 1.0).abs() < 1e-12 && one.unknown == 0.0);
    let mut sorted = one.waits.clone();
    sorted.sort_by(f64::total_cmp);
    for q in &one.quantiles {
        let below = sorted.iter().filter(|w| **w <= q.wait_s.unwrap()).count() as f64 / 40.0;
        assert!(below >= q.share - 1e-12 && below < q.share + 0.05, "{q:?}: {below}");
    }
    // A thicker wall shortens the wait, a longer hold lengthens it; ends are those of the curve.
    let of = |key: &str| one.sensitivities.iter().find(|s| s.input == key).unwrap();
    assert!(
        of("wall.thickness").relative_slope.unwrap() < 0.0 && of("hold.time").relative_slope.unwrap() > 0.0
    );
    let ends = wait_curve(&s, [0.8, 1.2], 2, &watch(1)).unwrap().unwrap();
    assert!((of("hold.time").at_low_s.unwrap() / ends.points[0].wait_s.unwrap() - 1.0).abs() < 1e-9);
    assert!((of("hold.time").at_high_s.unwrap() / ends.points[1].wait_s.unwrap() - 1.0).abs() < 1e-9);
}

/// A part whose tolerance straddles its threshold: some stay, counted as longer than any wait.
#[test]
fn a_spread_across_the_threshold_knows_those_that_stay() {
    let mut s = specimen(0.0, 1.0, LIGHT);
    s.tolerances = [0.02, 0.1];
    let spread = wait_spread(&s, 40, &watch(2)).unwrap().unwrap();
    // Symmetric draws about the threshold: half of them stay.
    assert!((spread.stay - 0.5).abs() < 0.06, "{}", spread.stay);
    assert_eq!(spread.waits.iter().filter(|w| w.is_infinite()).count() as f64 / 40.0, spread.stay);
    assert!(spread.quantiles.last().unwrap().wait_s.is_none());
    assert!(spread.quantiles.first().unwrap().wait_s.is_some());
}

/// What has no tolerance has no spread, and no density no motion.
#[test]
fn impossible_questions_are_faults() {
    let mut s = specimen(0.01, 1.0, LIGHT);
    s.tolerances = [0.0; 2];
    assert!(matches!(wait_spread(&s, 4, &watch(1)), Err(Fault::Hold(_))));
    s.part.material.density = None;
    assert!(matches!(wait_curve(&s, [0.1, 1.0], 2, &watch(1)), Err(Fault::NoDensity)));
    let mut s = specimen(0.01, 1.0, LIGHT);
    s.motion.hold.shape = HeldShape::Poke { travel: 9.0 };
    assert!(matches!(wait_curve(&s, [0.1, 1.0], 2, &watch(1)), Err(Fault::Hold(_))));
}

//! Jumps off a table: impulses, heights, landing.

use super::parts::{QUICK, at_threshold, go, held, memory, on_table};
use calotte_answers::release::Ask;
use calotte_answers::release::report::{Outcome, ReleaseReport};
use calotte_specimen::{Air, HeldShape, Hold, LetGo, Motion};

fn weight(r: &ReleaseReport, alpha: f64, radius: f64, gravity: f64) -> f64 {
    let area = 2.0 * std::f64::consts::PI * radius * radius * (1.0 - libm::cos(alpha.to_radians()));
    r.part.density_kg_per_m3.unwrap() * area * r.part.thickness_m * gravity
}

/// Statics: however it is held, a part lies on the table with its own weight when the hand begins to let go.
#[test]
fn a_held_part_bears_its_weight() {
    for shape in [HeldShape::Inverted, HeldShape::Mirror, HeldShape::Flat, HeldShape::Poke { travel: 0.008 }]
    {
        for ratio in [0.9, 1.03] {
            let part = at_threshold(45.0, 0.45, ratio, 0.03, 2e6, 1100.0);
            let hold = Hold { shape: shape.clone(), let_go: LetGo::Ramp(2e-3), ..Hold::default() };
            let motion = Motion { hold, ..on_table(9.81) };
            let r = go(&part, &motion, &Ask { until: Some(1e-4), ..QUICK }).unwrap();
            let share = r.history.reaction_N[0] / weight(&r, 45.0, 0.03, 9.81);
            assert!((share - 1.0).abs() < 1e-7, "{shape:?} {ratio}: {share}");
            assert!(r.history.contact_J[0] < 1e-4 * r.history.elastic_J[0], "{shape:?} {ratio}");
        }
    }
}

/// Closed form: the impulse of the table is momentum and weight times time; the apex marched to is that of a throw; between
/// take-off and landing lies the time of that throw. Contact makes the balance of energies coarser than that of a floating
/// part: the check asks for 1e-5 up to the snap and 1e-3 over a run of thousands of impacts and vibrations.
#[test]
fn a_marched_jump_is_a_throw() {
    let g = 19.0;
    let part = at_threshold(72.0, 0.45, 1.04, 0.03, 2e5, 1100.0);
    let r = go(&part, &on_table(g), &Ask { landing: true, ..QUICK }).unwrap();
    assert_eq!(r.outcome, Outcome::Returns, "{:?}", r.doubts);
    let j = r.jump.unwrap();
    assert!(j.height_marched && j.height_m < j.height_bound_m);
    let h = &r.history;
    let off = h.time_s.iter().position(|t| *t >= j.takeoff_s).unwrap();
    let v = j.takeoff_speed_m_per_s;
    let throw = h.centre_height_m[off] - h.centre_height_m[0] + v * v / (2.0 * g);
    assert!((j.height_m / throw - 1.0).abs() < 1e-3, "{} {throw}", j.height_m);
    // The centre of mass is as high at landing as the shape then makes it: within a tenth of the flight.
    let flight = j.landing_s.unwrap() - j.takeoff_s;
    assert!((flight / (2.0 * v / g) - 1.0).abs() < 0.1, "{flight} {v}");
    let mass = weight(&r, 72.0, 0.03, g) / g;
    assert!((j.impulse_N_s / (mass * v + mass * g * j.takeoff_s) - 1.0).abs() < 1e-8);
    assert!(j.impulse_closure.abs() < 1e-8 && (j.flight_energy_J / (0.5 * mass * v * v) - 1.0).abs() < 1e-8);
    assert!(r.evidence.balance_to_snap < 1e-5 && r.evidence.balance_whole < 1e-3, "{:?}", r.evidence);
    assert!(r.evidence.deepest_contact < 0.5);
    let kinds: Vec<&str> = r.events.iter().map(|e| e.kind.as_str()).collect();
    for kind in ["let-go", "snap", "halfway", "snapped", "take-off", "apex", "landing"] {
        assert!(kinds.contains(&kind), "{kind}: {kinds:?}");
    }
    assert!(r.events.windows(2).all(|w| w[0].time_s <= w[1].time_s));
}

/// A hand that lets go in time pushes too: its impulse is in the account.
#[test]
fn a_ramp_is_in_the_account_of_impulses() {
    let part = at_threshold(45.0, 0.45, 1.05, 0.03, 2e6, 1100.0);
    let hold = Hold { shape: HeldShape::Flat, let_go: LetGo::Ramp(2e-3), ..Hold::default() };
    let motion = Motion { surroundings: on_table(9.81).surroundings, ..held(hold) };
    let r = go(&part, &motion, &QUICK).unwrap();
    let j = r.jump.unwrap();
    assert!(j.impulse_closure.abs() < 1e-6, "{}", j.impulse_closure);
    assert!(j.height_m < j.height_bound_m);
}

/// A fixed stream of numbers in (0, 1) (splitmix64: Steele, Lea & Flood 2014).
struct Stream(u64);

impl Stream {
    fn roll(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    fn between(&mut self, a: f64, b: f64) -> f64 {
        a + (b - a) * self.roll()
    }
}

/// Closed form: no part jumps higher than the energy stored in it can lift it; and momentum is accounted for, in air as
/// well as without.
#[test]
fn no_jump_beats_its_bound() {
    let mut dice = Stream(7);
    for k in 0..25 {
        let alpha = dice.between(30.0, 80.0);
        let (ratio, nu) = (dice.between(1.002, 1.15), dice.between(0.2, 0.49));
        let youngs = libm::exp(dice.between(libm::log(1e5), libm::log(1e9)));
        let (radius, gravity) = (dice.between(0.01, 0.1), dice.between(1.0, 20.0));
        let unit = radius * (1100.0 / youngs).sqrt();
        let mut motion = on_table(gravity);
        if dice.roll() < 0.5 {
            motion.memory = memory(&[(0.1, 5.0 * unit), (0.1, 500.0 * unit)]);
        }
        if dice.roll() < 0.5 {
            motion.surroundings.air = Some(Air { density: 1.2, drag: 1.2 });
        }
        let part = at_threshold(alpha, nu, ratio, radius, youngs, 1100.0);
        let r = go(&part, &motion, &QUICK).unwrap();
        let what = format!("{k}: {alpha} {nu} {ratio} {youngs:e} {radius} {gravity} {motion:?}");
        assert_eq!(r.outcome, Outcome::Returns, "{what}: {:?}", r.doubts);
        let j = r.jump.unwrap_or_else(|| panic!("no jump in {what}"));
        assert!(j.height_m > 0.0 && j.height_m < j.height_bound_m, "{what}: {j:?}");
        assert!(j.impulse_closure.abs() < 1e-6, "{what}: {j:?}");
        let e = &r.evidence;
        assert!(e.balance_to_snap < 1e-5 && e.balance_whole < 1e-3, "{what}: {e:?}");
    }
}

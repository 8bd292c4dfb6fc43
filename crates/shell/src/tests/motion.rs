//! Forces, tangents, mass and contact of a part in motion against differences, closed forms and each other.

use calotte_solve::march::Settings;
use calotte_solve::minimise::{self, minimise};
use calotte_solve::potential::dot;
use calotte_solve::{Band, March, Moving, Relaxing, State, Work, fold};
use calotte_specimen::{Part, Rim};

use super::{Dice, cap, model, shaken};
use crate::{Around, DOF, Flattened, Grading, Grips, Hand, InMotion, Mesh, Model, mirror, natural};

fn terms() -> Vec<Relaxing> {
    vec![Relaxing { share: 0.15, time: 0.7 }, Relaxing { share: 0.25, time: 20.0 }]
}

fn afloat(part: &Part) -> Model {
    let mesh = Mesh::graded(part, 1.0, &Grading::default());
    Model::gripped(part, 1.0, &mesh, Grips { afloat: true, ..Grips::default() })
}

/// Everything at once: memory, weight, air, a table that the lowest places are pressed into.
fn busy(part: &Part, t: f64) -> (InMotion, Vec<f64>) {
    let m = afloat(part);
    let x = shaken(&m, 17);
    let low = m.profile(&x, 6).samples.iter().map(|p| p.z).fold(f64::MAX, f64::min);
    let around = Around {
        terms: terms(),
        damping: 0.3,
        weight: 2e-4,
        drag: 0.02,
        table: Some(low + 2e-3),
        inertialess: false,
    };
    (InMotion::new(m, t, around), x)
}

/// Strains at rest of some other state: what a memory of it would be.
fn memory(p: &InMotion, seed: u64) -> Vec<f64> {
    let mut xi = vec![0.0; p.measures()];
    p.strain(&shaken(p.model(), seed), &mut xi);
    xi.iter_mut().for_each(|x| *x *= 0.3);
    xi
}

fn moved(x: &[f64], c: f64, d: &[f64]) -> Vec<f64> {
    x.iter().zip(d).map(|(x, d)| x + c * d).collect()
}

/// Central differences, at shaken states with memory, pressed into a table: the force at rest is the gradient of
/// `U(ε − ξ)` and the energy without memory, the two parts of the tangent add up to its derivative, the relaxing part
/// alone is `Bᵀ C B`. (A free cap lies on its rim or its pole, a ring on its edge.)
#[test]
fn force_and_tangent_are_derivatives() {
    for (seed, part) in [
        (1, cap(50.0, 0.06, 0.0, Rim::Free)),
        (2, cap(75.0, 0.04, 15.0, Rim::Free)),
        (3, cap(40.0, 0.08, 0.0, Rim::Table)),
    ] {
        let (p, x) = busy(&part, 1.15);
        assert!(p.on_table(&x).force > 0.0 && p.contact_energy(&x) > 0.0);
        let n = p.unknowns();
        let (xi, rest) = (memory(&p, seed), vec![0.0; n]);
        let mut dice = Dice::new(seed);
        let energy = |x: &[f64]| {
            let mut e = vec![0.0; p.measures()];
            p.strain(x, &mut e);
            e.iter_mut().zip(&xi).for_each(|(e, xi)| *e -= xi);
            p.relaxing_energy(&e) + p.other_energy(x)
        };
        let force = |x: &[f64]| {
            let mut f = vec![0.0; n];
            assert!(p.force(0.0, x, &rest, &xi, &mut f));
            f
        };
        let (mut soft, mut hard) = (Band::new(n, p.half_bandwidth()), Band::new(n, p.half_bandwidth()));
        p.tangent(0.0, &x, &xi, &mut soft, &mut hard);
        let size = |w: &[f64]| w.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
        let eps = 1e-6;
        for _ in 0..4 {
            let d = dice.vector(n);
            let (plus, minus) = (moved(&x, eps, &d), moved(&x, -eps, &d));
            let slope = (energy(&plus) - energy(&minus)) / (2.0 * eps);
            let pull = dot(&force(&x), &d);
            assert!((slope - pull).abs() < 1e-6 * slope.abs().max(1e-3), "{seed}: {slope} {pull}");
            let (mut a, mut b) = (vec![0.0; n], vec![0.0; n]);
            soft.multiply(&d, &mut a);
            hard.multiply(&d, &mut b);
            let (later, sooner) = (force(&plus), force(&minus));
            let whole: Vec<f64> = a.iter().zip(&b).map(|(a, b)| a + b).collect();
            for i in 0..n {
                let difference = (later[i] - sooner[i]) / (2.0 * eps);
                assert!((difference - whole[i]).abs() < 2e-6 * size(&whole), "{seed} {i}");
            }
            // dᵀ Bᵀ C B d = 2 U(B d).
            let (mut up, mut down) = (vec![0.0; p.measures()], vec![0.0; p.measures()]);
            p.strain(&plus, &mut up);
            p.strain(&minus, &mut down);
            let rate: Vec<f64> = up.iter().zip(&down).map(|(u, d)| (u - d) / (2.0 * eps)).collect();
            let (form, expected) = (dot(&a, &d), 2.0 * p.relaxing_energy(&rate));
            assert!((form / expected - 1.0).abs() < 1e-7, "{seed}: {form} {expected}");
        }
    }
}

/// Closed forms: air takes the power that it is told to lose, and against an even fall `k v² m` with the drag of a rigid
/// fall; a hand's force is dead, its share falls from 1 to 0, its impulse is the integral of its net force over time.
#[test]
fn air_and_hand_do_what_they_account_for() {
    let (p, x) = busy(&cap(50.0, 0.06, 0.0, Rim::Free), 1.15);
    let n = p.unknowns();
    let mut dice = Dice::new(4);
    let xi = vec![0.0; p.measures()];
    let at = |p: &InMotion, t: f64, v: &[f64]| {
        let mut f = vec![0.0; n];
        assert!(p.force(t, &x, v, &xi, &mut f));
        f
    };
    let still = at(&p, 0.0, &vec![0.0; n]);
    let v: Vec<f64> = dice.vector(n);
    let moving = at(&p, 0.0, &v);
    let lost = moving.iter().zip(&still).zip(&v).map(|((a, b), v)| (a - b) * v).sum::<f64>();
    let powers = p.powers(0.0, &x, &v);
    assert!(powers.lost > 0.0 && (lost / powers.lost - 1.0).abs() < 1e-11, "{lost} {}", powers.lost);
    assert_eq!(powers.supplied, 0.0);
    // Its net push is that of the forces on an even motion.
    let push = p.air_force(&v);
    let even = moved(&shifted(p.model(), &x, 1.0), -1.0, &x);
    let net = dot(&still, &even) - dot(&moving, &even);
    assert!((push - net).abs() < 1e-12 * powers.lost, "{push} {net}");
    // An even fall.
    let up = moved(&shifted(p.model(), &x, 1.0), -1.0, &x);
    let speed = 0.3;
    let fall: Vec<f64> = up.iter().map(|u| -speed * u).collect();
    let lost = p.powers(0.0, &x, &fall).lost;
    assert!((lost / (p.drag_of_fall() * p.total_mass() * speed.powi(3)) - 1.0).abs() < 1e-11, "{lost}");

    let force: Vec<f64> = dice.vector(n);
    let net = dot(&force, &up);
    let span = [0.2, 1.7];
    let held = p.clone().with_hand(Hand { force: force.clone(), span }, &x);
    let share = |t: f64| {
        let f = at(&held, t, &vec![0.0; n]);
        dot(&f.iter().zip(&still).map(|(a, b)| b - a).collect::<Vec<_>>(), &force) / dot(&force, &force)
    };
    assert!((share(0.0) - 1.0).abs() < 1e-12 && (share(0.95) - 0.5).abs() < 1e-12);
    assert_eq!(share(1.7), 0.0);
    let supplied = held.powers(0.6, &x, &v).supplied;
    assert!((supplied - share(0.6) * dot(&force, &v)).abs() < 1e-10 * dot(&force, &force));
    for to in [0.5, 1.1, 1.7, 3.0] {
        // Midpoint rule from the start of the fall.
        let steps = 4000;
        let h = (to - span[0]) / f64::from(steps);
        let sum: f64 = (0..steps).map(|i| h * share(span[0] + h * (f64::from(i) + 0.5))).sum();
        let found = held.hand_impulse(to) - held.hand_impulse(span[0]);
        assert!((found - net * sum).abs() < 1e-6 * net.abs(), "{to}: {found} {}", net * sum);
    }
}

/// The state moved along the axis.
fn shifted(m: &Model, x: &[f64], by: f64) -> Vec<f64> {
    let mut out = x.to_vec();
    (0..m.nodes().len()).filter_map(|i| m.height_of(i)).for_each(|i| out[i] += by);
    out
}

/// Closed form: a cap of a sphere weighs `2π R² (1 − cos α) ρ h`, an even motion carries `½ m v²`, and moves the mean
/// height by itself; the norm of an even displacement is its length.
#[test]
fn the_mass_is_that_of_the_cap() {
    for (alpha, hole, t) in [(20.0_f64, 0.0_f64, 1.0), (60.0, 0.0, 1.3), (90.0, 0.0, 0.4), (70.0, 25.0, 1.0)]
    {
        let h = 0.05;
        let m = afloat(&cap(alpha, h, hole, Rim::Free));
        let p = InMotion::new(m, t, Around::default());
        let area = libm::cos(hole.to_radians()) - libm::cos(alpha.to_radians());
        // Mass counts over ρ R³ t.
        let exact = 2.0 * std::f64::consts::PI * area * h;
        assert!((p.total_mass() / exact - 1.0).abs() < 1e-9, "{alpha}: {} {exact}", p.total_mass());
        let x = natural(p.model());
        let up = moved(&shifted(p.model(), &x, 1.0), -1.0, &x);
        let mut mu = vec![0.0; up.len()];
        p.mass().multiply(&up, &mut mu);
        assert!((dot(&mu, &up) / exact - 1.0).abs() < 1e-9, "{alpha}");
        p.norm().multiply(&up, &mut mu);
        assert!((dot(&mu, &up) - 1.0).abs() < 1e-9, "{alpha}");
        let (a, b) = (p.mean_height(&x), p.mean_height(&shifted(p.model(), &x, 0.7)));
        assert!((b - a - 0.7).abs() < 1e-12 && (p.mean_speed(&up) - 1.0).abs() < 1e-12);
        // Centroid of a zone of a sphere (Archimedes): midway between its planes; heights count from the rim's.
        let rise = libm::cos(hole.to_radians()) - libm::cos(alpha.to_radians());
        assert!((a.abs() - 0.5 * rise).abs() < 1e-9, "{alpha}: {a} {rise}");
        let mut still = p.mass().clone();
        still.clear();
        let part = cap(alpha, h, hole, Rim::Free);
        let around = Around { inertialess: true, ..Around::default() };
        assert_eq!(InMotion::new(afloat(&part), t, around).mass().data(), still.data());
    }
}

/// Statics: laid on a table at its resting height, a part presses with its weight, whether it lies on its rim, on a ring
/// inside it, or flat on its whole wall; without weight it does not touch.
#[test]
fn a_table_bears_the_weight_of_any_shape() {
    let flat = |m: &Model| Flattened::new(m, 1.15).start();
    // Turned over and curled up at the edge.
    let curled = |m: &Model| {
        let full = m.nodal(&mirror(m));
        let bent: Vec<f64> = full
            .chunks_exact(DOF)
            .zip(m.nodes().iter().zip(&m.scale))
            .flat_map(|(q, (s, l))| {
                let (w, w1, w2) = (s * s * s * s, 4.0 * s * s * s, 12.0 * s * s);
                [q[0], q[1], q[2], q[3] + w, q[4] + l * w1, q[5] + l * l * w2]
            })
            .collect();
        m.unknowns_of(&bent)
    };
    for weight in [0.0, 1e-9, 1e-6, 1e-4, 1e-2] {
        let m = afloat(&cap(50.0, 0.06, 0.0, Rim::Free));
        for (i, x) in [mirror(&m), flat(&m), curled(&m)].into_iter().enumerate() {
            let p = InMotion::new(m.clone(), 1.15, Around { weight, table: Some(0.0), ..Around::default() });
            let at = p.resting_height(&x).unwrap();
            let p = p.with_table_at(at);
            let touch = p.on_table(&x);
            let wanted = weight * p.total_mass();
            assert!((touch.force - wanted).abs() <= 1e-8 * wanted, "{i} {weight}: {touch:?} {wanted}");
            if i == 0 && weight > 0.0 {
                // The rim's edge bears nearly all of it.
                assert!(touch.rim > 0.9 * wanted, "{touch:?}");
            }
            if i > 0 {
                assert!(touch.rim < 0.5 * wanted + f64::MIN_POSITIVE, "{touch:?}");
            }
        }
    }
}

/// Closed form: without table, weight and air nothing outside acts, so a random smooth motion keeps its momentum, and its
/// energy; under weight alone the momentum falls evenly.
#[test]
fn a_floating_part_keeps_its_momentum() {
    for (weight, memory) in [(0.0, false), (0.0, true), (3e-3, true)] {
        let m = afloat(&cap(50.0, 0.06, 0.0, Rim::Free));
        let around = Around { weight, terms: if memory { terms() } else { Vec::new() }, ..Around::default() };
        let p = InMotion::new(m, 1.0, around);
        let x = natural(p.model());
        let mut state = State::at_rest(&p, x.clone()).held(&p, 1.0);
        // Heights in a smooth field of random strength, with the slopes that belong to it.
        let mut dice = Dice::new(31);
        let [a, b, c] = [0.01 * dice.roll(), 0.02 * dice.roll(), 0.02 * dice.roll()];
        let m = p.model();
        let full: Vec<f64> = m
            .nodes()
            .iter()
            .zip(&m.scale)
            .flat_map(|(s, l)| {
                let (w, w1, w2) = (
                    a + b * s * s + c * s * s * s * s,
                    2.0 * b * s + 4.0 * c * s * s * s,
                    2.0 * b + 12.0 * c * s * s,
                );
                [0.0, 0.0, 0.0, w, l * w1, l * l * w2]
            })
            .collect();
        state.v = m.gather(&full);
        let before = state.ledger(&p).total();
        let speed = p.mean_speed(&state.v);
        assert!(speed.abs() > 1e-3);
        let set = Settings { tolerance: 1e-8, time_scale: 0.1, first: 1e-3, longest: 1e9, shortest: 1e-12 };
        let mut march = March::new(&p, state, set);
        let mut kinetic = Vec::new();
        for _ in 0..50 {
            assert!(march.step(f64::INFINITY).is_ok());
            let s = march.state();
            let expected = speed - weight * s.t;
            let off = p.mean_speed(&s.v) - expected;
            assert!(off.abs() < 1e-9 * speed.abs().max(weight * s.t), "{weight} {memory}: {off:e}");
            let ledger = s.ledger(&p);
            // Kinetic energy beside that of the centre of mass.
            kinetic.push(ledger.kinetic - 0.5 * p.total_mass() * p.mean_speed(&s.v).powi(2));
            let drift = ledger.total() - before;
            assert!(drift.abs() < 1e-6 * kinetic[0], "{weight} {memory}: {drift:e} of {:e}", kinetic[0]);
        }
        // The wall has traded energy with the motion meanwhile.
        let (low, high) = kinetic.iter().fold((f64::MAX, 0.0_f64), |(a, b), k| (a.min(*k), b.max(*k)));
        assert!(high > 1.2 * low, "{low} {high}");
    }
}

/// Threshold h/R of the mirror hold fully relaxed: the fold of the model whose stress-free state is shifted by β times the
/// strains of the mirror image.
fn relaxed_threshold(alpha: f64, beta: f64, around: f64) -> f64 {
    let part = cap(alpha, around, 0.0, Rim::Free);
    let m = model(&part);
    let x = mirror(&m);
    let p = InMotion::new(m.clone(), 1.0, Around { terms: terms(), ..Around::default() });
    let mut xi = vec![0.0; p.measures()];
    p.strain(&x, &mut xi);
    // The mirror image is not stretched, and bent through twice its curvature (that of a sphere, R = 1).
    for e in xi.chunks_exact(4) {
        assert!(
            e[0].abs().max(e[1].abs()) < 1e-7 && (e[2] + 2.0).abs().max((e[3] + 2.0).abs()) < 1e-4,
            "{e:?}"
        );
    }
    xi.iter_mut().for_each(|v| *v *= beta);
    let m = m.strained(&xi);
    let set = minimise::Settings::default();
    let mut work = Work::default();
    // From a thinner wall on, the minimum is followed up to the fold, then found with the extended system.
    let (mut t, mut at) = (0.9, None);
    let mut start = x;
    let mut step = 0.02;
    while step > 1e-4 {
        match minimise(&m, start.clone(), t, &set, &mut work) {
            Ok(found) if inverted(&m, &found.x) => {
                start = found.x.clone();
                at = Some((t, found.x));
                t += step;
            }
            _ => {
                let Some((good, _)) = &at else { panic!("no inverted state at {t}") };
                step *= 0.25;
                t = good + step;
            }
        }
    }
    let (t, x) = at.expect("a state below the fold");
    let (v, _) = fold::softest(&m, &x, t, &mut work).expect("a softest direction");
    fold::refine(&m, x, t, v, 0.1, &mut work).expect("a fold").t * around
}

fn inverted(m: &Model, x: &[f64]) -> bool {
    let p = m.profile(x, 4);
    p.inner().z > p.rim().z && !p.crosses_itself()
}

/// Known answers of the oracle: the least λ that rests after a full relaxation of the mirror image, exact caps extrapolated to
/// shallow ones. Closed form: that hold shifts the unstressed state by β times the curvatures of the mirror image, −2/R.
#[test]
fn a_relaxed_mirror_hold_moves_the_threshold_as_known() {
    for row in calotte_oracle::motion::RELAXED {
        let (beta, known) = (row.loss, row.lambda.value);
        let lambda = |alpha: f64| {
            let l = (12.0_f64 * 0.91).sqrt().sqrt() * alpha.to_radians();
            let h = relaxed_threshold(alpha, beta, (l / known).powi(2));
            l / h.sqrt()
        };
        let (a, b) = (lambda(10.0), lambda(5.0));
        let limit = (4.0 * b - a) / 3.0;
        // What the fourth power of the angles leaves.
        assert!((limit / known - 1.0).abs() < 1e-6, "{beta}: {a} {b} {limit}");
        // The error of an exact cap is of the order of the angle squared.
        assert!((a - limit).abs() < 0.03 * 10.0_f64.to_radians().powi(2) * known, "{beta}: {a} {limit}");
    }
}

/// A hand's couple on the edge turns with it: at another state the tangent is the derivative of the force, the power that of
/// the force; and what a motion does while a mirror image is let go depends on no mesh (10, 20 and 40 elements).
#[test]
fn a_hand_turns_the_edge_by_a_couple() {
    let part = cap(45.0, 0.066, 0.0, Rim::Free);
    let (p, x) = busy(&part, 1.1);
    let n = p.unknowns();
    let none = vec![0.0; p.measures()];
    let force = p.held_force(&mirror(p.model()), &none).unwrap();
    let free = p.clone();
    let p = p.with_hand(Hand { force, span: [0.0, 2.0] }, &mirror(free.model()));
    let (rest, mut dice) = (vec![0.0; n], Dice::new(8));
    let at = |p: &InMotion, y: &[f64]| {
        let mut f = vec![0.0; n];
        assert!(p.force(0.8, y, &rest, &none, &mut f));
        f
    };
    let d = dice.vector(n);
    let (mut soft, mut hard) = (Band::new(n, p.half_bandwidth()), Band::new(n, p.half_bandwidth()));
    p.tangent(0.8, &x, &none, &mut soft, &mut hard);
    hard.add_scaled(1.0, &soft);
    let mut found = vec![0.0; n];
    hard.multiply(&d, &mut found);
    let eps = 1e-6;
    let (plus, minus) = (at(&p, &moved(&x, eps, &d)), at(&p, &moved(&x, -eps, &d)));
    let size = found.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
    for i in 0..n {
        assert!(((plus[i] - minus[i]) / (2.0 * eps) - found[i]).abs() < 2e-6 * size, "{i}");
    }
    let pushed: Vec<f64> = at(&free, &x).iter().zip(at(&p, &x)).map(|(a, b)| a - b).collect();
    let power = p.powers(0.8, &x, &d).supplied;
    assert!((dot(&pushed, &d) - power).abs() < 1e-11 * size, "{power}");

    let span = 7.1;
    let mut mesh = Mesh::graded(&part, 1.0, &Grading::default()).bisected();
    let mut heights = Vec::new();
    for _ in 0..3 {
        let m = Model::gripped(&part, 1.0, &mesh, Grips { afloat: true, ..Grips::default() });
        let p = InMotion::new(m, 1.0, Around { terms: terms(), ..Around::default() });
        let x = mirror(p.model());
        let state = State::at_rest(&p, x.clone()).held(&p, 3.0);
        let force = p.held_force(&x, &state.memory(&p)).unwrap();
        let p = p.with_hand(Hand { force, span: [0.0, span] }, &x);
        let set = Settings { tolerance: 2e-8, time_scale: 0.3, first: 3e-3, longest: 1e9, shortest: 1e-9 };
        let before = state.ledger(&p).total();
        let mut march = March::new(&p, state, set);
        while march.state().t < span {
            march.step(span).unwrap();
        }
        let s = march.state();
        let profile = p.model().profile(&s.q, 1);
        heights.push(profile.inner().z - profile.rim().z);
        let ledger = s.ledger(&p);
        assert!((ledger.total() - before).abs() < 1e-7 * ledger.stored, "{ledger:?}");
        mesh = mesh.bisected();
    }
    assert!(heights.iter().all(|h| (h / heights[2] - 1.0).abs() < 1e-6), "{heights:?}");
}

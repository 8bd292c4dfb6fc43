//! Random parts and loads: an answer or a doubt, never a panic; what is said is of one piece.

use calotte_answers::poke;
use calotte_answers::poke::report::Outcome;
use calotte_specimen::{Control, Load, LoadKind, Material, Meridian, Part, Rim, SphereCap, Start, Wall};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};

fn loads() -> impl Strategy<Value = (LoadKind, Rim)> {
    prop_oneof![
        Just((LoadKind::Pole, Rim::Table)),
        Just((LoadKind::Pole, Rim::Clamped)),
        Just((LoadKind::Pole, Rim::Hinged)),
        (0.2..0.8_f64).prop_map(|s| (LoadKind::Ring { arc: s }, Rim::Ring)),
        (0.05..2.0_f64).prop_map(|r| (LoadKind::Ball { radius: r }, Rim::Table)),
        Just((LoadKind::Flat, Rim::Ring)),
        (0.05..0.15_f64).prop_map(|r| (LoadKind::Pusher { radius: r, bonded: true, edge: 0.0 }, Rim::Table)),
        (0.05..0.15_f64)
            .prop_map(|r| (LoadKind::Pusher { radius: r, bonded: false, edge: 0.3 * r }, Rim::Ring)),
        any::<bool>().prop_map(|follows| (LoadKind::Pressure { follows }, Rim::Hinged)),
        Just((LoadKind::RimPull, Rim::Free)),
        Just((LoadKind::RimDisplacement, Rim::Clamped)),
        Just((LoadKind::Gravity, Rim::Table)),
    ]
}

#[test]
fn random_pokes_end_in_an_answer_or_a_doubt() {
    let seed = [23; 32];
    let mut runner =
        TestRunner::new_with_rng(Config::with_cases(12), TestRng::from_seed(RngAlgorithm::ChaCha, &seed));
    let strategy = (0.3..1.6_f64, -4.5..-2.2_f64, -0.2..0.5_f64, loads(), any::<bool>(), any::<bool>());
    runner
        .run(&strategy, |(alpha, log_h, nu, (kind, rim), inverted, displacement)| {
            let kind =
                if let LoadKind::Ring { arc } = kind { LoadKind::Ring { arc: arc * alpha } } else { kind };
            let part = Part {
                meridian: Meridian::Sphere(SphereCap { radius: 1.0, half_angle: alpha, hole_angle: 0.0 }),
                // λ stays moderate, so that a case takes a moment only.
                wall: Wall::uniform(libm::exp(log_h).max(0.02 * alpha * alpha)),
                material: Material { youngs: 1.0, poisson: nu, density: Some(1.0) },
                rim,
            };
            let load = Load {
                kind,
                from: if inverted { Start::Inverted } else { Start::Natural },
                control: if displacement { Control::Displacement } else { Control::Load },
                ..Load::default()
            };
            let r = poke(&part, &load);
            prop_assert_eq!(r.outcome == Outcome::Undecided, !r.doubts.is_empty());
            prop_assert!(!r.explanation.is_empty() || !r.doubts.is_empty());
            for t in r.by_load.iter().chain(&r.by_displacement) {
                prop_assert!(t.event < r.events.len());
                prop_assert_eq!(t.load_SI, r.events[t.event].load_SI);
                prop_assert_eq!(t.n == 0, t.route == "axisymmetric");
            }
            prop_assert!(r.path.iter().all(|p| p.energy_J.is_finite() && p.load_SI.is_finite()));
            prop_assert!(
                r.evidence.least_cosine.is_nan() || r.evidence.least_cosine > 0.7 || r.path.is_empty()
            );
            Ok(())
        })
        .unwrap();
}

//! Clamped shallow caps pushed on the pole: when a limit point appears, and which ripple comes first.
//!
//! Fitch 1968, "The buckling and post-buckling behavior of spherical caps under concentrated load", Int. J.
//! Solids Struct. 4, 421 (equations; values recomputed from them by collocation): ν = 1/3, limit point between
//! λ = 7.8 and 7.9; asymmetric buckling overtakes it between 9.1 and 9.2; λ = 10: n = 4 at PR/2πD = 16.354.

#![allow(clippy::unwrap_used, reason = "helpers of tests, outside a #[test] function")]

use calotte_shell::{Grading, Harmonics, Loaded, Mesh, Model, natural};
use calotte_solve::follow::{self, PathPoint, Watch};
use calotte_solve::{Potential, Work};
use calotte_specimen::{Material, Meridian, Part, Rim, SphereCap, Wall};

/// Shallow enough that the shallow-shell equations hold to about 1e-4.
const ALPHA: f64 = 0.02;

struct Cap {
    model: Model,
    unit: f64,
}

impl Cap {
    fn new(lambda: f64) -> Self {
        let nu = 1.0 / 3.0;
        let h = (12.0_f64 * (1.0 - nu * nu)).sqrt() * (ALPHA / lambda).powi(2);
        let part = Part {
            meridian: Meridian::Sphere(SphereCap { radius: 1.0, half_angle: ALPHA, hole_angle: 0.0 }),
            wall: Wall::uniform(h),
            material: Material { youngs: 1.0, poisson: nu, density: None },
            rim: Rim::Clamped,
        };
        let grading = Grading { pole: Some(0.05), ..Grading::default() };
        let model = Model::new(&part, 1.0, &Mesh::graded(&part, 1.0, &grading).bisected());
        // The parameter is p = PR/2πD.
        let unit = 2.0 * std::f64::consts::PI * h * h * h / (12.0 * (1.0 - nu * nu));
        Self { model, unit }
    }

    /// Follows the path in small steps until `stop` says so; the last two points.
    fn follow(&self, mut stop: impl FnMut(&PathPoint, &PathPoint) -> bool) -> [PathPoint; 2] {
        let pushed = Loaded::on_inner_end(&self.model, 1.0, self.unit);
        let mut work = Work::default();
        let set = follow::Settings {
            step: 0.01 * ALPHA,
            longest: 0.03 * ALPHA,
            weight: 0.001 * ALPHA,
            points: 2000,
            ..follow::Settings::default()
        };
        let from = follow::start(&pushed, natural(&self.model), 0.0, true, set.weight, &mut work).unwrap();
        let mut last = [from.clone(), from.clone()];
        follow::follow(&pushed, from, &set, &mut work, |here, next| {
            last = [here.clone(), next.clone()];
            if stop(here, next) { Watch::Stop } else { Watch::Go }
        });
        last
    }

    fn travel(&self, p: &PathPoint) -> f64 {
        let rise = 2.0 * libm::pow(libm::sin(0.5 * ALPHA), 2.0);
        (p.x[self.model.inner_height()] + rise) / rise
    }

    fn has_limit(&self) -> bool {
        let [a, b] = self.follow(|here, next| here.dt * next.dt < 0.0 || self.travel(next) > 2.0);
        a.dt * b.dt < 0.0
    }

    fn lost(&self, p: &PathPoint, n: u32) -> bool {
        Harmonics::new(&self.model, &p.x, 1.0).negative(n, &mut Work::default()).unwrap() > 0
    }

    /// The first force at which some n in 1..=7 is lost, before the limit point; with that n.
    fn first_ripple(&self) -> Option<(u32, f64)> {
        let mut found = None;
        let [a, b] = self.follow(|here, next| {
            if here.dt * next.dt < 0.0 {
                return true; // what is lost beyond the limit point does not count
            }
            found = (1..=7).find(|n| self.lost(next, *n));
            found.is_some()
        });
        let n = found?;
        // Bisection along the step between the two points.
        let pushed = Loaded::on_inner_end(&self.model, 1.0, self.unit);
        let set = follow::Settings { weight: 0.001 * ALPHA, ..follow::Settings::default() };
        let gap: Vec<f64> = a.x.iter().zip(&b.x).map(|(p, q)| p - q).collect();
        let length = calotte_solve::potential::norm(pushed.metric(), &gap);
        let (mut low, mut high, mut p) = (0.0, 1.5 * length + set.weight * (b.t - a.t).abs(), b.t);
        for _ in 0..40 {
            let mid = 0.5 * (low + high);
            let (point, _) = follow::step(&pushed, &a, mid, &set, &mut Work::default())?;
            p = point.t;
            if self.lost(&point, n) { high = mid } else { low = mid }
        }
        Some((n, p))
    }
}

#[test]
fn limit_point_appears_between_7_8_and_7_9() {
    assert!(!Cap::new(7.8).has_limit());
    assert!(Cap::new(7.9).has_limit());
}

#[test]
fn ripples_overtake_between_9_1_and_9_2() {
    assert_eq!(Cap::new(9.1).first_ripple(), None);
    assert!(Cap::new(9.2).first_ripple().is_some());
}

#[test]
fn four_waves_come_first_at_lambda_10() {
    let (n, p) = Cap::new(10.0).first_ripple().unwrap();
    assert_eq!(n, 4);
    // Half a unit of the last digit, and the cap's own slope squared.
    assert!((p - 16.354).abs() < 5e-4 + 16.0 * ALPHA * ALPHA, "{p}");
}

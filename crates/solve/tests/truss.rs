//! The two-bar truss: the textbook limit point, with closed forms.

use calotte_solve::follow::{self, PathEnd, Watch};
use calotte_solve::minimise::{self, minimise};
use calotte_solve::{Band, Directional, Jet, Potential, Scalar, Work, fold};

/// Two bars of unit natural length and unit EA meet at the apex (u, w); w counts down from the natural height
/// `sin α`. Energy `½ Σ (λ − 1)²` less the work of the load `t` on w.
struct Truss {
    rise: f64,
    half_span: f64,
    metric: [f64; 2],
}

impl Truss {
    fn new(alpha: f64) -> Self {
        Self { rise: libm::sin(alpha), half_span: libm::cos(alpha), metric: [1.0, 1.0] }
    }

    fn gradient<T: Scalar>(&self, u: T, w: T, t: f64) -> [T; 2] {
        let y = -w + self.rise;
        let mut g = [T::constant(0.0), T::constant(-t)];
        for side in [-1.0, 1.0] {
            let x = u + side * self.half_span;
            let length = (x * x + y * y).sqrt();
            let tension = length - 1.0;
            g[0] = g[0] + tension * x / length;
            g[1] = g[1] - tension * y / length;
        }
        g
    }
}

impl Potential for Truss {
    fn unknowns(&self) -> usize {
        2
    }
    fn half_bandwidth(&self) -> usize {
        1
    }
    fn metric(&self) -> &[f64] {
        &self.metric
    }
    fn energy(&self, x: &[f64], t: f64) -> f64 {
        let y = self.rise - x[1];
        let stretch = |side: f64| libm::hypot(x[0] + side * self.half_span, y) - 1.0;
        0.5 * (stretch(-1.0).powi(2) + stretch(1.0).powi(2)) - t * x[1]
    }
    fn assemble(&self, x: &[f64], t: f64, gradient: &mut [f64], tangent: &mut Band) -> f64 {
        tangent.clear();
        let along = |k: usize| {
            let jet = |i: usize| Jet { v: x[i], d1: f64::from(i == k), d2: 0.0 };
            self.gradient(jet(0), jet(1), t)
        };
        let (a, b) = (along(0), along(1));
        gradient.copy_from_slice(&[a[0].v, a[1].v]);
        tangent.add(0, 0, a[0].d1);
        tangent.add(1, 0, a[1].d1);
        tangent.add(1, 1, b[1].d1);
        self.energy(x, t)
    }
    fn gradient_slope(&self, _: &[f64], _: f64, out: &mut [f64]) {
        out.copy_from_slice(&[0.0, -1.0]);
    }
    fn directional(&self, x: &[f64], t: f64, v: &[f64], out: &mut Directional) {
        let jet = |i: usize| Jet { v: x[i], d1: v[i], d2: 0.0 };
        let g = self.gradient(jet(0), jet(1), t);
        out.third.copy_from_slice(&[g[0].d2, g[1].d2]);
        out.slope_v.fill(0.0);
        self.gradient_slope(x, t, &mut out.slope);
    }
}

/// Closed form (von Mises truss, engineering strain): `P_max = 2EA (1 − cos^{2/3} α)^{3/2}`.
#[test]
fn limit_load_has_its_closed_form() {
    for degrees in [5.0_f64, 30.0, 75.0] {
        let alpha = degrees.to_radians();
        let truss = Truss::new(alpha);
        let mut work = Work::default();
        let set =
            follow::Settings { step: 0.02 * alpha, longest: 0.1 * alpha, ..follow::Settings::default() };
        let from = follow::start(&truss, vec![0.0, 0.0], 0.0, true, 1.0, &mut work).unwrap();
        let mut turns = Vec::new();
        // Axisymmetric here means u = 0: steep trusses buckle sideways before, which a path cannot see.
        let (end, why) = follow::follow(&truss, from, &set, &mut work, |here, next| {
            if here.dt * next.dt < 0.0 {
                turns.push(here.clone());
            }
            if next.x[1] > 2.2 * truss.rise { Watch::Stop } else { Watch::Go }
        });
        assert_eq!(why, PathEnd::Stopped);
        assert!(end.x[1] > 2.0 * truss.rise && end.t > 0.0);
        assert_eq!(turns.len(), 2);
        let known = 2.0 * libm::pow(1.0 - libm::pow(libm::cos(alpha), 2.0 / 3.0), 1.5);
        for (turn, sign) in turns.iter().zip([1.0, -1.0]) {
            let f = fold::refine(&truss, turn.x.clone(), turn.t, vec![0.0, 1.0], 0.1, &mut work).unwrap();
            assert!((f.t - sign * known).abs() < 1e-13, "{degrees}: {} {known}", f.t);
            assert!(f.v[0].abs() < 1e-9 && f.bend != 0.0 && f.push != 0.0);
            let sides = fold::sides(&truss, &f, 1e-8, 1.0, &mut work).unwrap();
            let mut counts: Vec<usize> = sides.iter().map(|s| s.negative).collect();
            counts.sort_unstable();
            // Sideways stiffness at the limit is 2 (2 − cos^(−2/3) α): lost beyond 69.3°.
            let sideways = usize::from(libm::pow(libm::cos(alpha), 2.0 / 3.0) < 0.5);
            if sign > 0.0 {
                assert_eq!(counts, [sideways, 1 + sideways]);
            }
        }
    }
}

/// Closed form: unloaded, the energy has its other minimum at w = 2 rise.
#[test]
fn minimising_beyond_the_saddle_falls_into_the_other_well() {
    let truss = Truss::new(0.3);
    let mut work = Work::default();
    let m = minimise(&truss, vec![1e-3, 1.2 * truss.rise], 0.0, &minimise::Settings::default(), &mut work);
    let m = m.unwrap();
    assert!((m.x[1] - 2.0 * truss.rise).abs() < 1e-9 && m.x[0].abs() < 1e-9 && m.energy < 1e-18);
}

/// From a saddle's own summit only negative curvature leads down; the trust region finds it.
#[test]
fn minimising_starts_from_an_indefinite_state() {
    let truss = Truss::new(0.3);
    let mut work = Work::default();
    let m = minimise(&truss, vec![0.0, 0.9 * truss.rise], 0.0, &minimise::Settings::default(), &mut work);
    assert!(m.unwrap().x[1].abs() < 1e-9);
}

//! The curve of folds of the quartic `E = x⁴/4 + p x²/2 + q x`: closed form `q = ±2 (−p/3)^{3/2}`, one cusp at the origin
//! (the standard cusp of catastrophe theory). A second, idle unknown makes the band wider.

use calotte_solve::fold_curve::{self, CurvePoint, Plane, Settings, Slopes};
use calotte_solve::{Band, Work};

struct Quartic {
    metric: [f64; 2],
}

impl Plane for Quartic {
    fn unknowns(&self) -> usize {
        2
    }
    fn half_bandwidth(&self) -> usize {
        1
    }
    fn metric(&self) -> &[f64] {
        &self.metric
    }
    fn assemble(&self, x: &[f64], [p, q]: [f64; 2], g: &mut [f64], h: &mut Band) -> Option<f64> {
        // x[1] is tied to x[0] by a stiff spring.
        let (a, d) = (x[0], x[1] - x[0]);
        g.copy_from_slice(&[a.powi(3) + p * a + q - 5.0 * d, 5.0 * d]);
        h.clear();
        h.add(0, 0, 3.0 * a * a + p + 5.0);
        h.add(1, 0, -5.0);
        h.add(1, 1, 5.0);
        Some(a.powi(4) / 4.0 + p * a * a / 2.0 + q * a + 2.5 * d * d)
    }
    fn third(&self, x: &[f64], _: [f64; 2], v: &[f64], out: &mut [f64]) -> Option<()> {
        out.copy_from_slice(&[6.0 * x[0] * v[0] * v[0], 0.0]);
        Some(())
    }
    fn slopes(&self, x: &[f64], _: [f64; 2], v: &[f64]) -> Option<Slopes> {
        Some([(vec![x[0], 0.0], v[0] * v[0]), (vec![1.0, 0.0], 0.0)])
    }
}

fn curve() -> Vec<CurvePoint> {
    let plane = Quartic { metric: [0.5, 0.5] };
    let mut work = Work::default();
    let weights = [1.0, 1.0];
    // x = 0.5: p = −3/4, q = 2/8.
    let first =
        fold_curve::start(&plane, vec![0.51, 0.49], [-0.75, 0.2], &[1.0, 1.0], true, weights, &mut work);
    let Some(first) = first else { return Vec::new() };
    let set = Settings { step: 0.02, longest: 0.1, shortest: 1e-9, weights, turn: 0.1, points: 200 };
    let mut out = vec![first.clone()];
    fold_curve::follow(&plane, first, &set, &mut work, |here, next, work| {
        if here.cubic * next.cubic < 0.0 {
            out.extend(fold_curve::cusp(&plane, here, next, weights, work));
        }
        out.push(next.clone());
        next.x[0] > -1.0
    });
    out
}

#[test]
fn runs_through_the_cusp_on_the_closed_form() {
    let points = curve();
    assert!(points.len() > 20);
    for c in &points {
        let x = c.x[0];
        assert!((c.p[0] + 3.0 * x * x).abs() < 1e-10, "{:?}", c.p);
        assert!((c.p[1] - 2.0 * x.powi(3)).abs() < 1e-10, "{:?}", c.p);
    }
    // Both branches: q > 0 before the cusp, q < 0 after it.
    assert!(points[0].p[1] > 0.1 && points[points.len() - 1].p[1] < -0.1);
}

#[test]
fn the_cusp_is_located() {
    let points = curve();
    let cusp = points.iter().min_by(|a, b| a.x[0].abs().total_cmp(&b.x[0].abs())).map(|c| (c.x[0], c.p));
    let Some((x, p)) = cusp else { panic!("no points") };
    assert!(x.abs() < 1e-9 && p[0].abs() < 1e-12 && p[1].abs() < 1e-12, "{x:e} {p:?}");
}

//! Known curves, with and without noise.

use super::*;

/// Noise that is the same on every run: a linear congruence and Box–Muller.
struct Noise(u64);

impl Noise {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        ((self.0 >> 11) as f64 + 0.5) / 9007199254740992.0
    }

    fn normal(&mut self) -> f64 {
        let (u, v) = (self.uniform(), self.uniform());
        (-2.0 * libm::log(u)).sqrt() * libm::cos(std::f64::consts::TAU * v)
    }
}

const R: f64 = 0.025;

fn sphere(count: usize, hole: f64, rim: f64, sd: f64, noise: &mut Noise) -> ProfilePoints {
    let points = (0..count).map(|i| {
        let t = hole + (rim - hole) * i as f64 / (count - 1) as f64;
        let (sin, cos) = libm::sincos(t);
        [R * sin + sd * noise.normal(), R * (1.0 - cos) + sd * noise.normal()]
    });
    ProfilePoints { points: points.collect(), position_sd: 2e-5, hole: hole > 0.0 }
}

#[test]
fn exact_sphere_comes_back() {
    for (hole, rim) in [(0.0, 0.9), (0.15, 0.9), (0.0, 2.4), (0.3, 2.9), (0.0, 0.2)] {
        let m = MeasuredMeridian::fit(&sphere(31, hole, rim, 0.0, &mut Noise(1))).unwrap();
        assert!((m.length() - R * (rim - hole)).abs() < 1e-11 * R, "{hole} {rim}: {}", m.length());
        for i in 0..=20 {
            let s = m.length() * f64::from(i) / 20.0;
            let (p, phi) = (m.at(s), hole + s / R);
            assert!((m.slope(s) - phi).abs() < 1e-9, "{hole} {rim} {i}: {}", m.slope(s) - phi);
            assert!((p.r - R * libm::sin(phi)).abs() < 1e-11 * R);
            assert!((p.z - R * (1.0 - libm::cos(phi))).abs() < 1e-10 * R, "{hole} {rim}");
            assert!((p.curvature * R - 1.0).abs() < 1e-7);
        }
        let (_, radius, angle) = m.end_sphere();
        assert!((radius / R - 1.0).abs() < 1e-9 && (angle - rim).abs() < 1e-9);
        assert_eq!(m.starts_at_pole(), hole == 0.0);
        assert!(m.report().rms_m < 1e-12 && m.report().intervals == 1);
    }
}

#[test]
fn noisy_sphere_within_its_stated_spread() {
    let (rim, sd) = (0.9, 2e-5);
    let (mut chi2, mut pulls) = (0.0, Vec::new());
    for seed in 0..60 {
        let m = MeasuredMeridian::fit(&sphere(80, 0.0, rim, sd, &mut Noise(seed))).unwrap();
        chi2 += m.report().reduced_chi2 / 60.0;
        pulls.push((m.slope(m.length()) - rim) / m.report().rim_slope_sd);
        assert!(m.report().out_of_order.is_none());
        assert!((m.report().rms_m / sd - 1.0).abs() < 0.4, "{}", m.report().rms_m);
    }
    // 60 fits of 78 degrees of freedom: sd of the mean chi² is √(2/78/60) = 0.02.
    assert!((chi2 - 1.0).abs() < 0.08, "{chi2}");
    let mean = pulls.iter().sum::<f64>() / 60.0;
    let spread = (pulls.iter().map(|p| p * p).sum::<f64>() / 60.0).sqrt();
    assert!(mean.abs() < 0.45 && (0.7..1.45).contains(&spread), "{mean} {spread}");
}

/// Half an ellipse meridian r = a sin t, z = b (1 − cos t).
fn ellipse(count: usize, rim: f64, sd: f64) -> ProfilePoints {
    let points = (0..count).map(|i| {
        let (sin, cos) = libm::sincos(rim * i as f64 / (count - 1) as f64);
        [0.03 * sin, 0.015 * (1.0 - cos)]
    });
    ProfilePoints { points: points.collect(), position_sd: sd, hole: false }
}

#[test]
fn ellipse_converges_at_fourth_order() {
    let exact = ellipse(400, 1.3, 1e-5);
    let worst = |n: usize| {
        let m = MeasuredMeridian::fit_with(&exact, n).unwrap();
        let t = 1.3;
        let slope = libm::atan2(0.015 * libm::sin(t), 0.03 * libm::cos(t));
        ((m.slope(m.length()) - slope).abs(), m.report().rms_m)
    };
    let (a, b, c) = (worst(8), worst(16), worst(32));
    assert!(a.0 < 1e-3 && b.0 < a.0 / 7.0 && c.0 < b.0 / 7.0, "{a:?} {b:?} {c:?}");
    assert!(b.1 < a.1 / 14.0 && c.1 < b.1 / 14.0, "{a:?} {b:?} {c:?}");
}

#[test]
fn intervals_follow_the_stated_sd() {
    let coarse = MeasuredMeridian::fit(&ellipse(200, 1.3, 1e-4)).unwrap();
    let fine = MeasuredMeridian::fit(&ellipse(200, 1.3, 1e-7)).unwrap();
    assert!(coarse.report().intervals < fine.report().intervals);
    assert!(coarse.report().reduced_chi2 < 1.0 && fine.report().reduced_chi2 < 1.5);
}

#[test]
fn curve_is_parametrised_by_arclength() {
    let m = MeasuredMeridian::fit_with(&ellipse(200, 1.3, 1e-5), 7).unwrap();
    let h = 1e-5 * m.length();
    for i in 1..50 {
        let s = m.length() * f64::from(i) / 50.0;
        let (a, p, b) = (m.at(s - h), m.at(s), m.at(s + h));
        assert!(((b.r - a.r) / (2.0 * h) - p.cos).abs() < 2e-9);
        assert!(((b.z - a.z) / (2.0 * h) - p.sin).abs() < 2e-9);
        assert!(((m.slope(s + h) - m.slope(s - h)) / (2.0 * h) - p.curvature).abs() * m.length() < 1e-5);
        assert!((p.sin * p.sin + p.cos * p.cos - 1.0).abs() < 1e-15);
    }
    // Continuous across a knot, with its slope and curvature.
    for k in m.knots() {
        let (a, b) = (m.at(k - 1e-13), m.at(k + 1e-13));
        assert!((a.r - b.r).abs() < 1e-12 && (a.z - b.z).abs() < 1e-12);
        assert!((a.curvature - b.curvature).abs() < 1e-6 * b.curvature.abs());
    }
    let pole = m.at(0.0);
    assert_eq!((pole.r, pole.z, pole.sin), (0.0, 0.0, 0.0));
}

#[test]
fn quadrature_is_exact_to_rounding() {
    // φ = 2.4 u on one interval: ∫ cos φ = sin(2.4)/2.4.
    let [r, z] = spline::integrate(&[0.0, 2.4, 0.0, 0.0], 1.0);
    assert!((r - libm::sin(2.4) / 2.4).abs() < 2e-15);
    assert!((z - (1.0 - libm::cos(2.4)) / 2.4).abs() < 2e-15);
}

#[test]
fn enlarging_is_refitting_enlarged_points() {
    let p = ellipse(60, 1.1, 1e-5);
    let doubled = ProfilePoints {
        points: p.points.iter().map(|x| [2.0 * x[0], 2.0 * x[1]]).collect(),
        position_sd: 2e-5,
        hole: false,
    };
    let (a, b) = (MeasuredMeridian::fit(&p).unwrap().enlarged(2.0), MeasuredMeridian::fit(&doubled).unwrap());
    assert!((a.length() - b.length()).abs() < 1e-10 * b.length());
    let (p, q) = (a.at(0.4 * a.length()), b.at(0.4 * b.length()));
    assert!((p.r - q.r).abs() < 1e-10 && (p.curvature - q.curvature).abs() < 1e-6 * q.curvature);
    assert!((a.report().rms_m - b.report().rms_m).abs() < 1e-6 * b.report().rms_m + 1e-15);
}

#[test]
fn refusals_say_why() {
    let mut p = sphere(7, 0.0, 0.9, 0.0, &mut Noise(1));
    assert_eq!(MeasuredMeridian::fit(&p), Err(FitFailure::TooFewPoints { points: 7, needed: 8 }));
    p = sphere(20, 0.0, 0.9, 0.0, &mut Noise(1));
    for x in &mut p.points {
        x[1] = 0.0;
    }
    assert_eq!(MeasuredMeridian::fit(&p), Err(FitFailure::NoRise { rise: 0.0 }));
}

#[test]
fn points_out_of_order_are_named() {
    let mut p = sphere(20, 0.0, 0.9, 0.0, &mut Noise(1));
    p.points.swap(9, 12);
    assert_eq!(MeasuredMeridian::fit(&p).unwrap().report().out_of_order, Some(10));
}

#[test]
fn wavy_profile_is_found_from_its_own_chords() {
    // z = r²/50 mm with two waves of eight millimetres: far from any sphere.
    let mut noise = Noise(7);
    let wavy = (0..200).map(|i| {
        let r = 20.0 * f64::from(i) / 199.0;
        let z = 0.02 * r * r + 4.0 * (1.0 - libm::cos(r * 0.7));
        [1e-3 * (r + 0.01 * noise.normal()), 1e-3 * (z + 0.01 * noise.normal())]
    });
    let given = ProfilePoints { points: wavy.collect(), position_sd: 1e-5, hole: false };
    let m = MeasuredMeridian::fit(&given).unwrap();
    assert!((0.7..1.4).contains(&m.report().reduced_chi2), "{:?}", m.report());
    let slope = libm::atan(0.04 * 20.0 + 2.8 * libm::sin(14.0));
    assert!((m.slope(m.length()) - slope).abs() < 4.0 * m.report().rim_slope_sd, "{:?}", m.report());
}

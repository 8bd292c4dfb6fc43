//! Slowing down near the threshold: exponents, and the prefactors of shallow caps.

use super::parts::{cap, threshold, watch};
use calotte_answers::release::curves::Slowing;
use calotte_answers::release::slowing;
use std::f64::consts::PI;

/// Closed forms: an inertial saddle-node is passed in a time that goes with the distance to the power −1/4, an overdamped
/// one −1/2 (Strogatz 1994, "Nonlinear Dynamics and Chaos", section 4.3), and before it the frequency goes with the power
/// 1/4; at the threshold alone. Recomputed (collocation): at 2 to 5 % the elastic delay's local power is −0.35.
#[test]
fn exponents_tend_to_those_of_a_saddle_node() {
    let part = cap(45.0, 0.06, 0.3);
    let near = slowing(&part, [1e-6, 1e-4], 5, &watch(2)).unwrap().unwrap();
    let exponents = |s: &Slowing| -> [Vec<f64>; 3] {
        [
            s.elastic.iter().filter_map(|p| p.exponent).collect(),
            s.damped.iter().filter_map(|p| p.exponent).collect(),
            s.frequencies.iter().filter_map(|p| p.exponent).collect(),
        ]
    };
    for (found, law) in exponents(&near).iter().zip([-0.25, -0.5, 0.25]) {
        assert_eq!(found.len(), 3);
        assert!((found[0] - law).abs() < 0.006, "{law}: {found:?}");
        // Nearer is closer to the law.
        assert!(found.windows(2).all(|w| (w[0] - law).abs() < (w[1] - law).abs()), "{law}: {found:?}");
    }
    let far = slowing(&part, [0.02, 0.05], 3, &watch(2)).unwrap().unwrap();
    let [elastic, ..] = exponents(&far);
    assert!((elastic[0] + 0.35).abs() < 0.02, "{elastic:?}");
    // Recomputed: the half-way time at 5 %.
    assert!((far.elastic[2].time_s / 8.415_497_7 - 1.0).abs() < 1e-6);
    let s = slowing(&part, [0.02, 0.05], 3, &watch(1)).unwrap().unwrap();
    assert_eq!(format!("{s:?}"), format!("{far:?}"));
}

/// Recomputed here from the shallow-shell equations (Marguerre 1938; Chebyshev collocation on the slope and the stress
/// function, inertia in the plane and of rotation left out, an independent program): near the threshold
/// Ω = 19.46679 (λ − λ*)^{1/4}, ν = 0.3. Then in closed form, with the saddle-node passage 3.45082 μ^{−1/4}: the
/// delay is `3.45082 √2/19.46679 = 0.250693` times `(λ* − λ)^{−1/4} a² √(ρh/D)`.
///
/// Exact caps of 2° and 4° are extrapolated to none, distances to zero: frequencies in powers of the square root of the distance,
/// delays in those of its fourth root, which converge slowly and where the half (pole and rim level) costs a constant time.
#[test]
fn prefactors_of_shallow_caps() {
    let mut found = Vec::new();
    for alpha in [4.0_f64, 2.0] {
        let part = cap(alpha, threshold(alpha, 0.3), 0.3);
        let unit = alpha.to_radians().powi(2) * (12.0_f64 * 0.91).sqrt();
        let lambda = |h: f64| (unit / h).sqrt();
        let s = slowing(&part, [4e-6, 0.016_384], 4, &watch(2)).unwrap().unwrap();
        let h = s.threshold_thickness_m;
        let mut c: Vec<f64> = s
            .frequencies
            .iter()
            .map(|p| {
                let here = h * (1.0 - p.distance);
                2.0 * PI * p.frequency_Hz * unit / here / (lambda(here) - lambda(h)).sqrt().sqrt()
            })
            .collect();
        let mut t: Vec<f64> = s
            .elastic
            .iter()
            .map(|p| {
                let here = h * (1.0 + p.distance);
                p.time_s * here / unit * (lambda(h) - lambda(here)).sqrt().sqrt()
            })
            .collect();
        // Each distance is 16 times the one before: its root 4, its fourth root 2.
        extrapolate(&mut c, 4.0);
        extrapolate(&mut t, 2.0);
        found.push([c[0], t[0]]);
    }
    let limit = |k: usize| (4.0 * found[1][k] - found[0][k]) / 3.0;
    assert!((limit(0) / 19.466_79 - 1.0).abs() < 2e-6, "{}", limit(0));
    assert!((limit(1) / 0.250_693 - 1.0).abs() < 1e-3, "{}", limit(1));
}

/// Values at x, kx, k²x, … to x = 0, in powers of x; the result is the first.
fn extrapolate(v: &mut [f64], k: f64) {
    let mut factor = k;
    for round in 1..v.len() {
        for i in 0..v.len() - round {
            v[i] = (factor * v[i] - v[i + 1]) / (factor - 1.0);
        }
        factor *= k;
    }
}

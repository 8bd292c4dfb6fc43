//! Starting states: the natural shape, its mirror image, and a mirror dimple inside a held rim.

use crate::model::Model;

/// Nodal values of the natural shape.
pub fn natural(model: &Model) -> Vec<f64> {
    reflected(model, |_| 1.0)
}

/// The mirror image in the plane of the rim: free of stretching, bent through twice its curvature.
pub fn mirror(model: &Model) -> Vec<f64> {
    reflected(model, |_| -1.0)
}

fn reflected(model: &Model, sign: impl Fn(f64) -> f64) -> Vec<f64> {
    let mut full = Vec::new();
    let end = model.nodes[model.nodes.len() - 1];
    let rim = model.part.meridian.at(end * model.radius);
    for (i, (&s, &ell)) in model.nodes.iter().zip(&model.scale).enumerate() {
        let p = model.natural_at(i);
        let k = p.curvature * model.radius;
        let m = sign(s);
        full.extend([p.r / model.radius, ell * p.cos, -ell * ell * k * p.sin]);
        full.extend([m * (p.z - rim.z) / model.radius, m * ell * p.sin, m * ell * ell * k * p.cos]);
    }
    model.unknowns_of(&full)
}

/// A mirror dimple: slope reversed from the pole to a ridge at distance `inside` (over R) from the rim,
/// natural outside it; the slope passes through the ridge over the width `width` (over R).
pub fn dimple(model: &Model, inside: f64, width: f64) -> Vec<f64> {
    let end = model.nodes[model.nodes.len() - 1];
    let ridge = end - inside;
    // φ = m(s) φ₀ with m from −1 to 1; r and z follow by quadrature from the rim inwards so that the rim
    // keeps its place, then r is put back to its natural value (Hermite data need not be consistent).
    let m = |s: f64| libm::tanh((s - ridge) / width);
    let slope = |s: f64| {
        let p = model.part.meridian.at(s * model.radius);
        let phi0 = libm::atan2(p.sin, p.cos);
        let k0 = p.curvature * model.radius;
        let v = m(s);
        (v * phi0, v * k0 + (1.0 - v * v) / width * phi0, p.r / model.radius)
    };
    let rule = calotte_solve::quadrature::gauss_legendre(8);
    let mut heights = vec![0.0; model.nodes.len()];
    for e in (0..model.nodes.len() - 1).rev() {
        let (a, b) = (model.nodes[e], model.nodes[e + 1]);
        let rise: f64 = rule.iter().map(|(x, w)| w * (b - a) * libm::sin(slope(a + x * (b - a)).0)).sum();
        heights[e] = heights[e + 1] - rise;
    }
    let mut full = Vec::new();
    for ((&s, &ell), z) in model.nodes.iter().zip(&model.scale).zip(&heights) {
        let (phi, k, r) = slope(s);
        let (sin, cos) = libm::sincos(phi);
        full.extend([r, ell * cos, -ell * ell * k * sin, *z, ell * sin, ell * ell * k * cos]);
    }
    model.unknowns_of(&full)
}

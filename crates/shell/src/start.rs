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

/// A piece of the meridian in a folded start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FoldedPiece {
    /// From and to this natural arclength over R; pieces follow each other.
    pub span: [f64; 2],
    /// Whether its slope is reversed.
    pub turned: bool,
    /// How stiff it is beside its neighbours: where two meet, the softer one bends.
    pub stiffness: f64,
}

/// Pieces turned over one by one: inside a piece the slope is the natural one or its reverse; towards its ends it bends, within about
/// `width(s)` (over R), so that every joint keeps its natural angle. Radii are the natural ones.
pub fn folded(model: &Model, pieces: &[FoldedPiece], width: impl Fn(f64) -> f64) -> Vec<f64> {
    let meridian = &model.part.meridian;
    let angle = |p: calotte_specimen::MeridianPoint| libm::atan2(p.sin, p.cos);
    let sign = |p: &FoldedPiece| if p.turned { -1.0 } else { 1.0 };
    // Bends at the joints: place, what the side before takes and what the side after takes.
    let bends: Vec<(f64, f64, f64)> = pieces
        .windows(2)
        .map(|w| {
            let s = w[0].span[1];
            let [before, after] =
                [meridian.before(s * model.radius), meridian.at(s * model.radius)].map(angle);
            let turn = 2.0 * std::f64::consts::PI;
            let wrapped = |angle: f64| angle - turn * (angle / turn).round();
            // A reversed slope is known up to a whole turn: walls of bellows lean beyond the upright.
            let missing = wrapped(after - before - (sign(&w[1]) * after - sign(&w[0]) * before));
            let share = w[1].stiffness / (w[0].stiffness + w[1].stiffness);
            (s, -share * missing, (1.0 - share) * missing)
        })
        .collect();
    // Slope and its rate at `s`, on the side of `toward`.
    let slope = |s: f64, toward: f64| {
        let inside = pieces.iter().find(|p| toward >= p.span[0] && toward <= p.span[1]);
        let m = inside.map_or(1.0, sign);
        let place = s * model.radius;
        let p = if toward < s { meridian.before(place) } else { meridian.at(place) };
        let (mut phi, mut k) = (m * angle(p), m * p.curvature * model.radius);
        for (at, before, after) in &bends {
            let w = width(*at);
            let share = if toward < *at { *before } else { *after };
            let rate = if toward < *at { 1.0 / w } else { -1.0 / w };
            let part = share * libm::exp(-(s - at).abs() / w);
            phi += part;
            k += rate * part;
        }
        (phi, k, p.r / model.radius)
    };
    let rule = calotte_solve::quadrature::gauss_legendre(8);
    let count = model.nodes.len();
    let mut heights = vec![0.0; count];
    for e in (0..count - 1).rev() {
        let (a, b) = (model.nodes[e], model.nodes[e + 1]);
        let at = |x: f64| a + x * (b - a);
        let rise: f64 = rule.iter().map(|(x, w)| w * (b - a) * libm::sin(slope(at(*x), at(*x)).0)).sum();
        heights[e] = heights[e + 1] - rise;
    }
    let mut full = Vec::new();
    for (i, (&s, &ell)) in model.nodes.iter().zip(&model.scale).enumerate() {
        // A node belongs to the element before it, at a start and at the second node of a joint to the one after.
        let other =
            if i == 0 || model.ends_at_joint(i - 1) { model.nodes[i + 1] } else { model.nodes[i - 1] };
        let (phi, k, r) = slope(s, s + 1e-9 * (other - s));
        let (sin, cos) = libm::sincos(phi);
        full.extend([r, ell * cos, -ell * ell * k * sin, heights[i], ell * sin, ell * ell * k * cos]);
    }
    model.unknowns_of(&full)
}

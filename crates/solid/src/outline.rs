//! A closed outline in the half plane r ≥ 0 that is turned about the axis.

/// Corners (r, z) in metres, counterclockwise: the material lies on the left.
pub type Outline = Vec<[f64; 2]>;

/// Area of an outline (positive counterclockwise), m², and the volume of its full turn by Pappus's second theorem, m³.
///
/// Exact for the polygon: A = ½ Σ (r₀z₁ − r₁z₀), V = π/3 Σ (r₀ + r₁)(r₀z₁ − r₁z₀).
pub fn moments(outline: &[[f64; 2]]) -> (f64, f64) {
    let (mut area, mut volume) = (0.0, 0.0);
    for (i, a) in outline.iter().enumerate() {
        let b = outline[(i + 1) % outline.len()];
        let cross = a[0] * b[1] - b[0] * a[1];
        area += 0.5 * cross;
        volume += std::f64::consts::PI / 3.0 * (a[0] + b[0]) * cross;
    }
    (area, volume)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    /// Closed form: cylinder, cone, and a ring of triangular section.
    #[test]
    fn volumes_of_turned_outlines() {
        let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-12 * b.abs(), "{a} {b}");
        close(moments(&[[0.0, 0.0], [2.0, 0.0], [2.0, 3.0], [0.0, 3.0]]).1, 12.0 * PI);
        close(moments(&[[0.0, 0.0], [2.0, 0.0], [0.0, 3.0]]).1, 4.0 * PI);
        // Pappus: area ½, centroid at r = 4/3.
        let ring = moments(&[[1.0, 0.0], [2.0, 0.0], [1.0, 1.0]]);
        close(ring.0, 0.5);
        close(ring.1, 2.0 * PI * 4.0 / 3.0 * 0.5);
    }
}

//! A wall of layers as one shell: stiffnesses A, B, D and what heat does, at one temperature.
//!
//! Per unit thickness: y runs from +½ at the convex face of the natural bowl to −½ at the concave one, and the strain at y is
//! `ε + y κ` (more curvature shortens the concave face). With `Q = E/(1−ν²)` of each layer
//! `A = Σ∫Q dy`, `B = Σ∫Q y dy`, `D = Σ∫Q y² dy` for equal directions and the same with νQ across them; layers may have
//! Poisson ratios of their own. A layer that is free would stretch by `∫α dT − α G y`, G the temperature of the concave face
//! less that of the convex one. The strain e and curvature k at which the free wall bears no resultant solve
//! `[A B; B D][e; k] = [N_T; M_T]` with equal-biaxial stiffnesses (laminated plates: Timoshenko & Woinowsky-Krieger 1959,
//! "Theory of plates and shells", §§ 14 and 21; bimetal: Timoshenko 1925).

use calotte_specimen::Layers;

/// Stiffnesses over the unit modulus of a wall one thick, with the strain and curvature that heat gives it when free.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Section {
    /// A: (ss, sθ).
    pub a: [f64; 2],
    /// B.
    pub b: [f64; 2],
    /// D.
    pub d: [f64; 2],
    /// Free thermal strain e of the mid-surface.
    pub strain: f64,
    /// Free thermal curvature times thickness, k; positive like a bowl.
    pub curvature: f64,
}

impl Section {
    /// The section at temperature `t` (K), moduli over `unit` (Pa), and its derivative in t.
    pub fn of(layers: &Layers, t: f64, unit: f64) -> (Self, Self) {
        let (mut own, mut rate) = (Self::default(), Self::default());
        // Equal-biaxial thermal resultants and their rates.
        let (mut n, mut m) = ([0.0; 2], [0.0; 2]);
        let mut y = 0.5;
        for layer in &layers.layers {
            let below = y - layer.share;
            let (y1, y2, y3) =
                (y - below, 0.5 * (y * y - below * below), (y * y * y - below * below * below) / 3.0);
            y = below;
            let nu = layer.poisson;
            let [e, de] = layer.youngs.at(t);
            let [alpha, dalpha] = layer.expansion.at(t);
            let free = layer.expansion.integral(layers.formed_at, t);
            let g = layers.face_difference;
            for (into, e) in [(&mut own, e), (&mut rate, de)] {
                let q = e / unit / (1.0 - nu * nu);
                for (k, q) in [q, nu * q].into_iter().enumerate() {
                    into.a[k] += q * y1;
                    into.b[k] += q * y2;
                    into.d[k] += q * y3;
                }
            }
            // Equal-biaxial modulus E/(1−ν).
            let (q, dq) = (e / unit / (1.0 - nu), de / unit / (1.0 - nu));
            n[0] += q * (free * y1 - alpha * g * y2);
            m[0] += q * (free * y2 - alpha * g * y3);
            n[1] += dq * (free * y1 - alpha * g * y2) + q * (alpha * y1 - dalpha * g * y2);
            m[1] += dq * (free * y2 - alpha * g * y3) + q * (alpha * y2 - dalpha * g * y3);
        }
        let sum = |p: [f64; 2]| p[0] + p[1];
        let (a, b, d) = (sum(own.a), sum(own.b), sum(own.d));
        let det = a * d - b * b;
        let solve = |n: f64, m: f64| ((d * n - b * m) / det, (a * m - b * n) / det);
        (own.strain, own.curvature) = solve(n[0], m[0]);
        let (e, k) = (own.strain, own.curvature);
        let (da, db, dd) = (sum(rate.a), sum(rate.b), sum(rate.d));
        (rate.strain, rate.curvature) = solve(n[1] - da * e - db * k, m[1] - db * e - dd * k);
        own.curvature += layers.flexivity * (t - layers.formed_at);
        rate.curvature += layers.flexivity;
        (own, rate)
    }
}

#[cfg(test)]
mod tests {
    use super::Section;
    use calotte_specimen::{Layer, Layers, Property};

    fn layers(of: Vec<Layer>) -> Layers {
        let formed_at = 293.15;
        Layers {
            layers: of,
            formed_at,
            temperature: formed_at,
            face_difference: 0.0,
            extra_curvature: 0.0,
            flexivity: 0.0,
        }
    }

    fn layer(share: f64, youngs: f64, poisson: f64, expansion: f64) -> Layer {
        Layer { share, youngs: Property::Constant(youngs), poisson, expansion: Property::Constant(expansion) }
    }

    /// Source: Timoshenko 1925, J. Opt. Soc. Am. 11, 233: κh/(Δα ΔT) = 6(1+m)²/[3(1+m)² + (1+mn)(m² + 1/(mn))], m the
    /// ratio of thicknesses, n that of moduli. With equal Poisson ratios the disc bends as the strip does.
    #[test]
    fn bimetal() {
        for (m, n) in [(1.0, 1.0), (1.0, 2.0), (0.5, 3.0), (4.0, 0.2)] {
            // Layer 1 over layer 2: thickness m : 1, modulus n : 1. The convex face expands more: the bowl deepens.
            let l = layers(vec![
                layer(m / (1.0 + m), n * 1e11, 0.3, 20e-6),
                layer(1.0 / (1.0 + m), 1e11, 0.3, 2e-6),
            ]);
            let (s, r) = Section::of(&l, 293.15 + 50.0, 1e11);
            let want = 6.0 * (1.0f64 + m).powi(2)
                / (3.0 * (1.0 + m).powi(2) + (1.0 + m * n) * (m * m + 1.0 / (m * n)));
            let got = s.curvature / (18e-6 * 50.0);
            assert!((got - want).abs() < 1e-12, "{m} {n}: {got} {want}");
            assert!((r.curvature * 50.0 - s.curvature).abs() < 1e-15);
        }
    }

    /// Closed form: a single layer has no coupling, `A = 1/(1−ν²)`, `D = A/12`, stretches by αΔT, and bends by −αG towards its cold
    /// concave face (the hot face is the longer one).
    #[test]
    fn one_layer() {
        let mut l = layers(vec![layer(1.0, 2e11, 0.3, 12e-6)]);
        l.face_difference = 10.0;
        let (s, _) = Section::of(&l, 303.15, 2e11);
        let a = 1.0 / (1.0 - 0.09);
        assert!(
            (s.a[0] - a).abs() < 1e-15 && (s.d[1] - 0.3 * a / 12.0).abs() < 1e-16 && s.b[0].abs() < 1e-17
        );
        assert!((s.strain - 12e-5).abs() < 1e-18 && (s.curvature + 12e-5).abs() < 1e-18);
    }

    /// The derivative in temperature is that of the section (central differences), tables and own Poisson ratios included.
    #[test]
    fn rates() {
        let steel = Property::table(&[(250.0, 2.1e11), (350.0, 2.0e11), (450.0, 1.8e11)]).unwrap();
        let mut l = layers(vec![
            Layer { youngs: steel, ..layer(0.3, 1.0, 0.27, 17e-6) },
            layer(0.3, 1.2e11, 0.35, 9e-6),
            layer(0.4, 1.4e11, 0.3, 1e-6),
        ]);
        l.face_difference = 3.0;
        let (t, e) = (370.0, 0.01);
        let (up, down) = (Section::of(&l, t + e, 1e11).0, Section::of(&l, t - e, 1e11).0);
        let (_, r) = Section::of(&l, t, 1e11);
        for (u, d, r) in [
            (up.a[0], down.a[0], r.a[0]),
            (up.b[1], down.b[1], r.b[1]),
            (up.d[0], down.d[0], r.d[0]),
            (up.strain, down.strain, r.strain),
            (up.curvature, down.curvature, r.curvature),
        ] {
            assert!(((u - d) / (2.0 * e) - r).abs() < 1e-6 * r.abs().max(1e-6), "{u} {d} {r}");
        }
    }
}

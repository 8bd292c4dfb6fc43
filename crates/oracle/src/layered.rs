//! Walls of isotropic layers that are heated: closed forms.
//!
//! The wall is free, so that neither force nor moment acts in it; heights y run from its middle towards the last layer.
//! With Y the stiffness of a layer, a strain `e − κy` that leaves no resultants obeys
//!
//! ```text
//! e ΣYt − κ ΣY∫y = ΣYαt        e ΣY∫y − κ ΣY∫y² = ΣYα∫y        per kelvin
//! ```
//!
//! A strip resists with Y = E, a plate, which stretches alike both ways, with Y = E/(1−ν), each layer its own. This is an
//! exact solution of the linear theory of a free flat plate of any outline, edges included, because nothing is left over there.

/// One layer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ply {
    /// Thickness.
    pub thickness: f64,
    /// Young's modulus.
    pub youngs: f64,
    /// Poisson ratio; plays no part in a strip.
    pub poisson: f64,
    /// Expansion, 1/K.
    pub expansion: f64,
}

/// What resists.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outline {
    /// A strip by beam theory.
    Strip,
    /// A plate.
    Plate,
}

/// What a free wall does per kelvin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bent {
    /// Curvature, positive where the last layer ends on the concave side.
    pub curvature: f64,
    /// Strain of the middle of the wall.
    pub strain: f64,
}

/// Curvature and strain of the middle, per kelvin, of a free wall of these layers, all at one temperature.
pub fn bent(layers: &[Ply], outline: Outline) -> Bent {
    let whole: f64 = layers.iter().map(|l| l.thickness).sum();
    let mut from = -0.5 * whole;
    let (mut s, mut t) = ([0.0; 3], [0.0; 2]);
    for l in layers {
        let to = from + l.thickness;
        let y = match outline {
            Outline::Strip => l.youngs,
            Outline::Plate => l.youngs / (1.0 - l.poisson),
        };
        let powers = [l.thickness, 0.5 * (to * to - from * from), (to * to * to - from * from * from) / 3.0];
        for (sum, p) in s.iter_mut().zip(powers) {
            *sum += y * p;
        }
        for (sum, p) in t.iter_mut().zip(powers) {
            *sum += y * l.expansion * p;
        }
        from = to;
    }
    let det = s[0] * s[2] - s[1] * s[1];
    Bent { curvature: (t[0] * s[1] - t[1] * s[0]) / det, strain: (t[0] * s[2] - t[1] * s[1]) / det }
}

/// Curvature of a strip of two layers times its thickness over the difference of their free strains; m the ratio of the
/// thicknesses, n that of the moduli, the same layer on top.
///
/// Timoshenko 1925, "Analysis of bi-metal thermostats", J. Opt. Soc. Am. 11, 233:
/// `6(1+m)²/[3(1+m)² + (1+mn)(m² + 1/(mn))]`.
pub fn timoshenko(m: f64, n: f64) -> f64 {
    let sum = (1.0 + m) * (1.0 + m);
    6.0 * sum / (3.0 * sum + (1.0 + m * n) * (m * m + 1.0 / (m * n)))
}

/// Curvature of a plate of thickness `h` under a film much thinner: `6 ε Y_f h_f/(Y h²)`, with Y = E/(1−ν) for a plate and E
/// for a strip (Stoney 1909, "The tension of metallic films deposited by electrolysis", Proc. R. Soc. A 82, 172, for strips;
/// for plates common practice, no source).
pub fn stoney(mismatch: f64, film_stiffness: f64, film: f64, stiffness: f64, h: f64) -> f64 {
    6.0 * mismatch * film_stiffness * film / (stiffness * h * h)
}

/// Curvature of a free wall of one material whose faces differ by this free strain: the strain over h
/// (Timoshenko & Woinowsky-Krieger 1959, "Theory of Plates and Shells", art. 14, from memory).
pub fn gradient_curvature(difference: f64, h: f64) -> f64 {
    difference / h
}

/// Moment per length round a plate of one material, its edge clamped, whose faces differ by this free strain:
/// `D (1+ν) difference/h`, and the plate stays flat (same article, from memory).
pub fn gradient_moment(difference: f64, h: f64, youngs: f64, nu: f64) -> f64 {
    let stiffness = youngs * h * h * h / (12.0 * (1.0 - nu * nu));
    stiffness * (1.0 + nu) * difference / h
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ply(thickness: f64, youngs: f64, poisson: f64, expansion: f64) -> Ply {
        Ply { thickness, youngs, poisson, expansion }
    }

    /// Two derivations: the resultants above and Timoshenko's forces between the layers.
    #[test]
    fn two_layers_are_timoshenkos_strip() {
        for (m, n) in [(1.0, 1.0), (1.0, 2.0), (0.5, 2.0), (3.0, 0.4), (0.01, 1.0)] {
            let both = [ply(m, n, 0.3, 0.0), ply(1.0, 1.0, 0.1, 1.0)];
            let found = bent(&both, Outline::Strip).curvature * (1.0 + m);
            assert!((found / timoshenko(m, n) + 1.0).abs() < 1e-12, "{m} {n}: {found}");
            // Which layer is called the first does not matter.
            assert!((timoshenko(m, n) / timoshenko(1.0 / m, 1.0 / n) - 1.0).abs() < 1e-14);
        }
    }

    /// Layers of one Poisson ratio bend in a plate as in a strip; of two ratios they do not.
    #[test]
    fn poisson_matters_where_it_differs() {
        let at = |b: f64| {
            let both = [ply(1.0, 1.0, 0.3, 1.0), ply(1.0, 2.0, b, 0.0)];
            (bent(&both, Outline::Strip), bent(&both, Outline::Plate))
        };
        let (strip, plate) = at(0.3);
        assert!((strip.curvature / plate.curvature - 1.0).abs() < 1e-14);
        assert!((strip.strain / plate.strain - 1.0).abs() < 1e-14);
        let (strip, plate) = at(0.45);
        assert!((strip.curvature / plate.curvature - 1.0).abs() > 1e-3);
    }

    /// The error of the thin-film formula falls with the film's thickness.
    #[test]
    fn thin_films_are_stoneys() {
        let off = |film: f64| {
            let both = [ply(film, 3.0, 0.2, 1.0), ply(1.0, 1.0, 0.4, 0.0)];
            let thin = stoney(1.0, 3.0 / 0.8, film, 1.0 / 0.6, 1.0);
            bent(&both, Outline::Plate).curvature / thin - 1.0
        };
        let (a, b) = (off(1e-3), off(1e-4));
        assert!(a.abs() < 0.02 && (a / b - 10.0).abs() < 0.3, "{a} {b}");
    }

    /// A gradient is the limit of many layers whose free strain falls by equal steps; alike layers only grow.
    #[test]
    fn many_layers_are_a_gradient() {
        let n = 4000;
        let share = |i: usize| 1.0 - (i as f64 + 0.5) / f64::from(n);
        let layers: Vec<Ply> = (0..n as usize).map(|i| ply(2.0 / f64::from(n), 1.0, 0.3, share(i))).collect();
        let found = bent(&layers, Outline::Plate);
        assert!((found.curvature / gradient_curvature(1.0, 2.0) - 1.0).abs() < 1e-6, "{found:?}");
        assert!((found.strain - 0.5).abs() < 1e-9);
        let alike = bent(&[ply(1.0, 1.0, 0.3, 2.0), ply(0.5, 4.0, 0.1, 2.0)], Outline::Plate);
        assert!(alike.curvature.abs() < 1e-14 && (alike.strain - 2.0).abs() < 1e-14);
    }

    /// Undoing the free curvature of a gradient takes the clamped edge's moment: D(κ + νκ).
    #[test]
    fn the_moment_undoes_the_curvature() {
        let (h, youngs, nu) = (0.3, 7.0, 0.25);
        let d = youngs * h * h * h / (12.0 * (1.0 - nu * nu));
        let kappa = gradient_curvature(1e-3, h);
        assert!((gradient_moment(1e-3, h, youngs, nu) / (d * (kappa + nu * kappa)) - 1.0).abs() < 1e-14);
    }
}

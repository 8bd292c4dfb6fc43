//! Heat: bent strips and plates, plates that buckle, a dome that cannot grow, and the least depth of a disc that trips
//! (where it trips: [`crate::heat_trip`]).

use crate::bessel::j;
use crate::layered::{Outline, Ply};
use crate::{Known, Slack, Status};

const TIMOSHENKO: &str = "Timoshenko 1925, Analysis of bi-metal thermostats, J. Opt. Soc. Am. 11, 233";
const LAYERS: &str = "closed form: no force and no moment in a free wall (crates/oracle/src/layered.rs)";
const PLATES: &str =
    "Timoshenko & Woinowsky-Krieger 1959, Theory of Plates and Shells, art. 14 (formula from memory)";
const BUCKLING: &str = "Timoshenko & Gere 1961, Theory of Elastic Stability, art. 7.4 (problem, from memory); \
    characteristic equation solved";
const FLAT: &str = "Wittrick, Myers & Blunden 1953, Stability of a bimetallic disk, Q. J. Mech. Appl. Math. 6, 15 \
    (equations); the flat state's neighbours obey Kummer's equation, solved here";
const EDGE: &str =
    "recomputed from the small-displacement form of the stated equations (Chebyshev collocation)";

const fn closed(id: &'static str, what: &'static str, value: f64, source: &'static str) -> Known {
    Known { id, what, value, unit: "1", within: Slack::Relative(5e-9), source, status: Status::ClosedForm }
}

const fn found(id: &'static str, what: &'static str, value: f64, digit: f64, source: &'static str) -> Known {
    Known { id, what, value, unit: "1", within: Slack::Absolute(digit), source, status: Status::Recomputed }
}

/// Layers of a free wall and the curvature that a kelvin gives them, times the whole thickness over 1/K.
#[derive(Clone, Copy, Debug)]
pub struct Laminate {
    /// From the convex face to the concave one; unused ones have no thickness.
    pub layers: [Ply; 3],
    /// Strip or plate.
    pub outline: Outline,
    /// |κ| h over an expansion of 1.
    pub bends: Known,
}

const fn ply(thickness: f64, youngs: f64, poisson: f64, expansion: f64) -> Ply {
    Ply { thickness, youngs, poisson, expansion }
}

const NONE: Ply = ply(0.0, 1.0, 0.0, 0.0);

/// Bent walls. The first layer is the one of m and n in Timoshenko's formula.
pub const LAMINATES: [Laminate; 6] = [
    Laminate {
        layers: [ply(1.0, 1.0, 0.3, 0.0), ply(1.0, 1.0, 0.3, 1.0), NONE],
        outline: Outline::Strip,
        bends: closed("heat/strip-1-1", "Strip of two layers, m = 1, n = 1: κh/(Δα ΔT).", 1.5, TIMOSHENKO),
    },
    Laminate {
        layers: [ply(1.0, 2.0, 0.3, 0.0), ply(1.0, 1.0, 0.3, 1.0), NONE],
        outline: Outline::Strip,
        bends: closed(
            "heat/strip-1-2",
            "Strip of two layers, m = 1, n = 2: κh/(Δα ΔT).",
            1.454545454545,
            TIMOSHENKO,
        ),
    },
    Laminate {
        layers: [ply(0.5, 2.0, 0.3, 0.0), ply(1.0, 1.0, 0.3, 1.0), NONE],
        outline: Outline::Strip,
        bends: closed(
            "heat/strip-half-2",
            "Strip of two layers, m = 1/2, n = 2: κh/(Δα ΔT).",
            1.459459459459,
            TIMOSHENKO,
        ),
    },
    Laminate {
        layers: [ply(2.0, 0.5, 0.3, 0.0), ply(1.0, 1.0, 0.3, 1.0), NONE],
        outline: Outline::Strip,
        bends: closed(
            "heat/strip-2-half",
            "Strip of two layers, m = 2, n = 1/2: κh/(Δα ΔT).",
            1.459459459459,
            TIMOSHENKO,
        ),
    },
    Laminate {
        layers: [ply(1.0, 2.0, 0.45, 0.0), ply(1.0, 1.0, 0.2, 1.0), NONE],
        outline: Outline::Plate,
        bends: closed(
            "heat/plate-poissons",
            "Plate of two equal layers, moduli 2 : 1, ν = 0.45 and 0.2: κh/(Δα ΔT).",
            1.391075251111,
            LAYERS,
        ),
    },
    Laminate {
        layers: [ply(0.4, 1.4, 0.3, 0.1), ply(0.2, 0.8, 0.35, 1.7), ply(0.4, 1.3, 0.28, 1.0)],
        outline: Outline::Plate,
        bends: closed(
            "heat/plate-three",
            "Plate of three layers 0.4 : 0.2 : 0.4, E 1.4 : 0.8 : 1.3, ν 0.3, 0.35, 0.28, α 0.1 : 1.7 : 1: κh/(α ΔT).",
            1.322949970160,
            LAYERS,
        ),
    },
];

/// Free wall of one material, faces apart by a free strain ε: κh/ε.
pub const GRADIENT_FREE: Known =
    closed("heat/gradient-free", "Free plate, faces apart by the free strain ε: κh/ε.", 1.0, PLATES);

/// Its edge clamped, ν = 0.3: `1/12(1−ν)`.
pub const GRADIENT_CLAMPED: Known = closed(
    "heat/gradient-clamped",
    "Clamped plate, ν = 0.3, faces apart by the free strain ε: edge moment over E h² ε.",
    0.119047619048,
    PLATES,
);

/// Critical uniform compression of a circular plate whose edge cannot move outwards, N a²/D, with n waves round it: the least
/// root `k²` of `J_{n+1}(k) = 0` (clamped) or of `k J_n(k) = (1−ν) J_{n+1}(k)` (hinged). Heat makes `N = E h α ΔT/(1−ν)`.
///
/// With `w = [J_n(kx) + C xⁿ] cos nθ`, x = r/a, which solves `∇⁴w + k²∇²w = 0`.
pub fn buckling(clamped: bool, nu: f64, n: u32) -> f64 {
    let f = |k: f64| if clamped { j(n + 1, k) } else { k * j(n, k) - (1.0 - nu) * j(n + 1, k) };
    // Both are positive from 0 to the least root; the next lies about π beyond it.
    let step = 0.1;
    let mut low = step;
    while f(low + step) > 0.0 {
        low += step;
    }
    let k = root(f, low, low + step);
    k * k
}

/// A plate that cannot grow.
#[derive(Clone, Copy, Debug)]
pub struct Buckles {
    /// Clamped, or hinged.
    pub clamped: bool,
    /// Poisson ratio.
    pub nu: f64,
    /// Waves round the plate.
    pub n: u32,
    /// E h α ΔT a²/((1−ν) D).
    pub compression: Known,
}

/// Plates that buckle when heated.
pub const BUCKLES: [Buckles; 7] = [
    Buckles {
        clamped: true,
        nu: 0.3,
        n: 0,
        compression: closed(
            "heat/buckles-clamped",
            "Heated circular plate, edge clamped and immovable: E h α ΔT a²/((1−ν) D) when it buckles.",
            14.681970642124,
            BUCKLING,
        ),
    },
    Buckles {
        clamped: false,
        nu: 0.3,
        n: 0,
        compression: closed(
            "heat/buckles-hinged",
            "Heated circular plate, edge hinged and immovable, ν = 0.3: E h α ΔT a²/((1−ν) D) when it buckles.",
            4.197787156964,
            BUCKLING,
        ),
    },
    Buckles {
        clamped: false,
        nu: 0.5,
        n: 0,
        compression: closed(
            "heat/buckles-hinged-0.5",
            "Same plate, ν = 0.5: E h α ΔT a²/((1−ν) D) when it buckles.",
            4.690998364660,
            BUCKLING,
        ),
    },
    Buckles {
        clamped: true,
        nu: 0.3,
        n: 1,
        compression: closed(
            "heat/buckles-clamped-n1",
            "Heated circular plate, edge clamped and immovable, ν = 0.3: E h α ΔT a²/((1−ν) D) at which it buckles in 1 wave.",
            26.374616427163,
            BUCKLING,
        ),
    },
    Buckles {
        clamped: true,
        nu: 0.3,
        n: 2,
        compression: closed(
            "heat/buckles-clamped-n2",
            "Heated circular plate, edge clamped and immovable, ν = 0.3: E h α ΔT a²/((1−ν) D) at which it buckles in 2 waves.",
            40.706465818200,
            BUCKLING,
        ),
    },
    Buckles {
        clamped: false,
        nu: 0.3,
        n: 1,
        compression: closed(
            "heat/buckles-hinged-n1",
            "Heated circular plate, edge hinged and immovable, ν = 0.3: E h α ΔT a²/((1−ν) D) at which it buckles in 1 wave.",
            13.138084600272,
            BUCKLING,
        ),
    },
    Buckles {
        clamped: false,
        nu: 0.3,
        n: 2,
        compression: closed(
            "heat/buckles-hinged-n2",
            "Heated circular plate, edge hinged and immovable, ν = 0.3: E h α ΔT a²/((1−ν) D) at which it buckles in 2 waves.",
            24.855698054804,
            BUCKLING,
        ),
    },
];

fn root(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    let sign = f(low) > 0.0;
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if (f(middle) > 0.0) == sign { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// Least λ of a shallow free disc that trips.
///
/// Made flat by heat, the cap carries the membrane stress `N_r = −(Eh/16R²)(a² − r²)`. A slope β beside it obeys
/// `β″ + β′/x − β/x² + (λ⁴/16)(1 − x²)β = 0`, x = r/a, and `β′ + νβ = 0` at the edge. With b = λ²/4 the solution regular at
/// the centre is `x exp(−bx²/2) M(1 − b/4, 2, bx²)`, M Kummer's function. By symmetry the flat state is where the two folds
/// meet: below the least root the disc moves without a jump.
pub fn least_lambda(nu: f64) -> f64 {
    // At the edge, over exp(−b/2): β = M, β′ = (1 − b)M + 2b M′.
    let f = |lambda: f64| {
        let b = 0.25 * lambda * lambda;
        (1.0 + nu - b) * kummer(1.0 - 0.25 * b, 2.0, b) + 2.0 * b * kummer_slope(1.0 - 0.25 * b, 2.0, b)
    };
    root(f, 1.0, 4.5)
}

/// Kummer's function `M(a, b, x) = Σ (a)_k/(b)_k x^k/k!`, for moderate x.
fn kummer(a: f64, b: f64, x: f64) -> f64 {
    let (mut term, mut sum) = (1.0, 1.0);
    for k in 0..200 {
        let k = f64::from(k);
        term *= (a + k) / (b + k) * x / (k + 1.0);
        sum += term;
    }
    sum
}

/// Its derivative by x: `(a/b) M(a+1, b+1, x)`.
fn kummer_slope(a: f64, b: f64, x: f64) -> f64 {
    a / b * kummer(a + 1.0, b + 1.0, x)
}

/// Least λ at one Poisson ratio.
#[derive(Clone, Copy, Debug)]
pub struct Least {
    /// Poisson ratio.
    pub nu: f64,
    /// λ.
    pub lambda: Known,
}

/// Below these a disc moves without a jump.
pub const LEAST: [Least; 3] = [
    Least {
        nu: 0.0,
        lambda: closed(
            "heat/least-nu0",
            "Least λ of a shallow free disc that trips, ν = 0.",
            3.396837195455,
            FLAT,
        ),
    },
    Least {
        nu: 0.3,
        lambda: closed(
            "heat/least-nu0.3",
            "Least λ of a shallow free disc that trips, ν = 0.3.",
            3.541252093586,
            FLAT,
        ),
    },
    Least {
        nu: 1.0 / 3.0,
        lambda: closed(
            "heat/least-nu1-3",
            "Least λ of a shallow free disc that trips, ν = 1/3.",
            3.554609411655,
            FLAT,
        ),
    },
];

/// Edge moment over E h² αΔT of a thin dome of 90° or a long tube, its edge clamped, heated: `1/√(12(1−ν²))`, by the edge
/// layer that undoes the growth αΔT R without turning, as in [`crate::dome::edge_moment_thin_limit`].
pub fn edge_moment_thin_limit(nu: f64) -> f64 {
    1.0 / (12.0 * (1.0 - nu * nu)).sqrt()
}

/// Dome of 90° at ν = 0.3, h/R = 1/100, heated, its edge clamped, linear.
pub const DOME_EDGE: Known = found(
    "heat/dome-edge",
    "Dome of 90°, clamped, heated, linear, ν = 0.3, h/R = 1/100: edge moment over E h² α ΔT.",
    0.30334793,
    5e-9,
    EDGE,
);

/// Every row.
pub fn rows() -> Vec<Known> {
    let mut out: Vec<Known> = LAMINATES.iter().map(|l| l.bends).collect();
    out.extend([GRADIENT_FREE, GRADIENT_CLAMPED]);
    out.extend(BUCKLES.iter().map(|b| b.compression));
    out.push(DOME_EDGE);
    out.extend(LEAST.iter().map(|l| l.lambda));
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layered::bent;

    #[test]
    fn tabulated_laminates() {
        for l in LAMINATES {
            let h: f64 = l.layers.iter().map(|p| p.thickness).sum();
            let bends = bent(&l.layers, l.outline).curvature * h;
            assert!(bends < 0.0, "the warm side is the concave one: the bowl flattens");
            assert!(l.bends.agrees(-bends, 0.0), "{}: {bends}", l.bends.id);
        }
    }

    #[test]
    fn gradients_are_their_closed_forms() {
        assert!(GRADIENT_FREE.agrees(crate::layered::gradient_curvature(1.0, 1.0), 0.0));
        assert!(GRADIENT_CLAMPED.agrees(crate::layered::gradient_moment(1.0, 1.0, 1.0, 0.3), 0.0));
    }

    /// At 90° the edge cannot tell growth by heat from growth by pressure, `(1−ν)pR/2Eh`.
    #[test]
    fn a_heated_dome_is_a_blown_one() {
        let blown = crate::dome::EDGE_MOMENT.value * 2.0 / (1.0 - 0.3);
        assert!((DOME_EDGE.value / blown - 1.0).abs() < 1e-7, "{blown}");
        let thin = crate::dome::edge_moment_thin_limit(0.3) * 2.0 / (1.0 - 0.3);
        assert!((edge_moment_thin_limit(0.3) / thin - 1.0).abs() < 1e-14);
    }

    #[test]
    fn tabulated_buckling() {
        for b in BUCKLES {
            let solved = buckling(b.clamped, b.nu, b.n);
            assert!(b.compression.agrees(solved, 0.0), "{}: {solved}", b.compression.id);
        }
        // Abramowitz & Stegun 1964, table 9.5 (from memory): the first zero of J₁ is 3.83171.
        assert!((buckling(true, 0.0, 0).sqrt() - 3.83171).abs() < 5e-6);
        // The first zero of J₂ is 5.13562 (same table).
        assert!((buckling(true, 0.0, 1).sqrt() - 5.13562).abs() < 5e-6);
        // A hinged plate that cannot tell ν: k J₀ = 0 at ν = 1, the first zero 2.40483 of J₀.
        assert!((buckling(false, 1.0, 0).sqrt() - 2.40483).abs() < 5e-6);
    }

    #[test]
    fn tabulated_least_lambdas() {
        for l in LEAST {
            let solved = least_lambda(l.nu);
            assert!(l.lambda.agrees(solved, 0.0), "{}: {solved}", l.lambda.id);
        }
    }

    /// Closed form: M(a, a, x) = eˣ; its derivative by differences.
    #[test]
    fn kummers_function() {
        assert!((kummer(0.7, 0.7, 2.0) / libm::exp(2.0) - 1.0).abs() < 1e-14);
        let d = (kummer(-0.3, 2.0, 3.001) - kummer(-0.3, 2.0, 2.999)) / 0.002;
        assert!((d / kummer_slope(-0.3, 2.0, 3.0) - 1.0).abs() < 1e-6);
    }
}

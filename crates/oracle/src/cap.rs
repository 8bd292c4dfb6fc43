//! The free spherical cap turned inside out.
//!
//! Energies are in E R³, lengths in R. Deep caps: linear in Biot strain and in the dilation-invariant
//! bending measure, κ_s = φ′ − φ₀′, κ_θ = (sin φ − sin φ₀)/r₀; another measure moves the numbers by
//! a fraction of the order of the strain. Thresholds are folds of the axisymmetric branch.
//!
//! The rows at ν = 0.3 for 10°, 30°, 60°, 90° and at ν = 0.5, the states at 20° (0.005) and 60°, and the
//! shallow row were first found by two other programs to 6–10 digits; collocation here found them
//! again and added digits and rows. The rows added have this one source, so for them the collocation
//! test is a guard, and the finite elements are the second source.

use crate::{Known, Slack, Status};

const SHALLOW_SOURCE: &str = "Reissner 1950, On axisymmetrical deformations of thin shells of revolution; \
    Marguerre 1938 (equations); recomputed by Chebyshev collocation";
const DEEP_SOURCE: &str = "recomputed from the stated equations (Chebyshev collocation, two resolutions)";
const RIPPLE_SOURCE: &str =
    "Marguerre 1938 (equations); recomputed with an independent program, not repeated here";

const fn known(
    id: &'static str,
    what: &'static str,
    value: f64,
    unit: &'static str,
    within: Slack,
    source: &'static str,
) -> Known {
    Known { id, what, value, unit, within, source, status: Status::Recomputed }
}

/// Shallow threshold at one Poisson ratio.
#[derive(Clone, Copy, Debug)]
pub struct ShallowThreshold {
    /// Poisson ratio.
    pub nu: f64,
    /// λ* = [12(1−ν²)]^¼ a/√(Rh).
    pub lambda: Known,
}

const fn shallow(nu: f64, id: &'static str, what: &'static str, value: f64) -> ShallowThreshold {
    ShallowThreshold { nu, lambda: known(id, what, value, "1", Slack::Absolute(5e-10), SHALLOW_SOURCE) }
}

/// Shallow thresholds: below λ* a shallow cap returns.
pub const SHALLOW: [ShallowThreshold; 5] = [
    shallow(-0.5, "shallow/nu-0.5", "Shallow threshold λ* at ν = −0.5.", 4.2780897177),
    shallow(0.0, "shallow/nu0", "Shallow threshold λ* at ν = 0.", 5.0872757217),
    shallow(0.3, "shallow/nu0.3", "Shallow threshold λ* at ν = 0.3.", 5.4914656502),
    shallow(1.0 / 3.0, "shallow/nu1-3", "Shallow threshold λ* at ν = 1/3.", 5.5342767618),
    shallow(0.5, "shallow/nu0.5", "Shallow threshold λ* at ν = 0.5.", 5.7425849144),
];

/// The threshold that is in print, near ν = 0.5.
pub const SHALLOW_PUBLISHED: Known = Known {
    id: "shallow/published",
    what: "Shallow threshold λ* for ν ≈ 0.5 as printed.",
    value: 5.75,
    unit: "1",
    within: Slack::Absolute(0.01),
    source: "Taffetani, Jiang, Holmes & Vella 2018, Static bistability of spherical caps, Proc. R. Soc. A 474, 20170910",
    status: Status::FromMemory,
};

/// Threshold of a cap of any depth.
#[derive(Clone, Copy, Debug)]
pub struct Threshold {
    /// Poisson ratio.
    pub nu: f64,
    /// Half-angle α, degrees.
    pub alpha_deg: f64,
    /// A thickness h/R well below the threshold, from which the branch can be followed.
    pub thin: f64,
    /// Threshold h/R.
    pub h_over_r: Known,
}

const fn deep(
    nu: f64,
    alpha_deg: f64,
    thin: f64,
    id: &'static str,
    what: &'static str,
    value: f64,
) -> Threshold {
    // twelve decimals are printed; the two resolutions agree in all of them
    let h_over_r = known(id, what, value, "1", Slack::Absolute(2e-12), DEEP_SOURCE);
    Threshold { nu, alpha_deg, thin, h_over_r }
}

/// Thresholds h/R. The last at ν = 0.3 lies far outside thin-shell theory; it checks the arithmetic.
pub const THRESHOLDS: [Threshold; 11] = [
    deep(0.3, 10.0, 0.002, "deep/nu0.3-10", "Threshold h/R at ν = 0.3, α = 10°.", 0.003340516722),
    deep(0.3, 20.0, 0.005, "deep/nu0.3-20", "Threshold h/R at ν = 0.3, α = 20°.", 0.013392062086),
    deep(0.3, 30.0, 0.015, "deep/nu0.3-30", "Threshold h/R at ν = 0.3, α = 30°.", 0.030245276749),
    deep(0.3, 45.0, 0.03, "deep/nu0.3-45", "Threshold h/R at ν = 0.3, α = 45°.", 0.068631279079),
    deep(0.3, 60.0, 0.05, "deep/nu0.3-60", "Threshold h/R at ν = 0.3, α = 60°.", 0.123479907272),
    deep(0.3, 90.0, 0.1, "deep/nu0.3-90", "Threshold h/R at ν = 0.3, α = 90°.", 0.287606279406),
    deep(0.3, 120.0, 0.2, "deep/nu0.3-120", "Threshold h/R at ν = 0.3, α = 120°.", 0.536181766210),
    deep(0.5, 20.0, 0.005, "deep/nu0.5-20", "Threshold h/R at ν = 0.5, α = 20°.", 0.011117744131),
    deep(0.5, 60.0, 0.05, "deep/nu0.5-60", "Threshold h/R at ν = 0.5, α = 60°.", 0.102496333289),
    deep(0.0, 60.0, 0.05, "deep/nu0-60", "Threshold h/R at ν = 0, α = 60°.", 0.150798335335),
    deep(-0.5, 45.0, 0.05, "deep/nu-0.5-45", "Threshold h/R at ν = −0.5, α = 45°.", 0.102454651331),
];

const fn fold(id: &'static str, what: &'static str, value: f64, unit: &'static str) -> Known {
    known(id, what, value, unit, Slack::Absolute(6e-8), DEEP_SOURCE)
}

/// Shape at the threshold of ν = 0.3, α = 60°, in this order: height, rim radius, rim slope, lip,
/// rim hoop strain.
pub const FOLD_SHAPE: [Known; 5] = [
    fold(
        "fold/height",
        "At that threshold (ν = 0.3, α = 60°): |pole height − rim height|/R.",
        0.2849777,
        "1",
    ),
    fold("fold/rim-radius", "At that threshold: rim radius/R.", 0.9720021, "1"),
    fold("fold/rim-slope", "At that threshold: rim slope.", 0.1108222, "rad"),
    fold(
        "fold/lip",
        "At that threshold: arc distance from the rim to where the curvature changes sign, /R.",
        0.5557988,
        "1",
    ),
    fold("fold/rim-hoop", "At that threshold: hoop strain at the rim.", 0.1223713, "1"),
];

/// An inverted equilibrium of a cap.
#[derive(Clone, Copy, Debug)]
pub struct State {
    /// Poisson ratio.
    pub nu: f64,
    /// Half-angle α, degrees.
    pub alpha_deg: f64,
    /// Thickness h/R.
    pub h_over_r: f64,
    /// Stretching energy.
    pub stretching: Known,
    /// Bending energy.
    pub bending: Known,
    /// Energy of the saddle between the inverted and the natural state on the axisymmetric path.
    pub saddle: Option<Known>,
    /// Rim slope, rad.
    pub rim_slope: Known,
    /// Lip: arc distance from the rim to where the curvature changes sign.
    pub lip: Known,
    /// |pole height − rim height|.
    pub height: Known,
    /// Rim radius.
    pub rim_radius: Known,
}

const fn energy(id: &'static str, what: &'static str, value: f64) -> Known {
    known(id, what, value, "E R³", Slack::Relative(5e-10), DEEP_SOURCE)
}

const fn shape(id: &'static str, what: &'static str, value: f64) -> Known {
    known(id, what, value, "1", Slack::Absolute(6e-9), DEEP_SOURCE)
}

const fn slope(id: &'static str, what: &'static str, value: f64) -> Known {
    known(id, what, value, "rad", Slack::Absolute(6e-10), DEEP_SOURCE)
}

/// Inverted states at ν = 0.3.
pub const STATES: [State; 4] = [
    State {
        nu: 0.3,
        alpha_deg: 20.0,
        h_over_r: 0.005,
        stretching: energy(
            "state/20-thin-stretching",
            "α = 20°, h/R = 0.005: stretching energy.",
            1.4398667540e-9,
        ),
        bending: energy("state/20-thin-bending", "α = 20°, h/R = 0.005: bending energy.", 1.6043131460e-8),
        saddle: Some(energy(
            "state/20-thin-saddle",
            "α = 20°, h/R = 0.005: energy of the saddle.",
            3.3912624352e-8,
        )),
        rim_slope: slope("state/20-thin-slope", "α = 20°, h/R = 0.005: rim slope.", -0.183161183),
        lip: shape("state/20-thin-lip", "α = 20°, h/R = 0.005: lip/R.", 0.08007521),
        height: shape("state/20-thin-height", "α = 20°, h/R = 0.005: height/R.", 0.05551258),
        rim_radius: shape("state/20-thin-radius", "α = 20°, h/R = 0.005: rim radius/R.", 0.34341766),
    },
    State {
        nu: 0.3,
        alpha_deg: 20.0,
        h_over_r: 0.01,
        stretching: energy("state/20-stretching", "α = 20°, h/R = 0.01: stretching energy.", 1.9857116791e-8),
        bending: energy("state/20-bending", "α = 20°, h/R = 0.01: bending energy.", 9.9147455021e-8),
        saddle: Some(energy(
            "state/20-saddle",
            "α = 20°, h/R = 0.01: energy of the saddle.",
            1.3705895551e-7,
        )),
        rim_slope: slope("state/20-slope", "α = 20°, h/R = 0.01: rim slope.", -0.083969288),
        lip: shape("state/20-lip", "α = 20°, h/R = 0.01: lip/R.", 0.13021383),
        height: shape("state/20-height", "α = 20°, h/R = 0.01: height/R.", 0.04809353),
        rim_radius: shape("state/20-radius", "α = 20°, h/R = 0.01: rim radius/R.", 0.34491045),
    },
    State {
        nu: 0.3,
        alpha_deg: 60.0,
        h_over_r: 0.05,
        stretching: energy("state/60-stretching", "α = 60°, h/R = 0.05: stretching energy.", 1.1756439617e-5),
        bending: energy("state/60-bending", "α = 60°, h/R = 0.05: bending energy.", 1.3475168109e-4),
        saddle: Some(energy(
            "state/60-saddle",
            "α = 60°, h/R = 0.05: energy of the saddle.",
            2.6637598746e-4,
        )),
        rim_slope: slope("state/60-slope", "α = 60°, h/R = 0.05: rim slope.", -0.529423507),
        lip: shape("state/60-lip", "α = 60°, h/R = 0.05: lip/R.", 0.24906636),
        height: shape("state/60-height", "α = 60°, h/R = 0.05: height/R.", 0.46822740),
        rim_radius: shape("state/60-radius", "α = 60°, h/R = 0.05: rim radius/R.", 0.90215445),
    },
    State {
        nu: 0.3,
        alpha_deg: 90.0,
        h_over_r: 0.01,
        stretching: energy("state/90-stretching", "α = 90°, h/R = 0.01: stretching energy.", 3.8575684505e-8),
        bending: energy("state/90-bending", "α = 90°, h/R = 0.01: bending energy.", 2.8011245471e-6),
        saddle: None,
        rim_slope: slope("state/90-slope", "α = 90°, h/R = 0.01: rim slope.", -1.367001093),
        lip: shape("state/90-lip", "α = 90°, h/R = 0.01: lip/R.", 0.09497878),
        height: shape("state/90-height", "α = 90°, h/R = 0.01: height/R.", 0.99938982),
        rim_radius: shape("state/90-radius", "α = 90°, h/R = 0.01: rim radius/R.", 1.00792462),
    },
];

/// Every row of [`STATES`].
pub fn state_rows() -> Vec<Known> {
    let row = |s: &State| {
        let always = [s.stretching, s.bending, s.rim_slope, s.lip, s.height, s.rim_radius];
        always.into_iter().chain(s.saddle).collect::<Vec<_>>()
    };
    STATES.iter().flat_map(row).collect()
}

/// Softest ripple of the inverted shallow cap.
#[derive(Clone, Copy, Debug)]
pub struct ShallowRipple {
    /// Poisson ratio.
    pub nu: f64,
    /// λ.
    pub lambda: f64,
    /// Circumferential wave number.
    pub n: u32,
    /// Smallest elastic Ω², Ω = ω a² √(ρh/D), in-plane inertia left out; rigid motions left out.
    pub omega_squared: Known,
}

const fn ripple(n: u32, id: &'static str, what: &'static str, value: f64) -> ShallowRipple {
    let omega_squared = known(id, what, value, "1", Slack::Relative(4.4e-6), RIPPLE_SOURCE);
    ShallowRipple { nu: 0.3, lambda: 8.0, n, omega_squared }
}

/// Inverted shallow cap, λ = 8, ν = 0.3.
pub const RIPPLES: [ShallowRipple; 5] = [
    ripple(0, "ripple/0", "Inverted shallow cap, λ = 8, ν = 0.3, n = 0: Ω².", 2773.09),
    ripple(1, "ripple/1", "Inverted shallow cap, λ = 8, ν = 0.3, n = 1: Ω².", 3235.31),
    ripple(2, "ripple/2", "Inverted shallow cap, λ = 8, ν = 0.3, n = 2: Ω².", 116.744),
    ripple(3, "ripple/3", "Inverted shallow cap, λ = 8, ν = 0.3, n = 3: Ω².", 456.194),
    ripple(4, "ripple/4", "Inverted shallow cap, λ = 8, ν = 0.3, n = 4: Ω².", 1146.59),
];

/// Frequency of a free shallow cap about its natural state.
#[derive(Clone, Copy, Debug)]
pub struct ShallowMode {
    /// Poisson ratio.
    pub nu: f64,
    /// λ.
    pub lambda: f64,
    /// Circumferential wave number.
    pub n: u32,
    /// Ω.
    pub omega: Known,
}

/// Natural state, λ = 4, ν = 0.3. For n = 0 see also [`natural_axisymmetric`].
pub const NATURAL: [ShallowMode; 2] = [
    ShallowMode {
        nu: 0.3,
        lambda: 4.0,
        n: 0,
        omega: known(
            "natural/0",
            "Natural free shallow cap, λ = 4, ν = 0.3, n = 0: Ω.",
            18.359,
            "1",
            Slack::Absolute(5e-4),
            RIPPLE_SOURCE,
        ),
    },
    ShallowMode {
        nu: 0.3,
        lambda: 4.0,
        n: 2,
        omega: known(
            "natural/2",
            "Natural free shallow cap, λ = 4, ν = 0.3, n = 2: Ω.",
            5.4003,
            "1",
            Slack::Absolute(5e-5),
            RIPPLE_SOURCE,
        ),
    },
];

/// Ω of the axisymmetric modes of a natural free shallow cap from those of the flat plate:
/// `Ω² = Ω_plate² + λ⁴`.
///
/// Closed form. `D∇⁴w + ∇²F/R = ρhω²w`, `∇⁴F = (Eh/R)∇²w`; for n = 0 the second gives
/// `∇²F = (Eh/R)(w + c)`. No force at the rim makes `∫(w + c) = 0`; vertical balance of the whole makes
/// `∫w = 0`, so c = 0 and w obeys the plate equation with `ρhω² − Eh/R²` in the place of `ρhω²`.
pub fn natural_axisymmetric(plate_omega: f64, lambda: f64) -> f64 {
    let l2 = lambda * lambda;
    (plate_omega * plate_omega + l2 * l2).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plate::{Edge, frequency};

    #[test]
    fn natural_cap_agrees_with_its_closed_form() {
        let row = NATURAL[0];
        let omega = natural_axisymmetric(frequency(Edge::Free, 0, row.nu, 0).unwrap(), row.lambda);
        println!("natural/0: closed form {omega:.9}, {:.1} digits", row.omega.digits(omega));
        assert!(row.omega.agrees(omega, 0.0), "{omega}");
    }

    /// The printed threshold belongs to the recomputed one.
    #[test]
    fn published_threshold_is_near() {
        assert!(SHALLOW_PUBLISHED.agrees(SHALLOW[4].lambda.value, 0.0));
    }

    /// h/R at small angle tends to the shallow law, λ*² = √(12(1−ν²)) α²/(h/R), from above and like α².
    #[test]
    fn deep_thresholds_tend_to_the_shallow_one() {
        let lambda = |t: &Threshold| {
            let alpha = t.alpha_deg.to_radians();
            libm::pow(12.0 * (1.0 - t.nu * t.nu), 0.25) * alpha / t.h_over_r.value.sqrt()
        };
        let off = |t: &Threshold| lambda(t) / SHALLOW[2].lambda.value - 1.0;
        let (ten, twenty) = (off(&THRESHOLDS[0]), off(&THRESHOLDS[1]));
        assert!(ten.abs() < 2e-3, "{ten}");
        assert!((twenty / ten - 4.0).abs() < 0.1, "{}", twenty / ten);
    }
}

//! Complete sphere, free vibration about the natural state: closed forms for every degree l.
//!
//! With u = U∇Y + T n×∇Y, w = WY, Y a surface harmonic of degree l, κ = l(l+1), R = 1, the strain is
//! sym∇u + w g and the bending measure of the dilation-invariant kind is sym∇(u − ∇w) (the normal turns
//! by u − ∇w). Using ∫|∇∇Y|² = κ(κ−1)∫Y² and ∫|sym∇(n×∇Y)|² = ½κ(κ−2)∫Y², the second variation is
//! `½C [U√κ, W] K [U√κ, W]ᵀ` with b = h²/12 and
//!
//! ```text
//! K = | (κ−1+ν)(1+b)            −√κ[(1+ν) + b(κ−1+ν)] |
//!     | −√κ[(1+ν) + b(κ−1+ν)]   2(1+ν) + bκ(κ−1+ν)    |
//! ```
//!
//! and `½C (1−ν)/2 (κ−2)(1+b) κT²`; the mass is ρh (κU² + κT² + W²), rotary inertia left out.
//! Frequencies are given as x = ω²ρR²(1−ν²)/E. For b = 0 the first is the membrane formula of Lamb 1882
//! ("On the vibrations of a spherical shell", Proc. London Math. Soc.) and Baker 1961 ("Axisymmetric
//! modes of vibration of thin spherical shell", J. Acoust. Soc. Am. 33, 1749), quoted from memory; the
//! form with bending is derived here.

/// Which family of modes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Branch {
    /// Mostly bending or the lower stretching one; rigid translation at l = 1. None at l = 0.
    Lower,
    /// Mostly breathing and stretching.
    Upper,
    /// Torsional (no normal displacement); rigid rotation at l = 1. None at l = 0.
    Torsional,
}

/// x = ω²ρR²(1−ν²)/E of degree l at thickness h/R; `None` for a branch that degree 0 does not have.
/// The same for each wave number n ≤ l.
pub fn frequency_squared(branch: Branch, degree: u32, nu: f64, h_over_r: f64) -> Option<f64> {
    let b = h_over_r * h_over_r / 12.0;
    let kappa = f64::from(degree) * f64::from(degree + 1);
    if degree == 0 {
        return (branch == Branch::Upper).then_some(2.0 * (1.0 + nu));
    }
    if branch == Branch::Torsional {
        return Some(0.5 * (1.0 - nu) * (kappa - 2.0) * (1.0 + b));
    }
    let c = kappa - 1.0 + nu;
    let k11 = c * (1.0 + b);
    let k22 = 2.0 * (1.0 + nu) + b * kappa * c;
    let k12_squared = kappa * ((1.0 + nu) + b * c) * ((1.0 + nu) + b * c);
    let half = 0.5 * (k11 + k22);
    let upper = half + (0.25 * (k11 - k22) * (k11 - k22) + k12_squared).sqrt();
    // det K factors; dividing it by the upper root keeps every digit of the lower one.
    let det = (kappa - 2.0) * ((1.0 - nu * nu) * (1.0 + b) + b * kappa * (kappa - 2.0));
    match branch {
        Branch::Lower => Some(det / upper),
        Branch::Upper => Some(upper),
        Branch::Torsional => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form: breathing ω² = 2E/(ρR²(1−ν)), rigid motions of degree 1, and the swinging mode of
    /// degree 1 with x = 3(1+ν)(1+b).
    #[test]
    fn modes_known_by_hand() {
        let (nu, h) = (0.3, 0.05);
        let x = |branch, l| frequency_squared(branch, l, nu, h);
        assert_eq!(x(Branch::Upper, 0), Some(2.0 * (1.0 + nu)));
        assert_eq!((x(Branch::Lower, 0), x(Branch::Torsional, 0)), (None, None));
        assert_eq!((x(Branch::Lower, 1), x(Branch::Torsional, 1)), (Some(0.0), Some(0.0)));
        let swing = 3.0 * (1.0 + nu) * (1.0 + h * h / 12.0);
        assert!((x(Branch::Upper, 1).unwrap() / swing - 1.0).abs() < 1e-14);
    }

    /// Both roots against trace and determinant of K written out once more, and the membrane limit
    /// against the quadratic of Baker 1961 (from memory).
    #[test]
    fn roots_solve_their_quadratics() {
        for (nu, h) in [(0.3, 0.0), (0.3, 0.1), (-0.4, 0.02), (0.5, 0.01)] {
            let b: f64 = h * h / 12.0;
            for l in 1..=12_u32 {
                let kappa = f64::from(l * (l + 1));
                let low = frequency_squared(Branch::Lower, l, nu, h).unwrap();
                let high = frequency_squared(Branch::Upper, l, nu, h).unwrap();
                let c = kappa - 1.0 + nu;
                let (k11, k22) = (c * (1.0 + b), 2.0 * (1.0 + nu) + b * kappa * c);
                let k12 = -kappa.sqrt() * (1.0 + nu + b * c);
                assert!(((low + high) / (k11 + k22) - 1.0).abs() < 1e-13);
                assert!((low * high - (k11 * k22 - k12 * k12)).abs() < 1e-12 * k11 * k22);
                if h == 0.0 {
                    let baker =
                        |x: f64| x * x - (1.0 + 3.0 * nu + kappa) * x + (1.0 - nu * nu) * (kappa - 2.0);
                    assert!(baker(low).abs() < 1e-10 * kappa && baker(high).abs() < 1e-12 * kappa * kappa);
                }
            }
        }
    }

    /// Closed form: at high degree the lower branch is a wave on a plate on an elastic bed,
    /// x → (1−ν²) + bκ², Johnson & Reissner's correction for shallow shells (from memory).
    #[test]
    fn short_waves_are_plate_waves_on_a_bed() {
        let (nu, h, l) = (0.3, 0.001, 200_u32);
        let kappa = f64::from(l * (l + 1));
        let bed = (1.0 - nu * nu) + h * h / 12.0 * kappa * kappa;
        let x = frequency_squared(Branch::Lower, l, nu, h).unwrap();
        assert!((x / bed - 1.0).abs() < 1e-3, "{}", x / bed);
    }
}

//! Natural frequencies and buckling pressures that formulae give: spheres, shallow caps, narrow rings.

use crate::sphere::{Branch, frequency_squared};
use crate::{Known, Slack, Status};

/// One family of a complete sphere of h/R = 1/100, ν = 0.3.
#[derive(Clone, Copy, Debug)]
pub struct SphereMode {
    /// Family.
    pub branch: Branch,
    /// Degree l; there for every n up to it.
    pub degree: u32,
    /// Key.
    pub id: &'static str,
    what: &'static str,
}

impl SphereMode {
    /// ω²ρR²/E.
    pub fn omega_squared(&self) -> Known {
        let x = frequency_squared(self.branch, self.degree, NU, THICKNESS).unwrap_or(f64::NAN);
        Known {
            id: self.id,
            what: self.what,
            value: x / (1.0 - NU * NU),
            unit: "1",
            within: Slack::Relative(1e-12),
            source: "Lamb 1882, Proc. London Math. Soc. 14, 50 (membrane part, from memory); bending by the energy of this program, closed form",
            status: Status::ClosedForm,
        }
    }
}

/// Poisson ratio of every row.
pub const NU: f64 = 0.3;
/// h/R of the spheres.
pub const THICKNESS: f64 = 0.01;

const fn sphere(branch: Branch, degree: u32, id: &'static str, what: &'static str) -> SphereMode {
    SphereMode { branch, degree, id, what }
}

/// Modes of the complete sphere.
pub const SPHERE: [SphereMode; 5] = [
    sphere(
        Branch::Lower,
        2,
        "sphere/lower-2",
        "Complete sphere, h/R = 0.01, lower branch, degree 2: ω²ρR²/E.",
    ),
    sphere(Branch::Lower, 4, "sphere/lower-4", "The same, degree 4."),
    sphere(Branch::Lower, 12, "sphere/lower-12", "The same, degree 12."),
    sphere(Branch::Torsional, 2, "sphere/torsion-2", "The same, torsional, degree 2."),
    sphere(Branch::Upper, 0, "sphere/breathing", "The same, breathing."),
];

/// A shallow free cap: what curvature adds to ω² of the round modes of a free plate.
pub const SHIFT: Known = Known {
    id: "cap/shift",
    what: "Shallow free cap, n = 0: ω² less that of the flat plate, over E/(ρR²).",
    value: 1.0,
    unit: "1",
    within: Slack::Relative(1e-9),
    source: "Johnson & Reissner 1958, On transverse vibrations of shallow spherical shells, Q. Appl. Math. 15, 367 (from memory); closed form",
    status: Status::ClosedForm,
};

/// A narrow ring bending in its plane, n = 2: ω²ρR⁴·12/(E h²).
pub const NARROW: Known = Known {
    id: "ring/narrow-2",
    what: "Narrow ring bending in its plane, n = 2: ω²·12ρR⁴/(Eh²) = n²(n²−1)²/(n²+1).",
    value: 7.2,
    unit: "1",
    within: Slack::Relative(1e-9),
    source: "Hoppe 1871; Love 1927, Treatise on Elasticity, art. 293 (from memory); closed form",
    status: Status::ClosedForm,
};

/// A thin complete sphere under pressure from outside: short waves.
pub const SHORT_WAVES: Known = Known {
    id: "sphere/pressure-short",
    what: "Complete sphere, ν = 0.3, h/R → 0: pressure at which degree l with l(l+1) = 2√(12(1−ν²)) R/h is lost, q/q₀ = (2 + ½)/2.",
    value: 1.25,
    unit: "1",
    within: Slack::Relative(1e-9),
    source: "Zoelly 1915; Hutchinson 1967, Imperfection sensitivity of externally pressurized spherical shells, J. Appl. Mech. 34, 49 (from memory); closed form for shallow waves",
    status: Status::ClosedForm,
};

/// Every row.
pub fn rows() -> Vec<Known> {
    SPHERE.iter().map(SphereMode::omega_squared).chain([SHIFT, NARROW, SHORT_WAVES]).collect()
}

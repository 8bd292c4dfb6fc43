//! Edge of a clamped dome under pressure, and the ridge of a mirror dimple.

use crate::{Known, Slack, Status};

/// M_edge/(p R h) of a thin deep dome clamped at its edge, pressure p, linear:
/// `(1−ν)/(4√(3(1−ν²)))`.
///
/// The membrane state grows the sphere radius by `w₀ = (1−ν) p R²/2Eh`; an edge layer that undoes it without
/// turning needs `M = 2β²D w₀` with `β⁴ = 3(1−ν²)/(R²h²)` (closed form; edge layer as in
/// Timoshenko & Woinowsky-Krieger 1959, "Theory of Plates and Shells", from memory). It does not
/// depend on the half-angle.
pub fn edge_moment_thin_limit(nu: f64) -> f64 {
    (1.0 - nu) / (4.0 * (3.0 * (1.0 - nu * nu)).sqrt())
}

/// Smallest critical pressure of a complete thin sphere over E: `2(h/R)²/√(3(1−ν²))`
/// (Zoelly 1915, dissertation "Ueber ein Knickungsproblem an der Kugelschale").
pub fn sphere_critical_pressure(nu: f64, h_over_r: f64) -> f64 {
    2.0 * h_over_r * h_over_r / (3.0 * (1.0 - nu * nu)).sqrt()
}

/// Stiffness of a thin spherical shell to a point force over E R: `8√(EhD)/R` with E = R = 1
/// (Reissner 1946, "Stresses and small displacements of shallow spherical shells II").
pub fn apex_stiffness(nu: f64, h_over_r: f64) -> f64 {
    let d = h_over_r * h_over_r * h_over_r / (12.0 * (1.0 - nu * nu));
    8.0 * (h_over_r * d).sqrt()
}

/// Clamped dome of 90° at ν = 0.3, h/R = 1/100: linear edge moment.
pub const EDGE_MOMENT: Known = Known {
    id: "dome/edge-moment",
    what: "Dome of 90°, clamped, pressure p, linear, ν = 0.3, h/R = 1/100: M_edge/(p R h).",
    value: 0.10617178,
    unit: "1",
    within: Slack::Absolute(5e-9),
    source: "recomputed from the small-displacement form of the stated equations (Chebyshev collocation)",
    status: Status::Recomputed,
};

/// Ridge of a mirror dimple.
pub const RIDGE_ENERGY: Known = Known {
    id: "ridge/energy",
    what: "Mirror dimple of depth w in a thin sphere: energy over (1−ν²)^(−3/4) E h^(5/2) w^(3/2)/R.",
    value: 1.08329420,
    unit: "1",
    within: Slack::Absolute(5e-9),
    source: "Pogorelov 1988, Bendings of Surfaces and Stability of Shells (equations; exact minimiser recomputed)",
    status: Status::Recomputed,
};

/// Force on the same dimple: 3/2 of the energy coefficient.
pub const RIDGE_FORCE: Known = Known {
    id: "ridge/force",
    what: "Mirror dimple of depth w in a thin sphere: force over (1−ν²)^(−3/4) E h^(5/2) w^(1/2)/R.",
    value: 1.62494130,
    unit: "1",
    within: Slack::Absolute(1e-8),
    source: "derivative of the energy by depth: 3/2 of ridge/energy",
    status: Status::Recomputed,
};

/// All of them.
pub const TABLE: [Known; 3] = [EDGE_MOMENT, RIDGE_ENERGY, RIDGE_FORCE];

#[cfg(test)]
mod tests {
    use super::*;

    /// The dome of h/R = 1/100 is within its h/R of the thin limit, and not on it.
    #[test]
    fn dome_is_near_its_thin_limit() {
        let ratio = EDGE_MOMENT.value / edge_moment_thin_limit(0.3);
        assert!((ratio - 1.0).abs() < 0.01 && (ratio - 1.0).abs() > 1e-4, "{ratio}");
    }

    #[test]
    fn force_is_the_derivative_of_energy() {
        assert!(RIDGE_FORCE.agrees(1.5 * RIDGE_ENERGY.value, 0.0));
    }

    /// By hand at E = R = 1: 8√(hD) with D = h³/12(1−ν²) is 4h²/√(3(1−ν²)), twice q₀.
    #[test]
    fn apex_stiffness_is_twice_the_pressure_scale() {
        for (nu, h) in [(0.0, 0.01), (0.3, 0.02), (0.5, 0.001)] {
            let ratio = apex_stiffness(nu, h) / sphere_critical_pressure(nu, h);
            assert!((ratio - 2.0).abs() < 1e-14, "{ratio}");
        }
    }
}

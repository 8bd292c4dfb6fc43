//! Caps under a force on the pole.

use crate::{Known, Slack, Status};

/// Free-to-slide rim, shallow: source of the rows of [`SHALLOW`].
const SHALLOW_SOURCE: &str =
    "recomputed (Chebyshev collocation) from the shallow-shell equations of Reissner 1946 / Marguerre 1938";
const EXACT_SOURCE: &str = "recomputed from the stated equations (Chebyshev collocation)";

const fn known(id: &'static str, what: &'static str, value: f64, digit: f64, source: &'static str) -> Known {
    Known { id, what, value, unit: "1", within: Slack::Absolute(digit), source, status: Status::Recomputed }
}

/// Path of a shallow cap on a frictionless ring: force `p = PR/2πD` against travel `W = w/H`.
#[derive(Clone, Copy, Debug)]
pub struct SlidingCap {
    /// λ.
    pub lambda: f64,
    /// p at W = 0.5, when tabulated.
    pub at_half: Option<Known>,
    /// First limit, then second: (W, p).
    pub limits: [[Known; 2]; 2],
}

/// ν = 0.3.
pub const SLIDING: [SlidingCap; 2] = [
    SlidingCap {
        lambda: 4.0,
        at_half: Some(known(
            "push/4-half",
            "Sliding cap, λ = 4: p at W = 0.5.",
            1.6227755,
            5e-8,
            SHALLOW_SOURCE,
        )),
        limits: [
            [
                known(
                    "push/4-first-w",
                    "Sliding cap, λ = 4: W at the first limit.",
                    0.722344,
                    5e-7,
                    SHALLOW_SOURCE,
                ),
                known(
                    "push/4-first-p",
                    "Sliding cap, λ = 4: p at the first limit.",
                    1.7402593,
                    5e-8,
                    SHALLOW_SOURCE,
                ),
            ],
            [
                known(
                    "push/4-second-w",
                    "Sliding cap, λ = 4: W at the second limit.",
                    1.268610,
                    5e-7,
                    SHALLOW_SOURCE,
                ),
                known(
                    "push/4-second-p",
                    "Sliding cap, λ = 4: p at the second limit.",
                    1.5386979,
                    5e-8,
                    SHALLOW_SOURCE,
                ),
            ],
        ],
    },
    SlidingCap {
        lambda: 6.0,
        at_half: None,
        limits: [
            [
                known(
                    "push/6-first-w",
                    "Sliding cap, λ = 6: W at the first limit.",
                    0.693756,
                    5e-7,
                    SHALLOW_SOURCE,
                ),
                known(
                    "push/6-first-p",
                    "Sliding cap, λ = 6: p at the first limit.",
                    3.5459727,
                    5e-8,
                    SHALLOW_SOURCE,
                ),
            ],
            [
                known(
                    "push/6-second-w",
                    "Sliding cap, λ = 6: W at the second limit.",
                    1.551871,
                    5e-7,
                    SHALLOW_SOURCE,
                ),
                known(
                    "push/6-second-p",
                    "Sliding cap, λ = 6: p at the second limit.",
                    -1.0137903,
                    5e-8,
                    SHALLOW_SOURCE,
                ),
            ],
        ],
    },
];

/// Exact cap on a frictionless table, α = 45°, h/R = 0.05, ν = 0.3: PR/Eh³ at w/H = 0.5.
pub const EXACT_AT_HALF: Known = known(
    "push/exact-half",
    "Cap of 45°, h/R = 0.05 on a table: PR/Eh³ at w/H = 0.5.",
    2.135683,
    5e-7,
    EXACT_SOURCE,
);

/// The same cap: (w/H, PR/Eh³) at the first and the second limit.
pub const EXACT_LIMITS: [[Known; 2]; 2] = [
    [
        known("push/exact-first-w", "Same cap: w/H at the first limit.", 0.78943, 5e-6, EXACT_SOURCE),
        known("push/exact-first-p", "Same cap: PR/Eh³ at the first limit.", 2.358584, 5e-7, EXACT_SOURCE),
    ],
    [
        known("push/exact-second-w", "Same cap: w/H at the second limit.", 1.56764, 5e-6, EXACT_SOURCE),
        known("push/exact-second-p", "Same cap: PR/Eh³ at the second limit.", -1.237827, 5e-7, EXACT_SOURCE),
    ],
];

/// Clamped shallow cap, λ = 10, ν = 1/3: apex stiffness over Reissner's 8√(EhD)/R. The linear shallow equations
/// have the solution `w = A ber x + B bei x − (4/π) kei x − c`, x = λ r/a, with `w = w′ = ε_θ = 0` at the edge;
/// evaluated with a library's Kelvin functions. (A list of known answers at hand prints 1.0206: cut, not rounded.)
pub const CLAMPED_STIFFNESS: Known = Known {
    id: "push/clamped-stiffness",
    what: "Clamped shallow cap, λ = 10, ν = 1/3: apex stiffness over 8√(EhD)/R.",
    value: 1.020663559,
    unit: "1",
    within: Slack::Absolute(5e-10),
    source: "Reissner 1946, Stresses and small displacements of shallow spherical shells (equations); Kelvin-function solution evaluated with SciPy",
    status: Status::ClosedForm,
};

/// All rows in order.
pub fn rows() -> Vec<Known> {
    let mut out = Vec::new();
    for s in SLIDING {
        out.extend(s.at_half);
        out.extend(s.limits.into_iter().flatten());
    }
    out.push(EXACT_AT_HALF);
    out.extend(EXACT_LIMITS.into_iter().flatten());
    out.push(CLAMPED_STIFFNESS);
    out
}

//! Caps that are let go: how long a snap takes, how long a relaxed cap rests, how motion slows near the threshold.
//!
//! Times of elastic caps are in R √(ρ/E). A relaxing cap loses the share g of all its moduli in the time τ at constant Poisson
//! ratio; it is held as its mirror image, from a relaxed natural state.

use crate::{Known, Slack, Status};

const HALF_WAY_SOURCE: &str = "recomputed from the stated equations: finite elements and an implicit Runge–Kutta method of \
    SciPy; five digits also by Chebyshev collocation, not repeated here";
const WAIT_SOURCE: &str = "recomputed from the stated equations (Chebyshev collocation, stepped along the creep), not repeated \
    here";
const SHALLOW_SOURCE: &str = "Marguerre 1938 (equations; inertia in the plane left out); recomputed by Chebyshev collocation, \
    not repeated here";
const RELAXED_SOURCE: &str = "Marguerre 1938 (equations; unstressed curvature of the mirror image's memory); recomputed by \
    Chebyshev collocation";

const fn known(
    id: &'static str,
    what: &'static str,
    value: f64,
    unit: &'static str,
    slack: f64,
    source: &'static str,
) -> Known {
    Known { id, what, value, unit, within: Slack::Absolute(slack), source, status: Status::Recomputed }
}

/// A free cap of 45°, ν = 0.3, that starts at rest in the shape of its fold with a wall thicker by a share.
#[derive(Clone, Copy, Debug)]
pub struct HalfWay {
    /// h/h* − 1.
    pub distance: f64,
    /// When pole and rim are at one height.
    pub time: Known,
}

/// Half-way times.
pub const HALF_WAY: [HalfWay; 3] = [
    HalfWay {
        distance: 1e-3,
        time: known(
            "snap/0.1",
            "Cap of 45°, ν = 0.3, h = 1.001 h*: half-way time.",
            28.639846,
            "R √(ρ/E)",
            5e-7,
            HALF_WAY_SOURCE,
        ),
    },
    HalfWay {
        distance: 1e-2,
        time: known(
            "snap/1",
            "Cap of 45°, ν = 0.3, h = 1.01 h*: half-way time.",
            14.588825,
            "R √(ρ/E)",
            5e-7,
            HALF_WAY_SOURCE,
        ),
    },
    HalfWay {
        distance: 5e-2,
        time: known(
            "snap/5",
            "Cap of 45°, ν = 0.3, h = 1.05 h*: half-way time.",
            8.4154977,
            "R √(ρ/E)",
            5e-8,
            HALF_WAY_SOURCE,
        ),
    },
];

/// A free cap of 45°, ν = 0.5, g = 0.2.
#[derive(Clone, Copy, Debug)]
pub struct Wait {
    /// h/h* − 1.
    pub distance: f64,
    /// How long it was held, in τ.
    pub hold: f64,
    /// How long it rests, in τ.
    pub time: Known,
}

const fn wait(distance: f64, hold: f64, id: &'static str, what: &'static str, value: f64) -> Wait {
    Wait { distance, hold, time: known(id, what, value, "τ", 5e-9, WAIT_SOURCE) }
}

/// Waits without inertia.
pub const WAITS: [Wait; 4] = [
    wait(
        0.01,
        0.5,
        "wait/1-0.5",
        "Cap of 45°, ν = 0.5, h = 1.01 h*, g = 0.2, held for 0.5 τ: wait.",
        7.71731443,
    ),
    wait(0.01, 5.0, "wait/1-5", "Same cap held for 5 τ: wait.", 9.19169133),
    wait(
        0.05,
        0.5,
        "wait/5-0.5",
        "Cap of 45°, ν = 0.5, h = 1.05 h*, g = 0.2, held for 0.5 τ: wait.",
        1.94810120,
    ),
    wait(0.05, 5.0, "wait/5-5", "Same cap held for 5 τ: wait.", 3.56785395),
];

/// A shallow cap held as its mirror image until all that relaxes has relaxed.
#[derive(Clone, Copy, Debug)]
pub struct Relaxed {
    /// Share of the moduli lost.
    pub loss: f64,
    /// Least λ at which it rests when it is let go, ν = 0.3.
    pub lambda: Known,
}

/// Thresholds after a full relaxation.
pub const RELAXED: [Relaxed; 2] = [
    Relaxed {
        loss: 0.1,
        lambda: known(
            "relaxed/0.1",
            "Shallow cap, ν = 0.3, a tenth of its moduli relaxed: least λ that rests.",
            5.1256424376,
            "1",
            5e-10,
            RELAXED_SOURCE,
        ),
    },
    Relaxed {
        loss: 0.3,
        lambda: known(
            "relaxed/0.3",
            "Shallow cap, ν = 0.3, three tenths of its moduli relaxed: least λ that rests.",
            4.4609714329,
            "1",
            5e-10,
            RELAXED_SOURCE,
        ),
    },
];

/// Lowest Ω over (λ − λ*)^¼ of the inverted shallow cap as λ falls to λ*, ν = 0.3.
pub const SLOW_FREQUENCY: Known = known(
    "slow/frequency",
    "Shallow inverted cap, ν = 0.3: lowest Ω over (λ − λ*)^¼ at the threshold.",
    19.46679,
    "1",
    1e-5,
    SHALLOW_SOURCE,
);

/// Inertial passage of a saddle-node from rest, `ẍ = μ + x²`, times μ^¼: `∫₀^∞ dx/√(2(x + x³/3))`.
pub const PASSAGE: Known = Known {
    id: "passage/inertial",
    what: "Saddle-node just passed, ẍ = μ + x² from rest at 0: time to infinity times μ^¼.",
    value: 3.45082,
    unit: "1",
    within: Slack::Absolute(5e-6),
    source: "energy integral, by quadrature",
    status: Status::ClosedForm,
};

/// Overdamped passage, `ẋ = μ + x²`, times √μ: π.
pub const DAMPED_PASSAGE: Known = Known {
    id: "passage/damped",
    what: "Saddle-node just passed, ẋ = μ + x² from −∞: time to infinity times √μ.",
    value: std::f64::consts::PI,
    unit: "1",
    within: Slack::Relative(1e-12),
    source: "Strogatz 1994, Nonlinear Dynamics and Chaos, section 4.3",
    status: Status::ClosedForm,
};

/// Elastic delay over (λ* − λ)^{−¼} a² √(ρh/D) as λ rises to λ*: `√2 · passage / frequency`, see the test.
pub const SLOW_DELAY: Known = Known {
    id: "slow/delay",
    what: "Shallow cap just beyond its threshold, ν = 0.3: delay over (λ* − λ)^(−¼) a² √(ρh/D).",
    value: 0.250693,
    unit: "1",
    within: Slack::Absolute(5e-7),
    source: "√2 · passage/inertial over slow/frequency (normal form of a fold)",
    status: Status::ClosedForm,
};

/// Every row.
pub fn rows() -> Vec<Known> {
    let mut out: Vec<Known> = HALF_WAY.iter().map(|r| r.time).collect();
    out.extend(WAITS.iter().map(|r| r.time));
    out.extend(RELAXED.iter().map(|r| r.lambda));
    out.extend([PASSAGE, DAMPED_PASSAGE, SLOW_FREQUENCY, SLOW_DELAY]);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form: a stable state of `ẍ = −(μ' δ) + β x²` at −√(μ'δ/β) rings with `ω⁴ = 4 μ'β δ`; beyond the fold the passage
    /// takes `3.45082 (μ'β δ)^{−1/4} = 3.45082 √2/ω`.
    #[test]
    fn delay_and_frequency_belong_together() {
        let made = 2.0_f64.sqrt() * PASSAGE.value / SLOW_FREQUENCY.value;
        assert!((made / SLOW_DELAY.value - 1.0).abs() < 2e-6, "{made}");
    }
}

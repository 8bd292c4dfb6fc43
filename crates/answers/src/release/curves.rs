//! Answers about many releases, as data: wait against hold, spread of the wait, slowing down near the threshold.

use serde::Serialize;

/// Wait against hold time.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct WaitCurve {
    /// Points, hold time rising.
    pub points: Vec<WaitPoint>,
    /// Shortest hold after which the part rests a while in equilibrium; `None` when none in the range does, or all do.
    pub shortest_hold_s: Option<f64>,
    /// What was found, in sentences.
    pub words: Vec<String>,
}

/// One hold.
#[derive(Clone, Copy, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct WaitPoint {
    /// How long it was held.
    pub hold_s: f64,
    /// How long it waits; infinite waits are `None` with `stays`; `None` with `rests` alone where no end was found or the
    /// part gives way sideways.
    pub wait_s: Option<f64>,
    /// Whether it rests in equilibrium first (else only inertia delays it).
    pub rests: bool,
    /// Whether it stays for ever.
    pub stays: bool,
}

/// Spread of the wait from tolerances and scatter.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct WaitSpread {
    /// Parts drawn.
    pub drawn: usize,
    /// Share that stays for ever.
    pub stay: f64,
    /// Share that rests a while and returns.
    pub wait: f64,
    /// Share that returns without resting.
    pub at_once: f64,
    /// Share for which no answer was found.
    pub unknown: f64,
    /// Quantiles of the wait over all answered draws, those that stay counted as longer than any: share and wait
    /// (`None`: stays).
    pub quantiles: Vec<Quantile>,
    /// Every draw's wait, s, in order of drawing; infinite for those that stay, NaN for unknown ones.
    #[serde(skip)]
    pub waits: Vec<f64>,
    /// Effect of each input, the largest share first.
    pub sensitivities: Vec<WaitSensitivity>,
    /// Why it spreads so, in sentences.
    pub words: Vec<String>,
}

/// A quantile.
#[derive(Clone, Copy, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Quantile {
    /// Share of draws at or below it.
    pub share: f64,
    /// Wait; `None` when the draw at this share stays.
    pub wait_s: Option<f64>,
}

/// Effect of one input on the wait.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct WaitSensitivity {
    /// Key in the case file.
    pub input: String,
    /// d ln(wait) / d ln(input); `None` when the wait has no slope there (an end stays or does not rest) or the input is 0.
    pub relative_slope: Option<f64>,
    /// Wait with the input at the lower end of its tolerance, all else as given; `None` when it stays.
    pub at_low_s: Option<f64>,
    /// The same at the upper end.
    pub at_high_s: Option<f64>,
    /// Share of the variance of the ranks of the waits (first order, by regression on the ranks of the input); shares below
    /// about two over the number of draws are noise.
    pub share: f64,
}

/// Slowing down near the threshold.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Slowing {
    /// Threshold thickness.
    pub threshold_thickness_m: f64,
    /// Delay of the elastic part from rest in the fold's shape, beyond the threshold.
    pub elastic: Vec<Delay>,
    /// The same in a bath so thick that inertia does not count: times in units of the bath's own, see the words.
    pub damped: Vec<Delay>,
    /// Lowest frequency of the inverted state, below the threshold.
    pub frequencies: Vec<Slow>,
    /// What was found, in sentences.
    pub words: Vec<String>,
}

/// A delay.
#[derive(Clone, Copy, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Delay {
    /// h/h* − 1 > 0.
    pub distance: f64,
    /// Half-way time, s.
    pub time_s: f64,
    /// d ln(time)/d ln(distance) at this point, from its neighbours; `None` at the ends.
    pub exponent: Option<f64>,
}

/// A frequency.
#[derive(Clone, Copy, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Slow {
    /// 1 − h/h* > 0.
    pub distance: f64,
    /// Lowest axisymmetric frequency of the inverted state.
    pub frequency_Hz: f64,
    /// d ln(frequency)/d ln(distance) here; `None` at the ends.
    pub exponent: Option<f64>,
}

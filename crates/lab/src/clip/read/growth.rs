//! How the instability grows: x = x₀ + A e^{σ(t − t₁)} in the beginning of the snap, and the form that it has where an equilibrium
//! has just been lost.
//!
//! Window: from 7/σ before, to the last row before the half of the way at which a tenth of the way is not yet done. The same with a
//! twentieth tells what the choice does; where that cannot be fitted, no rate is told.
//!
//! Slowing down: close beyond a fold, with damping, dx/dt = ε + κ (x − x_f)², so
//! x = x_f + √(ε/κ) tan(√(εκ) (t − t_m)); it passes in π/√(εκ) (Strogatz 1994, *Nonlinear Dynamics and Chaos*, section 4.3).

use std::f64::consts::FRAC_PI_2;

use calotte_chance::{FitSettings, Loss, robust};

use super::{Figure, Row, WINDOW, disagreement, following};

/// What grows.
#[derive(Clone, Debug, PartialEq)]
pub struct Growth {
    /// σ, 1/s.
    pub rate: Figure,
    /// x₀ with its deviation.
    pub level: [f64; 2],
    /// A: the deflection at the end of the window.
    pub deflection: f64,
    /// First and last time of the window.
    pub window: [f64; 2],
    /// Rows in it.
    pub rows: usize,
    /// Squares of the residuals over their freedom.
    pub misfit: f64,
    /// The other form over the same rows.
    pub slowing: Option<Slowing>,
}

/// The form of a fold just lost.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slowing {
    /// √(εκ), 1/s, and its deviation.
    pub rate: [f64; 2],
    /// Level x_f.
    pub level: f64,
    /// Squares of the residuals over their freedom.
    pub misfit: f64,
}

/// Share of the way up to which growth is fitted.
const SHARE: f64 = 0.1;
/// The narrower one.
const NARROW: f64 = 0.05;

struct Exponential {
    level: [f64; 2],
    rate: [f64; 2],
    deflection: f64,
    rows: std::ops::RangeInclusive<usize>,
    misfit: f64,
}

/// Growth of the deflection from `rest` on a way of `way` (signed), in the rows before `half`.
///
/// # Errors
/// In words, why it cannot be read.
pub(super) fn growth(rows: &[Row], rest: f64, way: f64, half: usize) -> Result<Growth, String> {
    let wide = exponential(rows, rest, way, half, SHARE)?;
    let narrow = exponential(rows, rest, way, half, NARROW).map_err(|why| {
        format!(
            "what the choice of its window does is not known: up to {:.0} % of the way, {why}",
            100.0 * NARROW
        )
    })?;
    let count = wide.rows.end() - wide.rows.start() + 1;
    let rate =
        Figure::fitted(wide.rate, (count - 3) as f64).with(WINDOW, disagreement(wide.rate, narrow.rate));
    let slowing = slowing(&rows[wide.rows.clone()], way, &wide);
    Ok(Growth {
        rate,
        level: wide.level,
        deflection: wide.deflection,
        window: [rows[*wide.rows.start()].t, rows[*wide.rows.end()].t],
        rows: count,
        misfit: wide.misfit,
        slowing,
    })
}

fn exponential(rows: &[Row], rest: f64, way: f64, half: usize, share: f64) -> Result<Exponential, String> {
    let done = |r: &Row| (r.x - rest) / way;
    let last = rows[..half]
        .iter()
        .rposition(|r| done(r) <= share)
        .ok_or("the clip begins when the snap is under way".to_owned())?;
    // Time in which the deflection grows threefold, for a start.
    let third = rows[..last].iter().rposition(|r| done(r) <= share / 3.0);
    let third = third.ok_or_else(|| "the clip shows too little of the time before the snap".to_owned())?;
    let mut sigma = libm::log(3.0) / (rows[last].t - rows[third].t);
    let t1 = rows[last].t;
    let sign = way.signum();
    let mut found = None;
    for _ in 0..2 {
        let from = rows.partition_point(|r| r.t < t1 - 7.0 / sigma).min(third);
        let window = &rows[from..=last];
        if window.len() < 7 {
            return Err(format!(
                "only {} frames while the deflection grows to {:.0} % of the way: a frame rate at least {:.0} times as high is needed",
                window.len(),
                100.0 * share,
                (12.0 / window.len() as f64).ceil().max(2.0)
            ));
        }
        let mut residuals = |p: &[f64], out: &mut Vec<f64>| {
            out.extend(
                window.iter().map(|r| (p[0] + sign * libm::exp(p[1] + p[2] * (r.t - t1)) - r.x) / r.e),
            );
            true
        };
        let start = [rest, libm::log(share * way.abs()), sigma];
        let scales = [0.01 * way.abs(), 0.1, 0.1 * sigma];
        let loss = Loss::Huber(2.5);
        let fit = robust(&start, &scales, &mut residuals, loss, Some(1.0), &FitSettings::default())
            .map_err(|_| "the deflection before the snap does not grow as an exponential".to_owned())?;
        if fit.at[2] <= 0.0 {
            return Err("the deflection before the snap does not grow".to_owned());
        }
        sigma = fit.at[2];
        let freedom = (window.len() - 3) as f64;
        found = Some(Exponential {
            level: [fit.at[0], fit.deviation(0)],
            rate: [sigma, following(&fit.residuals) * fit.deviation(2)],
            deflection: sign * libm::exp(fit.at[1]),
            rows: from..=last,
            misfit: fit.residuals.iter().map(|r| r * r).sum::<f64>() / freedom,
        });
    }
    let found = found.ok_or_else(String::new)?;
    if found.rate[1].is_nan() || found.rate[1] >= 0.5 * found.rate[0] {
        return Err("the deflection before the snap is hardly larger than its errors".to_owned());
    }
    Ok(found)
}

fn slowing(rows: &[Row], way: f64, e: &Exponential) -> Option<Slowing> {
    let (first, last) = (rows.first()?, rows.last()?);
    let (sign, span) = (way.signum(), last.t - first.t);
    if rows.len() < 9 {
        return None;
    }
    let mut residuals = |p: &[f64], out: &mut Vec<f64>| {
        let (c, rate) = (libm::exp(p[1]), libm::exp(p[2]));
        if [first.t, last.t].iter().any(|t| (rate * (t - p[3])).abs() > FRAC_PI_2 - 1e-3) {
            return false;
        }
        out.extend(rows.iter().map(|r| (p[0] + sign * c * libm::tan(rate * (r.t - p[3])) - r.x) / r.e));
        true
    };
    // Near the end tan(z) ≈ 1/(π/2 − z): its growth e.rate = rate/(π/2 − z) there.
    let rate = FRAC_PI_2 / (span + 1.0 / e.rate[0]);
    let left = rate / e.rate[0];
    let middle = last.t - (FRAC_PI_2 - left) / rate;
    let start = [e.level[0], libm::log(e.deflection.abs() * left), libm::log(rate), middle];
    let scales = [0.01 * way.abs(), 0.1, 0.1, 0.1 * span];
    let fit =
        robust(&start, &scales, &mut residuals, Loss::Huber(2.5), Some(1.0), &FitSettings::default()).ok()?;
    let rate = libm::exp(fit.at[2]);
    let freedom = (rows.len() - 4) as f64;
    Some(Slowing {
        rate: [rate, rate * fit.deviation(2)],
        level: fit.at[0],
        misfit: fit.residuals.iter().map(|r| r * r).sum::<f64>() / freedom,
    })
}

//! The jump: a throw with ringing on it, z = z₀ + v u − g u²/2 + A e^{−λu} cos(ωu + φ), u = t − t₁.
//!
//! Height: top of the parabola z₀ + v²/2g over the place where the edge was at rest before the snap. With g left free the same
//! fit gives a g that must be the local one: a check of scale and frame rate (the scale enters once, the rate squared).

use calotte_chance::{FitSettings, Loss, RobustFit, robust};

use super::ringing::start;
use super::{Figure, Row, following};

/// A throw.
#[derive(Clone, Debug, PartialEq)]
pub struct Jump {
    /// Rise of the edge from rest to the top of its flight, in the unit of the rows.
    pub height: Figure,
    /// Change of the height with ln g.
    pub by_gravity: f64,
    /// Gravity as fitted.
    pub gravity: Figure,
    /// Time of the top.
    pub top_at: f64,
    /// The flight.
    pub flight: Flight,
    /// Squares of the residuals over their freedom.
    pub misfit: f64,
}

/// A fitted flight.
#[derive(Clone, Debug, PartialEq)]
pub struct Flight {
    /// z₀, v, g, and A, λ, ω, φ.
    pub at: [f64; 7],
    /// Its window.
    pub window: [f64; 2],
    /// Rows in it.
    pub rows: usize,
}

impl Flight {
    /// Fitted place.
    pub fn place(&self, t: f64) -> f64 {
        place(&self.at, t - self.window[0])
    }
}

fn place(p: &[f64], u: f64) -> f64 {
    p[0] + u * (p[1] - 0.5 * p[2] * u) + p[3] * libm::exp(-p[4] * u) * libm::cos(p[5] * u + p[6])
}

/// A fit of the seven numbers, or of six where gravity is given.
fn fit(rows: &[Row], from: &[f64; 7], gravity: Option<f64>) -> Option<(RobustFit, [f64; 7])> {
    let t1 = rows.first()?.t;
    let span = rows.last()?.t - t1;
    let whole = |p: &[f64]| -> [f64; 7] {
        match gravity {
            Some(g) => [p[0], p[1], g, p[2], p[3], p[4], p[5]],
            None => std::array::from_fn(|i| p[i]),
        }
    };
    let mut residuals = |p: &[f64], out: &mut Vec<f64>| {
        let all = whole(p);
        out.extend(rows.iter().map(|r| (place(&all, r.t - t1) - r.x) / r.e));
        all[5] > 0.0 && all[4] > -1.0 / span
    };
    let size = from[3].abs().max(1e-12);
    let scale_all =
        [size, size / span, from[2].abs() * 0.01, 0.01 * size, 0.01 * from[5], 0.01 * from[5], 0.05];
    let pick = |v: &[f64; 7]| -> Vec<f64> {
        (0..7).filter(|i| gravity.is_none() || *i != 2).map(|i| v[i]).collect()
    };
    let f = robust(
        &pick(from),
        &pick(&scale_all),
        &mut residuals,
        Loss::Huber(2.5),
        Some(1.0),
        &FitSettings::default(),
    )
    .ok()?;
    let at = whole(&f.at);
    Some((f, at))
}

/// Least squares of z₀ + v u − g u²/2 alone.
fn parabola(rows: &[Row]) -> Option<[f64; 3]> {
    let (first, last) = (rows.first()?, rows.last()?);
    let span = last.t - first.t;
    let mut residuals = |p: &[f64], out: &mut Vec<f64>| {
        out.extend(rows.iter().map(|r| {
            let u = (r.t - first.t) / span;
            (p[0] + u * (p[1] + u * p[2]) - r.x) / r.e
        }));
        true
    };
    let e = first.e.abs();
    let fit = calotte_chance::least_squares(
        &[first.x, last.x - first.x, 0.0],
        &[e; 3],
        &mut residuals,
        &FitSettings::default(),
    )
    .ok()?;
    Some([fit.at[0], fit.at[1] / span, -2.0 * fit.at[2] / (span * span)])
}

/// The jump in the rows of the edge itself after the snap's end; upwards positive, `rest` its place before the snap with its
/// deviation, `gravity` in the unit of the rows per s².
///
/// # Errors
/// In words, why it cannot be read.
pub(super) fn jump(rows: &[Row], rest: [f64; 2], gravity: f64) -> Result<Jump, String> {
    let none = || "after the snap the edge does not move like something thrown".to_owned();
    if rows.len() < 12 {
        return Err("too few frames after the snap to see a flight".to_owned());
    }
    // The flight ends where the rows leave the throw: on the way down, or with the clip. A landing is looked for from the top on.
    let top = (0..rows.len()).fold(0, |b, i| if rows[i].x > rows[b].x { i } else { b });
    let up = rows[top].t - rows[0].t;
    let last = rows.partition_point(|r| r.t <= rows[top].t + 0.8 * up);
    let window = &rows[..last.max(12).min(rows.len())];
    let plain = parabola(window).ok_or_else(none)?;
    if !(plain[2] > 0.2 * gravity && plain[2] < 5.0 * gravity) || plain[1] <= 0.0 {
        return Err(none());
    }
    // What the parabola leaves rings.
    let t1 = window[0].t;
    let left: Vec<Row> = window
        .iter()
        .map(|r| {
            let u = r.t - t1;
            Row { x: r.x - (plain[0] + u * (plain[1] - 0.5 * plain[2] * u)), ..*r }
        })
        .collect();
    let wave = start(&left).ok_or_else(none)?;
    let from = [plain[0] + wave[0], plain[1], plain[2], wave[1], wave[2], wave[3], wave[4]];
    let (free, _) = fit(window, &from, None).ok_or_else(none)?;
    let mut held = from;
    held[2] = gravity;
    let (fixed, at) = fit(window, &held, Some(gravity)).ok_or_else(none)?;
    let rise = at[0] + at[1] * at[1] / (2.0 * gravity) - rest[0];
    let c = &fixed.covariance;
    let slope = at[1] / gravity;
    let variance = c[0][0] + 2.0 * slope * c[0][1] + slope * slope * c[1][1];
    let freedom = (window.len() - 6) as f64;
    // How much of the height hangs on the gravity taken for granted.
    let more = 1.0 + 1e-3;
    let (_, b) = fit(window, &at, Some(more * gravity)).ok_or_else(none)?;
    let by_gravity = (b[0] + b[1] * b[1] / (2.0 * more * gravity) - rest[0] - rise) / libm::log(more);
    Ok(Jump {
        by_gravity,
        height: Figure::fitted(
            [rise, libm::hypot(following(&fixed.residuals) * variance.max(0.0).sqrt(), rest[1])],
            freedom,
        ),
        gravity: Figure::fitted([free.at[2], following(&free.residuals) * free.deviation(2)], freedom - 1.0),
        top_at: t1 + at[1] / gravity,
        flight: Flight { at, window: [t1, window[window.len() - 1].t], rows: window.len() },
        misfit: fixed.residuals.iter().map(|r| r * r).sum::<f64>() / freedom,
    })
}

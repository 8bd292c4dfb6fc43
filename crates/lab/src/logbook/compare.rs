//! Numbers read beside numbers computed, with errors of both.

use calotte_answers::gauge::Gauge;
use calotte_chance::{chi_squared, york};

use super::belief::{Theta, Unknown};
use super::curve::Curve;
use super::likelihood::{Known, margin};
use super::record::Outcome;
use super::report::{ComparedRow, Comparison, LineReport};
use super::theory::{Theory, clock, read_of};

/// A difference beyond so many standard deviations is told.
const OUTLIER: f64 = 3.0;
/// Pairs that a line is drawn through.
const ENOUGH: usize = 3;

/// All comparisons; `fitted` are the medians of the numbers sought.
pub(crate) fn compare(
    theory: &Theory<'_>,
    described: &[Known],
    known: &[Known],
    fitted: &Theta,
) -> Vec<Comparison> {
    let mut out = Vec::new();
    let waits = waits(theory, [described, known], fitted);
    if !waits.is_empty() {
        out.push(comparison("wait", "s", true, waits));
    }
    let load = calotte_answers::load_or_pole(theory.case.load());
    for gauge in [Gauge::TripLoad, Gauge::TripTemperature, Gauge::ResetTemperature] {
        let rows = numbers(theory, known, gauge, fitted);
        if !rows.is_empty() {
            out.push(comparison(gauge.name(), gauge.unit(&load), gauge == Gauge::TripLoad, rows));
        }
    }
    out
}

fn comparison(what: &str, unit: &'static str, logarithmic: bool, rows: Vec<ComparedRow>) -> Comparison {
    let z: Vec<f64> = rows.iter().filter_map(|r| r.z).collect();
    let chi = z.iter().map(|z| z * z).sum::<f64>();
    let scale = |v: f64| if logarithmic { libm::log(v) } else { v };
    let pairs: Vec<york::Reading> = rows
        .iter()
        .filter_map(|r| {
            Some(york::Reading {
                x: scale(r.computed_si?),
                y: scale(r.read_si),
                x_deviation: r.computed_sd?.max(1e-9),
                y_deviation: r.read_sd,
                correlation: 0.0,
            })
        })
        .collect();
    let line = (pairs.len() >= ENOUGH).then(|| york::line(&pairs)).flatten().map(|l| LineReport {
        intercept: l.intercept,
        intercept_sd: l.intercept_deviation,
        slope: l.slope,
        slope_sd: l.slope_deviation,
        chi_squared: l.squares,
        freedom: l.freedom,
    });
    let freedom = z.len();
    let chance = if freedom == 0 { 1.0 } else { chi_squared::above(chi, freedom as f64) };
    Comparison { what: what.to_owned(), unit, logarithmic, rows, chi_squared: chi, freedom, chance, line }
}

/// ln of the wait at a margin; where it would stay or return at once, that.
fn wait_at(curve: &Curve, margin: f64) -> Result<f64, &'static str> {
    match curve.log_wait(margin) {
        Some([w, _]) => Ok(w),
        None if margin >= 0.0 => Err("stays"),
        None => Err("returns at once"),
    }
}

/// Waits that were read. The error of the computed one is half the way between the waits of margins one standard deviation up and
/// down, or twice the half of it where the other end lies outside the band.
fn waits(theory: &Theory<'_>, [as_read, known]: [&[Known]; 2], fitted: &Theta) -> Vec<ComparedRow> {
    let set = &theory.book.settings;
    let described = super::chances::described();
    let mut out = Vec::new();
    for (i, s) in theory.book.specimens.iter().enumerate() {
        for t in s.trials.iter().filter(|t| t.outcome == Some(Outcome::Waits)) {
            let (Some(read), Some(seen), true) = (t.wait, theory.seen(t), theory.specimens[i].margin.is_ok())
            else {
                continue;
            };
            if theory.table.is_none() {
                continue;
            }
            let clock = clock(theory.case, t.temperature);
            let read_sd = 0.5 * read.half_width.map_or(set.wait_error, |h| h / read.value);
            let z_of = |known: &[Known], theta: &Theta| {
                let curve = theory.law().curve(
                    i,
                    seen.hold,
                    theta[Unknown::Shares as usize],
                    theta[Unknown::Times as usize],
                );
                let [m, sd] = margin(&known[i], theta);
                let sd = libm::hypot(sd, set.assumed.trial_scatter);
                let here = wait_at(&curve, m).map(|w| w + libm::log(clock));
                let ends = [wait_at(&curve, m + sd), wait_at(&curve, m - sd)];
                let wide = match (&here, &ends) {
                    (Ok(_), [Ok(a), Ok(b)]) => Some(0.5 * (a - b)),
                    (Ok(w), [Ok(a), Err(_)]) => Some(a + libm::log(clock) - w),
                    (Ok(w), [Err(_), Ok(b)]) => Some(w - b - libm::log(clock)),
                    _ => None,
                };
                let z = here
                    .as_ref()
                    .ok()
                    .zip(wide)
                    .map(|(w, sd)| (libm::log(read.value) - w) / libm::hypot(sd, read_sd));
                (here, wide, z)
            };
            let (computed, computed_sd, z) = z_of(as_read, &described);
            let (_, _, z_fitted) = z_of(known, fitted);
            out.push(ComparedRow {
                specimen: s.name.clone(),
                lines: vec![t.line],
                read_si: read.value,
                read_sd,
                computed_si: computed.ok().map(libm::exp),
                computed_sd,
                z,
                z_fitted,
                instead: computed.err().map(str::to_owned),
                outlier: z.is_some_and(|z| z.abs() > OUTLIER),
            });
        }
    }
    out
}

fn numbers(theory: &Theory<'_>, known: &[Known], gauge: Gauge, fitted: &Theta) -> Vec<ComparedRow> {
    let unscale = |v: f64| if gauge == Gauge::TripLoad { libm::exp(v) } else { v };
    let mut out = Vec::new();
    for (i, (s, t)) in theory.book.specimens.iter().zip(&theory.specimens).enumerate() {
        for n in t.numbers.iter().filter(|n| n.gauge == gauge) {
            let c = &n.compared;
            let z = (c.read - c.computed) / libm::hypot(c.read_sd, c.size_sd[0]);
            let z_fitted = fitted_z(&known[i], c.read, fitted);
            out.push(ComparedRow {
                specimen: s.name.clone(),
                lines: n.lines.clone(),
                read_si: unscale(c.read),
                read_sd: c.read_sd,
                computed_si: Some(unscale(c.computed)),
                computed_sd: Some(c.size_sd[0]),
                z: Some(z),
                z_fitted,
                instead: None,
                outlier: z.abs() > OUTLIER,
            });
        }
        for (_, why) in t.missing.iter().filter(|m| m.0 == gauge) {
            for trial in &s.trials {
                let Some(read) = read_of(trial, gauge) else { continue };
                out.push(ComparedRow {
                    specimen: s.name.clone(),
                    lines: vec![trial.line],
                    read_si: read.value,
                    read_sd: 0.5 * error_of(theory, gauge, read),
                    computed_si: None,
                    computed_sd: None,
                    z: None,
                    z_fitted: None,
                    instead: Some(why.clone()),
                    outlier: false,
                });
            }
        }
    }
    out
}

/// Half-width of a reading as it is compared: relative for loads.
fn error_of(theory: &Theory<'_>, gauge: Gauge, read: super::record::Figure) -> f64 {
    let set = &theory.book.settings;
    match gauge {
        Gauge::TripLoad => read.half_width.map_or(set.trip_error, |h| h / read.value),
        _ => read.half_width.unwrap_or(set.temperature_error),
    }
}

/// The difference of a number from theory with the numbers sought at these values, over all errors; `None` where theory has none.
fn fitted_z(known: &Known, read: f64, fitted: &Theta) -> Option<f64> {
    let c = known.numbers.iter().find(|c| c.read == read)?;
    let [mean, sd] = margin(known, fitted);
    let (at, per) = (c.with_margin.at(mean)?, c.with_margin.slope(mean));
    let at = at
        + c.computed
        + c.slopes[0] * fitted[Unknown::Thickness as usize]
        + c.slopes[1] * fitted[Unknown::Youngs as usize];
    let scatter = if c.scatters { libm::exp(fitted[Unknown::TripScatter as usize]) } else { 0.0 };
    let wide = libm::hypot(libm::hypot(per * sd, c.size_sd[1]), libm::hypot(c.read_sd, scatter));
    Some((c.read - at) / wide)
}

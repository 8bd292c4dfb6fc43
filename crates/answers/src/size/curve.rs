//! One number more than exact wishes: the curve of parts that meet them, followed from a solution both ways.
//!
//! Predictor along the tangent, corrector by Newton's method square to it with slopes kept up to date by Broyden's rank-one update;
//! slopes are measured anew where the corrector fails. The curve ends at a limit of a range, where a reading ceases, or closes.

use calotte_solve::wish::dense::solve;

use super::ask::Wanted;
use super::oracle::{Oracle, slopes};

/// Points at most, either way.
const MOST: usize = 60;
/// First step, in shares of the ranges.
const STEP: f64 = 0.06;
/// Shortest step.
const LEAST: f64 = 2e-3;

/// A curve in shares of the ranges.
pub(super) struct Curve {
    pub(super) points: Vec<Vec<f64>>,
    pub(super) ends: [String; 2],
    pub(super) closed: bool,
}

/// The exact wishes: place, aim, unit.
fn exact(oracle: &Oracle<'_>) -> Vec<(usize, f64, f64)> {
    oracle
        .wishes
        .iter()
        .enumerate()
        .filter_map(|(i, w)| match w.wanted {
            Wanted::Equal { aim, half_width } => Some((i, aim, half_width)),
            _ => None,
        })
        .collect()
}

/// How far off the exact wishes are, in half-widths.
fn off(oracle: &mut Oracle<'_>, exact: &[(usize, f64, f64)], u: &[f64]) -> Option<Vec<f64>> {
    if u.iter().any(|x| !(-1e-12..=1.0 + 1e-12).contains(x)) {
        return None;
    }
    let row = oracle.row(u);
    exact.iter().map(|(i, aim, unit)| row[*i].as_ref().ok().map(|v| (v - aim) / unit)).collect()
}

fn jacobian(oracle: &mut Oracle<'_>, exact: &[(usize, f64, f64)], u: &[f64]) -> Option<Vec<Vec<f64>>> {
    let all = slopes(oracle, u, 1e-3);
    let rows: Vec<Vec<f64>> =
        exact.iter().map(|(i, _, unit)| all[*i].iter().map(|s| s / unit).collect()).collect();
    rows.iter().flatten().all(|v: &f64| v.is_finite()).then_some(rows)
}

/// Unit vector square to every row.
fn tangent(rows: &[Vec<f64>], n: usize) -> Option<Vec<f64>> {
    let mut basis: Vec<Vec<f64>> = Vec::new();
    let square = |mut v: Vec<f64>, basis: &[Vec<f64>]| {
        for b in basis {
            let d: f64 = v.iter().zip(b).map(|(x, y)| x * y).sum();
            v.iter_mut().zip(b).for_each(|(x, y)| *x -= d * y);
        }
        let size = v.iter().map(|x| x * x).sum::<f64>().sqrt();
        (size, v.iter().map(|x| x / size).collect::<Vec<f64>>())
    };
    for row in rows {
        let (size, unit) = square(row.clone(), &basis);
        if size.is_nan() || size <= 1e-9 {
            return None;
        }
        basis.push(unit);
    }
    let axis = |k: usize| (0..n).map(|i| f64::from(u8::from(i == k))).collect::<Vec<f64>>();
    (0..n).map(|k| square(axis(k), &basis)).max_by(|a, b| a.0.total_cmp(&b.0)).map(|b| b.1)
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// Newton's method from a guess, square to a direction (a tangent, or the axis of a number held at its limit).
fn correct(
    oracle: &mut Oracle<'_>,
    exact: &[(usize, f64, f64)],
    guess: Vec<f64>,
    direction: &[f64],
    rows: &mut [Vec<f64>],
) -> Option<Vec<f64>> {
    let mut u = guess;
    let mut f = off(oracle, exact, &u)?;
    for _ in 0..6 {
        if f.iter().all(|v| v.abs() < 1e-4) {
            return Some(u);
        }
        let mut a = rows.to_vec();
        a.push(direction.to_vec());
        let mut b: Vec<f64> = f.iter().map(|v| -v).collect();
        b.push(0.0);
        let d = solve(a, b)?;
        let size = dot(&d, &d);
        if size > 0.01 {
            return None;
        }
        let next: Vec<f64> = u.iter().zip(&d).map(|(x, d)| x + d).collect();
        let new = off(oracle, exact, &next)?;
        for (row, (was, is)) in rows.iter_mut().zip(f.iter().zip(&new)) {
            // The row misjudged the change by this much.
            let miss = (is - was - dot(row, &d)) / size.max(1e-300);
            row.iter_mut().zip(&d).for_each(|(r, d)| *r += miss * d);
        }
        (u, f) = (next, new);
    }
    f.iter().all(|v| v.abs() < 1e-3).then_some(u)
}

/// Follows one way; says how it ends, and whether it came back to the start.
fn one_way(
    oracle: &mut Oracle<'_>,
    exact: &[(usize, f64, f64)],
    start: &[f64],
    sign: f64,
) -> (Vec<Vec<f64>>, String, bool) {
    let n = start.len();
    let mut points: Vec<Vec<f64>> = Vec::new();
    let mut u = start.to_vec();
    let broken = || "the curve could not be followed further".to_owned();
    let Some(mut rows) = jacobian(oracle, exact, &u) else { return (points, broken(), false) };
    let Some(first) = tangent(&rows, n) else { return (points, broken(), false) };
    let mut along: Vec<f64> = first.iter().map(|v| sign * v).collect();
    let mut step = STEP;
    let mut fresh = true;
    while points.len() < MOST && !oracle.stopped {
        // A number that would leave its range is held at the limit instead.
        let mut reach = step;
        let mut held = None;
        for i in 0..n {
            let room = if along[i] > 0.0 { (1.0 - u[i]) / along[i] } else { -u[i] / along[i] };
            if along[i] != 0.0 && room < reach {
                (reach, held) = (room.max(0.0), Some(i));
            }
        }
        let guess: Vec<f64> = u.iter().zip(&along).map(|(x, t)| (x + reach * t).clamp(0.0, 1.0)).collect();
        let direction = match held {
            Some(k) => (0..n).map(|i| f64::from(u8::from(i == k))).collect(),
            None => along.clone(),
        };
        let mut tried = rows.clone();
        let found = correct(oracle, exact, guess, &direction, &mut tried);
        let turned = found.as_ref().and_then(|_| tangent(&tried, n)).map(|t| {
            let s = dot(&t, &along).signum();
            t.iter().map(|v| s * v).collect::<Vec<f64>>()
        });
        let (Some(next), Some(turned)) = (found, turned) else {
            if !fresh {
                match jacobian(oracle, exact, &u) {
                    Some(r) => rows = r,
                    None => return (points, broken(), false),
                }
                if let Some(t) = tangent(&rows, n) {
                    let s = dot(&t, &along).signum();
                    along = t.iter().map(|v| s * v).collect();
                }
                fresh = true;
                continue;
            }
            step *= 0.4;
            if step < LEAST {
                return (points, "a reading ceases beyond, or the curve turns too sharply".to_owned(), false);
            }
            continue;
        };
        if dot(&turned, &along) < 0.8 && step > 2.0 * LEAST && held.is_none() {
            step *= 0.5;
            fresh = true;
            continue;
        }
        (rows, along, u) = (tried, turned, next);
        fresh = false;
        points.push(u.clone());
        if let Some(k) = held {
            let which = if u[k] > 0.5 { "upper" } else { "lower" };
            return (points, format!("{} at its {which} limit", oracle.vary[k].key), false);
        }
        let back: f64 = u.iter().zip(start).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt();
        if points.len() > 6 && back < 0.7 * step && dot(&along, &first) * sign > 0.5 {
            return (points, "closes on itself".to_owned(), true);
        }
        step = (1.3 * step).min(STEP);
    }
    (points, format!("followed for {MOST} points"), false)
}

/// The curve through a solution.
pub(super) fn through(oracle: &mut Oracle<'_>, start: &[f64]) -> Curve {
    let exact = exact(oracle);
    let (ahead, end, closed) = one_way(oracle, &exact, start, 1.0);
    if closed {
        let mut points = vec![start.to_vec()];
        points.extend(ahead);
        points.push(start.to_vec());
        return Curve { points, ends: [end.clone(), end], closed };
    }
    let (mut points, begin, _) = one_way(oracle, &exact, start, -1.0);
    points.reverse();
    points.push(start.to_vec());
    points.extend(ahead);
    Curve { points, ends: [begin, end], closed }
}

//! A constrained optimum of few unknowns in the unit box: sequential quadratic programming with an elastic trust region.
//!
//! Minimise f(u) subject to lowᵢ ≤ cᵢ(u) ≤ highᵢ, 0 ≤ u ≤ 1. Each step solves
//!
//! min ½ dᵀB d + gᵀd + M t + ½ ε t²,  lowᵢ − sᵢ t ≤ cᵢ + Jᵢ d ≤ highᵢ + sᵢ t,  t ≥ 0,  |d| ≤ Δ within the box
//!
//! with B a damped quasi-Newton estimate of the Hessian of the Lagrangian and sᵢ the size of a violation that counts as one. The
//! step is taken when it lowers f + M·(largest violation/sᵢ) as promised (the ℓ∞ exact penalty function; R. Fletcher, Practical
//! Methods of Optimization, 2nd ed. 1987, chapter 14). Where the bands cannot be met, it ends at a point of least violation.
//! Slopes are differences: forward on the way, central at the end.

use super::dense::dot;
use super::quadratic::{Half, Quadratic, least, update};

/// Where a constraint has to lie.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Lower end; −∞ for none.
    pub low: f64,
    /// Upper end; ∞ for none.
    pub high: f64,
    /// Violation that counts as one, > 0.
    pub unit: f64,
}

impl Band {
    /// How far outside a value lies, in units; 0 inside.
    pub fn violation(&self, c: f64) -> f64 {
        (self.low - c).max(c - self.high).max(0.0) / self.unit
    }
}

/// Settings of [`optimum`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OptimumSettings {
    /// Steps allowed.
    pub steps: u32,
    /// First radius of the trust region (the box has edges of 1).
    pub radius: f64,
    /// A step shorter than this ends the search.
    pub within: f64,
    /// Largest violation (in units) that counts as none.
    pub met: f64,
    /// Distance of differences.
    pub difference: f64,
    /// First weight of the violation.
    pub weight: f64,
}

impl Default for OptimumSettings {
    fn default() -> Self {
        Self { steps: 40, radius: 0.25, within: 1e-6, met: 1e-5, difference: 1e-3, weight: 0.1 }
    }
}

/// How it ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// At an optimum that meets the bands.
    Optimum,
    /// At a point of least violation that does not meet them.
    Unmet,
    /// The steps were spent.
    Spent,
    /// The function has no value where it started or beside it.
    NoValue,
}

/// What was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Optimum {
    /// How it ended.
    pub end: End,
    /// u.
    pub u: Vec<f64>,
    /// f and every c there.
    pub values: Vec<f64>,
    /// Slopes of f and of every c over every unknown.
    pub slopes: Vec<Vec<f64>>,
    /// Largest violation, in units.
    pub violation: f64,
    /// df/d(bound) of every band, with the sign of the end that binds: positive where raising the bound raises f.
    pub multipliers: Vec<f64>,
    /// Which limit of the box binds each unknown: −1 lower, 1 upper, 0 neither.
    pub at_limit: Vec<i8>,
    /// Steps tried.
    pub steps: u32,
}

/// Values of f and every c at several points at once; `None` where there is none.
pub type Values<'a> = dyn FnMut(&[Vec<f64>]) -> Vec<Option<Vec<f64>>> + 'a;

/// Slopes at u: forward (or backward at a limit or a border), or central.
fn slopes(u: &[f64], at: &[f64], h: f64, central: bool, f: &mut Values<'_>) -> Option<Vec<Vec<f64>>> {
    let n = u.len();
    let step = |i: usize, d: f64| {
        let mut v = u.to_vec();
        v[i] += d;
        v
    };
    let inside = |x: f64| (0.0..=1.0).contains(&x);
    let mut points = Vec::new();
    for i in 0..n {
        if inside(u[i] + h) {
            points.push((i, h));
        }
        if inside(u[i] - h) && (central || !inside(u[i] + h)) {
            points.push((i, -h));
        }
    }
    let mut found = f(&points.iter().map(|(i, d)| step(*i, *d)).collect::<Vec<_>>());
    // A side without a value: the other side.
    for i in 0..n {
        let has = points.iter().zip(&found).any(|((j, _), v)| *j == i && v.is_some());
        if !has && !central && inside(u[i] - h) {
            points.push((i, -h));
            found.extend(f(&[step(i, -h)]));
        }
    }
    let mut out = vec![vec![0.0; n]; at.len()];
    for i in 0..n {
        let of = |sign: f64| {
            points
                .iter()
                .zip(&found)
                .find(|((j, d), v)| *j == i && d * sign > 0.0 && v.is_some())
                .and_then(|(_, v)| v.as_ref())
        };
        for (k, row) in out.iter_mut().enumerate() {
            row[i] = match (of(1.0), of(-1.0)) {
                (Some(a), Some(b)) => (a[k] - b[k]) / (2.0 * h),
                (Some(a), None) => (a[k] - at[k]) / h,
                (None, Some(b)) => (at[k] - b[k]) / h,
                (None, None) => return None,
            };
        }
    }
    Some(out)
}

struct Step {
    d: Vec<f64>,
    t: f64,
    /// Of the bands: upper minus lower, so that ∇f + Σ λᵢ Jᵢ = 0 inside the box.
    lambda: Vec<f64>,
}

/// The quadratic program of one step.
fn program(
    b: &[Vec<f64>],
    slopes: &[Vec<f64>],
    values: &[f64],
    bands: &[Band],
    u: &[f64],
    radius: f64,
    weight: f64,
) -> Option<Step> {
    let n = u.len();
    let mut g = vec![vec![0.0; n + 1]; n + 1];
    for i in 0..n {
        g[i][..n].copy_from_slice(&b[i]);
    }
    g[n][n] = 1e-4 * weight;
    let mut a = slopes[0].clone();
    a.push(weight);
    let mut halves = Vec::new();
    let mut of = Vec::new();
    for (i, band) in bands.iter().enumerate() {
        let (c, j) = (values[i + 1] / band.unit, &slopes[i + 1]);
        for (end, sign) in [(band.low, 1.0), (band.high, -1.0)] {
            if end.is_finite() {
                let mut normal: Vec<f64> = j.iter().map(|v| sign * v / band.unit).collect();
                normal.push(1.0);
                halves.push(Half { normal, bound: sign * (end / band.unit - c) });
                of.push((i, sign));
            }
        }
    }
    let unit = |i: usize, s: f64| {
        let mut v = vec![0.0; n + 1];
        v[i] = s;
        v
    };
    halves.push(Half { normal: unit(n, 1.0), bound: 0.0 });
    for i in 0..n {
        halves.push(Half { normal: unit(i, 1.0), bound: (-radius).max(-u[i]) });
        halves.push(Half { normal: unit(i, -1.0), bound: -radius.min(1.0 - u[i]) });
    }
    let Quadratic { x, multipliers } = least(&g, &a, &halves)?;
    let mut lambda = vec![0.0; bands.len()];
    for ((i, sign), m) in of.iter().zip(&multipliers) {
        lambda[*i] -= sign * m / bands[*i].unit;
    }
    Some(Step { t: x[n].max(0.0), d: x[..n].to_vec(), lambda })
}

fn worst(values: &[f64], bands: &[Band]) -> f64 {
    bands.iter().zip(&values[1..]).map(|(b, c)| b.violation(*c)).fold(0.0, f64::max)
}

/// Searches from `start`, a point of the unit box.
pub fn optimum(start: &[f64], bands: &[Band], set: &OptimumSettings, f: &mut Values<'_>) -> Optimum {
    let n = start.len();
    let mut u: Vec<f64> = start.iter().map(|x| x.clamp(0.0, 1.0)).collect();
    let nothing = |u: Vec<f64>, values: Vec<f64>, steps| Optimum {
        end: End::NoValue,
        violation: f64::INFINITY,
        slopes: vec![vec![0.0; n]; bands.len() + 1],
        multipliers: vec![0.0; bands.len()],
        at_limit: vec![0; n],
        values,
        u,
        steps,
    };
    let Some(mut values) = f(std::slice::from_ref(&u)).pop().flatten() else {
        return nothing(u, Vec::new(), 0);
    };
    let mut central = false;
    let Some(mut slope) = slopes(&u, &values, set.difference, central, f) else {
        return nothing(u, values, 0);
    };
    let mut b = vec![vec![0.0; n]; n];
    (0..n).for_each(|i| b[i][i] = 1.0);
    let (mut radius, mut weight) = (set.radius, set.weight);
    let mut end = End::Spent;
    let mut lambda = vec![0.0; bands.len()];
    let mut steps = 0;
    while steps < set.steps {
        steps += 1;
        let Some(mut step) = program(&b, &slope, &values, bands, &u, radius, weight) else { break };
        // A violation that more weight lowers is worth more weight.
        for _ in 0..4 {
            if step.t <= 0.1 * set.met {
                break;
            }
            let Some(more) = program(&b, &slope, &values, bands, &u, radius, 10.0 * weight) else { break };
            if more.t > 0.9 * step.t {
                break;
            }
            weight *= 10.0;
            step = more;
        }
        lambda.clone_from(&step.lambda);
        let long = step.d.iter().fold(0.0_f64, |m, d| m.max(d.abs()));
        let now = worst(&values, bands);
        let bend: f64 = (0..n).map(|i| step.d[i] * dot(&b[i], &step.d)).sum();
        let promised = -dot(&slope[0], &step.d) - 0.5 * bend + weight * (now - step.t);
        if long <= set.within || promised <= 1e-14 * (values[0].abs() + 1.0) {
            if central {
                end = if now <= set.met { End::Optimum } else { End::Unmet };
                break;
            }
            central = true;
            match slopes(&u, &values, set.difference, central, f) {
                Some(s) => slope = s,
                None => break,
            }
            radius = radius.max(10.0 * set.difference);
            continue;
        }
        let moved = |d: &[f64]| u.iter().zip(d).map(|(u, d)| (u + d).clamp(0.0, 1.0)).collect::<Vec<f64>>();
        let mut next = moved(&step.d);
        let Some(mut there) = f(std::slice::from_ref(&next)).pop().flatten() else {
            radius = 0.3 * long;
            if radius < set.within {
                end = if now <= set.met { End::Optimum } else { End::Unmet };
                break;
            }
            continue;
        };
        let gain = |there: &[f64]| values[0] - there[0] + weight * (now - worst(there, bands));
        let mut ratio = gain(&there) / promised;
        if ratio < 0.5 && worst(&there, bands) > set.met {
            // A constraint that bends spoils a good step: once more with its bend as just met.
            let mut bent = values.clone();
            for (k, v) in bent.iter_mut().enumerate().skip(1) {
                *v = there[k] - dot(&slope[k], &step.d);
            }
            if let Some(again) = program(&b, &slope, &bent, bands, &u, radius, weight)
                && let Some(found) = f(std::slice::from_ref(&moved(&again.d))).pop().flatten()
                && gain(&found) / promised > ratio
            {
                ratio = gain(&found) / promised;
                (next, there) = (moved(&again.d), found);
            }
        }
        if ratio < 0.1 {
            radius = 0.35 * long;
            // Too short a step to matter: rounding of the function decides no further.
            if radius < set.within {
                end = if now <= set.met { End::Optimum } else { End::Unmet };
                break;
            }
            continue;
        }
        let Some(new) = slopes(&next, &there, set.difference, central, f) else {
            radius = 0.3 * long;
            continue;
        };
        let lagrangian = |s: &[Vec<f64>], i: usize| {
            s[0][i] + step.lambda.iter().zip(&s[1..]).map(|(l, c)| l * c[i]).sum::<f64>()
        };
        let y: Vec<f64> = (0..n).map(|i| lagrangian(&new, i) - lagrangian(&slope, i)).collect();
        let walked: Vec<f64> = next.iter().zip(&u).map(|(a, b)| a - b).collect();
        update(&mut b, &walked, &y);
        if ratio > 0.75 && long > 0.9 * radius {
            radius = (2.0 * radius).min(1.0);
        } else if ratio < 0.25 {
            radius *= 0.5;
        }
        (u, values, slope) = (next, there, new);
    }
    let violation = worst(&values, bands);
    if end == End::Spent && violation <= set.met && radius < 1e3 * set.within {
        end = End::Optimum;
    }
    let at_limit = u.iter().map(|x| if *x <= 1e-9 { -1 } else { i8::from(*x >= 1.0 - 1e-9) }).collect();
    let multipliers = lambda.iter().map(|l| -l).collect();
    Optimum { end, u, values, slopes: slope, violation, multipliers, at_limit, steps }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(start: &[f64], bands: &[Band], f: impl Fn(&[f64]) -> Option<Vec<f64>>) -> (Optimum, usize) {
        let mut asked = 0;
        let found = optimum(start, bands, &OptimumSettings::default(), &mut |points: &[Vec<f64>]| {
            asked += points.len();
            points.iter().map(|p| f(p)).collect()
        });
        (found, asked)
    }

    #[test]
    fn least_sum_on_a_hyperbola() {
        // Closed form: x + y least with xy = 0.04 at x = y = 0.2, multiplier df/dc = 1/y = 5.
        let bands = [Band { low: 0.04, high: 0.04, unit: 0.001 }];
        let (o, asked) = run(&[0.9, 0.3], &bands, |u| Some(vec![u[0] + u[1], u[0] * u[1]]));
        assert_eq!(o.end, End::Optimum, "{o:?}");
        assert!((o.u[0] - 0.2).abs() < 1e-5 && (o.u[1] - 0.2).abs() < 1e-5, "{o:?}");
        assert!((o.multipliers[0] - 5.0).abs() < 1e-2, "{o:?}");
        assert!(asked < 80, "{asked}");
    }

    #[test]
    fn a_limit_of_the_box_and_an_inequality() {
        let bands = [Band { low: 0.5, high: f64::INFINITY, unit: 0.1 }];
        let (o, _) = run(&[0.5, 0.5], &bands, |u| Some(vec![u[0] + 3.0 * u[1], u[0] * 0.4 + u[1]]));
        // Closed form: 0.4 of y are worth 1.2, more than 1 of x: x goes to its limit, y = 0.1.
        assert_eq!((o.end, o.at_limit[0]), (End::Optimum, 1), "{o:?}");
        assert!((o.u[1] - 0.1).abs() < 1e-7, "{o:?}");
    }

    #[test]
    fn what_cannot_be_met_ends_at_the_least_violation() {
        // c₁ = x ≥ 0.8 and c₂ = x ≤ 0.2 with equal units: x = 0.5, violation 0.3/0.1 each.
        let bands = [
            Band { low: 0.8, high: f64::INFINITY, unit: 0.1 },
            Band { low: f64::NEG_INFINITY, high: 0.2, unit: 0.1 },
        ];
        let (o, _) = run(&[0.1], &bands, |u| Some(vec![0.0, u[0], u[0]]));
        assert_eq!(o.end, End::Unmet, "{o:?}");
        assert!((o.u[0] - 0.5).abs() < 1e-4 && (o.violation - 3.0).abs() < 1e-2, "{o:?}");
    }

    #[test]
    fn a_border_without_values_is_not_crossed() {
        let (o, _) = run(&[0.9], &[], |u| (u[0] > 0.3).then(|| vec![u[0]]));
        assert!(o.u[0] > 0.3 && o.u[0] < 0.31, "{o:?}");
        let (o, _) = run(&[0.1], &[], |u| (u[0] > 0.3).then(|| vec![u[0]]));
        assert_eq!(o.end, End::NoValue);
    }
}

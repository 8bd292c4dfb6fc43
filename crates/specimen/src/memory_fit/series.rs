//! A sum of exponentials through points: a fine grid of times first, then few terms with times of their own.

use super::nnls::{least_squares, nonnegative, norm, residual};

/// Grid times per decade.
const PER_DECADE: f64 = 20.0;
/// The grid, and every time, stays within this factor of the first and the last reading.
const BEYOND: f64 = 3.0;
/// Steps of the search for times, and the part by which a step must better the residual for the search to go on:
/// while numbers of terms are compared, and for the series taken.
const COMPARING: (usize, f64) = (40, 1e-3);
const FINISHING: (usize, f64) = (200, 1e-10);
/// Residuals below this are rounding.
pub(super) const ROUNDING: f64 = 1e-10;

/// What falls or grows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Shape {
    /// `c + Σ aᵢ e^{−t/τᵢ}`.
    Falling,
    /// `c + Σ aᵢ (1 − e^{−t/τᵢ})`.
    Growing,
}

impl Shape {
    fn at(self, t: f64, time: f64) -> f64 {
        match self {
            Self::Falling => libm::exp(-t / time),
            Self::Growing => -libm::expm1(-t / time),
        }
    }

    /// Slope of it against the logarithm of the time.
    fn slope(self, t: f64, time: f64) -> f64 {
        let falls = t / time * libm::exp(-t / time);
        if self == Self::Falling { falls } else { -falls }
    }
}

/// Readings, all positive, times increasing.
pub(super) struct Readings<'a> {
    pub(super) shape: Shape,
    pub(super) times: &'a [f64],
    pub(super) values: &'a [f64],
}

/// A fitted sum.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Series {
    /// c ≥ 0.
    pub(super) constant: f64,
    /// aᵢ > 0 and τᵢ, times increasing.
    pub(super) terms: Vec<[f64; 2]>,
    /// Root mean square of the relative residuals.
    pub(super) rms: f64,
}

/// What the search came to.
pub(super) struct Found {
    pub(super) series: Series,
    /// Root mean square on the grid of times.
    pub(super) grid_rms: f64,
    /// Most terms that the readings tell apart.
    pub(super) most: usize,
}

impl Series {
    pub(super) fn at(&self, shape: Shape, t: f64) -> f64 {
        self.constant + self.terms.iter().map(|[a, time]| a * shape.at(t, *time)).sum::<f64>()
    }
}

impl Readings<'_> {
    /// The series with `terms` terms; or, when it is left open, with the fewest whose residual per degree of
    /// freedom is within 1.1 times the least one, or whose residual is within `accuracy`.
    pub(super) fn fit(&self, terms: Option<usize>, accuracy: f64) -> Found {
        let (clusters, grid_rms, grid_unknowns) = self.on_grid();
        let most = clusters.len();
        let mut start = clusters;
        while start.len() > super::MOST_TERMS {
            start = merged(&start);
        }
        let mut now = self.refined(&start, COMPARING);
        // Residuals are compared per degree of freedom: more unknowns also take up more of the noise.
        let scatter = |s: &Series| self.scatter(s.rms, 2 * s.terms.len() + 1);
        let mut least = self.scatter(grid_rms, grid_unknowns).min(scatter(&now));
        let mut all = vec![now.clone()];
        while now.terms.len() > terms.unwrap_or(1).max(1) {
            now = self.refined(&merged(&now.terms), COMPARING);
            least = least.min(scatter(&now));
            all.push(now.clone());
            // Fewer terms only fit worse.
            if terms.is_none() && now.rms > accuracy && scatter(&now) > 2.0 * allowed(least) {
                break;
            }
        }
        let rough = match terms {
            Some(_) => &now,
            None => all
                .iter()
                .rev()
                .find(|s| s.rms <= accuracy || scatter(s) <= allowed(least))
                .unwrap_or(&all[0]),
        };
        let series = self.refined(&rough.terms, FINISHING);
        Found { series, grid_rms, most }
    }

    /// Every number of terms from the most that the readings tell apart (at most `most`) down to one, each refined to the end.
    pub(super) fn ladder(&self, most: usize) -> Vec<Found> {
        let (mut start, grid_rms, _) = self.on_grid();
        let told = start.len();
        while start.len() > most.min(super::MOST_TERMS) {
            start = merged(&start);
        }
        let mut out = Vec::new();
        loop {
            let series = self.refined(&start, FINISHING);
            let terms = series.terms.clone();
            out.push(Found { series, grid_rms, most: told });
            if terms.len() < 2 {
                return out;
            }
            start = merged(&terms);
        }
    }

    /// Terms where the grid's solution is not 0, neighbours taken together; its residual; its unknowns above 0.
    fn on_grid(&self) -> (Vec<[f64; 2]>, f64, usize) {
        let (low, high) = self.ends();
        let count = ((high - low) / std::f64::consts::LN_10 * PER_DECADE).ceil().max(1.0);
        let mut grid = Vec::new();
        let mut i = 0.0;
        while i <= count {
            grid.push(libm::exp(low + (high - low) * i / count));
            i += 1.0;
        }
        let (x, rms) = self.amplitudes(&grid);
        let mut clusters: Vec<[f64; 2]> = Vec::new();
        let mut last = None;
        for (k, time) in grid.iter().enumerate().filter(|(k, _)| x[k + 1] > 0.0) {
            let a = x[k + 1];
            match clusters.last_mut().filter(|_| k > 0 && last == Some(k - 1)) {
                Some(c) => *c = together(*c, [a, *time]),
                None => clusters.push([a, *time]),
            }
            last = Some(k);
        }
        (clusters, rms, x.iter().filter(|a| **a > 0.0).count())
    }

    /// Residual per degree of freedom.
    fn scatter(&self, rms: f64, unknowns: usize) -> f64 {
        let count = self.values.len();
        rms * (count as f64 / count.saturating_sub(unknowns).max(1) as f64).sqrt()
    }

    /// Logarithms of the least and greatest time allowed.
    fn ends(&self) -> (f64, f64) {
        let (first, last) = (self.times[0], self.times[self.times.len() - 1]);
        (libm::log(first / BEYOND), libm::log(last * BEYOND))
    }

    /// Constant and amplitudes that suit these times best, and the residual's root mean square.
    fn amplitudes(&self, times: &[f64]) -> (Vec<f64>, f64) {
        let columns = self.columns(times);
        let ones = vec![1.0; self.values.len()];
        // Where free amplitudes come out positive they are the best nonnegative ones.
        let few = times.len() <= super::MOST_TERMS;
        let free = few.then(|| {
            let all: Vec<&[f64]> = columns.iter().map(Vec::as_slice).collect();
            least_squares(&all, &ones)
        });
        let x = free.filter(|x| x.iter().all(|a| *a > 0.0)).unwrap_or_else(|| nonnegative(&columns, &ones));
        let rms = norm(&residual(&columns, &x, &ones)) / (ones.len() as f64).sqrt();
        (x, rms)
    }

    /// What constant and terms add to each reading, as a part of it.
    fn columns(&self, times: &[f64]) -> Vec<Vec<f64>> {
        let constant = self.values.iter().map(|y| 1.0 / y).collect();
        let term = |time: &f64| self.each(|t| self.shape.at(t, *time));
        std::iter::once(constant).chain(times.iter().map(term)).collect()
    }

    fn each(&self, f: impl Fn(f64) -> f64) -> Vec<f64> {
        self.times.iter().zip(self.values).map(|(t, y)| f(*t) / y).collect()
    }

    /// Moves the times of the terms until the residual is least: damped steps of Gauss and Newton in their
    /// logarithms, the amplitudes best at every step (variable projection).
    fn refined(&self, start: &[[f64; 2]], (steps, worthwhile): (usize, f64)) -> Series {
        let (low, high) = self.ends();
        let mut logs: Vec<f64> = start.iter().map(|c| libm::log(c[1]).clamp(low, high)).collect();
        let times = |logs: &[f64]| -> Vec<f64> { logs.iter().map(|l| libm::exp(*l)).collect() };
        let (mut x, mut rms) = self.amplitudes(&times(&logs));
        let mut damping = 1e-3;
        for _ in 0..steps {
            let step = self.step(&times(&logs), &x, damping);
            let trial: Vec<f64> =
                logs.iter().zip(&step).map(|(l, d)| (l + d.clamp(-1.0, 1.0)).clamp(low, high)).collect();
            let (trial_x, trial_rms) = self.amplitudes(&times(&trial));
            if trial_rms < rms {
                let small = trial_rms > rms * (1.0 - worthwhile);
                (logs, x, rms) = (trial, trial_x, trial_rms);
                damping = (0.1 * damping).max(1e-12);
                if small || rms < 1e-15 {
                    break;
                }
            } else {
                damping *= 10.0;
                if damping > 1e6 {
                    break;
                }
            }
        }
        let mut terms: Vec<[f64; 2]> =
            times(&logs).into_iter().zip(&x[1..]).filter(|(_, a)| **a > 0.0).map(|(t, a)| [*a, t]).collect();
        terms.sort_by(|a, b| a[1].total_cmp(&b[1]));
        // Terms that came to one time are one term.
        terms.dedup_by(|b, a| {
            let same = b[1] <= a[1] * (1.0 + 1e-6);
            if same {
                *a = together(*a, *b);
            }
            same
        });
        Series { constant: x[0], terms, rms }
    }

    /// Step of the logarithms of the times.
    fn step(&self, times: &[f64], x: &[f64], damping: f64) -> Vec<f64> {
        let mut columns = self.columns(times);
        let ones = vec![1.0; self.values.len()];
        let mut left = residual(&columns, x, &ones);
        for (time, a) in times.iter().zip(&x[1..]) {
            columns.push(self.each(|t| a * self.shape.slope(t, *time)));
        }
        // An amplitude that is 0 is held there.
        let held: Vec<bool> = (0..columns.len()).map(|k| k < x.len() && x[k] == 0.0).collect();
        let n = times.len();
        for (k, c) in columns.iter_mut().enumerate() {
            let size = norm(c);
            let damped =
                (0..n).map(|i| if k == x.len() + i { damping.sqrt() * size.max(1e-12) } else { 0.0 });
            c.extend(damped);
        }
        left.extend(std::iter::repeat_n(0.0, n));
        let kept: Vec<usize> = (0..columns.len()).filter(|k| !held[*k]).collect();
        let some: Vec<&[f64]> = kept.iter().map(|k| &columns[*k][..]).collect();
        let mut step = vec![0.0; n];
        for (k, value) in kept.into_iter().zip(least_squares(&some, &left)) {
            if k >= x.len() {
                step[k - x.len()] = value;
            }
        }
        step
    }
}

/// The residual that is good enough when `least` is the least one.
fn allowed(least: f64) -> f64 {
    (1.1 * least).max(ROUNDING)
}

/// Two terms as one: amplitudes added, logarithms of the times averaged by them.
fn together(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    let sum = a[0] + b[0];
    [sum, libm::exp((a[0] * libm::log(a[1]) + b[0] * libm::log(b[1])) / sum)]
}

/// One term fewer: the neighbours that cost least become one.
fn merged(terms: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let cost = |k: usize| {
        let (a, b) = (terms[k], terms[k + 1]);
        let apart = libm::log(b[1] / a[1]);
        a[0] * b[0] / (a[0] + b[0]) * apart * apart
    };
    let Some(least) = (0..terms.len() - 1).min_by(|i, j| cost(*i).total_cmp(&cost(*j))) else {
        return terms.to_vec();
    };
    let mut out = terms.to_vec();
    let second = out.remove(least + 1);
    out[least] = together(out[least], second);
    out
}

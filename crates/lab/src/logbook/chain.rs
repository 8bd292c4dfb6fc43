//! Draws from a posterior: chains of Metropolis steps that learn their size while they warm up, with diagnostics.

use calotte_answers::{Watch, each};
use calotte_chance::Stream;

/// How chains are walked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Walk {
    /// Chains.
    pub chains: usize,
    /// Steps before the first kept draw, in which the steps' size is learned.
    pub warm_up: usize,
    /// Draws kept of each chain, one a step.
    pub draws: usize,
    /// Seed.
    pub seed: u64,
}

impl Default for Walk {
    fn default() -> Self {
        Self { chains: 4, warm_up: 1200, draws: 2000, seed: 1 }
    }
}

/// What the chains hold.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Draws {
    /// Places by chain, then by step.
    pub chains: Vec<Vec<Vec<f64>>>,
    /// Share of steps taken.
    pub accepted: f64,
    /// Evaluations of the density.
    pub evaluations: u64,
}

/// Places tried for each start of a chain.
const SCOUTS: usize = 60;
/// Steps between two looks at the size of the steps.
const LOOK: usize = 50;

/// Walks. `log_density` is known up to a constant, `None` outside the bounds. `Err` when the watch stops it, `Ok(None)` when no
/// likely place is found.
///
/// Random-walk Metropolis with the covariance of the chain so far (Haario, Saksman & Tamminen 2001, Bernoulli 7, 223) and a
/// factor that tends to an acceptance of 0.3, both frozen after the warm-up, so that what is kept is a Markov chain. The chains do
/// not know of one another: the same draws for any number of threads.
pub(crate) fn walk(
    bounds: &[[f64; 2]],
    log_density: &(dyn Fn(&[f64]) -> Option<f64> + Sync),
    how: &Walk,
    watch: &Watch<'_>,
) -> Result<Option<Draws>, Stopped> {
    let found = each(how.chains, watch, |c| chain(bounds, log_density, how, c as u64)).ok_or(Stopped)?;
    let Some(found) = found.into_iter().collect::<Option<Vec<_>>>() else { return Ok(None) };
    let accepted = found.iter().map(|f| f.1).sum::<f64>() / how.chains as f64;
    let evaluations = (how.chains * (SCOUTS + how.warm_up + how.draws)) as u64;
    Ok(Some(Draws { chains: found.into_iter().map(|f| f.0).collect(), accepted, evaluations }))
}

/// The watch stopped it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Stopped;

/// One chain and its share of steps taken.
fn chain(
    bounds: &[[f64; 2]],
    log_density: &(dyn Fn(&[f64]) -> Option<f64> + Sync),
    how: &Walk,
    number: u64,
) -> Option<(Vec<Vec<f64>>, f64)> {
    let n = bounds.len();
    let mut stream = Stream::of(how.seed, number + 1);
    // The best of some places all over the bounds.
    let mut best: Option<(Vec<f64>, f64)> = None;
    for _ in 0..SCOUTS {
        let x: Vec<f64> = bounds.iter().map(|[a, b]| a + (b - a) * stream.unit()).collect();
        if let Some(d) = log_density(&x).filter(|d| d.is_finite())
            && best.as_ref().is_none_or(|b| d > b.1)
        {
            best = Some((x, d));
        }
    }
    let (mut x, mut here) = best?;
    let mut steps = Steps::new(bounds);
    let mut kept = Vec::with_capacity(how.draws);
    let mut taken = 0_usize;
    let mut lately = 0_usize;
    for i in 0..how.warm_up + how.draws {
        let y = steps.from(&x, &mut stream);
        let there = log_density(&y);
        let u = stream.unit();
        if let Some(d) = there.filter(|d| d.is_finite())
            && libm::log(u) < d - here
        {
            (x, here) = (y, d);
            taken += usize::from(i >= how.warm_up);
            lately += 1;
        }
        if i < how.warm_up {
            // The first third only climbs; it says nothing of the spread.
            if i >= how.warm_up / 3 {
                steps.learn(&x);
            }
            if (i + 1) % LOOK == 0 {
                steps.suit(lately as f64 / LOOK as f64, n);
                lately = 0;
            }
        } else {
            kept.push(x.clone());
        }
    }
    Some((kept, taken as f64 / how.draws.max(1) as f64))
}

/// Steps with a covariance that is learned.
struct Steps {
    factor: f64,
    count: f64,
    mean: Vec<f64>,
    /// Sum of the products of deviations.
    products: Vec<Vec<f64>>,
    /// Lower triangle whose square is the covariance of a step, before the factor.
    lower: Vec<Vec<f64>>,
    least: Vec<f64>,
}

impl Steps {
    fn new(bounds: &[[f64; 2]]) -> Self {
        let n = bounds.len();
        let wide: Vec<f64> = bounds.iter().map(|[a, b]| b - a).collect();
        let diagonal = |of: &dyn Fn(usize) -> f64| {
            (0..n).map(|i| (0..n).map(|j| if i == j { of(i) } else { 0.0 }).collect()).collect()
        };
        Self {
            factor: 1.0,
            count: 0.0,
            mean: vec![0.0; n],
            products: diagonal(&|_| 0.0),
            lower: diagonal(&|i| 0.05 * wide[i]),
            least: wide.iter().map(|w| (1e-4 * w).powi(2)).collect(),
        }
    }

    fn from(&self, x: &[f64], stream: &mut Stream) -> Vec<f64> {
        let z: Vec<f64> = x.iter().map(|_| stream.normal()).collect();
        x.iter()
            .enumerate()
            .map(|(i, x)| x + self.factor * (0..=i).map(|j| self.lower[i][j] * z[j]).sum::<f64>())
            .collect()
    }

    fn learn(&mut self, x: &[f64]) {
        self.count += 1.0;
        let before: Vec<f64> = x.iter().zip(&self.mean).map(|(x, m)| x - m).collect();
        for (m, d) in self.mean.iter_mut().zip(&before) {
            *m += d / self.count;
        }
        for i in 0..x.len() {
            for j in 0..x.len() {
                self.products[i][j] += before[i] * (x[j] - self.mean[j]);
            }
        }
    }

    /// Suits the size of the steps to how many were taken of late, and their shape to the chain so far.
    fn suit(&mut self, taken: f64, n: usize) {
        self.factor *= libm::exp((taken - 0.3).clamp(-0.25, 0.4));
        if self.count < 100.0 * n as f64 / 2.0 {
            return;
        }
        let scale = 2.38 * 2.38 / n as f64 / (self.count - 1.0);
        let covariance = |i: usize, j: usize| {
            scale * self.products[i][j] + if i == j { scale.sqrt() * self.least[i] } else { 0.0 }
        };
        // Cholesky's triangle; a covariance that is not positive keeps the old one.
        let mut lower = vec![vec![0.0; n]; n];
        for i in 0..n {
            for j in 0..=i {
                let rest: f64 = (0..j).map(|k| lower[i][k] * lower[j][k]).sum();
                let left = 0.5 * (covariance(i, j) + covariance(j, i)) - rest;
                if i == j {
                    if left <= 0.0 {
                        return;
                    }
                    lower[i][i] = left.sqrt();
                } else {
                    lower[i][j] = left / lower[j][j];
                }
            }
        }
        if self.lower[0][0] != lower[0][0] && self.count < 150.0 * n as f64 {
            // A new shape of its own size.
            self.factor = self.factor.clamp(0.3, 1.0);
        }
        self.lower = lower;
    }
}

/// How well one coordinate of the chains has mixed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Mixing {
    /// Spread between halves of chains over that within (split R̂; Gelman & others 2013, Bayesian Data Analysis, 3rd ed., 11.4):
    /// near 1 when they agree.
    pub r_hat: f64,
    /// Independent draws that would tell as much (from autocorrelations up to the first negative pair: Geyer 1992, Statistical
    /// Science 7, 473).
    pub effective: f64,
}

/// Mixing of coordinate `i`.
pub(crate) fn mixing(draws: &Draws, i: usize) -> Mixing {
    let halves: Vec<Vec<f64>> = draws
        .chains
        .iter()
        .flat_map(|c| {
            let values: Vec<f64> = c.iter().map(|x| x[i]).collect();
            let half = values.len() / 2;
            [values[..half].to_vec(), values[half..2 * half].to_vec()]
        })
        .collect();
    let (m, n) = (halves.len() as f64, halves.first().map_or(0, Vec::len));
    if n < 4 {
        return Mixing { r_hat: f64::INFINITY, effective: 0.0 };
    }
    let length = n as f64;
    let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
    let means: Vec<f64> = halves.iter().map(|h| mean(h)).collect();
    let within = halves
        .iter()
        .zip(&means)
        .map(|(h, m)| h.iter().map(|x| (x - m).powi(2)).sum::<f64>() / (length - 1.0))
        .sum::<f64>()
        / m;
    let whole = mean(&means);
    let among = length * means.iter().map(|x| (x - whole).powi(2)).sum::<f64>() / (m - 1.0);
    if within <= 0.0 {
        return Mixing { r_hat: if among > 0.0 { f64::INFINITY } else { 1.0 }, effective: 0.0 };
    }
    let pooled = (length - 1.0) / length * within + among / length;
    let at_lag = |lag: usize| {
        let products = |(h, m): (&Vec<f64>, &f64)| {
            h[..n - lag].iter().zip(&h[lag..]).map(|(a, b)| (a - m) * (b - m)).sum::<f64>() / length
        };
        let together = halves.iter().zip(&means).map(products).sum::<f64>() / m;
        1.0 - (within * (length - 1.0) / length - together) / pooled
    };
    let mut sum = 0.0;
    let mut before = f64::INFINITY;
    let mut lag = 0;
    while lag + 1 < n {
        let pair = at_lag(lag) + at_lag(lag + 1);
        if pair <= 0.0 {
            break;
        }
        before = before.min(pair);
        sum += before;
        lag += 2;
    }
    let time = (2.0 * sum - 1.0).max(1.0 / libm::log10(m * length));
    Mixing { r_hat: (pooled / within).sqrt(), effective: m * length / time }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::logbook::tests::unwatched;

    fn walked(bounds: &[[f64; 2]], density: &(dyn Fn(&[f64]) -> Option<f64> + Sync), how: &Walk) -> Draws {
        unwatched(|watch| walk(bounds, density, how, watch)).unwrap().unwrap()
    }

    /// Closed form: a normal density of two correlated numbers; means, deviations and correlation come back.
    #[test]
    fn a_known_density_comes_back() {
        let (sd, rho) = ([0.2, 1.5], 0.8);
        let density = move |x: &[f64]| {
            let (a, b) = ((x[0] - 0.3) / sd[0], (x[1] + 1.0) / sd[1]);
            Some(-0.5 * (a * a - 2.0 * rho * a * b + b * b) / (1.0 - rho * rho))
        };
        let how = Walk { draws: 6000, ..Walk::default() };
        let draws = walked(&[[-5.0, 5.0], [-20.0, 20.0]], &density, &how);
        let all: Vec<&Vec<f64>> = draws.chains.iter().flatten().collect();
        let mean = |f: &dyn Fn(&Vec<f64>) -> f64| all.iter().map(|x| f(x)).sum::<f64>() / all.len() as f64;
        for (i, at, wide) in [(0, 0.3, 0.2), (1, -1.0, 1.5)] {
            let mixed = mixing(&draws, i);
            assert!(mixed.r_hat < 1.02 && mixed.effective > 1000.0, "{mixed:?}");
            let m = mean(&|x| x[i]);
            // Four standard errors of the mean and of the deviation.
            let error = wide / mixed.effective.sqrt();
            assert!((m - at).abs() < 4.0 * error, "{m}");
            let s = mean(&|x| (x[i] - m).powi(2)).sqrt();
            assert!((s - wide).abs() < 4.0 * error, "{s}");
        }
        assert!((0.15..0.5).contains(&draws.accepted), "{}", draws.accepted);
        // The same seed, the same bits; another seed, other draws.
        assert_eq!(walked(&[[-5.0, 5.0], [-20.0, 20.0]], &density, &how), draws);
        let other = Walk { seed: 2, ..how };
        assert_ne!(walked(&[[-5.0, 5.0], [-20.0, 20.0]], &density, &other), draws);
    }

    /// Closed form: a flat density fills its bounds.
    #[test]
    fn a_flat_density_fills_its_bounds() {
        let how = Walk { draws: 8000, ..Walk::default() };
        let flat = |x: &[f64]| (x[0] > 1.0 && x[0] < 3.0).then_some(0.0);
        let draws = walked(&[[1.0, 3.0]], &flat, &how);
        let mut all: Vec<f64> = draws.chains.iter().flatten().map(|x| x[0]).collect();
        all.sort_by(f64::total_cmp);
        let error = 4.0 * 0.5 / mixing(&draws, 0).effective.sqrt();
        for share in [0.1, 0.5, 0.9] {
            let at = all[(share * all.len() as f64) as usize];
            assert!((0.5 * (at - 1.0) - share).abs() < error, "{at}");
        }
    }

    /// Closed form: an autoregressive chain with coefficient φ tells as much as n (1 − φ)/(1 + φ) draws; chains apart are told.
    #[test]
    fn diagnostics_know_slow_and_split_chains() {
        let phi: f64 = 0.8;
        let chains = (0..4)
            .map(|c| {
                let mut s = Stream::of(7, c);
                let mut x = s.normal();
                (0..5000)
                    .map(|_| {
                        x = phi * x + (1.0 - phi * phi).sqrt() * s.normal();
                        vec![x, x + 3.0 * c as f64]
                    })
                    .collect()
            })
            .collect();
        let draws = Draws { chains, accepted: 1.0, evaluations: 0 };
        let m = mixing(&draws, 0);
        let due = 20_000.0 * (1.0 - phi) / (1.0 + phi);
        assert!((m.effective / due - 1.0).abs() < 0.25 && m.r_hat < 1.01, "{m:?}");
        assert!(mixing(&draws, 1).r_hat > 2.0);
    }

    #[test]
    fn it_stops_when_told() {
        let stop = std::sync::atomic::AtomicBool::new(true);
        let watch = Watch { threads: 1, stop: &stop, progress: &|_| {} };
        assert_eq!(walk(&[[0.0, 1.0]], &|_| Some(0.0), &Walk::default(), &watch), Err(Stopped));
        assert_eq!(unwatched(|w| walk(&[[0.0, 1.0]], &|_| None, &Walk::default(), w)), Ok(None));
    }
}

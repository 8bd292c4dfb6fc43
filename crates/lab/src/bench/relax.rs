//! Relaxation or creep to a Prony series whose number of terms the readings themselves speak for.

use calotte_chance::{FitSettings, least_squares, student};
use calotte_specimen::{Creep, MemoryColumn, MemoryFit, MemoryFitFailure, MemoryTable};
use serde::Serialize;

/// Most terms that are tried.
const MOST: usize = 6;
/// Relative residuals are not told apart below this.
const ROUNDING: f64 = 1e-9;

/// How well one number of terms does.
#[derive(Clone, Debug, Serialize)]
pub struct Evidence {
    /// Terms.
    pub terms: usize,
    /// Root mean square of the relative residuals.
    pub rms: f64,
    /// Akaike's criterion with its correction for few readings (Hurvich & Tsai 1989), less the least one.
    pub aicc: f64,
    /// Schwarz's criterion (1978), less the least one.
    pub bic: f64,
    /// exp(−bic/2) over the sum of it: how the numbers of terms share the belief.
    pub weight: f64,
}

/// One term of the series taken.
#[derive(Clone, Debug, Serialize)]
pub struct TermEstimate {
    /// Share of the instantaneous modulus.
    pub share: f64,
    /// Its standard error.
    pub share_error: f64,
    /// Relaxation time, s.
    pub time_s: f64,
    /// Standard error of its logarithm: the relative error.
    pub time_relative_error: f64,
    /// 95 % interval of the share.
    pub share_95: [f64; 2],
    /// 95 % interval of the time, s.
    pub time_95_s: [f64; 2],
    /// Whether the readings support it: its time lies within them and its share is at least two standard errors.
    pub supported: bool,
}

/// A series with its errors.
#[derive(Clone, Debug, Serialize)]
pub struct MemoryEstimate {
    /// `relaxation` or `creep`: the table of the bench file.
    pub kind: &'static str,
    /// CSV file.
    pub table: String,
    /// What it holds: `modulus`, `youngs`, `ratio`, `compliance`.
    pub column: &'static str,
    /// Readings.
    pub count: usize,
    /// First and last time, s.
    pub span_s: [f64; 2],
    /// Terms, times increasing.
    pub terms: Vec<TermEstimate>,
    /// Instantaneous modulus, Pa (a pure number for ratios).
    #[serde(rename = "instantaneous_SI")]
    pub instantaneous: f64,
    /// Its relative standard error.
    pub instantaneous_relative_error: f64,
    /// Share left after a long time.
    pub share_left: f64,
    /// Its standard error.
    pub share_left_error: f64,
    /// Correlations of shares, then of logarithms of times, in the order of the terms.
    pub correlations: Vec<Vec<f64>>,
    /// Every number of terms tried.
    pub evidence: Vec<Evidence>,
    /// Whether the number of terms was asked for.
    pub asked: bool,
    /// Noise of one reading, relative: the accuracy stated, or what the residuals say.
    pub noise: f64,
    /// Whether the noise was stated.
    pub noise_stated: bool,
    /// Time (s), reading, series (SI of the column), residual relative.
    pub readings: Vec<[f64; 4]>,
    /// What should be known.
    pub notes: Vec<String>,
    /// Covariance of ln instantaneous, shares, logarithms of times.
    #[serde(skip)]
    pub(super) covariance: Vec<Vec<f64>>,
}

/// c + Σ aᵢ e^(−t/τᵢ), or c + Σ aᵢ (1 − e^(−t/τᵢ)).
fn series(growing: bool, p: &[f64], t: f64) -> f64 {
    let k = (p.len() - 1) / 2;
    let term = |i: usize| {
        let x = t * libm::exp(-p[1 + k + i]);
        libm::exp(p[1 + i]) * if growing { -libm::expm1(-x) } else { libm::exp(-x) }
    };
    libm::exp(p[0]) + (0..k).map(term).sum::<f64>()
}

/// ln instantaneous modulus, shares, logarithms of times.
fn memory(growing: bool, p: &[f64]) -> Vec<f64> {
    let k = (p.len() - 1) / 2;
    let c = libm::exp(p[0]);
    let a: Vec<f64> = p[1..=k].iter().map(|x| libm::exp(*x)).collect();
    if growing {
        let terms = (0..k).map(|i| [a[i], libm::exp(p[1 + k + i])]).collect();
        let terms = Creep { instantaneous: c, terms }.relaxation();
        let mut out = vec![-p[0]];
        out.extend(terms.iter().map(|t| t.share));
        out.extend(terms.iter().map(|t| libm::log(t.time)));
        return out;
    }
    let whole = c + a.iter().sum::<f64>();
    let mut out = vec![libm::log(whole)];
    out.extend(a.iter().map(|a| a / whole));
    out.extend(&p[1 + k..]);
    out
}

/// A fit of one number of terms.
struct Trial {
    at: Vec<f64>,
    covariance: Vec<Vec<f64>>,
    squares: f64,
}

/// Least squares of the relative residuals over logarithms of constant, amplitudes and times, from where the search of
/// [`MemoryFit`] ended. `None` when the readings do not tell so many terms apart.
fn trial(table: &MemoryTable, found: &MemoryFit) -> Option<Trial> {
    let growing = found.creep.is_some();
    let (constant, amplitudes): (f64, Vec<[f64; 2]>) = match &found.creep {
        Some(c) => (c.instantaneous, c.terms.clone()),
        None => {
            let left = 1.0 - found.terms.iter().map(|t| t.share).sum::<f64>();
            let each = found.terms.iter().map(|t| [t.share * found.instantaneous, t.time]).collect();
            (left * found.instantaneous, each)
        }
    };
    let mut start = vec![libm::log(constant)];
    start.extend(amplitudes.iter().map(|a| libm::log(a[0])));
    start.extend(amplitudes.iter().map(|a| libm::log(a[1])));
    let mut miss = |p: &[f64], out: &mut Vec<f64>| {
        out.extend(table.times.iter().zip(&table.values).map(|(t, y)| series(growing, p, *t) / y - 1.0));
        true
    };
    let settings = FitSettings { tolerance: 1e-8, difference: 1e-5, ..FitSettings::default() };
    let fit = least_squares(&start, &vec![1.0; start.len()], &mut miss, &settings);
    let fit = fit.ok().filter(|f| f.at.iter().all(|x| x.abs() < 60.0))?;
    Some(Trial { squares: fit.squares, covariance: fit.covariance, at: fit.at })
}

/// Twice the negative log likelihood of relative residuals, up to a constant.
fn misfit(squares: f64, count: f64, noise: Option<f64>) -> f64 {
    match noise {
        Some(s) => squares / (s * s),
        None => count * libm::log((squares / count).max(ROUNDING * ROUNDING)),
    }
}

/// Fits a table. Without `asked` the number of terms is the one of least Schwarz's criterion: its charge for a term grows with the
/// number of readings, so that a term that only follows noise is left out the more surely the more there are; Akaike's, which
/// keeps such terms once in six or so however many the readings, is given beside.
///
/// # Errors
/// Why no series fits.
pub(super) fn relaxation(
    kind: &'static str,
    name: &str,
    table: &MemoryTable,
    accuracy: Option<f64>,
    asked: Option<usize>,
) -> Result<MemoryEstimate, String> {
    let count = table.values.len();
    let n = count as f64;
    let failed = |f: MemoryFitFailure| format!("{f}; {}", f.hint());
    let most = asked.unwrap_or(MOST).min(count.saturating_sub(2) / 2);
    let mut found = MemoryFit::each(table, most.max(1)).map_err(failed)?;
    found.reverse();
    let trials: Vec<(usize, Trial)> = found
        .iter()
        .filter(|f| asked.is_none_or(|k| f.terms.len() == k) && f.terms.len() <= most)
        .filter_map(|f| Some((f.terms.len(), trial(table, f)?)))
        .collect();
    if trials.is_empty() {
        return Err(match asked {
            Some(k) => format!("the readings do not tell {k} terms apart"),
            None => "no series fits the readings".to_owned(),
        });
    }
    let unknowns = |terms: usize| (2 * terms + 1 + usize::from(accuracy.is_none())) as f64;
    let mut evidence: Vec<Evidence> = trials
        .iter()
        .map(|(terms, t)| {
            let (q, m) = (unknowns(*terms), misfit(t.squares, n, accuracy));
            let few = n - q - 1.0;
            Evidence {
                terms: *terms,
                rms: (t.squares / n).sqrt(),
                aicc: if few > 0.0 { m + 2.0 * q + 2.0 * q * (q + 1.0) / few } else { f64::INFINITY },
                bic: m + q * libm::log(n),
                weight: 0.0,
            }
        })
        .collect();
    let least = |of: fn(&Evidence) -> f64, all: &[Evidence]| all.iter().map(of).fold(f64::INFINITY, f64::min);
    let (aicc, bic) = (least(|e| e.aicc, &evidence), least(|e| e.bic, &evidence));
    evidence.iter_mut().for_each(|e| (e.aicc, e.bic) = (e.aicc - aicc, e.bic - bic));
    let total: f64 = evidence.iter().map(|e| libm::exp(-0.5 * e.bic)).sum();
    evidence.iter_mut().for_each(|e| e.weight = libm::exp(-0.5 * e.bic) / total);
    let best = evidence.iter().position(|e| e.bic == 0.0).unwrap_or(0);
    let (terms, taken) = (&trials[best].0, &trials[best].1);
    let growing = table.column == MemoryColumn::Compliance;
    let freedom = count - (2 * terms + 1);
    let scatter = if freedom > 0 { (taken.squares / freedom as f64).sqrt() } else { f64::INFINITY };
    let mut notes = Vec::new();
    let noise = match accuracy {
        Some(a) => {
            if scatter.is_finite() && scatter > 1.5 * a {
                notes.push(format!(
                    "The series misses the readings by {:.2} %, more than the stated accuracy of {:.2} %; the errors are widened by that.",
                    100.0 * scatter, 100.0 * a
                ));
            }
            if scatter.is_finite() { a.max(scatter) } else { a }
        }
        None => scatter,
    };
    if !noise.is_finite() {
        notes.push("As many unknowns as readings: nothing says how good the series is.".to_owned());
    }
    // Widened where the noise is known from few residuals only.
    let wide =
        if accuracy.is_some() || freedom == 0 { 1.96 } else { student::quantile(0.975, freedom as f64) };
    let centre = memory(growing, &taken.at);
    let columns: Vec<Vec<f64>> = (0..taken.at.len())
        .map(|j| {
            let moved = |by: f64| {
                let mut p = taken.at.clone();
                p[j] += by;
                memory(growing, &p)
            };
            moved(1e-5).iter().zip(moved(-1e-5)).map(|(a, b)| (a - b) / 2e-5).collect()
        })
        .collect();
    let size = centre.len();
    let entry = |a: usize, b: usize| {
        let mut sum = 0.0;
        for i in 0..size {
            for j in 0..size {
                sum += columns[i][a] * taken.covariance[i][j] * columns[j][b];
            }
        }
        sum * noise * noise
    };
    let covariance: Vec<Vec<f64>> = (0..size).map(|a| (0..size).map(|b| entry(a, b)).collect()).collect();
    let error = |i: usize| covariance[i][i].max(0.0).sqrt();
    let span = [table.times[0], table.times[count - 1]];
    let k = *terms;
    let estimates: Vec<TermEstimate> = (0..k)
        .map(|i| {
            let (share, log) = (centre[1 + i], centre[1 + k + i]);
            let (es, et) = (error(1 + i), error(1 + k + i));
            let time = libm::exp(log);
            TermEstimate {
                share,
                share_error: es,
                time_s: time,
                time_relative_error: et,
                share_95: [share - wide * es, share + wide * es],
                time_95_s: [libm::exp(log - wide * et), libm::exp(log + wide * et)],
                supported: share > 2.0 * es && time >= span[0] && time <= span[1],
            }
        })
        .collect();
    for t in estimates.iter().filter(|t| !t.supported) {
        let why = if t.time_s < span[0] || t.time_s > span[1] {
            "its time lies beyond the readings"
        } else {
            "its share is within its error of nothing"
        };
        notes.push(format!("The term of {:.3} s is not supported by the readings: {why}.", t.time_s));
    }
    if let Some(next) =
        evidence.iter().enumerate().filter(|(i, e)| *i != best && e.bic < 2.0).map(|(_, e)| e).next()
    {
        notes.push(format!("{} terms are hardly less likely than {k}.", next.terms));
    }
    if asked.is_none() && evidence.iter().any(|e| e.aicc == 0.0 && e.terms != k) {
        let other = evidence.iter().find(|e| e.aicc == 0.0).map_or(k, |e| e.terms);
        notes.push(format!("Akaike's criterion would take {other}."));
    }
    let left = 1.0 - estimates.iter().map(|t| t.share).sum::<f64>();
    let mut left_variance = 0.0;
    for a in 1..=k {
        left_variance += covariance[a][1..=k].iter().sum::<f64>();
    }
    let correlation = |a: usize, b: usize| covariance[a][b] / (error(a) * error(b)).max(f64::MIN_POSITIVE);
    Ok(MemoryEstimate {
        kind,
        table: name.to_owned(),
        column: table.column.name(),
        count,
        span_s: span,
        terms: estimates,
        instantaneous: libm::exp(centre[0]),
        instantaneous_relative_error: error(0),
        share_left: left,
        share_left_error: left_variance.max(0.0).sqrt(),
        correlations: (1..size).map(|a| (1..size).map(|b| correlation(a, b)).collect()).collect(),
        evidence,
        asked: asked.is_some(),
        noise,
        noise_stated: accuracy.is_some(),
        readings: table
            .times
            .iter()
            .zip(&table.values)
            .map(|(t, y)| {
                let fitted = series(growing, &taken.at, *t);
                [*t, *y, fitted, fitted / y - 1.0]
            })
            .collect(),
        notes,
        covariance,
    })
}

impl MemoryEstimate {
    /// What is left of the instantaneous modulus after `t` seconds, and its standard error.
    pub(super) fn left_after(&self, t: f64) -> [f64; 2] {
        let k = self.terms.len();
        let mut slopes = vec![0.0; 2 * k + 1];
        let mut left = 1.0;
        for (i, term) in self.terms.iter().enumerate() {
            let x = t / term.time_s;
            left += term.share * libm::expm1(-x);
            slopes[1 + i] = libm::expm1(-x);
            // By the logarithm of the time.
            slopes[1 + k + i] = term.share * x * libm::exp(-x);
        }
        let mut variance = 0.0;
        for (a, p) in slopes.iter().enumerate() {
            for (b, q) in slopes.iter().enumerate() {
                variance += p * q * self.covariance[a][b];
            }
        }
        [left, variance.max(0.0).sqrt()]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use calotte_chance::Stream;

    const TRUE: [[f64; 2]; 2] = [[0.12, 0.5], [0.2, 30.0]];

    fn invented(seed: u64, noise: f64, column: MemoryColumn) -> MemoryTable {
        let mut s = Stream::of(91, seed);
        let times: Vec<f64> = (0..60).map(|i| libm::pow(10.0, -2.0 + 5.0 * f64::from(i) / 59.0)).collect();
        let value = |t: f64| match column {
            MemoryColumn::Compliance => {
                1e-6 * (1.0 + TRUE.iter().map(|[a, tau]| -a * libm::expm1(-t / tau)).sum::<f64>())
            }
            _ => 2e6 * (1.0 + TRUE.iter().map(|[a, tau]| a * libm::expm1(-t / tau)).sum::<f64>()),
        };
        let values = times.iter().map(|t| value(*t) * (1.0 + noise * s.normal())).collect();
        MemoryTable { column, times, values }
    }

    /// 200 seeds: the evidence takes two terms nearly always, and both shares and both times are covered in 90 to 99 of 100. What was
    /// found with two terms comes back.
    fn two_terms_cover(
        kind: &'static str,
        column: MemoryColumn,
        truth: [[f64; 2]; 2],
    ) -> Vec<MemoryEstimate> {
        let mut hits = [0; 4];
        let mut found = Vec::new();
        for seed in 0..200 {
            let m = relaxation(kind, "t.csv", &invented(seed, 0.003, column), None, None).unwrap();
            if m.terms.len() != 2 {
                continue;
            }
            for (i, (t, [share, time])) in m.terms.iter().zip(truth).enumerate() {
                hits[i] += usize::from((t.share_95[0]..=t.share_95[1]).contains(&share));
                hits[2 + i] += usize::from((t.time_95_s[0]..=t.time_95_s[1]).contains(&time));
            }
            found.push(m);
        }
        assert!(found.len() >= 194, "{}", found.len());
        hits.iter().for_each(|h| nine_of_ten(*h, found.len()));
        found
    }

    fn nine_of_ten(hits: usize, of: usize) {
        assert!(hits * 100 >= 90 * of && hits * 100 <= 99 * of, "{hits} of {of}");
    }

    #[test]
    fn intervals_cover() {
        let found = two_terms_cover("relaxation", MemoryColumn::Youngs, TRUE);
        let of = |hit: &dyn Fn(&MemoryEstimate) -> bool| found.iter().filter(|m| hit(m)).count();
        let instantaneous =
            of(&|m| libm::log(m.instantaneous / 2e6).abs() < 2.0 * m.instantaneous_relative_error);
        nine_of_ten(instantaneous, found.len());
        nine_of_ten(of(&|m| (m.share_left - 0.68).abs() < 2.0 * m.share_left_error), found.len());
    }

    /// Creep with its exact conversion: the converted shares and times are covered too.
    #[test]
    fn creep_covers() {
        let truth =
            Creep { instantaneous: 1e-6, terms: TRUE.map(|[a, t]| [1e-6 * a, t]).to_vec() }.relaxation();
        let truth = std::array::from_fn(|i| [truth[i].share, truth[i].time]);
        two_terms_cover("creep", MemoryColumn::Compliance, truth);
    }

    /// One term too many is told; a straight noise has none.
    #[test]
    fn terms_that_are_not_there() {
        let table = invented(5, 0.003, MemoryColumn::Ratio);
        let m = relaxation("relaxation", "t.csv", &table, Some(0.003), None).unwrap();
        assert_eq!(m.terms.len(), 2);
        assert!(m.evidence.iter().find(|e| e.terms == 1).unwrap().bic > 10.0, "{:?}", m.evidence);
        match relaxation("relaxation", "t.csv", &table, Some(0.003), Some(4)) {
            Err(e) => assert!(e.contains("4 terms"), "{e}"),
            Ok(m) => assert!(m.terms.iter().any(|t| !t.supported), "{m:?}"),
        }
        let [left, error] = m.left_after(3.0);
        let truth = 1.0 + TRUE.iter().map(|[a, tau]| a * libm::expm1(-3.0 / tau)).sum::<f64>();
        assert!((left - truth).abs() < 4.0 * error && error < 0.01, "{left} {truth} {error}");
    }
}

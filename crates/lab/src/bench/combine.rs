//! Several estimates of one modulus to one, after asking whether they agree.

use calotte_chance::{FitSettings, chi_squared, least_squares};
use serde::Serialize;

use super::estimate::{Estimate, NORMAL_95};

/// Chance of agreeing so badly below which estimates are said to disagree.
const DISAGREE: f64 = 0.05;

/// The modulus from all tests.
#[derive(Clone, Debug, Serialize)]
pub struct Combined {
    /// Young's modulus, Pa.
    #[serde(rename = "youngs_modulus_Pa")]
    pub modulus: f64,
    /// Standard deviation of its logarithm: the relative error.
    pub relative_deviation: f64,
    /// 95 % interval, Pa.
    #[serde(rename = "interval_95_Pa")]
    pub interval: [f64; 2],
    /// χ² of the estimates about it, as their own errors stand.
    pub chi_squared: f64,
    /// Estimates less 1.
    pub freedom: usize,
    /// Chance of a χ² at least as large if the errors are right.
    pub chance: f64,
    /// √(χ²/freedom): above 1 the estimates scatter more than their errors say (Birge 1932).
    pub birge_ratio: f64,
    /// Whether they agree.
    pub agree: bool,
    /// Relative standard deviation added to every estimate so that χ² equals its freedom; 0 when they agree.
    pub added_deviation: f64,
    /// Weight of each estimate, in the order of `estimates`.
    pub weights: Vec<f64>,
    /// Inputs that several tests share, whose error does not average out.
    pub shared: Vec<String>,
}

/// One number through all the logarithms, errors of shared inputs as unknowns of their own; `extra` is added to each estimate's own
/// variance. Returns the mean, its deviation, the squares.
fn fit(all: &[Estimate], shared: &[String], extra: f64) -> Option<[f64; 3]> {
    let own = |e: &Estimate| {
        let v: f64 =
            e.budget.iter().filter(|b| !shared.contains(&b.input)).map(|b| b.effect * b.effect).sum();
        (v + extra * extra).sqrt().max(1e-9)
    };
    let effect =
        |e: &Estimate, name: &str| e.budget.iter().find(|b| b.input == name).map_or(0.0, |b| b.effect);
    let mut miss = |p: &[f64], out: &mut Vec<f64>| {
        for e in all {
            let common: f64 = shared.iter().zip(&p[1..]).map(|(s, z)| effect(e, s) * z).sum();
            out.push((e.log() - p[0] - common) / own(e));
        }
        out.extend_from_slice(&p[1..]);
        true
    };
    let mut start = vec![all[0].log()];
    start.resize(1 + shared.len(), 0.0);
    let f = least_squares(&start, &vec![1.0; start.len()], &mut miss, &FitSettings::default()).ok()?;
    Some([f.at[0], f.deviation(0), f.squares])
}

/// The weighted mean of the logarithms (errors of moduli are relative). When the estimates disagree, each gets the same further
/// variance until χ² is what chance would make it (Paule & Mandel 1982, J. Res. Natl. Bur. Stand. 87, 377); `None` without estimates.
pub(super) fn combined(all: &[Estimate]) -> Option<Combined> {
    let sure: Vec<Estimate> = all.iter().filter(|e| e.relative_deviation > 0.0).cloned().collect();
    if sure.is_empty() || sure.len() < all.len() {
        return None;
    }
    let mut shared: Vec<String> = Vec::new();
    for (i, e) in sure.iter().enumerate() {
        for b in &e.budget {
            let again = sure[i + 1..].iter().any(|o| o.budget.iter().any(|c| c.input == b.input));
            if again && !shared.contains(&b.input) {
                shared.push(b.input.clone());
            }
        }
    }
    let [_, _, squares] = fit(&sure, &shared, 0.0)?;
    let freedom = sure.len() - 1;
    let chance = if freedom > 0 { chi_squared::above(squares, freedom as f64) } else { 1.0 };
    let agree = chance >= DISAGREE;
    let mut added = 0.0;
    if !agree {
        let (mut low, mut high) = (0.0, 10.0);
        for _ in 0..60 {
            added = 0.5 * (low + high);
            if fit(&sure, &shared, added)?[2] > freedom as f64 { low = added } else { high = added }
        }
    }
    let [log, deviation, _] = fit(&sure, &shared, added)?;
    // What each estimate moves the mean by.
    let weights = (0..sure.len())
        .map(|i| {
            let mut moved = sure.clone();
            moved[i].modulus *= libm::exp(1e-3);
            fit(&moved, &shared, added).map_or(f64::NAN, |f| (f[0] - log) / 1e-3)
        })
        .collect();
    Some(Combined {
        modulus: libm::exp(log),
        relative_deviation: deviation,
        interval: [-1.0, 1.0].map(|s| libm::exp(log + s * NORMAL_95 * deviation)),
        chi_squared: squares,
        freedom,
        chance,
        birge_ratio: if freedom > 0 { (squares / freedom as f64).sqrt() } else { 0.0 },
        agree,
        added_deviation: added,
        weights,
        shared,
    })
}

#[cfg(test)]
mod tests {
    use super::super::estimate::{BudgetRow, finished};
    use super::*;
    use calotte_chance::Stream;

    fn one(log: f64, rows: &[(&str, f64)]) -> Estimate {
        let row = |(n, e): &(&str, f64)| BudgetRow {
            input: (*n).to_owned(),
            value: None,
            deviation: None,
            unit: "1",
            effect: *e,
            share: 0.0,
        };
        finished("droop", "t", log, rows.iter().map(row).collect())
    }

    /// Closed form: weights as 1/σ²; with a shared error the variance is that of the generalised mean.
    #[test]
    fn weights_are_textbook() {
        let c = combined(&[one(1.0, &[("a", 0.1)]), one(1.05, &[("b", 0.2)])]).unwrap();
        assert!((c.weights[0] - 0.8).abs() < 1e-6 && (libm::log(c.modulus) - 1.01).abs() < 1e-8);
        assert!((c.relative_deviation - f64::sqrt(0.008)).abs() < 1e-8 && c.agree);
        assert!((c.chi_squared - 0.05 * 0.05 / 0.05).abs() < 1e-8);
        // Equal own errors 0.1 and a common one 0.3: variance 0.005 + 0.09.
        let c =
            combined(&[one(1.0, &[("a", 0.1), ("s", 0.3)]), one(1.0, &[("b", 0.1), ("s", 0.3)])]).unwrap();
        assert!((c.relative_deviation - f64::sqrt(0.095)).abs() < 1e-6, "{c:?}");
        assert_eq!(c.shared, ["s"]);
    }

    /// Estimates that differ by more than they say: told and widened, so that 95 % intervals of the mean cover again.
    #[test]
    fn disagreement_widens() {
        let c = combined(&[one(0.0, &[("a", 0.02)]), one(0.4, &[("b", 0.02)]), one(0.1, &[("c", 0.02)])])
            .unwrap();
        assert!(!c.agree && c.birge_ratio > 5.0 && c.relative_deviation > 0.1, "{c:?}");
        let mut hits = 0;
        for seed in 0..200 {
            let mut s = Stream::of(111, seed);
            let all: Vec<Estimate> =
                ["a", "b", "c", "d"].iter().map(|n| one(0.05 * s.normal(), &[(*n, 0.05)])).collect();
            let c = combined(&all).unwrap();
            hits += u64::from(libm::log(c.interval[0]) < 0.0 && libm::log(c.interval[1]) > 0.0);
        }
        assert!((180..=198).contains(&hits), "{hits} of 200");
    }
}

//! One estimate of Young's modulus from readings, with what each reading's error does to it.

use calotte_chance::student;
use serde::Serialize;

use super::read::Placed;

/// A tolerance is two standard deviations, as everywhere in case files.
pub(super) const TOLERANCE_IN_DEVIATIONS: f64 = 2.0;
/// Half the width of a 95 % interval in standard deviations.
pub(super) const NORMAL_95: f64 = 1.959_963_984_540_054;

/// A number that enters an estimate.
#[derive(Clone, Debug)]
pub(super) struct Reading {
    /// What it is, the same for the same number in two tests.
    pub(super) id: String,
    /// SI value.
    pub(super) value: f64,
    /// Standard deviation, SI.
    pub(super) deviation: f64,
    /// SI unit.
    pub(super) unit: &'static str,
}

/// SI unit of what a quantity measures.
pub(super) fn si_unit(p: &Placed) -> &'static str {
    use calotte_quantity::Dimension as D;
    match p.quantity.dimension() {
        D::Length => "m",
        D::Angle => "rad",
        D::Pressure => "Pa",
        D::Density => "kg/m^3",
        D::Force => "N",
        D::Acceleration => "m/s^2",
        D::Time => "s",
        D::Rate => "Hz",
        D::Curvature => "1/m",
        _ => "1",
    }
}

impl Reading {
    /// One quantity: its tolerance is two standard deviations.
    pub(super) fn of(id: String, p: &Placed) -> Self {
        let deviation = p.quantity.half_width.unwrap_or(0.0) / TOLERANCE_IN_DEVIATIONS;
        Self { id, value: p.quantity.value, deviation, unit: si_unit(p) }
    }

    /// The same reading taken again: the mean. What is stated beside each is taken to be common to all of them (scale, zero,
    /// parallax), and their scatter comes on top: s/√n, widened so that 95 % intervals stay 95 % although s comes from n values
    /// only (Student 1908).
    pub(super) fn again(id: String, all: &[Placed]) -> Self {
        let n = all.len() as f64;
        let mean = all.iter().map(|p| p.quantity.value).sum::<f64>() / n;
        let stated = all
            .iter()
            .map(|p| p.quantity.half_width.unwrap_or(0.0) / TOLERANCE_IN_DEVIATIONS)
            .fold(0.0, f64::max);
        let scatter = if all.len() > 1 {
            let squares: f64 =
                all.iter().map(|p| (p.quantity.value - mean) * (p.quantity.value - mean)).sum();
            let wide = student::quantile(0.975, n - 1.0) / NORMAL_95;
            wide * (squares / (n - 1.0) / n).sqrt()
        } else {
            0.0
        };
        let deviation = (stated * stated + scatter * scatter).sqrt();
        Self { id, value: mean, deviation, unit: all.first().map_or("1", si_unit) }
    }

    /// A number without an error.
    pub(super) fn exact(id: &str, value: f64, unit: &'static str) -> Self {
        Self { id: id.to_owned(), value, deviation: 0.0, unit }
    }
}

/// What one error does.
#[derive(Clone, Debug, Serialize)]
pub struct BudgetRow {
    /// Whose error it is.
    pub input: String,
    /// SI value; `None` for an error that is no reading's.
    #[serde(rename = "value_SI")]
    pub value: Option<f64>,
    /// Its standard deviation, SI.
    #[serde(rename = "deviation_SI")]
    pub deviation: Option<f64>,
    /// SI unit of both.
    pub unit: &'static str,
    /// What one standard deviation of it does to the modulus, as a share of it, with sign.
    pub effect: f64,
    /// Share of the variance.
    pub share: f64,
}

/// An estimate of Young's modulus.
#[derive(Clone, Debug, Serialize)]
pub struct Estimate {
    /// Name of the test.
    pub test: String,
    /// Kind of the test.
    pub kind: &'static str,
    /// Young's modulus, Pa.
    #[serde(rename = "youngs_modulus_Pa")]
    pub modulus: f64,
    /// Standard deviation of its logarithm: the relative error.
    pub relative_deviation: f64,
    /// 95 % interval, Pa.
    #[serde(rename = "interval_95_Pa")]
    pub interval: [f64; 2],
    /// What each error does, the largest first.
    pub budget: Vec<BudgetRow>,
    /// What should be known of the test.
    pub notes: Vec<String>,
}

impl Estimate {
    pub(super) fn log(&self) -> f64 {
        libm::log(self.modulus)
    }
}

/// The estimate by a model that gives the logarithm of the modulus from the readings, with slopes by central differences over
/// ±0.3 standard deviations (the delta method), and errors that are no reading's beside.
///
/// # Errors
/// The model's, at the readings as they are. Where it has none beside them, the slope of the other side is taken.
pub(super) fn estimate(
    kind: &'static str,
    test: &str,
    readings: &[Reading],
    beside: &[(String, f64)],
    model: &mut dyn FnMut(&[f64]) -> Result<f64, String>,
) -> Result<Estimate, String> {
    let values: Vec<f64> = readings.iter().map(|r| r.value).collect();
    let log = model(&values)?;
    if !log.is_finite() {
        return Err("the readings give no modulus".to_owned());
    }
    let mut budget = Vec::new();
    for (i, r) in readings.iter().enumerate().filter(|(_, r)| r.deviation > 0.0) {
        let h = 0.3 * r.deviation;
        let mut at = |by: f64| {
            let mut v = values.clone();
            v[i] += by;
            model(&v).ok().filter(|x| x.is_finite())
        };
        let slope = match (at(h), at(-h)) {
            (Some(a), Some(b)) => (a - b) / (2.0 * h),
            (Some(a), None) => (a - log) / h,
            (None, Some(b)) => (log - b) / h,
            (None, None) => return Err(format!("{}: its error is too large for an estimate", r.id)),
        };
        budget.push(BudgetRow {
            input: r.id.clone(),
            value: Some(r.value),
            deviation: Some(r.deviation),
            unit: r.unit,
            effect: slope * r.deviation,
            share: 0.0,
        });
    }
    for (what, effect) in beside.iter().filter(|b| b.1 > 0.0) {
        let (value, deviation) = (None, None);
        budget.push(BudgetRow {
            input: what.clone(),
            value,
            deviation,
            unit: "1",
            effect: *effect,
            share: 0.0,
        });
    }
    Ok(finished(kind, test, log, budget))
}

/// An estimate from its logarithm and budget.
pub(super) fn finished(kind: &'static str, test: &str, log: f64, mut budget: Vec<BudgetRow>) -> Estimate {
    let variance: f64 = budget.iter().map(|b| b.effect * b.effect).sum();
    if variance > 0.0 {
        budget.iter_mut().for_each(|b| b.share = b.effect * b.effect / variance);
    }
    budget.sort_by(|a, b| b.share.total_cmp(&a.share));
    let deviation = variance.sqrt();
    Estimate {
        test: test.to_owned(),
        kind,
        modulus: libm::exp(log),
        relative_deviation: deviation,
        interval: [-1.0, 1.0].map(|s| libm::exp(log + s * NORMAL_95 * deviation)),
        budget,
        notes: Vec::new(),
    }
}

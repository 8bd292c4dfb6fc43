//! How the numbers of a case vary from part to part.

use calotte_chance::normal;

/// How one number is distributed.
#[derive(Clone, Debug, PartialEq)]
pub enum Law {
    /// Normal, the tolerance taken as two standard deviations, cut off there (what is out of tolerance is sorted out).
    CutNormal,
    /// Every value within the tolerance as likely.
    Uniform,
    /// Falling off evenly from the value to both ends of the tolerance.
    Triangular,
    /// Normal, the tolerance taken as two standard deviations, with its tails.
    Normal,
    /// Its logarithm is normal; median the value, two standard deviations of the logarithm the tolerance over the value.
    LogNormal,
    /// Drawn from measured values (SI, in rising order), each as likely.
    Measured(Vec<f64>),
}

impl Law {
    /// Names of those that need no table.
    pub const NAMES: [(&'static str, Self); 5] = [
        ("cut-normal", Self::CutNormal),
        ("uniform", Self::Uniform),
        ("triangular", Self::Triangular),
        ("normal", Self::Normal),
        ("log-normal", Self::LogNormal),
    ];

    /// Its name.
    pub fn name(&self) -> &'static str {
        Self::NAMES.iter().find(|n| n.1 == *self).map_or("measured", |n| n.0)
    }
}

/// Standard deviations up to which a distribution with tails lies in the box over which the gauges are approximated.
const TAIL: f64 = 4.0;

/// A number that varies.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Varied {
    /// Place among the givens.
    pub(super) place: usize,
    pub(super) key: String,
    pub(super) value: f64,
    /// Half-width of its tolerance; 0 for measured values of a number without one.
    pub(super) half: f64,
    pub(super) law: Law,
}

impl Varied {
    /// The value below which the share `u` of all parts lies.
    pub(super) fn at(&self, u: f64) -> f64 {
        match &self.law {
            Law::CutNormal => {
                let (a, b) = (normal::below(-2.0), normal::below(2.0));
                self.value + 0.5 * self.half * normal::quantile(a + u * (b - a))
            }
            Law::Uniform => self.value + self.half * (2.0 * u - 1.0),
            Law::Triangular => {
                let side = if u < 0.5 { (2.0 * u).sqrt() - 1.0 } else { 1.0 - (2.0 * (1.0 - u)).sqrt() };
                self.value + self.half * side
            }
            Law::Normal => self.value + 0.5 * self.half * normal::quantile(u),
            Law::LogNormal => {
                self.value * libm::exp(0.5 * self.half / self.value.abs() * normal::quantile(u))
            }
            Law::Measured(values) => {
                let i = (u * values.len() as f64) as usize;
                values[i.min(values.len() - 1)]
            }
        }
    }

    /// The range over which gauges are approximated: all of it, or up to four standard deviations of a tail.
    pub(super) fn range(&self) -> [f64; 2] {
        match &self.law {
            Law::CutNormal | Law::Uniform | Law::Triangular => {
                [self.value - self.half, self.value + self.half]
            }
            Law::Normal => [self.value - 0.5 * TAIL * self.half, self.value + 0.5 * TAIL * self.half],
            Law::LogNormal => {
                let f = libm::exp(0.5 * TAIL * self.half / self.value.abs());
                let ends = [self.value / f, self.value * f];
                [ends[0].min(ends[1]), ends[0].max(ends[1])]
            }
            Law::Measured(values) => [values[0], values[values.len() - 1]],
        }
    }

    /// A drawn value with its distance from the middle multiplied: what it would be with a tolerance so much tighter.
    pub(super) fn tightened(&self, x: f64, factor: f64) -> f64 {
        match &self.law {
            Law::LogNormal => self.value * libm::exp(factor * libm::log(x / self.value)),
            Law::Measured(values) => {
                let mean = calotte_chance::sample::mean(values);
                mean + factor * (x - mean)
            }
            _ => self.value + factor * (x - self.value),
        }
    }
}

/// Two numbers that do not vary independently.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Together {
    /// Places among the varied.
    pub(super) pair: [usize; 2],
    /// Correlation of the normal deviates behind them (a Gaussian copula).
    pub(super) correlation: f64,
}

/// The drawn values that a point of the open unit cube stands for.
pub(super) fn drawn(varied: &[Varied], together: &[Together], u: &[f64]) -> Vec<f64> {
    let mut u = u.to_vec();
    for t in together {
        let [a, b] = t.pair;
        let (x, y) = (normal::quantile(u[a]), normal::quantile(u[b]));
        let r = t.correlation;
        let joint = normal::below(r * x + (1.0 - r * r).sqrt() * y);
        u[b] = joint.clamp(f64::MIN_POSITIVE, 1.0 - f64::EPSILON);
    }
    varied.iter().zip(&u).map(|(v, u)| v.at(*u)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(law: Law) -> Varied {
        Varied { place: 0, key: "k".to_owned(), value: 10.0, half: 2.0, law }
    }

    /// Closed forms: standard deviations over the half-width of the tolerance: uniform 1/√3, triangular 1/√6, normal 1/2, normal cut at
    /// two deviations ½ √(1 − 4φ(2)/(Φ(2) − Φ(−2))); log-normal that of its logarithm.
    #[test]
    fn deviations_are_known() {
        let spread = |v: &Varied, f: fn(f64) -> f64| {
            let n = 20_000;
            let x: Vec<f64> = (0..n).map(|i| f(v.at((f64::from(i) + 0.5) / f64::from(n)))).collect();
            calotte_chance::sample::deviation(&x).unwrap()
        };
        let phi = 4.0 * normal::density(2.0) / (normal::below(2.0) - normal::below(-2.0));
        for (law, known) in [
            (Law::Uniform, 2.0 / 3f64.sqrt()),
            (Law::Triangular, 2.0 / 6f64.sqrt()),
            (Law::Normal, 1.0),
            (Law::CutNormal, (1.0 - phi).sqrt()),
        ] {
            let s = spread(&of(law.clone()), |x| x);
            assert!((s / known - 1.0).abs() < 2e-4, "{law:?} {s} {known}");
        }
        let s = spread(&of(Law::LogNormal), libm::log);
        assert!((s / 0.1 - 1.0).abs() < 2e-4);
        let table = of(Law::Measured(vec![1.0, 2.0, 4.0]));
        assert_eq!([0.1, 0.5, 0.9].map(|u| table.at(u)), [1.0, 2.0, 4.0]);
        for (name, law) in Law::NAMES {
            assert_eq!(law.name(), name);
            let v = of(law);
            let [a, b] = v.range();
            assert!(a <= v.at(1e-4) && v.at(1.0 - 1e-4) <= b && (v.at(0.5) - 10.0).abs() < 1e-9);
            assert!((v.tightened(v.at(0.9), 1.0) - v.at(0.9)).abs() < 1e-12);
        }
    }

    /// Closed form: two standard normal numbers drawn together have their correlation.
    #[test]
    fn together_means_correlated() {
        let varied = [of(Law::Normal), of(Law::Normal)];
        let together = [Together { pair: [0, 1], correlation: -0.6 }];
        let mut stream = calotte_chance::Stream::new(3);
        let n = 40_000;
        let mut sum = 0.0;
        for _ in 0..n {
            let x = drawn(&varied, &together, &[stream.unit(), stream.unit()]);
            sum += (x[0] - 10.0) * (x[1] - 10.0);
        }
        assert!((sum / f64::from(n) + 0.6).abs() < 0.02);
    }
}

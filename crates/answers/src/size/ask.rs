//! What is asked: numbers that may change, and wishes about what the part does.

use serde::Serialize;

use crate::gauge::Gauge;

/// How an SI value is shown: SI = zero + size · shown.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "SizeScale"))]
pub struct Scale {
    /// Unit; empty for a pure number.
    pub unit: String,
    /// One of it, SI.
    pub size_si: f64,
    /// Its zero, SI (273.15 K for degrees Celsius, 0 else).
    pub zero_si: f64,
}

impl Scale {
    /// Of a plain number.
    pub fn plain() -> Self {
        Self { unit: String::new(), size_si: 1.0, zero_si: 0.0 }
    }
    /// An SI value as shown.
    pub fn shown(&self, si: f64) -> f64 {
        (si - self.zero_si) / self.size_si
    }
    /// A shown value, SI.
    pub fn si(&self, shown: f64) -> f64 {
        shown.mul_add(self.size_si, self.zero_si)
    }
}

/// A number of the case that may change.
#[derive(Clone, Debug, PartialEq)]
pub struct Varied {
    /// Its place among the subject's givens.
    pub given: usize,
    /// Its key in the case file.
    pub key: String,
    /// How it is shown.
    pub scale: Scale,
    /// Lower limit, SI.
    pub from: f64,
    /// Upper limit, SI.
    pub to: f64,
    /// In the case as it is, SI.
    pub here: f64,
}

impl Varied {
    /// Whether equal steps are equal ratios: limits more than ten apart in ratio.
    fn by_ratio(&self) -> bool {
        self.from > 0.0 && self.to > 10.0 * self.from
    }
    /// The value at a share of the range.
    pub(super) fn at(&self, share: f64) -> f64 {
        if share <= 0.0 {
            return self.from;
        }
        if share >= 1.0 {
            return self.to;
        }
        if self.by_ratio() {
            return self.from * libm::exp(share * libm::log(self.to / self.from));
        }
        self.from + share * (self.to - self.from)
    }
    /// The share of the range at which a value lies (outside 0 to 1 for values outside).
    pub(super) fn share(&self, value: f64) -> f64 {
        if self.by_ratio() && value > 0.0 {
            return libm::log(value / self.from) / libm::log(self.to / self.from);
        }
        (value - self.from) / (self.to - self.from)
    }
    /// d value/d share there.
    pub(super) fn stretch(&self, value: f64) -> f64 {
        if self.by_ratio() { value * libm::log(self.to / self.from) } else { self.to - self.from }
    }
    /// A value as it is written into a case file: six digits in its unit, kept within the limits.
    pub(super) fn rounded(&self, value: f64) -> f64 {
        let shown = self.scale.shown(value);
        let text = format!("{shown:.5e}");
        text.parse().map_or(value, |v| self.scale.si(v)).clamp(self.from, self.to)
    }
}

/// What a wish is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum About {
    /// A number of the part that is computed.
    Gauge(Gauge),
    /// A number of the case, by its place among the subject's givens.
    Given(usize),
}

/// What is wanted of it; SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Wanted {
    /// That value, give or take.
    Equal {
        /// The value.
        aim: f64,
        /// Half-width of what will do, > 0.
        half_width: f64,
    },
    /// Not less.
    AtLeast(f64),
    /// Not more.
    AtMost(f64),
    /// As small as can be.
    Smallest,
    /// As large as can be.
    Largest,
}

/// A wish.
#[derive(Clone, Debug, PartialEq)]
pub struct Wish {
    /// As it was written.
    pub text: String,
    /// What it is about.
    pub about: About,
    /// What is wanted.
    pub wanted: Wanted,
    /// Share of a batch, made with the tolerances of the case, for which it has to hold; `None` for the part as described.
    pub share: Option<f64>,
    /// How long the part is held first, s, where the wish says so.
    pub hold: Option<f64>,
    /// How its values are shown.
    pub scale: Scale,
}

impl Wish {
    /// What it is about, in words.
    pub fn name(&self, keys: &dyn Fn(usize) -> String) -> String {
        match self.about {
            About::Gauge(g) => g.name().to_owned(),
            About::Given(i) => keys(i),
        }
    }

    /// Whether it asks for as little or as much as can be.
    pub(super) fn is_objective(&self) -> bool {
        matches!(self.wanted, Wanted::Smallest | Wanted::Largest)
    }

    /// Whether it asks for one value.
    pub(super) fn is_equal(&self) -> bool {
        matches!(self.wanted, Wanted::Equal { .. })
    }

    /// A miss that counts as one: the half-width of what will do; for limits a hundredth of the limit, or of 1 for plain numbers
    /// and of 100 K for temperatures.
    pub(super) fn unit(&self) -> f64 {
        match (self.wanted, self.about) {
            (Wanted::Equal { half_width, .. }, _) => half_width,
            (
                Wanted::AtLeast(_) | Wanted::AtMost(_),
                About::Gauge(Gauge::TripTemperature | Gauge::ResetTemperature | Gauge::Delta),
            ) => 1.0,
            (
                Wanted::AtLeast(_) | Wanted::AtMost(_),
                About::Gauge(Gauge::Margin | Gauge::WaitingMargin | Gauge::SnapRatio | Gauge::PeakStrain),
            ) => 0.01,
            (Wanted::AtLeast(v) | Wanted::AtMost(v), _) if v != 0.0 => 0.01 * v.abs(),
            _ => 1.0,
        }
    }

    /// Ends between which its reading has to lie.
    pub(super) fn ends(&self) -> [f64; 2] {
        match self.wanted {
            Wanted::Equal { aim, half_width } => [aim - half_width, aim + half_width],
            Wanted::AtLeast(v) => [v, f64::INFINITY],
            Wanted::AtMost(v) => [f64::NEG_INFINITY, v],
            Wanted::Smallest | Wanted::Largest => [f64::NEG_INFINITY, f64::INFINITY],
        }
    }

    /// By how much a reading misses, SI; 0 where it does not.
    pub(super) fn miss(&self, reading: f64) -> f64 {
        let [low, high] = self.ends();
        if reading.is_nan() { f64::INFINITY } else { (low - reading).max(reading - high).max(0.0) }
    }
}

/// The question.
#[derive(Clone, Debug, PartialEq)]
pub struct Ask {
    /// What may change, at least one number.
    pub vary: Vec<Varied>,
    /// What is wished, at least one.
    pub wishes: Vec<Wish>,
    /// Parts drawn to check a wish about a share of a batch.
    pub draws: usize,
}

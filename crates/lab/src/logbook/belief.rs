//! The numbers that the trials are asked about, and what is held of them beforehand.

/// A number that the trials may tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Unknown {
    /// Factor on every wall as read: the effective thickness over the read one.
    Thickness,
    /// Standard deviation of the margin of a specimen about theory, beyond what its sizes explain.
    Scatter,
    /// Factor on Young's modulus of the case.
    Youngs,
    /// Factor on every share of the memory.
    Shares,
    /// Factor on every time of the memory.
    Times,
    /// Relative standard deviation of trip loads about theory, beyond sizes and readings.
    TripScatter,
}

/// How many there are.
pub(crate) const COUNT: usize = 6;

/// The logarithms of all of them.
pub(crate) type Theta = [f64; COUNT];

impl Unknown {
    /// All, in the order of a vector of their logarithms.
    pub const ALL: [Self; COUNT] =
        [Self::Thickness, Self::Scatter, Self::Youngs, Self::Shares, Self::Times, Self::TripScatter];

    /// Name in files and reports.
    pub fn name(self) -> &'static str {
        match self {
            Self::Thickness => "thickness_factor",
            Self::Scatter => "margin_scatter",
            Self::Youngs => "youngs_factor",
            Self::Shares => "share_factor",
            Self::Times => "time_factor",
            Self::TripScatter => "trip_scatter",
        }
    }

    /// The one of that name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|u| u.name() == name)
    }

    /// For people.
    pub fn words(self) -> &'static str {
        match self {
            Self::Thickness => "effective thickness",
            Self::Scatter => "scatter of the margin",
            Self::Youngs => "Young's modulus",
            Self::Shares => "shares of the memory",
            Self::Times => "times of the memory",
            Self::TripScatter => "scatter of trip loads",
        }
    }

    /// Bounds of a flat prior of its logarithm, as plain numbers, and the value taken where it is not sought.
    pub fn usual(self) -> ([f64; 2], f64) {
        match self {
            Self::Thickness => ([0.7, 1.4], 1.0),
            Self::Scatter => ([0.002, 0.3], 0.01),
            Self::Youngs => ([0.25, 4.0], 1.0),
            Self::Shares => ([0.4, 2.5], 1.0),
            Self::Times => ([0.1, 10.0], 1.0),
            Self::TripScatter => ([0.002, 0.5], 0.02),
        }
    }

    /// Whether it is a standard deviation.
    pub fn is_scatter(self) -> bool {
        matches!(self, Self::Scatter | Self::TripScatter)
    }
}

/// What is held of one number beforehand: flat in its logarithm between bounds, or normal and cut off there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prior {
    /// Of which.
    pub of: Unknown,
    /// Bounds of its logarithm.
    pub bounds: [f64; 2],
    /// Mean and standard deviation of its logarithm; `None` for a flat one.
    pub normal: Option<[f64; 2]>,
}

impl Prior {
    /// The flat one between the usual bounds.
    pub fn usual(of: Unknown) -> Self {
        Self { of, bounds: of.usual().0.map(libm::log), normal: None }
    }

    /// ln of its density, but for a constant; `None` outside the bounds.
    pub fn log_density(&self, x: f64) -> Option<f64> {
        let inside = x >= self.bounds[0] && x <= self.bounds[1];
        inside.then(|| self.normal.map_or(0.0, |[mean, sd]| -0.5 * ((x - mean) / sd).powi(2)))
    }
}

/// Values where nothing is sought.
pub(crate) fn fixed() -> Theta {
    Unknown::ALL.map(|u| libm::log(u.usual().1))
}

/// The whole of what is sought, from the part of it that a chain walks on.
pub(crate) fn whole(priors: &[Prior], at: &[f64]) -> Theta {
    let mut theta = fixed();
    for (p, x) in priors.iter().zip(at) {
        theta[p.of as usize] = *x;
    }
    theta
}

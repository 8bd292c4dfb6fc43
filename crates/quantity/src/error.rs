//! What can be wrong with a quantity.

use std::fmt;
use std::ops::Range;

use crate::Dimension;

/// Why a text is not the quantity wanted, and where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct QuantityError {
    /// What is wrong.
    pub fault: Fault,
    /// Bytes of the text at fault (never beyond its end).
    pub at: Range<usize>,
}

/// What is wrong with a quantity.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Fault {
    /// Nothing but blanks.
    Empty,
    /// Does not start with a number.
    NotANumber {
        /// What would do.
        wanted: Dimension,
    },
    /// `2,1` for `2.1`.
    DecimalComma {
        /// The number with a point.
        with_point: String,
    },
    /// Infinite, not a number, or beyond what a float holds.
    NotFinite,
    /// A number without the unit it needs.
    MissingUnit {
        /// What is wanted.
        wanted: Dimension,
        /// The text with the usual unit put in.
        corrected: String,
    },
    /// No unit of this name.
    UnknownUnit {
        /// As written.
        unit: String,
        /// What is wanted.
        wanted: Dimension,
        /// The known unit nearest to it.
        near: Option<&'static str>,
    },
    /// A unit of another kind of quantity.
    WrongDimension {
        /// As written.
        unit: String,
        /// What that unit measures.
        found: Dimension,
        /// What is wanted.
        wanted: Dimension,
    },
    /// The tolerance has no number.
    ToleranceNotANumber,
    /// The tolerance is below zero.
    NegativeTolerance,
    /// Separate upper and lower limits.
    OneSidedTolerance,
    /// `49 % ± 2 %`: two per cent of the value, or two points?
    AmbiguousPercent,
    /// Per cent of a temperature: of which scale?
    PercentOfTemperature,
    /// A bracket is not closed, or closed without being opened.
    Bracket,
}

impl fmt::Display for QuantityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.fault {
            Fault::Empty => f.write_str("nothing is written here"),
            Fault::NotANumber { wanted } => {
                write!(f, "{} is wanted, and this is not a number", wanted.noun())
            }
            Fault::DecimalComma { .. } => f.write_str("a comma cannot separate decimals"),
            Fault::NotFinite => f.write_str("the number must be finite"),
            Fault::MissingUnit { wanted, .. } => write!(f, "{} needs a unit", wanted.noun()),
            Fault::UnknownUnit { unit, .. } => write!(f, "unknown unit `{unit}`"),
            Fault::WrongDimension { unit, found, wanted } => match wanted {
                Dimension::Number => {
                    write!(f, "a pure number is wanted, and `{unit}` measures {}", found.noun())
                }
                _ => write!(f, "{} is wanted, and `{unit}` measures {}", wanted.noun(), found.noun()),
            },
            Fault::ToleranceNotANumber => f.write_str("the tolerance is not a number"),
            Fault::NegativeTolerance => f.write_str("a tolerance cannot be negative"),
            Fault::OneSidedTolerance => f.write_str("upper and lower tolerance must be one half-width"),
            Fault::AmbiguousPercent => {
                f.write_str("per cent of the value, or points? the tolerance can be read two ways")
            }
            Fault::PercentOfTemperature => {
                f.write_str("per cent of a temperature has no meaning: it depends on where the scale begins")
            }
            Fault::Bracket => f.write_str("the brackets do not match"),
        }
    }
}

impl std::error::Error for QuantityError {}

impl QuantityError {
    /// What to write instead.
    pub fn hint(&self) -> Option<String> {
        Some(match &self.fault {
            Fault::Empty => return None,
            Fault::NotANumber { wanted } => format!("write for example `{}`", example(*wanted)),
            Fault::DecimalComma { with_point } => format!("write `{with_point}`"),
            Fault::NotFinite => return None,
            Fault::MissingUnit { corrected, .. } => format!("write `{corrected}`"),
            Fault::UnknownUnit { near: Some(near), .. } => format!("did you mean `{near}`?"),
            Fault::UnknownUnit { wanted, .. } | Fault::WrongDimension { wanted, .. } => match wanted {
                Dimension::Number => "write the number alone".to_owned(),
                _ => format!("known units: {}", known(*wanted)),
            },
            Fault::ToleranceNotANumber => "write for example `± 0.05 mm` or `± 10 %`".to_owned(),
            Fault::NegativeTolerance => "write the half-width without a sign".to_owned(),
            Fault::OneSidedTolerance => {
                "write the middle of the range ± half its width, for example `2.125 ± 0.075 mm`".to_owned()
            }
            Fault::AmbiguousPercent => "write plain numbers, for example `0.49 ± 0.01`".to_owned(),
            Fault::PercentOfTemperature => {
                "write the half-width in degrees, for example `23 ± 2 degC`".to_owned()
            }
            Fault::Bracket => "write `2.10 ± 0.05 mm`, or `(2.10 ± 0.05) mm`".to_owned(),
        })
    }
}

fn known(d: Dimension) -> String {
    crate::units(d).map(|u| u.symbol).filter(|s| !s.is_empty()).collect::<Vec<_>>().join(", ")
}

fn example(d: Dimension) -> &'static str {
    match d {
        Dimension::Length => "2.10 ± 0.05 mm",
        Dimension::Angle => "50 deg",
        Dimension::Pressure => "1.2 MPa ± 10 %",
        Dimension::Density => "1080 kg/m^3",
        Dimension::Number => "0.49",
        Dimension::Force => "1.5 N",
        Dimension::Stiffness => "2 N/mm",
        Dimension::RimStiffness => "0.2 N/mm/mm",
        Dimension::TurningStiffness => "3 N/rad",
        Dimension::Acceleration => "9.81 m/s^2",
        Dimension::Time => "60 s",
        Dimension::Rate => "0.1 1/s",
        Dimension::Temperature => "23 ± 2 degC",
        Dimension::TemperatureDifference => "51.6 K",
        Dimension::MolarEnergy => "80 kJ/mol",
        Dimension::Expansion => "12 ± 1 ppm/K",
        Dimension::Curvature => "0.5 1/m",
    }
}

//! Kinds of quantity a case file can ask for.

/// What a number measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Dimension {
    /// Length, SI unit m.
    Length,
    /// Plane angle, SI unit rad.
    Angle,
    /// Pressure, stress or elastic modulus, SI unit Pa.
    Pressure,
    /// Mass density, SI unit kg/m³.
    Density,
    /// Pure number, no unit (per cent allowed).
    Number,
    /// Spring stiffness per length of rim, SI unit N/m per m = Pa.
    RimStiffness,
    /// Turning stiffness per length of rim, SI unit N·m/rad per m = N/rad.
    TurningStiffness,
    /// Acceleration, SI unit m/s²; weight in multiples of standard gravity.
    Acceleration,
}

impl Dimension {
    /// Every dimension.
    pub const ALL: [Self; 8] = [
        Self::Length,
        Self::Angle,
        Self::Pressure,
        Self::Density,
        Self::Number,
        Self::RimStiffness,
        Self::TurningStiffness,
        Self::Acceleration,
    ];

    /// With its article, for a sentence: "a length", "an angle".
    pub fn noun(self) -> &'static str {
        match self {
            Self::Length => "a length",
            Self::Angle => "an angle",
            Self::Pressure => "a pressure or modulus",
            Self::Density => "a density",
            Self::Number => "a pure number",
            Self::RimStiffness => "a stiffness per length of rim",
            Self::TurningStiffness => "a turning stiffness per length of rim",
            Self::Acceleration => "an acceleration",
        }
    }

    /// The unit suggested when one is missing; empty for a pure number.
    pub fn usual_unit(self) -> &'static str {
        match self {
            Self::Length => "mm",
            Self::Angle => "deg",
            Self::Pressure => "MPa",
            Self::Density => "kg/m^3",
            Self::Number => "",
            Self::RimStiffness => "N/mm/mm",
            Self::TurningStiffness => "N/rad",
            Self::Acceleration => "m/s^2",
        }
    }
}

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
    /// Force, SI unit N.
    Force,
    /// Spring stiffness, SI unit N/m.
    Stiffness,
    /// Spring stiffness per length of rim, SI unit N/m per m = Pa.
    RimStiffness,
    /// Turning stiffness per length of rim, SI unit N·m/rad per m = N/rad.
    TurningStiffness,
    /// Acceleration, SI unit m/s²; weight in multiples of standard gravity.
    Acceleration,
    /// Time, SI unit s.
    Time,
    /// Rate, SI unit 1/s.
    Rate,
    /// Absolute temperature, SI unit K. Its tolerance is a difference of temperatures.
    Temperature,
    /// Difference of temperatures, SI unit K.
    TemperatureDifference,
    /// Energy per amount of substance, SI unit J/mol.
    MolarEnergy,
    /// Thermal expansion or flexivity, SI unit 1/K.
    Expansion,
    /// Curvature, SI unit 1/m.
    Curvature,
}

impl Dimension {
    /// Every dimension.
    pub const ALL: [Self; 17] = [
        Self::Length,
        Self::Angle,
        Self::Pressure,
        Self::Density,
        Self::Number,
        Self::Force,
        Self::Stiffness,
        Self::RimStiffness,
        Self::TurningStiffness,
        Self::Acceleration,
        Self::Time,
        Self::Rate,
        Self::Temperature,
        Self::TemperatureDifference,
        Self::MolarEnergy,
        Self::Expansion,
        Self::Curvature,
    ];

    /// With its article, for a sentence: "a length", "an angle".
    pub fn noun(self) -> &'static str {
        match self {
            Self::Length => "a length",
            Self::Angle => "an angle",
            Self::Pressure => "a pressure or modulus",
            Self::Density => "a density",
            Self::Number => "a pure number",
            Self::Force => "a force",
            Self::Stiffness => "a stiffness",
            Self::RimStiffness => "a stiffness per length of rim",
            Self::TurningStiffness => "a turning stiffness per length of rim",
            Self::Acceleration => "an acceleration",
            Self::Time => "a time",
            Self::Rate => "a rate",
            Self::Temperature => "a temperature",
            Self::TemperatureDifference => "a difference of temperatures",
            Self::MolarEnergy => "an energy per mole",
            Self::Expansion => "an expansion per kelvin",
            Self::Curvature => "a curvature",
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
            Self::Force => "N",
            Self::Stiffness => "N/mm",
            Self::RimStiffness => "N/mm/mm",
            Self::TurningStiffness => "N/rad",
            Self::Acceleration => "m/s^2",
            Self::Time => "s",
            Self::Rate => "1/s",
            Self::Temperature => "degC",
            Self::TemperatureDifference => "K",
            Self::MolarEnergy => "kJ/mol",
            Self::Expansion => "ppm/K",
            Self::Curvature => "1/m",
        }
    }
}

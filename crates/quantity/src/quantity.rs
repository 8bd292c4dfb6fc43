//! A number with its unit and tolerance.

use crate::{Dimension, QuantityError, Unit, parse, show};

/// A finite number read from text.
#[derive(Clone, Debug, PartialEq)]
pub struct Quantity {
    /// SI value.
    pub value: f64,
    /// Half-width of the tolerance in SI, ≥ 0; `None` when none is written.
    pub half_width: Option<f64>,
    /// The unit as recognised.
    pub unit: &'static Unit,
    /// The unit as spelled in the text.
    pub unit_text: String,
    /// The text as written.
    pub text: String,
}

impl Quantity {
    /// Reads a quantity of the wanted kind.
    ///
    /// A tolerance follows `±`, `+-` or `+/-`; in the unit of the value unless it has its own; `%` means
    /// per cent of the value. The unit may stand after the value, after the tolerance, or after both in
    /// brackets. Pure numbers need none. Numbers: `2.1`, `.5`, `1.2e3`, `3/8`, `1 3/8`.
    ///
    /// # Errors
    /// A [`QuantityError`] that points into `text`.
    pub fn parse(text: &str, wanted: Dimension) -> Result<Self, QuantityError> {
        parse::quantity(text, wanted)
    }

    /// What it measures.
    pub fn dimension(&self) -> Dimension {
        self.unit.dimension
    }
}

impl std::fmt::Display for Quantity {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&show(self.value, self.half_width, self.unit))
    }
}

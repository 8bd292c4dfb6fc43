//! Numbers with units and tolerances, as people write them on drawings and in notebooks.
//!
//! [`Quantity::parse`] reads `2.10 ± 0.05 mm`, `1.2 MPa +- 10 %`, `50°`, `1/8 in`, `0.49`; it keeps the
//! text as written and gives SI values: metres, radians, pascals, kilograms per cubic metre, seconds, kelvins. What it
//! cannot read it answers with a [`QuantityError`] that points at the bytes at fault and says what to
//! write instead. [`show`] prints a value back to the digits its tolerance supports.

mod decimal;
mod dimension;
mod error;
mod near;
mod parse;
mod quantity;
mod show;
mod unit;

pub use dimension::Dimension;
pub use error::{Fault, QuantityError};
pub use near::nearest;
pub use quantity::Quantity;
pub use show::{show, show_exact};
pub use unit::{Unit, find_unit, units};

#[cfg(test)]
mod tests;

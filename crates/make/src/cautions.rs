//! What to mind when parts are made; printed on every guide.

use calotte_specimen::Part;

use crate::sketch::{Anchor, Sketch, paragraph};

/// What is made or done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doing {
    /// Cutting slices from a hollow ball.
    Cutting,
    /// Casting in a mould.
    Casting,
    /// Forming sheet metal.
    Forming,
    /// Trying what was made.
    Trying,
}

/// The cautions that apply (design aids only; local codes, product standards and licensed practice decide).
pub fn cautions(part: &Part, doing: &[Doing]) -> Vec<String> {
    let mut out = Vec::new();
    for d in doing {
        out.push(match d {
            Doing::Cutting => {
                "Cutting: a cut-resistant glove on the hand that holds, a closed blade when it rests, cuts away from the body. A ball under pressure is vented first."
            }
            Doing::Casting => {
                "Casting resins and ovens: the maker's data sheet, gloves, goggles, fresh air; hot moulds burn."
            }
            Doing::Forming => {
                "Sheet metal: edges cut, presses crush: guards, gloves and a trained hand. Springback is not in the profile."
            }
            Doing::Trying => {
                "An inverted part stores energy and lets go within milliseconds: eyes and faces clear, nobody in its way. Small parts and toys that fly: the maker checks the toy-safety standard in force; a computed energy is not a test."
            }
        }
        .to_owned());
    }
    if part.wall.layers().is_some() {
        out.push("Thermal cut-outs: a computed temperature is a design aid, never evidence for a protective control; licensed practice, the appliance and control standards and local codes decide.".to_owned());
    }
    out
}

/// Puts them on a sheet under a heading; the base line after the last.
pub(crate) fn put_cautions(s: &mut Sketch, at: [f64; 2], wide: f64, cautions: &[String]) -> f64 {
    s.bold(at, 3.4, Anchor::Start, "Mind");
    cautions.iter().fold(at[1] - 5.0, |y, c| paragraph(s, [at[0], y], 2.8, wide, c) - 0.8)
}

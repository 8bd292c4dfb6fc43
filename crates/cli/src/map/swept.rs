//! `calotte map --sweep`: the points of a sweep over the map.

use std::path::Path;

use calotte_answers::map::report::SweptPoints;
use calotte_desk::Refusal;
use calotte_quantity::{show_exact, units};
use calotte_specimen::Case;
use calotte_sweep::{Place, Plan, Sweep, Varied};

use crate::End;
use crate::map::{Options, run};
use crate::sweep::read;

/// A sweep whose points are laid over a map.
pub(super) struct Laid<'a> {
    sweep: &'a Sweep<'a>,
    place: Place,
    /// Axes as options, where none are asked for.
    pub(super) axes: [String; 2],
}

impl Laid<'_> {
    /// The points over two numbers.
    pub(super) fn points(&self, keys: [&str; 2]) -> Result<SweptPoints, Refusal> {
        self.place.laid(self.sweep, keys)
    }
}

/// The plan and the case of a folder; what is wrong with them has been told.
pub(super) fn open(folder: &Path) -> Option<(Plan, Case)> {
    read(&Place::new(folder).plan())
}

/// Maps the case of a sweep with its points.
pub(super) fn lay(plan: &Plan, case: &Case, folder: &Path, o: &Options) -> Result<End, Refusal> {
    let sweep = Sweep::new(plan, case)?;
    let axes = sweep.axes()?.map(|key| {
        let varied = plan.vary.iter().find(|v| v.key == key);
        varied.and_then(ends).map_or_else(|| key.to_owned(), |ends| format!("{key}={ends}"))
    });
    run(o, case, Some(&Laid { sweep: &sweep, place: Place::new(folder), axes }))
}

/// The range of a number that varies, as an option takes it; none for a table or a range that an axis cannot show.
fn ends(v: &Varied) -> Option<String> {
    let [a, b] = v.range?;
    let unit = units(v.dimension).find(|u| u.symbol == v.unit).or_else(|| units(v.dimension).next())?;
    let (low, high) = if a < b { (a, b) } else { (b, a) };
    (low > 0.0 && high > low)
        .then(|| format!("{}..{}", show_exact(low, None, unit), show_exact(high, None, unit)))
}

//! Trip, reset and delta over depth and thickness: what is asked, and its part of the sheet.

use calotte_answers::explain::digits;
use calotte_answers::heat::MapRequest;
use calotte_answers::heat::report::{HeatMap, LevelCurves};
use calotte_answers::heat::words::kelvins;
use calotte_quantity::Dimension;
use calotte_specimen::{Case, Meridian};

use crate::axes::{ends, grid_size};
use crate::options::{Given, Written};
use crate::reply::Refusal;
use crate::sheet::Sheet;

/// Columns and rows at most.
const LARGEST: usize = 200;
/// Columns and rows where nothing is said.
pub const USUAL_GRID: &str = "25x25";

/// Where the map is drawn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MapOptions {
    /// Ends of its depth: half-angles of a cap, factors on the heights of other shapes; by default 40 % about the part.
    pub depth: Option<Written>,
    /// Ends of its thickness, all layers by one factor.
    pub thickness: Option<Written>,
    /// Columns and rows.
    pub grid: Written,
}

/// Reads the options of the page; `None` where no map is asked for.
pub(super) fn options(given: &Given<'_>) -> Result<Option<MapOptions>, Refusal> {
    let (depth, thickness) = (given.text("depth")?, given.text("thickness")?);
    let grid = given.text("grid")?;
    if given.flag("map", false)? {
        let grid = grid.unwrap_or_else(|| Written::new("grid", USUAL_GRID));
        return Ok(Some(MapOptions { depth, thickness, grid }));
    }
    match [&depth, &thickness, &grid].into_iter().flatten().next() {
        None => Ok(None),
        Some(w) => Err(Refusal::with_help(
            format!("option `{}` of `heat`: it belongs to a map", w.option),
            "give `map` too, or leave it out",
        )),
    }
}

impl MapOptions {
    /// What is asked of this case.
    pub(super) fn request(&self, case: &Case) -> Result<MapRequest, Refusal> {
        let size = grid_size(&self.grid)?;
        if size.iter().any(|n| !(2..=LARGEST).contains(n)) {
            let Written { option, text } = &self.grid;
            let says = format!("{option} {text}: a map of heat has from 2 to {LARGEST} columns and rows");
            return Err(Refusal::question(says));
        }
        let cap = matches!(case.part().meridian, Meridian::Sphere(_));
        let depth = if cap { Dimension::Angle } else { Dimension::Number };
        let range = |w: &Option<Written>, dimension| w.as_ref().map(|w| ends(w, dimension)).transpose();
        Ok(MapRequest {
            depth: range(&self.depth, depth)?,
            thickness: range(&self.thickness, Dimension::Length)?,
            size,
        })
    }
}

/// Its part of the sheet.
pub(super) fn sheet(p: &mut Sheet, m: &HeatMap) {
    p.head("Map over depth and thickness");
    p.doubts(&m.doubts);
    p.items(&m.words);
    let curves = |l: &[LevelCurves], zero: f64| match (l.first(), l.last()) {
        (Some(a), Some(b)) => {
            let points: usize = l.iter().flat_map(|l| &l.curves).map(|c| c.depth_si.len()).sum();
            let told = |l: &LevelCurves| digits(l.level_K - zero, 4);
            format!("{} levels from {} to {}, {points} points", l.len(), told(a), told(b))
        }
        _ => "none: the grid holds too few different values".to_owned(),
    };
    p.row("equal trip, °C", &curves(&m.equal_trip, 273.15));
    p.row("equal delta, K", &curves(&m.equal_delta, 0.0));
    p.row("followed anew", &format!("{} parts that no neighbour led to", m.followed_anew));
    let apart = m.check_difference_K.map_or("unknown".to_owned(), kelvins);
    p.row(
        "compared",
        &format!("{} places on finer meshes; largest difference of the trip {apart}", m.checked),
    );
}

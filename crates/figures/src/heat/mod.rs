//! Heated parts, drawn: travel over temperature (`heat`), shapes before and after the jumps (`heat-shapes`), the spread of trip and
//! reset over a batch (`heat-spread`), and trip and delta over depth and thickness (`heat-map`).

mod curve;
mod map;
mod shapes;
mod spread;
mod travel;

use calotte_answers::heat::report::{HeatMap, HeatReport, HeatSpread};

use crate::Figure;
use crate::text::fixed;

/// The figures of a heated part, in the order `heat`, `heat-shapes`.
///
/// Rows that hold something not finite are passed over; a figure that has too few left is left out.
pub fn heat_figures(report: &HeatReport) -> Vec<Figure> {
    [travel::figure(report), shapes::figure(report)].into_iter().flatten().collect()
}

/// How trip and reset spread over a batch (`heat-spread`); `None` when fewer than two draws are known of either.
pub fn heat_spread_figure(spread: &HeatSpread, title: &str) -> Option<Figure> {
    spread::figure(spread, title)
}

/// Trip and delta over depth and thickness (`heat-map`); `None` when the ranges cannot be drawn.
pub fn heat_map_figure(map: &HeatMap, title: &str) -> Option<Figure> {
    map::figure(map, title)
}

/// A temperature in °C.
fn celsius(kelvin: f64) -> f64 {
    kelvin - 273.15
}

/// The same in words.
fn degrees(kelvin: f64) -> String {
    format!("{} °C", fixed(celsius(kelvin), 1))
}

/// Whether a number can be drawn at all.
fn drawable(x: f64) -> bool {
    x.abs() < 1e9
}

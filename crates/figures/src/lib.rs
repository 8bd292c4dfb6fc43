//! Figures fit for a paper, from answers.
//!
//! Three figures come from a verdict: the section of the part to scale (`shape`), the energy along
//! the arc (`energy`) and the branch of inverted states over thickness (`branch`). Three come from a
//! poke: load over displacement (`path`), sideways modes (`mode`) and energy barriers (`barrier`). One
//! comes from a map (`map`). A release gives the motion (`motion`), shapes on the way (`strobe`), energies
//! (`ledger`) and growth sideways (`sideways`), many releases the wait against hold (`wait`), its spread
//! (`spread`) and slowing near the threshold (`slowing`). A release also moves: see [`animation`]. Modes
//! give frequency over the number of waves (`spectrum`), the lowest shapes (`modes`) and pressure (`buckling`). Heat gives travel
//! over temperature (`heat`), shapes before and after the jumps (`heat-shapes`), the spread of both temperatures
//! (`heat-spread`) and both over depth and thickness (`heat-map`). Stable states give their sections (`states`) and energies with passes (`levels`). A batch
//! gives what was read of its parts (`batch`), shares with intervals (`shares`) and where the spread comes from (`indices`). Bench tests give `estimates`, `strips`, `wall`, `memory`
//! and `evidence`. A clip gives what its line saw (`strip`), its `track`, `growth`, `ringing` and a computed release laid over
//! (`overlay`). Wishes give readings with the solutions (`size`) and what one wish costs another (`front`). They show what the report
//! holds and compute no mechanics. A figure whose data are absent is left out.
//!
//! Width, size of type and typeface of every figure are those of a [`Style`]; the numbers behind a figure come with it
//! ([`Figure::data`]), read from what is drawn.

pub mod animation;
mod axis;
mod batch;
mod bench;
mod branch;
mod clip;
mod energy;
mod heat;
mod ink;
mod logbook;
mod map;
mod memory;
mod modes;
mod place;
mod png;
mod poke;
mod record;
mod release;
mod section;
mod shape;
mod side;
mod size;
mod states;
mod style;
mod svg;
mod text;
mod thin;
pub mod typeface;

use calotte_answers::map::report::MapReport;
use calotte_answers::modes::report::ModesReport;
use calotte_answers::poke::report::PokeReport;
use calotte_answers::report::VerdictReport;
use calotte_answers::size::report::SizeReport;
use calotte_answers::states::report::StatesReport;

pub use batch::batch_figures;
pub use bench::bench_figures;
pub use clip::{ClipDrawing, clip_figures};
pub use heat::{heat_figures, heat_map_figure, heat_spread_figure};
pub use logbook::logbook_figures;
pub use memory::{SeriesFit, memory_figure};
pub use png::{PngFailure, png};
pub use release::{release_figures, slowing_figure, spread_figure, wait_figure};
pub use side::side_figures;
pub use style::{
    FONTS_PT, Family, Misfit, RESOLUTIONS_DPI, Style, StyleFailure, WIDTHS_MM, in_style, laid_out,
};
pub use svg::escape;
pub use text::text_width;

/// A figure with the words that belong to it.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Short name, fit for a file name: `shape`, `energy`, `branch`, `path`, `mode`, `barrier`, `map`, `motion`,
    /// `strobe`, `ledger`, `sideways`, `wait`, `spread`, `slowing`, `memory`, `spectrum`, `modes`, `buckling`, `heat`, `heat-shapes`,
    /// `heat-spread`, `heat-map`, `states`, `levels`, `batch`, `shares`, `indices`, `estimates`, `strips`, `wall`, `evidence`,
    /// `strip`, `track`, `growth`, `ringing`, `overlay`, `size` or `front`; of a logbook `margins`, `compared`, `sought` or `next`; of a side view
    /// `silhouette` or `residual`.
    pub name: &'static str,
    /// The drawing: a complete SVG file.
    pub svg: String,
    /// The numbers behind it as CSV: what is drawn, in the units of the axes; a section in r and z.
    pub data: String,
    /// What is wrong with its layout: texts that are cut off by the edge or overlap. Empty when all is well.
    pub faults: Vec<String>,
    /// Set by [`laid_out`] where the layout cannot be made in the style asked for.
    pub misfit: Option<Misfit>,
    /// What a reader who cannot see the figure should know; plain text, nothing escaped.
    pub alt: String,
    /// A caption fit for print; plain text, nothing escaped.
    pub caption: String,
}

impl Figure {
    fn new(name: &'static str, drawn: svg::Drawn, alt: String, caption: String) -> Self {
        Self { name, svg: drawn.svg, data: drawn.data, faults: drawn.faults, misfit: None, alt, caption }
    }
}

/// The figures of a verdict, in the order `shape`, `energy`, `branch`.
///
/// Rows of the report that hold something not finite are passed over; a figure that has too few
/// rows left is left out.
pub fn verdict_figures(report: &VerdictReport) -> Vec<Figure> {
    [shape::figure(report), energy::figure(report), branch::figure(report)].into_iter().flatten().collect()
}

/// The figures of a poke, in the order `path`, `mode`, `barrier`.
///
/// Rows and events that hold something not finite are passed over; a figure that has too few left, or
/// whose subject does not occur, is left out.
pub fn poke_figures(report: &PokeReport) -> Vec<Figure> {
    poke::figures(report)
}

/// The figures of a map: `map`, left out when the map is empty.
///
/// Points that are not finite or lie outside the axes are passed over.
pub fn map_figures(report: &MapReport) -> Vec<Figure> {
    map::figure(report).into_iter().collect()
}

/// The figures of modes, in the order `spectrum`, `modes`, `buckling`.
///
/// Rows that hold something not finite are passed over; a figure that has too few left is left out.
pub fn modes_figures(report: &ModesReport) -> Vec<Figure> {
    modes::figures(report)
}

/// The figures of a list of stable states, in the order `states`, `levels`.
///
/// States and ways that hold something not finite are passed over; a figure that has too few left is left out.
pub fn states_figures(report: &StatesReport) -> Vec<Figure> {
    states::figures(report)
}

/// The figures of sizes, in the order `size`, `front`.
///
/// Readings that are not finite are passed over; a figure that has too few left, or whose subject does not occur, is left out.
pub fn size_figures(report: &SizeReport) -> Vec<Figure> {
    size::figures(report)
}

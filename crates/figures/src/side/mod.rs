//! Figures of a side view: the outline on the picture, and distances along the arc.

mod residual;
mod silhouette;

use calotte_lab::picture::Gray;
use calotte_lab::side::SideReport;

use crate::Figure;

/// The figures `silhouette` and `residual`.
pub fn side_figures(report: &SideReport, picture: &Gray, title: &str) -> Vec<Figure> {
    [silhouette::figure(report, picture, title), residual::figure(report, title)]
        .into_iter()
        .flatten()
        .collect()
}

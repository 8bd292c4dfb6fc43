//! Which side of the threshold is which, read off what the map holds.

use calotte_answers::map::report::{Grid, MapReport};
use calotte_answers::report::Verdict;

use super::Plane;
use crate::ink;
use crate::place::{Placer, cross};
use crate::svg::{Anchor, Point, Svg};
use crate::text::text_width;

/// A place on the page where the verdict is known.
type Known = (Point, Verdict);

/// Cells of the grid, points of margin curves and predictions for specimens.
fn known(report: &MapReport, plane: &Plane) -> Vec<Known> {
    let mut out: Vec<Known> = report.grid.as_ref().map_or_else(Vec::new, |g| cells(g, plane));
    for m in report.margins.iter().filter(|m| m.ratio.is_finite() && m.ratio != 1.0) {
        let side = if m.ratio < 1.0 { Verdict::Stays } else { Verdict::Returns };
        for c in &m.curves {
            let rows = c.x_si.len().min(c.y_si.len());
            // A few points of a curve tell as much as all of them.
            let step = (rows / 40).max(1);
            out.extend((0..rows).step_by(step).map(|i| (plane.page(c.x_si[i], c.y_si[i]), side)));
        }
    }
    let predicted = report.specimens.iter().filter(|s| s.predicted != Verdict::Undecided);
    out.extend(predicted.map(|s| (plane.page(s.x_si, s.y_si), s.predicted)));
    out.retain(|k| plane.frame.window().holds(k.0));
    out
}

fn cells(grid: &Grid, plane: &Plane) -> Vec<Known> {
    let columns = grid.x_si.len();
    grid.verdicts
        .iter()
        .enumerate()
        .filter_map(|(i, v)| {
            let verdict = v.filter(|v| *v != Verdict::Undecided)?;
            let y = grid.y_si.get(i.checked_div(columns)?)?;
            Some((plane.page(grid.x_si[i % columns], *y), verdict))
        })
        .collect()
}

/// The verdict at a place: that of the nearest known place with no threshold between.
fn verdict(at: Point, known: &[Known], threshold: &[(Point, Point)]) -> Option<Verdict> {
    const TRIED: usize = 6;
    let far = |k: &Known| libm::hypot(k.0.0 - at.0, k.0.1 - at.1);
    let mut near: Vec<&Known> = known.iter().collect();
    near.sort_by(|a, b| far(a).total_cmp(&far(b)));
    near.into_iter().take(TRIED).find(|k| !threshold.iter().any(|t| cross(*t, (at, k.0)))).map(|k| k.1)
}

/// Writes "stays" and "returns" where there is most room on either side.
pub(super) fn name(svg: &mut Svg, report: &MapReport, plane: &Plane, placer: &mut Placer) {
    let known = known(report, plane);
    let threshold: Vec<(Point, Point)> =
        plane.all(&report.threshold).iter().flat_map(|p| p.windows(2).map(|w| (w[0], w[1]))).collect();
    if known.is_empty() || threshold.is_empty() {
        return;
    }
    let f = &plane.frame;
    svg.open("sides");
    for (side, class, word) in
        [(Verdict::Stays, "stays-label", "stays"), (Verdict::Returns, "returns-label", "returns")]
    {
        let size = ink::LABEL + 2.0;
        let half = (text_width(word, size) / 2.0 + 5.0, size / 2.0 + 3.0);
        let mut best: Option<(f64, Point)> = None;
        for i in 1..24_u32 {
            for j in 1..16_u32 {
                let at = (
                    f.left + (f.right - f.left) * f64::from(i) / 24.0,
                    f.top + (f.bottom - f.top) * f64::from(j) / 16.0,
                );
                let Some(room) = placer.clearance(at, half.0, half.1) else { continue };
                // Beyond this much room no more is gained.
                let room = room.min(70.0);
                if best.is_none_or(|b| room > b.0 + 1e-9) && verdict(at, &known, &threshold) == Some(side) {
                    best = Some((room, at));
                }
            }
        }
        if let Some((_, at)) = best {
            placer.block(crate::place::Rect::about(at, half.0, half.1));
            let base = (at.0, at.1 + 0.36 * size);
            svg.text(class, base, size, Anchor::Middle, ink::INK, word);
        }
    }
    svg.close();
}

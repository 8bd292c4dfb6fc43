//! The part in the picture: dark on light or light on dark, its outline as edges.

use super::Fault;
use crate::picture::{Contour, Edge, EdgeSettings, Gray, background, contours, paint, refine, split_level};

/// Fewest pixels of a part's longer side.
const LEAST_SIDE: f64 = 40.0;
/// Two levels must explain this share of a picture's variance; those of normal noise explain 2/π.
const LEAST_EXPLAINED: f64 = 0.72;
/// Edges of an outline at most; larger pictures have them further apart.
const MOST_EDGES: f64 = 1200.0;
/// Half-width of the strip that an edge is read from, px.
pub(super) const STRIP: f64 = 1.0;

/// The outline of a part.
#[derive(Clone, Debug)]
pub(super) struct Outline {
    /// Its edges in order, clockwise on the screen, the part on the right-hand side.
    pub(super) edges: Vec<Edge>,
    /// Whether it closes; otherwise it comes from the picture's edge and goes there again (a table or a stick).
    pub(super) closed: bool,
    /// Whether the part is darker than its background.
    pub(super) dark: bool,
    /// Median blur, px.
    pub(super) blur: f64,
    /// Noise over median step.
    pub(super) noise: f64,
    /// Median step.
    pub(super) contrast: f64,
    /// Places of the outline where no edge was found.
    pub(super) missed: usize,
    /// Distance between edges, px.
    pub(super) spacing: f64,
}

pub(super) fn median(mut v: Vec<f64>) -> f64 {
    v.sort_by(f64::total_cmp);
    if v.is_empty() { f64::NAN } else { v[v.len() / 2] }
}

fn cropped(picture: &Gray, crop: Option<[f64; 4]>) -> Result<(Gray, [f64; 2]), Fault> {
    let Some(c) = crop else { return Ok((picture.clone(), [0.0; 2])) };
    let size = [picture.width(), picture.height()];
    let fits = |k: usize| c[k] >= 0.0 && c[k + 2] >= 1.0 && c[k] + c[k + 2] <= size[k] as f64;
    if !(fits(0) && fits(1)) {
        return Err(Fault::Crop { crop: c, size });
    }
    let [x, y, w, h] = c.map(|v| v as usize);
    let mut out = Gray::filled(w, h, 0.0);
    for j in 0..h {
        out.row_mut(j).copy_from_slice(&picture.row(y + j)[x..x + w]);
    }
    Ok((out, [x as f64, y as f64]))
}

/// A copy for tracing: smoothed against noise, the background's uneven light taken off.
fn levelled(picture: &Gray) -> Result<(Gray, bool, f64), Fault> {
    let mut smooth = picture.clone();
    paint::blur(&mut smooth, 1.0);
    let (w, h) = (smooth.width(), smooth.height());
    let mut split = split_level(&smooth).ok_or(Fault::NoPart { explained: 0.0 })?;
    let edge_pixels =
        || (0..w).flat_map(|i| [(i, 0), (i, h - 1)]).chain((0..h).flat_map(|j| [(0, j), (w - 1, j)]));
    let light = edge_pixels().filter(|(i, j)| f64::from(smooth.row(*j)[*i]) >= split.level).count();
    let dark_part = 2 * light >= edge_pixels().count();
    for _ in 0..2 {
        let (level, middle) = (split.level, if dark_part { split.light } else { split.dark });
        let Some(ground) = background(&smooth, &|_, _, v| (v >= level) == dark_part) else { break };
        if ground.values().iter().any(|v| dark_part && f64::from(*v) < 0.2 * middle) {
            break;
        }
        for (v, g) in smooth.values_mut().iter_mut().zip(ground.values()) {
            *v = if dark_part { *v / *g * middle as f32 } else { *v - *g + middle as f32 };
        }
        split = split_level(&smooth).ok_or(Fault::NoPart { explained: 0.0 })?;
    }
    if split.explained < LEAST_EXPLAINED {
        return Err(Fault::NoPart { explained: split.explained });
    }
    Ok((smooth, dark_part, split.level))
}

/// The outline of the largest thing in the picture, or in a box of it.
pub(super) fn find(picture: &Gray, crop: Option<[f64; 4]>) -> Result<Outline, Fault> {
    let (picture, offset) = cropped(picture, crop)?;
    let (smooth, dark, level) = levelled(&picture)?;
    let sign = if dark { 1.0 } else { -1.0 };
    let mut line = contours(&smooth, level, 12)
        .into_iter()
        .max_by(|a, b| (sign * a.area()).total_cmp(&(sign * b.area())))
        .filter(|c| sign * c.area() > 0.0)
        .ok_or(Fault::NoPart { explained: 0.0 })?;
    let [low, high] = line.bounds();
    let size = [high[0] - low[0], high[1] - low[1]];
    if size[0].max(size[1]) < LEAST_SIDE || sign * line.area() < 0.02 * LEAST_SIDE * LEAST_SIDE {
        return Err(Fault::Tiny { size });
    }
    if !line.closed {
        supported(&line, [picture.width() as f64, picture.height() as f64], offset)?;
    }
    if !dark {
        line.points.reverse();
    }
    let contrast = split_level(&picture).map_or(0.1, |s| s.light - s.dark);
    let settings = EdgeSettings { reach: 6.0, half_width: STRIP, least_contrast: 0.3 * contrast };
    let spacing = (2.0 * STRIP).max(line.length() / MOST_EDGES);
    let (first, _) = refine(&picture, &line, 3.0 * spacing, &settings);
    if first.len() < 8 {
        return Err(Fault::NoPart { explained: 0.0 });
    }
    let blur = median(first.iter().map(|e| e.blur).collect());
    let settings = EdgeSettings { reach: (3.5 * blur + 2.0).clamp(4.0, 20.0), ..settings };
    let (edges, missed) = refine(&picture, &line, spacing, &settings);
    let count = edges.len();
    let blur = median(edges.iter().map(|e| e.blur).collect());
    let noise = median(edges.iter().map(|e| e.noise).collect());
    let step = median(edges.iter().map(|e| (e.after - e.before).abs()).collect());
    // What is no clean edge of this outline: specks, reflections, corners within the strip.
    let clean = |e: &Edge| {
        let rises = (e.after > e.before) == dark;
        rises
            && (e.after - e.before).abs() > 0.5 * step
            && e.blur < 2.5 * blur
            && e.noise < 5.0 * noise + 1e-6
    };
    // The picture's noise: the mean of the variances (a median of them is lower), without those that dust adds to.
    let quiet: Vec<f64> =
        edges.iter().map(|e| e.noise * e.noise).filter(|v| *v < 4.0 * noise * noise + 1e-18).collect();
    let pooled = (quiet.iter().sum::<f64>() / quiet.len().max(1) as f64).sqrt();
    let edges: Vec<Edge> = edges
        .into_iter()
        .filter(clean)
        .map(|e| {
            // Noise is that of the picture: what a single strip tells of it scatters too much to weigh edges by.
            let sd = e.sd * pooled / e.noise.max(1e-12);
            Edge { at: [e.at[0] + offset[0], e.at[1] + offset[1]], sd, ..e }
        })
        .collect();
    let missed = missed.len() + count - edges.len();
    Ok(Outline {
        edges,
        closed: line.closed,
        dark,
        blur,
        noise: pooled / step,
        contrast: step,
        missed,
        spacing,
    })
}

/// An open line is that of a part on a table (from the left side to the right side) or on a stick (in and out of one side, near
/// together); any other means that the part is cut.
fn supported(line: &Contour, size: [f64; 2], offset: [f64; 2]) -> Result<(), Fault> {
    let (p, q) = (line.points[0], line.points[line.points.len() - 1]);
    let cut = |at: [f64; 2]| Fault::Cut { at: [at[0] + offset[0], at[1] + offset[1]] };
    let on = |p: [f64; 2], c: usize, end: bool| if end { p[c] >= size[c] - 1.5 } else { p[c] <= 0.5 };
    let [low, high] = line.bounds();
    let across = |c: usize| on(p, c, false) && on(q, c, true) || on(q, c, false) && on(p, c, true);
    if (0..2).any(across) {
        return Ok(());
    }
    let same = (0..2).any(|c| [false, true].iter().any(|e| on(p, c, *e) && on(q, c, *e)));
    let gap = libm::hypot(p[0] - q[0], p[1] - q[1]);
    let extent = (high[0] - low[0]).max(high[1] - low[1]);
    if same && gap < 0.25 * extent { Ok(()) } else { Err(cut(p)) }
}

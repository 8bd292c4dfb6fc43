//! Corners of an outline, the arc between the two ends of the rim, and the rim's corners to a fraction of a pixel.

use calotte_chance::{FitSettings, least_squares};

use super::find::Outline;
use super::{Fault, Measured};
use crate::picture::Edge;

/// A corner turns by more than this within its window, rad.
const LEAST_TURN: f64 = 0.6;

/// The pieces of an outline between its corners.
pub(super) struct Pieces {
    /// Edges of the meridian's outline, in the order of the outline.
    pub(super) arc: Vec<Edge>,
    /// Edges of the inner wall of a section, if there is one.
    pub(super) inner: Option<Vec<Edge>>,
    /// All other edges.
    pub(super) rest: Vec<Edge>,
    /// What joins the arc at its start and at its end: the cut rim, or the rim line where the cut is too short to be seen.
    pub(super) sides: [Vec<Edge>; 2],
    /// What is left out beside a corner, px.
    pub(super) margin: f64,
}

/// Twice the area between a piece and its chord, positive where it bulges outward.
fn bulge(points: &[Edge]) -> f64 {
    let n = points.len();
    let cross = |k: usize| {
        let (p, q) = (points[k].at, points[(k + 1) % n].at);
        p[0] * q[1] - q[0] * p[1]
    };
    (0..n).map(cross).sum()
}

/// Turns of the way at every edge, rad, positive to the right: between the chords behind and ahead.
fn turns(o: &Outline, m: usize) -> Vec<f64> {
    let n = o.edges.len();
    let at = |k: isize| {
        let k = if o.closed { k.rem_euclid(n as isize) } else { k.clamp(0, n as isize - 1) };
        o.edges[k as usize].at
    };
    (0..n as isize)
        .map(|k| {
            let (p, q, r) = (at(k - m as isize), at(k), at(k + m as isize));
            let (a, b) = ([q[0] - p[0], q[1] - p[1]], [r[0] - q[0], r[1] - q[1]]);
            libm::atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1])
        })
        .collect()
}

/// Splits an outline at its corners and chooses the arc: the piece that bulges outward most.
pub(super) fn split(o: &Outline, section: bool) -> Result<Pieces, Fault> {
    let n = o.edges.len();
    let margin = 2.5 * o.blur + 1.5;
    let m = ((3.0 * o.blur + 6.0) / o.spacing).ceil().max(2.0) as usize;
    let middle = {
        let sum = o.edges.iter().fold([0.0; 2], |s, e| [s[0] + e.at[0], s[1] + e.at[1]]);
        [sum[0] / n as f64, sum[1] / n as f64]
    };
    if n < 8 * m {
        return Err(Fault::NoArc { at: middle, corners: Vec::new() });
    }
    let turn = turns(o, m);
    let largest_near = |k: usize| {
        (-(m as isize)..=m as isize).all(|d| {
            let i = k as isize + d;
            let i = if o.closed { i.rem_euclid(n as isize) } else { i.clamp(0, n as isize - 1) } as usize;
            turn[i].abs() < turn[k].abs() || i == k || (turn[i].abs() == turn[k].abs() && i > k)
        })
    };
    let corners: Vec<usize> = (0..n).filter(|k| turn[*k].abs() > LEAST_TURN && largest_near(*k)).collect();
    let no_arc = || Fault::NoArc { at: middle, corners: corners.iter().map(|k| o.edges[*k].at).collect() };
    let mut pieces: Vec<Vec<usize>> = Vec::new();
    if !o.closed
        && let Some(first) = corners.first().filter(|c| **c > 4)
    {
        pieces.push((0..=*first).collect());
    }
    for (i, from) in corners.iter().enumerate() {
        let to = corners.get(i + 1).copied().or_else(|| o.closed.then(|| corners[0] + n));
        if let Some(to) = to.filter(|to| *to > from + 4) {
            pieces.push((*from..=to).map(|k| k % n).collect());
        }
    }
    if !o.closed
        && let Some(last) = corners.last().filter(|c| **c + 5 < n)
    {
        pieces.push((*last..n).collect());
    }
    let edges = |p: &[usize]| p.iter().map(|k| o.edges[*k]).collect::<Vec<Edge>>();
    let order = |a: &usize, b: &usize| bulge(&edges(&pieces[*a])).total_cmp(&bulge(&edges(&pieces[*b])));
    let chosen = (0..pieces.len()).max_by(order).ok_or_else(no_arc)?;
    let best = &pieces[chosen];
    let arc = edges(best);
    let chord = libm::hypot(arc[0].at[0] - arc[arc.len() - 1].at[0], arc[0].at[1] - arc[arc.len() - 1].at[1]);
    // The mean height of the arc above its chord must stand out.
    if bulge(&arc) < 2.0 * chord * 1.5 || arc.len() < 16 {
        return Err(no_arc());
    }
    let hollow = section.then(|| (0..pieces.len()).min_by(order)).flatten().map(|k| &pieces[k]);
    let inner = hollow.map(|p| edges(p)).filter(|p| bulge(p) < -2.0 * 1.5 * chord * 0.5);
    if section && inner.is_none() {
        return Err(Fault::NoInner);
    }
    let used = |k: &usize| best.contains(k) || inner.is_some() && hollow.is_some_and(|p| p.contains(k));
    let beside = |step: usize, at_end: bool| {
        let k = chosen + step;
        let known = o.closed || (pieces.len()..2 * pieces.len()).contains(&k);
        let piece = if known { edges(&pieces[k % pieces.len()]) } else { Vec::new() };
        let mut near = if piece.is_empty() { piece } else { trimmed(&piece, margin) };
        // Of a long one only what lies near the corner.
        if !at_end {
            near.reverse();
        }
        straight_run(&near)
    };
    let sides = [beside(pieces.len() - 1, false), beside(pieces.len() + 1, true)];
    let rest = (0..n).filter(|k| !used(k)).map(|k| o.edges[k]).collect();
    Ok(Pieces { arc: trimmed(&arc, margin), inner: inner.map(|p| trimmed(&p, margin)), rest, sides, margin })
}

/// The edges from the first on that lie on one line, at most sixteen.
fn straight_run(edges: &[Edge]) -> Vec<Edge> {
    let mut count = edges.len().min(4);
    while count < edges.len().min(16) {
        let Some(line) = straight(&edges[..count]) else { break };
        let next = &edges[count];
        let miss = line.normal[0] * next.at[0] + line.normal[1] * next.at[1] - line.offset;
        let extent = gap(next.at, line.middle) * line.turn_sd;
        if miss.abs() > 4.0 * (next.sd * next.sd + line.sd * line.sd + extent * extent).sqrt() + 0.05 {
            break;
        }
        count += 1;
    }
    edges[..count].to_vec()
}

/// The piece without what lies within `margin` of its ends, which blur rounds.
fn trimmed(piece: &[Edge], margin: f64) -> Vec<Edge> {
    let ends = [piece[0].at, piece[piece.len() - 1].at];
    let clear = |e: &&Edge| ends.iter().all(|c| libm::hypot(e.at[0] - c[0], e.at[1] - c[1]) > margin);
    piece.iter().filter(clear).copied().collect()
}

/// A line a·x = b through edges by least squares: unit normal, offset, and the factor by which they scatter more than their
/// deviations say.
#[derive(Clone, Copy, Debug)]
pub(super) struct Straight {
    pub(super) normal: [f64; 2],
    pub(super) offset: f64,
    /// Deviation of the offset at the edges' middle, px.
    pub(super) sd: f64,
    /// Middle of the edges, px.
    pub(super) middle: [f64; 2],
    /// Deviation of the direction, rad.
    pub(super) turn_sd: f64,
}

/// The line through edges, wild ones left out.
pub(super) fn straight(edges: &[Edge]) -> Option<Straight> {
    let mut kept: Vec<Edge> = edges.to_vec();
    for _ in 0..4 {
        if kept.len() < 3 {
            return None;
        }
        let w: Vec<f64> = kept.iter().map(|e| 1.0 / (e.sd * e.sd)).collect();
        let total: f64 = w.iter().sum();
        let mean = |c: usize| kept.iter().zip(&w).map(|(e, w)| w * e.at[c]).sum::<f64>() / total;
        let middle = [mean(0), mean(1)];
        let moment = |a: usize, b: usize| {
            kept.iter().zip(&w).map(|(e, w)| w * (e.at[a] - middle[a]) * (e.at[b] - middle[b])).sum::<f64>()
        };
        let (xx, xy, yy) = (moment(0, 0), moment(0, 1), moment(1, 1));
        let angle = 0.5 * libm::atan2(2.0 * xy, xx - yy);
        let (sin, cos) = libm::sincos(angle);
        let normal = [-sin, cos];
        let offset = normal[0] * middle[0] + normal[1] * middle[1];
        let along = xx * cos * cos + 2.0 * xy * sin * cos + yy * sin * sin;
        let miss = |e: &Edge| normal[0] * e.at[0] + normal[1] * e.at[1] - offset;
        let squares: f64 = kept.iter().zip(&w).map(|(e, w)| w * miss(e) * miss(e)).sum();
        let excess = (squares / (kept.len() as f64 - 2.0).max(1.0)).max(1.0).sqrt();
        let within = |e: &&Edge| miss(e).abs() < 4.0 * excess.min(6.0) * e.sd + 0.02;
        let good: Vec<Edge> = kept.iter().filter(within).copied().collect();
        if good.len() == kept.len() {
            return Some(Straight {
                normal,
                offset,
                sd: excess / total.sqrt(),
                middle,
                turn_sd: excess / along.sqrt(),
            });
        }
        kept = good;
    }
    None
}

/// A corner between an arc and a line.
#[derive(Clone, Copy, Debug)]
pub(super) struct Corner {
    /// Where, px.
    pub(super) at: [f64; 2],
    /// Deviation in x and y, px.
    pub(super) sd: [f64; 2],
}

/// Where an arc whose curvature changes evenly, through the edges `arc` at its end, meets a line.
pub(super) fn corner(arc: &[Edge], line: &Straight, near: [f64; 2]) -> Option<Corner> {
    // Unknown: distance along the line from the foot of `near`, direction and curvature of the arc there.
    let foot = line.normal[0] * near[0] + line.normal[1] * near[1] - line.offset;
    let origin = [near[0] - foot * line.normal[0], near[1] - foot * line.normal[1]];
    let along = [-line.normal[1], line.normal[0]];
    let far = arc.iter().max_by(|a, b| gap(a.at, near).total_cmp(&gap(b.at, near)))?;
    let toward = libm::atan2(far.at[1] - near[1], far.at[0] - near[0]);
    let mut residuals = |p: &[f64], out: &mut Vec<f64>| {
        let c = [origin[0] + p[0] * along[0], origin[1] + p[0] * along[1]];
        let (sin, cos) = libm::sincos(p[1]);
        for e in arc {
            let (x, y) = (e.at[0] - c[0], e.at[1] - c[1]);
            let (t, d) = (x * cos + y * sin, y * cos - x * sin);
            out.push((d - t * t * (0.5 * p[2] + p[3] * t / 6.0)) / e.sd);
        }
        true
    };
    let scales = [1.0, 0.01, 1e-3, 1e-4];
    let fit =
        least_squares(&[0.0, toward, 0.0, 0.0], &scales, &mut residuals, &FitSettings::default()).ok()?;
    let excess = fit.scale().max(1.0);
    let place = Measured { value: fit.at[0], sd: fit.deviation(0) * excess };
    let at = [origin[0] + place.value * along[0], origin[1] + place.value * along[1]];
    // The line's own error moves the corner along the arc.
    let (sin, cos) = libm::sincos(fit.at[1]);
    let across = (line.normal[0] * cos + line.normal[1] * sin).abs().max(0.2);
    let reach = gap(at, line.middle);
    let of_line = libm::hypot(line.sd, line.turn_sd * reach) / across;
    let sd = [0, 1].map(|c| libm::hypot(place.sd * along[c], of_line * [cos, sin][c]));
    Some(Corner { at, sd })
}

/// Distance of two points.
pub(super) fn gap(p: [f64; 2], q: [f64; 2]) -> f64 {
    libm::hypot(p[0] - q[0], p[1] - q[1])
}

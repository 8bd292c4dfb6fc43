//! Lines along which a picture has one grey value, the level that splits it in two, and its uneven light.

use super::Gray;

/// A line of one grey value.
#[derive(Clone, Debug, PartialEq)]
pub struct Contour {
    /// Its points, px; the darker side is on the right-hand side of the way as seen on the screen, the lighter on the left.
    pub points: Vec<[f64; 2]>,
    /// Whether the last point joins the first; otherwise both ends lie on the picture's edge.
    pub closed: bool,
}

impl Contour {
    /// Area within, px²: positive when the darker side is inside. Of an open line, with its ends joined.
    pub fn area(&self) -> f64 {
        let n = self.points.len();
        let cross = |k: usize| {
            let (p, q) = (self.points[k], self.points[(k + 1) % n]);
            p[0] * q[1] - q[0] * p[1]
        };
        // With y down a way that keeps its inside on the right, clockwise on the screen, has positive area.
        0.5 * (0..n).map(cross).sum::<f64>()
    }

    /// `[x, y]` of the least and of the greatest corner of the box around it, px.
    pub fn bounds(&self) -> [[f64; 2]; 2] {
        let mut b = [[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]];
        for p in &self.points {
            for c in 0..2 {
                b[0][c] = b[0][c].min(p[c]);
                b[1][c] = b[1][c].max(p[c]);
            }
        }
        b
    }

    /// Length along it, px.
    pub fn length(&self) -> f64 {
        let n = self.points.len();
        let last = if self.closed { n } else { n.saturating_sub(1) };
        (0..last).map(|k| distance(self.points[k], self.points[(k + 1) % n])).sum()
    }
}

fn distance(p: [f64; 2], q: [f64; 2]) -> f64 {
    libm::hypot(p[0] - q[0], p[1] - q[1])
}

/// Points at equal distances of about `spacing` along a line of points.
pub(super) fn resampled(points: &[[f64; 2]], closed: bool, spacing: f64) -> Vec<[f64; 2]> {
    let mut line = points.to_vec();
    if closed && let Some(first) = points.first() {
        line.push(*first);
    }
    let total: f64 = line.windows(2).map(|w| distance(w[0], w[1])).sum();
    let pieces = (total / spacing).floor();
    if pieces.is_nan() || pieces < 1.0 {
        return Vec::new();
    }
    let step = total / pieces;
    let (mut out, mut gone, mut next) = (Vec::with_capacity(pieces as usize + 1), 0.0, 0.0);
    for w in line.windows(2) {
        let length = distance(w[0], w[1]);
        while length > 0.0 && next <= gone + length && out.len() < pieces as usize {
            let u = (next - gone) / length;
            out.push([w[0][0] + u * (w[1][0] - w[0][0]), w[0][1] + u * (w[1][1] - w[0][1])]);
            next += step;
        }
        gone += length;
    }
    out
}

/// All lines of grey value `level`, longest first: marching squares on the centres of the pixels, linear between them; where a
/// square has two ways to join, its mean decides. Ties of a pixel with the level count as lighter. Lines of fewer than `least`
/// points are left out.
pub fn contours(picture: &Gray, level: f64, least: usize) -> Vec<Contour> {
    let (w, h) = (picture.width(), picture.height());
    // Crossed sides of squares: 2(j w + i) runs from pixel (i, j) to the right, the next number from it downwards.
    let right = |i: usize, j: usize| 2 * (j * w + i);
    let down = |i: usize, j: usize| 2 * (j * w + i) + 1;
    let mut ways: Vec<(usize, usize)> = Vec::new();
    for j in 0..h.saturating_sub(1) {
        let (upper, lower) = (picture.row(j), picture.row(j + 1));
        for i in 0..w.saturating_sub(1) {
            let corners = [upper[i], upper[i + 1], lower[i + 1], lower[i]].map(f64::from);
            let dark = corners.map(|v| v < level);
            if dark == [true; 4] || dark == [false; 4] {
                continue;
            }
            // Sides in the sense top, right, bottom, left; side k runs from corner k to corner k + 1, clockwise on the screen.
            let sides = [right(i, j), down(i + 1, j), right(i, j + 1), down(i, j)];
            // A way that keeps dark on its right goes in where, clockwise, light follows dark, and out where dark follows light.
            let goes_in: Vec<usize> = (0..4).filter(|k| dark[*k] && !dark[(k + 1) % 4]).collect();
            let goes_out: Vec<usize> = (0..4).filter(|k| !dark[*k] && dark[(k + 1) % 4]).collect();
            if let ([a], [b]) = (goes_in.as_slice(), goes_out.as_slice()) {
                ways.push((sides[*a], sides[*b]));
            } else {
                // Two dark corners across: joined when the mean is dark, so that a way cuts a light corner off.
                let joined = corners.iter().sum::<f64>() < 4.0 * level;
                for a in goes_in {
                    let b = if joined { (a + 1) % 4 } else { (a + 3) % 4 };
                    ways.push((sides[a], sides[b]));
                }
            }
        }
    }
    let point = |side: usize| {
        let (i, j) = ((side / 2) % w, side / 2 / w);
        let (i1, j1) = if side.is_multiple_of(2) { (i + 1, j) } else { (i, j + 1) };
        let (a, b) = (f64::from(picture.row(j)[i]), f64::from(picture.row(j1)[i1]));
        let u = (level - a) / (b - a);
        [i as f64 + u * (i1 - i) as f64, j as f64 + u * (j1 - j) as f64]
    };
    ways.sort_unstable();
    let mut used = vec![false; ways.len()];
    let find = |side: usize| ways.binary_search_by_key(&side, |w| w.0).ok();
    let mut ends: Vec<usize> = ways.iter().map(|w| w.1).collect();
    ends.sort_unstable();
    let mut out = Vec::new();
    // Open lines start at sides that no way leads to; what is left is closed.
    let starts = (0..ways.len()).filter(|k| ends.binary_search(&ways[*k].0).is_err());
    for start in starts.collect::<Vec<_>>().into_iter().chain(0..ways.len()) {
        if used[start] {
            continue;
        }
        let mut points = vec![point(ways[start].0)];
        let mut k = start;
        let closed = loop {
            used[k] = true;
            match find(ways[k].1) {
                Some(next) if next == start => break true,
                Some(next) if !used[next] => {
                    points.push(point(ways[next].0));
                    k = next;
                }
                _ => {
                    points.push(point(ways[k].1));
                    break false;
                }
            }
        };
        if points.len() >= least {
            out.push(Contour { points, closed });
        }
    }
    out.sort_by_key(|c| std::cmp::Reverse(c.points.len()));
    out
}

/// The level that splits a picture's pixels into two sets with the largest variance between their means (Otsu 1979, IEEE Trans. Syst.
/// Man Cybern. 9, 62–66), the two means, and the share of the variance that the split explains.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Split {
    /// Half-way between the means.
    pub level: f64,
    /// Mean of the darker pixels.
    pub dark: f64,
    /// Mean of the lighter ones.
    pub light: f64,
    /// Variance between the two sets over that of all pixels, 0..1.
    pub explained: f64,
}

/// See [`Split`]; `None` for a picture of one value.
pub fn split_level(picture: &Gray) -> Option<Split> {
    const BINS: usize = 512;
    let (low, high) =
        picture.values().iter().fold((f32::INFINITY, f32::NEG_INFINITY), |(a, b), v| (a.min(*v), b.max(*v)));
    if high.partial_cmp(&low) != Some(std::cmp::Ordering::Greater) {
        return None;
    }
    let (low, per) = (f64::from(low), BINS as f64 / f64::from(high - low));
    let (mut count, mut sum) = (vec![0.0; BINS], vec![0.0; BINS]);
    let mut squares = 0.0;
    for v in picture.values() {
        let v = f64::from(*v);
        let k = (((v - low) * per) as usize).min(BINS - 1);
        count[k] += 1.0;
        sum[k] += v;
        squares += v * v;
    }
    let (all, total): (f64, f64) = (count.iter().sum(), sum.iter().sum());
    let variance = squares / all - (total / all) * (total / all);
    let (mut n, mut s) = (0.0, 0.0);
    let mut best: Option<Split> = None;
    for k in 0..BINS - 1 {
        n += count[k];
        s += sum[k];
        if n > 0.0 && n < all {
            let (dark, light) = (s / n, (total - s) / (all - n));
            let explained = n * (all - n) / (all * all) * (light - dark) * (light - dark) / variance;
            if best.is_none_or(|b| explained > b.explained) {
                best = Some(Split { level: 0.5 * (dark + light), dark, light, explained });
            }
        }
    }
    best
}

/// The light of the background: the polynomial of second degree in x and y through the pixels that `counts` (by column, row and
/// value), by least squares, as a picture; `None` when they do not carry one.
pub fn background(picture: &Gray, counts: &dyn Fn(usize, usize, f64) -> bool) -> Option<Gray> {
    let (w, h) = (picture.width(), picture.height());
    // Some ten thousand pixels carry six numbers well enough.
    let stride = (((w * h) as f64 / 1e4).sqrt() as usize).max(1);
    let terms = |i: usize, j: usize| {
        let (x, y) = (2.0 * i as f64 / w as f64 - 1.0, 2.0 * j as f64 / h as f64 - 1.0);
        [1.0, x, y, x * x, x * y, y * y]
    };
    let mut rows: Vec<([f64; 6], f64)> = Vec::new();
    for j in (0..h).step_by(stride) {
        for i in (0..w).step_by(stride) {
            let v = f64::from(picture.row(j)[i]);
            if counts(i, j, v) {
                rows.push((terms(i, j), v));
            }
        }
    }
    let mut residuals = |p: &[f64], out: &mut Vec<f64>| {
        out.extend(rows.iter().map(|(t, v)| t.iter().zip(p).map(|(t, p)| t * p).sum::<f64>() - v));
        true
    };
    let start = [0.5, 0.0, 0.0, 0.0, 0.0, 0.0];
    let fit = calotte_chance::least_squares(
        &start,
        &[1.0; 6],
        &mut residuals,
        &calotte_chance::FitSettings::default(),
    )
    .ok()?;
    let mut out = Gray::filled(w, h, 0.0);
    for j in 0..h {
        for (i, v) in out.row_mut(j).iter_mut().enumerate() {
            *v = terms(i, j).iter().zip(&fit.at).map(|(t, p)| t * p).sum::<f64>() as f32;
        }
    }
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::picture::{EdgeSettings, refine};

    /// A dark disc with a soft edge, light around it.
    fn disc(n: usize, centre: [f64; 2], radius: f64) -> Gray {
        let mut out = Gray::filled(n, n, 0.0);
        for j in 0..n {
            for (i, v) in out.row_mut(j).iter_mut().enumerate() {
                let r = libm::hypot(i as f64 - centre[0], j as f64 - centre[1]);
                *v = (0.1 + 0.8 * calotte_chance::normal::below((r - radius) / 1.1)) as f32;
            }
        }
        out
    }

    /// Closed form: the area of a disc, and its edge at the radius.
    #[test]
    fn a_disc_is_one_closed_line() {
        let picture = disc(120, [60.3, 55.8], 40.2);
        let split = split_level(&picture).unwrap();
        assert!((split.level - 0.5).abs() < 0.04 && split.explained > 0.9, "{split:?}");
        let lines = contours(&picture, 0.5, 3);
        assert_eq!(lines.len(), 1);
        assert!(lines[0].closed);
        let area = std::f64::consts::PI * 40.2 * 40.2;
        assert!((lines[0].area() / area - 1.0).abs() < 1e-3, "{}", lines[0].area());
        let (edges, missed) = refine(&picture, &lines[0], 3.0, &EdgeSettings::default());
        assert!(missed.is_empty() && edges.len() == 84, "{} {missed:?}", edges.len());
        for e in edges {
            let [x, y] = [e.at[0] - 60.3, e.at[1] - 55.8];
            // Within a strip the circle bends away by w²/6R in the mean.
            let bent = 40.2 - 1.5 * 1.5 / (6.0 * 40.2);
            assert!((libm::hypot(x, y) - bent).abs() < 0.005, "{e:?}");
            // Across the edge, from dark to light: outwards.
            assert!(e.after > e.before && e.direction[0] * x + e.direction[1] * y > 40.0);
        }
    }

    #[test]
    fn lines_that_leave_the_picture_are_open_and_light_discs_count_negative() {
        let cut = disc(60, [0.0, 30.0], 20.0);
        let lines = contours(&cut, 0.5, 3);
        assert_eq!((lines.len(), lines[0].closed), (1, false));
        let ends = [lines[0].points[0], lines[0].points[lines[0].points.len() - 1]];
        assert!(ends.iter().all(|p| p[0] == 0.0), "{ends:?}");
        let mut light = disc(60, [30.0, 30.0], 20.0);
        light.values_mut().iter_mut().for_each(|v| *v = 1.0 - *v);
        assert!(contours(&light, 0.5, 3)[0].area() < -1200.0);
        assert!(contours(&Gray::filled(9, 9, 0.5), 0.5, 3).is_empty() && split_level(&cut).is_some());
        assert_eq!(split_level(&Gray::filled(9, 9, 0.5)), None);
    }

    /// Every way ends where the next begins, whatever the pixels.
    #[test]
    fn noise_makes_closed_lines_or_lines_from_edge_to_edge() {
        let mut stream = calotte_chance::Stream::new(11);
        let mut noise = Gray::filled(40, 30, 0.0);
        noise.values_mut().iter_mut().for_each(|v| *v = stream.unit() as f32);
        let lines = contours(&noise, 0.5, 1);
        assert!(lines.len() > 50);
        let on_edge = |p: [f64; 2]| p[0] == 0.0 || p[1] == 0.0 || p[0] == 39.0 || p[1] == 29.0;
        for c in &lines {
            assert!(c.closed || (on_edge(c.points[0]) && on_edge(c.points[c.points.len() - 1])), "{c:?}");
        }
    }

    #[test]
    fn uneven_light_is_found() {
        let mut picture = disc(100, [50.0, 50.0], 20.0);
        for j in 0..100 {
            for (i, v) in picture.row_mut(j).iter_mut().enumerate() {
                *v *= 0.6 + 0.004 * i as f32;
            }
        }
        let light = background(&picture, &|_, _, v| v > 0.4).unwrap();
        assert!((light.row(10)[5] - 0.9 * 0.62).abs() < 0.01, "{}", light.row(10)[5]);
        assert_eq!(background(&picture, &|_, _, _| false), None);
    }
}

//! Crossings of one level with the edges of a grid, joined cell by cell into curves.

use std::collections::BTreeMap;

use crate::heat::report::MapCurve;

/// An edge of the grid: indices of its two ends, the lower one first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Edge {
    pub(super) from: usize,
    pub(super) to: usize,
}

/// Where one level crosses a grid.
pub(super) struct Crossings<'a> {
    values: &'a [Option<f64>],
    columns: usize,
    level: f64,
    /// Crossed edges in order.
    crossed: Vec<Edge>,
}

impl<'a> Crossings<'a> {
    /// Values row by row; edges at whose ends one is missing are not crossed.
    pub(super) fn of(values: &'a [Option<f64>], columns: usize, level: f64) -> Self {
        let rows = values.len() / columns;
        let mut out = Self { values, columns, level, crossed: Vec::new() };
        for from in 0..values.len() {
            let (i, j) = (from % columns, from / columns);
            for to in [(i + 1 < columns).then_some(from + 1), (j + 1 < rows).then_some(from + columns)]
                .into_iter()
                .flatten()
            {
                if out.above(from).zip(out.above(to)).is_some_and(|(a, b)| a != b) {
                    out.crossed.push(Edge { from, to });
                }
            }
        }
        out
    }

    fn above(&self, k: usize) -> Option<bool> {
        self.values[k].map(|v| v >= self.level)
    }

    pub(super) fn edges(&self) -> impl Iterator<Item = Edge> {
        self.crossed.iter().copied()
    }

    /// The curves through the points on the edges, in their order. `centre` tells for the cell of a lower left corner whether its
    /// middle lies above the level: it decides where all four edges are crossed. A cell that lacks a corner, or whose middle is
    /// unknown, joins nothing.
    pub(super) fn joined(
        &self,
        points: &[Option<[f64; 2]>],
        centre: &dyn Fn(usize) -> Option<bool>,
    ) -> Vec<MapCurve> {
        let known: BTreeMap<Edge, [f64; 2]> =
            self.crossed.iter().zip(points).filter_map(|(e, p)| Some((*e, (*p)?))).collect();
        let mut beside: BTreeMap<Edge, Vec<Edge>> = BTreeMap::new();
        let rows = self.values.len() / self.columns;
        for k in 0..(rows - 1) * self.columns {
            if k % self.columns + 1 == self.columns {
                continue;
            }
            for [a, b] in self.pairs(k, centre) {
                if known.contains_key(&a) && known.contains_key(&b) {
                    beside.entry(a).or_default().push(b);
                    beside.entry(b).or_default().push(a);
                }
            }
        }
        // Open curves from their ends, then what is closed.
        let mut out = Vec::new();
        for open in [true, false] {
            let starts: Vec<Edge> =
                beside.iter().filter(|(_, n)| !open || n.len() == 1).map(|(e, _)| *e).collect();
            for start in starts {
                if let Some(curve) = walk(&mut beside, start) {
                    let (depth_si, thickness_m) = curve.iter().map(|e| (known[e][0], known[e][1])).unzip();
                    out.push(MapCurve { depth_si, thickness_m });
                }
            }
        }
        out
    }

    /// Which crossed edges of a cell belong together.
    fn pairs(&self, k: usize, centre: &dyn Fn(usize) -> Option<bool>) -> Vec<[Edge; 2]> {
        let c = self.columns;
        // Corners anticlockwise from the lower left one.
        let corners = [k, k + 1, k + c + 1, k + c];
        let Some(above) = corners.iter().map(|k| self.above(*k)).collect::<Option<Vec<bool>>>() else {
            return Vec::new();
        };
        let edge = |i: usize| {
            let (a, b) = (corners[i], corners[(i + 1) % 4]);
            Edge { from: a.min(b), to: a.max(b) }
        };
        let crossed: Vec<usize> = (0..4).filter(|i| above[*i] != above[(i + 1) % 4]).collect();
        match crossed.len() {
            2 => vec![[edge(crossed[0]), edge(crossed[1])]],
            4 => match centre(k) {
                // The middle is of the side of the first corner: the other two corners are cut off.
                Some(middle) if middle == above[0] => vec![[edge(0), edge(1)], [edge(2), edge(3)]],
                Some(_) => vec![[edge(3), edge(0)], [edge(1), edge(2)]],
                None => Vec::new(),
            },
            _ => Vec::new(),
        }
    }
}

/// One curve from an edge on, taken out of the joints; `None` when nothing starts there.
fn walk(beside: &mut BTreeMap<Edge, Vec<Edge>>, start: Edge) -> Option<Vec<Edge>> {
    let mut curve = vec![start];
    let mut here = start;
    while let Some(next) = beside.get_mut(&here).and_then(Vec::pop) {
        if let Some(back) = beside.get_mut(&next)
            && let Some(i) = back.iter().position(|e| *e == here)
        {
            back.swap_remove(i);
        }
        curve.push(next);
        here = next;
    }
    (curve.len() > 1).then_some(curve)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Points halfway along the edges of a grid one apart.
    #[allow(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]
    fn curves(values: &[f64], columns: usize, middle: Option<bool>) -> Vec<MapCurve> {
        let values: Vec<Option<f64>> = values.iter().map(|v| v.is_finite().then_some(*v)).collect();
        let c = Crossings::of(&values, columns, 0.5);
        let at = |k: usize| [(k % columns) as f64, (k / columns) as f64];
        let half = |e: Edge| Some([0, 1].map(|i| 0.5 * (at(e.from)[i] + at(e.to)[i])));
        let points: Vec<Option<[f64; 2]>> = c.edges().map(half).collect();
        c.joined(&points, &|_| middle)
    }

    /// A hill is ringed by one closed curve, a slope crossed by one open one.
    #[test]
    fn rings_close_and_lines_go_through() {
        let ring = curves(&[0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0], 3, None);
        assert_eq!(ring.len(), 1);
        assert_eq!(ring[0].depth_si.len(), 5);
        assert_eq!(ring[0].depth_si.first(), ring[0].depth_si.last());
        let line = curves(&[0.0, 1.0, 0.0, 1.0, 0.0, 1.0], 2, None);
        assert_eq!(line.len(), 1);
        assert_eq!(
            (line[0].depth_si.clone(), line[0].thickness_m.clone()),
            (vec![0.5; 3], vec![0.0, 1.0, 2.0])
        );
    }

    /// A saddle goes as its middle says; without it nothing is joined, and neither where a corner is missing.
    #[test]
    fn saddles_go_as_their_middle_says() {
        let saddle = [1.0, 0.0, 0.0, 1.0];
        // With a high middle the low corners are cut off: the lower right one by a curve from (0.5, 0) to (1, 0.5).
        let cut = |m: bool| {
            let c = &curves(&saddle, 2, Some(m))[0];
            let mut ends = [(c.depth_si[0], c.thickness_m[0]), (c.depth_si[1], c.thickness_m[1])];
            ends.sort_by(|a, b| a.0.total_cmp(&b.0));
            ends
        };
        assert_eq!(cut(true), [(0.5, 0.0), (1.0, 0.5)]);
        assert_eq!(cut(false), [(0.0, 0.5), (0.5, 0.0)]);
        assert_eq!(curves(&saddle, 2, Some(true)).len(), 2);
        assert!(curves(&saddle, 2, None).is_empty());
        assert!(curves(&[1.0, 0.0, 0.0, f64::NAN], 2, Some(true)).is_empty());
    }
}

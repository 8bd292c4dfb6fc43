//! The few colours of a film, and the nearest of them to a pixel.

use std::sync::Arc;

use crate::ink;

/// Colours that are mixed where an edge is smoothed, and into how many steps.
const RAMPS: [(&str, &str, u16); 14] = [
    (ink::PAPER, ink::INK, 8),
    (ink::WALL_INVERTED, ink::INK, 6),
    (ink::PAPER, ink::WALL_INVERTED, 3),
    (ink::SHADE, ink::INK, 5),
    (ink::PAPER, ink::DEEP, 4),
    (ink::TINTS[0], ink::DEEP, 4),
    (ink::TINTS[1], ink::DEEP, 4),
    (ink::TINTS[2], ink::DEEP, 4),
    (ink::TINTS[3], ink::DEEP, 4),
    (ink::TINTS[4], ink::DEEP, 4),
    (ink::AMBER, ink::INK, 3),
    (ink::PAPER, ink::AMBER, 3),
    (ink::PAPER, ink::FAINT, 3),
    (ink::TINTS[2], ink::AMBER, 2),
];

/// Slots of the memory of colours met.
const SLOTS: usize = 1 << 14;
/// Most colours of a palette: one index is left for see-through pixels.
pub(crate) const MOST: usize = 255;

pub(crate) fn channels(hex: &str) -> [u8; 3] {
    let part = |i: usize| hex.get(i..i + 2).and_then(|h| u8::from_str_radix(h, 16).ok()).unwrap_or(0);
    [part(1), part(3), part(5)]
}

/// The colours of sections, each once.
pub(crate) fn colours() -> Vec<[u8; 3]> {
    let mut out: Vec<[u8; 3]> = Vec::new();
    for (a, b, steps) in RAMPS {
        let (a, b) = (channels(a), channels(b));
        for k in 0..=steps {
            let mix =
                |i: usize| ((u16::from(a[i]) * (steps - k) + u16::from(b[i]) * k + steps / 2) / steps) as u8;
            let colour = [mix(0), mix(1), mix(2)];
            if !out.contains(&colour) {
                out.push(colour);
            }
        }
    }
    out
}

/// A cell of colours that lie close together.
#[derive(Clone, Copy, Default)]
struct Cell {
    count: u64,
    sum: [u64; 3],
}

/// Counts the colours of pictures, five bits a channel.
pub(crate) struct Census {
    cells: Vec<Cell>,
}

impl Census {
    pub(crate) fn new() -> Self {
        Self { cells: vec![Cell::default(); 1 << 15] }
    }

    /// Counts a picture.
    pub(crate) fn count(&mut self, rgb: &[u8]) {
        for p in rgb.chunks_exact(3) {
            let key = p.iter().fold(0, |k, c| (k << 5) | usize::from(c >> 3));
            let cell = &mut self.cells[key];
            cell.count += 1;
            for (s, c) in cell.sum.iter_mut().zip(p) {
                *s += u64::from(*c);
            }
        }
    }

    /// At most `most` colours that suit what was counted: the box with the largest spread is cut in two at its mean, again and
    /// again.
    pub(crate) fn colours(&self, most: usize) -> Vec<[u8; 3]> {
        // Colours with weights: rare ones count more than their share, common ones less, so that a smooth ground does not
        // take all.
        let points: Vec<([f64; 3], f64)> = self
            .cells
            .iter()
            .filter(|c| c.count > 0)
            .map(|c| {
                let mean = c.sum.map(|s| s as f64 / c.count as f64);
                (mean, (c.count as f64).sqrt())
            })
            .collect();
        let mut boxes: Vec<Vec<usize>> = vec![(0..points.len()).collect()];
        let spread = |of: &[usize]| -> (f64, usize, f64) {
            let weight: f64 = of.iter().map(|i| points[*i].1).sum();
            let mut best = (0.0, 0, 0.0);
            for c in 0..3 {
                let mean = of.iter().map(|i| points[*i].1 * points[*i].0[c]).sum::<f64>() / weight;
                let about = |i: &usize| points[*i].1 * (points[*i].0[c] - mean) * (points[*i].0[c] - mean);
                let all: f64 = of.iter().map(about).sum();
                if all > best.0 {
                    best = (all, c, mean);
                }
            }
            best
        };
        let mut spreads: Vec<(f64, usize, f64)> = boxes.iter().map(|b| spread(b)).collect();
        while boxes.len() < most.clamp(2, MOST) {
            let Some(worst) = (0..boxes.len()).max_by(|a, b| spreads[*a].0.total_cmp(&spreads[*b].0)) else {
                break;
            };
            let (all, channel, mean) = spreads[worst];
            if all <= 0.0 {
                break;
            }
            let (low, high): (Vec<usize>, Vec<usize>) =
                boxes[worst].iter().partition(|i| points[**i].0[channel] <= mean);
            if low.is_empty() || high.is_empty() {
                break;
            }
            spreads[worst] = spread(&low);
            spreads.push(spread(&high));
            boxes[worst] = low;
            boxes.push(high);
        }
        let mut out: Vec<[u8; 3]> = boxes
            .iter()
            .map(|of| {
                let weight: f64 = of.iter().map(|i| points[*i].1).sum();
                [0, 1, 2].map(|c| {
                    (of.iter().map(|i| points[*i].1 * points[*i].0[c]).sum::<f64>() / weight).round() as u8
                })
            })
            .collect();
        // Paper is paper.
        if let Some(paper) = out.iter_mut().find(|c| c.iter().all(|v| *v >= 250)) {
            *paper = [255; 3];
        }
        out.sort_unstable();
        out.dedup();
        out
    }
}

/// Finds nearest colours, and remembers those it has found.
pub(crate) struct Palette {
    pub(crate) colours: Arc<Vec<[u8; 3]>>,
    met: Vec<(u32, u8)>,
}

impl Palette {
    pub(crate) fn of(colours: Vec<[u8; 3]>) -> Self {
        Self { colours: Arc::new(colours), met: vec![(u32::MAX, 0); SLOTS] }
    }

    fn nearest(&self, rgb: [u8; 3]) -> u8 {
        let off = |c: &[u8; 3]| -> i32 {
            let d = |i: usize| i32::from(c[i]) - i32::from(rgb[i]);
            3 * d(0) * d(0) + 4 * d(1) * d(1) + 2 * d(2) * d(2)
        };
        (0..self.colours.len()).min_by_key(|&i| off(&self.colours[i])).unwrap_or(0) as u8
    }

    /// Indices of the colours of a picture (red, green, blue).
    pub(crate) fn indices(&mut self, rgb: &[u8]) -> Vec<u8> {
        rgb.chunks_exact(3)
            .map(|p| {
                let key = u32::from_be_bytes([0, p[0], p[1], p[2]]);
                let slot = (key.wrapping_mul(2_654_435_761) >> 18) as usize;
                if self.met[slot].0 != key {
                    self.met[slot] = (key, self.nearest([p[0], p[1], p[2]]));
                }
                self.met[slot].1
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colours_fit_one_byte_and_are_found_again() {
        let all = colours();
        assert!((40..=128).contains(&all.len()), "{}", all.len());
        let palette = Palette::of(colours());
        for (i, c) in all.iter().enumerate() {
            assert_eq!(usize::from(palette.nearest(*c)), i);
        }
        let mut palette = Palette::of(colours());
        let red = [255, 0, 0];
        assert_eq!(palette.indices(&[red, red].concat()), [palette.nearest(red); 2]);
    }

    /// A ramp gets colours so close together that no step shows, whatever fills the ground.
    #[test]
    fn a_smooth_ramp_stays_smooth() {
        let mut census = Census::new();
        let ramp: Vec<u8> = (0..200).flat_map(|v: u8| [v, v / 2, 40]).collect();
        for _ in 0..20 {
            census.count(&ramp);
        }
        census.count(&[255; 3 * 200_000]);
        let mut palette = Palette::of(census.colours(MOST));
        assert!(palette.colours.len() <= MOST && palette.colours.contains(&[255; 3]));
        let found = palette.indices(&ramp);
        for (p, i) in ramp.chunks_exact(3).zip(found) {
            let c = palette.colours[usize::from(i)];
            assert!((0..3).all(|k| p[k].abs_diff(c[k]) <= 6), "{p:?} {c:?}");
        }
    }
}

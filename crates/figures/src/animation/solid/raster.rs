//! Triangles to pixels with depth, several samples to a pixel.

/// A corner on the screen: pixels of the fine picture to the right and down, depth towards the eye, colour.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Corner {
    pub(super) x: f64,
    pub(super) y: f64,
    pub(super) depth: f64,
    pub(super) colour: [f64; 3],
}

/// A picture of `fine` × `fine` samples to a pixel.
pub(super) struct Raster {
    width: usize,
    height: usize,
    fine: usize,
    depth: Vec<f64>,
    colour: Vec<[f32; 3]>,
}

impl Raster {
    /// An empty one of `width` × `height` pixels.
    pub(super) fn new(width: usize, height: usize, fine: usize) -> Self {
        let count = width * height * fine * fine;
        Self { width, height, fine, depth: vec![f64::NEG_INFINITY; count], colour: vec![[0.0; 3]; count] }
    }

    /// Lays a triangle where it is nearer than what is there. Edges that two triangles share are drawn once or twice, never not.
    pub(super) fn triangle(&mut self, [a, b, c]: [Corner; 3]) {
        let twice = (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
        if !(twice.abs() > 1e-9 && twice.is_finite()) {
            return;
        }
        let (across, down) = (self.width * self.fine, self.height * self.fine);
        let least = |f: fn(&Corner) -> f64| f(&a).min(f(&b)).min(f(&c));
        let most = |f: fn(&Corner) -> f64| f(&a).max(f(&b)).max(f(&c));
        let from = (least(|p| p.y) - 0.5).ceil().max(0.0) as usize;
        let to = ((most(|p| p.y) - 0.5).floor() + 1.0).clamp(0.0, down as f64) as usize;
        let left = (least(|p| p.x) - 0.5).ceil().max(0.0) as usize;
        let right = ((most(|p| p.x) - 0.5).floor() + 1.0).clamp(0.0, across as f64) as usize;
        for y in from..to {
            let py = y as f64 + 0.5;
            for x in left..right {
                let px = x as f64 + 0.5;
                // Shares of the corners.
                let u = ((b.x - px) * (c.y - py) - (b.y - py) * (c.x - px)) / twice;
                let v = ((c.x - px) * (a.y - py) - (c.y - py) * (a.x - px)) / twice;
                let w = 1.0 - u - v;
                if u < -1e-9 || v < -1e-9 || w < -1e-9 {
                    continue;
                }
                let depth = u * a.depth + v * b.depth + w * c.depth;
                let at = y * across + x;
                if depth > self.depth[at] {
                    self.depth[at] = depth;
                    let mix = |k: usize| (u * a.colour[k] + v * b.colour[k] + w * c.colour[k]) as f32;
                    self.colour[at] = [mix(0), mix(1), mix(2)];
                }
            }
        }
    }

    /// The share of a pixel's samples that are covered, and the mean colour of those.
    pub(super) fn pixel(&self, x: usize, y: usize) -> (f64, [f64; 3]) {
        let (mut count, mut sum) = (0.0, [0.0; 3]);
        for j in 0..self.fine {
            for i in 0..self.fine {
                let at = (y * self.fine + j) * self.width * self.fine + x * self.fine + i;
                if self.depth[at] > f64::NEG_INFINITY {
                    count += 1.0;
                    for (s, c) in sum.iter_mut().zip(self.colour[at]) {
                        *s += f64::from(c);
                    }
                }
            }
        }
        let all = (self.fine * self.fine) as f64;
        (count / all, if count > 0.0 { sum.map(|s| s / count) } else { sum })
    }
}

/// Box blur of a mask, `reach` pixels to every side, rows then columns.
pub(super) fn blur(mask: &mut Vec<f64>, width: usize, height: usize, reach: usize) {
    for (count, long, step, line) in [(height, width, 1, width), (width, height, width, 1)] {
        let mut out = vec![0.0; mask.len()];
        for k in 0..count {
            let at = |i: usize| k * line + i * step;
            let mut sum: f64 = (0..reach.min(long)).map(|i| mask[at(i)]).sum();
            for i in 0..long {
                if i + reach < long {
                    sum += mask[at(i + reach)];
                }
                out[at(i)] = sum / (2 * reach + 1) as f64;
                if i >= reach {
                    sum -= mask[at(i - reach)];
                }
            }
        }
        *mask = out;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn corner(x: f64, y: f64, depth: f64, grey: f64) -> Corner {
        Corner { x, y, depth, colour: [grey; 3] }
    }

    /// Of two triangles the nearer is seen, whichever is drawn first; half a pixel covered is half a pixel.
    #[test]
    fn the_nearer_hides_the_farther() {
        let near = [corner(-1.0, -1.0, 2.0, 1.0), corner(30.0, -1.0, 2.0, 1.0), corner(-1.0, 30.0, 2.0, 1.0)];
        let far = near.map(|c| Corner { depth: 1.0, colour: [0.0; 3], ..c });
        for order in [[near, far], [far, near]] {
            let mut r = Raster::new(4, 4, 2);
            order.into_iter().for_each(|t| r.triangle(t));
            assert_eq!(r.pixel(1, 1), (1.0, [1.0; 3]));
        }
        let mut r = Raster::new(4, 4, 2);
        // Up to the middle of the second column of pixels.
        r.triangle([
            corner(-40.0, -10.0, 0.0, 1.0),
            corner(3.0, -10.0, 0.0, 1.0),
            corner(3.0, 50.0, 0.0, 1.0),
        ]);
        assert_eq!(r.pixel(1, 1).0, 0.5);
        assert_eq!(r.pixel(2, 1).0, 0.0);
        // Steep and empty triangles do no harm.
        r.triangle([corner(1.0, 1.0, 0.0, 1.0); 3]);
        r.triangle([corner(f64::NAN, 1.0, 0.0, 1.0), corner(2.0, 1.0, 0.0, 1.0), corner(1.0, 5.0, 0.0, 1.0)]);
    }

    #[test]
    fn blurring_keeps_what_is_far_from_the_edge() {
        let mut mask = vec![0.0; 15 * 15];
        mask[7 * 15 + 7] = 9.0;
        blur(&mut mask, 15, 15, 1);
        assert!((mask.iter().sum::<f64>() - 9.0).abs() < 1e-12);
        assert!((mask[6 * 15 + 8] - 1.0).abs() < 1e-12 && mask[5 * 15 + 7] == 0.0);
    }
}

//! A straight line through points with errors along both axes.

use std::f64::consts::SQRT_2;

/// A reading with its standard deviations.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// Along the first axis.
    pub x: f64,
    /// Along the second.
    pub y: f64,
    /// Standard deviation of x, ≥ 0.
    pub x_deviation: f64,
    /// Standard deviation of y, ≥ 0; not both may be 0.
    pub y_deviation: f64,
    /// Correlation of the two errors, between −1 and 1.
    pub correlation: f64,
}

/// `y = intercept + slope x`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Where it crosses x = 0.
    pub intercept: f64,
    /// Its slope.
    pub slope: f64,
    /// Standard deviation of the intercept, as far as the stated errors are right.
    pub intercept_deviation: f64,
    /// Standard deviation of the slope.
    pub slope_deviation: f64,
    /// Covariance of both.
    pub covariance: f64,
    /// Weighted squares of the misfits; chi-squared with `freedom` where the stated errors are right.
    pub squares: f64,
    /// Points less 2.
    pub freedom: usize,
    /// Steps taken.
    pub steps: usize,
}

impl Line {
    /// The factor on the deviations that the misfits ask for: √(squares/freedom); 1 when nothing is left to judge by.
    pub fn scale(&self) -> f64 {
        if self.freedom == 0 { 1.0 } else { (self.squares / self.freedom as f64).sqrt() }
    }
}

/// The line of the least weighted squares: York, Evensen, López Martínez & De Basabe Delgado 2004, "Unified equations for the
/// slope, intercept, and standard errors of the best straight line", Am. J. Phys. 72, 367, equations 13a to 13d.
///
/// `None` for fewer than two readings, errors that are no errors, readings of one x alone, or when the slope does not settle
/// in 200 steps. The slope is sought on axes scaled to the scatter, so that units do not matter.
pub fn line(readings: &[Reading]) -> Option<Line> {
    let sound = |r: &Reading| {
        [r.x, r.y, r.x_deviation, r.y_deviation].iter().all(|v| v.is_finite())
            && r.x_deviation >= 0.0
            && r.y_deviation >= 0.0
            && r.x_deviation + r.y_deviation > 0.0
            && r.correlation.abs() < 1.0
    };
    if readings.len() < 2 || !readings.iter().all(sound) {
        return None;
    }
    let n = readings.len() as f64;
    let mean = |of: fn(&Reading) -> f64| readings.iter().map(of).sum::<f64>() / n;
    let (mx, my) = (mean(|r| r.x), mean(|r| r.y));
    let sum = |of: &dyn Fn(&Reading) -> f64| readings.iter().map(of).sum::<f64>();
    let across = sum(&|r| (r.x - mx) * (r.x - mx));
    if across <= 0.0 {
        return None;
    }
    // Ordinary least squares is the start.
    let mut b = sum(&|r| (r.x - mx) * (r.y - my)) / across;
    let size = (sum(&|r| (r.y - my) * (r.y - my)) / across).sqrt();
    // Weight of a point for slope b; a point without any error of its own along y at slope 0 would weigh infinitely.
    let weight = |r: &Reading, b: f64| {
        let v = r.y_deviation * r.y_deviation + b * b * r.x_deviation * r.x_deviation
            - 2.0 * b * r.correlation * r.x_deviation * r.y_deviation;
        1.0 / v.max(f64::MIN_POSITIVE)
    };
    // Weighted means, and each reading's adjusted offsets from them at slope b.
    let at = |b: f64| {
        let w: Vec<f64> = readings.iter().map(|r| weight(r, b)).collect();
        let total: f64 = w.iter().sum();
        let x = readings.iter().zip(&w).map(|(r, w)| w * r.x).sum::<f64>() / total;
        let y = readings.iter().zip(&w).map(|(r, w)| w * r.y).sum::<f64>() / total;
        let beta: Vec<f64> = readings
            .iter()
            .zip(&w)
            .map(|(r, w)| {
                let (u, v) = (r.x - x, r.y - y);
                let both = r.correlation * r.x_deviation * r.y_deviation;
                w * (u * r.y_deviation * r.y_deviation + b * v * r.x_deviation * r.x_deviation
                    - (b * u + v) * both)
            })
            .collect();
        (w, total, x, y, beta)
    };
    for steps in 1..=200 {
        let (w, _, x, y, beta) = at(b);
        let above: f64 = readings.iter().zip(&w).zip(&beta).map(|((r, w), p)| w * p * (r.y - y)).sum();
        let below: f64 = readings.iter().zip(&w).zip(&beta).map(|((r, w), p)| w * p * (r.x - x)).sum();
        let next = above / below;
        if !next.is_finite() {
            return None;
        }
        let moved = (next - b).abs();
        b = next;
        if moved <= 1e-15 * SQRT_2 * b.abs().max(size) {
            let (w, total, x, y, beta) = at(b);
            let intercept = y - b * x;
            // Adjusted points (13c, 13d are about these).
            let adjusted = readings.iter().zip(&beta).map(|(_, p)| x + p).collect::<Vec<f64>>();
            let centre = adjusted.iter().zip(&w).map(|(x, w)| w * x).sum::<f64>() / total;
            let spread: f64 = adjusted.iter().zip(&w).map(|(x, w)| w * (x - centre) * (x - centre)).sum();
            let slope_variance = 1.0 / spread;
            let squares = readings
                .iter()
                .zip(&w)
                .map(|(r, w)| {
                    let miss = r.y - b * r.x - intercept;
                    w * miss * miss
                })
                .sum();
            return Some(Line {
                intercept,
                slope: b,
                intercept_deviation: (1.0 / total + centre * centre * slope_variance).sqrt(),
                slope_deviation: slope_variance.sqrt(),
                covariance: -centre * slope_variance,
                squares,
                freedom: readings.len() - 2,
                steps,
            });
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Stream;

    /// Pearson's readings of 1901 with York's weights of 1966: York et al. 2004 print intercept 5.47991022403286,
    /// slope −0.480533407446137 and squares 11.8663531941; the deviations, 0.2950 and 0.0580, are from memory.
    #[test]
    fn pearson_with_yorks_weights() {
        let x = [0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4];
        let y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5];
        let wx = [1000.0, 1000.0, 500.0, 800.0, 200.0, 80.0, 60.0, 20.0, 1.8, 1.0];
        let wy = [1.0, 1.8, 4.0, 8.0, 20.0, 20.0, 70.0, 70.0, 100.0, 500.0];
        let readings: Vec<Reading> = (0..10)
            .map(|i| Reading {
                x: x[i],
                y: y[i],
                x_deviation: 1.0 / f64::sqrt(wx[i]),
                y_deviation: 1.0 / f64::sqrt(wy[i]),
                correlation: 0.0,
            })
            .collect();
        let l = line(&readings).unwrap();
        assert!((l.slope + 0.480_533_407_446).abs() < 1e-11, "{l:?}");
        assert!((l.intercept - 5.479_910_224_03).abs() < 1e-10, "{l:?}");
        assert!((l.squares - 11.866_353_194_1).abs() < 1e-8, "{l:?}");
        assert!((l.slope_deviation - 0.0580).abs() < 1e-4, "{l:?}");
        assert!((l.intercept_deviation - 0.2950).abs() < 5e-4, "{l:?}");
    }

    /// Closed form: with exact x it is the weighted line; axes may be exchanged.
    #[test]
    fn limits() {
        let exact = |x: f64, y: f64| Reading { x, y, x_deviation: 0.0, y_deviation: 0.5, correlation: 0.0 };
        let points = [[0.0, 1.1], [1.0, 2.9], [2.0, 5.2], [3.0, 7.1], [4.0, 8.8]];
        let l = line(&points.map(|[x, y]| exact(x, y))).unwrap();
        assert!((l.slope - 1.96).abs() < 1e-14 && (l.intercept - 1.10).abs() < 1e-13);
        assert!((l.slope_deviation - (0.25_f64 * 5.0 / 50.0).sqrt()).abs() < 1e-14);
        assert!((l.intercept_deviation - (0.25_f64 * 30.0 / 50.0).sqrt()).abs() < 1e-14);
        assert!((l.covariance + 0.25 * 10.0 / 50.0).abs() < 1e-14);
        let both = |x: f64, y: f64| Reading { x, y, x_deviation: 0.2, y_deviation: 0.3, correlation: 0.4 };
        let there = line(&points.map(|[x, y]| both(x, y))).unwrap();
        let back = line(&points.map(|[x, y]| Reading {
            x: y,
            y: x,
            x_deviation: 0.3,
            y_deviation: 0.2,
            correlation: 0.4,
        }))
        .unwrap();
        assert!(
            (there.slope * back.slope - 1.0).abs() < 1e-12 && (there.squares - back.squares).abs() < 1e-12
        );
        assert!(line(&[exact(1.0, 2.0)]).is_none());
        assert!(line(&[exact(1.0, 2.0), exact(1.0, 3.0)]).is_none());
        assert!(line(&[exact(1.0, 2.0), Reading { y_deviation: 0.0, ..exact(2.0, 3.0) }]).is_none());
    }

    /// Coverage of the slope's 95 % interval over 400 invented sets with errors along both axes.
    #[test]
    fn the_slope_is_covered() {
        let hits: u64 = (0..400)
            .map(|seed| {
                let mut s = Stream::of(21, seed);
                let readings: Vec<Reading> = (0..12)
                    .map(|i| {
                        let true_x = f64::from(i);
                        let (sx, sy) = (0.2 + 0.02 * f64::from(i), 0.4);
                        Reading {
                            x: true_x + sx * s.normal(),
                            y: 1.0 + 2.0 * true_x + sy * s.normal(),
                            x_deviation: sx,
                            y_deviation: sy,
                            correlation: 0.0,
                        }
                    })
                    .collect();
                let l = line(&readings).unwrap();
                u64::from((l.slope - 2.0).abs() < 1.96 * l.slope_deviation)
            })
            .sum();
        let [low, high] = crate::binomial::interval(hits, 400, 0.999);
        assert!((low..=high).contains(&0.95), "{hits} of 400");
    }
}

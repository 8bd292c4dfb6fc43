//! The line along which grey values are watched: given, or found where the clip moves most; and what it sees, frame by frame.

use crate::picture::Gray;

/// A straight way through the picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Where it starts, px.
    pub from: [f64; 2],
    /// Where it ends, px.
    pub to: [f64; 2],
}

impl Line {
    /// px.
    pub fn length(&self) -> f64 {
        libm::hypot(self.to[0] - self.from[0], self.to[1] - self.from[1])
    }

    /// Unit vector along it.
    pub fn direction(&self) -> [f64; 2] {
        let l = self.length();
        [(self.to[0] - self.from[0]) / l, (self.to[1] - self.from[1]) / l]
    }

    /// The point at a distance from its start, px.
    pub fn at(&self, along: f64) -> [f64; 2] {
        let d = self.direction();
        [self.from[0] + along * d[0], self.from[1] + along * d[1]]
    }

    /// +1 when distances along it grow up the picture, −1 when they grow downwards; a level line counts from its start.
    pub fn up(&self) -> f64 {
        let d = self.direction();
        if d[1].abs() > 0.1 { -d[1].signum() } else { 1.0 }
    }

    /// Why it is no line in a picture of this size.
    ///
    /// # Errors
    /// In words.
    pub fn within(&self, width: usize, height: usize) -> Result<(), String> {
        let inside = |p: [f64; 2]| {
            p.iter().all(|v| v.is_finite())
                && p[0] >= 0.0
                && p[1] >= 0.0
                && p[0] <= width as f64 - 1.0
                && p[1] <= height as f64 - 1.0
        };
        if !inside(self.from) || !inside(self.to) {
            return Err(format!(
                "the line leaves the picture, which has {width} × {height} pixels (counted from 0, from the left and from the top)"
            ));
        }
        if self.length() < 20.0 {
            return Err(format!("the line is {:.0} pixels long; it needs 20 at least", self.length()));
        }
        Ok(())
    }

    /// Grey values at whole pixels along it, each the mean over `2 half + 1` pixels across.
    pub fn profile(&self, picture: &Gray, first: usize, count: usize, half: i32) -> Vec<f32> {
        let d = self.direction();
        let share = 1.0 / f64::from(2 * half + 1);
        let value = |k: usize| {
            let p = self.at(k as f64);
            let sum: f64 = (-half..=half)
                .map(|c| picture.at(p[0] - f64::from(c) * d[1], p[1] + f64::from(c) * d[0]))
                .sum();
            (sum * share) as f32
        };
        (first..first + count).map(value).collect()
    }
}

/// Where a clip moves most.
#[derive(Clone, Debug)]
pub struct Stirring {
    size: [usize; 2],
    count: f64,
    sum: Vec<f32>,
    squares: Vec<f32>,
}

/// The least part of the whole grey range by which a column must change, as deviation over the frames summed along it, px.
const STIR: f64 = 1.0;

impl Stirring {
    /// Nothing seen yet.
    pub fn new(width: usize, height: usize) -> Self {
        let n = width * height;
        Self { size: [width, height], count: 0.0, sum: vec![0.0; n], squares: vec![0.0; n] }
    }

    /// Takes a frame; one of another size is left out.
    pub fn see(&mut self, picture: &Gray) {
        if [picture.width(), picture.height()] != self.size {
            return;
        }
        self.count += 1.0;
        for ((v, s), q) in picture.values().iter().zip(&mut self.sum).zip(&mut self.squares) {
            *s += v;
            *q += v * v;
        }
    }

    /// The upright line through the column that changes most, from the top of the picture to its bottom; `None` where nothing
    /// moves.
    pub fn upright(&self) -> Option<Line> {
        let [w, h] = self.size;
        if self.count < 2.0 || w < 8 || h < 24 {
            return None;
        }
        // Deviation of each pixel over the frames; that of still ones is noise, and taken off.
        let mut deviations = vec![0.0_f32; w * h];
        for (k, d) in deviations.iter_mut().enumerate() {
            let (s, q) = (f64::from(self.sum[k]) / self.count, f64::from(self.squares[k]) / self.count);
            *d = (q - s * s).max(0.0).sqrt() as f32;
        }
        let mut sorted = deviations.clone();
        sorted.sort_unstable_by(f32::total_cmp);
        let still = 3.0 * f64::from(sorted[sorted.len() / 4]);
        let mut columns = vec![0.0; w];
        for j in 0..h {
            for i in 0..w {
                columns[i] += (f64::from(deviations[j * w + i]) - still).max(0.0);
            }
        }
        let smooth: Vec<f64> = (0..w)
            .map(|i| {
                let near = i.saturating_sub(2)..(i + 3).min(w);
                columns[near.clone()].iter().sum::<f64>() / near.len() as f64
            })
            .collect();
        let (at, most) =
            smooth.iter().enumerate().fold((0, 0.0), |b, (i, v)| if *v > b.1 { (i, *v) } else { b });
        if most < STIR {
            return None;
        }
        // The middle of the crest, which may be flat.
        let reach = |mut i: usize, step: isize| {
            while let Some(next) = i.checked_add_signed(step).filter(|n| *n < w && smooth[*n] > 0.9 * most) {
                i = next;
            }
            i
        };
        let x = 0.5 * (reach(at, -1) + reach(at, 1)) as f64;
        let x = x.clamp(2.0, w as f64 - 3.0);
        Some(Line { from: [x, 0.0], to: [x, h as f64 - 1.0] })
    }
}

/// What a line sees over time: one row a frame.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Strip {
    /// Grey values along the line in each row.
    pub across: usize,
    /// Numbers of the frames.
    pub numbers: Vec<u64>,
    /// Rows, one after another, eight bits of the stored grey range.
    pub values: Vec<u8>,
}

impl Strip {
    /// Adds a row.
    pub fn add(&mut self, number: u64, profile: &[f32]) {
        self.across = profile.len();
        self.numbers.push(number);
        self.values.extend(profile.iter().map(|v| (v.clamp(0.0, 1.0) * 255.0) as u8));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_column_that_moves_most() {
        let mut s = Stirring::new(60, 50);
        for k in 0..10 {
            let mut p = Gray::filled(60, 50, 0.8);
            for j in (10 + k)..50 {
                for i in 28..35 {
                    p.row_mut(j)[i] = 0.1;
                }
            }
            s.see(&p);
        }
        let line = s.upright().unwrap();
        assert_eq!((line.from, line.to), ([31.0, 0.0], [31.0, 49.0]));
        assert_eq!(line.up(), -1.0);
        let mut still = Stirring::new(60, 50);
        (0..5).for_each(|_| still.see(&Gray::filled(60, 50, 0.5)));
        assert!(still.upright().is_none());
        assert!(Line { from: [3.0, 0.0], to: [3.0, 80.0] }.within(60, 50).unwrap_err().contains("60 × 50"));
        assert!(Line { from: [3.0, 0.0], to: [3.0, 8.0] }.within(60, 50).is_err());
        let p = Line { from: [31.0, 49.0], to: [31.0, 0.0] };
        assert_eq!(p.up(), 1.0);
        let mut picture = Gray::filled(60, 50, 0.0);
        picture.row_mut(47)[31] = 0.9;
        assert!((p.profile(&picture, 0, 5, 1)[2] - 0.3).abs() < 1e-6);
    }
}

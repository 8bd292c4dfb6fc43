//! The wall of a shell of revolution as its section through the axis.

use calotte_answers::report::SampledMeridian;

/// One station of a meridian, in metres and radians.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Station {
    pub(crate) s: f64,
    pub(crate) r: f64,
    pub(crate) z: f64,
    pub(crate) slope: f64,
    pub(crate) thickness: f64,
}

impl Station {
    /// The normal (−sin φ, cos φ); on a natural part it points towards the centre of the sphere,
    /// on an inverted one away from it.
    pub(crate) fn normal(self) -> (f64, f64) {
        (-libm::sin(self.slope), libm::cos(self.slope))
    }

    /// The point at a signed distance along the normal.
    pub(crate) fn off(self, distance: f64) -> (f64, f64) {
        let n = self.normal();
        (self.r + distance * n.0, self.z + distance * n.1)
    }

    /// The mirror image in the plane z = 0.
    fn mirrored(self) -> Self {
        Self { z: -self.z, slope: -self.slope, ..self }
    }
}

/// A meridian with only whole rows, pole (or hole edge) at z = 0.
#[derive(Clone, Debug)]
pub(crate) struct Section {
    pub(crate) stations: Vec<Station>,
}

impl Section {
    /// The section of a sampled meridian; `None` when fewer than two whole rows are left.
    pub(crate) fn new(meridian: &SampledMeridian) -> Option<Self> {
        let columns =
            [&meridian.s_m, &meridian.r_m, &meridian.z_m, &meridian.slope_rad, &meridian.thickness_m];
        let rows = columns.iter().map(|c| c.len()).min().unwrap_or(0);
        let mut stations: Vec<Station> = (0..rows)
            .filter(|&i| columns.iter().all(|c| c[i].is_finite()) && meridian.thickness_m[i] >= 0.0)
            .map(|i| Station {
                s: meridian.s_m[i],
                r: meridian.r_m[i],
                z: meridian.z_m[i],
                slope: meridian.slope_rad[i],
                thickness: meridian.thickness_m[i],
            })
            .collect();
        let z0 = stations.first()?.z;
        for station in &mut stations {
            station.z -= z0;
        }
        (stations.len() >= 2).then_some(Self { stations })
    }

    /// The mirror image.
    pub(crate) fn mirror(&self) -> Self {
        Self { stations: self.stations.iter().map(|s| s.mirrored()).collect() }
    }

    /// The last station.
    pub(crate) fn rim(&self) -> Station {
        self.stations[self.stations.len() - 1]
    }

    /// The station at an arclength, linear between rows; the nearest end beyond them.
    pub(crate) fn at(&self, s: f64) -> Station {
        let first = self.stations[0];
        if s <= first.s {
            return first;
        }
        for pair in self.stations.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            if s <= b.s && b.s > a.s {
                let t = (s - a.s) / (b.s - a.s);
                let mix = |x: f64, y: f64| x + t * (y - x);
                return Station {
                    s,
                    r: mix(a.r, b.r),
                    z: mix(a.z, b.z),
                    slope: mix(a.slope, b.slope),
                    thickness: mix(a.thickness, b.thickness),
                };
            }
        }
        self.rim()
    }

    /// The stations from an arclength to the rim, the first one interpolated.
    pub(crate) fn from(&self, s: f64) -> Vec<Station> {
        let mut out = vec![self.at(s)];
        out.extend(self.stations.iter().filter(|p| p.s > s));
        out
    }

    /// Closed outlines of the wall, (x, z): one when the wall passes through the axis, else one on
    /// each side of it, the right one first.
    pub(crate) fn wall(&self, hole: bool) -> Vec<Vec<(f64, f64)>> {
        let face = |sign: f64| -> Vec<(f64, f64)> {
            self.stations.iter().map(|s| s.off(sign * s.thickness / 2.0)).collect()
        };
        let (upper, lower) = (face(1.0), face(-1.0));
        let flip = |p: &(f64, f64)| (-p.0, p.1);
        if hole {
            let right: Vec<_> = upper.iter().copied().chain(lower.iter().rev().copied()).collect();
            let left = right.iter().map(flip).collect();
            vec![right, left]
        } else {
            vec![
                upper
                    .iter()
                    .rev()
                    .map(flip)
                    .chain(upper.iter().copied())
                    .chain(lower.iter().rev().copied())
                    .chain(lower.iter().map(flip))
                    .collect(),
            ]
        }
    }

    /// The mid-surface from left rim to right rim, (x, z); in two pieces when there is a hole.
    pub(crate) fn middle(&self, hole: bool) -> Vec<Vec<(f64, f64)>> {
        let right: Vec<(f64, f64)> = self.stations.iter().map(|s| (s.r, s.z)).collect();
        let left: Vec<(f64, f64)> = right.iter().map(|p| (-p.0, p.1)).collect();
        if hole { vec![right, left] } else { vec![left.into_iter().rev().chain(right).collect()] }
    }
}

/// Extent of a drawing about the axis, in metres.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Extent {
    pub(crate) half_width: f64,
    pub(crate) low: f64,
    pub(crate) high: f64,
}

impl Extent {
    /// The extent of outlines.
    pub(crate) fn of<'a>(outlines: impl Iterator<Item = &'a Vec<(f64, f64)>>) -> Self {
        let mut e = Self { half_width: 0.0, low: f64::INFINITY, high: f64::NEG_INFINITY };
        for &(x, z) in outlines.flatten() {
            e.half_width = e.half_width.max(x.abs());
            e.low = e.low.min(z);
            e.high = e.high.max(z);
        }
        e
    }

    /// Height of the drawing.
    pub(crate) fn height(self) -> f64 {
        self.high - self.low
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cone() -> SampledMeridian {
        SampledMeridian {
            s_m: vec![0.0, 1.0, 2.0],
            r_m: vec![0.0, 0.6, 1.2],
            z_m: vec![5.0, 5.8, 6.6],
            slope_rad: vec![0.927_295_218_001_612; 3],
            thickness_m: vec![0.1; 3],
        }
    }

    #[test]
    fn rows_that_are_not_whole_are_passed_over() {
        let mut m = cone();
        m.r_m[1] = f64::NAN;
        let section = Section::new(&m).unwrap();
        assert_eq!(section.stations.len(), 2);
        assert_eq!(section.stations[0].z, 0.0);
        m.z_m[0] = f64::INFINITY;
        assert!(Section::new(&m).is_none());
        assert!(Section::new(&SampledMeridian::default()).is_none());
    }

    #[test]
    fn faces_lie_half_a_thickness_off_the_middle() {
        let section = Section::new(&cone()).unwrap();
        let right = &section.wall(true)[0];
        assert_eq!(right.len(), 6);
        let (upper, lower) = (right[1], right[4]);
        assert!((libm::hypot(upper.0 - lower.0, upper.1 - lower.1) - 0.1).abs() < 1e-12);
        assert!(upper.0 < 0.6 && upper.1 > 0.8);
    }

    #[test]
    fn stations_between_rows_are_linear_and_ends_hold() {
        let section = Section::new(&cone()).unwrap();
        assert!((section.at(1.5).r - 0.9).abs() < 1e-12);
        assert_eq!(section.at(9.0), section.rim());
        assert_eq!(section.at(-1.0), section.stations[0]);
        assert_eq!(section.from(1.5).len(), 2);
    }
}

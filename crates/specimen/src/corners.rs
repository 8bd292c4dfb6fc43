//! Meridians composed of straight lines and arcs through corners, sharp or rounded.

use std::f64::consts::PI;

use crate::MeridianPoint;

/// Arclengths that differ by less than this share are one place: a length divided by another and multiplied again does not come
/// back to the last bit, and must not land on the wrong side of a joint.
pub(crate) const SLACK: f64 = 1e-12;

/// One corner of the meridian, and the piece that leads from it to the next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corner {
    /// Distance from the axis, m.
    pub r: f64,
    /// Height, m.
    pub z: f64,
    /// Radius of the rounding at this corner, m; 0 for a sharp one.
    pub fillet: f64,
    /// Radius of the piece to the next corner, m; 0 for a straight one. Positive turns the slope angle upwards (dφ/ds > 0, as a
    /// bowl does), negative downwards. Of the two arcs the shorter one.
    pub arc: f64,
}

/// Why corners make no meridian.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CornersFault {
    /// Fewer than two corners.
    TooFew,
    /// Corner `corner` (from 1) lies beyond the axis, or on it though it is not the first.
    OffSide {
        /// Which one.
        corner: usize,
    },
    /// Corners `corner` and the next are the same place.
    Coincide {
        /// The first of the two.
        corner: usize,
    },
    /// The arc from corner `corner` is smaller than half the distance that it spans.
    ArcTooSmall {
        /// Where it starts.
        corner: usize,
        /// Least radius, m.
        least: f64,
    },
    /// The rounding of corner `corner` does not fit between its neighbours.
    FilletTooLarge {
        /// Which one.
        corner: usize,
        /// Largest radius, m.
        most: f64,
    },
    /// A corner beside an arc cannot be rounded; give the rounding as an arc of its own.
    FilletAtArc {
        /// Which one.
        corner: usize,
    },
    /// The meridian turns back on itself at corner `corner`.
    TurnsBack {
        /// Which one.
        corner: usize,
    },
    /// Pieces `pieces` (from 1) cross or touch; the same piece twice when it reaches the axis.
    Crosses {
        /// The two.
        pieces: [usize; 2],
    },
    /// At a pole the first piece must leave the axis square to it.
    PoleSlope {
        /// Slope there, rad.
        slope: f64,
    },
}

/// A line or an arc.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Stretch {
    /// Where it starts, arclength and place.
    s: f64,
    r: f64,
    z: f64,
    /// Slope angle at its start, and its rate.
    slope: f64,
    curvature: f64,
    length: f64,
    /// Piece it belongs to; a fillet lies between `piece` and the next one.
    piece: usize,
    fillet: bool,
}

impl Stretch {
    fn at(&self, s: f64) -> MeridianPoint {
        let d = s - self.s;
        let (sin, cos) = libm::sincos(self.slope + self.curvature * d);
        // Chord of the arc from its start: length d·sinc(κd/2) at the mean slope.
        let half = 0.5 * self.curvature * d;
        let chord = if half.abs() < 1e-8 { d } else { d * libm::sin(half) / half };
        let (ms, mc) = libm::sincos(self.slope + half);
        MeridianPoint { r: self.r + chord * mc, z: self.z + chord * ms, sin, cos, curvature: self.curvature }
    }

    fn end(&self) -> f64 {
        self.s + self.length
    }
}

/// A joint between stretches.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Joint {
    /// Arclength, m.
    pub s: f64,
    /// Jump of the slope angle, rad; 0 where only the curvature jumps.
    pub turn: f64,
}

/// A meridian through corners.
#[derive(Clone, Debug, PartialEq)]
pub struct Corners {
    stretches: Vec<Stretch>,
    pieces: usize,
}

impl Corners {
    /// Lines and arcs from the first corner (at the axis or the edge of a hole) to the last (the rim).
    ///
    /// # Errors
    /// [`CornersFault`] with the corner that cannot be.
    pub fn new(corners: &[Corner]) -> Result<Self, CornersFault> {
        let pieces = corners.len().checked_sub(1).filter(|n| *n > 0).ok_or(CornersFault::TooFew)?;
        for (i, c) in corners.iter().enumerate() {
            if c.r < 0.0 || (c.r == 0.0 && i > 0) {
                return Err(CornersFault::OffSide { corner: i + 1 });
            }
        }
        let mut raw = Vec::with_capacity(pieces);
        for (i, w) in corners.windows(2).enumerate() {
            let (dr, dz) = (w[1].r - w[0].r, w[1].z - w[0].z);
            let chord = libm::hypot(dr, dz);
            if chord == 0.0 {
                return Err(CornersFault::Coincide { corner: i + 1 });
            }
            let mean = libm::atan2(dz, dr);
            let (curvature, length) = if w[0].arc == 0.0 {
                (0.0, chord)
            } else {
                let radius = w[0].arc.abs();
                if chord > 2.0 * radius {
                    return Err(CornersFault::ArcTooSmall { corner: i + 1, least: 0.5 * chord });
                }
                let half = libm::asin(0.5 * chord / radius);
                (w[0].arc.signum() / radius, 2.0 * half * radius)
            };
            let slope = mean - 0.5 * curvature * length;
            raw.push(Stretch {
                s: 0.0,
                r: w[0].r,
                z: w[0].z,
                slope,
                curvature,
                length,
                piece: i,
                fillet: false,
            });
        }
        if corners[0].r == 0.0 && libm::sin(raw[0].slope).abs() > 1e-9 {
            return Err(CornersFault::PoleSlope { slope: raw[0].slope });
        }
        let mut out: Vec<Stretch> = Vec::new();
        // What roundings take off both ends of each piece.
        let mut taken = vec![[0.0_f64; 2]; pieces];
        let mut fillets = vec![None; corners.len()];
        for i in 1..pieces {
            let (before, after) = (raw[i - 1], raw[i]);
            let turn = wrapped(after.slope - (before.slope + before.curvature * before.length));
            if turn.abs() > PI - 1e-6 {
                return Err(CornersFault::TurnsBack { corner: i + 1 });
            }
            let radius = corners[i].fillet;
            // A rounding of no turn would be no longer than rounding errors.
            if radius > 0.0 && turn.abs() > 1e-9 {
                if before.curvature != 0.0 || after.curvature != 0.0 {
                    return Err(CornersFault::FilletAtArc { corner: i + 1 });
                }
                let tangent = radius * libm::tan(0.5 * turn.abs());
                taken[i - 1][1] = tangent;
                taken[i][0] = tangent;
                fillets[i] = Some((turn, radius));
            }
        }
        // The tightest piece decides, and on it the rounding that takes more.
        let mut tightest: Option<(usize, f64)> = None;
        for i in 0..pieces {
            if taken[i][0] + taken[i][1] > raw[i].length * (1.0 - 1e-9) {
                let corner = if taken[i][0] >= taken[i][1] { i } else { i + 1 };
                let share = taken[i][0].max(taken[i][1]) / (taken[i][0] + taken[i][1]);
                let most = fillets[corner]
                    .map_or(0.0, |(turn, _): (f64, f64)| share * raw[i].length / libm::tan(0.5 * turn.abs()));
                if tightest.is_none_or(|t| most < t.1) {
                    tightest = Some((corner, most));
                }
            }
        }
        if let Some((corner, most)) = tightest {
            return Err(CornersFault::FilletTooLarge { corner: corner + 1, most });
        }
        let mut s = 0.0;
        for (i, p) in raw.iter().enumerate() {
            if let Some((turn, radius)) = fillets[i] {
                let before = raw[i - 1];
                let back = taken[i - 1][1];
                let (sin, cos) = libm::sincos(before.slope);
                let arc = Stretch {
                    s,
                    r: p.r - back * cos,
                    z: p.z - back * sin,
                    slope: before.slope,
                    curvature: turn.signum() / radius,
                    length: radius * turn.abs(),
                    piece: i - 1,
                    fillet: true,
                };
                s += arc.length;
                out.push(arc);
            }
            let (sin, cos) = libm::sincos(p.slope);
            let length = p.length - taken[i][0] - taken[i][1];
            out.push(Stretch { s, r: p.r + taken[i][0] * cos, z: p.z + taken[i][0] * sin, length, ..*p });
            s += length;
        }
        let made = Self { stretches: out, pieces };
        made.crossing().map_or(Ok(()), |pieces| Err(CornersFault::Crosses { pieces }))?;
        Ok(made)
    }

    /// Pieces that cross, by chords of arcs fine enough to see it.
    fn crossing(&self) -> Option<[usize; 2]> {
        let mut points: Vec<(MeridianPoint, usize)> = Vec::new();
        for p in &self.stretches {
            let steps = if p.curvature == 0.0 {
                1
            } else {
                ((p.curvature * p.length).abs() / 0.1).ceil().max(2.0) as usize
            };
            points.extend((0..steps).map(|i| (p.at(p.s + p.length * i as f64 / steps as f64), p.piece)));
        }
        let last = self.stretches.last()?;
        points.push((last.at(last.end()), last.piece));
        let side = |a: &MeridianPoint, b: &MeridianPoint, c: &MeridianPoint| {
            (b.r - a.r) * (c.z - a.z) - (b.z - a.z) * (c.r - a.r)
        };
        for i in 0..points.len() - 1 {
            if points[i + 1].0.r <= 0.0 {
                return Some([points[i].1 + 1, points[i].1 + 1]);
            }
            for j in i + 2..points.len() - 1 {
                let (a, b, c, d) = (&points[i].0, &points[i + 1].0, &points[j].0, &points[j + 1].0);
                // Chords of one straight line have every side 0; apart they meet nowhere.
                let apart = |of: fn(&MeridianPoint) -> f64| {
                    of(a).max(of(b)) < of(c).min(of(d)) || of(c).max(of(d)) < of(a).min(of(b))
                };
                if !apart(|p| p.r)
                    && !apart(|p| p.z)
                    && side(a, b, c) * side(a, b, d) <= 0.0
                    && side(c, d, a) * side(c, d, b) <= 0.0
                {
                    return Some([points[i].1 + 1, points[j].1 + 1]);
                }
            }
        }
        None
    }

    /// Arclength, m.
    pub fn length(&self) -> f64 {
        self.stretches.last().map_or(0.0, Stretch::end)
    }

    /// Number of pieces.
    pub fn pieces(&self) -> usize {
        self.pieces
    }

    /// The point at arclength `s`; at a joint that of the stretch which begins there.
    pub fn at(&self, s: f64) -> MeridianPoint {
        let i = self.stretches.partition_point(|p| p.s <= s * (1.0 + SLACK)).max(1) - 1;
        self.stretches[i].at(s)
    }

    /// The same of the stretch which ends there.
    pub fn before(&self, s: f64) -> MeridianPoint {
        let i = self.stretches.partition_point(|p| p.s < s * (1.0 - SLACK)).max(1) - 1;
        self.stretches[i].at(s)
    }

    /// Joints between stretches, in order.
    pub fn joints(&self) -> Vec<Joint> {
        self.stretches
            .windows(2)
            .map(|w| {
                let turn = wrapped(w[1].slope - (w[0].slope + w[0].curvature * w[0].length));
                Joint { s: w[1].s, turn: if turn.abs() < 1e-12 { 0.0 } else { turn } }
            })
            .collect()
    }

    /// Arclengths from and to which piece `piece` (from 0) itself reaches, its roundings left out; not a number for a piece
    /// that is not there.
    pub fn bare_span_of(&self, piece: usize) -> [f64; 2] {
        self.stretches
            .iter()
            .find(|p| p.piece == piece && !p.fillet)
            .map_or([f64::NAN; 2], |p| [p.s, p.end()])
    }

    /// Curvature (1/m) and span of arclength of every arc that is no rounding.
    pub fn arcs(&self) -> impl Iterator<Item = (f64, [f64; 2])> + '_ {
        self.stretches
            .iter()
            .filter(|p| p.curvature != 0.0 && !p.fillet)
            .map(|p| (p.curvature, [p.s, p.end()]))
    }

    /// Arclengths from and to which piece `piece` (from 0) reaches; roundings between two are shared half and half.
    pub fn span_of(&self, piece: usize) -> [f64; 2] {
        let mut span = [f64::NAN; 2];
        for (i, p) in self.stretches.iter().enumerate() {
            if p.piece == piece && !p.fillet {
                let shared = |q: Option<&Stretch>| q.filter(|q| q.fillet).map_or(0.0, |q| 0.5 * q.length);
                span = [
                    p.s - shared(i.checked_sub(1).map(|j| &self.stretches[j])),
                    p.end() + shared(self.stretches.get(i + 1)),
                ];
            }
        }
        span
    }

    /// Whether all of it is one straight line.
    pub fn is_straight(&self) -> bool {
        self.stretches.iter().all(|p| p.curvature == 0.0) && self.joints().iter().all(|j| j.turn == 0.0)
    }

    /// Whether the inner end lies on the axis.
    pub fn starts_at_pole(&self) -> bool {
        self.stretches[0].r == 0.0
    }
}

/// An angle brought into (−π, π].
fn wrapped(angle: f64) -> f64 {
    angle - 2.0 * PI * (angle / (2.0 * PI)).round()
}

#[cfg(test)]
mod tests {
    use super::{Corner, Corners, CornersFault};

    fn corner(r: f64, z: f64) -> Corner {
        Corner { r, z, fillet: 0.0, arc: 0.0 }
    }

    /// Closed form: two legs of a right angle rounded with radius 1 lose 2 and gain π/2.
    #[test]
    fn a_rounded_right_angle() {
        let round = Corner { fillet: 1.0, ..corner(5.0, 0.0) };
        let c = Corners::new(&[corner(1.0, 0.0), round, corner(5.0, 3.0)]).unwrap();
        assert!((c.length() - (4.0 + 3.0 - 2.0 + std::f64::consts::FRAC_PI_2)).abs() < 1e-12);
        assert!(c.joints().iter().all(|j| j.turn == 0.0));
        let end = c.at(c.length());
        assert!((end.r - 5.0).abs() < 1e-12 && (end.z - 3.0).abs() < 1e-12);
        let middle = c.at(3.0 + std::f64::consts::FRAC_PI_4);
        let h = std::f64::consts::FRAC_1_SQRT_2;
        assert!((middle.r - (4.0 + h)).abs() < 1e-12 && (middle.z - (1.0 - h)).abs() < 1e-12);
        let [from, to] = c.span_of(0);
        assert!(from == 0.0 && (to - 3.0 - std::f64::consts::FRAC_PI_4).abs() < 1e-12);
    }

    /// Closed form: an arc of radius R from the pole is a sphere.
    #[test]
    fn an_arc_is_a_sphere() {
        let (sin, cos) = libm::sincos(0.7);
        let c = Corners::new(&[Corner { arc: 2.0, ..corner(0.0, 0.0) }, corner(2.0 * sin, 2.0 - 2.0 * cos)])
            .unwrap();
        assert!((c.length() - 1.4).abs() < 1e-12);
        let p = c.at(0.6);
        assert!((p.r - 2.0 * libm::sin(0.3)).abs() < 1e-12 && (p.curvature - 0.5).abs() < 1e-15);
    }

    /// Chords of one straight line lie apart: a flat plate of many pieces crosses nothing.
    #[test]
    fn a_straight_line_of_many_pieces() {
        let line: Vec<Corner> = (0..5).map(|i| corner(f64::from(i), 0.0)).collect();
        assert_eq!(Corners::new(&line).unwrap().length(), 4.0);
        let cone: Vec<Corner> = (1..6).map(|i| corner(f64::from(i), 0.3 * f64::from(i))).collect();
        let c = Corners::new(&cone).unwrap();
        assert!(c.joints().iter().all(|j| j.turn == 0.0));
        assert_eq!(c.bare_span_of(0), c.span_of(0));
    }

    #[test]
    fn impossible_corners_are_named() {
        let fault = |c: &[Corner]| Corners::new(c).unwrap_err();
        assert_eq!(fault(&[corner(0.0, 0.0)]), CornersFault::TooFew);
        assert_eq!(fault(&[corner(1.0, 0.0), corner(1.0, 0.0)]), CornersFault::Coincide { corner: 1 });
        assert_eq!(fault(&[corner(1.0, 0.0), corner(0.0, 1.0)]), CornersFault::OffSide { corner: 2 });
        let crossing =
            [corner(1.0, 0.0), corner(5.0, 0.0), corner(5.0, 1.0), corner(3.0, 1.0), corner(3.0, -1.0)];
        assert_eq!(fault(&crossing), CornersFault::Crosses { pieces: [1, 4] });
        let back = [corner(1.0, 0.0), corner(5.0, 0.0), corner(3.0, 0.0)];
        assert_eq!(fault(&back), CornersFault::TurnsBack { corner: 2 });
        let large = [corner(1.0, 0.0), Corner { fillet: 9.0, ..corner(5.0, 0.0) }, corner(5.0, 3.0)];
        assert!(
            matches!(fault(&large), CornersFault::FilletTooLarge { corner: 2, most } if (most - 3.0).abs() < 1e-12)
        );
        let small = [Corner { arc: 1.0, ..corner(1.0, 0.0) }, corner(5.0, 0.0)];
        assert_eq!(fault(&small), CornersFault::ArcTooSmall { corner: 1, least: 2.0 });
        let steep = [corner(0.0, 0.0), corner(1.0, 1.0)];
        assert!(matches!(fault(&steep), CornersFault::PoleSlope { .. }));
    }
}

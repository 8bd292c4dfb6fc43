//! The section of a part through its axis: both faces of the wall as polygons that leave the true curves by no more than a tolerance.

use calotte_specimen::{Meridian, Part};

/// Both faces from the axis (or the edge of a hole) to the rim, (r, z) in metres, the pole lowest.
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    /// The face away from the centre of the sphere: the lower one of a standing cap.
    pub outer: Vec<[f64; 2]>,
    /// The face towards it: the hollow side.
    pub inner: Vec<[f64; 2]>,
}

/// Most pieces of a face.
const MOST: usize = 4000;

/// The section, in pieces so short that chords leave the faces by no more than `tolerance` (m).
///
/// Faces lie half a thickness from the middle surface along its normal n = (−sin φ, cos φ): x = m ∓ n h/2.
///
/// # Errors
/// In words: shapes of lines and arcs that meet at angles, and walls that step, have corners that this does not round.
pub fn section(part: &Part, tolerance: f64) -> Result<Section, String> {
    if matches!(part.meridian, Meridian::Corners(_)) {
        return Err(
            "parts of lines and arcs have corners at their joints; a mould for them is not made".to_owned()
        );
    }
    if part.wall.steps().next().is_some() {
        return Err("the wall has steps; a mould for it is not made".to_owned());
    }
    let length = part.meridian.length();
    let of = |s: f64| {
        let (m, h) = (part.meridian.at(s), part.wall.thickness(s));
        let n = [-m.sin, m.cos];
        [-0.5 * h, 0.5 * h].map(|d| [m.r + d * n[0], m.z + d * n[1]])
    };
    // Halved until the middle of every piece is near enough to its chord, by four times the tolerance of a round piece at most.
    let mut places = vec![0.0];
    let mut ahead: Vec<f64> = (1..=16).rev().map(|k| length * f64::from(k) / 16.0).collect();
    while let Some(&next) = ahead.last() {
        let from = places[places.len() - 1];
        let (a, m, b) = (of(from), of(0.5 * (from + next)), of(next));
        let off = (0..2).map(|k| away(m[k], a[k], b[k])).fold(0.0, f64::max);
        if off > tolerance && places.len() + ahead.len() < MOST {
            ahead.push(0.5 * (from + next));
        } else {
            places.push(next);
            ahead.pop();
        }
    }
    let mut out = Section { outer: Vec::new(), inner: Vec::new() };
    for s in places {
        let [outer, inner] = of(s);
        out.outer.push(outer);
        out.inner.push(inner);
    }
    if part.meridian.starts_at_pole() {
        // The normal at the pole is the axis.
        out.outer[0][0] = 0.0;
        out.inner[0][0] = 0.0;
    }
    if let Some(bad) = out.outer.iter().chain(&out.inner).find(|p| p[0] < 0.0) {
        return Err(format!("the wall crosses the axis at height {:.3} mm", 1e3 * bad[1]));
    }
    Ok(out)
}

/// Distance of a point from the line through two others.
fn away(p: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    let d = [b[0] - a[0], b[1] - a[1]];
    let cross = d[0] * (p[1] - a[1]) - d[1] * (p[0] - a[0]);
    let length = libm::hypot(d[0], d[1]);
    if length > 0.0 { cross.abs() / length } else { libm::hypot(p[0] - a[0], p[1] - a[1]) }
}

impl Section {
    /// The closed outline of the wall, counterclockwise.
    pub fn outline(&self) -> Vec<[f64; 2]> {
        let back = self.inner.iter().rev().copied();
        let mut out: Vec<[f64; 2]> = self.outer.iter().copied().chain(back).collect();
        out.dedup();
        out
    }

    /// The same, every length multiplied.
    pub fn scaled(&self, factor: f64) -> Self {
        let all = |f: &[[f64; 2]]| f.iter().map(|p| p.map(|v| factor * v)).collect();
        Self { outer: all(&self.outer), inner: all(&self.inner) }
    }
}

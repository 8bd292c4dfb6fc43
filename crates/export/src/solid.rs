//! The solid wall of a shape as a closed mesh in STL.

use std::fmt;

use calotte_answers::film::{Film, Frame};
use calotte_solid::{Turned, check, segments, stl};

/// Why there is no solid.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SolidFailure(pub String);

impl fmt::Display for SolidFailure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for SolidFailure {}

/// What circles may be off by, over the largest radius.
const CHORD: f64 = 1e-4;

/// A shape's wall, half its thickness to both sides of the mid-surface, as binary STL in millimetres. The mesh is checked: closed, nothing
/// crosses.
///
/// # Errors
/// In words, where the wall is so thick that it crosses itself.
pub fn wall_stl(film: &Film, frame: &Frame, title: &str) -> Result<Vec<u8>, SolidFailure> {
    let fails = |why: String| SolidFailure(why);
    let outline = outline(film, frame);
    let radius = outline.iter().map(|p| p[0]).fold(0.0, f64::max);
    if !(radius > 0.0 && radius.is_finite()) {
        return Err(fails("the shape has no extent".to_owned()));
    }
    let turned = Turned { outline, around: segments(radius, CHORD * radius), ..Turned::default() };
    let mesh = turned.mesh().map_err(fails)?;
    check(&mesh).map_err(|e| fails(format!("the wall is no sound solid: {e}")))?;
    stl(&mesh, title).map_err(|e| fails(e.to_string()))
}

/// Corners of the wall's section right of the axis, counterclockwise.
fn outline(film: &Film, frame: &Frame) -> Vec<[f64; 2]> {
    let n = film.s_m.len();
    let (mut left, mut right): (Vec<[f64; 2]>, Vec<[f64; 2]>) = (Vec::new(), Vec::new());
    let mut i = 0;
    while i < n {
        // Both sides of a corner share a mitre; a step of the thickness keeps both its places.
        let joint = i + 1 < n && film.s_m[i + 1] <= film.s_m[i];
        let turn = if joint { frame.slope_rad[i + 1] - frame.slope_rad[i] } else { 0.0 };
        let corner = joint && turn.abs() > 1e-6;
        let slope = frame.slope_rad[i] + if corner { turn / 2.0 } else { 0.0 };
        let mut half = film.thickness_m[i] / 2.0;
        if corner {
            half = (film.thickness_m[i] + film.thickness_m[i + 1]) / 4.0 / libm::cos(turn / 2.0);
        }
        let pole = i == 0 && frame.r_m[0] <= 1e-9 * frame.r_m[n - 1].abs();
        let (sin, cos) = if pole { (0.0, 1.0) } else { libm::sincos(slope) };
        let (r, z) = (if pole { 0.0 } else { frame.r_m[i] }, frame.z_m[i]);
        left.push([r - half * sin, z + half * cos]);
        right.push([r + half * sin, z - half * cos]);
        i += if corner { 2 } else { 1 };
    }
    // From the pole outwards below, back above.
    right.into_iter().chain(left.into_iter().rev()).collect()
}

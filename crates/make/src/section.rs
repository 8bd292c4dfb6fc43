//! The section of a part through its axis: both faces of the wall as polygons that leave the true curves by no more than a tolerance.

use calotte_specimen::{MeridianPoint, Part};

/// Both faces from the axis (or the edge of a hole) to the rim, (r, z) in metres, the pole lower than the rim.
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    /// The lower face: of a standing cap the one away from the centre of the sphere.
    pub outer: Vec<[f64; 2]>,
    /// The upper face: the hollow side.
    pub inner: Vec<[f64; 2]>,
    /// Whether the part was turned over to stand so.
    pub turned: bool,
}

/// Most pieces of a stretch of a face.
const MOST: usize = 4000;

/// A face of one smooth stretch.
type Face = Vec<[f64; 2]>;

/// The section, in pieces so short that chords leave the faces by no more than `tolerance` (m).
///
/// Faces lie half a thickness from the middle surface along its normal n = (−sin φ, cos φ): x = m ∓ n h/2. Where the meridian turns a
/// corner, the faces meet where they cross, or are lengthened to where their tangents do; where the wall steps, the face does.
///
/// # Errors
/// In words, where the wall is so thick that it crosses the axis.
pub fn section(part: &Part, tolerance: f64) -> Result<Section, String> {
    offset_section(part, tolerance, 0.0)
}

/// The same with both faces moved outwards by a length (m): room for a coat on the mould, or for what a machine adds to its walls.
///
/// # Errors
/// As [`section`]; where the offset leaves no wall.
pub fn offset_section(part: &Part, tolerance: f64, offset: f64) -> Result<Section, String> {
    let length = part.meridian.length();
    let thinnest = part.wall.knots().iter().map(|k| k.1).fold(f64::INFINITY, f64::min);
    if !(offset.is_finite() && thinnest + 2.0 * offset > 0.0) {
        return Err(format!(
            "an offset of {:.3} mm leaves nothing of a wall of {:.3} mm",
            1e3 * offset,
            1e3 * thinnest
        ));
    }
    let mut ends: Vec<f64> = part.meridian.joints().iter().map(|j| j.s).chain(part.wall.steps()).collect();
    ends.retain(|s| *s > 0.0 && *s < length);
    ends.extend([0.0, length]);
    ends.sort_by(f64::total_cmp);
    ends.dedup();
    let mut faces: [Face; 2] = [Vec::new(), Vec::new()];
    for span in ends.windows(2) {
        let m = part.meridian.at(span[0]);
        let [before, after] = [part.wall.thickness_before(span[0]), part.wall.thickness(span[0])];
        for (k, more) in stretch(part, [span[0], span[1]], tolerance, offset).into_iter().enumerate() {
            if (before - after).abs() > 1e-9 * before {
                step(&mut faces[k], more, [m.r, m.z], before > after);
            } else {
                join(&mut faces[k], more);
            }
        }
    }
    let [mut outer, mut inner] = faces;
    if part.meridian.starts_at_pole() {
        // The normal at the pole is the axis.
        outer[0][0] = 0.0;
        inner[0][0] = 0.0;
    }
    if let Some(bad) = outer.iter().chain(&inner).find(|p| p[0] < 0.0) {
        return Err(format!("the wall crosses the axis at height {:.3} mm", 1e3 * bad[1]));
    }
    outer = straightened(&without_loops(outer));
    inner = straightened(&without_loops(inner));
    let turned = part.meridian.at(length).z < part.meridian.at(0.0).z;
    if turned {
        let over = |f: Face| f.into_iter().map(|p| [p[0], -p[1]]).collect::<Face>();
        (outer, inner) = (over(inner), over(outer));
    }
    Ok(Section { outer, inner, turned })
}

/// Both faces of a smooth stretch from one arclength to another, halved until the middle of every piece is near enough to its chord.
fn stretch(part: &Part, [from, to]: [f64; 2], tolerance: f64, offset: f64) -> [Face; 2] {
    let of = |s: f64| {
        // What holds just inside the stretch at its ends.
        let last = s >= to;
        let m: MeridianPoint = if last { part.meridian.before(s) } else { part.meridian.at(s) };
        let h = if last { part.wall.thickness_before(s) } else { part.wall.thickness(s) };
        let n = [-m.sin, m.cos];
        [-0.5 * h - offset, 0.5 * h + offset].map(|d| [m.r + d * n[0], m.z + d * n[1]])
    };
    let mut places = vec![from];
    let mut ahead: Vec<f64> = (1..=16).rev().map(|k| from + (to - from) * f64::from(k) / 16.0).collect();
    while let Some(&next) = ahead.last() {
        let begin = places[places.len() - 1];
        let (a, m, b) = (of(begin), of(0.5 * (begin + next)), of(next));
        let off = (0..2).map(|k| away(m[k], a[k], b[k])).fold(0.0, f64::max);
        if off > tolerance && places.len() + ahead.len() < MOST {
            ahead.push(0.5 * (begin + next));
        } else {
            places.push(next);
            ahead.pop();
        }
    }
    let all: Vec<[[f64; 2]; 2]> = places.into_iter().map(of).collect();
    [0, 1].map(|k| all.iter().map(|p| p[k]).collect())
}

/// Where two segments cross, as shares along both.
fn crossing(a: [[f64; 2]; 2], b: [[f64; 2]; 2]) -> Option<[f64; 2]> {
    let (u, v) = ([a[1][0] - a[0][0], a[1][1] - a[0][1]], [b[1][0] - b[0][0], b[1][1] - b[0][1]]);
    let w = [b[0][0] - a[0][0], b[0][1] - a[0][1]];
    let det = u[0] * v[1] - u[1] * v[0];
    // Parallel to rounding.
    if det.abs() <= 1e-9 * libm::hypot(u[0], u[1]) * libm::hypot(v[0], v[1]) {
        return None;
    }
    Some([(w[0] * v[1] - w[1] * v[0]) / det, (w[0] * u[1] - w[1] * u[0]) / det])
}

/// Goes on with a face where the thickness steps: the thicker stretch ends square to its middle line, and the thinner one begins or ends
/// where its face meets that end.
fn step(face: &mut Face, more: Face, middle: [f64; 2], thicker_before: bool) {
    let meets = |end: [[f64; 2]; 2], path: &[[f64; 2]]| {
        // Where the path begins beyond the end, it is lengthened back to it.
        let [s, t] = crossing(end, [path[0], path[1]])?;
        if (0.0..=1.0).contains(&s) && t < 0.0 {
            return Some((
                None,
                [end[0][0] + s * (end[1][0] - end[0][0]), end[0][1] + s * (end[1][1] - end[0][1])],
            ));
        }
        path.windows(2).enumerate().find_map(|(j, w)| {
            let [s, t] = crossing(end, [w[0], w[1]])?;
            let inside = |v: f64| (-1e-9..=1.0 + 1e-9).contains(&v);
            let at = [end[0][0] + s * (end[1][0] - end[0][0]), end[0][1] + s * (end[1][1] - end[0][1])];
            (inside(s) && inside(t)).then_some((Some(j), at))
        })
    };
    if face.is_empty() {
        face.extend(more);
    } else if thicker_before {
        let end = [face[face.len() - 1], middle];
        match meets(end, &more) {
            Some((j, at)) => {
                face.push(at);
                face.extend(&more[j.map_or(0, |j| j + 1)..]);
            }
            None => face.extend(more),
        }
    } else {
        let back: Face = face.iter().rev().copied().collect();
        if let Some((j, at)) = meets([more[0], middle], &back) {
            face.truncate(face.len() - j.map_or(0, |j| j + 1));
            face.push(at);
        }
        face.extend(more);
    }
}

/// Goes on with a face after a corner.
fn join(face: &mut Face, more: Face) {
    let n = face.len();
    if n < 2 {
        face.extend(more);
        return;
    }
    // On the inside of a corner the two cross: the nearest crossing counts.
    let (near_face, near_more) = (n.min(60), more.len().min(60));
    let mut best: Option<(usize, usize, usize, [f64; 2])> = None;
    for i in 0..near_face - 1 {
        for j in 0..near_more - 1 {
            let a = [face[n - 2 - i], face[n - 1 - i]];
            if let Some([s, t]) = crossing(a, [more[j], more[j + 1]])
                && (0.0..=1.0).contains(&s)
                && (0.0..=1.0).contains(&t)
                && best.is_none_or(|b| i + j < b.0)
            {
                best = Some((
                    i + j,
                    i,
                    j,
                    [a[0][0] + s * (a[1][0] - a[0][0]), a[0][1] + s * (a[1][1] - a[0][1])],
                ));
            }
        }
    }
    if let Some((_, i, j, at)) = best {
        face.truncate(n - 1 - i);
        face.push(at);
        face.extend(&more[j + 1..]);
        return;
    }
    // On the outside they are lengthened to where they would meet, unless that is far off.
    let (a, b) = ([face[n - 2], face[n - 1]], [more[0], more[1]]);
    let gap = libm::hypot(b[0][0] - a[1][0], b[0][1] - a[1][1]);
    if let Some([s, t]) = crossing(a, b)
        && s > 1.0
        && t < 0.0
    {
        let at = [a[0][0] + s * (a[1][0] - a[0][0]), a[0][1] + s * (a[1][1] - a[0][1])];
        if libm::hypot(at[0] - a[1][0], at[1] - a[1][1]) < 2.0 * gap {
            face.push(at);
        }
    }
    face.extend(more);
}

/// Without loops: where a wall is thicker than its middle line is curved, its face would turn over itself (a swallowtail); it is cut where
/// it crosses itself.
fn without_loops(mut face: Face) -> Face {
    let mut i = 0;
    while i + 3 < face.len() {
        let a = [face[i], face[i + 1]];
        let cut = (i + 2..face.len() - 1).rev().find_map(|j| {
            let [s, t] = crossing(a, [face[j], face[j + 1]])?;
            ((0.0..=1.0).contains(&s) && (0.0..=1.0).contains(&t))
                .then_some((j, [a[0][0] + s * (a[1][0] - a[0][0]), a[0][1] + s * (a[1][1] - a[0][1])]))
        });
        if let Some((j, at)) = cut {
            face.splice(i + 1..=j, [at]);
        }
        i += 1;
    }
    face
}

/// Without points that lie on the line between their neighbours, to rounding.
fn straightened(face: &[[f64; 2]]) -> Face {
    let mut out: Face = Vec::new();
    for p in face {
        while let [.., a, b] = out[..]
            && away(b, a, *p) <= 1e-10 * libm::hypot(p[0] - a[0], p[1] - a[1])
        {
            out.pop();
        }
        if out.last() != Some(p) {
            out.push(*p);
        }
    }
    out
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
        Self { outer: all(&self.outer), inner: all(&self.inner), turned: self.turned }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use calotte_solid::moments;
    use calotte_specimen::{Corner, Corners, Material, Meridian, Rim, Wall};

    fn of(corners: &[[f64; 2]], wall: Wall) -> Part {
        let all: Vec<Corner> =
            corners.iter().map(|c| Corner { r: c[0], z: c[1], fillet: 0.0, arc: 0.0 }).collect();
        let meridian = Meridian::Corners(Box::new(Corners::new(&all).unwrap()));
        Part {
            meridian,
            wall,
            material: Material { youngs: 1e9, poisson: 0.3, density: None },
            rim: Rim::Free,
        }
    }

    /// A flat bottom and a cone at 45°, mitred: area of the section and volume in closed form.
    #[test]
    fn corners_are_mitred() {
        let h = 1e-3;
        let s = section(&of(&[[0.0, 0.0], [10e-3, 0.0], [20e-3, 10e-3]], Wall::uniform(h)), 1e-6).unwrap();
        // The mitre lies on the half-angle's line, h/2·tan(22.5°) beside the corner.
        let tan = libm::tan(22.5_f64.to_radians());
        let outer = s.outer.iter().find(|p| (p[0] - (10e-3 + 0.5 * h * tan)).abs() < 1e-12);
        assert!(outer.is_some_and(|p| (p[1] + 0.5 * h).abs() < 1e-12), "{:?}", s.outer);
        let inner = s.inner.iter().find(|p| (p[0] - (10e-3 - 0.5 * h * tan)).abs() < 1e-12);
        assert!(inner.is_some_and(|p| (p[1] - 0.5 * h).abs() < 1e-12), "{:?}", s.inner);
        // Area: h times the length of the middle line, since mitres add on one side what they take on the other.
        let (area, _) = moments(&s.outline());
        assert!((area / (h * (10e-3 + 200.0_f64.sqrt() * 1e-3)) - 1.0).abs() < 1e-9, "{area}");
    }

    /// An arc of radius 1 mm with a wall of 3 mm: the face inside would turn over itself; it is cut where the faces of both straight
    /// pieces cross, on the line that halves the corner. Closed form.
    #[test]
    fn a_face_does_not_turn_over_itself() {
        let mut all: Vec<Corner> = [[0.0, 0.0], [10e-3, 0.0], [20e-3, 10e-3]]
            .iter()
            .map(|c| Corner { r: c[0], z: c[1], fillet: 0.0, arc: 0.0 })
            .collect();
        all[1].fillet = 1e-3;
        let meridian = Meridian::Corners(Box::new(Corners::new(&all).unwrap()));
        let part = Part { meridian, ..of(&[[0.0, 0.0], [1e-3, 0.0]], Wall::uniform(3e-3)) };
        let s = section(&part, 1e-6).unwrap();
        let tan = libm::tan(22.5_f64.to_radians());
        let at = s.inner.iter().find(|p| (p[0] - (10e-3 - 1.5e-3 * tan)).abs() < 1e-9);
        assert!(at.is_some_and(|p| (p[1] - 1.5e-3).abs() < 1e-9), "{:?}", s.inner);
        assert_eq!(s.inner.len(), 3, "{:?}", s.inner);
    }

    #[test]
    fn a_part_with_its_pole_on_top_is_turned_over() {
        let s = section(&of(&[[0.0, 5e-3], [4e-3, 5e-3], [8e-3, 0.0]], Wall::uniform(1e-3)), 1e-6).unwrap();
        assert!(s.turned);
        assert!(s.outer[0][1] < s.inner[0][1] && s.outer[0][1] < s.outer[s.outer.len() - 1][1]);
        assert!(moments(&s.outline()).1 > 0.0);
    }

    /// A thick plate with a thin cone at 45°: the plate ends square at its radius, the cone's faces meet that end.
    #[test]
    fn a_thick_stretch_ends_square() {
        let wall = Wall::stepped(vec![(0.0, 2e-3), (3e-3, 2e-3), (3e-3, 0.4e-3), (6e-3, 0.4e-3)]).unwrap();
        let s = section(&of(&[[0.0, 0.0], [3e-3, 0.0], [5e-3, 2e-3]], wall), 1e-6).unwrap();
        // Faces of the cone cross r = 3 mm at ∓ h/(2 cos 45°).
        let at = 0.2e-3 * 2.0_f64.sqrt();
        for (face, z) in [(&s.outer, -at), (&s.inner, at)] {
            assert!(face.iter().any(|p| (p[0] - 3e-3).abs() < 1e-12 && (p[1] - z).abs() < 1e-12), "{face:?}");
            assert!(face.windows(2).all(|w| w[1][0] >= w[0][0] - 1e-12), "{face:?}");
        }
    }

    #[test]
    fn a_step_of_the_wall_is_a_step_of_the_face() {
        let wall = Wall::stepped(vec![(0.0, 2e-3), (10e-3, 2e-3), (10e-3, 1e-3), (20e-3, 1e-3)]).unwrap();
        let s = section(&of(&[[0.0, 0.0], [20e-3, 0.0]], wall), 1e-6).unwrap();
        let (_, volume) = moments(&s.outline());
        let pi = std::f64::consts::PI;
        let exact = pi * (100e-6 * 2e-3 + 300e-6 * 1e-3);
        assert!((volume / exact - 1.0).abs() < 1e-9, "{volume} {exact}");
    }
}

//! Solids of revolution, with round holes and pegs in their flat faces.
//!
//! An outline is turned about the z axis in steps; an edge (a → b) makes a band of quadrilaterals whose outward normal is the right of the
//! edge. An edge that is level makes a flat ring, in which circles may be cut: from the rim of a circle a wall goes straight up or down,
//! to a bottom (a blind hole, or a peg) or to the same circle in another level edge (a hole right through).

use std::f64::consts::TAU;

use crate::mesh::{Builder, Mesh};
use crate::outline::Outline;

/// A circle in a level plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circle {
    /// Its middle, m.
    pub at: [f64; 2],
    /// Its radius, m.
    pub radius: f64,
}

/// What is cut into a level edge or stands on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Flat {
    /// The wall goes to this height and ends in a bottom: a blind hole, or a peg. Its radius there may differ: a cone.
    Blind {
        /// Height of the bottom, m.
        to: f64,
        /// Radius there, m.
        radius: f64,
    },
    /// The wall goes to the same circle of another level edge, m: a hole right through.
    Through {
        /// The edge where it ends.
        edge: usize,
    },
}

/// A solid of revolution that is to be made.
#[derive(Clone, Debug, Default)]
pub struct Turned {
    /// The outline, counterclockwise in (r, z).
    pub outline: Outline,
    /// Circles in level edges: the edge's number (from corner i to i + 1), the circle, what it is.
    pub flats: Vec<(usize, Circle, Flat)>,
    /// Steps round the axis.
    pub around: u32,
    /// Steps round a circle.
    pub about: u32,
}

/// Steps round a circle of this radius for which chords leave it by no more than `tolerance` (sagitta r(1 − cos π/n)), between 48 and 720,
/// a multiple of four.
pub fn segments(radius: f64, tolerance: f64) -> u32 {
    let share = (1.0 - tolerance / radius).clamp(-1.0, 1.0);
    let half = libm::acos(share);
    let n = if half > 0.0 { (TAU / 2.0 / half).ceil() } else { 720.0 };
    (n.clamp(48.0, 720.0) as u32).div_ceil(4) * 4
}

/// Points of a circle, counterclockwise seen from above, m. Quarters are exact, so that equal radii give equal points.
pub fn round(c: &Circle, n: u32) -> Vec<[f64; 2]> {
    (0..n)
        .map(|k| {
            let (sin, cos) = libm::sincos(TAU * f64::from(k) / f64::from(n));
            // Exactly on the axes, where sine or cosine is zero in exact numbers.
            let (sin, cos) = match (4 * k) % (4 * n) {
                0 => (0.0, 1.0),
                q if q == n => (1.0, 0.0),
                q if q == 2 * n => (0.0, -1.0),
                q if q == 3 * n => (-1.0, 0.0),
                _ => (sin, cos),
            };
            [c.at[0] + c.radius * cos, c.at[1] + c.radius * sin]
        })
        .collect()
}

fn at(p: [f64; 2], z: f64) -> [f64; 3] {
    [p[0], p[1], z]
}

impl Turned {
    /// The edge's ends.
    fn edge(&self, i: usize) -> [[f64; 2]; 2] {
        [self.outline[i], self.outline[(i + 1) % self.outline.len()]]
    }

    /// The closed mesh.
    ///
    /// # Errors
    /// In words, where a circle leaves its edge, touches another, or its edge is not level.
    pub fn mesh(&self) -> Result<Mesh, String> {
        let mut b = Builder::default();
        for i in 0..self.outline.len() {
            let holes: Vec<Circle> = self.in_edge(i);
            let [p, q] = self.edge(i);
            if holes.is_empty() {
                band(&mut b, p, q, self.around);
            } else {
                self.ring(&mut b, i, &holes)?;
            }
        }
        for (edge, circle, what) in &self.flats {
            self.wall(&mut b, *edge, circle, *what)?;
        }
        Ok(b.mesh())
    }

    /// Circles that are cut into an edge, those that end in it included.
    fn in_edge(&self, i: usize) -> Vec<Circle> {
        let ends = |f: &Flat| matches!(f, Flat::Through { edge } if *edge == i);
        self.flats.iter().filter(|(e, _, f)| *e == i || ends(f)).map(|(_, c, _)| *c).collect()
    }

    fn level(&self, i: usize) -> Result<(f64, bool), String> {
        if i >= self.outline.len() {
            return Err(format!("there is no edge {i}"));
        }
        let [p, q] = self.edge(i);
        if p[1].to_bits() != q[1].to_bits() {
            return Err(format!("edge {i} is not level: no circle can be cut into it"));
        }
        // Material on the left: an edge that runs outwards has it above, its face looks down.
        Ok((p[1], q[0] < p[0]))
    }

    /// A level edge with circles cut out.
    fn ring(&self, b: &mut Builder, i: usize, holes: &[Circle]) -> Result<(), String> {
        let (z, up) = self.level(i)?;
        let [p, q] = self.edge(i);
        let (inner, outer) = (p[0].min(q[0]), p[0].max(q[0]));
        for (k, c) in holes.iter().enumerate() {
            let from = libm::hypot(c.at[0], c.at[1]);
            // The chords of the ring's own polygons lie inside its circles.
            let reach = outer * libm::cos(TAU / 2.0 / f64::from(self.around));
            if from + c.radius >= reach || (from - c.radius <= inner && inner > 0.0) {
                return Err(format!(
                    "a circle of radius {:.4} mm, {:.4} mm from the axis, does not fit the flat from {:.4} to {:.4} mm",
                    1e3 * c.radius,
                    1e3 * from,
                    1e3 * inner,
                    1e3 * outer
                ));
            }
            for d in &holes[..k] {
                if libm::hypot(c.at[0] - d.at[0], c.at[1] - d.at[1]) <= c.radius + d.radius {
                    return Err("two circles in one flat touch".to_owned());
                }
            }
        }
        let rim = |radius: f64| round(&Circle { at: [0.0; 2], radius }, self.around);
        let mut points = rim(outer);
        let mut starts = Vec::new();
        if inner > 0.0 {
            starts.push(points.len() as u32);
            points.extend(rim(inner));
        }
        for c in holes {
            starts.push(points.len() as u32);
            points.extend(round(c, self.about));
        }
        let mut triangles: Vec<u32> = Vec::new();
        earcut::Earcut::new().earcut(points.iter().copied(), &starts, &mut triangles);
        for t in triangles.chunks_exact(3) {
            let [u, v, w] = [t[0], t[1], t[2]].map(|k| points[k as usize]);
            let turn = (v[0] - u[0]) * (w[1] - u[1]) - (v[1] - u[1]) * (w[0] - u[0]);
            let (v, w) = if (turn > 0.0) == up { (v, w) } else { (w, v) };
            b.face([at(u, z), at(v, z), at(w, z)]);
        }
        Ok(())
    }

    /// The wall from a circle, and its bottom.
    fn wall(&self, b: &mut Builder, i: usize, c: &Circle, what: Flat) -> Result<(), String> {
        let (z, up) = self.level(i)?;
        let near = round(c, self.about);
        let (to, far, closed) = match what {
            Flat::Blind { to, radius } => (to, round(&Circle { radius, ..*c }, self.about), true),
            Flat::Through { edge } => {
                let (to, other) = self.level(edge)?;
                if other == up {
                    return Err(format!(
                        "a hole from edge {i} cannot end in edge {edge}: both look the same way"
                    ));
                }
                (to, near.clone(), false)
            }
        };
        // A peg leaves the material, a hole goes into it; both have their normal towards the air.
        let hole = (to < z) == up;
        let n = near.len();
        for k in 0..n {
            let (p, q, r, s) = (near[k], near[(k + 1) % n], far[(k + 1) % n], far[k]);
            let quad = [at(p, z), at(q, z), at(r, to), at(s, to)];
            // Going round counterclockwise and then up, the normal points away from the circle's middle.
            let outwards = to > z;
            if outwards != hole {
                b.quad(quad);
            } else {
                b.quad([quad[1], quad[0], quad[3], quad[2]]);
            }
        }
        if closed {
            // The bottom looks the way that its flat does.
            for k in 1..n - 1 {
                let f = [far[0], far[k], far[k + 1]].map(|p| at(p, to));
                b.face(if up { f } else { [f[0], f[2], f[1]] });
            }
        }
        Ok(())
    }
}

/// The band of an edge.
fn band(b: &mut Builder, p: [f64; 2], q: [f64; 2], n: u32) {
    let ring = |e: [f64; 2]| round(&Circle { at: [0.0; 2], radius: e[0] }, n);
    let (a, c) = (ring(p), ring(q));
    let n = n as usize;
    for k in 0..n {
        let l = (k + 1) % n;
        b.quad([at(a[k], p[1]), at(a[l], p[1]), at(c[l], q[1]), at(c[k], q[1])]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{check, moments, stl, three_mf};
    use std::f64::consts::PI;

    fn turned(outline: &[[f64; 2]], flats: Vec<(usize, Circle, Flat)>) -> Turned {
        Turned { outline: outline.to_vec(), flats, around: 96, about: 24 }
    }

    /// Area of a regular polygon of n corners in a circle, over that of the circle: closed form.
    fn share(n: u32) -> f64 {
        let n = f64::from(n);
        n / TAU * libm::sin(TAU / n)
    }

    /// Closed form: the polygon's share of the exact volume (Pappus), whatever the outline.
    #[test]
    fn solids_of_revolution_are_closed_and_hold_their_volume() {
        for outline in [
            vec![[0.0, 0.0], [2.0, 0.0], [2.0, 3.0], [0.0, 3.0]],
            vec![[0.0, 0.0], [2.0, 0.0], [0.0, 3.0]],
            vec![[1.0, 0.0], [2.0, 0.0], [1.0, 1.0]],
            vec![[0.0, 1.0], [1.0, 0.0], [3.0, 0.0], [3.0, 2.0], [1.5, 2.0], [0.5, 1.5], [0.0, 1.5]],
        ] {
            let mesh = turned(&outline, vec![]).mesh().unwrap();
            let sound = check(&mesh).unwrap();
            let want = moments(&outline).1 * share(96);
            assert!((sound.volume - want).abs() < 1e-12 * want, "{outline:?}: {} {want}", sound.volume);
            assert_eq!(sound.pieces, 1);
            // A ring has a hole through it.
            assert_eq!(sound.euler, if outline[0][0] > 0.0 { 0 } else { 2 }, "{outline:?}");
        }
    }

    /// Closed form: what pegs, blind holes and through holes add and take away.
    #[test]
    fn pegs_and_holes() {
        let plate = [[0.0, 0.0], [10.0, 0.0], [10.0, 2.0], [0.0, 2.0]];
        let circle = |x: f64, y: f64, radius: f64| Circle { at: [x, y], radius };
        let area = |r: f64| PI * r * r * share(24);
        let base = moments(&plate).1 * share(96);
        // Edge 0 looks down, edge 2 up.
        let peg = (2, circle(6.0, 0.0, 1.0), Flat::Blind { to: 5.0, radius: 1.0 });
        let cone = (2, circle(0.0, 6.0, 1.0), Flat::Blind { to: 1.0, radius: 0.5 });
        let foot = (0, circle(0.0, -6.0, 1.0), Flat::Blind { to: -1.0, radius: 1.0 });
        let bore = (0, circle(-6.0, 0.0, 1.5), Flat::Through { edge: 2 });
        // Frustum: height (A + √AB + B)/3.
        let frustum = (area(1.0) + area(0.5) + area(1.0).sqrt() * area(0.5).sqrt()) / 3.0;
        for (flats, more, euler) in [
            (vec![peg], 3.0 * area(1.0), 2),
            (vec![cone], -frustum, 2),
            (vec![foot], area(1.0), 2),
            (vec![bore], -2.0 * area(1.5), 0),
            (vec![peg, cone, foot, bore], 4.0 * area(1.0) - frustum - 2.0 * area(1.5), 0),
        ] {
            let mesh = turned(&plate, flats.clone()).mesh().unwrap();
            let sound = check(&mesh).unwrap_or_else(|e| panic!("{flats:?}: {e}"));
            assert!(
                (sound.volume - base - more).abs() < 1e-10 * base,
                "{flats:?}: {} {}",
                sound.volume,
                base + more
            );
            assert_eq!(sound.euler, euler, "{flats:?}");
        }
        let bad = |flats| turned(&plate, flats).mesh().unwrap_err();
        assert!(bad(vec![(2, circle(9.5, 0.0, 1.0), Flat::Through { edge: 0 })]).contains("does not fit"));
        assert!(bad(vec![(1, circle(5.0, 0.0, 1.0), Flat::Through { edge: 0 })]).contains("not level"));
        assert!(
            bad(vec![peg, (2, circle(6.5, 0.0, 1.0), Flat::Blind { to: 3.0, radius: 1.0 })])
                .contains("touch")
        );
    }

    /// Faults are found: a missing face, a turned one, a peg that runs into another.
    #[test]
    fn unsound_meshes_are_refused() {
        let cube = turned(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]], vec![]).mesh().unwrap();
        let mut open = cube.clone();
        open.faces.pop();
        assert!(matches!(check(&open), Err(crate::Fault::Edge { .. })));
        let mut turned_face = cube.clone();
        turned_face.faces[3].swap(0, 1);
        assert!(matches!(check(&turned_face), Err(crate::Fault::Edge { .. })));
        let mut inward = cube.clone();
        inward.faces.iter_mut().for_each(|f| f.swap(0, 1));
        assert!(matches!(check(&inward), Err(crate::Fault::Inwards(_))));
        let mut two = cube.clone();
        let n = two.points.len() as u32;
        two.points.extend(cube.clone().moved([0.5, 0.1, 0.3]).points);
        two.faces.extend(cube.faces.iter().map(|f| f.map(|i| i + n)));
        assert!(matches!(check(&two), Err(crate::Fault::Crossing(_))));
        assert!(matches!(check(&Mesh::default()), Err(crate::Fault::Empty)));
    }

    /// STL: head, count, and every number back in millimetres. 3MF: a zip with its three parts.
    #[test]
    fn files_hold_the_mesh() {
        let mesh = turned(&[[0.0, 0.0], [0.01, 0.0], [0.0, 0.02]], vec![]).mesh().unwrap();
        let bytes = stl(&mesh, "invented cone").unwrap();
        assert_eq!(bytes.len(), 84 + 50 * mesh.faces.len());
        assert_eq!(u32::from_le_bytes(bytes[80..84].try_into().unwrap()) as usize, mesh.faces.len());
        let number = |at: usize| f64::from(f32::from_le_bytes(bytes[at..at + 4].try_into().unwrap()));
        for (f, corners) in (0..mesh.faces.len()).map(|f| (f, mesh.corners(f))) {
            for (k, v) in corners.iter().flatten().enumerate() {
                assert!((number(84 + 50 * f + 12 + 4 * k) - 1e3 * v).abs() < 1e-5);
            }
        }
        let packed = three_mf(&[("cone <1>", &mesh)], "invented & small").unwrap();
        assert_eq!(packed, three_mf(&[("cone <1>", &mesh)], "invented & small").unwrap());
        let mut zip = zip::ZipArchive::new(std::io::Cursor::new(packed)).unwrap();
        let mut text = String::new();
        std::io::Read::read_to_string(&mut zip.by_name("3D/3dmodel.model").unwrap(), &mut text).unwrap();
        assert!(text.contains("unit=\"millimeter\"") && text.contains("invented &amp; small"));
        assert_eq!(text.matches("<vertex ").count(), mesh.points.len());
        assert_eq!(text.matches("<triangle ").count(), mesh.faces.len());
        assert_eq!(zip.len(), 3);
    }
}

//! Whether a mesh is the surface of a solid.
//!
//! Watertight: every edge belongs to two faces, which run along it in opposite senses. Outward: the enclosed volume of every connected
//! piece is positive, or it lies as a hollow within one (here: no hollows are made, so every piece must be positive). No face crosses
//! another: pairs of faces that share no point are tested edge against face, within cells of a grid.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use crate::mesh::{Mesh, cross, dot};

/// What is wrong.
#[derive(Clone, Debug, PartialEq)]
pub enum Fault {
    /// Nothing there.
    Empty,
    /// A place is not a number.
    NotFinite(usize),
    /// An edge of so many faces, and its ends, m.
    Edge {
        /// Faces along it in one sense, and in the other.
        faces: [usize; 2],
        /// Its ends.
        ends: [[f64; 3]; 2],
    },
    /// A piece whose faces point inwards, with its volume, m³.
    Inwards(f64),
    /// Two faces that cross.
    Crossing([usize; 2]),
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mm = |p: &[f64; 3]| format!("({:.4}, {:.4}, {:.4}) mm", 1e3 * p[0], 1e3 * p[1], 1e3 * p[2]);
        match self {
            Self::Empty => write!(f, "the mesh has no face"),
            Self::NotFinite(i) => write!(f, "point {i} is not a number"),
            Self::Edge { faces, ends } => write!(
                f,
                "the edge from {} to {} has {} faces on one side and {} on the other",
                mm(&ends[0]),
                mm(&ends[1]),
                faces[0],
                faces[1]
            ),
            Self::Inwards(v) => write!(f, "a piece points inwards (volume {:.6} cm³)", 1e6 * v),
            Self::Crossing([a, b]) => write!(f, "faces {a} and {b} cross"),
        }
    }
}

/// A mesh that passed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Soundness {
    /// Connected pieces.
    pub pieces: usize,
    /// Volume, m³.
    pub volume: f64,
    /// Points − edges + faces, 2 for each piece without holes through it, less two per hole.
    pub euler: i64,
    /// Pairs of faces that were tested for crossing.
    pub pairs: usize,
}

/// Checks a mesh.
///
/// # Errors
/// The first [`Fault`] found.
pub fn check(mesh: &Mesh) -> Result<Soundness, Fault> {
    if mesh.faces.is_empty() {
        return Err(Fault::Empty);
    }
    if let Some(i) = mesh.points.iter().position(|p| p.iter().any(|v| !v.is_finite())) {
        return Err(Fault::NotFinite(i));
    }
    let edges = edges(mesh)?;
    let pieces = pieces(mesh);
    for piece in &pieces {
        let of = |f: &usize| {
            let [a, b, c] = mesh.corners(*f);
            dot(a, cross(b, c)) / 6.0
        };
        let volume: f64 = piece.iter().map(of).sum();
        if volume <= 0.0 {
            return Err(Fault::Inwards(volume));
        }
    }
    let pairs = crossings(mesh)?;
    let used: BTreeSet<u32> = mesh.faces.iter().flatten().copied().collect();
    Ok(Soundness {
        pieces: pieces.len(),
        volume: mesh.volume(),
        euler: used.len() as i64 - edges as i64 + mesh.faces.len() as i64,
        pairs,
    })
}

fn edges(mesh: &Mesh) -> Result<usize, Fault> {
    let mut known: BTreeMap<[u32; 2], [usize; 2]> = BTreeMap::new();
    for f in &mesh.faces {
        for k in 0..3 {
            let (a, b) = (f[k], f[(k + 1) % 3]);
            known.entry([a.min(b), a.max(b)]).or_default()[usize::from(a > b)] += 1;
        }
    }
    match known.iter().find(|(_, n)| **n != [1, 1]) {
        Some((ends, faces)) => {
            Err(Fault::Edge { faces: *faces, ends: ends.map(|i| mesh.points[i as usize]) })
        }
        None => Ok(known.len()),
    }
}

/// Faces of each connected piece.
fn pieces(mesh: &Mesh) -> Vec<Vec<usize>> {
    let mut parent: Vec<u32> = (0..mesh.points.len() as u32).collect();
    fn root(parent: &mut [u32], mut i: u32) -> u32 {
        while parent[i as usize] != i {
            parent[i as usize] = parent[parent[i as usize] as usize];
            i = parent[i as usize];
        }
        i
    }
    for f in &mesh.faces {
        for k in [1, 2] {
            let (a, b) = (root(&mut parent, f[0]), root(&mut parent, f[k]));
            parent[a.max(b) as usize] = a.min(b);
        }
    }
    let mut out: BTreeMap<u32, Vec<usize>> = BTreeMap::new();
    for (k, f) in mesh.faces.iter().enumerate() {
        out.entry(root(&mut parent, f[0])).or_default().push(k);
    }
    out.into_values().collect()
}

/// Tests pairs of faces without a common point; how many.
fn crossings(mesh: &Mesh) -> Result<usize, Fault> {
    let Some([low, high]) = mesh.bounds() else { return Ok(0) };
    let cells = libm::cbrt(mesh.faces.len() as f64).ceil().clamp(1.0, 64.0);
    let size: [f64; 3] = std::array::from_fn(|i| ((high[i] - low[i]) / cells).max(f64::MIN_POSITIVE));
    let cell = |v: f64, i: usize| (((v - low[i]) / size[i]) as i64).clamp(0, cells as i64 - 1);
    let mut grid: BTreeMap<[i64; 3], Vec<usize>> = BTreeMap::new();
    let boxes: Vec<[[f64; 3]; 2]> = (0..mesh.faces.len())
        .map(|f| {
            let c = mesh.corners(f);
            let pick = |i: usize, g: fn(f64, f64) -> f64| g(g(c[0][i], c[1][i]), c[2][i]);
            [std::array::from_fn(|i| pick(i, f64::min)), std::array::from_fn(|i| pick(i, f64::max))]
        })
        .collect();
    for (f, b) in boxes.iter().enumerate() {
        let range = |i: usize| cell(b[0][i], i)..=cell(b[1][i], i);
        for x in range(0) {
            for y in range(1) {
                for z in range(2) {
                    grid.entry([x, y, z]).or_default().push(f);
                }
            }
        }
    }
    let mut seen = BTreeSet::new();
    for faces in grid.values() {
        for (k, f) in faces.iter().enumerate() {
            for g in &faces[..k] {
                let apart =
                    (0..3).any(|i| boxes[*f][1][i] < boxes[*g][0][i] || boxes[*g][1][i] < boxes[*f][0][i]);
                let touch = mesh.faces[*f].iter().any(|p| mesh.faces[*g].contains(p));
                if apart || touch || !seen.insert([*g, *f]) {
                    continue;
                }
                if cross_each_other(&mesh.corners(*f), &mesh.corners(*g)) {
                    return Err(Fault::Crossing([*g, *f]));
                }
            }
        }
    }
    Ok(seen.len())
}

fn cross_each_other(f: &[[f64; 3]; 3], g: &[[f64; 3]; 3]) -> bool {
    (0..3).any(|k| pierces(f[k], f[(k + 1) % 3], g)) || (0..3).any(|k| pierces(g[k], g[(k + 1) % 3], f))
}

/// Whether the open edge from p to q goes through a face, by the signs of five volumes. The signs are exact: many faces of one cone lie
/// in one plane but for rounding.
fn pierces(p: [f64; 3], q: [f64; 3], f: &[[f64; 3]; 3]) -> bool {
    let of = |p: [f64; 3]| robust::Coord3D { x: p[0], y: p[1], z: p[2] };
    let volume = |a, b, c, d| robust::orient3d(of(a), of(b), of(c), of(d));
    let (s, t) = (volume(f[0], f[1], f[2], p), volume(f[0], f[1], f[2], q));
    if !(s < 0.0 && t > 0.0 || s > 0.0 && t < 0.0) {
        return false;
    }
    let sides = [0, 1, 2].map(|k| volume(p, q, f[k], f[(k + 1) % 3]));
    sides.iter().all(|v| *v > 0.0) || sides.iter().all(|v| *v < 0.0)
}

//! A triangle mesh whose faces share their points.

use std::collections::BTreeMap;

/// Triangles over shared points.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mesh {
    /// Points, m.
    pub points: Vec<[f64; 3]>,
    /// Corners of each face, counterclockwise seen from outside.
    pub faces: Vec<[u32; 3]>,
}

pub(crate) fn minus(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

pub(crate) fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

pub(crate) fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

impl Mesh {
    /// Corners of a face, m.
    pub fn corners(&self, face: usize) -> [[f64; 3]; 3] {
        self.faces[face].map(|i| self.points[i as usize])
    }

    /// Vector of a face: along its outward normal, as long as its area, m².
    pub fn area_vector(&self, face: usize) -> [f64; 3] {
        let [a, b, c] = self.corners(face);
        cross(minus(b, a), minus(c, a)).map(|v| 0.5 * v)
    }

    /// Enclosed volume by the divergence theorem, Σ a·(b × c)/6, m³; negative when the faces point inwards.
    pub fn volume(&self) -> f64 {
        let of = |f: usize| {
            let [a, b, c] = self.corners(f);
            dot(a, cross(b, c)) / 6.0
        };
        (0..self.faces.len()).map(of).sum()
    }

    /// Area of the surface, m².
    pub fn area(&self) -> f64 {
        (0..self.faces.len()).map(|f| self.area_vector(f)).map(|v| dot(v, v).sqrt()).sum()
    }

    /// Smallest and largest coordinates, m.
    pub fn bounds(&self) -> Option<[[f64; 3]; 2]> {
        let first = *self.points.first()?;
        Some(self.points.iter().fold([first; 2], |b, p| {
            [std::array::from_fn(|i| b[0][i].min(p[i])), std::array::from_fn(|i| b[1][i].max(p[i]))]
        }))
    }

    /// The same moved by a length along each axis, m.
    pub fn moved(mut self, by: [f64; 3]) -> Self {
        self.points.iter_mut().for_each(|p| *p = std::array::from_fn(|i| p[i] + by[i]));
        self
    }

    /// The same turned upside down about the x axis.
    pub fn turned_over(mut self) -> Self {
        self.points.iter_mut().for_each(|p| *p = [p[0], -p[1], -p[2]]);
        self
    }
}

/// Puts a mesh together: points with the same bits are one point.
#[derive(Debug, Default)]
pub struct Builder {
    mesh: Mesh,
    known: BTreeMap<[u64; 3], u32>,
}

impl Builder {
    fn point(&mut self, p: [f64; 3]) -> u32 {
        // −0 and 0 are one place.
        let p = p.map(|v| v + 0.0);
        *self.known.entry(p.map(f64::to_bits)).or_insert_with(|| {
            self.mesh.points.push(p);
            self.mesh.points.len() as u32 - 1
        })
    }

    /// Adds a face; one whose corners are not three places is left out, as on the axis.
    pub fn face(&mut self, corners: [[f64; 3]; 3]) {
        let [a, b, c] = corners.map(|p| self.point(p));
        if a != b && b != c && c != a {
            self.mesh.faces.push([a, b, c]);
        }
    }

    /// Adds the two faces of a quadrilateral, its corners counterclockwise seen from outside.
    pub fn quad(&mut self, [a, b, c, d]: [[f64; 3]; 4]) {
        self.face([a, b, c]);
        self.face([a, c, d]);
    }

    /// The mesh.
    pub fn mesh(self) -> Mesh {
        self.mesh
    }
}

//! A shape turned about the axis: a mesh of its mid-surface with fields at the points.

use std::f64::consts::TAU;

use calotte_answers::film::{Film, Frame};
use calotte_specimen::Part;

/// Values at the points of a surface.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// Name with its unit, such as `energy_density_J_per_m2`.
    pub name: String,
    /// Numbers a point: 1, or 3 for vectors.
    pub size: usize,
    /// Point after point.
    pub values: Vec<f64>,
}

/// A mesh of a surface of revolution, perhaps deflected in waves.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Surface {
    /// Places, m: x, y, z with z along the axis.
    pub points: Vec<[f64; 3]>,
    /// Quadrilaterals, and triangles about a pole; seen from the left of the meridian they run counterclockwise.
    pub cells: Vec<Vec<u32>>,
    /// Fields at the points.
    pub fields: Vec<Field>,
}

/// Rows of points that the grid has: places of the grid with how many points each has around the axis.
pub(crate) struct Rows {
    /// Points of every place: one on the axis, `around` elsewhere.
    counts: Vec<u32>,
    around: u32,
}

impl Rows {
    pub(crate) fn new(natural_r: &[f64], around: u32) -> Self {
        let largest = natural_r.iter().copied().fold(0.0, f64::max);
        let counts = natural_r
            .iter()
            .enumerate()
            .map(|(i, r)| if i == 0 && *r <= 1e-9 * largest { 1 } else { around })
            .collect();
        Self { counts, around }
    }

    /// Place and angle of every point.
    pub(crate) fn points(&self) -> impl Iterator<Item = (usize, f64)> + '_ {
        let around = f64::from(self.around);
        self.counts
            .iter()
            .enumerate()
            .flat_map(move |(i, n)| (0..*n).map(move |k| (i, TAU * f64::from(k) / around)))
    }

    /// Cells between neighbouring rows; rows at one place (both sides of a joint) have none between them.
    fn cells(&self, s: &[f64]) -> Vec<Vec<u32>> {
        let mut out = Vec::new();
        let mut from = 0;
        for i in 1..self.counts.len() {
            let (a, b) = (from, from + self.counts[i - 1]);
            from = b;
            if s[i] <= s[i - 1] {
                continue;
            }
            for k in 0..self.around {
                let l = (k + 1) % self.around;
                if self.counts[i - 1] == 1 {
                    out.push(vec![a, b + k, b + l]);
                } else {
                    out.push(vec![a + k, b + k, b + l, a + l]);
                }
            }
        }
        out
    }

    /// A field with one value at every place of the grid.
    fn spread(&self, name: &str, at: impl Fn(usize) -> f64) -> Field {
        Field { name: name.to_owned(), size: 1, values: self.points().map(|(i, _)| at(i)).collect() }
    }
}

/// Natural radii and heights at the places of a film's grid, m; the natural pole at height 0. Where the film has the grid of the natural
/// shape's own film they are those, digit by digit.
pub(crate) fn natural(part: &Part, film: &Film) -> Vec<(f64, f64)> {
    let own = calotte_answers::film::natural(part);
    if let Some(frame) = own.frames.first().filter(|_| own.s_m == film.s_m) {
        return frame.r_m.iter().copied().zip(frame.z_m.iter().copied()).collect();
    }
    let m = &part.meridian;
    film.s_m
        .iter()
        .map(|s| {
            let p = m.at(s.min(m.length()));
            (p.r, p.z)
        })
        .collect()
}

/// The mid-surface of a frame with everything that the frame knows. `around` points stand around the axis.
pub(crate) fn surface(
    part: &Part,
    film: &Film,
    frame: &Frame,
    natural: &[(f64, f64)],
    around: u32,
) -> Surface {
    let radii: Vec<f64> = natural.iter().map(|p| p.0).collect();
    let rows = Rows::new(&radii, around);
    let turned = |i: usize, theta: f64, p: (f64, f64)| {
        let (sin, cos) = libm::sincos(theta);
        // A pole stays on the axis.
        let r = if i == 0 && rows.counts[0] == 1 { 0.0 } else { p.0 };
        [r * cos, r * sin, p.1]
    };
    let points: Vec<[f64; 3]> =
        rows.points().map(|(i, theta)| turned(i, theta, (frame.r_m[i], frame.z_m[i]))).collect();
    let displacement = rows
        .points()
        .zip(&points)
        .flat_map(|((i, theta), p)| {
            let from = turned(i, theta, natural[i]);
            [0, 1, 2].map(|c| p[c] - from[c])
        })
        .collect();
    let mut fields = vec![
        Field { name: "displacement_m".to_owned(), size: 3, values: displacement },
        rows.spread("thickness_m", |i| film.thickness_m[i]),
        rows.spread("arclength_m", |i| film.s_m[i]),
        rows.spread("slope_rad", |i| frame.slope_rad[i]),
        rows.spread("largest_strain_1", |i| frame.strain[i]),
        rows.spread("energy_density_J_per_m2", |i| frame.energy_J_per_m2[i]),
    ];
    if frame.measures.len() == natural.len() {
        for (k, name) in [
            "membrane_strain_meridional_1",
            "membrane_strain_hoop_1",
            "bending_strain_meridional_per_m",
            "bending_strain_hoop_per_m",
        ]
        .into_iter()
        .enumerate()
        {
            fields.push(rows.spread(name, |i| frame.measures[i][k]));
        }
        // A wall of layers has forces of heat, which the film does not know.
        if part.wall.layers().is_none() {
            let all = resultants(part, film, frame);
            for (k, name) in [
                "membrane_force_meridional_N_per_m",
                "membrane_force_hoop_N_per_m",
                "bending_moment_meridional_N",
                "bending_moment_hoop_N",
            ]
            .into_iter()
            .enumerate()
            {
                fields.push(rows.spread(name, |i| all[i][k]));
            }
        }
    }
    Surface { points, cells: rows.cells(&film.s_m), fields }
}

/// Membrane forces and bending moments per length of a wall of one layer at every place.
///
/// `N_s = C (ε_s + ν ε_θ)`, `M_s = D (κ_s + ν κ_θ)`, the same with s and θ exchanged; `C = k E h/(1 − ν²)`, `D = k E h³/12(1 − ν²)`
///
/// | symbol | meaning | unit |
/// |---|---|---|
/// | ε, κ | Biot strain of the mid-surface, dilation-invariant bending measure | 1, 1/m |
/// | h, k | thickness, factor of the wall's stiffness there | m, 1 |
fn resultants(part: &Part, film: &Film, frame: &Frame) -> Vec<[f64; 4]> {
    let (e, nu) = (part.material.youngs, part.material.poisson);
    (0..film.s_m.len())
        .map(|i| {
            // Of two places at a joint, the first lies before it.
            let s = film.s_m[i];
            let before = film.s_m.get(i + 1).is_some_and(|t| *t <= s);
            let inside = if before { s - 1e-9 * part.meridian.length() } else { s };
            let stiff = part.wall.stiffness(inside.max(0.0)) * e / (1.0 - nu * nu);
            let h = film.thickness_m[i];
            let (c, d) = (stiff * h, stiff * h * h * h / 12.0);
            let [es, et, ks, kt] = frame.measures[i];
            [c * (es + nu * et), c * (et + nu * es), d * (ks + nu * kt), d * (kt + nu * ks)]
        })
        .collect()
}

/// A vibration of a frame as a vector field, largest displacement 1: `cos nθ` across and along the wall, `sin nθ` around it.
pub(crate) fn deflection(
    frame: &Frame,
    rows: &Rows,
    n: u32,
    [across, along, around]: [&[f64]; 3],
    name: String,
) -> Field {
    let values = rows
        .points()
        .flat_map(|(i, theta)| {
            let (sin, cos) = libm::sincos(theta);
            let (sn, cn) = libm::sincos(f64::from(n) * theta);
            let (slope_sin, slope_cos) = libm::sincos(frame.slope_rad[i]);
            let out = cn * (along[i] * slope_cos - across[i] * slope_sin);
            let up = cn * (along[i] * slope_sin + across[i] * slope_cos);
            let turn = sn * around[i];
            [out * cos - turn * sin, out * sin + turn * cos, up]
        })
        .collect();
    Field { name, size: 3, values }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form: a flat ring has the area of its polygon, cells at a joint have none, a pole is one point.
    #[test]
    fn cells_cover_the_surface_once() {
        for (radii, want) in [(vec![0.0, 1.0, 1.0, 2.0], 4.0), (vec![0.5, 1.0, 1.0, 2.0], 3.75)] {
            let s = [0.0, 1.0, 1.0, 2.0];
            let rows = Rows::new(&radii, 24);
            let points: Vec<[f64; 2]> = rows
                .points()
                .map(|(i, theta)| {
                    let (sin, cos) = libm::sincos(theta);
                    [radii[i] * cos, radii[i] * sin]
                })
                .collect();
            let area: f64 = rows
                .cells(&s)
                .iter()
                .map(|c| {
                    // The sign tells that all run the same way.
                    (0..c.len())
                        .map(|k| {
                            let (p, q) = (points[c[k] as usize], points[c[(k + 1) % c.len()] as usize]);
                            0.5 * (p[0] * q[1] - q[0] * p[1])
                        })
                        .sum::<f64>()
                })
                .sum();
            let share = 12.0 * libm::sin(TAU / 24.0);
            assert!((area - want * share).abs() < 1e-12, "{area} {}", want * share);
            assert_eq!(points.len(), if radii[0] == 0.0 { 73 } else { 96 });
        }
    }
}

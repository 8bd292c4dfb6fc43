//! Circular plates vibrating: characteristic equations for every wave number n and every edge.
//!
//! `w = [A J_n(kx) + B I_n(kx)] cos nθ` with x = r/a solves D∇⁴w = ρhω²w when
//! `Ω = ω a² √(ρh/D) = k²`. On the edge, up to a common factor D,
//!
//! | | of J_n | of I_n |
//! |---|---|---|
//! | deflection | `J` | `I` |
//! | slope | `kJ′` | `kI′` |
//! | moment | `−k²J − (1−ν)(kJ′ − n²J)` | `k²I − (1−ν)(kI′ − n²I)` |
//! | shear (Kirchhoff) | `−k³J′ − (1−ν)n²(kJ′ − J)` | `k³I′ − (1−ν)n²(kI′ − I)` |
//!
//! and the determinant of the two rows that vanish is the characteristic equation.
//! Source: Leissa 1969, "Vibration of Plates", NASA SP-160, chapter 2 (the problem set; some printed
//! tables carry another ν than they say, so the equation is solved here).

use crate::bessel::{dj, j, scaled_di, scaled_i};
use crate::{Known, Slack, Status};

/// How the edge is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edge {
    /// No deflection, no slope.
    Clamped,
    /// No deflection, no moment.
    Hinged,
    /// No moment, no shear.
    Free,
}

/// The determinant at k, scaled to stay of order one; its zeros are the frequencies.
fn determinant(edge: Edge, n: u32, nu: f64, k: f64) -> f64 {
    let (p, n2) = (1.0 - nu, f64::from(n * n));
    let (jn, jd, i, id) = (j(n, k), k * dj(n, k), scaled_i(n, k), k * scaled_di(n, k));
    let moment = [-k * k * jn - p * (jd - n2 * jn), k * k * i - p * (id - n2 * i)];
    let shear = [-k * k * jd - p * n2 * (jd - jn), k * k * id - p * n2 * (id - i)];
    match edge {
        Edge::Clamped => jn * id - i * jd,
        Edge::Hinged => jn * moment[1] - i * moment[0],
        Edge::Free => moment[0] * shear[1] - moment[1] * shear[0],
    }
}

/// Ω = ω a² √(ρh/D) of the mode with n nodal diameters and `index` frequencies below it (rigid
/// motions are not counted). `None` beyond k = 200.
pub fn frequency(edge: Edge, n: u32, nu: f64, index: usize) -> Option<f64> {
    let step = 0.05;
    // The lowest elastic frequencies lie above: the free plate's k is 2.31, 3.53, 4.67 for n = 2, 3, 4.
    let mut low = 1.0_f64.max(0.5 * f64::from(n));
    let mut at_low = determinant(edge, n, nu, low);
    let mut left = index;
    while low < 200.0 {
        let high = low + step;
        let at_high = determinant(edge, n, nu, high);
        if at_low * at_high <= 0.0 {
            if left == 0 {
                let k = bisect(|k| determinant(edge, n, nu, k), low, high);
                return Some(k * k);
            }
            left -= 1;
        }
        (low, at_low) = (high, at_high);
    }
    None
}

fn bisect(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    let sign = f(low) > 0.0;
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if (f(middle) > 0.0) == sign { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// One mode of a circular plate.
#[derive(Clone, Copy, Debug)]
pub struct Mode {
    /// Edge.
    pub edge: Edge,
    /// Nodal diameters.
    pub n: u32,
    /// Poisson ratio.
    pub nu: f64,
    /// Elastic frequencies of the same n below this one.
    pub index: usize,
    /// The frequency, with the digits of the tables.
    pub omega: Known,
}

const LEISSA: &str =
    "Leissa 1969, Vibration of Plates, NASA SP-160, ch. 2 (problem set); characteristic equation solved";

/// A row whose digits were remembered; the solver had no part in them.
const fn remembered(edge: Edge, n: u32, id: &'static str, what: &'static str, value: f64) -> Mode {
    let mut row = mode(edge, n, 0, id, what, value);
    row.omega.within = Slack::Absolute(5e-4);
    row.omega.status = Status::FromMemory;
    row
}

const fn mode(edge: Edge, n: u32, index: usize, id: &'static str, what: &'static str, value: f64) -> Mode {
    let omega = Known {
        id,
        what,
        value,
        unit: "1",
        within: Slack::Relative(5e-9),
        source: LEISSA,
        status: Status::ClosedForm,
    };
    Mode { edge, n, nu: 0.3, index, omega }
}

/// Lowest frequencies at ν = 0.3.
pub const TABLE: [Mode; 9] = [
    mode(Edge::Clamped, 0, 0, "plate/clamped-0", "Clamped plate, n = 0: Ω.", 10.2158262),
    mode(Edge::Clamped, 1, 0, "plate/clamped-1", "Clamped plate, n = 1: Ω.", 21.2603977),
    mode(Edge::Clamped, 2, 0, "plate/clamped-2", "Clamped plate, n = 2: Ω.", 34.8770354),
    mode(Edge::Free, 2, 0, "plate/free-2", "Free plate, n = 2: Ω.", 5.35832979),
    mode(Edge::Free, 0, 0, "plate/free-0", "Free plate, n = 0: Ω.", 9.00313735),
    mode(Edge::Free, 3, 0, "plate/free-3", "Free plate, n = 3: Ω.", 12.4389882),
    remembered(Edge::Hinged, 0, "plate/hinged-0", "Hinged plate, n = 0: Ω.", 4.935),
    remembered(Edge::Hinged, 1, "plate/hinged-1", "Hinged plate, n = 1: Ω.", 13.898),
    remembered(Edge::Free, 1, "plate/free-1", "Free plate, n = 1: Ω.", 20.475),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn table_solves_the_characteristic_equations() {
        for m in TABLE {
            let solved = frequency(m.edge, m.n, m.nu, m.index).unwrap();
            println!("{:18} {solved:.12} agrees to {:.1} digits", m.omega.id, m.omega.digits(solved));
            assert!(m.omega.agrees(solved, 0.0), "{}: {solved}", m.omega.id);
        }
    }

    /// No root may be jumped over: for every n the frequencies rise, and each lies above the one of
    /// the same index and softer edge (Rayleigh: holding an edge raises every frequency).
    #[test]
    fn frequencies_are_ordered() {
        for n in 0..=20 {
            for index in 0..4 {
                let at = |edge, i| frequency(edge, n, 0.3, i).unwrap();
                assert!(at(Edge::Clamped, index) > at(Edge::Hinged, index), "n {n} index {index}");
                assert!(at(Edge::Free, index + 1) > at(Edge::Free, index), "n {n} index {index}");
                // a free plate has two more low motions (rigid ones for n = 0, 1 are not counted)
                let free = at(Edge::Free, index + usize::from(n > 1));
                assert!(free < at(Edge::Clamped, index + 1), "n {n} index {index}");
            }
        }
    }

    /// Closed form: with ν → 1 a hinged plate's moment is −∇²w, so Ω are squares of zeros of J_n.
    #[test]
    fn hinged_plate_without_poisson_contrast() {
        let zero = 2.404_825_557_695_773; // first zero of J_0
        let omega = frequency(Edge::Hinged, 0, 1.0, 0).unwrap();
        assert!((omega / (zero * zero) - 1.0).abs() < 1e-12);
    }
}

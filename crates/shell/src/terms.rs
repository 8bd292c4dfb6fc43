//! Terms in `r, r′, z, z′` that loads add to the energy of a model, point by point.

use calotte_solve::Band;

use crate::model::{DOF, GAUSS, Model, Point, hermite_sum};

/// Energy of a term with its gradient and second derivative in `r, r′, z, z′`.
pub(crate) type Term = (f64, [f64; 4], [[f64; 4]; 4]);

impl Model {
    /// A force on all nodal unknowns as one on the free unknowns.
    pub(crate) fn force_of(&self, mut full: Vec<f64>) -> Vec<f64> {
        self.turn_in(&mut full);
        self.gather_forces(&full)
    }

    /// `r, r′, z, z′` at integration point `g` of a nodal vector.
    pub(crate) fn place(&self, q: &[f64], g: usize) -> [f64; 4] {
        let (n, q) = (&self.points[g].n, &q[DOF * (g / GAUSS)..]);
        [
            hermite_sum(&n[0], q, 0),
            hermite_sum(&n[1], q, 0),
            hermite_sum(&n[0], q, 3),
            hermite_sum(&n[1], q, 3),
        ]
    }

    /// Adds `Σ Nᵀ f` of forces on `r, r′, z, z′` at the integration points to a full nodal vector.
    pub(crate) fn spread(&self, g: usize, f: &[f64; 4], full: &mut [f64]) {
        let (n, base) = (&self.points[g].n, DOF * (g / GAUSS));
        for j in 0..6 {
            let k = base + if j < 3 { j } else { DOF + j - 3 };
            full[k] += n[0][j] * f[0] + n[1][j] * f[1];
            full[k + 3] += n[0][j] * f[2] + n[1][j] * f[3];
        }
    }

    /// Adds terms in `r, r′, z, z′` at the integration points (energy, gradient, second derivative; `None` where
    /// they vanish) to an assembled gradient and tangent; returns their energy.
    pub(crate) fn add_terms(
        &self,
        q: &[f64],
        gradient: &mut [f64],
        tangent: &mut Band,
        term: impl Fn(&Point, &[f64; 4]) -> Option<Term>,
    ) -> f64 {
        let mut full = vec![0.0; q.len()];
        let mut sum = 0.0;
        for e in 0..self.elements() {
            let mut k = [[0.0; 12]; 12];
            let mut any = false;
            for g in GAUSS * e..GAUSS * (e + 1) {
                let p = &self.points[g];
                let Some((energy, f, h)) = term(p, &self.place(q, g)) else { continue };
                any = true;
                sum += energy;
                self.spread(g, &f, &mut full);
                let rows: [[f64; 12]; 4] = std::array::from_fn(|a| {
                    let (d, field) = (a % 2, a / 2);
                    let mut row = [0.0; 12];
                    for j in 0..6 {
                        row[3 * field + if j < 3 { j } else { DOF + j - 3 }] = p.n[d][j];
                    }
                    row
                });
                for a in 0..4 {
                    for b in 0..4 {
                        if h[a][b] != 0.0 {
                            for i in 0..12 {
                                let c = h[a][b] * rows[a][i];
                                for j in 0..12 {
                                    k[i][j] += c * rows[b][j];
                                }
                            }
                        }
                    }
                }
            }
            if any {
                self.turn_matrix(e, &mut k);
                self.scatter(e, &k, tangent);
            }
        }
        for (g, f) in gradient.iter_mut().zip(self.force_of(full)) {
            *g += f;
        }
        sum
    }
}

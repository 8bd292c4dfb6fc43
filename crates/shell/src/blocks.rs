//! Element matrices from second derivatives at integration points.

use crate::model::DOF;

/// Radial–radial, radial–axial and axial–axial blocks of an element; each row a shape function.
#[derive(Clone, Debug, Default)]
pub(crate) struct Blocks {
    rr: [[f64; 6]; 6],
    rz: [[f64; 6]; 6],
    zz: [[f64; 6]; 6],
}

impl Blocks {
    /// Adds a point with shape functions `n` and the second derivative `h` in `r, r′, r″, z′, z″`. Entries `r r″`
    /// and `r z″` are zero in every law here and are not read.
    #[inline]
    pub(crate) fn add(&mut self, [n0, n1, n2]: &[[f64; 6]; 3], h: &[[f64; 5]; 5]) {
        for j in 0..6 {
            // h · (column j of the shape functions), radial then axial.
            let tr = [
                h[0][0] * n0[j] + h[0][1] * n1[j],
                h[1][0] * n0[j] + h[1][1] * n1[j] + h[1][2] * n2[j],
                h[2][1] * n1[j] + h[2][2] * n2[j],
                h[3][0] * n0[j] + h[3][1] * n1[j] + h[3][2] * n2[j],
                h[4][1] * n1[j] + h[4][2] * n2[j],
            ];
            let tz = [h[3][3] * n1[j] + h[3][4] * n2[j], h[4][3] * n1[j] + h[4][4] * n2[j]];
            for i in 0..6 {
                self.rr[j][i] += n0[i] * tr[0] + n1[i] * tr[1] + n2[i] * tr[2];
                self.rz[j][i] += n1[i] * tr[3] + n2[i] * tr[4];
                self.zz[j][i] += n1[i] * tz[0] + n2[i] * tz[1];
            }
        }
    }

    /// Adds the entries `r r″` and `r z″`, which walls of layers alone have.
    #[inline]
    pub(crate) fn add_coupled(&mut self, [n0, _, n2]: &[[f64; 6]; 3], h: &[[f64; 5]; 5]) {
        for j in 0..6 {
            for i in 0..6 {
                self.rr[j][i] += h[0][2] * (n0[i] * n2[j] + n2[i] * n0[j]);
                // Row of the axial field, column of the radial one.
                self.rz[j][i] += h[0][4] * n2[i] * n0[j];
            }
        }
    }

    /// Adds a mass: `m` times the product of the shape functions, for both fields.
    #[inline]
    pub(crate) fn add_mass(&mut self, n0: &[f64; 6], m: f64) {
        for j in 0..6 {
            for i in 0..6 {
                let v = m * n0[i] * n0[j];
                self.rr[j][i] += v;
                self.zz[j][i] += v;
            }
        }
    }

    /// The whole matrix, order of the nodal unknowns.
    pub(crate) fn whole(&self) -> [[f64; 12]; 12] {
        let mut k = [[0.0; 12]; 12];
        for j in 0..6 {
            let a = if j < 3 { j } else { DOF + j - 3 };
            for i in 0..6 {
                let b = if i < 3 { i } else { DOF + i - 3 };
                k[a][b] = self.rr[j][i];
                k[a][b + 3] = self.rz[j][i];
                k[b + 3][a] = self.rz[j][i];
                k[a + 3][b + 3] = self.zz[j][i];
            }
        }
        k
    }
}

//! The energy density at one point of the meridian and its exact derivatives.
//!
//! | symbol | code | meaning |
//! |---|---|---|
//! | r, r′, r″, z′, z″ | `q[0..5]` | deformed meridian and derivatives in natural arclength |
//! | r₀, sin φ₀, φ₀′ | `Natural` | natural meridian |
//! | λ | `lam` | meridional stretch √(r′² + z′²) |
//! | φ′ | `k` | (r′z″ − z′r″)/λ² |
//!
//! Source: Reissner 1950, "On axisymmetrical deformations of thin shells of revolution", with the
//! measures named in the crate's head. Guards: `tests/derivatives.rs` (automatic differentiation).

use calotte_solve::Scalar;

/// The natural shell at one point.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Natural {
    pub(crate) inv_r0: f64,
    pub(crate) sin0: f64,
    pub(crate) k0: f64,
    pub(crate) nu: f64,
    /// Stretching ε_s, ε_θ at which the wall is free of membrane stress.
    pub(crate) e0: [f64; 2],
}

impl Natural {
    /// With strains ε_s, ε_θ, κ_s, κ_θ that bear no stress added to the natural state.
    #[inline]
    pub(crate) fn shifted(&self, xi: &[f64]) -> Self {
        Self {
            k0: self.k0 + xi[2],
            sin0: self.sin0 + xi[3] / self.inv_r0,
            e0: [self.e0[0] + xi[0], self.e0[1] + xi[1]],
            ..*self
        }
    }
}

/// Energies (before the moduli) and their gradients in q, stretching and bending apart.
pub(crate) struct Slopes<T> {
    pub(crate) stretch: T,
    pub(crate) bend: T,
    // r, r′, z′ (the others vanish)
    pub(crate) gm: [T; 3],
    // r′, r″, z′, z″
    pub(crate) gb: [T; 4],
}

/// Strain measures at a point.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Measures {
    pub(crate) es: f64,
    pub(crate) et: f64,
    pub(crate) ks: f64,
    pub(crate) kt: f64,
}

pub(crate) fn measures(q: &[f64; 5], p: &Natural) -> Measures {
    let [r, a, c, b, d] = *q;
    let m = a * a + b * b;
    let lam = m.sqrt();
    Measures {
        es: lam - 1.0 - p.e0[0],
        et: r * p.inv_r0 - 1.0 - p.e0[1],
        ks: (a * d - b * c) / m - p.k0,
        kt: (b / lam - p.sin0) * p.inv_r0,
    }
}

/// Energies `½(ε_s² + 2ν ε_s ε_θ + ε_θ²)` and the like for κ, with gradients; generic over the number so
/// that the same lines give values and directional derivatives.
#[inline]
pub(crate) fn slopes<T: Scalar>(q: &[T; 5], p: &Natural) -> Slopes<T> {
    let [r, a, c, b, d] = *q;
    let one = T::constant(1.0);
    let m = a * a + b * b;
    let lam = m.sqrt();
    let inv_lam = one / lam;
    let inv_m = inv_lam * inv_lam;
    let (cos, sin) = (a * inv_lam, b * inv_lam);
    let es = lam - 1.0 - p.e0[0];
    let et = r * p.inv_r0 - 1.0 - p.e0[1];
    let k = (a * d - b * c) * inv_m;
    let ks = k - p.k0;
    let kt = (sin - p.sin0) * p.inv_r0;
    let (ns, nt) = (es + et * p.nu, et + es * p.nu);
    let (ms, mt) = (ks + kt * p.nu, kt + ks * p.nu);
    // ∂φ′/∂r′ = (z″ − 2r′φ′)/λ², ∂sin φ/∂r′ = −sin φ cos φ/λ, and so on.
    let k2 = k + k;
    let mt_r = mt * p.inv_r0 * inv_lam;
    Slopes {
        stretch: (es * ns + et * nt) * 0.5,
        bend: (ks * ms + kt * mt) * 0.5,
        gm: [nt * p.inv_r0, ns * cos, ns * sin],
        gb: [
            ms * (d - a * k2) * inv_m - mt_r * sin * cos,
            -(ms * sin * inv_lam),
            -(ms * (c + b * k2) * inv_m) + mt_r * cos * cos,
            ms * cos * inv_lam,
        ],
    }
}

/// Gradient and second derivative of `wm · stretch + wb · bend`, order of q `r, r′, r″, z′, z″`.
#[inline]
pub(crate) fn curvature(q: &[f64; 5], p: &Natural, wm: f64, wb: f64) -> (f64, [f64; 5], [[f64; 5]; 5]) {
    let (energy, g, mut h, rest) = curvature_parts(q, p, wm, wb);
    for (row, add) in h.iter_mut().zip(&rest) {
        for (x, y) in row.iter_mut().zip(add) {
            *x += y;
        }
    }
    (energy, g, h)
}

/// Energy, gradient, and the second derivative in two parts.
type Parts = (f64, [f64; 5], [[f64; 5]; 5], [[f64; 5]; 5]);

/// The same with the second derivative in two parts: what the moduli multiply directly, and what the present
/// stresses do.
#[inline]
pub(crate) fn curvature_parts(q: &[f64; 5], p: &Natural, wm: f64, wb: f64) -> Parts {
    let [r, a, c, b, d] = *q;
    let m = a * a + b * b;
    let lam = m.sqrt();
    let il = 1.0 / lam;
    let im = il * il;
    let (cos, sin) = (a * il, b * il);
    let es = lam - 1.0 - p.e0[0];
    let et = r * p.inv_r0 - 1.0 - p.e0[1];
    let k = (a * d - b * c) * im;
    let ks = k - p.k0;
    let kt = (sin - p.sin0) * p.inv_r0;
    let (ns, nt) = (wm * (es + et * p.nu), wm * (et + es * p.nu));
    let (ms, mt) = (wb * (ks + kt * p.nu), wb * (kt + ks * p.nu));
    let energy = 0.5 * (es * ns + et * nt + ks * ms + kt * mt);
    // φ′ and sin φ: first and second derivatives.
    let (ka, kb, kc, kd) = ((d - 2.0 * a * k) * im, -(c + 2.0 * b * k) * im, -b * im, a * im);
    let (sa, sb) = (-sin * cos * il, cos * cos * il);
    let kaa = -(2.0 * k + 4.0 * a * ka) * im;
    let kab = -2.0 * (a * kb + b * ka) * im;
    let kbb = -(2.0 * k + 4.0 * b * kb) * im;
    let cross = 2.0 * a * b * im * im;
    let (kac, kbd) = (cross, -cross);
    let (kbc, kad) = (im * (2.0 * sin * sin - 1.0), im * (1.0 - 2.0 * cos * cos));
    let saa = sin * (3.0 * cos * cos - 1.0) * im;
    let sab = cos * (2.0 * sin * sin - cos * cos) * im;
    let sbb = -3.0 * cos * cos * sin * im;
    let g = [
        nt * p.inv_r0,
        ns * cos + ms * ka + mt * sa * p.inv_r0,
        ms * kc,
        ns * sin + ms * kb + mt * sb * p.inv_r0,
        ms * kd,
    ];
    // Rows of strain derivatives: ε_s (a, b), ε_θ (r), κ_s (a, c, b, d), κ_θ (a, b).
    let (ta, tb) = (sa * p.inv_r0, sb * p.inv_r0);
    let mt0 = mt * p.inv_r0;
    let nu = p.nu;
    // D·(∂κ) for each column.
    let da = (wb * (ka + nu * ta), wb * (ta + nu * ka));
    let db = (wb * (kb + nu * tb), wb * (tb + nu * kb));
    let dc = (wb * kc, wb * nu * kc);
    let dd = (wb * kd, wb * nu * kd);
    let h_rr = wm * p.inv_r0 * p.inv_r0;
    let h_ra = wm * nu * p.inv_r0 * cos;
    let h_rb = wm * nu * p.inv_r0 * sin;
    let nsl = ns * il;
    let h_aa = wm * cos * cos + da.0 * ka + da.1 * ta;
    let h_ab = wm * sin * cos + da.0 * kb + da.1 * tb;
    let h_bb = wm * sin * sin + db.0 * kb + db.1 * tb;
    let (h_ac, h_ad) = (dc.0 * ka + dc.1 * ta, dd.0 * ka + dd.1 * ta);
    let (h_bc, h_bd) = (dc.0 * kb + dc.1 * tb, dd.0 * kb + dd.1 * tb);
    let g_aa = nsl * sin * sin + ms * kaa + mt0 * saa;
    let g_ab = ms * kab + mt0 * sab - nsl * sin * cos;
    let g_bb = nsl * cos * cos + ms * kbb + mt0 * sbb;
    let (g_ac, g_ad, g_bc, g_bd) = (ms * kac, ms * kad, ms * kbc, ms * kbd);
    let (h_cc, h_cd, h_dd) = (dc.0 * kc, dc.0 * kd, dd.0 * kd);
    let h = [
        [h_rr, h_ra, 0.0, h_rb, 0.0],
        [h_ra, h_aa, h_ac, h_ab, h_ad],
        [0.0, h_ac, h_cc, h_bc, h_cd],
        [h_rb, h_ab, h_bc, h_bb, h_bd],
        [0.0, h_ad, h_cd, h_bd, h_dd],
    ];
    let rest = [
        [0.0; 5],
        [0.0, g_aa, g_ac, g_ab, g_ad],
        [0.0, g_ac, 0.0, g_bc, 0.0],
        [0.0, g_ab, g_bc, g_bb, g_bd],
        [0.0, g_ad, 0.0, g_bd, 0.0],
    ];
    (energy, g, h, rest)
}

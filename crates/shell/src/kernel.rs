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
    /// Poisson ratio of a wall of one layer.
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

/// How a wall of layers answers, integration weight included: `N = A ε + B κ + N₀`, `M = B ε + D κ + M₀`, each matrix
/// given by its entries (ss, sθ); strains are those beyond the natural ones.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Law {
    pub(crate) a: [f64; 2],
    pub(crate) b: [f64; 2],
    pub(crate) d: [f64; 2],
    /// Stress that is there without strain: N_s, N_θ, M_s, M_θ.
    pub(crate) rest: [f64; 4],
}

impl Law {
    /// N_s, N_θ, M_s, M_θ.
    #[inline]
    pub(crate) fn stress<T: Scalar>(&self, [es, et, ks, kt]: [T; 4]) -> [T; 4] {
        let ([a, a2], [b, b2], [d, d2]) = (self.a, self.b, self.d);
        [
            es * a + et * a2 + ks * b + kt * b2 + self.rest[0],
            et * a + es * a2 + kt * b + ks * b2 + self.rest[1],
            es * b + et * b2 + ks * d + kt * d2 + self.rest[2],
            et * b + es * b2 + kt * d + ks * d2 + self.rest[3],
        ]
    }

    /// `½ ε:A:ε + ε:B:κ + ½ κ:D:κ` and the work of the stress at rest.
    #[inline]
    pub(crate) fn energy<T: Scalar>(&self, e: [T; 4]) -> T {
        let s = self.stress(e);
        let r = self.rest;
        let whole = e[0] * s[0] + e[1] * s[1] + e[2] * s[2] + e[3] * s[3];
        (whole + e[0] * r[0] + e[1] * r[1] + e[2] * r[2] + e[3] * r[3]) * 0.5
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

/// Energy of a wall of layers and its gradient in `r, r′, r″, z′, z″`; generic over the number as [`slopes`] is.
#[inline]
pub(crate) fn forces<T: Scalar>(q: &[T; 5], p: &Natural, law: &Law) -> (T, [T; 5]) {
    let [r, a, c, b, d] = *q;
    let one = T::constant(1.0);
    let lam = (a * a + b * b).sqrt();
    let inv_lam = one / lam;
    let inv_m = inv_lam * inv_lam;
    let (cos, sin) = (a * inv_lam, b * inv_lam);
    let k = (a * d - b * c) * inv_m;
    let e = [lam - 1.0 - p.e0[0], r * p.inv_r0 - 1.0 - p.e0[1], k - p.k0, (sin - p.sin0) * p.inv_r0];
    let [ns, nt, ms, mt] = law.stress(e);
    let k2 = k + k;
    let mt_r = mt * p.inv_r0 * inv_lam;
    let g = [
        nt * p.inv_r0,
        ns * cos + ms * (d - a * k2) * inv_m - mt_r * sin * cos,
        -(ms * sin * inv_lam),
        ns * sin - ms * (c + b * k2) * inv_m + mt_r * cos * cos,
        ms * cos * inv_lam,
    ];
    (law.energy(e), g)
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
#[cfg(test)]
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
pub(crate) type Parts = (f64, [f64; 5], [[f64; 5]; 5], [[f64; 5]; 5]);

/// The same with the second derivative in two parts: what the moduli multiply directly, and what the present
/// stresses do.
#[inline]
pub(crate) fn curvature_parts(q: &[f64; 5], p: &Natural, wm: f64, wb: f64) -> Parts {
    let at = Bent::new(q, p);
    let [es, et, ks, kt] = at.strain;
    let nu = p.nu;
    let stress = [wm * (es + et * nu), wm * (et + es * nu), wb * (ks + kt * nu), wb * (kt + ks * nu)];
    let energy = 0.5 * (es * stress[0] + et * stress[1] + ks * stress[2] + kt * stress[3]);
    let h = at.stiffness(p, [wm, wm * nu], [wb, wb * nu]);
    (energy, at.gradient(p, &stress), h, at.geometric(p, &stress))
}

/// The same for a wall of layers. Entries `r r″` and `r z″` no longer vanish.
#[inline]
pub(crate) fn layered_parts(q: &[f64; 5], p: &Natural, law: &Law) -> Parts {
    let at = Bent::new(q, p);
    let stress = law.stress(at.strain);
    let mut h = at.stiffness(p, law.a, law.d);
    at.couple(p, law.b, &mut h);
    (law.energy(at.strain), at.gradient(p, &stress), h, at.geometric(p, &stress))
}

/// A bent point: strains and the derivatives of φ′ and sin φ.
struct Bent {
    strain: [f64; 4],
    cos: f64,
    sin: f64,
    il: f64,
    /// Derivatives of φ′ in r′, z′, r″, z″.
    ka: f64,
    kb: f64,
    kc: f64,
    kd: f64,
    k: f64,
    /// Derivatives of sin φ/r₀ in r′ and z′.
    ta: f64,
    tb: f64,
    a: f64,
    b: f64,
}

impl Bent {
    #[inline]
    fn new(q: &[f64; 5], p: &Natural) -> Self {
        let [r, a, c, b, d] = *q;
        let m = a * a + b * b;
        let lam = m.sqrt();
        let il = 1.0 / lam;
        let im = il * il;
        let (cos, sin) = (a * il, b * il);
        let k = (a * d - b * c) * im;
        let strain = [lam - 1.0 - p.e0[0], r * p.inv_r0 - 1.0 - p.e0[1], k - p.k0, (sin - p.sin0) * p.inv_r0];
        let (ka, kb) = ((d - 2.0 * a * k) * im, -(c + 2.0 * b * k) * im);
        let (sa, sb) = (-sin * cos * il, cos * cos * il);
        Self {
            strain,
            cos,
            sin,
            il,
            ka,
            kb,
            kc: -b * im,
            kd: a * im,
            k,
            ta: sa * p.inv_r0,
            tb: sb * p.inv_r0,
            a,
            b,
        }
    }

    #[inline]
    fn gradient(&self, p: &Natural, &[ns, nt, ms, mt]: &[f64; 4]) -> [f64; 5] {
        [
            nt * p.inv_r0,
            ns * self.cos + ms * self.ka + mt * self.ta,
            ms * self.kc,
            ns * self.sin + ms * self.kb + mt * self.tb,
            ms * self.kd,
        ]
    }

    /// What the moduli of stretching (ss, sθ) and bending multiply directly.
    #[inline]
    fn stiffness(&self, p: &Natural, [m, m2]: [f64; 2], [d, d2]: [f64; 2]) -> [[f64; 5]; 5] {
        let Self { cos, sin, ka, kb, kc, kd, ta, tb, .. } = *self;
        // D·(∂κ) for each column.
        let da = (d * ka + d2 * ta, d * ta + d2 * ka);
        let db = (d * kb + d2 * tb, d * tb + d2 * kb);
        let dc = (d * kc, d2 * kc);
        let dd = (d * kd, d2 * kd);
        let h_rr = m * p.inv_r0 * p.inv_r0;
        let h_ra = m2 * p.inv_r0 * cos;
        let h_rb = m2 * p.inv_r0 * sin;
        let h_aa = m * cos * cos + da.0 * ka + da.1 * ta;
        let h_ab = m * sin * cos + da.0 * kb + da.1 * tb;
        let h_bb = m * sin * sin + db.0 * kb + db.1 * tb;
        let (h_ac, h_ad) = (dc.0 * ka + dc.1 * ta, dd.0 * ka + dd.1 * ta);
        let (h_bc, h_bd) = (dc.0 * kb + dc.1 * tb, dd.0 * kb + dd.1 * tb);
        let (h_cc, h_cd, h_dd) = (dc.0 * kc, dc.0 * kd, dd.0 * kd);
        [
            [h_rr, h_ra, 0.0, h_rb, 0.0],
            [h_ra, h_aa, h_ac, h_ab, h_ad],
            [0.0, h_ac, h_cc, h_bc, h_cd],
            [h_rb, h_ab, h_bc, h_bb, h_bd],
            [0.0, h_ad, h_cd, h_bd, h_dd],
        ]
    }

    /// Adds what the coupling of stretching and bending (ss, sθ) multiplies directly.
    #[inline]
    fn couple(&self, p: &Natural, [c, c2]: [f64; 2], h: &mut [[f64; 5]; 5]) {
        // Columns of the derivatives of (ε_s, ε_θ) and (κ_s, κ_θ) in q.
        let e = [[0.0, p.inv_r0], [self.cos, 0.0], [0.0; 2], [self.sin, 0.0], [0.0; 2]];
        let k = [[0.0; 2], [self.ka, self.ta], [self.kc, 0.0], [self.kb, self.tb], [self.kd, 0.0]];
        let form =
            |e: [f64; 2], k: [f64; 2]| c * (e[0] * k[0] + e[1] * k[1]) + c2 * (e[0] * k[1] + e[1] * k[0]);
        for i in 0..5 {
            for j in 0..5 {
                h[i][j] += form(e[i], k[j]) + form(e[j], k[i]);
            }
        }
    }

    /// What the present stresses multiply.
    #[inline]
    fn geometric(&self, p: &Natural, &[ns, _, ms, mt]: &[f64; 4]) -> [[f64; 5]; 5] {
        let Self { cos, sin, il, ka, kb, k, a, b, .. } = *self;
        let im = il * il;
        let kaa = -(2.0 * k + 4.0 * a * ka) * im;
        let kab = -2.0 * (a * kb + b * ka) * im;
        let kbb = -(2.0 * k + 4.0 * b * kb) * im;
        let cross = 2.0 * a * b * im * im;
        let (kac, kbd) = (cross, -cross);
        let (kbc, kad) = (im * (2.0 * sin * sin - 1.0), im * (1.0 - 2.0 * cos * cos));
        let saa = sin * (3.0 * cos * cos - 1.0) * im;
        let sab = cos * (2.0 * sin * sin - cos * cos) * im;
        let sbb = -3.0 * cos * cos * sin * im;
        let mt0 = mt * p.inv_r0;
        let nsl = ns * il;
        let g_aa = nsl * sin * sin + ms * kaa + mt0 * saa;
        let g_ab = ms * kab + mt0 * sab - nsl * sin * cos;
        let g_bb = nsl * cos * cos + ms * kbb + mt0 * sbb;
        let (g_ac, g_ad, g_bc, g_bd) = (ms * kac, ms * kad, ms * kbc, ms * kbd);
        [
            [0.0; 5],
            [0.0, g_aa, g_ac, g_ab, g_ad],
            [0.0, g_ac, 0.0, g_bc, 0.0],
            [0.0, g_ab, g_bc, g_bb, g_bd],
            [0.0, g_ad, 0.0, g_bd, 0.0],
        ]
    }
}

//! How a sideways branch leaves the axisymmetric path, to the lowest order in its amplitude.
//!
//! At a bifurcation with mode y of wave number n the shell moves by `ξ y + ξ² w`, w with the wave numbers 0 and 2n. The
//! potential beside that of the axisymmetric state at the same load is `½ (f − f*) A ξ² + B ξ⁴` (Koiter 1945, "On the
//! stability of elastic equilibrium"): A is the derivative of `yᵀKₙy` along the path and
//! `B = E₄(y) − ½ T₀ᵀH⁻¹T₀ − ½ T₂ᵀK₂ₙ⁻¹T₂` with E₄ the quartic coefficient of the energy along y and T the forces that y
//! exerts at second order on w. Coefficients are taken of the exact energy of the perturbed surface by power series.

use std::ops::{Add, Div, Mul, Neg, Sub};

use calotte_solve::potential::dot;
use calotte_solve::{Band, Potential, Scalar, Work};

use crate::harmonic::{Harmonics, NODE};
use crate::loads::{Loaded, Push};
use crate::model::{DOF, GAUSS};
use crate::surface::{Line, perturbed};

/// `Σ cₖ ξᵏ`, k up to 4.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Series(pub(crate) [f64; 5]);

impl Series {
    fn zip(self, o: Self, f: impl Fn(f64, f64) -> f64) -> Self {
        Self(std::array::from_fn(|i| f(self.0[i], o.0[i])))
    }
}

impl Add for Series {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        self.zip(o, |a, b| a + b)
    }
}
impl Sub for Series {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        self.zip(o, |a, b| a - b)
    }
}
impl Neg for Series {
    type Output = Self;
    fn neg(self) -> Self {
        Self(self.0.map(|a| -a))
    }
}
impl Mul for Series {
    type Output = Self;
    fn mul(self, o: Self) -> Self {
        Self(std::array::from_fn(|k| (0..=k).map(|i| self.0[i] * o.0[k - i]).sum()))
    }
}
impl Div for Series {
    type Output = Self;
    fn div(self, o: Self) -> Self {
        let mut q = [0.0; 5];
        for k in 0..5 {
            let known: f64 = (0..k).map(|i| q[i] * o.0[k - i]).sum();
            q[k] = (self.0[k] - known) / o.0[0];
        }
        Self(q)
    }
}
impl Add<f64> for Series {
    type Output = Self;
    fn add(mut self, c: f64) -> Self {
        self.0[0] += c;
        self
    }
}
impl Sub<f64> for Series {
    type Output = Self;
    fn sub(self, c: f64) -> Self {
        self + (-c)
    }
}
impl Mul<f64> for Series {
    type Output = Self;
    fn mul(self, c: f64) -> Self {
        Self(self.0.map(|a| a * c))
    }
}
impl Scalar for Series {
    fn constant(x: f64) -> Self {
        Self([x, 0.0, 0.0, 0.0, 0.0])
    }
    fn sqrt(self) -> Self {
        let mut s = [self.0[0].sqrt(), 0.0, 0.0, 0.0, 0.0];
        for k in 1..5 {
            let known: f64 = (1..k).map(|i| s[i] * s[k - i]).sum();
            s[k] = (self.0[k] - known) / (2.0 * s[0]);
        }
        Self(s)
    }
}
impl Line for Series {
    fn line(value: f64, slope: f64) -> Self {
        Self([value, slope, 0.0, 0.0, 0.0])
    }
}

/// The branch at its start; energies over `E R³ t`, ξ per unit of the mode as given.
#[derive(Clone, Debug)]
pub struct BranchOff {
    /// A: derivative of `yᵀKₙy` in the parameter, along the path; negative where the mode softens.
    pub slope: f64,
    /// B with the load held; the potential at the branch less that of the axisymmetric state is `−B ξ⁴`. The branch is
    /// a minimum along ξ where B > 0; other directions are not looked at.
    pub quartic: f64,
    /// B with the displacement held.
    pub quartic_held: f64,
    /// b = −4B/A: `f ≈ f* + b ξ²` along the branch.
    pub load_curvature: f64,
    /// w₀: the axisymmetric shift, `ξ² w₀` of the unknowns at the same load.
    pub shift: Vec<f64>,
    /// What the load works on, over ξ², at the same load: by the shift and by the mode itself (a volume is not linear).
    /// As mixed derivatives of the potential are equal, `A = −2 · unit · moved`.
    pub moved: f64,
    /// E₄ alone, before w relaxes.
    pub rigid_quartic: f64,
}

/// Angles over one wave: products of four harmonics up to the fourth are integrated exactly.
const ANGLES: u32 = 16;

/// Forces of second order.
struct Forces {
    quartic: f64,
    zero: Vec<f64>,
    twice: Vec<f64>,
}

fn forces(loaded: &Loaded<'_>, x: &[f64], f: f64, y: &[f64], n: u32) -> Forces {
    let (model, t) = (loaded.model(), loaded.thickness_factor());
    let q = model.nodal(x);
    let wave = f64::from(n);
    // −f V has a cubic part of its own.
    let pressure = if let Push::Volume { sign } = loaded.push() { -f * loaded.unit() * sign } else { 0.0 };
    let mut out =
        Forces { quartic: 0.0, zero: vec![0.0; q.len()], twice: vec![0.0; NODE * model.nodes.len()] };
    for (g, p) in model.points.iter().enumerate() {
        let at = model.local(&q, g);
        let e = g / GAUSS;
        let place = |k: usize, j: usize| NODE * e + 3 * (k / 3) + if j < 3 { j } else { NODE + j - 3 };
        let own: [f64; 9] = std::array::from_fn(|k| (0..6).map(|j| p.n[k % 3][j] * y[place(k, j)]).sum());
        let coefficient = |fields: &[(f64, &[f64; 9])], order: usize| -> f64 {
            (0..ANGLES)
                .map(|i| {
                    let th = 2.0 * std::f64::consts::PI * f64::from(i) / f64::from(ANGLES) / wave;
                    let (m, b): (Series, Series) = perturbed(&p.nat, &at, fields, th);
                    let load =
                        if order == 3 { pressure * 2.0 * p.wv * cubic_volume(fields, th) } else { 0.0 };
                    p.wm * m.0[order] + t * t * p.wb * b.0[order] + load
                })
                .sum::<f64>()
                / f64::from(ANGLES)
        };
        out.quartic += coefficient(&[(wave, &own)], 4);
        let size = own.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
        if size == 0.0 {
            continue;
        }
        for (m, full, block) in [(0.0, &mut out.zero, DOF), (2.0 * wave, &mut out.twice, NODE)] {
            for k in 0..9 {
                if m == 0.0 && k / 3 == 1 {
                    continue;
                }
                // 3 c₃(y, y, e) by polarisation, e of the size of y's derivatives of its order.
                let like = (0..3).fold(0.0_f64, |a, f| a.max(own[3 * f + k % 3].abs()));
                let size = if like > 0.0 { like } else { size };
                let mut unit = [0.0; 9];
                unit[k] = size;
                let minus = unit.map(|v| -v);
                let (a, b) = (
                    coefficient(&[(wave, &own), (m, &unit)], 3),
                    coefficient(&[(wave, &own), (m, &minus)], 3),
                );
                let alone = coefficient(&[(m, &unit)], 3);
                let force = 0.5 * (a - b - 2.0 * alone) / size;
                let field = if block == DOF { usize::from(k / 3 == 2) } else { k / 3 };
                for j in 0..6 {
                    let at = block * e + 3 * field + if j < 3 { j } else { block + j - 3 };
                    full[at] += p.n[k % 3][j] * force;
                }
            }
        }
    }
    add_rim(loaded, &q, y, wave, &mut out);
    out
}

/// Springs at an elastic rim: the distance from the axis and the turning of the meridian are no linear functions of the
/// rim's displacement. The axial spring and the one around (it acts on the displacement v) are, and add nothing.
fn add_rim(loaded: &Loaded<'_>, q: &[f64], y: &[f64], wave: f64, out: &mut Forces) {
    let Some(s) = loaded.model().springs else { return };
    let (e, base, t) = (q.len() - DOF, y.len() - NODE, loaded.thickness_factor());
    // u, ℓu′, v, ℓw′ and their places among the nodal unknowns.
    let places = [0, 1, 3, 7];
    let own = places.map(|k| y[base + k]);
    let coefficient = |fields: &[(f64, [f64; 4])], order: usize| -> f64 {
        (0..ANGLES)
            .map(|i| {
                let th = 2.0 * std::f64::consts::PI * f64::from(i) / f64::from(ANGLES) / wave;
                let mut d = [0.0; 4];
                for (n, f) in fields {
                    let (sin, cos) = libm::sincos(n * th);
                    for (d, (f, trig)) in d.iter_mut().zip(f.iter().zip([cos, cos, sin, cos])) {
                        *d += f * trig;
                    }
                }
                let (x, v) = (Series::line(q[e], d[0]), Series::line(0.0, d[2]));
                let out = (x * x + v * v).sqrt() - s.r0;
                let turn = angle(Series::line(q[e + 1], d[1]), Series::line(q[e + 4], d[3])) - s.phi0;
                0.5 / t * (out * out * s.radial + turn * turn * s.turning).0[order]
            })
            .sum::<f64>()
            / f64::from(ANGLES)
    };
    out.quartic += coefficient(&[(wave, own)], 4);
    let size = own.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
    if size == 0.0 {
        return;
    }
    for m in [0.0, 2.0 * wave] {
        for (k, place) in places.into_iter().enumerate() {
            let mut unit = [0.0; 4];
            unit[k] = size;
            let sum = |other| coefficient(&[(wave, own), (m, other)], 3);
            let alone = coefficient(&[(m, unit)], 3);
            let force = 0.5 * (sum(unit) - sum(unit.map(|v| -v)) - 2.0 * alone) / size;
            if m > 0.0 {
                out.twice[base + place] += force;
            } else if let Some(row) = [Some(0), Some(1), None, Some(4)][k] {
                out.zero[e + row] += force;
            }
        }
    }
}

/// Angle of `(a, b)` from the first axis, from its derivative `(a b′ − b a′)/(a² + b²)`.
pub(crate) fn angle(a: Series, b: Series) -> Series {
    let rate =
        |s: Series| Series(std::array::from_fn(|k| s.0.get(k + 1).map_or(0.0, |c| c * (k + 1) as f64)));
    let slope = (a * rate(b) - b * rate(a)) / (a * a + b * b);
    Series(std::array::from_fn(|k| match k {
        0 => libm::atan2(b.0[0], a.0[0]),
        _ => slope.0[k - 1] / k as f64,
    }))
}

/// Cubic part of the volume's density along a sum of fields, per ds dθ: `−⅓ d · (d,s × d,θ)` (the volume is
/// `−⅓∫∫ x · (x,s × x,θ)`, the rim in the plane z = 0).
fn cubic_volume(fields: &[(f64, &[f64; 9])], th: f64) -> f64 {
    let (mut d, mut ds, mut dt) = ([0.0; 3], [0.0; 3], [0.0; 3]);
    for (n, y) in fields {
        let (s, c) = libm::sincos(n * th);
        let [u, du, _, v, dv, _, w, dw, _] = **y;
        let add = |to: &mut [f64; 3], f: [f64; 3]| (0..3).for_each(|i| to[i] += f[i]);
        add(&mut d, [u * c, v * s, w * c]);
        add(&mut ds, [du * c, dv * s, dw * c]);
        add(&mut dt, [-n * u * s - v * s, n * v * c + u * c, -n * w * s]);
    }
    let cross = [ds[1] * dt[2] - ds[2] * dt[1], ds[2] * dt[0] - ds[0] * dt[2], ds[0] * dt[1] - ds[1] * dt[0]];
    -(d[0] * cross[0] + d[1] * cross[1] + d[2] * cross[2]) / 3.0
}

/// The branch that leaves at `(x, f)` with the mode `mode` of wave number `n` (plain nodal unknowns, as
/// [`crate::Model::ripple_nodal`] gives them); `dx_df` is the path's own derivative. `None` for a body in contact, for walls of
/// layers and parts with joints (not computed), and where a matrix has no factor.
pub fn branch_off(
    loaded: &Loaded<'_>,
    x: &[f64],
    f: f64,
    dx_df: &[f64],
    mode: &[f64],
    n: u32,
    work: &mut Work,
) -> Option<BranchOff> {
    if matches!(loaded.push(), Push::Body(_)) {
        return None;
    }
    let model = loaded.model();
    if model.layered.is_some() || !model.joints.is_empty() {
        return None;
    }
    // What the load works on, to first order.
    let mut along = vec![0.0; x.len()];
    loaded.gradient_slope(x, f, &mut along);
    along.iter_mut().for_each(|v| *v /= -loaded.unit());
    let own = forces(loaded, x, f, mode, n);
    let mut gradient = vec![0.0; x.len()];
    let mut tangent = Band::new(x.len(), loaded.half_bandwidth());
    loaded.assemble(x, f, &mut gradient, &mut tangent);
    work.assemblies += 1;
    work.factorisations += 1;
    let factor = tangent.factor().ok()?;
    let zero = model.force_of(own.zero);
    let mut shift: Vec<f64> = zero.iter().map(|v| -v).collect();
    factor.solve(&mut shift);
    let mut compliance = along.clone();
    factor.solve(&mut compliance);
    work.solves += 2;
    let twice = Harmonics::loaded(loaded, x, f).compliance(2 * n, &own.twice, work)?;
    let quartic = own.quartic + 0.5 * dot(&zero, &shift) - 0.5 * twice;
    let form_at = |state: &[f64], f: f64| {
        let mut ky = vec![0.0; mode.len()];
        Harmonics::loaded(loaded, state, f).stiffness(n).multiply(mode, &mut ky);
        dot(mode, &ky)
    };
    // The form is linear in the load; its slope there is what the mode itself moves, once for each ½.
    let by_mode = -0.5 * (form_at(x, f + 1.0) - form_at(x, f)) / loaded.unit();
    let moved = dot(&along, &shift) + by_mode;
    // With the displacement held w₀ has to take back what would move it.
    let quartic_held = quartic + 0.5 * moved * moved / dot(&along, &compliance);
    let form = |e: f64| {
        let state: Vec<f64> = x.iter().zip(dx_df).map(|(x, d)| x + e * d).collect();
        form_at(&state, f + e)
    };
    let reach = dx_df.iter().zip(model.metric()).map(|(d, m)| m * d * d).sum::<f64>().sqrt();
    let step = 1e-5 / reach.max(f64::MIN_POSITIVE);
    let slope = (form(step) - form(-step)) / (2.0 * step);
    let load_curvature = -4.0 * quartic / slope;
    load_curvature.is_finite().then_some(BranchOff {
        slope,
        quartic,
        quartic_held,
        load_curvature,
        shift,
        moved,
        rigid_quartic: own.quartic,
    })
}

/// Quartic along the mode and the forces on the axisymmetric unknowns and on the nodal unknowns of 2n.
#[cfg(test)]
pub(crate) fn forces_for_tests(
    loaded: &Loaded<'_>,
    x: &[f64],
    f: f64,
    y: &[f64],
    n: u32,
) -> (f64, Vec<f64>, Vec<f64>) {
    let f = forces(loaded, x, f, y, n);
    (f.quartic, loaded.model().force_of(f.zero), f.twice)
}

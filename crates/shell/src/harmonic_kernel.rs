//! Second variation of the energy density at a point of a deformed meridian, for the perturbation
//! `(u cos nθ, v sin nθ, w cos nθ)` in the cylindrical frame.
//!
//! With F the 3×2 surface gradient, C = FᵀF = U², ε = U − I and K = sym(U⁻¹ b) − b₀ are expanded to
//! second order in the perturbation. Order-one quantities are linear forms in
//! `y = (u, u′, u″, v, v′, v″, w, w′, w″)`, order-two ones are quadratic forms; those in phase with cos²
//! and sin² integrate alike over θ. Then
//!
//! `δ²E = ε₁ᵀ A ε₁ + K₁ᵀ D K₁ + 2 N : U₂ + 2 M : P₂`, P = sym(U⁻¹ b).
//!
//! Recomputed from the stated equations; guards: `tests/second_variation.rs` (finite differences of the
//! energy of the really perturbed surface) and `tests/rigid.rs`.

use crate::kernel::{Law, Natural, measures};

/// A linear form in y.
pub(crate) type Form = [f64; 9];
/// A symmetric quadratic form in y: `Q(y) = yᵀ B y`.
pub(crate) type Quad = [[f64; 9]; 9];

const U: usize = 0;
const V: usize = 3;
const W: usize = 6;

fn form(terms: &[(usize, f64)]) -> Form {
    let mut f = [0.0; 9];
    for &(i, c) in terms {
        f[i] += c;
    }
    f
}

fn sum(terms: &[(f64, &Form)]) -> Form {
    let mut f = [0.0; 9];
    for (c, g) in terms {
        for i in 0..9 {
            f[i] += c * g[i];
        }
    }
    f
}

/// `B += c · sym(a bᵀ)`, lower triangle only; [`mirrored`] fills the other.
#[inline]
fn add(q: &mut Quad, c: f64, a: &Form, b: &Form) {
    for i in 0..9 {
        let (ca, cb) = (0.5 * c * a[i], 0.5 * c * b[i]);
        if ca == 0.0 && cb == 0.0 {
            continue;
        }
        for j in 0..=i {
            q[i][j] += ca * b[j] + cb * a[j];
        }
    }
}

fn mirrored(mut q: Quad) -> Quad {
    for i in 0..9 {
        for j in 0..i {
            q[j][i] = q[i][j];
        }
    }
    q
}

/// What both parts of the second variation share.
struct Common {
    lam: f64,
    stretch_t: f64,
    sin: f64,
    cos: f64,
    // d,s along t and n (cos); d,θ along n (sin).
    ts: Form,
    ns: Form,
    nt: Form,
    // U₁.
    uss: Form,
    utt: Form,
    ust: Form,
}

fn common(q: &[f64; 5], p: &Natural, n: f64) -> Common {
    let [r, a, _, b, _] = *q;
    let lam = (a * a + b * b).sqrt();
    let (cos, sin) = (a / lam, b / lam);
    let stretch_t = r * p.inv_r0;
    let ts = form(&[(U + 1, cos), (W + 1, sin)]);
    let ns = form(&[(U + 1, -sin), (W + 1, cos)]);
    let tt = form(&[(U, -cos * n), (V, -cos), (W, -sin * n)]);
    let nt = form(&[(U, sin * n), (V, sin), (W, -cos * n)]);
    let qt = form(&[(U, 1.0), (V, n)]);
    let vs = form(&[(V + 1, 1.0)]);
    let c_st = sum(&[(lam * p.inv_r0, &tt), (r * p.inv_r0, &vs)]);
    let ust = sum(&[(1.0 / (lam + stretch_t), &c_st)]);
    Common { lam, stretch_t, sin, cos, uss: ts, utt: sum(&[(p.inv_r0, &qt)]), ust, ts, ns, nt }
}

/// Adds `c_s · U₂_ss + c_t · U₂_θθ` to `q`.
fn add_u2(q: &mut Quad, f: &Common, p: &Natural, n: f64, c_s: f64, c_t: f64) {
    let c = c_s / (2.0 * f.lam);
    // |d,s|² − U₁² in the ss corner: the along-meridian part cancels.
    add(q, c, &f.ns, &f.ns);
    q[V + 1][V + 1] += c;
    add(q, -c, &f.ust, &f.ust);
    let c = c_t / (2.0 * f.stretch_t);
    let i2 = p.inv_r0 * p.inv_r0;
    let er = form(&[(U, n), (V, 1.0)]);
    add(q, c * i2, &er, &er);
    q[W][W] += c * i2 * n * n;
    add(q, -c, &f.ust, &f.ust);
}

/// Stretching part, before the weight `wm`.
pub(crate) fn membrane(q: &[f64; 5], p: &Natural, n: f64) -> Quad {
    let m = measures(q, p);
    let nu = p.nu;
    mirrored(stretching(p, &common(q, p, n), n, [1.0, nu], [m.es + nu * m.et, m.et + nu * m.es]))
}

/// Stretching part with moduli (ss, sθ) and present stresses N_s, N_θ; lower triangle.
fn stretching(p: &Natural, f: &Common, n: f64, [a, a2]: [f64; 2], [ns, nt]: [f64; 2]) -> Quad {
    let mut out = [[0.0; 9]; 9];
    add(&mut out, a, &f.uss, &f.uss);
    add(&mut out, 2.0 * a2, &f.uss, &f.utt);
    add(&mut out, a, &f.utt, &f.utt);
    add(&mut out, 2.0 * (a - a2), &f.ust, &f.ust);
    add_u2(&mut out, f, p, n, 2.0 * ns, 2.0 * nt);
    out
}

/// Stretching of a wall of layers, its weights included.
pub(crate) fn layered_membrane(q: &[f64; 5], p: &Natural, law: &Law, n: f64) -> Quad {
    let m = measures(q, p);
    let [ns, nt, ..] = law.stress([m.es, m.et, m.ks, m.kt]);
    mirrored(stretching(p, &common(q, p, n), n, law.a, [ns, nt]))
}

/// Bending of a wall of layers and its coupling with stretching, weights included.
pub(crate) fn layered_bending(q: &[f64; 5], p: &Natural, law: &Law, n: f64) -> Quad {
    let m = measures(q, p);
    let f = common(q, p, n);
    let [.., ms, mt] = law.stress([m.es, m.et, m.ks, m.kt]);
    let (mut out, k) = curving(q, p, &f, n, law.d, [ms, mt]);
    let [b, b2] = law.b;
    add(&mut out, 2.0 * b, &f.uss, &k.ss);
    add(&mut out, 2.0 * b, &f.utt, &k.tt);
    add(&mut out, 2.0 * b2, &f.uss, &k.tt);
    add(&mut out, 2.0 * b2, &f.utt, &k.ss);
    add(&mut out, 4.0 * (b - b2), &f.ust, &k.st);
    mirrored(out)
}

/// Bending measures of order one.
struct Curved {
    ss: Form,
    tt: Form,
    st: Form,
}

/// Bending part, before the weight `wb`.
pub(crate) fn bending(q: &[f64; 5], p: &Natural, n: f64) -> Quad {
    let m = measures(q, p);
    let nu = p.nu;
    mirrored(curving(q, p, &common(q, p, n), n, [1.0, nu], [m.ks + nu * m.kt, m.kt + nu * m.ks]).0)
}

/// Bending part with moduli (ss, sθ) and present moments M_s, M_θ; lower triangle.
fn curving(
    q: &[f64; 5],
    p: &Natural,
    f: &Common,
    n: f64,
    [stiff, stiff2]: [f64; 2],
    [mom_s, mom_t]: [f64; 2],
) -> (Quad, Curved) {
    let [r, a, c, b, d] = *q;
    let (lam, stretch_t, sin, cos) = (f.lam, f.stretch_t, f.sin, f.cos);
    let (i1, i2) = (p.inv_r0, p.inv_r0 * p.inv_r0);
    let dphi = (a * d - b * c) / (lam * lam);
    let dlam = (a * c + b * d) / lam;
    let (b_s, b_t) = (lam * dphi, r * sin * i2);
    // Turning of the normal, order one.
    let n_s = sum(&[(-1.0 / lam, &f.ns)]);
    let n_t = sum(&[(-1.0 / r, &f.nt)]);
    let vs = form(&[(V + 1, 1.0)]);
    // Second derivatives of the displacement.
    let n_ss = form(&[(U + 2, -sin), (W + 2, cos)]);
    let t_ss = form(&[(U + 2, cos), (W + 2, sin)]);
    let v_ss = form(&[(V + 2, 1.0)]);
    let big_p = form(&[(U, n * n + 1.0), (V, 2.0 * n)]);
    let big_q = form(&[(U, 2.0 * n), (V, 1.0 + n * n)]);
    let w_nn = form(&[(W, n * n)]);
    let n_tt = sum(&[(sin, &big_p), (-cos, &w_nn)]);
    let t_tt = sum(&[(-cos, &big_p), (-sin, &w_nn)]);
    let n_st = form(&[(U + 1, sin * n), (V + 1, sin), (W + 1, -cos * n)]);
    // b, order one, physical components of the natural surface.
    let b_ss = sum(&[(1.0, &n_ss), (dlam, &n_s)]);
    let b_tt = sum(&[(i2, &n_tt), (-r * cos * i2, &n_s)]);
    let b_st = sum(&[(i1, &n_st), (a * i1, &n_t)]);
    // P = sym(U⁻¹ b), order one.
    let k_ss = sum(&[(1.0 / lam, &b_ss), (-b_s / (lam * lam), &f.uss)]);
    let k_tt = sum(&[(1.0 / stretch_t, &b_tt), (-b_t / (stretch_t * stretch_t), &f.utt)]);
    let k_st = sum(&[
        (0.5 * (1.0 / lam + 1.0 / stretch_t), &b_st),
        (-0.5 * (b_s + b_t) / (lam * stretch_t), &f.ust),
    ]);
    let mut out = [[0.0; 9]; 9];
    add(&mut out, stiff, &k_ss, &k_ss);
    add(&mut out, 2.0 * stiff2, &k_ss, &k_tt);
    add(&mut out, stiff, &k_tt, &k_tt);
    add(&mut out, 2.0 * (stiff - stiff2), &k_st, &k_st);
    // 2 M : P₂.
    let (m_s, m_t) = (2.0 * mom_s, 2.0 * mom_t);
    // Order-two normal: along n −½|n₁|², along the meridian −(n₁·d,s)/λ.
    let along_n = m_s * lam * dphi / lam + m_t * r * sin * i2 / stretch_t;
    add(&mut out, -0.5 * along_n, &n_s, &n_s);
    add(&mut out, -0.5 * along_n, &n_t, &n_t);
    let along_s = m_s * dlam / lam - m_t * r * cos * i2 / stretch_t;
    add(&mut out, -along_s / lam, &n_s, &f.ts);
    add(&mut out, -along_s / lam, &n_t, &vs);
    // n₁ · ∂²d.
    add(&mut out, m_s / lam, &n_s, &t_ss);
    add(&mut out, m_s / lam, &n_t, &v_ss);
    add(&mut out, m_t * i2 / stretch_t, &n_s, &t_tt);
    add(&mut out, -m_t * i2 / stretch_t, &n_t, &big_q);
    // −(1/λᵢ) Σ_k U₁_ik b₁_ki / λ_k.
    add(&mut out, -m_s / (lam * lam), &f.uss, &b_ss);
    add(&mut out, -m_s / (lam * stretch_t), &f.ust, &b_st);
    add(&mut out, -m_t / (stretch_t * stretch_t), &f.utt, &b_tt);
    add(&mut out, -m_t / (lam * stretch_t), &f.ust, &b_st);
    // V₂ᵢᵢ b₀ᵢ with V = U⁻¹: −U₂/λᵢ² + Σ_k U₁_ik²/(λᵢ² λ_k).
    let (l2, t2) = (lam * lam, stretch_t * stretch_t);
    add_u2(&mut out, f, p, n, -m_s * b_s / l2, -m_t * b_t / t2);
    add(&mut out, m_s * b_s / (l2 * lam), &f.uss, &f.uss);
    add(&mut out, m_s * b_s / (l2 * stretch_t), &f.ust, &f.ust);
    add(&mut out, m_t * b_t / (t2 * stretch_t), &f.utt, &f.utt);
    add(&mut out, m_t * b_t / (t2 * lam), &f.ust, &f.ust);
    (out, Curved { ss: k_ss, tt: k_tt, st: k_st })
}

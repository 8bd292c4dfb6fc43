//! Gradients and tangents against automatic differentiation by a library and against each other.

use calotte_solve::potential::dot;
use calotte_solve::{Band, Directional, Potential};
use num_dual::{DualNum, HyperDual64};

use super::{Dice, cap, model, rims, shaken};
use crate::kernel::{Natural, curvature, slopes};

const NAT: Natural = Natural { inv_r0: 1.0 / 0.7, sin0: 0.61, k0: 0.9, nu: 0.3, e0: [0.0; 2] };

/// The density written straight from the measures, sharing no line with the kernel.
fn density(q: [HyperDual64; 5], wm: f64, wb: f64) -> HyperDual64 {
    let [r, a, c, b, d] = q;
    let stretch = (a * a + b * b).sqrt();
    let es = stretch - 1.0;
    let et = r * NAT.inv_r0 - 1.0;
    // φ = atan2(z′, r′); its derivative along s by the quotient rule.
    let turning = (d * a - b * c) / (a * a + b * b);
    let ks = turning - NAT.k0;
    let kt = (b.atan2(a).sin() - NAT.sin0) * NAT.inv_r0;
    let form = |x: HyperDual64, y: HyperDual64| x * x + x * y * (2.0 * NAT.nu) + y * y;
    form(es, et) * (0.5 * wm) + form(ks, kt) * (0.5 * wb)
}

/// Source: num-dual's hyper-dual numbers on the stated energy.
#[test]
fn kernel_equals_hyper_dual_derivatives() {
    let mut dice = Dice::new(7);
    let (wm, wb) = (1.3, 0.2);
    for _ in 0..200 {
        let q: [f64; 5] = [
            0.7 + 0.2 * dice.roll(),
            0.8 + 0.5 * dice.roll(),
            2.0 * dice.roll(),
            0.9 * dice.roll(),
            2.0 * dice.roll(),
        ];
        let (e, g, h) = curvature(&q, &NAT, wm, wb);
        let s = slopes(&q, &NAT);
        let mut seen = 0.0;
        for i in 0..5 {
            for j in 0..5 {
                let seeded = std::array::from_fn(|k| {
                    HyperDual64::new(q[k], f64::from(k == i), f64::from(k == j), 0.0)
                });
                let d = density(seeded, wm, wb);
                assert!((d.re - e).abs() < 1e-12 * (1.0 + e.abs()));
                assert!((d.eps1 - g[i]).abs() < 1e-11 * (1.0 + g[i].abs()), "g{i}");
                assert!((d.eps1eps2 - h[i][j]).abs() < 1e-10 * (1.0 + h[i][j].abs()), "h{i}{j}");
                seen += h[i][j].abs();
            }
        }
        assert!(seen > 0.1);
        let gb = [0.0, s.gb[0], s.gb[1], s.gb[2], s.gb[3]];
        let gm = [s.gm[0], s.gm[1], 0.0, s.gm[2], 0.0];
        for i in 0..5 {
            assert!((wm * gm[i] + wb * gb[i] - g[i]).abs() < 1e-12 * (1.0 + g[i].abs()));
        }
        assert!((wm * s.stretch + wb * s.bend - e).abs() < 1e-13 * (1.0 + e));
    }
}

/// Central differences of energy, gradient and tangent, every rim, with pressure.
#[test]
fn model_derivatives_agree_with_differences() {
    for rim in rims() {
        let part = cap(50.0, 0.06, 0.0, rim);
        let m = model(&part).with_pressure(3e-4);
        let n = m.unknowns();
        let t = 1.2;
        let x = shaken(&m, 3);
        let mut dice = Dice::new(11);
        let v: Vec<f64> = dice.vector(n);
        let at = |eps: f64, t: f64| {
            let y: Vec<f64> = x.iter().zip(&v).map(|(a, b)| a + eps * b).collect();
            let (mut g, mut h) = (vec![0.0; n], Band::new(n, m.half_bandwidth()));
            let e = m.assemble(&y, t, &mut g, &mut h);
            assert!((e - m.energy(&y, t)).abs() < 1e-13 * e.abs().max(1e-3));
            let mut hv = vec![0.0; n];
            h.multiply(&v, &mut hv);
            (e, g, hv)
        };
        let eps = 1e-5;
        let (plus, minus, here) = (at(eps, t), at(-eps, t), at(0.0, t));
        let size = |w: &[f64]| w.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
        let slope = (plus.0 - minus.0) / (2.0 * eps);
        assert!((slope - dot(&here.1, &v)).abs() < 1e-6 * slope.abs().max(1e-3), "{rim:?} energy");
        let mut dir = Directional::new(n);
        m.directional(&x, t, &v, &mut dir);
        let (later, sooner) = (at(0.0, t + eps), at(0.0, t - eps));
        let mut alone = vec![0.0; n];
        m.gradient_slope(&x, t, &mut alone);
        for i in 0..n {
            let h = (plus.1[i] - minus.1[i]) / (2.0 * eps);
            assert!((h - here.2[i]).abs() < 1e-6 * size(&here.2), "{rim:?} tangent {i}");
            let d3 = (plus.2[i] - minus.2[i]) / (2.0 * eps);
            assert!((d3 - dir.third[i]).abs() < 1e-5 * size(&dir.third), "{rim:?} third {i}");
            let gt = (later.1[i] - sooner.1[i]) / (2.0 * eps);
            assert!((gt - dir.slope[i]).abs() < 1e-6 * size(&dir.slope), "{rim:?} slope {i}");
            assert!((alone[i] - dir.slope[i]).abs() < 1e-12 * size(&dir.slope));
            let ht = (later.2[i] - sooner.2[i]) / (2.0 * eps);
            assert!((ht - dir.slope_v[i]).abs() < 1e-6 * size(&dir.slope_v), "{rim:?} slope_v {i}");
        }
    }
}

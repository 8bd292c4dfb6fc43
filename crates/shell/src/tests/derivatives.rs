//! Gradients and tangents against automatic differentiation by a library and against each other.

use num_dual::{DualNum, HyperDual64};

use super::{Dice, agrees_with_differences, cap, model, rims, shaken};
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
        let x = shaken(&m, 3);
        agrees_with_differences(&m, &x, 1.2, 1e-5, 1e-5, &format!("{rim:?}"));
    }
}

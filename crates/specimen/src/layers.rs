//! A wall of layers, and what temperature does to it.

/// A property of a layer over temperature.
///
/// Between the readings a monotone cubic runs through them (Fritsch & Carlson 1980, "Monotone piecewise cubic
/// interpolation", SIAM J. Numer. Anal. 17, 238), so that it has a continuous slope and no overshoot. Beyond the first and the
/// last reading there is no value: [`Property::covers`] says so.
#[derive(Clone, Debug, PartialEq)]
pub enum Property {
    /// The same at every temperature.
    Constant(f64),
    /// Readings (K, value), temperatures increasing, with the slope there.
    Table(Vec<[f64; 3]>),
}

impl Property {
    /// Through readings `(K, value)`; `None` unless there are at least two and the temperatures increase.
    pub fn table(readings: &[(f64, f64)]) -> Option<Self> {
        let n = readings.len();
        if n < 2 || readings.windows(2).any(|w| w[1].0 <= w[0].0) {
            return None;
        }
        if readings.iter().any(|r| !r.0.is_finite() || !r.1.is_finite()) {
            return None;
        }
        let step: Vec<f64> = readings.windows(2).map(|w| w[1].0 - w[0].0).collect();
        let rise: Vec<f64> = readings.windows(2).map(|w| (w[1].1 - w[0].1) / (w[1].0 - w[0].0)).collect();
        let slope = |i: usize| {
            if i == 0 {
                return rise[0];
            }
            if i == n - 1 {
                return rise[n - 2];
            }
            let (a, b) = (rise[i - 1], rise[i]);
            if a * b <= 0.0 {
                return 0.0;
            }
            // Weighted harmonic mean.
            let (w1, w2) = (2.0 * step[i] + step[i - 1], step[i] + 2.0 * step[i - 1]);
            (w1 + w2) / (w1 / a + w2 / b)
        };
        Some(Self::Table(readings.iter().enumerate().map(|(i, r)| [r.0, r.1, slope(i)]).collect()))
    }

    /// Whether the property is known at `t` (K).
    pub fn covers(&self, t: f64) -> bool {
        self.range().is_none_or(|[low, high]| t >= low && t <= high)
    }

    /// First and last temperature of the readings, K; `None` for a constant.
    pub fn range(&self) -> Option<[f64; 2]> {
        match self {
            Self::Constant(_) => None,
            Self::Table(r) => Some([r[0][0], r[r.len() - 1][0]]),
        }
    }

    /// Value at `t` (K) and its derivative. Outside the readings the end value goes on; ask [`Property::covers`].
    pub fn at(&self, t: f64) -> [f64; 2] {
        match self {
            Self::Constant(v) => [*v, 0.0],
            Self::Table(r) => {
                let last = r.len() - 1;
                if t <= r[0][0] {
                    return [r[0][1], if t == r[0][0] { r[0][2] } else { 0.0 }];
                }
                if t >= r[last][0] {
                    return [r[last][1], if t == r[last][0] { r[last][2] } else { 0.0 }];
                }
                let i = r.partition_point(|p| p[0] <= t) - 1;
                let ([t0, y0, m0], [t1, y1, m1]) = (r[i], r[i + 1]);
                let h = t1 - t0;
                let x = (t - t0) / h;
                let (c2, c3) = (3.0 * (y1 - y0) - h * (2.0 * m0 + m1), 2.0 * (y0 - y1) + h * (m0 + m1));
                [y0 + x * (h * m0 + x * (c2 + x * c3)), m0 + x * (2.0 * c2 + 3.0 * x * c3) / h]
            }
        }
    }

    /// ∫ from `a` to `b` (K).
    pub fn integral(&self, a: f64, b: f64) -> f64 {
        match self {
            Self::Constant(v) => v * (b - a),
            Self::Table(_) => self.since_first(b) - self.since_first(a),
        }
    }

    /// ∫ from the first reading to `t`.
    fn since_first(&self, t: f64) -> f64 {
        let Self::Table(r) = self else { return 0.0 };
        let mut sum = 0.0;
        if t <= r[0][0] {
            return r[0][1] * (t - r[0][0]);
        }
        for w in r.windows(2) {
            let ([t0, y0, m0], [t1, y1, m1]) = (w[0], w[1]);
            let h = t1 - t0;
            let x = ((t - t0) / h).min(1.0);
            let (c2, c3) = (3.0 * (y1 - y0) - h * (2.0 * m0 + m1), 2.0 * (y0 - y1) + h * (m0 + m1));
            sum += h * x * (y0 + x * (0.5 * h * m0 + x * (c2 / 3.0 + 0.25 * x * c3)));
            if t <= t1 {
                return sum;
            }
        }
        let end = r[r.len() - 1];
        sum + end[1] * (t - end[0])
    }
}

/// One layer of the wall.
#[derive(Clone, Debug, PartialEq)]
pub struct Layer {
    /// Share of the wall's thickness; the shares of a wall add to 1.
    pub share: f64,
    /// Young's modulus, Pa, over temperature.
    pub youngs: Property,
    /// Poisson ratio.
    pub poisson: f64,
    /// Coefficient of thermal expansion at each temperature, 1/K.
    pub expansion: Property,
}

/// The layers of a wall from its convex face (under the natural bowl) to its concave one, and its temperature.
#[derive(Clone, Debug, PartialEq)]
pub struct Layers {
    /// From the convex face to the concave one.
    pub layers: Vec<Layer>,
    /// Temperature at which the described shape is free of stress but for `extra_curvature`, K.
    pub formed_at: f64,
    /// Temperature of the middle of the wall, K.
    pub temperature: f64,
    /// Temperature of the concave face less that of the convex one, K; linear between.
    pub face_difference: f64,
    /// Curvature that the wall would take if it were free, less that of the described shape, in both directions, 1/m; positive as
    /// that of a bowl.
    pub extra_curvature: f64,
    /// Strip curvature per kelvin times thickness that heat adds, 1/K (ASTM B106), positive when heat bends the wall like the
    /// bowl; added to what the layers do.
    pub flexivity: f64,
}

impl Layers {
    /// Temperatures at which every property is known, K; infinite ends where nothing is tabulated.
    pub fn known_between(&self) -> [f64; 2] {
        let mut range = [f64::NEG_INFINITY, f64::INFINITY];
        for p in self.layers.iter().flat_map(|l| [&l.youngs, &l.expansion]) {
            if let Some([low, high]) = p.range() {
                range = [range[0].max(low), range[1].min(high)];
            }
        }
        range
    }
}

#[cfg(test)]
mod tests {
    use super::Property;

    /// Closed form: straight readings give a straight line, its slope and its integral.
    #[test]
    fn straight_readings() {
        let p = Property::table(&[(300.0, 2.0), (310.0, 3.0), (340.0, 6.0)]).unwrap();
        for t in [300.0, 304.0, 310.0, 333.0, 340.0] {
            let [v, d] = p.at(t);
            assert!((v - (2.0 + 0.1 * (t - 300.0))).abs() < 1e-13 && (d - 0.1).abs() < 1e-13, "{t} {v} {d}");
        }
        let want = 2.0 * 30.0 + 0.05 * (35.0f64.powi(2) - 25.0);
        assert!((p.integral(305.0, 335.0) - want).abs() < 1e-12);
        assert!(p.covers(300.0) && !p.covers(299.9) && Property::Constant(1.0).covers(0.0));
    }

    /// The derivative is that of the value, the value that of the integral (central differences), and nothing overshoots.
    #[test]
    fn slope_and_integral_belong_to_the_value() {
        let p = Property::table(&[(250.0, 210.0), (300.0, 206.0), (350.0, 206.0), (420.0, 180.0)]).unwrap();
        for t in [260.0, 290.0, 320.0, 351.0, 400.0] {
            let e = 1e-3;
            let slope = (p.at(t + e)[0] - p.at(t - e)[0]) / (2.0 * e);
            assert!((slope - p.at(t)[1]).abs() < 1e-7, "{t}");
            let value = p.integral(t - e, t + e) / (2.0 * e);
            assert!((value - p.at(t)[0]).abs() < 1e-7, "{t}");
            assert!(p.at(t)[0] <= 210.0 && p.at(t)[0] >= 180.0);
        }
        assert!((p.at(330.0)[0] - 206.0).abs() < 1e-12);
        assert!(
            Property::table(&[(300.0, 1.0)]).is_none()
                && Property::table(&[(300.0, 1.0), (300.0, 2.0)]).is_none()
        );
    }
}

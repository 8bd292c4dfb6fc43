//! Intervals from a likelihood along one number.

/// Where one side of an interval ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Side {
    /// The misfit has risen by the drop here.
    At(f64),
    /// It has not risen by it at the bound: the readings do not close this side.
    Open,
    /// The misfit could not be computed somewhere on the way.
    Lost,
}

impl Side {
    /// The place, where there is one.
    pub fn place(self) -> Option<f64> {
        match self {
            Self::At(x) => Some(x),
            Self::Open | Self::Lost => None,
        }
    }
}

/// The interval around `best` within which `misfit` (−2 ln L, or chi-squared, already least over every other number) lies less
/// than `rise` above its value at `best`: `chi_squared::quantile(0.95, 1.0)` for 95 %.
///
/// The search goes out from `best` by `step` > 0, doubled, up to the bounds, then halves to `1e-10` of the way. It finds the first
/// crossing that its strides meet. NaN of `misfit` means that it could not be computed.
pub fn interval(
    misfit: &mut dyn FnMut(f64) -> f64,
    best: f64,
    step: f64,
    bounds: [f64; 2],
    rise: f64,
) -> [Side; 2] {
    let floor = misfit(best);
    let mut side = |sign: f64, bound: f64| {
        if floor.is_nan() {
            return Side::Lost;
        }
        let (mut inside, mut stride) = (best, step.abs());
        let mut outside = loop {
            let at = inside + sign * stride;
            let at = if (bound - at) * sign <= 0.0 { bound } else { at };
            let value = misfit(at) - floor;
            if value.is_nan() {
                return Side::Lost;
            }
            if value >= rise {
                break at;
            }
            if at == bound || !at.is_finite() {
                return Side::Open;
            }
            inside = at;
            stride *= 2.0;
        };
        for _ in 0..200 {
            let middle = 0.5 * (inside + outside);
            if (outside - inside).abs() <= 1e-10 * (outside - best).abs()
                || middle == inside
                || middle == outside
            {
                break;
            }
            let value = misfit(middle) - floor;
            if value.is_nan() {
                return Side::Lost;
            }
            if value >= rise { outside = middle } else { inside = middle }
        }
        Side::At(0.5 * (inside + outside))
    };
    [side(-1.0, bounds[0]), side(1.0, bounds[1])]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form: of a parabola the interval is best ± √rise deviations; bounds and holes are told.
    #[test]
    fn a_parabola_and_its_ends() {
        let mut parabola = |x: f64| (x - 2.0) * (x - 2.0) / 0.09;
        let wide = [f64::NEG_INFINITY, f64::INFINITY];
        let [low, high] = interval(&mut parabola, 2.0, 0.01, wide, 3.84).map(|s| s.place().unwrap());
        assert!((low - (2.0 - 0.3 * 3.84_f64.sqrt())).abs() < 1e-9 && (low + high - 4.0).abs() < 1e-9);
        assert_eq!(interval(&mut parabola, 2.0, 0.01, [1.9, 9.0], 3.84)[0], Side::Open);
        let mut holed = |x: f64| if x > 2.2 { f64::NAN } else { parabola(x) };
        assert_eq!(interval(&mut holed, 2.0, 0.01, wide, 3.84)[1], Side::Lost);
        // A flat side stays open.
        let mut flat = |x: f64| if x > 0.0 { x * x } else { 0.0 };
        let [low, high] = interval(&mut flat, 0.0, 1.0, wide, 4.0);
        assert!(low == Side::Open && (high.place().unwrap() - 2.0).abs() < 1e-9);
    }

    /// Closed form: for k events in a Poisson process −2 ln L = 2 (m − k ln m); at k = 10 and a rise of 1 the ends are 7.15 and
    /// 13.50 (recomputed from the stated equations).
    #[test]
    fn a_skew_one() {
        let mut poisson = |m: f64| 2.0 * (m - 10.0 * libm::log(m));
        let [low, high] = interval(&mut poisson, 10.0, 0.1, [1e-9, 1e9], 1.0).map(|s| s.place().unwrap());
        for end in [low, high] {
            assert!((poisson(end) - poisson(10.0) - 1.0).abs() < 1e-8);
        }
        assert!((low - 7.15).abs() < 0.02 && (high - 13.50).abs() < 0.02, "{low} {high}");
    }
}

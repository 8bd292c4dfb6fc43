//! A spherical cap from any two of its sizes.

use std::f64::consts::PI;

use super::impossible::Impossible;

/// A size that, with a second one, fixes a cap.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Size {
    Radius,
    HalfAngle,
    RimDiameter,
    Rise,
    ArcLength,
}

impl Size {
    pub(super) const ALL: [Self; 5] =
        [Self::Radius, Self::HalfAngle, Self::RimDiameter, Self::Rise, Self::ArcLength];

    /// Key within `[shape]`.
    pub(super) fn key(self) -> &'static str {
        match self {
            Self::Radius => "radius",
            Self::HalfAngle => "half_angle",
            Self::RimDiameter => "rim_diameter",
            Self::Rise => "rise",
            Self::ArcLength => "arc_length",
        }
    }

    /// This size of the cap of radius R and half-angle α.
    pub(super) fn of(self, radius: f64, angle: f64) -> f64 {
        match self {
            Self::Radius => radius,
            Self::HalfAngle => angle,
            Self::RimDiameter => 2.0 * radius * libm::sin(angle),
            Self::Rise => 2.0 * radius * libm::sin(0.5 * angle) * libm::sin(0.5 * angle),
            Self::ArcLength => radius * angle,
        }
    }
}

/// Half-angle at which (1 − cos α)/α, rise over arc length, is greatest: the root of α sin α = 1 − cos α.
pub(super) const STEEPEST: f64 = 2.331_122_370_414_423;
/// Its greatest value, sin α there.
pub(super) const STEEPEST_RATIO: f64 = 0.724_611_353_776_708_5;

/// Radius R and half-angle α, 0 < α < π, of the cap with two given (positive) sizes.
///
/// Radius and rim diameter leave α or π − α: the shallower is meant. Rise and arc length leave two caps
/// when their ratio lies between 2/π and 0.7246: the shallower is meant.
pub(super) fn cap_of(one: (Size, f64), other: (Size, f64)) -> Result<(f64, f64), Impossible> {
    use Size::{ArcLength, HalfAngle, Radius, RimDiameter, Rise};
    let ((p, x), (q, y)) = if one.0 <= other.0 { (one, other) } else { (other, one) };
    Ok(match (p, q) {
        (Radius, HalfAngle) => (x, y),
        (Radius, RimDiameter) if y > 2.0 * x => {
            return Err(Impossible::RimWiderThanSphere { rim_diameter: y, radius: x });
        }
        (Radius, RimDiameter) => (x, libm::asin(y / (2.0 * x))),
        (Radius, Rise) if y >= 2.0 * x => return Err(Impossible::RiseBeyondSphere { rise: y, radius: x }),
        (Radius, Rise) => (x, 2.0 * libm::asin((y / (2.0 * x)).sqrt())),
        (Radius, ArcLength) if y >= PI * x => {
            return Err(Impossible::ArcBeyondSphere { arc_length: y, radius: x });
        }
        (Radius, ArcLength) => (x, y / x),
        (HalfAngle, RimDiameter) if x >= PI => return Err(Impossible::ClosedSphere),
        (HalfAngle, RimDiameter) => (y / (2.0 * libm::sin(x)), x),
        (HalfAngle, Rise) => {
            let half = libm::sin(0.5 * x);
            (y / (2.0 * half * half), x)
        }
        (HalfAngle, ArcLength) => (y / x, x),
        (RimDiameter, Rise) => {
            let a = 0.5 * x;
            ((a * a + y * y) / (2.0 * y), 2.0 * libm::atan2(y, a))
        }
        (RimDiameter, ArcLength) => {
            let ratio = 0.5 * x / y;
            if ratio >= 1.0 {
                return Err(Impossible::ArcTooShort { arc_length: y, rim_diameter: x });
            }
            // 1 − sin α/α rises from 0 to 1.
            let angle = root(0.0, PI, |t| (1.0 - ratio) - lag(t))?;
            (y / angle, angle)
        }
        (Rise, ArcLength) => {
            let ratio = x / y;
            if ratio > STEEPEST_RATIO {
                return Err(Impossible::RiseBeyondArc { rise: x, arc_length: y });
            }
            // (1 − cos α)/α rises from 0 to its greatest value.
            let angle = root(0.0, STEEPEST, |t| {
                let half = libm::sin(0.5 * t);
                ratio - if t > 0.0 { 2.0 * half * half / t } else { 0.0 }
            })?;
            (y / angle, angle)
        }
        (Radius, Radius) | (HalfAngle, _) | (RimDiameter, _) | (Rise, _) | (ArcLength, _) => {
            return Err(Impossible::SameSizeTwice);
        }
    })
}

/// 1 − sin t/t without cancellation.
fn lag(t: f64) -> f64 {
    if t > 0.5 {
        return 1.0 - libm::sin(t) / t;
    }
    let (t2, mut term, mut sum) = (t * t, 1.0, 0.0);
    for k in 1..12 {
        term *= -t2 / f64::from(2 * k * (2 * k + 1));
        sum -= term;
    }
    sum
}

/// Root of a falling function by halving: forty steps find the neighbourhood, the rest the last digit.
fn root(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> Result<f64, Impossible> {
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if f(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    let found = 0.5 * (low + high);
    if found > 0.0 { Ok(found) } else { Err(Impossible::HalfAngle { half_angle: found }) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_pair_gives_the_cap_back() {
        let radius = 0.025;
        for angle in [1e-4, 0.01, 0.3, 0.9, 1.5] {
            for p in Size::ALL {
                for q in Size::ALL.into_iter().filter(|q| *q != p) {
                    let (r, a) = cap_of((p, p.of(radius, angle)), (q, q.of(radius, angle))).unwrap();
                    // Sizes of a shallow cap fix it badly: rounding grows like 1/α².
                    let slack = 4e-16 * (1.0 + 1.0 / (angle * angle) + 100.0 / (PI / 2.0 - angle).powi(2));
                    assert!((r / radius - 1.0).abs() < slack, "{p:?} {q:?} {angle}: {r}");
                    assert!((a / angle - 1.0).abs() < slack, "{p:?} {q:?} {angle}: {a}");
                }
            }
        }
    }

    #[test]
    fn beyond_a_hemisphere_where_the_pair_allows() {
        let (radius, angle) = (0.025, 2.2);
        for (p, q) in [
            (Size::Radius, Size::HalfAngle),
            (Size::Radius, Size::Rise),
            (Size::Radius, Size::ArcLength),
            (Size::HalfAngle, Size::RimDiameter),
            (Size::HalfAngle, Size::Rise),
            (Size::HalfAngle, Size::ArcLength),
            (Size::RimDiameter, Size::Rise),
            (Size::RimDiameter, Size::ArcLength),
            (Size::Rise, Size::ArcLength),
        ] {
            let (r, a) = cap_of((p, p.of(radius, angle)), (q, q.of(radius, angle))).unwrap();
            assert!((r / radius - 1.0).abs() < 1e-13 && (a / angle - 1.0).abs() < 1e-13, "{p:?} {q:?}");
        }
        let (_, a) =
            cap_of((Size::Radius, radius), (Size::RimDiameter, Size::RimDiameter.of(radius, angle))).unwrap();
        assert!((a - (PI - angle)).abs() < 1e-13);
    }

    #[test]
    fn steepest_cap_is_the_greatest_ratio() {
        let ratio = |t: f64| (1.0 - libm::cos(t)) / t;
        assert!((ratio(STEEPEST) - STEEPEST_RATIO).abs() < 1e-15);
        assert!(ratio(STEEPEST) > ratio(STEEPEST + 1e-4) && ratio(STEEPEST) > ratio(STEEPEST - 1e-4));
    }

    #[test]
    fn impossible_pairs_are_named() {
        use Size::*;
        assert!(matches!(
            cap_of((Radius, 1.0), (RimDiameter, 2.1)),
            Err(Impossible::RimWiderThanSphere { .. })
        ));
        assert!(matches!(cap_of((Rise, 2.0), (Radius, 1.0)), Err(Impossible::RiseBeyondSphere { .. })));
        assert!(matches!(cap_of((ArcLength, 3.2), (Radius, 1.0)), Err(Impossible::ArcBeyondSphere { .. })));
        assert!(matches!(cap_of((ArcLength, 1.0), (RimDiameter, 2.0)), Err(Impossible::ArcTooShort { .. })));
        assert!(matches!(cap_of((ArcLength, 1.0), (Rise, 0.73)), Err(Impossible::RiseBeyondArc { .. })));
    }
}

//! Droop and cantilever: a modulus from how far a clamped strip hangs down.

use super::estimate::{Estimate, Reading, estimate};
use super::strip::{Hung, ProfileFit, fit_profile};

/// A hanging strip as read.
pub(super) struct Hanging {
    pub(super) kind: &'static str,
    pub(super) name: String,
    /// Length, thickness, density, gravity, clamp, natural curvature, width, weight at the tip, drop; SI.
    pub(super) readings: Vec<Reading>,
    pub(super) profile: Option<Profile>,
    /// Poisson's ratio.
    pub(super) poisson: f64,
    pub(super) width_known: bool,
    /// The density was left out.
    pub(super) weightless: bool,
}

/// Points along a strip, m, and the standard deviation of each.
#[derive(Clone, Debug)]
pub(super) struct Profile {
    pub(super) points: Vec<[f64; 2]>,
    pub(super) error: f64,
}

/// A strip as computed, for the figure.
#[derive(Clone, Debug, serde::Serialize)]
pub struct StripShape {
    /// Name of the test.
    pub test: String,
    /// Across and down from the clamp, clamp to tip, m.
    pub shape_m: Vec<[f64; 2]>,
    /// Points read: the tip, or the profile, m.
    pub points_m: Vec<[f64; 2]>,
    /// Distance of each point of a profile from the strip, m, positive below it; empty for a tip alone.
    pub residuals_m: Vec<f64>,
    /// Standard deviation of each point's place, m.
    pub point_deviation_m: f64,
    /// Slope of the clamp below the horizontal, rad: as stated, or as fitted to a profile.
    pub clamp_angle_rad: f64,
}

const LENGTH: usize = 0;
const THICKNESS: usize = 1;
const DENSITY: usize = 2;
const GRAVITY: usize = 3;
const CLAMP: usize = 4;
const CURL: usize = 5;
const WIDTH: usize = 6;
const WEIGHT: usize = 7;
const DROP: usize = 8;

/// The proportions of a strip, and the factor from 1/(whole weight in pure numbers) to E: `(w L + F) L²/I`.
fn proportions(v: &[f64]) -> (Hung, f64) {
    let per_length = v[DENSITY] * v[GRAVITY] * v[WIDTH] * v[THICKNESS];
    let all = per_length * v[LENGTH] + v[WEIGHT];
    let inertia = v[WIDTH] * v[THICKNESS] * v[THICKNESS] * v[THICKNESS] / 12.0;
    let hung =
        Hung { own_share: per_length * v[LENGTH] / all, clamp: v[CLAMP], natural: v[CURL] * v[LENGTH] };
    (hung, all * v[LENGTH] * v[LENGTH] / inertia)
}

/// Bending stiffness of a strip bent to curvature κ over that of a narrow one: `1/(1 − ν²) [1 − ν² (2/m)(cosh m − cos m)/(sinh m +
/// sin m)]`, `m = b [3(1 − ν²)]^{1/4} √(κ/h)`: anticlastic bending held back by the wall (Ashwell 1950, J. R. Aeronaut. Soc. 54, 708;
/// from memory; limits 1 and 1/(1 − ν²) are closed form).
pub(super) fn width_factor(width: f64, thickness: f64, curvature: f64, poisson: f64) -> f64 {
    let rest = 1.0 - poisson * poisson;
    let m = width * libm::pow(3.0 * rest, 0.25) * (curvature.abs() / thickness).sqrt();
    if m < 1e-3 {
        return 1.0;
    }
    // Both grow like e^m/2: scaled by it.
    let (small, wave) = (libm::exp(-m), 2.0 * libm::exp(-m));
    let ratio = (1.0 + small * small - wave * libm::cos(m)) / (1.0 - small * small + wave * libm::sin(m));
    (1.0 - poisson * poisson * 2.0 / m * ratio) / rest
}

/// The estimate and the shape of the strip at it.
pub(super) fn hanging(h: &Hanging) -> Result<(Estimate, StripShape), String> {
    let values: Vec<f64> = h.readings.iter().map(|r| r.value).collect();
    let hung = proportions(&values).0;
    let length = values[LENGTH];
    let mut fitted: Option<ProfileFit> = None;
    let fit = |v: &[f64], p: &Profile, start: Option<f64>| {
        let points: Vec<[f64; 2]> = p.points.iter().map(|q| q.map(|x| x / v[LENGTH])).collect();
        let clamp = [v[CLAMP], h.readings[CLAMP].deviation];
        fit_profile(proportions(v).0, &points, p.error / v[LENGTH], clamp, start)
    };
    let mut beside = Vec::new();
    let log_weight = match &h.profile {
        Some(p) => {
            let f = fit(&values, p, None)?;
            beside.push((format!("{}: points of the profile", h.name), f.deviation * f.scatter.max(1.0)));
            let log = f.log_weight;
            fitted = Some(f);
            log
        }
        None => libm::log(hung.weight_for(values[DROP] / length)?),
    };
    let clamp = fitted.as_ref().map_or(values[CLAMP], |f| f.clamp);
    let bent = Hung { clamp, ..hung }
        .strip(libm::exp(log_weight))
        .bent()
        .ok_or("no equilibrium was found for such a strip")?;
    let curvature = bent.root_bending / length;
    let factor_of_width = if h.width_known {
        width_factor(values[WIDTH], values[THICKNESS], curvature, h.poisson)
    } else {
        1.0
    };
    beside.push((format!("{}: a wide strip bends stiffer", h.name), 0.5 * (factor_of_width - 1.0)));
    // With a profile the clamp's slope is part of the fit, its error in the fit's.
    let mut readings = h.readings.clone();
    if h.profile.is_some() {
        readings[CLAMP].deviation = 0.0;
        readings[DROP].deviation = 0.0;
    }
    let mut model = |v: &[f64]| {
        if v[..4].iter().any(|x| *x < 0.0) || v[LENGTH] <= 0.0 || v[THICKNESS] <= 0.0 || v[WIDTH] <= 0.0 {
            return Err("a size fell to nothing".to_owned());
        }
        let (hung, factor) = proportions(v);
        let log = match &h.profile {
            Some(p) => fit(v, p, Some(log_weight))?.log_weight,
            None => libm::log(hung.weight_for(v[DROP] / v[LENGTH])?),
        };
        Ok(libm::log(factor) - log)
    };
    let mut e = estimate(h.kind, &h.name, &readings, &beside, &mut model)?;
    let strain = 0.5 * values[THICKNESS] * curvature.abs();
    if strain > 0.1 {
        e.notes.push(format!(
            "The strip is strained by {:.0} % at the clamp; rubber is no longer linear there.",
            100.0 * strain
        ));
    }
    if factor_of_width > 1.01 {
        e.notes.push(format!(
            "So wide a strip may bend up to {:.0} % stiffer than a narrow one; half of that is in the error.",
            100.0 * (factor_of_width - 1.0)
        ));
    }
    if length < 10.0 * values[THICKNESS] {
        e.notes
            .push("The strip is shorter than ten thicknesses: shear, which is left out, matters.".to_owned());
    }
    if h.weightless {
        e.notes.push("No density is given: the strip's own weight is left out.".to_owned());
    }
    if let Some(f) = fitted.as_ref().filter(|f| f.scatter > 2.0) {
        e.notes.push(format!(
            "The points of the profile scatter {:.1} times as much as stated; the errors are widened by that.",
            f.scatter
        ));
    }
    let scaled = |x: f64, y: f64| [x * length, y * length];
    let shape = StripShape {
        test: h.name.clone(),
        shape_m: bent.places.iter().map(|p| scaled(p[0], p[1])).collect(),
        points_m: match &h.profile {
            Some(p) => p.points.clone(),
            None => vec![[bent.reach * length, values[DROP]]],
        },
        residuals_m: fitted.map_or_else(Vec::new, |f| f.residuals.iter().map(|r| r * length).collect()),
        point_deviation_m: h.profile.as_ref().map_or(h.readings[DROP].deviation, |p| p.error),
        clamp_angle_rad: clamp,
    };
    Ok((e, shape))
}

#[cfg(test)]
mod tests {
    use super::*;
    use calotte_chance::Stream;

    pub(super) fn reading(id: &str, value: f64, deviation: f64) -> Reading {
        Reading { id: id.to_owned(), value, deviation, unit: "1" }
    }

    /// A strip 100 mm long, 2 mm thick, 10 mm wide; `weight` at its tip.
    fn nominal(weight: f64) -> Hanging {
        Hanging {
            kind: "droop",
            name: "a".to_owned(),
            readings: vec![
                reading("length", 0.1, 0.25e-3),
                reading("thickness", 2e-3, 0.02e-3),
                reading("density", 1080.0, 10.0),
                reading("gravity", 9.81, 0.0),
                reading("clamp", 0.0, 0.01),
                reading("curl", 0.0, 0.2),
                reading("width", 0.01, 0.05e-3),
                reading("weight", weight, 0.01 * weight),
                reading("drop", 0.0, 0.5e-3),
            ],
            profile: None,
            poisson: 0.49,
            width_known: false,
            weightless: false,
        }
    }

    /// The drop of the strip with these values and modulus.
    fn drop(v: &[f64], modulus: f64) -> f64 {
        let (hung, factor) = proportions(v);
        hung.strip(factor / modulus).bent().unwrap().drop * v[LENGTH]
    }

    /// Round trips over 200 seeds each: the truth drawn within the errors, the reading computed from it, the estimate made from
    /// the nominal numbers; the 95 % interval covers the truth in 90 to 99 of 100, and the budget is what Monte Carlo says.
    #[test]
    fn intervals_cover() {
        for (weight, modulus) in [(0.0, 4e6), (0.0, 1.2e6), (0.02, 3e6)] {
            let base = nominal(weight);
            let mut hits = 0;
            let mut off = Vec::new();
            let mut said = 0.0;
            for seed in 0..200 {
                let mut s = Stream::of(61, seed);
                let truth: Vec<f64> =
                    base.readings.iter().map(|r| r.value + r.deviation * s.normal()).collect();
                let mut h = nominal(weight);
                h.readings[DROP].value = drop(&truth, modulus) + h.readings[DROP].deviation * s.normal();
                let e = hanging(&h).unwrap().0;
                hits += u64::from((e.interval[0]..=e.interval[1]).contains(&modulus));
                off.push(e.log() - libm::log(modulus));
                said += e.relative_deviation / 200.0;
            }
            assert!((180..=198).contains(&hits), "{weight} {modulus}: {hits} of 200");
            let spread = calotte_chance::sample::deviation(&off).unwrap();
            assert!((spread / said - 1.0).abs() < 0.15, "{weight} {modulus}: {spread} against {said}");
        }
    }

    #[test]
    fn profiles_cover() {
        let (modulus, mut hits) = (8e5, 0);
        for seed in 0..200 {
            let mut s = Stream::of(67, seed);
            let mut h = nominal(0.0);
            h.readings[CURL].deviation = 0.0;
            h.readings[CLAMP].deviation = 0.02;
            let truth: Vec<f64> = h.readings.iter().map(|r| r.value + r.deviation * s.normal()).collect();
            let (hung, factor) = proportions(&truth);
            let bent = hung.strip(factor / modulus).bent().unwrap();
            let step = bent.places.len() / 9;
            let at = |p: &[f64; 4], s: &mut Stream| {
                [p[0] * truth[0] + 0.4e-3 * s.normal(), p[1] * truth[0] + 0.4e-3 * s.normal()]
            };
            let points = bent.places.iter().skip(step).step_by(step).map(|p| at(p, &mut s)).collect();
            h.profile = Some(Profile { points, error: 0.4e-3 });
            let (e, shape) = hanging(&h).unwrap();
            hits += u64::from((e.interval[0]..=e.interval[1]).contains(&modulus));
            assert_eq!(shape.residuals_m.len(), shape.points_m.len());
        }
        assert!((180..=198).contains(&hits), "{hits} of 200");
    }

    /// Closed forms: small droops go as E = 3 ρ g L⁴/(2 h² d), so that ln E moves −2 with ln h, 4 with ln L, −1 with ln d.
    #[test]
    fn small_droops_have_their_closed_form() {
        let mut h = nominal(0.0);
        let e0 = 2e9;
        h.readings[DROP].value = 1.5 * 1080.0 * 9.81 * 1e-4 / (4e-6 * e0);
        h.readings[DROP].deviation = 0.01 * h.readings[DROP].value;
        let (e, _) = hanging(&h).unwrap();
        assert!((e.modulus / e0 - 1.0).abs() < 1e-4, "{}", e.modulus);
        let effect = |name: &str| e.budget.iter().find(|b| b.input == name).unwrap().effect;
        assert!((effect("drop") + 0.01).abs() < 1e-4);
        assert!((effect("thickness") + 0.02).abs() < 1e-4);
        assert!((effect("length") - 0.01).abs() < 1e-4);
    }

    #[test]
    fn wide_strips() {
        assert!((width_factor(1e-3, 2e-3, 5.0, 0.49) - 1.0).abs() < 1e-3);
        let wide = width_factor(1.0, 1e-3, 50.0, 0.5);
        assert!(wide > 1.31 && wide < 4.0 / 3.0, "{wide}");
        let mut h = nominal(0.0);
        h.width_known = true;
        h.readings[WIDTH].value = 0.06;
        h.readings[DROP].value = 0.05;
        let (e, _) = hanging(&h).unwrap();
        assert!(
            e.notes.iter().any(|n| n.contains("stiffer"))
                && e.budget.iter().any(|b| b.input.contains("wide")),
            "{e:?}"
        );
    }
}

//! A measured outline beside a computed one.
//!
//! Free are the height of the outline and the scale, the latter within its error. χ² is the sum of squared distances over the
//! edges' variances, divided by the factor for neighbours that err together (see `cap.rs`), which also lessens the freedom: (n − 2)
//! over the factor. Errors of the computed shape (tolerances of the case) are not in it, and the words say so.

use calotte_chance::{FitSettings, chi_squared, least_squares};

use super::Measured;
use super::cap::correlation;
use super::meridian::Spot;
use super::report::Comparison;

/// Distances above this share of the rim's radius are more than slight, whatever the errors.
const SLIGHT: f64 = 0.01;
/// Chance of a larger χ² below which outline and computed shape differ.
const UNLIKELY: f64 = 0.01;

/// The outline of a computed shape on the side that a side view shows, `[r, z]` from the pole (height 0) to the rim (above it).
pub fn visible_face(shape: &[[f64; 4]]) -> Vec<[f64; 2]> {
    let [a, b] = super::outline::faces(shape);
    let last = shape.len() - 1;
    // The rim above the pole; then the face below is the outer one.
    let turned = shape[last][1] < shape[0][1];
    let face = if turned { a } else { b };
    let pole = face[0][1];
    face.iter().map(|p| [p[0], if turned { pole - p[1] } else { p[1] - pole }]).collect()
}

/// Distance outward of a point from a line of points from the pole to the rim, its ends going on straight.
fn outward(line: &[[f64; 2]], p: [f64; 2]) -> f64 {
    let last = line.len() - 2;
    let mut best = (f64::INFINITY, 0.0);
    for (k, w) in line.windows(2).enumerate() {
        let d = [w[1][0] - w[0][0], w[1][1] - w[0][1]];
        let length = libm::hypot(d[0], d[1]);
        if length == 0.0 {
            continue;
        }
        let e = [d[0] / length, d[1] / length];
        let q = [p[0] - w[0][0], p[1] - w[0][1]];
        let along = q[0] * e[0] + q[1] * e[1];
        let t = along.clamp(0.0, if k == last { f64::INFINITY } else { length });
        let gap = libm::hypot(q[0] - t * e[0], q[1] - t * e[1]);
        if gap < best.0 {
            best = (gap, (q[0] * e[1] - q[1] * e[0]).signum() * gap);
        }
    }
    best.1
}

/// Lays the spots over a computed outline. `clean` says which lie on the measured outline's own smooth curve (dust and the like do
/// not); `density` is the scale with its error; `lift` the height of the pole over the origin, m.
pub(super) fn compare(
    state: &str,
    computed: &[[f64; 2]],
    spots: &[Spot],
    clean: &[bool],
    density: Measured,
    lift: f64,
) -> Option<Comparison> {
    let share = (density.sd / density.value).max(1e-9);
    let place = |s: &Spot, p: &[f64]| {
        let factor = 1.0 + share * p[1];
        [s.x.abs() * factor, (s.z - lift) * factor - p[0]]
    };
    let scatter = |p: &[f64]| spots.iter().map(|s| outward(computed, place(s, p))).collect::<Vec<f64>>();
    let mut residuals = |p: &[f64], out: &mut Vec<f64>| {
        out.extend(scatter(p).iter().zip(spots).zip(clean).filter(|(_, c)| **c).map(|((d, s), _)| d / s.sd));
        out.push(p[1]);
        true
    };
    let size = computed.iter().map(|p| p[0]).fold(0.0, f64::max);
    let settings = FitSettings { tolerance: 1e-6, difference: 1e-3, ..FitSettings::default() };
    let fit = least_squares(&[0.0, 0.0], &[1e-2 * size, 1.0], &mut residuals, &settings).ok()?;
    let distances = scatter(&fit.at);
    let kept: Vec<f64> = distances.iter().zip(clean).filter(|(_, c)| **c).map(|(d, _)| *d).collect();
    let n = kept.len() as f64;
    // Neighbours go together in what the picture adds, not in a true difference of shapes: what is left of a smooth curve tells.
    let rough: Vec<f64> = kept.windows(3).map(|w| w[1] - 0.5 * (w[0] + w[2])).collect();
    let factor = correlation(&rough).max(1.0);
    let (chi2, freedom) = (fit.squares / factor, ((n - 2.0) / factor).max(1.0));
    let chance = 1.0 - chi_squared::below(chi2, freedom);
    let rms = (kept.iter().map(|d| d * d).sum::<f64>() / n).sqrt();
    let worst = (0..spots.len())
        .filter(|k| clean[*k])
        .max_by(|a, b| distances[*a].abs().total_cmp(&distances[*b].abs()))?;
    let agreement = if chance >= UNLIKELY {
        "agrees"
    } else if distances[worst].abs() < SLIGHT * size {
        "differs slightly"
    } else {
        "differs"
    };
    let um = |x: f64| format!("{:.0} µm", 1e6 * x);
    let says = match agreement {
        "agrees" => format!(
            "The outline is the computed one within the errors of the picture: {} rms, {} at most.",
            um(rms),
            um(distances[worst].abs())
        ),
        "differs slightly" => format!(
            "The outline lies near the computed one ({} rms, {} at most), but further than the errors of the picture explain. The tolerances of \
             the case and the errors that one picture cannot show are not counted.",
            um(rms),
            um(distances[worst].abs())
        ),
        _ => format!(
            "The outline is not the computed one: {} rms, {} at most, {:.2} mm from the axis.",
            um(rms),
            um(distances[worst].abs()),
            1e3 * spots[worst].x.abs()
        ),
    };
    Some(Comparison {
        state: state.to_owned(),
        chi2,
        freedom,
        chance,
        distance_rms_m: rms,
        distance_largest_m: distances[worst],
        largest_at_r_m: spots[worst].x.abs(),
        scale_moved: fit.at[1],
        agreement,
        says,
        computed_m: computed.iter().map(|p| [p[0], p[1] + fit.at[0]]).collect(),
        distances_m: distances,
    })
}

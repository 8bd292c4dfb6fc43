//! Profiles of a forming tool for discs of sheet metal: a punch with the hollow face, a die with the other, the blank between them.
//!
//! The profiles are those of the finished part. Springback is not in them: how far a disc opens again hangs on yield, sheet and press,
//! and is left to the maker. The blank has the area of the middle surface, A = 2π ∫ r ds, so its radius is √(A/π) (even sheet, no
//! thinning; for a cap of a sphere 2R sin(α/2), closed form).

use std::f64::consts::PI;

use calotte_specimen::Part;

use crate::section::section;
use crate::sketch::{Anchor, Layer, Sketch};

/// A tool; the sketch is in mm.
#[derive(Clone, Debug)]
pub struct Tool {
    /// Half sections of punch (above) and die (below), the axis at x = 0, each a closed path.
    pub sketch: Sketch,
    /// Radius of the flat blank, m.
    pub blank_radius: f64,
    /// Radius of the hole in the blank, m; 0 without one.
    pub blank_hole: f64,
    /// Least radius of curvature that the sheet is bent to along the meridian, over its thickness; infinite where it is straight.
    pub tightest: f64,
    /// What the maker should know.
    pub notes: Vec<String>,
}

/// Stiffness from which a material is taken for metal, Pa: rubbers and most plastics lie below. Common practice, no source.
pub const METAL: f64 = 10e9;

/// Whether every material of the wall is that stiff.
pub fn is_metal(part: &Part) -> bool {
    part.wall.layers().map_or(part.material.youngs >= METAL, |l| {
        l.layers.iter().all(|one| one.youngs.at(l.temperature)[0] >= METAL)
    })
}

/// The tool of a part.
///
/// # Errors
/// In words, where there is no section or a face cannot be pressed along the axis.
pub fn tool(part: &Part) -> Result<Tool, String> {
    let s = section(part, 1e-6)?;
    for (face, points) in [("die's", &s.outer), ("punch's", &s.inner)] {
        if let Some(w) = points.windows(2).find(|w| w[1][0] < w[0][0] - 1e-9) {
            return Err(format!(
                "the {face} face turns back at radius {:.3} mm: no straight stroke forms that part",
                1e3 * w[0][0]
            ));
        }
    }
    let mm = |p: &[f64; 2]| [1e3 * p[0], 1e3 * p[1]];
    let all = || s.outer.iter().chain(&s.inner);
    let low = 1e3 * all().map(|p| p[1]).fold(f64::INFINITY, f64::min);
    let high = 1e3 * all().map(|p| p[1]).fold(f64::NEG_INFINITY, f64::max);
    let reach = 1e3 * all().map(|p| p[0]).fold(0.0, f64::max) + 5.0;
    let body = (high - low).max(5.0) + 8.0;
    let mut sketch = Sketch::default();
    let half = |face: &[[f64; 2]], far: f64| {
        let mut path: Vec<[f64; 2]> = Vec::new();
        let first = mm(&face[0]);
        if first[0] > 0.0 {
            path.push([0.0, first[1]]);
        }
        path.extend(face.iter().map(mm));
        let last = path[path.len() - 1];
        // On along the last tangent's height: the sheet ends at the rim.
        path.extend([[reach, last[1]], [reach, far], [0.0, far]]);
        path
    };
    sketch.path(Layer::Outline, half(&s.inner, high + body), true);
    sketch.path(Layer::Outline, half(&s.outer, low - body), true);
    sketch.line(Layer::Centre, [0.0, low - body - 4.0], [0.0, high + body + 4.0]);
    let tall = (0.04 * reach).clamp(0.8, 3.0);
    sketch.text([0.08 * reach, high + 0.5 * body], tall, Anchor::Start, "PUNCH");
    sketch.text([0.08 * reach, low - 0.5 * body], tall, Anchor::Start, "DIE");
    let below = [0.0, low - body - 4.0 - 2.0 * tall];
    sketch.text(below, tall, Anchor::Start, "FINISHED SHAPE, NO SPRINGBACK");
    // Area of the middle surface by Simpson's rule over short pieces; breaks fall on ends of pieces.
    let m = &part.meridian;
    let mut ends: Vec<f64> = m.breaks();
    ends.extend([0.0, m.length()]);
    ends.retain(|e| (0.0..=m.length()).contains(e));
    ends.sort_by(f64::total_cmp);
    ends.dedup();
    let mut area = 0.0;
    let mut tightest = f64::INFINITY;
    for w in ends.windows(2) {
        let n = 200;
        let d = (w[1] - w[0]) / f64::from(n);
        for k in 0..n {
            let a = w[0] + f64::from(k) * d;
            let mid = m.at(a + 0.5 * d);
            area += 2.0 * PI * d / 6.0 * (m.at(a).r + 4.0 * mid.r + m.before(a + d).r);
            if mid.curvature != 0.0 {
                tightest = tightest.min(1.0 / (mid.curvature.abs() * part.wall.thickness(a + 0.5 * d)));
            }
        }
    }
    let hole = m.at(0.0).r;
    let mut notes = vec![
        "The profiles are those of the finished part: springback is not in them and is left to the maker, who tries a first tool.".to_owned(),
        "The blank keeps the area of the middle surface: even sheet, no thinning.".to_owned(),
    ];
    if m.joints().iter().any(|j| j.turn.abs() > 1e-9) {
        notes.push("The meridian has sharp corners: sheet needs a bending radius there, at least about its own thickness.".to_owned());
    } else if tightest < 3.0 {
        notes.push(format!(
            "The sheet is bent to {tightest:.1} times its thickness: ask the maker whether it bears that."
        ));
    }
    if s.turned {
        notes.push("The part is drawn with its rim upwards.".to_owned());
    }
    Ok(Tool { sketch, blank_radius: (area / PI + hole * hole).sqrt(), blank_hole: hole, tightest, notes })
}

#[cfg(test)]
mod tests {
    use super::*;
    use calotte_specimen::{Material, Meridian, Rim, SphereCap, Wall};

    /// Closed form: the blank of a cap has radius 2R sin(α/2).
    #[test]
    fn the_blank_of_a_cap() {
        let shape = SphereCap { radius: 120e-3, half_angle: 0.1, hole_angle: 0.0 };
        let material = Material { youngs: 1.7e11, poisson: 0.3, density: None };
        let part =
            Part { meridian: Meridian::Sphere(shape), wall: Wall::uniform(0.2e-3), material, rim: Rim::Free };
        let t = tool(&part).unwrap();
        assert!((t.blank_radius - 2.0 * 120e-3 * libm::sin(0.05)).abs() < 1e-12, "{}", t.blank_radius);
        assert!((t.tightest - 600.0).abs() < 1e-6);
        assert!(is_metal(&part));
        assert!(t.notes[0].contains("springback"));
    }
}

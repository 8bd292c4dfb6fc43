//! Turning a part inside out by its pole (or hole edge), as a path with shapes: how far, with which force, storing how much.
//!
//! The path is that of the fallback of a verdict ([`crate::report::Eversion`]): equilibria under a force on the inner end, followed by
//! arclength through all limits, on the finer of two meshes that the grading gives.

use calotte_solve::{Potential, Work};
use serde::Serialize;

use crate::eversion;
use crate::film::{Camera, Film, Frame, MOST, thinned};
use crate::report::Eversion;
use crate::scene::Scene;
use crate::subject::Subject;

/// The path of turning a part inside out.
#[derive(Clone, Debug, Serialize)]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct TurningReport {
    /// Title of the case.
    pub title: String,
    /// Travel of the inner end from the natural shape to its mirror image.
    pub whole_m: f64,
    /// Equilibria on the way.
    pub rows: Vec<TurningRow>,
    /// Highest force, least force after it, how the path ended.
    pub eversion: Eversion,
}

/// One equilibrium.
#[derive(Clone, Copy, Debug, Serialize)]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct TurningRow {
    /// Travel of the inner end.
    pub travel_m: f64,
    /// The same over the whole way.
    pub share: f64,
    /// Force on the inner end.
    pub force_N: f64,
    /// Energy stored.
    pub energy_J: f64,
}

/// Follows the path, with shapes. `None` for a part that has no rise to turn.
pub fn turning_with_film(subject: &dyn Subject) -> Option<(TurningReport, Film)> {
    let part = subject.part();
    let scene = Scene::new(part);
    let m = &part.meridian;
    let rise = m.at(m.length()).z - m.at(0.0).z;
    if !(scene.radius.is_finite() && rise > 1e-9 * scene.radius) {
        return None;
    }
    let t = scene.own;
    let model = scene.model_on(&scene.model(t).0.bisected());
    let mut work = Work::default();
    let joule = part.material.youngs * scene.radius.powi(3) * t;
    let start = calotte_shell::natural(&model);
    let none = model.energy(&start, t);
    let at = model.inner_height();
    let mut states: Vec<Vec<f64>> = vec![start.clone()];
    let row = |x: &[f64], force: f64| {
        let travel = (x[at] - start[at]) * scene.radius;
        TurningRow {
            travel_m: travel,
            share: travel / (2.0 * rise),
            force_N: force,
            energy_J: (model.energy(x, t) - none) * joule,
        }
    };
    let mut rows = vec![row(&start, 0.0)];
    let (eversion, _) = eversion::push_watched(&scene, &model, t, &mut work, &mut |x, force| {
        rows.push(row(x, force));
        states.push(x.to_vec());
    });
    let camera = Camera::new(part);
    let frames = thinned(states.len(), MOST, [])
        .into_iter()
        .map(|i| Frame { at: i as f64, row: Some(i), ..camera.frame(&model, &states[i], t) })
        .collect();
    let report = TurningReport { title: subject.title().to_owned(), whole_m: 2.0 * rise, rows, eversion };
    Some((report, camera.film("path", frames)))
}

#[cfg(test)]
mod tests {
    use calotte_specimen::{new_template, read_case};

    use super::*;

    /// What is stored is the work of the force (trapezoidal rule), and the shapes carry it: the integral of the energy over the natural
    /// area, a second way through the film's fields.
    #[test]
    fn energy_is_work_and_lies_in_the_wall() {
        let text = new_template("cap").unwrap();
        let none = |_: &str| Err(std::io::ErrorKind::NotFound.into());
        let case = read_case(text.as_bytes(), &none).0.unwrap();
        let (report, film) = turning_with_film(&case).unwrap();
        // It ends where the force has fallen to zero: the pole is through the plane of the rim, and not yet at its mirror image.
        let last = report.rows[report.rows.len() - 1];
        assert!(report.eversion.inverted_found && last.share > 0.5 && last.share < 1.0, "{last:?}");
        assert!(
            report.rows.len() > 15 && last.force_N.abs() < 0.1 * report.eversion.largest_force_N,
            "{last:?}"
        );
        let most = report.rows.iter().map(|r| r.energy_J).fold(0.0, f64::max);
        let mut work = 0.0;
        for w in report.rows.windows(2) {
            work += 0.5 * (w[0].force_N + w[1].force_N) * (w[1].travel_m - w[0].travel_m);
            assert!((work - w[1].energy_J).abs() < 0.02 * most, "{work} {}", w[1].energy_J);
        }
        for f in &film.frames {
            let mut stored = 0.0;
            for i in 1..film.s_m.len() {
                let ring = |k: usize| {
                    let r = case.part().meridian.at(film.s_m[k]).r;
                    2.0 * std::f64::consts::PI * r * f.energy_J_per_m2[k]
                };
                stored += 0.5 * (ring(i) + ring(i - 1)) * (film.s_m[i] - film.s_m[i - 1]);
            }
            let want = report.rows[f.row.unwrap()].energy_J;
            assert!((stored - want).abs() < 0.01 * most, "{stored} {want} of {most}");
        }
    }
}

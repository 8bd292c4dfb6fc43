//! What is read of the inverted state, of its wait and of the part at rest.

use std::f64::consts::PI;

use calotte_shell::{Model, mirror};
use calotte_solve::Work;
use calotte_solve::minimise::{self, minimise};
use calotte_solve::quadrature::gauss_legendre;
use calotte_specimen::{Motion, Part};

use super::{NoReading, Reading};
use crate::film::surface_strain;
use crate::release::settled_wait;
use crate::scene::{Scene, is_inverted};
use crate::state::{self, Inverted};

/// The inverted state of the part as described.
pub(super) struct Inside {
    /// Whether the peak strain is that of a pressed key instead.
    pub(super) key: bool,
    known: Option<Inverted>,
}

impl Inside {
    pub(super) fn of(part: &Part, key: bool, work: &mut Work) -> Self {
        let known = if key { None } else { state::solve(&Scene::new(part), None, work) };
        Self { key, known }
    }

    /// Whether others are followed from it.
    pub(super) fn known(&self) -> bool {
        self.known.is_some()
    }

    /// Largest strain at a face of the wall, a number, of the round inverted state (whether or not it is lost in waves).
    pub(super) fn read(&self, part: &Part, anew: bool, work: &mut Work) -> Reading {
        let scene = Scene::new(part);
        if !anew && let Some(k) = &self.known {
            let model = k.model.similar(&scene.part);
            let shift = mirror(&k.model).into_iter().zip(mirror(&model));
            let x = k.state.x.iter().zip(shift).map(|(x, (was, is))| x + is - was).collect();
            let set = minimise::Settings { iterations: 60, ..minimise::Settings::default() };
            if let Ok(m) = minimise(&model, x, scene.own, &set, work)
                && is_inverted(&model.profile(&m.x, 6))
            {
                return Ok(largest(&model, &m.x, scene.own));
            }
        }
        match state::solve(&scene, None, work) {
            Some(found) => Ok(largest(&found.model, &found.state.x, scene.own)),
            None if returns(&scene, work) => {
                Err(NoReading::Nowhere("it returns: there is no inverted state to be strained".to_owned()))
            }
            None => Err(NoReading::Failed("its inverted state was not found".to_owned())),
        }
    }
}

/// Whether a threshold is known and the part lies beyond it.
pub(super) fn returns(scene: &Scene, work: &mut Work) -> bool {
    crate::threshold::find(scene, work).is_ok_and(|t| scene.own > t.fold.t)
}

fn largest(model: &Model, x: &[f64], own: f64) -> f64 {
    model.profile(x, 6).samples.iter().map(|s| surface_strain(s, own)).fold(0.0, f64::max)
}

/// The wait after the hold of `motion`, s, as a release tells it; infinite when the part stays.
pub(super) fn wait(part: &Part, motion: &Motion, work: &mut Work) -> Reading {
    let point = settled_wait(part, motion, work).map_err(|fault| NoReading::Failed(fault.to_string()))?;
    match (point.wait_s, point.stays) {
        (_, true) => Ok(f64::INFINITY),
        (Some(t), _) => Ok(t),
        (None, _) if point.rests => Err(NoReading::Failed(
            "after the hold it rests but gives way in waves round the axis; how long that takes is not known"
                .to_owned(),
        )),
        (None, _) => Err(NoReading::Failed("its wait was not found".to_owned())),
    }
}

/// ρ ∫ 2πr h ds over the mid-surface, kg.
pub(super) fn mass(part: &Part) -> Reading {
    let Some(density) = part.material.density else {
        return Err(NoReading::Failed("nothing gives its density".to_owned()));
    };
    let m = &part.meridian;
    let length = m.length();
    let mut ends: Vec<f64> = m.breaks();
    ends.extend(part.wall.breaks());
    ends.extend([0.0, length]);
    ends.retain(|s| (0.0..=length).contains(s));
    ends.sort_by(f64::total_cmp);
    ends.dedup_by(|a, b| (*a - *b).abs() < 1e-12 * length);
    let rule = gauss_legendre(8);
    let mut volume = 0.0;
    for w in ends.windows(2) {
        // Arcs may sweep far: four pieces each.
        for k in 0..4 {
            let step = 0.25 * (w[1] - w[0]);
            let from = w[0] + step * f64::from(k);
            volume += rule
                .iter()
                .map(|&(u, share)| {
                    let s = from + u * step;
                    share * step * 2.0 * PI * m.at(s).r * part.wall.thickness(s)
                })
                .sum::<f64>();
        }
    }
    Ok(density * volume)
}

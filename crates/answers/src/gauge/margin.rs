//! ln(h*/h): thresholds of thickness followed from one part to others.

use calotte_shell::{Harmonics, Model};
use calotte_solve::Work;
use calotte_solve::fold::Fold;
use calotte_specimen::Part;

use super::{InWaves, NoReading};
use crate::ripples;
use crate::scene::Scene;
use crate::threshold::{self, Nearby, NoThreshold};

/// The threshold of the part as described.
pub(super) struct Thresholds {
    known: Option<Known>,
}

struct Known {
    nearby: Nearby,
    /// ln of the threshold's thickness on the finest mesh over that on the standard mesh, on which others are followed.
    finer: f64,
}

impl Thresholds {
    /// That of a part whose material has lost the share `lag` of its stresses.
    pub(super) fn of(part: &Part, lag: f64, work: &mut Work) -> Self {
        let scene = Scene::lagging(part, lag);
        let known = find(&scene, work).ok().and_then(|t| {
            let mut nearby = Nearby::new(&scene, &t);
            let standard = nearby.find(&scene, work).ok()?;
            Some(Known { nearby, finer: libm::log(t.fold.t / standard) })
        });
        Self { known }
    }

    /// Whether others are followed from it.
    pub(super) fn known(&self) -> bool {
        self.known.is_some()
    }

    /// ln(h*/h) of another part. h* is the least thickness at which the inverted state is lost, be it round or in waves.
    pub(super) fn read(&self, part: &Part, lag: f64, anew: bool, work: &mut Work) -> InWaves {
        let scene = Scene::lagging(part, lag);
        let least = 0.05 * scene.own;
        if !anew
            && let Some(k) = &self.known
            && let Some((model, fold)) = k.nearby.beside(&scene, work)
            && let Ok((t, n)) = governed(&model, &fold, least, work)
        {
            return Ok((libm::log(t / scene.own) + k.finer, n));
        }
        let found = find(&scene, work).map_err(|why| {
            NoReading::Failed(match why {
                NoThreshold::NoInverted => {
                    "no inverted state was found at any thickness of the wall".to_owned()
                }
                NoThreshold::NoFold { .. } => {
                    "no thickness was found at which it would just stay: inverted states go on".to_owned()
                }
            })
        })?;
        governed(&found.fine, &found.fold, least, work)
            .map(|(t, n)| (libm::log(t / scene.own), n))
            .map_err(|why| NoReading::Failed(why.to_owned()))
    }
}

fn find(scene: &Scene, work: &mut Work) -> Result<threshold::Threshold, NoThreshold> {
    if scene.radius.is_finite() && scene.radius > 0.0 {
        threshold::find(scene, work)
    } else {
        Err(NoThreshold::NoInverted)
    }
}

/// The factor at which the first stability is lost on the way up to a fold, and in how many waves: its own, or that of the first
/// of the waves lost there.
fn governed(model: &Model, fold: &Fold, least: f64, work: &mut Work) -> Result<(f64, u32), &'static str> {
    let (last, _) = ripples::wave_bound(model, &fold.x, fold.t);
    let harmonics = Harmonics::new(model, &fold.x, fold.t);
    let mut first = (fold.t, 0);
    for n in 1..=last {
        let lost = harmonics
            .negative(n, work)
            .ok_or("at its threshold some waves round the axis could not be counted")?;
        if lost > 0 {
            let at = threshold::ripple_loss(model, fold, least.min(0.05 * fold.t), n, work)
                .ok_or("waves round the axis are lost before the threshold, but where was not bracketed")?;
            if at < first.0 {
                first = (at, n);
            }
        }
    }
    Ok(first)
}

//! Parts, motions and a subject for the checks.

use calotte_answers::release::report::ReleaseReport;
use calotte_answers::release::{Ask, Fault, Watch, release};
use calotte_answers::{Detail, Given, Subject, verdict};
use calotte_specimen::{
    Heat, Hold, Load, Material, Memory, MemoryTerm, Meridian, Motion, Part, Rests, Rim, SphereCap,
    Surroundings, TimeShift, Wall,
};
use std::sync::atomic::AtomicBool;

/// A free cap of a sphere of radius 1 with E = ρ = 1: times come in R √(ρ/E).
pub(crate) fn cap(alpha_deg: f64, h: f64, nu: f64) -> Part {
    Part {
        meridian: Meridian::Sphere(SphereCap {
            radius: 1.0,
            half_angle: alpha_deg.to_radians(),
            hole_angle: 0.0,
        }),
        wall: Wall::uniform(h),
        material: Material { youngs: 1.0, poisson: nu, density: Some(1.0) },
        rim: Rim::Free,
    }
}

/// The cap with `ratio` of its threshold thickness, all sizes times `radius`.
pub(crate) fn at_threshold(
    alpha_deg: f64,
    nu: f64,
    ratio: f64,
    radius: f64,
    youngs: f64,
    density: f64,
) -> Part {
    let h = threshold(alpha_deg, nu);
    Part {
        meridian: Meridian::Sphere(SphereCap { radius, half_angle: alpha_deg.to_radians(), hole_angle: 0.0 }),
        wall: Wall::uniform(h * ratio * radius),
        material: Material { youngs, poisson: nu, density: Some(density) },
        rim: Rim::Free,
    }
}

/// Threshold h/R of a cap, as the verdict finds it.
pub(crate) fn threshold(alpha_deg: f64, nu: f64) -> f64 {
    let guess = (12.0 * (1.0 - nu * nu)).sqrt() * (alpha_deg.to_radians() / (5.087 + 1.31 * nu)).powi(2);
    let v = verdict(&cap(alpha_deg, guess, nu), Detail { branch: false, depth: false });
    v.margin.map_or(f64::NAN, |m| m.threshold_thickness_m)
}

pub(crate) fn memory(terms: &[(f64, f64)]) -> Option<Memory> {
    let terms = terms.iter().map(|(share, time)| MemoryTerm { share: *share, time: *time }).collect();
    Some(Memory { terms, shift: TimeShift::None })
}

pub(crate) fn on_table(gravity: f64) -> Motion {
    let surroundings = Surroundings { gravity, rests: Rests::Table, ..Surroundings::default() };
    Motion { surroundings, ..Motion::default() }
}

pub(crate) fn held(hold: Hold) -> Motion {
    Motion { hold, ..Motion::default() }
}

pub(crate) fn go(part: &Part, motion: &Motion, ask: &Ask) -> Result<ReleaseReport, Fault> {
    release(part, motion, ask, &mut |_| true)
}

pub(crate) const QUICK: Ask =
    Ask { until: None, ringing: true, landing: false, steps: 60_000, evidence: false };

pub(crate) static GO_ON: AtomicBool = AtomicBool::new(false);

pub(crate) fn watch(threads: usize) -> Watch<'static> {
    Watch { threads, stop: &GO_ON, progress: &|_| () }
}

/// A part with a motion; its thickness and its hold time have tolerances.
pub(crate) struct Specimen {
    pub(crate) part: Part,
    pub(crate) motion: Motion,
    pub(crate) tolerances: [f64; 2],
}

impl Subject for Specimen {
    fn title(&self) -> &str {
        "specimen"
    }
    fn shape_name(&self) -> &str {
        self.part.shape_name()
    }
    fn part(&self) -> &Part {
        &self.part
    }
    fn givens(&self) -> Vec<Given> {
        let h = self.part.wall.thickness(0.0);
        let given = |key: &str, value: f64, share: f64| Given {
            key: key.to_owned(),
            value,
            half_width: Some(share * value),
        };
        vec![
            given("wall.thickness", h, self.tolerances[0]),
            given("hold.time", self.motion.hold.time, self.tolerances[1]),
        ]
    }
    fn with_given(&self, i: usize, value: f64) -> Option<Part> {
        (i == 0).then(|| Part { wall: Wall::uniform(value), ..self.part.clone() })
    }
    fn depth(&self) -> f64 {
        self.part.depth()
    }
    fn with_depth(&self, depth: f64) -> Option<Part> {
        self.part.with_depth(depth)
    }
    fn depth_rule(&self) -> &str {
        self.part.depth_rule()
    }
    fn changed(&self, changes: &[(usize, f64)], depth: Option<f64>) -> Option<(Part, Load)> {
        let mut part = self.part.clone();
        for (i, value) in changes {
            if *i == 0 {
                part.wall = Wall::uniform(*value);
            }
        }
        part.changed(&[], depth)
    }
    fn motion(&self) -> Motion {
        self.motion.clone()
    }
    fn heat(&self) -> Option<Heat> {
        None
    }
    fn heated(&self, changes: &[(usize, f64)]) -> Option<(Part, Heat)> {
        Some((self.changed(changes, None)?.0, Heat::default()))
    }
    fn moved(&self, changes: &[(usize, f64)]) -> Option<(Part, Motion)> {
        let mut motion = self.motion.clone();
        for (i, value) in changes {
            if *i == 1 {
                motion.hold.time = *value;
            }
        }
        Some((self.changed(changes, None)?.0, motion))
    }
}

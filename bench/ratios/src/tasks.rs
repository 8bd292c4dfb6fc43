//! The tasks, done the way the program does them.

use calotte_answers::{Detail, verdict};
use calotte_shell::{Grading, Mesh, Model, mirror};
use calotte_solve::{Work, fold, minimise};
use calotte_specimen::{Material, Meridian, Part, Rim, SphereCap, Wall};

/// A cap of ν = 0.3 with a known answer.
pub(crate) struct Case {
    pub(crate) degrees: f64,
    pub(crate) h: f64,
    /// Energy (inverted) or threshold h/R.
    pub(crate) known: f64,
}

/// Inverted equilibria; known total energies over E R³, recomputed by collocation (see the oracle).
pub(crate) const INVERTED: [Case; 2] = [
    Case { degrees: 20.0, h: 0.005, known: 1.4398667540e-9 + 1.6043131460e-8 },
    Case { degrees: 60.0, h: 0.05, known: 1.1756439617e-5 + 1.3475168109e-4 },
];

/// Thresholds h/R, recomputed by collocation (see the oracle); `h` is the rough value a search starts from.
pub(crate) const THRESHOLDS: [Case; 2] = [
    Case { degrees: 60.0, h: 0.12, known: 0.123479907272 },
    Case { degrees: 90.0, h: 0.27, known: 0.287606279406 },
];

fn cap(degrees: f64, h: f64) -> Part {
    Part {
        meridian: Meridian::Sphere(SphereCap {
            radius: 1.0,
            half_angle: degrees.to_radians(),
            hole_angle: 0.0,
        }),
        wall: Wall::uniform(h),
        material: Material { youngs: 1.0, poisson: 0.3, density: None },
        rim: Rim::Free,
    }
}

impl Case {
    fn start(&self, edge: f64, longest: f64, t: f64) -> (Model, Vec<f64>) {
        let part = cap(self.degrees, self.h);
        let grading = Grading { edge, growth: 1.25, longest, ..Grading::default() };
        let model = Model::new(&part, 1.0, &Mesh::graded(&part, 1.0, &grading));
        let set = minimise::Settings::default();
        let state = minimise::minimise(&model, mirror(&model), t, &set, &mut Work::default());
        (model, state.map_or_else(|_| Vec::new(), |m| m.x))
    }

    /// Mesh, model, mirror image, minimum: its energy.
    pub(crate) fn inverted(&self) -> f64 {
        let (model, x) = self.start(0.38, 0.14, 1.0);
        if x.is_empty() { f64::NAN } else { model.energies(&x, 1.0).total() }
    }

    /// Mesh, model, an inverted state, its fold over thickness: h*/R.
    pub(crate) fn threshold(&self) -> f64 {
        let (model, x) = self.start(0.3, 0.11, 0.93);
        let mut work = Work::default();
        fold::softest(&model, &x, 0.93, &mut work)
            .and_then(|(v, _)| fold::refine(&model, x, 0.93, v, 0.3, &mut work).ok())
            .map_or(f64::NAN, |f| f.t * self.h)
    }
}

/// Whole verdicts: name, description, seconds, work.
pub(crate) fn verdicts(batches: usize) -> Vec<(&'static str, String, f64, String)> {
    let detail = Detail { branch: false, depth: true };
    [
        ("verdict that stays", 60.0, 0.05),
        ("verdict near the threshold", 60.0, 0.12),
        ("verdict that returns", 60.0, 0.13),
        ("verdict of a thin cap", 45.0, 0.005),
    ]
    .into_iter()
    .map(|(name, degrees, h)| {
        let part = cap(degrees, h);
        let r = verdict(&part, detail);
        let w = r.evidence.work;
        let work = format!(
            "{} assemblies, {} factorisations, {} ripples",
            w.assemblies,
            w.factorisations,
            r.ripples.len()
        );
        (name, format!("α {degrees}°, h/R {h}"), crate::time(batches, 4, || verdict(&part, detail)), work)
    })
    .collect()
}

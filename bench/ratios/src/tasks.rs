//! The tasks, done the way the program does them.

use calotte_answers::map::{AxisSpec, Quantity, Request, map};
use calotte_answers::release::{Ask, release};
use calotte_answers::{Detail, verdict};
use calotte_shell::{Around, Grading, InMotion, Loaded, Mesh, Model, mirror, natural};
use calotte_solve::follow::{self, Watch};
use calotte_solve::march::{March, Settings, Stuck};
use calotte_solve::{Relaxing, State, Work, fold, minimise};
use calotte_specimen::{Material, Meridian, Motion, Part, Rim, SphereCap, Wall, read_case};

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

/// Load path of a cap on a sliding rim under a force on its apex, natural to twice its rise, with both limits; the first
/// limit over `E h³/R`. Known: 2.358584 (recomputed by collocation; see the oracle).
pub(crate) fn load_path() -> f64 {
    let (alpha, h) = (45.0_f64.to_radians(), 0.05);
    let part = Part { rim: Rim::Ring, ..cap(45.0, h) };
    let grading = Grading { pole: Some(0.05), longest: 0.16, ..Grading::default() };
    let model = Model::new(&part, 1.0, &Mesh::graded(&part, 1.0, &grading));
    let unit = h * h * h;
    let pushed = Loaded::on_inner_end(&model, 1.0, unit);
    let at = model.inner_height();
    let rise = 1.0 - libm::cos(alpha);
    let mut work = Work::default();
    let set = follow::Settings {
        step: 0.01 * rise,
        longest: 0.15 * rise,
        weight: 0.1 * rise,
        turn: 0.12,
        points: 400,
        ..follow::Settings::default()
    };
    let Some(from) = follow::start(&pushed, natural(&model), 0.0, true, set.weight, &mut work) else {
        return f64::NAN;
    };
    let mut turns = Vec::new();
    follow::follow(&pushed, from, &set, &mut work, |here, next| {
        if here.dt * next.dt < 0.0 {
            turns.push(if here.dt.abs() < next.dt.abs() { here.clone() } else { next.clone() });
        }
        if next.x[at] + rise > 2.0 * rise { Watch::Stop } else { Watch::Go }
    });
    let limits: Vec<f64> = turns
        .into_iter()
        .filter_map(|p| {
            let (v, _) = fold::softest(&pushed, &p.x, p.t, &mut work)?;
            fold::refine(&pushed, p.x, p.t, v, 0.1, &mut work).ok().map(|f| f.t)
        })
        .collect();
    if limits.len() == 2 { limits[0] } else { f64::NAN }
}

/// Thresholds h/R at α = 45°, ν = 0.3 and 0.5 (recomputed by collocation, `bench/scipy/wait.py`).
const THRESHOLD_45: [f64; 2] = [0.068_631_279_08, 0.056_973_204_83];

/// A free cap beyond its threshold, afloat, from rest in the shape of its fold: the time until pole and rim are at
/// one height, over R√(ρ/E). The whole answer up to just after that, with threshold, history and shapes.
pub(crate) fn halfway(delta: f64, until: f64) -> f64 {
    let mut part = cap(45.0, THRESHOLD_45[0] * (1.0 + delta));
    part.material.density = Some(1.0);
    let ask = Ask { until: Some(until), evidence: false, ..Ask::default() };
    release(&part, &Motion::default(), &ask, &mut |_| true)
        .ok()
        .and_then(|r| r.snap)
        .map_or(f64::NAN, |s| s.halfway_s)
}

/// A cap with a memory (ν = 0.5, g = 0.2, τ = 1), held as its mirror image for `hold`, h 1 % beyond the threshold: threshold,
/// equilibrium when let go, and the time until it ends, without inertia.
pub(crate) fn wait(hold: f64) -> f64 {
    let mut part = cap(45.0, THRESHOLD_45[1]);
    part.material.poisson = 0.5;
    let model = Model::new(&part, 1.0, &Mesh::graded(&part, 1.0, &Grading::default()));
    let mut work = Work::default();
    let set = minimise::Settings::default();
    let Some(threshold) = minimise::minimise(&model, mirror(&model), 0.93, &set, &mut work)
        .ok()
        .and_then(|m| fold::softest(&model, &m.x, 0.93, &mut work).map(|(v, _)| (m.x, v)))
        .and_then(|(x, v)| fold::refine(&model, x, 0.93, v, 0.3, &mut work).ok())
    else {
        return f64::NAN;
    };
    let t = 1.01 * threshold.t;
    let around =
        Around { terms: vec![Relaxing { share: 0.2, time: 1.0 }], inertialess: true, ..Around::default() };
    let motion = InMotion::new(model.clone(), t, around);
    let mut state = State::at_rest(&motion, mirror(&model)).held(&motion, hold);
    let relaxed = model.strained(&state.memory(&motion));
    let Ok(found) = minimise::minimise(&relaxed, state.q.clone(), t, &set, &mut work) else {
        return f64::NAN;
    };
    state.q = found.x;
    let rise = 1.0 - libm::cos(45.0_f64.to_radians());
    let set = Settings {
        tolerance: 3e-7 * rise,
        time_scale: 0.0,
        first: 1e-4,
        longest: f64::INFINITY,
        shortest: 1e-9,
    };
    let mut march = March::new(&motion, state, set);
    for _ in 0..3000 {
        if let Err(stuck) = march.step(1e4) {
            return if let Stuck::Shortest { t } = stuck { t } else { f64::NAN };
        }
    }
    f64::NAN
}

/// The case that maps are drawn of.
const CHART: &str = r#"
title = "benchmark"
[shape]
kind = "cap"
radius = "1 m"
half_angle = "30 deg"
[wall]
thickness = "0.02 m"
[material]
youngs_modulus = "1 MPa"
poisson_ratio = "0.3"
[rim]
kind = "free"
"#;

/// The threshold curve over half-angles of 5° to 90°, whole: the scan for where it starts, the curve, its check on a finer
/// mesh. Returns its end at 90°. Known: 0.2876062794.
pub(crate) fn threshold_curve() -> f64 {
    let (case, _) = read_case(CHART.as_bytes(), &|_| Err(std::io::Error::other("no files")));
    let Some(case) = case else { return f64::NAN };
    let Some(wall) = case.inputs().iter().position(|i| i.key == "wall.thickness") else { return f64::NAN };
    let axis = |quantity, key: &str, range| AxisSpec {
        quantity,
        key: key.to_owned(),
        label: key.to_owned(),
        unit: String::new(),
        unit_si: 1.0,
        range,
    };
    let request = Request {
        axes: [
            axis(Quantity::Depth, "depth", [5.0_f64.to_radians(), 90.0_f64.to_radians()]),
            axis(Quantity::Given(wall), "wall.thickness", [5e-4, 0.5]),
        ],
        margins: Vec::new(),
        trip_loads: Vec::new(),
        snapping: false,
    };
    map(&case, &request, &mut |_| true)
        .and_then(|m| m.threshold.first().map(|c| c.y_si.iter().copied().fold(0.0, f64::max)))
        .unwrap_or(f64::NAN)
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

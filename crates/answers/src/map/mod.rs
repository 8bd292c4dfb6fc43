//! How thresholds run over two numbers of a case.

mod plane;
pub mod report;
mod specimens;
mod trace;
mod trips;
mod waiting;

use calotte_solve::Work;
use calotte_solve::fold_curve::CurvePoint;
use calotte_specimen::{Heat, Load, Motion, Part};

use crate::map::plane::{Field, Problem};
use crate::map::report::{Axis, Curve, MapEvidence, MapReport, MarginCurves, ValidityCurves};
use crate::map::trace::{Traced, Window, mesh_difference, trace};
use crate::report::SCHEMA_VERSION;
use crate::ripples;
use crate::scene::{Scene, is_inverted};
use crate::subject::Subject;
use crate::threshold;
use crate::verdict::{THIN_LIMIT, THIN_WARNING};

pub use specimens::{Measured, compare};

/// One number that an axis can show.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Quantity {
    /// Depth of the part (half-angle of a cap, factor on the heights of a profile).
    Depth,
    /// A number that the case gives, by its index.
    Given(usize),
}

/// An axis as asked for.
#[derive(Clone, Debug)]
pub struct AxisSpec {
    /// What it shows.
    pub quantity: Quantity,
    /// Key, label, unit and its SI value, for people.
    pub key: String,
    /// In words.
    pub label: String,
    /// Unit.
    pub unit: String,
    /// SI value of the unit.
    pub unit_si: f64,
    /// Ends, SI; both positive.
    pub range: [f64; 2],
}

/// What a map is to show.
#[derive(Clone, Debug)]
pub struct Request {
    /// Horizontal and vertical axis.
    pub axes: [AxisSpec; 2],
    /// Margins h/h* to draw beside the threshold.
    pub margins: Vec<f64>,
    /// Trip loads (SI, in the unit of the case's load) to draw.
    pub trip_loads: Vec<f64>,
    /// Whether to draw where snapping first appears under the case's load.
    pub snapping: bool,
}

/// Columns and rows scanned for places where curves start.
const SCAN: usize = 5;

/// A subject seen through the axes of a map: places are logarithms of the two numbers.
pub struct Chart<'a> {
    subject: &'a dyn Subject,
    axes: &'a [AxisSpec; 2],
}

impl<'a> Chart<'a> {
    /// See [`Chart`].
    pub fn new(subject: &'a dyn Subject, axes: &'a [AxisSpec; 2]) -> Self {
        Self { subject, axes }
    }

    /// The part at two SI values.
    pub fn part(&self, values: [f64; 2]) -> Option<(Part, Load)> {
        let mut changes = Vec::new();
        let mut depth = None;
        for (axis, v) in self.axes.iter().zip(values) {
            match axis.quantity {
                Quantity::Depth => depth = Some(v),
                Quantity::Given(i) => changes.push((i, v)),
            }
        }
        self.subject.changed(&changes, depth)
    }

    /// The part with the first axis alone at an SI value.
    pub fn part_along(&self, value: f64) -> Option<(Part, Load)> {
        match self.axes[0].quantity {
            Quantity::Depth => self.subject.changed(&[], Some(value)),
            Quantity::Given(i) => self.subject.changed(&[(i, value)], None),
        }
    }

    /// Part and motion with the first axis alone at an SI value.
    pub fn moved_along(&self, value: f64) -> Option<(Part, Motion)> {
        match self.axes[0].quantity {
            Quantity::Depth => Some((self.subject.with_depth(value)?, self.subject.motion())),
            Quantity::Given(i) => self.subject.moved(&[(i, value)]),
        }
    }

    /// Part and device around a heated part with the first axis alone at an SI value; the default device for a wall without layers.
    pub fn heated_along(&self, value: f64) -> Option<(Part, Heat)> {
        match self.axes[0].quantity {
            Quantity::Depth => {
                Some((self.subject.with_depth(value)?, self.subject.heat().unwrap_or_default()))
            }
            Quantity::Given(i) => self.subject.heated(&[(i, value)]),
        }
    }

    /// Memory, hold and surroundings at two SI values.
    fn motion(&self, values: [f64; 2]) -> Option<Motion> {
        let given = |(axis, v): (&AxisSpec, f64)| match axis.quantity {
            Quantity::Given(i) => Some((i, v)),
            Quantity::Depth => None,
        };
        let changes: Vec<(usize, f64)> = self.axes.iter().zip(values).filter_map(given).collect();
        self.subject.moved(&changes).map(|m| m.1)
    }

    fn at(&self, p: [f64; 2]) -> Option<(Part, Load)> {
        self.part(p.map(libm::exp))
    }

    fn window(&self) -> Window {
        Window {
            low: [0, 1].map(|i| libm::log(self.axes[i].range[0])),
            high: [0, 1].map(|i| libm::log(self.axes[i].range[1])),
        }
    }

    fn here(&self, i: usize) -> (f64, Option<f64>) {
        match self.axes[i].quantity {
            Quantity::Depth => (self.subject.depth(), None),
            Quantity::Given(k) => {
                let g = &self.subject.givens()[k];
                (g.value, g.half_width)
            }
        }
    }
}

/// `ln(h*/h)` at a place, on the standard mesh; `None` without a threshold.
fn log_margin(part: &Part, lag: f64, work: &mut Work) -> Option<f64> {
    let scene = Scene::lagging(part, lag);
    threshold::find_coarse(&scene, work).ok().map(|t| libm::log(t / scene.own))
}

/// Computes a map. `progress` is told the share done and says whether to go on; `None` when it did not.
pub fn map(
    subject: &dyn Subject,
    request: &Request,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Option<MapReport> {
    let mut work = Work::default();
    let chart = Chart::new(subject, &request.axes);
    let mut report = blank(subject, &chart, request);
    let window = chart.window();
    // Places scanned: ln(h*/h) by columns, from which every curve of equal margin takes its starts.
    let mut scan = vec![vec![None; SCAN]; SCAN];
    for (c, column) in scan.iter_mut().enumerate() {
        for (r, cell) in column.iter_mut().enumerate() {
            let place = window.place([c as f64, r as f64], SCAN);
            *cell = chart.at(place).and_then(|(p, _)| log_margin(&p, 0.0, &mut work));
        }
        if !progress(0.5 * (c + 1) as f64 / SCAN as f64) {
            return None;
        }
    }
    let mut ratios = vec![1.0];
    ratios.extend(request.margins.iter().copied().filter(|m| (m - 1.0).abs() > 1e-9));
    for ratio in ratios {
        let level = -libm::log(ratio);
        let begins = starts(&scan, level);
        let found = curves_from(&chart, window, &begins, (ratio, &|_| Some(0.0)), &mut report, &mut work);
        let named = if ratio == 1.0 { "threshold".to_owned() } else { format!("curve of margin {ratio}") };
        doubt_curves(&named, begins.is_empty(), &found, &mut report.doubts);
        let curves: Vec<Curve> = found.iter().map(|t| curve(t, &mut report.evidence)).collect();
        if ratio == 1.0 {
            report.threshold = curves;
        } else {
            report.margins.push(MarginCurves { ratio, curves });
        }
    }
    waiting::add(&chart, window, &mut report, &mut work);
    if !progress(0.7) {
        return None;
    }
    trips::add(&chart, window, request, &mut report, &mut work, progress)?;
    validity(&chart, window, &mut report);
    words(&mut report);
    progress(1.0).then_some(report)
}

/// A margin, and the lag of the material at a place.
type Level<'a> = (f64, &'a dyn Fn([f64; 2]) -> Option<f64>);

/// Every curve of one level that starts at one of the places (in cells).
fn curves_from(
    chart: &Chart<'_>,
    window: Window,
    begins: &[[f64; 2]],
    level: Level<'_>,
    report: &mut MapReport,
    work: &mut Work,
) -> Vec<Traced> {
    let mut found: Vec<Traced> = Vec::new();
    for start in begins {
        let from = window.place(*start, SCAN);
        if found.iter().any(|t| passes(t, from, window)) {
            continue;
        }
        if let Some(t) = margin_curve(chart, window, from, level, report, work)
            && !found.iter().any(|o| passes(o, t.points[t.points.len() / 2].p, window))
        {
            found.push(t);
        }
    }
    found
}

/// Curves that the scan shows but that were not found, or that end inside the map, are doubtful.
fn doubt_curves(name: &str, none_expected: bool, found: &[Traced], doubts: &mut Vec<String>) {
    if found.is_empty() && !none_expected {
        doubts.push(format!("The {name} runs through the map, but could not be followed."));
    }
    if found.iter().any(|t| t.ends.iter().any(trace::is_early)) {
        doubts.push(format!("The {name} ends inside the map, where it could be followed no further."));
    }
}

/// Places (in cells) where `ln(h*/h)` passes `level` between neighbours of a column or a row.
fn starts(scan: &[Vec<Option<f64>>], level: f64) -> Vec<[f64; 2]> {
    let mut out = Vec::new();
    for c in 0..SCAN {
        for r in 0..SCAN {
            let Some(a) = scan[c][r].map(|v| v - level) else { continue };
            for (dc, dr) in [(0, 1), (1, 0)] {
                if c + dc >= SCAN || r + dr >= SCAN {
                    continue;
                }
                let Some(b) = scan[c + dc][r + dr].map(|v| v - level) else { continue };
                if a * b <= 0.0 && a != b {
                    let u = a / (a - b);
                    out.push([c as f64 + u * dc as f64, r as f64 + u * dr as f64]);
                }
            }
        }
    }
    out
}

/// Whether a traced curve passes close to a place.
fn passes(t: &Traced, p: [f64; 2], window: Window) -> bool {
    t.points.windows(2).any(|w| {
        // Distance from the chord, in shares of the window.
        let scaled = |q: [f64; 2]| [0, 1].map(|i| (q[i] - window.low[i]) / (window.high[i] - window.low[i]));
        let (a, b, q) = (scaled(w[0].p), scaled(w[1].p), scaled(p));
        let (d, e) = ([b[0] - a[0], b[1] - a[1]], [q[0] - a[0], q[1] - a[1]]);
        let len = d[0] * d[0] + d[1] * d[1];
        let u = if len > 0.0 { ((d[0] * e[0] + d[1] * e[1]) / len).clamp(0.0, 1.0) } else { 0.0 };
        libm::hypot(e[0] - u * d[0], e[1] - u * d[1]) < 0.03
    })
}

fn margin_curve(
    chart: &Chart<'_>,
    window: Window,
    from: [f64; 2],
    (ratio, lag): Level<'_>,
    report: &mut MapReport,
    work: &mut Work,
) -> Option<Traced> {
    let (part, _) = chart.at(from)?;
    let here = lag(from)?;
    let scene = Scene::lagging(&part, here);
    let found = threshold::find(&scene, work).ok()?;
    // The wall of the case, divided by the margin, is the wall at its threshold.
    let wall = |part: &Part| Part { wall: part.wall.scaled(1.0 / ratio), ..part.clone() };
    let radius = scene.radius;
    let base = calotte_shell::Model::new(&wall(&part), radius, &scene.mesh_of(&found.coarse)).turned(here);
    let x = found.coarse.transfer(&found.coarse_fold.x, &base);
    let ahead: Vec<f64> =
        found.coarse_fold.x.iter().zip(&found.coarse_fold.v).map(|(x, d)| x + 1e-4 * d).collect();
    let v: Vec<f64> =
        found.coarse.transfer(&ahead, &base).iter().zip(&x).map(|(y, x)| (y - x) / 1e-4).collect();
    let fine_mesh = scene.mesh_of(&found.coarse).bisected();
    let fine_base = calotte_shell::Model::new(&wall(&part), radius, &fine_mesh).turned(here);
    let on = |base: &calotte_shell::Model, p: [f64; 2]| {
        let (part, _) = chart.at(p)?;
        Some(Problem { model: base.similar(&wall(&part)).turned(lag(p)?), load: None, f: 0.0 })
    };
    let (build, build_fine) = (|p| on(&base, p), |p| on(&fine_base, p));
    let field = Field { base: &base, build: &build };
    let fine = Field { base: &fine_base, build: &build_fine };
    let sound = |p: &CurvePoint| {
        let model = build(p.p).ok_or("no such part exists beyond")?.model;
        if is_inverted(&model.profile(&p.x, 3)) {
            Ok(())
        } else {
            Err("beyond, the state is no longer an inverted one".to_owned())
        }
    };
    let t = trace(&field, window, (x, from, v), &sound, work)?;
    let widths = [0, 1].map(|i| window.high[i] - window.low[i]);
    let every = (t.points.len() / 4).max(1);
    for p in t.points.iter().step_by(every) {
        if let Some(d) = mesh_difference(&base, &fine, p, widths, work) {
            report.evidence.mesh_difference = report.evidence.mesh_difference.max(d);
            report.evidence.checked_points += 1;
        }
        if ratio == 1.0
            && let Some(problem) = build(p.p)
            && let Some(n) = ripples::first_lost(&problem.model, &p.x, 1.0, work)
        {
            let at = p.p.map(libm::exp);
            let says = format!(
                "Near {} a ripple with n = {n} is lost before the fold: there the part returns earlier than this curve says.",
                place_words(chart, at)
            );
            if !report.doubts.contains(&says) {
                report.doubts.push(says);
            }
        }
    }
    Some(t)
}

fn place_words(chart: &Chart<'_>, at: [f64; 2]) -> String {
    let one = |i: usize| {
        let a = &chart.axes[i];
        format!("{} {} {}", a.label, crate::explain::digits(at[i] / a.unit_si, 3), a.unit)
    };
    format!("{}, {}", one(0), one(1))
}

/// A traced curve in SI values.
fn curve(t: &Traced, evidence: &mut MapEvidence) -> Curve {
    evidence.curve_points += t.points.len();
    evidence.newton_iterations += t.iterations;
    Curve {
        x_si: t.points.iter().map(|p| libm::exp(p.p[0])).collect(),
        y_si: t.points.iter().map(|p| libm::exp(p.p[1])).collect(),
        cusps: t.cusps.clone(),
        ends: t.ends.clone(),
    }
}

/// Where the wall is as thick as thin-shell theory allows: in each column, by bisection of h/R.
fn validity(chart: &Chart<'_>, window: Window, report: &mut MapReport) {
    for (name, limit) in [("h/R, thin-shell theory", THIN_WARNING), ("h/R, certification", THIN_LIMIT)] {
        let over = |p: [f64; 2]| {
            let (part, _) = chart.at(p)?;
            let m = &part.meridian;
            Some(part.wall.thickness(m.length()) / m.arc_sphere().0 - limit)
        };
        let mut c = Curve {
            ends: ["the edge of the map".to_owned(), "the edge of the map".to_owned()],
            ..Curve::default()
        };
        // Along the second axis, or along the first where the second does not move it.
        for turned in [false, true] {
            let (i, j) = if turned { (1, 0) } else { (0, 1) };
            for k in 0..=60 {
                let mut p = [0.0; 2];
                p[i] = window.low[i] + (window.high[i] - window.low[i]) * f64::from(k) / 60.0;
                let mut at = |v: f64| {
                    p[j] = v;
                    over(p)
                };
                let (mut a, mut b) = (window.low[j], window.high[j]);
                let (Some(fa), Some(fb)) = (at(a), at(b)) else { continue };
                if fa * fb > 0.0 || fa == fb {
                    continue;
                }
                for _ in 0..60 {
                    let mid = 0.5 * (a + b);
                    match at(mid) {
                        Some(f) if f * fa > 0.0 => a = mid,
                        _ => b = mid,
                    }
                }
                let mut place = p;
                place[j] = 0.5 * (a + b);
                c.x_si.push(libm::exp(place[0]));
                c.y_si.push(libm::exp(place[1]));
            }
            if c.x_si.len() > 1 {
                break;
            }
            c.x_si.clear();
            c.y_si.clear();
        }
        if !c.x_si.is_empty() {
            report.validity.push(ValidityCurves { name: name.to_owned(), limit, curves: vec![c] });
        }
    }
}

fn blank(subject: &dyn Subject, chart: &Chart<'_>, request: &Request) -> MapReport {
    let axis = |i: usize| {
        let a = &request.axes[i];
        let (here_si, here_half_width_si) = chart.here(i);
        Axis {
            key: a.key.clone(),
            label: a.label.clone(),
            unit: a.unit.clone(),
            unit_si: a.unit_si,
            low_si: a.range[0],
            high_si: a.range[1],
            here_si,
            here_half_width_si,
        }
    };
    MapReport {
        schema_version: SCHEMA_VERSION,
        title: subject.title().to_owned(),
        axes: [axis(0), axis(1)],
        explanation: Vec::new(),
        doubts: Vec::new(),
        warnings: Vec::new(),
        threshold: Vec::new(),
        waiting: Vec::new(),
        margins: Vec::new(),
        snapping_first: Vec::new(),
        trip_loads: Vec::new(),
        validity: Vec::new(),
        grid: None,
        points: None,
        specimens: Vec::new(),
        counts: None,
        evidence: MapEvidence::default(),
    }
}

fn words(r: &mut MapReport) {
    let total: usize = r.threshold.iter().map(|c| c.x_si.len()).sum();
    let cusps: usize = r.threshold.iter().map(|c| c.cusps.len()).sum();
    r.explanation.push(if r.threshold.is_empty() {
        "No threshold runs through this part of the plane.".to_owned()
    } else {
        format!(
            "The threshold is a curve of folds, followed directly through {total} points{}; two meshes differ by at most {:.0e} \
             where it was checked.",
            match cusps {
                0 => String::new(),
                1 => " and one cusp".to_owned(),
                n => format!(" and {n} cusps"),
            },
            r.evidence.mesh_difference
        )
    });
    waiting::say(r);
    if !r.threshold.is_empty() && r.evidence.checked_points == 0 {
        r.doubts.push("No point of the threshold could be checked on a second mesh.".to_owned());
    }
    if r.evidence.mesh_difference > 1e-5 {
        r.doubts.push(format!("Two meshes differ by {:.1e} on the threshold.", r.evidence.mesh_difference));
    }
    if let Some(v) = r.validity.first() {
        r.warnings.push(format!(
            "Beyond the line `{}` (h/R {}) thin-shell theory loses accuracy; beyond {THIN_LIMIT} no verdict is certified.",
            v.name, v.limit
        ));
    }
}

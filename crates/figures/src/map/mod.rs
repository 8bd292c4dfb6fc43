//! A design map: where parts stay inverted, over two numbers of the case, with curves and specimens.

pub(crate) mod draw;
mod few;
mod sides;
mod words;

use calotte_answers::map::report::{Curve, MapReport, ValidityCurves};
use calotte_answers::report::Verdict;

use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::place::{Along, Placer, Rect, length};
use crate::style::page_width;
use crate::svg::{Key, LEGEND_STEP, Mark, Point, Svg, legend_lines};
use crate::text::number;
use crate::thin::visible;

/// Height of the plot proper.
const PLOT: f64 = 400.0;
/// Radius of specimens.
const SPECIMEN: f64 = 3.4;
/// Radius of points of a sweep.
const SWEPT: f64 = 1.9;

const THRESHOLD: Pen = Pen::solid(ink::INK, 2.8);
const MARGIN: Pen = Pen::solid(ink::SLATE, 0.8);
const SNAPPING: Pen = Pen::with(ink::RUST, 2.2, Dash::Dashed);
/// Amber, and a dash of its own: the end of waiting.
const WAITING: Pen = Pen::with(ink::AMBER, 2.2, Dash::Chain);
const TRIP: Pen = Pen::with(ink::PLUM, 1.4, Dash::Chain);
const VALIDITY: Pen = Pen::with(ink::SLATE, 1.7, Dash::Dotted);
const OUTLINE: Pen = Pen::solid(ink::INK, 1.1);
const POINT: Pen = Pen::solid(ink::SLATE, 0.7);

/// The plane of the map on the page.
struct Plane {
    frame: Frame,
    /// SI values of one display unit.
    units: (f64, f64),
}

impl Plane {
    /// Page position of SI values; not finite where a logarithm has none.
    fn page(&self, x_si: f64, y_si: f64) -> Point {
        (self.frame.x(x_si / self.units.0), self.frame.y(y_si / self.units.1))
    }

    /// The visible pieces of a curve.
    fn pieces(&self, curve: &Curve) -> Vec<Vec<Point>> {
        let points: Vec<Point> = curve.x_si.iter().zip(&curve.y_si).map(|(x, y)| self.page(*x, *y)).collect();
        visible(&points, &self.frame.window())
    }

    fn all(&self, curves: &[Curve]) -> Vec<Vec<Point>> {
        curves.iter().flat_map(|c| self.pieces(c)).filter(|p| length(p) > 0.5).collect()
    }
}

/// A family of curves with one look and one label.
pub(crate) struct Family {
    pub(crate) class: &'static str,
    pub(crate) pen: Pen,
    pub(crate) label: Option<String>,
    pub(crate) pieces: Vec<Vec<Point>>,
    /// Where the label goes: which piece, and how.
    pub(crate) spot: Option<(usize, Along)>,
}

/// Page offsets towards the side of larger thickness; `None` when no axis is a thickness.
fn thicker(report: &MapReport) -> Option<Point> {
    let thickness = |i: usize| report.axes[i].key.contains("thickness");
    if thickness(0) {
        Some((1.0, 0.0))
    } else if thickness(1) {
        Some((0.0, -1.0))
    } else {
        None
    }
}

/// Ends and unit that an axis can be drawn with.
fn usable(axis: &calotte_answers::map::report::Axis) -> bool {
    let values = [axis.low_si / axis.unit_si, axis.high_si / axis.unit_si];
    axis.unit_si > 0.0 && values.iter().all(|v| v.abs() < 1e100) && values[0] != values[1]
}

/// Whether the map holds anything besides its axes.
fn empty(report: &MapReport) -> bool {
    let none = |c: &[Curve]| c.iter().all(|c| c.x_si.len().min(c.y_si.len()) < 2);
    none(&report.threshold)
        && none(&report.snapping_first)
        && report.margins.iter().all(|m| none(&m.curves))
        && report.trip_loads.iter().all(|t| none(&t.curves))
        && report.validity.iter().all(|v| none(&v.curves))
        && report.grid.as_ref().is_none_or(|g| g.x_si.is_empty() || g.y_si.is_empty())
        && report.points.as_ref().is_none_or(|p| p.x_si.is_empty())
        && report.specimens.is_empty()
}

fn title(axis: &calotte_answers::map::report::Axis) -> String {
    if axis.unit.is_empty() || axis.unit == "1" {
        axis.label.clone()
    } else {
        format!("{} ({})", axis.label, axis.unit)
    }
}

/// All families of curves, in the order they are drawn.
fn families(report: &MapReport, plane: &Plane) -> Vec<Family> {
    let family = |class, pen, label: Option<String>, curves: &[Curve]| Family {
        class,
        pen,
        label,
        pieces: plane.all(curves),
        spot: None,
    };
    let validity = |v: &ValidityCurves| {
        let limit = if v.limit.is_finite() { format!(" {}", number(v.limit, 2)) } else { String::new() };
        // The whole name stands in the caption.
        let name = v.name.split(',').next().unwrap_or("").trim();
        family("validity", VALIDITY, Some(format!("{name}{limit}")), &v.curves)
    };
    let mut all: Vec<Family> = report.validity.iter().map(validity).collect();
    all.extend(
        report
            .margins
            .iter()
            .filter(|m| m.ratio.is_finite())
            .map(|m| family("margin", MARGIN, Some(words::ratio(m.ratio)), &m.curves)),
    );
    all.extend(report.trip_loads.iter().filter(|t| t.load_SI.is_finite()).map(|t| {
        let load = crate::text::Scaled::suiting(t.load_SI, &t.load_unit).print(t.load_SI);
        family("trip-load", TRIP, Some(load), &t.curves)
    }));
    all.extend(report.waiting.iter().map(|w| {
        let name = if w.hold == "relaxed" { "waits at most to here" } else { "waits to here" };
        family("waiting", WAITING, Some(name.to_owned()), &w.curves)
    }));
    all.push(family("snapping-first", SNAPPING, Some("snapping begins".to_owned()), &report.snapping_first));
    all.push(family("threshold", THRESHOLD, None, &report.threshold));
    all.retain(|f| !f.pieces.is_empty());
    all
}

/// The figure; `None` when the axes cannot be drawn or there is nothing on them.
pub(crate) fn figure(report: &MapReport) -> Option<Figure> {
    if !report.axes.iter().all(usable) || empty(report) {
        return None;
    }
    let [x, y] = &report.axes;
    let across = Axis::between(x.low_si / x.unit_si, x.high_si / x.unit_si, 7.0);
    let up = Axis::between(y.low_si / y.unit_si, y.high_si / y.unit_si, 6.0);
    let left = 10.0 + Frame::room_left(&up);
    let frame = Frame { left, right: page_width() - 22.0, top: 0.0, bottom: PLOT, across, up };
    let mut plane = Plane { frame, units: (x.unit_si, y.unit_si) };
    let entries = legend(report, &plane);
    let lines = legend_lines(left, page_width() - 10.0, &entries);
    plane.frame.top = if entries.is_empty() { 18.0 } else { 18.0 + LEGEND_STEP * lines };
    plane.frame.bottom = plane.frame.top + PLOT;

    let window = plane.frame.window();
    let mut svg = Svg::new(page_width(), plane.frame.bottom + 46.0);
    if let Some(grid) = &report.grid {
        draw::grid(&mut svg, grid, &plane);
    }
    let mut placer = Placer::new(window.grown(-2.0));
    draw::block_marks(report, &plane, &mut placer);
    let mut all = families(report, &plane);
    // Curves block only other curves' labels: each label stands on its own.
    label_curves(&mut all, &mut placer, &window);
    for f in &all {
        for piece in &f.pieces {
            placer.avoid(piece);
        }
    }
    plane.frame.draw(&mut svg, &title(x), &title(y));
    if let Some(points) = &report.points {
        draw::swept(&mut svg, points, &plane);
    }
    draw::curves(&mut svg, &all, thicker(report), &window);
    draw::cusps(&mut svg, &report.threshold, &plane);
    draw::labels(&mut svg, &all);
    draw::specimens(&mut svg, report, &plane);
    draw::here(&mut svg, report, &plane, &mut placer);
    draw::contradicted(&mut svg, report, &plane, &mut placer);
    if !report.threshold.is_empty() {
        sides::name(&mut svg, report, &plane, &mut placer);
    }
    svg.open("legend");
    svg.legend_rows((left, 20.0), page_width() - 10.0, &entries);
    svg.close();

    let (alt, caption) = words::speech(report, &plane, &all);
    let title = format!("{}: map of {} and {}", report.title, x.label, y.label);
    Some(Figure::new("map", svg.finish(&title, &alt), alt, caption))
}

/// Puts each family's label on its longest piece that takes it.
pub(crate) fn label_curves(all: &mut [Family], placer: &mut Placer, window: &Rect) {
    let lines: Vec<Vec<Vec<Point>>> = all.iter().map(|f| f.pieces.clone()).collect();
    for (i, f) in all.iter_mut().enumerate() {
        let Some(label) = &f.label else { continue };
        let others: Vec<&Vec<Point>> =
            lines.iter().enumerate().filter(|(k, _)| *k != i).flat_map(|(_, l)| l).collect();
        let mut order: Vec<usize> = (0..f.pieces.len()).collect();
        order.sort_by(|&a, &b| length(&f.pieces[b]).total_cmp(&length(&f.pieces[a])));
        let mut own = placer.with_lines(&others);
        f.spot = order.into_iter().find_map(|k| {
            own.along(&f.pieces[k], label, ink::TICK).filter(|s| window.holds(s.middle)).map(|s| (k, s))
        });
        placer.take_from(own);
    }
}

/// Legend entries for what is there.
fn legend(report: &MapReport, plane: &Plane) -> Vec<(Key, String)> {
    let mut out = Vec::new();
    let all = families(report, plane);
    for (class, pen, name) in [
        ("threshold", THRESHOLD, "threshold, h/h* = 1"),
        ("waiting", WAITING, "end of waiting"),
        ("margin", MARGIN, "equal h/h*"),
        ("snapping-first", SNAPPING, "snapping begins"),
        ("trip-load", TRIP, "equal trip load"),
        ("validity", VALIDITY, "limit of validity"),
    ] {
        if all.iter().any(|f| f.class == class) {
            out.push((Key::Line(pen), name.to_owned()));
        }
    }
    if report.threshold.iter().any(|c| !c.cusps.is_empty()) {
        out.push((Key::Mark(Mark::Square, ink::PAPER, OUTLINE), "cusp".to_owned()));
    }
    for (verdict, fill, name) in [
        (Verdict::Stays, ink::SHADE, "stays"),
        (Verdict::Returns, draw::RETURNS, "returns"),
        (Verdict::Undecided, draw::UNDECIDED, "undecided"),
    ] {
        if report.grid.as_ref().is_some_and(|g| g.verdicts.contains(&Some(verdict))) {
            out.push((Key::Patch(fill), name.to_owned()));
        }
    }
    for (verdict, name) in [
        (Verdict::Stays, "computed: stays"),
        (Verdict::Returns, "computed: returns"),
        (Verdict::Undecided, "computed: undecided"),
    ] {
        if report.points.as_ref().is_some_and(|p| p.count(Some(verdict)) > 0) {
            let (_, mark, fill) = draw::swept_mark(verdict);
            out.push((Key::Mark(mark, fill, POINT), name.to_owned()));
        }
    }
    if draw::here_at(report, plane).is_some() {
        out.push((Key::Mark(Mark::Target, "none", draw::HERE), "this part".to_owned()));
    }
    for (observed, name) in words::OBSERVED {
        if report.specimens.iter().any(|s| s.observed == observed && draw::place(s, plane).is_some()) {
            let (mark, fill) = draw::specimen_mark(observed);
            out.push((Key::Mark(mark, fill, OUTLINE), name.to_owned()));
        }
    }
    if report.specimens.iter().any(|s| draw::is_contradicted(s) && draw::place(s, plane).is_some()) {
        out.push((Key::Ring(draw::RING), "contradicted".to_owned()));
    }
    out
}

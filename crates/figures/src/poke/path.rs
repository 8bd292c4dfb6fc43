//! Load over displacement: stable and unstable stretches, events, jumps, and the shapes that go with them.

use calotte_answers::poke::report::{Event, EventKind, Landing, PathRow, PokeReport};

use super::shapes::{MOST, Shape, Strip, line};
use super::stretch::{Class, Stretch, stretches, whole_rows};
use super::words::{self, KINDS, OUTLINE, Role, Units};
use super::{by_load, drawable, placed};
use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::place::{Placer, Rect};
use crate::style::page_width;
use crate::svg::{Anchor, Key, LEGEND_STEP, Point, Svg, legend_lines};
use crate::text::{Scaled, capital};
use crate::thin::visible;

/// Height of the plot proper.
const PLOT: f64 = 290.0;
/// Radius of event marks.
const MARK: f64 = 4.2;
/// Length of a sideways branch's stub.
const STUB: f64 = 34.0;
/// Most direct labels.
const MOST_LABELS: usize = 10;
/// Most of them on sideways events that are neither trip nor return.
const MOST_RIPPLES: usize = 2;

const STABLE: Pen = Pen::solid(ink::DEEP, 2.4);
const UNSTABLE: Pen = Pen::with(ink::GREY, 1.7, Dash::Dashed);
const SIDEWAYS: Pen = Pen::with(ink::AMBER, 2.2, Dash::Chain);
const JUMP: Pen = Pen::with(ink::INK, 1.2, Dash::Dotted);
const BRANCH: Pen = Pen::with(ink::PLUM, 1.8, Dash::Dotted);
const STOP: Pen = Pen::solid(ink::INK, 1.4);
const FORMULA: Pen = Pen::with(ink::RUST, 1.5, Dash::Dashed);

/// A jump: where it starts and where it ends, displacement and load.
struct Jump {
    from: (f64, f64),
    to: (f64, f64),
    at_stop: bool,
}

fn jump(from: (f64, f64), lands: Option<&Landing>) -> Option<Jump> {
    let l = lands?;
    let to = (l.displacement_SI, l.load_SI);
    (drawable(from.0, from.1) && drawable(to.0, to.1)).then_some(Jump { from, to, at_stop: l.at_stop })
}

/// What there is to draw, SI.
struct Scene<'a> {
    report: &'a PokeReport,
    by_load: bool,
    stretches: Vec<Stretch>,
    /// Events that have a place, with their roles.
    events: Vec<(&'a Event, Role)>,
    jumps: Vec<Jump>,
    /// Displacement at the stop.
    stop: Option<f64>,
    /// The standard's curve of a coned disc.
    formula: Vec<(f64, f64)>,
}

impl<'a> Scene<'a> {
    fn new(report: &'a PokeReport) -> Option<Self> {
        let by_load = by_load(report);
        let rows: Vec<(usize, &PathRow)> = whole_rows(&report.path);
        if rows.len() < 2 {
            return None;
        }
        let trip = if by_load { report.by_load.as_ref() } else { report.by_displacement.as_ref() };
        // The way back is known with the load set only.
        let back = report.return_trip.as_ref().filter(|_| by_load);
        let events: Vec<(&Event, Role)> = report
            .events
            .iter()
            .enumerate()
            .filter(|(_, e)| placed(e))
            .map(|(i, e)| {
                let role = if trip.is_some_and(|t| t.event == i) {
                    Role::Trip
                } else if back.is_some_and(|b| b.event == i) {
                    Role::Return
                } else {
                    Role::Other
                };
                (e, role)
            })
            .collect();
        let jumps = [
            trip.and_then(|t| jump((t.displacement_SI, t.load_SI), t.lands.as_ref())),
            back.and_then(|b| jump((b.displacement_SI, b.load_SI), b.lands.as_ref())),
        ];
        let met = events.iter().find(|e| e.0.kind == EventKind::Stop).map(|e| e.0.displacement_SI);
        // A stop that is not met can be shown only where the axis is the travel it limits.
        let travel = report.load.displacement_unit == "m" && report.load.displacement_name.contains("pole");
        let stop = met.or(report.load.stop_m.filter(|s| travel && drawable(*s, 0.0)));
        let formula = report.trade.coned_disc.as_ref().map_or(Vec::new(), |d| {
            let curve = d.curve_deflection_m.iter().copied().zip(d.curve_load_N.iter().copied());
            curve.filter(|p| drawable(p.0, p.1)).collect()
        });
        Some(Self {
            formula,
            report,
            by_load,
            stretches: stretches(&rows, &report.events, by_load),
            events,
            jumps: jumps.into_iter().flatten().collect(),
            stop,
        })
    }

    fn points(&self) -> impl Iterator<Item = (f64, f64)> {
        self.stretches.iter().flat_map(|s| s.points.iter().copied())
    }

    /// The words of an event, with the trade's name of its force.
    fn label(&self, event: &Event, role: Role, units: &Units) -> String {
        let plain = words::label(event, role, units);
        let Some(k) = &self.report.trade.key else { return plain };
        let is = |i: usize| self.report.events.get(i).is_some_and(|e| std::ptr::eq(e, event));
        let names = [(Some(k.actuation_event), "F1"), (k.contact_event, "F2"), (k.return_event, "F3")];
        let own: Vec<&str> = names.iter().filter(|(i, _)| i.is_some_and(is)).map(|(_, name)| *name).collect();
        if own.is_empty() { plain } else { format!("{}, {plain}", own.join(" = ")) }
    }

    /// Least and greatest load drawn, and whether the path goes on beyond them. What happens is what counts:
    /// a path that stiffens far beyond its last event would flatten it all.
    fn loads(&self) -> (f64, f64, bool) {
        const FAR: f64 = 2.0;
        const PAST: f64 = 0.6;
        let (low, high) = range(self.points().chain(self.formula.iter().copied()).map(|p| p.1));
        let limits = self
            .events
            .iter()
            .map(|(e, _)| e)
            .filter(|e| !matches!(e.kind, EventKind::NoLoad | EventKind::Stop))
            .map(|e| e.load_SI);
        let jumps = self.jumps.iter().flat_map(|j| [j.from.1, j.to.1]);
        let (least, most) = range(limits.chain(jumps));
        if least > most {
            return (low, high, false);
        }
        let (least, most) = (least.min(0.0), most.max(0.0));
        let span = most - least;
        let top = if high > most + FAR * span { most + PAST * span } else { high.max(most) };
        let bottom = if low < least - FAR * span { least - PAST * span } else { low.min(least) };
        if span > 0.0 { (bottom, top, top < high || bottom > low) } else { (low, high, false) }
    }

    /// Least and greatest displacement drawn.
    fn displacements(&self, loads: (f64, f64)) -> (f64, f64) {
        let far = 1e90;
        let window = Rect { left: -far, right: far, top: loads.0, bottom: loads.1 };
        let pieces = self.stretches.iter().flat_map(|s| crate::thin::clip(&s.points, &window));
        let mut xs: Vec<f64> = pieces.flatten().map(|p| p.0).collect();
        xs.extend(self.jumps.iter().flat_map(|j| [j.from.0, j.to.0]));
        xs.extend(
            self.events.iter().filter(|(e, _)| within(e.load_SI, loads)).map(|(e, _)| e.displacement_SI),
        );
        let (low, high) = range(xs.into_iter());
        match self.stop {
            Some(s) if s > high && s < high + 0.3 * (high - low) => (low, s),
            _ => (low, high),
        }
    }
}

fn within(x: f64, (low, high): (f64, f64)) -> bool {
    x >= low && x <= high
}

fn range(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| (a.min(x), b.max(x)))
}

/// The figure; `None` with fewer than two whole rows.
pub(super) fn figure(report: &PokeReport) -> Option<Figure> {
    let scene = Scene::new(report)?;
    let (low, high, cut) = scene.loads();
    let (near, far) = scene.displacements((low, high));
    let load = Scaled::suiting(low.abs().max(high.abs()), &report.load.load_unit);
    let displacement = Scaled::suiting(near.abs().max(far.abs()), &report.load.displacement_unit);
    let units = Units { load, displacement };

    let rise = (high - low).max(high.abs() * 1e-3);
    let reach = (far - near).max(far.abs() * 1e-3);
    let top = if cut && high < range(scene.points().map(|p| p.1)).1 { high } else { high + 0.09 * rise };
    let bottom = if low < 0.0 { low - 0.08 * rise } else { 0.0 };
    let up = Axis::covering(bottom * units.load.factor, top * units.load.factor, 5.0);
    let start = if near >= 0.0 && near < 0.3 * far { 0.0 } else { near - 0.03 * reach };
    let across = Axis::covering(
        start * units.displacement.factor,
        (far + 0.04 * reach) * units.displacement.factor,
        7.0,
    );

    let entries = legend(&scene);
    let left = 10.0 + Frame::room_left(&up);
    let lines = legend_lines(left, page_width() - 10.0, &entries);
    let frame_top = 14.0 + LEGEND_STEP * lines + 4.0;
    let frame =
        Frame { left, right: page_width() - 18.0, top: frame_top, bottom: frame_top + PLOT, across, up };

    let (letters, strip) = chosen(&scene, &units);
    let below = frame.bottom + 46.0;
    let height = below + strip.as_ref().map_or(0.0, |s| s.height() + 4.0);

    let mut svg = Svg::new(page_width(), height);
    frame.draw(
        &mut svg,
        &units.displacement.title(&report.load.displacement_name),
        &units.load.title(&report.load.load_name),
    );
    draw(&mut svg, &scene, &frame, &units, &letters);
    if let Some(strip) = &strip {
        strip.draw(&mut svg, 10.0, page_width() - 10.0, below + 4.0);
    }
    svg.open("legend");
    svg.legend_rows((frame.left, 20.0), page_width() - 10.0, &entries);
    svg.close();

    let (alt, caption) = speech(&scene, &units, &letters, cut);
    let title = format!("{}: {} over {}", report.title, report.load.load_name, report.load.displacement_name);
    Some(Figure::new("path", svg.finish(&title, &alt), alt, caption))
}

/// Legend entries for what is there.
fn legend(scene: &Scene) -> Vec<(Key, String)> {
    let set = words::driving(scene.by_load);
    let has = |c: Class| scene.stretches.iter().any(|s| s.class == c);
    let mut out = Vec::new();
    for (class, pen, name) in [
        (Class::Stable, STABLE, format!("stable, {set} set")),
        (Class::Unstable, UNSTABLE, "unstable".to_owned()),
        (Class::Sideways, SIDEWAYS, "unstable sideways only".to_owned()),
    ] {
        if has(class) {
            out.push((Key::Line(pen), name));
        }
    }
    if !scene.formula.is_empty() {
        out.push((Key::Line(FORMULA), "formula of the standard".to_owned()));
    }
    if !scene.jumps.is_empty() {
        out.push((Key::Arrow(JUMP), "jump".to_owned()));
    }
    if scene.events.iter().any(|(e, _)| stub(e).is_some()) {
        out.push((Key::Line(BRANCH), "sideways branch (estimate)".to_owned()));
    }
    for kind in KINDS {
        if scene.events.iter().any(|(e, _)| e.kind == kind) {
            let (mark, fill, name) = words::mark(kind);
            out.push((Key::Mark(mark, fill, OUTLINE), name.to_owned()));
        }
    }
    out
}

/// Direction in which a sideways branch leaves: displacement and load.
fn stub(event: &Event) -> Option<(f64, f64)> {
    let b = event.mode.as_ref()?.branch.as_ref()?;
    let both = (b.displacement_curvature_SI_per_m2, b.load_curvature_SI_per_m2);
    if drawable(both.0, both.1) && (both.0 != 0.0 || both.1 != 0.0) {
        return Some(both);
    }
    drawable(b.slope_SI, 0.0).then_some((1.0, b.slope_SI))
}

/// The events whose shapes are shown, by index in the scene with their letters, and the strip.
fn chosen(scene: &Scene, units: &Units) -> (Vec<(usize, char)>, Option<Strip>) {
    let worth = |i: usize| -> u32 {
        let (e, role) = scene.events[i];
        match (role, e.kind) {
            (Role::Trip, _) => 0,
            (Role::Return, _) => 1,
            (_, EventKind::NoLoad) => 2,
            (_, EventKind::LoadValley) => 3,
            (_, EventKind::Sideways | EventKind::Stop) => 4,
            (_, EventKind::LoadPeak) => 5,
            _ => 9,
        }
    };
    let mut picks: Vec<usize> = (0..scene.events.len())
        .filter(|&i| worth(i) < 9 && line(&scene.events[i].0.meridian).is_some())
        .collect();
    picks.sort_by_key(|&i| (worth(i), i));
    picks.truncate(MOST);
    // Letters follow the path.
    picks.sort_unstable();
    let letters: Vec<(usize, char)> = picks.into_iter().zip('a'..).collect();
    let shapes = letters
        .iter()
        .filter_map(|&(i, letter)| {
            let (e, role) = scene.events[i];
            Some(Shape { letter, words: scene.label(e, role, units), line: line(&e.meridian)? })
        })
        .collect();
    let strip = Strip::new(shapes, line(&scene.report.part.meridian));
    if strip.is_none() { (Vec::new(), None) } else { (letters, strip) }
}

/// Curves, jumps, marks and labels.
fn draw(svg: &mut Svg, scene: &Scene, frame: &Frame, units: &Units, letters: &[(usize, char)]) {
    let window = frame.window();
    let page = |p: (f64, f64)| -> Point {
        (frame.x(p.0 * units.displacement.factor), frame.y(p.1 * units.load.factor))
    };
    let mut placer = Placer::new(window.grown(-2.0));

    if frame.up.low < 0.0 && frame.up.high > 0.0 {
        let y = frame.y(0.0);
        svg.line("zero", (frame.left, y), (frame.right, y), Pen::solid(ink::FAINT, 0.8));
        placer.avoid(&[(frame.left, y), (frame.right, y)]);
    }
    if let Some(x) = scene.stop.map(|s| page((s, 0.0)).0).filter(|x| within(*x, (frame.left, frame.right))) {
        stop_edge(svg, frame, x);
        placer.avoid(&[(x, frame.top), (x, frame.bottom)]);
        placer.avoid(&[(x + 6.0, frame.top), (x + 6.0, frame.bottom)]);
    }
    svg.open("curves");
    let formula: Vec<Point> = scene.formula.iter().map(|&p| page(p)).collect();
    for piece in visible(&formula, &window) {
        placer.avoid(&piece);
        svg.curve("formula", &piece, FORMULA);
    }
    // Unstable stretches first: where they meet, the stable ones lie on top.
    for want in [Class::Unstable, Class::Sideways, Class::Stable] {
        for s in scene.stretches.iter().filter(|s| s.class == want) {
            let (class, pen) = match want {
                Class::Stable => ("stable", STABLE),
                Class::Sideways => ("sideways", SIDEWAYS),
                Class::Unstable => ("unstable", UNSTABLE),
            };
            let points: Vec<Point> = s.points.iter().map(|&p| page(p)).collect();
            for piece in visible(&points, &window) {
                placer.avoid(&piece);
                svg.curve(class, &piece, pen);
            }
        }
    }
    svg.close();

    svg.open("jumps");
    for j in &scene.jumps {
        let (from, to) = (page(j.from), page(j.to));
        let Some((from, to)) = crate::thin::clip(&[from, to], &window).first().map(|p| (p[0], p[1])) else {
            continue;
        };
        let long = libm::hypot(to.0 - from.0, to.1 - from.1);
        if long < 3.0 * MARK {
            continue;
        }
        let t = (MARK + 2.0) / long;
        let from = (from.0 + t * (to.0 - from.0), from.1 + t * (to.1 - from.1));
        svg.arrow("jump", from, to, JUMP);
        placer.avoid(&[from, to]);
        placer.block(Rect::about(to, 5.0, 5.0));
    }
    svg.close();

    svg.open("marks");
    for (e, _) in &scene.events {
        let at = page((e.displacement_SI, e.load_SI));
        if !window.holds(at) {
            continue;
        }
        if let Some((dx, dy)) = stub(e) {
            let away = page((e.displacement_SI + dx, e.load_SI + dy));
            let (vx, vy) = (away.0 - at.0, away.1 - at.1);
            let long = libm::hypot(vx, vy);
            if long.is_finite() && long > 0.0 {
                let end = (at.0 + STUB * vx / long, at.1 + STUB * vy / long);
                for piece in visible(&[at, end], &window) {
                    placer.avoid(&piece);
                    svg.curve("branch-off", &piece, BRANCH);
                }
            }
        }
        placer.block(Rect::about(at, MARK + 0.5, MARK + 0.5));
    }
    for kind in KINDS {
        let (mark, fill, _) = words::mark(kind);
        for (e, _) in scene.events.iter().filter(|(e, _)| e.kind == kind) {
            let at = page((e.displacement_SI, e.load_SI));
            if window.holds(at) {
                svg.mark(name(kind), at, mark, MARK, fill, OUTLINE);
            }
        }
    }
    svg.close();
    labels(svg, scene, units, letters, &mut placer, |e| {
        Some(page((e.displacement_SI, e.load_SI))).filter(|at| window.holds(*at))
    });
}

/// Class of an event's mark.
fn name(kind: EventKind) -> &'static str {
    match kind {
        EventKind::LoadPeak => "load-peak",
        EventKind::LoadValley => "load-valley",
        EventKind::DisplacementLimit => "displacement-limit",
        EventKind::DisplacementReturn => "displacement-return",
        EventKind::Sideways => "sideways-event",
        EventKind::SidewaysRegained => "sideways-regained",
        EventKind::NoLoad => "no-load",
        EventKind::RimLifts => "rim-lifts",
        EventKind::PoleLiftsOff => "pole-lifts-off",
        EventKind::Stop => "stop",
    }
}

/// The stop: a line hatched on the side that cannot be reached.
fn stop_edge(svg: &mut Svg, frame: &Frame, x: f64) {
    svg.open("stop-edge");
    svg.line("stop-line", (x, frame.top), (x, frame.bottom), STOP);
    let mut y = frame.top + 4.0;
    while y + 7.0 <= frame.bottom && x + 6.0 <= frame.right + 6.0 {
        svg.line("stop-hatch", (x, y + 6.0), (x + 6.0, y), Pen::solid(ink::GREY, 0.8));
        y += 8.0;
    }
    svg.close();
}

/// Direct labels, the weightiest first; a shape's letter is set even where its words find no room.
fn labels(
    svg: &mut Svg,
    scene: &Scene,
    units: &Units,
    letters: &[(usize, char)],
    placer: &mut Placer,
    place: impl Fn(&Event) -> Option<Point>,
) {
    let weight = |i: usize| -> u32 {
        let (e, role) = scene.events[i];
        let lettered = letters.iter().any(|l| l.0 == i);
        match (role, e.kind) {
            (Role::Trip, _) => 0,
            (Role::Return, _) => 1,
            _ if lettered => 2,
            (_, EventKind::Sideways | EventKind::NoLoad | EventKind::Stop) => 3,
            (_, EventKind::LoadPeak | EventKind::LoadValley) if scene.by_load => 4,
            (_, EventKind::DisplacementLimit | EventKind::DisplacementReturn) if !scene.by_load => 4,
            (_, EventKind::LoadPeak | EventKind::LoadValley) => 5,
            (_, EventKind::RimLifts | EventKind::PoleLiftsOff) => 5,
            _ => 6,
        }
    };
    let mut order: Vec<usize> = (0..scene.events.len()).collect();
    order.sort_by_key(|&i| (weight(i), i));
    // Thin walls lose wave after wave close together: beside the trip itself two are named, the rest are marks.
    let mut ripples = 0;
    order.retain(|&i| {
        let (e, role) = scene.events[i];
        let ripple = matches!(e.kind, EventKind::Sideways | EventKind::SidewaysRegained);
        let free = ripple && !matches!(role, Role::Trip | Role::Return) && !letters.iter().any(|l| l.0 == i);
        ripples += usize::from(free);
        !free || ripples <= MOST_RIPPLES
    });
    svg.open("labels");
    for i in order.into_iter().take(MOST_LABELS) {
        let (e, role) = scene.events[i];
        let Some(at) = place(e) else { continue };
        let letter = letters.iter().find(|l| l.0 == i).map(|l| l.1);
        let words = scene.label(e, role, units);
        let mut text = letter.map_or_else(|| words.clone(), |l| format!("{l}: {words}"));
        let mut spot = placer.beside(at, MARK, &text, ink::LABEL);
        if let (None, Some(l)) = (spot, letter) {
            text = l.to_string();
            spot = placer.beside(at, MARK, &text, ink::LABEL);
        }
        if let Some(s) = spot {
            if let Some((from, to)) = s.leader {
                svg.line("leader", from, to, Pen::solid(ink::GREY, 0.7));
            }
            svg.text("label", s.at, ink::LABEL, Anchor::Start, ink::INK, &text);
        }
    }
    svg.close();
}

fn speech(scene: &Scene, units: &Units, letters: &[(usize, char)], cut: bool) -> (String, String) {
    let report = scene.report;
    let (load, displacement) = (&report.load.load_name, &report.load.displacement_name);
    let has = |c: Class| scene.stretches.iter().any(|s| s.class == c);
    let set = words::driving(scene.by_load);
    let mut kinds = Vec::new();
    if has(Class::Stable) {
        kinds.push(format!("stable with the {set} set (solid)"));
    }
    if has(Class::Unstable) {
        kinds.push("unstable (dashed)".to_owned());
    }
    if has(Class::Sideways) {
        kinds.push("lost to a sideways mode only (chain)".to_owned());
    }
    let kinds = kinds.join(", ");
    let story = words::story(report, scene.by_load, units);
    let landing = if scene.jumps.iter().any(|j| j.at_stop) {
        " Arrows: jumps, as far as the axisymmetric path and the stop tell."
    } else if scene.jumps.is_empty() {
        ""
    } else {
        " Arrows: jumps, as far as the axisymmetric path tells."
    };
    let branch = if scene.events.iter().any(|(e, _)| stub(e).is_some()) {
        " Short dotted stubs: where sideways branches set off, an estimate of second order."
    } else {
        ""
    };
    let shapes = match letters {
        [] => "",
        [_] => " Below: the section at the marked state, the natural one dotted.",
        _ => " Below: sections at the lettered states to one scale, the natural one dotted.",
    };
    let formula = if scene.formula.is_empty() {
        ""
    } else {
        " Dashed beside it: the spring formula of the standard, with a section that turns without bending."
    };
    let beyond = if cut { " The path goes on beyond the frame." } else { "" };
    let caption = format!(
        "{}: {}. {} over {displacement} along the path of equilibria: {kinds}.{story}{formula}{landing}{branch}{shapes}{beyond}",
        report.title,
        report.load.words,
        capital(load)
    );
    let alt = format!(
        "{} over {displacement} along the path of equilibria, {kinds}, with {} marked events.{story}{formula}{beyond}",
        capital(load),
        scene.events.len()
    );
    (alt, caption)
}

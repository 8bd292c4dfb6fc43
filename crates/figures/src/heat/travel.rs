//! Travel of the centre over temperature: both branches, the jumps between them, pin and creep.

use calotte_answers::heat::report::{HeatReport, Jump};

use super::curve::{Class, Stretch, ends, stretches, without_twice};
use super::{celsius, degrees, drawable};
use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::place::{Placer, Rect};
use crate::style::page_width;
use crate::svg::{Anchor, Key, LEGEND_STEP, Mark, Point, Svg, legend_lines};
use crate::text::Scaled;
use crate::thin::visible;

/// Height of the plot proper.
const PLOT: f64 = 300.0;
/// Radius of marks.
const MARK: f64 = 4.2;

const STABLE: Pen = Pen::solid(ink::DEEP, 2.4);
const UNSTABLE: Pen = Pen::with(ink::GREY, 1.5, Dash::Dashed);
const SIDEWAYS: Pen = Pen::with(ink::AMBER, 2.2, Dash::Chain);
const TRIP: Pen = Pen::solid(ink::RUST, 1.6);
const RESET: Pen = Pen::with(ink::PLUM, 1.6, Dash::Dashed);
const PIN: Pen = Pen::solid(ink::INK, 1.2);
const CREEP: Pen = Pen::solid(ink::SLATE, 0.9);
const OUTLINE: Pen = Pen::solid(ink::INK, 0.9);

/// What there is to draw.
struct Scene<'a> {
    report: &'a HeatReport,
    stretches: Vec<Stretch>,
    /// Trip and reset with their pens and words.
    jumps: Vec<(&'a Jump, Pen, String)>,
    /// Where it gives way without a limit: temperature in °C, travel in m, waves.
    losses: Vec<(f64, f64, u32)>,
    /// Travel at which slow movement begins, with its temperature in °C.
    creep: Option<(f64, f64)>,
    pin: Option<f64>,
}

impl<'a> Scene<'a> {
    fn new(report: &'a HeatReport) -> Option<Self> {
        let losses: Vec<f64> = report.buckling.iter().map(|b| celsius(b.temperature_K)).collect();
        let mut all = stretches(&report.near, report.trip.as_ref(), &losses);
        let far = stretches(&report.far, report.reset.as_ref(), &[]);
        let far = without_twice(&all, far);
        all.extend(far);
        if all.is_empty() {
            return None;
        }
        let placed = |j: &&Jump| drawable(j.temperature_K) && drawable(j.travel_before_m);
        let told =
            |j: &'a Jump, pen: Pen, verb: &str| (j, pen, format!("{verb} at {}", degrees(j.temperature_K)));
        let jumps = [
            report.trip.as_ref().filter(placed).map(|j| told(j, TRIP, "trips")),
            report.reset.as_ref().filter(placed).map(|j| told(j, RESET, "resets")),
        ];
        let losses = report
            .buckling
            .iter()
            .filter_map(|b| {
                // On the rows of the branch: the nearest pair that brackets the temperature.
                let pair = report.near.windows(2).find(|w| {
                    (w[0].temperature_K - b.temperature_K) * (w[1].temperature_K - b.temperature_K) <= 0.0
                })?;
                let run = pair[1].temperature_K - pair[0].temperature_K;
                let share = if run == 0.0 { 0.0 } else { (b.temperature_K - pair[0].temperature_K) / run };
                let travel = pair[0].travel_m + share * (pair[1].travel_m - pair[0].travel_m);
                (drawable(b.temperature_K) && drawable(travel)).then_some((
                    celsius(b.temperature_K),
                    travel,
                    b.n,
                ))
            })
            .collect();
        let creep = report.creep.as_ref().zip(report.trip.as_ref()).and_then(|(c, t)| {
            let from = t.travel_before_m - c.travel_m;
            (drawable(c.from_K) && drawable(from)).then_some((celsius(c.from_K), from))
        });
        let pin = report.device.pin_gap_m.filter(|g| drawable(*g));
        Some(Self {
            report,
            stretches: all,
            jumps: jumps.into_iter().flatten().collect(),
            losses,
            creep,
            pin,
        })
    }

    /// Ends of the travel drawn, m.
    fn travels(&self) -> (f64, f64) {
        let rows = self.stretches.iter().flat_map(|s| s.points.iter().map(|p| p.1));
        let jumps = self.jumps.iter().flat_map(|j| [Some(j.0.travel_before_m), j.0.travel_after_m]).flatten();
        ends(rows.chain(jumps).chain(self.pin))
    }
}

/// The figure; `None` with fewer than two whole rows.
pub(super) fn figure(report: &HeatReport) -> Option<Figure> {
    let scene = Scene::new(report)?;
    let (low, high) = scene.travels();
    let (cold, hot) = ends(scene.stretches.iter().flat_map(|s| s.points.iter().map(|p| p.0)));
    let unit = Scaled::suiting(low.abs().max(high.abs()), "m");
    let (rise, reach) = (high - low, hot - cold);
    let up = Axis::covering((low - 0.06 * rise) * unit.factor, (high + 0.08 * rise) * unit.factor, 6.0);
    let across = Axis::covering(cold - 0.02 * reach, hot + 0.02 * reach, 8.0);
    let entries = legend(&scene);
    let left = 10.0 + Frame::room_left(&up);
    let lines = legend_lines(left, page_width() - 10.0, &entries);
    let top = 14.0 + LEGEND_STEP * lines + 4.0;
    let frame = Frame { left, right: page_width() - 18.0, top, bottom: top + PLOT, across, up };
    let mut svg = Svg::new(page_width(), frame.bottom + 46.0);
    frame.draw(&mut svg, "temperature (°C)", &unit.title("travel of the centre"));
    draw(&mut svg, &scene, &frame, &unit);
    svg.open("legend");
    svg.legend_rows((frame.left, 20.0), page_width() - 10.0, &entries);
    svg.close();
    let (alt, caption) = speech(&scene, &unit);
    let title = format!("{}: travel of the centre over temperature", report.title);
    Some(Figure::new("heat", svg.finish(&title, &alt), alt, caption))
}

/// Legend entries for what is there.
fn legend(scene: &Scene) -> Vec<(Key, String)> {
    let has = |c: Class| scene.stretches.iter().any(|s| s.class == c);
    let mut out = Vec::new();
    for (class, pen, name) in [
        (Class::Stable, STABLE, "stable"),
        (Class::Unstable, UNSTABLE, "unstable"),
        (Class::Sideways, SIDEWAYS, "unstable to waves only"),
    ] {
        if has(class) {
            out.push((Key::Line(pen), name.to_owned()));
        }
    }
    for (j, pen, _) in &scene.jumps {
        let what = if pen.colour == TRIP.colour { "trip" } else { "reset" };
        out.push((Key::Arrow(*pen), format!("{what}, on {}", j.on)));
    }
    out
}

/// Curves, jumps, pin, creep and labels.
fn draw(svg: &mut Svg, scene: &Scene, frame: &Frame, unit: &Scaled) {
    let window = frame.window();
    let page = |p: (f64, f64)| -> Point { (frame.x(p.0), frame.y(p.1 * unit.factor)) };
    let mut placer = Placer::new(window.grown(-2.0));
    let zero = frame.y(0.0);
    if frame.up.low < 0.0 && frame.up.high > 0.0 {
        svg.line("zero", (frame.left, zero), (frame.right, zero), Pen::solid(ink::FAINT, 0.8));
        placer.avoid(&[(frame.left, zero), (frame.right, zero)]);
    }
    if let Some(gap) = scene.pin {
        let y = frame.y(gap * unit.factor);
        svg.open("pin");
        svg.line("pin-line", (frame.left, y), (frame.right, y), PIN);
        let mut x = frame.left + 4.0;
        while x + 6.0 <= frame.right {
            svg.line("pin-hatch", (x, y), (x + 5.0, y - 5.0), Pen::solid(ink::GREY, 0.7));
            x += 9.0;
        }
        svg.close();
        placer.avoid(&[(frame.left, y), (frame.right, y)]);
        placer.avoid(&[(frame.left, y - 5.0), (frame.right, y - 5.0)]);
    }
    svg.open("curves");
    // Unstable stretches first: where they meet, the stable ones lie on top.
    for (class, name, pen) in [
        (Class::Unstable, "unstable", UNSTABLE),
        (Class::Sideways, "sideways", SIDEWAYS),
        (Class::Stable, "stable", STABLE),
    ] {
        for s in scene.stretches.iter().filter(|s| s.class == class) {
            let points: Vec<Point> = s.points.iter().map(|p| page(*p)).collect();
            for piece in visible(&points, &window) {
                placer.avoid(&piece);
                svg.curve(name, &piece, pen);
            }
        }
    }
    svg.close();
    svg.open("jumps");
    for (j, pen, _) in &scene.jumps {
        let from = page((celsius(j.temperature_K), j.travel_before_m));
        if let Some(after) = j.travel_after_m.filter(|a| drawable(*a)) {
            let to = page((celsius(j.temperature_K), after));
            svg.arrow("jump", from, to, *pen);
            placer.avoid(&[from, to]);
        }
        svg.mark("jump-start", from, Mark::Disc, MARK, pen.colour, OUTLINE);
        placer.block(Rect::about(from, MARK + 0.5, MARK + 0.5));
    }
    svg.close();
    let creep = creep(svg, scene, frame, unit, &mut placer);
    svg.open("losses");
    for &(t, travel, _) in &scene.losses {
        let at = page((t, travel));
        svg.mark("loss", at, Mark::Diamond, MARK, ink::AMBER, OUTLINE);
        placer.block(Rect::about(at, MARK + 0.5, MARK + 0.5));
    }
    svg.close();

    svg.open("labels");
    let mut label = |at: Point, clear: f64, words: &str| {
        let Some(spot) = placer.beside(at, clear, words, ink::LABEL) else { return };
        if let Some((a, b)) = spot.leader {
            svg.line("leader", a, b, Pen::solid(ink::GREY, 0.7));
        }
        svg.text("label", spot.at, ink::LABEL, Anchor::Start, ink::INK, words);
    };
    for (j, _, words) in &scene.jumps {
        let words = if j.n > 0 { format!("{words} in {} waves", j.n) } else { words.clone() };
        label(page((celsius(j.temperature_K), j.travel_before_m)), MARK, &words);
    }
    for &(t, travel, n) in &scene.losses {
        let how = if n == 0 { "another round shape".to_owned() } else { format!("{n} waves") };
        label(page((t, travel)), MARK, &how);
    }
    if let Some((at, words)) = creep {
        label(at, 3.0, &words);
    }
    if let Some(gap) = scene.pin {
        label((frame.left + 60.0, frame.y(gap * unit.factor) - 4.0), 4.0, "pin");
    }
    svg.close();
}

/// Slow movement before the trip, as a dimension line beside it; its place and words come back.
fn creep(
    svg: &mut Svg,
    scene: &Scene,
    frame: &Frame,
    unit: &Scaled,
    placer: &mut Placer,
) -> Option<(Point, String)> {
    let (from, start) = scene.creep?;
    let trip = scene.report.trip.as_ref()?;
    let y = |travel: f64| frame.y(travel * unit.factor);
    let (x, first, last) = (frame.x(celsius(trip.temperature_K)), y(start), y(trip.travel_before_m));
    let begin = (frame.x(from), first);
    if !frame.window().holds(begin) || (first - last).abs() < 2.0 {
        return None;
    }
    svg.open("creep");
    svg.line("creep-level", begin, (x + 8.0, first), Pen::with(ink::SLATE, 0.8, Dash::Dotted));
    svg.line("creep-line", (x, first), (x, last), CREEP);
    for level in [first, last] {
        svg.line("creep-end", (x - 4.0, level), (x + 4.0, level), CREEP);
    }
    svg.circle("creep-start", begin, 2.6, ink::PAPER, CREEP);
    svg.close();
    placer.avoid(&[begin, (x + 8.0, first)]);
    placer.avoid(&[(x, first), (x, last)]);
    let words = format!("creep {}", unit.print((trip.travel_before_m - start).abs()));
    Some(((x + 3.0, 0.5 * (first + last)), words))
}

fn speech(scene: &Scene, unit: &Scaled) -> (String, String) {
    let r = scene.report;
    let mut story = String::new();
    for (j, _, words) in &scene.jumps {
        let moved = j.movement_m.filter(|m| drawable(*m)).map_or_else(
            || "; where it lands is not known".to_owned(),
            |m| format!(" and moves {}", unit.print(m.abs())),
        );
        story += &format!(" On {} it {words}{moved}.", j.on);
    }
    if let Some((from, start)) = scene.creep
        && let Some(t) = &r.trip
    {
        let crept = unit.print((t.travel_before_m - start).abs());
        story += &format!(" From {} to the trip it creeps {crept}.", degrees(from + 273.15));
    }
    if scene.jumps.is_empty() {
        story += " It does not jump.";
    }
    for (t, _, n) in &scene.losses {
        story += &if *n == 0 {
            format!(" Another round shape branches off at {}.", degrees(t + 273.15))
        } else {
            format!(" It gives way in {n} waves at {}.", degrees(t + 273.15))
        };
    }
    let mut kinds = vec!["stable (solid)"];
    if scene.stretches.iter().any(|s| s.class == Class::Unstable) {
        kinds.push("unstable (dashed)");
    }
    if scene.stretches.iter().any(|s| s.class == Class::Sideways) {
        kinds.push("unstable to waves only (chain)");
    }
    let pin = if scene.pin.is_some() { " Hatched line: the pin." } else { "" };
    let kinds = kinds.join(", ");
    let caption = format!(
        "{}. Travel of the centre from its place in the described shape, towards the other state, over temperature: {kinds}.{story}{pin}",
        r.title
    );
    let alt = format!("Travel of the centre over temperature, {kinds}.{story}{pin}");
    (alt, caption)
}

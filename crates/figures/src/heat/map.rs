//! Trip and delta over depth and thickness: curves of equal values, and where a part does not trip.

use calotte_answers::heat::report::{HeatMap, LevelCurves, MapState};

use super::celsius;
use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::map::{Family, draw, label_curves};
use crate::place::{Placer, Rect, length};
use crate::style::page_width;
use crate::svg::{Key, LEGEND_STEP, Mark, Point, Svg, legend_lines};
use crate::text::{LengthUnit, fixed, number};
use crate::thin::visible;

/// Height of the plot proper.
const PLOT: f64 = 400.0;
const TRIP: Pen = Pen::solid(ink::RUST, 1.6);
const DELTA: Pen = Pen::with(ink::DEEP, 1.3, Dash::Dashed);
const NONE: &str = "url(#heat-map-none)";
const UNKNOWN: &str = "url(#heat-map-unknown)";
/// Overlap of neighbouring cells, or the page shines through.
const SEAM: f64 = 0.4;

/// The plane on the page.
struct Plane {
    frame: Frame,
    /// Display units per SI unit of depth, and of thickness.
    per: (f64, f64),
}

impl Plane {
    fn page(&self, depth: f64, thickness: f64) -> Point {
        (self.frame.x(depth * self.per.0), self.frame.y(thickness * self.per.1))
    }
}

/// The figure; `None` when the ranges cannot be drawn.
pub(super) fn figure(map: &HeatMap, title: &str) -> Option<Figure> {
    let ends = |v: &[f64]| Some((*v.first()?, *v.last()?)).filter(|(a, b)| a < b && b.is_finite());
    let (depths, thicknesses) = (ends(&map.depths_si)?, ends(&map.thicknesses_m)?);
    let cells = map.depths_si.len() * map.thicknesses_m.len();
    if map.states.len() != cells || map.resets_K.len() != cells {
        return None;
    }
    let unit = LengthUnit::for_length(thicknesses.1);
    let per = (if map.depth_is_angle { 1.0_f64.to_degrees() } else { 1.0 }, unit.per_m);
    let across_title = if map.depth_is_angle { "half-angle (deg)" } else { "heights over those of the case" };
    let across = Axis::between(depths.0 * per.0, depths.1 * per.0, 7.0);
    let up = Axis::between(thicknesses.0 * per.1, thicknesses.1 * per.1, 6.0);
    let left = 10.0 + Frame::room_left(&up);
    let mut plane =
        Plane { frame: Frame { left, right: page_width() - 22.0, top: 0.0, bottom: PLOT, across, up }, per };
    let entries = legend(map);
    plane.frame.top = 18.0 + LEGEND_STEP * legend_lines(left, page_width() - 10.0, &entries);
    plane.frame.bottom = plane.frame.top + PLOT;
    let window = plane.frame.window();
    let mut svg = Svg::new(page_width(), plane.frame.bottom + 46.0);
    shades(&mut svg, map, &plane);
    let mut placer = Placer::new(window.grown(-2.0));
    let here = plane.page(map.depth_here_si, map.thickness_here_m);
    let shown = window.holds(here);
    if shown {
        placer.block(Rect::about(here, 1.6 * draw::HERE_RADIUS, 1.6 * draw::HERE_RADIUS));
    }
    let mut all = families(map, &plane, &window);
    label_curves(&mut all, &mut placer, &window);
    for piece in all.iter().flat_map(|f| &f.pieces) {
        placer.avoid(piece);
    }
    plane.frame.draw(&mut svg, across_title, &format!("thickness ({})", unit.name));
    draw::curves(&mut svg, &all, None, &window);
    draw::labels(&mut svg, &all);
    if shown {
        svg.open("here");
        svg.circle("here-ground", here, draw::HERE_RADIUS + 1.2, ink::PAPER, Pen::solid(ink::PAPER, 0.5));
        svg.mark("here", here, Mark::Target, draw::HERE_RADIUS, "none", draw::HERE);
        draw::label(&mut svg, &mut placer, here, 1.6 * draw::HERE_RADIUS, "this part", ink::LABEL);
        svg.close();
    }
    svg.open("legend");
    svg.legend_rows((left, 20.0), page_width() - 10.0, &entries);
    svg.close();
    let story = story(map, &plane, unit);
    let name = if map.depth_is_angle { "half-angle" } else { "height" };
    let alt = format!("Map with {name} across and thickness upwards.{story}");
    let caption = format!("{title}. Trip temperature and delta over {name} and thickness.{story}");
    let heading = format!("{title}: trip and delta over {name} and thickness");
    Some(Figure::new("heat-map", svg.finish(&heading, &alt), alt, caption))
}

/// A round level with as many decimals as it needs.
fn round(level: f64) -> String {
    let near = |d: &usize| {
        let scale = libm::pow(10.0, *d as f64);
        ((level * scale).round() / scale - level).abs() < 1e-7
    };
    (0..6).find(near).map_or_else(|| number(level, 6), |d| fixed(level, d))
}

fn families(map: &HeatMap, plane: &Plane, window: &Rect) -> Vec<Family> {
    let mut all = Vec::new();
    let mut add = |levels: &[LevelCurves], class, pen, label: &dyn Fn(f64) -> String| {
        for l in levels {
            let pieces: Vec<Vec<Point>> = l
                .curves
                .iter()
                .flat_map(|c| {
                    let each = c.depth_si.iter().zip(&c.thickness_m);
                    visible(&each.map(|(d, h)| plane.page(*d, *h)).collect::<Vec<_>>(), window)
                })
                .filter(|p| length(p) > 0.5)
                .collect();
            if !pieces.is_empty() {
                all.push(Family { class, pen, label: Some(label(l.level_K)), pieces, spot: None });
            }
        }
    };
    add(&map.equal_delta, "equal-delta", DELTA, &|k| format!("{} K", round(k)));
    add(&map.equal_trip, "equal-trip", TRIP, &|k| format!("{} °C", round(celsius(k))));
    all
}

/// Fill, class and name of what is shaded.
type Shade = (&'static str, &'static str, &'static str);

const SHADES: [Shade; 5] = [
    (NONE, "cell-none", "no trip in the range"),
    (ink::SHADE, "cell-no-reset", "trips, no reset seen"),
    (ink::FAINT, "cell-no-part", "no such part"),
    (UNKNOWN, "cell-unknown", "unknown"),
    (ink::TINTS[4], "cell-beyond", "trips beyond the range"),
];

/// The shade of each place of the grid, by its index.
fn shaded(map: &HeatMap) -> Vec<Option<usize>> {
    let one = |(state, reset): (&MapState, &Option<f64>)| match (state, reset) {
        (MapState::Trips, Some(_)) => None,
        (MapState::None, _) => Some(0),
        (MapState::Trips, None) => Some(1),
        (MapState::NoPart, _) => Some(2),
        (MapState::Unknown, _) => Some(3),
        (MapState::Beyond, _) => Some(4),
    };
    map.states.iter().zip(&map.resets_K).map(one).collect()
}

/// Cells about the places of the grid that do not trip: runs of equal ones of a row in one rectangle.
fn shades(svg: &mut Svg, map: &HeatMap, plane: &Plane) {
    let f = &plane.frame;
    let columns = map.depths_si.len();
    let half = (
        0.5 * (f.right - f.left) / (columns - 1) as f64,
        0.5 * (f.bottom - f.top) / (map.thicknesses_m.len() - 1) as f64,
    );
    svg.pattern("heat-map-none", ink::SHADE_RETURNS, ink::PATTERN, false);
    svg.pattern("heat-map-unknown", ink::SHADE_UNDECIDED, ink::GREY, true);
    svg.open("grid");
    for (row, h) in shaded(map).chunks(columns).zip(&map.thicknesses_m) {
        let mut from = 0;
        for run in row.chunk_by(|a, b| a == b) {
            let to = from + run.len() - 1;
            let (a, b) = (plane.page(map.depths_si[from], *h), plane.page(map.depths_si[to], *h));
            from = to + 1;
            let Some((fill, class, _)) = run[0].map(|i| SHADES[i]) else { continue };
            let (left, right) = ((a.0 - half.0).max(f.left), (b.0 + half.0 + SEAM).min(f.right));
            let (top, bottom) = ((a.1 - half.1).max(f.top), (a.1 + half.1 + SEAM).min(f.bottom));
            svg.rectangle(class, (left, top), (right - left, bottom - top), fill);
        }
    }
    svg.close();
}

fn legend(map: &HeatMap) -> Vec<(Key, String)> {
    let mut out = Vec::new();
    let any = |l: &[LevelCurves]| l.iter().any(|l| !l.curves.is_empty());
    if any(&map.equal_trip) {
        out.push((Key::Line(TRIP), "equal trip".to_owned()));
    }
    if any(&map.equal_delta) {
        out.push((Key::Line(DELTA), "equal delta".to_owned()));
    }
    let shaded = shaded(map);
    for (i, (fill, _, name)) in SHADES.iter().enumerate() {
        if shaded.contains(&Some(i)) {
            out.push((Key::Patch(fill), (*name).to_owned()));
        }
    }
    out.push((Key::Mark(Mark::Target, "none", draw::HERE), "this part".to_owned()));
    out
}

/// What the figure shows, in sentences.
fn story(map: &HeatMap, plane: &Plane, unit: LengthUnit) -> String {
    let mut out = String::new();
    let range = |l: &[LevelCurves]| Some((l.first()?.level_K, l.last()?.level_K));
    if let Some((a, b)) = range(&map.equal_trip) {
        out += &format!(" Curves of equal trip from {} to {} °C.", round(celsius(a)), round(celsius(b)));
    }
    if let Some((a, b)) = range(&map.equal_delta) {
        out += &format!(" Dashed: curves of equal delta from {} to {} K.", round(a), round(b));
    }
    let all = map.states.len();
    for (count, what) in [
        (map.none, "have no trip within the temperatures looked at (striped)"),
        (map.beyond, "trip beyond them (blue)"),
        (map.no_reset, "trip, but no reset was seen (shaded)"),
        (map.no_part, "do not exist (grey)"),
        (map.unknown, "are unknown (dotted)"),
    ] {
        if count > 0 {
            out += &format!(" {count} of {all} parts {what}.");
        }
    }
    let here = plane.page(map.depth_here_si, map.thickness_here_m);
    if plane.frame.window().holds(here) {
        let depth = number(map.depth_here_si * plane.per.0, 3);
        let degrees = if map.depth_is_angle { " deg" } else { "" };
        out +=
            &format!(" Cross hairs: this part, {depth}{degrees} and {}.", unit.print(map.thickness_here_m));
    } else {
        out += " This part lies outside the map.";
    }
    out
}

//! Slowing down near the threshold: delays and frequencies against distance, with local exponents and guides.

use calotte_answers::release::curves::Slowing;

use super::time::{TimeUnit, usable};
use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::place::{Placer, Rect};
use crate::style::page_width;
use crate::svg::{Anchor, Mark, Point, Svg};
use crate::text::{Scaled, fixed, length, text_width};
use crate::thin::visible;

const PLOT: f64 = 230.0;
const GUIDE: Pen = Pen::with(ink::GREY, 1.0, Dash::Dashed);
const OUTLINE: Pen = Pen::solid(ink::INK, 1.0);

/// Distance, value, local exponent.
type Row = (f64, f64, Option<f64>);

/// One panel.
struct Panel {
    title: &'static str,
    across: &'static str,
    up: String,
    factor: f64,
    rows: Vec<Row>,
    /// Slope of the guide and its words.
    slope: (f64, &'static str),
    pen: Pen,
    mark: Mark,
}

fn rows(points: impl Iterator<Item = Row>) -> Vec<Row> {
    let mut out: Vec<Row> = points.filter(|r| usable(r.0) && usable(r.1) && r.0 > 0.0 && r.1 > 0.0).collect();
    out.sort_by(|a, b| a.0.total_cmp(&b.0));
    out
}

fn panels(slowing: &Slowing) -> Vec<Panel> {
    let elastic = rows(slowing.elastic.iter().map(|d| (d.distance, d.time_s, d.exponent)));
    let damped = rows(slowing.damped.iter().map(|d| (d.distance, d.time_s, d.exponent)));
    let slow = rows(slowing.frequencies.iter().map(|f| (f.distance, f.frequency_Hz, f.exponent)));
    let middle = |r: &[Row]| r.get(r.len() / 2).map_or(1.0, |r| r.1);
    let unit = TimeUnit::suiting(middle(&elastic));
    let hertz = Scaled::suiting(middle(&slow), "Hz");
    let beyond = "h/h* − 1";
    let all = vec![
        Panel {
            title: "delay, elastic",
            across: beyond,
            up: format!("half-way time ({})", unit.name),
            factor: unit.per_s,
            rows: elastic,
            slope: (-0.25, "slope −1/4"),
            pen: Pen::solid(ink::DEEP, 1.8),
            mark: Mark::Disc,
        },
        Panel {
            title: "delay, thick bath",
            across: beyond,
            up: "half-way time (bath's unit)".to_owned(),
            factor: 1.0,
            rows: damped,
            slope: (-0.5, "slope −1/2"),
            pen: Pen::solid(ink::RUST, 1.8),
            mark: Mark::Square,
        },
        Panel {
            title: "frequency, inverted",
            across: "1 − h/h*",
            up: hertz.title("lowest frequency"),
            factor: hertz.factor,
            rows: slow,
            slope: (0.25, "slope 1/4"),
            pen: Pen::solid(ink::PLUM, 1.8),
            mark: Mark::Diamond,
        },
    ];
    all.into_iter().filter(|p| p.rows.len() > 1).collect()
}

/// The figure; `None` when no curve has two points.
pub(super) fn figure(slowing: &Slowing, title: &str) -> Option<Figure> {
    let panels = panels(slowing);
    if panels.is_empty() {
        return None;
    }
    // As many beside each other as have room for their numbers.
    let columns = ((page_width() / 210.0).floor().max(1.0) as usize).min(panels.len());
    let wide = (page_width() - 20.0) / columns as f64;
    let row = 34.0 + PLOT + 46.0;
    let mut svg = Svg::new(page_width(), row * panels.len().div_ceil(columns) as f64);
    for (i, panel) in panels.iter().enumerate() {
        let top = 34.0 + row * (i / columns) as f64;
        let left = 10.0 + wide * (i % columns) as f64;
        draw(&mut svg, panel, left, wide, (top, top + PLOT), (b'a' + i as u8) as char);
    }
    let each: Vec<String> = panels
        .iter()
        .map(|p| {
            let nearest = p.rows.iter().find_map(|r| r.2.filter(|e| usable(*e)));
            let local = nearest.map_or_else(String::new, |e| {
                format!(", local exponent {} nearest to the threshold", fixed(e, 3))
            });
            format!("{}: {} points{local} (guide: {})", p.title, p.rows.len(), p.slope.1)
        })
        .collect();
    let each = each.join("; ");
    let threshold = if usable(slowing.threshold_thickness_m) {
        format!(" The threshold thickness h* is {}.", length(slowing.threshold_thickness_m))
    } else {
        String::new()
    };
    let said = crate::release::sentences(&slowing.words);
    let caption =
        format!("{title}. Slowing down near the threshold, both axes logarithmic. {each}.{threshold}{said}");
    let alt = format!(
        "Logarithmic plots of delay and frequency over the distance from the threshold. {each}.{threshold}"
    );
    let heading = format!("{title}: slowing down near the threshold");
    Some(Figure::new("slowing", svg.finish(&heading, &alt), alt, caption))
}

fn draw(svg: &mut Svg, panel: &Panel, left: f64, wide: f64, (top, bottom): (f64, f64), letter: char) {
    let (first, last) = (panel.rows[0].0, panel.rows[panel.rows.len() - 1].0);
    let (low, high) = panel.rows.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), r| (a.min(r.1), b.max(r.1)));
    let across = Axis::logarithmic(first / 1.5, last * 1.5);
    let up = Axis::logarithmic(low / 1.3 * panel.factor, high * 1.3 * panel.factor);
    let start = left + Frame::room_left(&up);
    let frame = Frame { left: start, right: left + wide - 12.0, top, bottom, across, up };
    svg.open("panel");
    let name = format!("({letter}) {}", panel.title);
    svg.text("panel", (start, top - 10.0), ink::LABEL, Anchor::Start, ink::INK, &name);
    frame.draw(svg, panel.across, &panel.up);
    let page = |d: f64, v: f64| -> Point { (frame.x(d), frame.y(v * panel.factor)) };
    let points: Vec<Point> = panel.rows.iter().map(|r| page(r.0, r.1)).collect();
    let mut placer = Placer::new(frame.window().grown(-2.0));
    placer.avoid(&points);
    for p in &points {
        placer.block(Rect::about(*p, 4.0, 4.0));
    }
    // The guide runs through the point nearest to the threshold.
    let (d0, v0, _) = panel.rows[0];
    let guide: Vec<Point> = [frame.across.low, frame.across.high]
        .iter()
        .map(|&d| page(d, v0 * libm::pow(d / d0, panel.slope.0)))
        .collect();
    for piece in visible(&guide, &frame.window()) {
        svg.curve("guide", &piece, GUIDE);
        placer.avoid(&piece);
    }
    svg.curve("slowing", &points, panel.pen);
    for p in &points {
        svg.mark("point", *p, panel.mark, 3.6, panel.pen.colour, OUTLINE);
    }
    let end = visible(&guide, &frame.window()).last().and_then(|g| g.last().copied());
    if let Some(end) = end {
        let half = text_width(panel.slope.1, ink::TICK) / 2.0;
        let at = (end.0 - half - 4.0, end.1);
        if let Some(spot) = placer.beside(at, 6.0, panel.slope.1, ink::TICK) {
            svg.text("guide-name", spot.at, ink::TICK, Anchor::Start, ink::GREY, panel.slope.1);
        }
    }
    // Numbers on a few points only, the one nearest to the threshold first.
    let told: Vec<(usize, f64)> =
        panel.rows.iter().enumerate().filter_map(|(i, r)| Some((i, r.2.filter(|e| usable(*e))?))).collect();
    let every = told.len().div_ceil(4).max(1);
    for (i, exponent) in told.iter().step_by(every) {
        let words = fixed(*exponent, 3);
        let Some(spot) = placer.beside(points[*i], 4.0, &words, ink::TICK) else { continue };
        if let Some((a, b)) = spot.leader {
            svg.line("leader", a, b, Pen::solid(ink::GREY, 0.6));
        }
        svg.text("exponent", spot.at, ink::TICK, Anchor::Start, ink::INK, &words);
    }
    svg.close();
}

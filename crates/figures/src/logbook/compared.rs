//! Numbers read over numbers computed, with errors of both.

use calotte_lab::logbook::report::{ComparedRow, Comparison, LogbookReport};

use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::style::page_width;
use crate::svg::{Key, Mark, Point, Svg};
use crate::text::Scaled;

const TOP: f64 = 40.0;
/// Room below a panel for its numbers and its title.
const BELOW: f64 = 50.0;
/// Least width of a panel beside another.
const LEAST: f64 = 240.0;
const BAR: Pen = Pen::solid(ink::INK, 0.9);
const EQUAL: Pen = Pen::with(ink::GREY, 1.2, Dash::Dashed);
const LINE: Pen = Pen::solid(ink::DEEP, 1.6);

/// A pair: computed and read, each with the ends of its bar.
struct Pair {
    across: [f64; 3],
    up: [f64; 3],
    outlier: bool,
}

fn ends(value: f64, sd: f64, log: bool) -> [f64; 3] {
    if log {
        [value * libm::exp(-2.0 * sd), value, value * libm::exp(2.0 * sd)]
    } else {
        [value - 2.0 * sd, value, value + 2.0 * sd]
    }
}

fn pair(c: &Comparison, row: &ComparedRow) -> Option<Pair> {
    let across = ends(row.computed_si?, row.computed_sd?, c.logarithmic);
    let up = ends(row.read_si, row.read_sd, c.logarithmic);
    let good = across.iter().chain(&up).all(|x| x.is_finite() && (!c.logarithmic || *x > 0.0));
    good.then_some(Pair { across, up, outlier: row.outlier })
}

/// The figure, a panel for each kind of number; `None` without pairs.
pub(super) fn figure(r: &LogbookReport) -> Option<Figure> {
    let panels: Vec<(&Comparison, Vec<Pair>)> = r
        .compared
        .iter()
        .map(|c| (c, c.rows.iter().filter_map(|row| pair(c, row)).collect::<Vec<_>>()))
        .filter(|(_, pairs)| !pairs.is_empty())
        .take(2)
        .collect();
    if panels.is_empty() {
        return None;
    }
    // Side by side where there is room for that, else one below the other.
    let stacked = page_width() < LEAST * panels.len() as f64;
    let room = if stacked { page_width() } else { page_width() / panels.len() as f64 };
    let side = (room - 92.0).min(300.0);
    let rows = if stacked { panels.len() } else { 1 };
    let mut svg = Svg::new(page_width(), TOP + (side + BELOW) * rows as f64);
    for (i, (c, pairs)) in panels.iter().enumerate() {
        let i = i as f64;
        let (from, top) = if stacked { (0.0, TOP + (side + BELOW) * i) } else { (room * i, TOP) };
        panel(&mut svg, c, pairs, (from, top), side);
    }
    svg.open("legend");
    let mut entries = vec![
        (Key::Mark(Mark::Disc, ink::AMBER, BAR), "specimen, two standard deviations".to_owned()),
        (Key::Line(EQUAL), "equal".to_owned()),
    ];
    if panels.iter().any(|(c, _)| c.line.is_some()) {
        entries.push((Key::Line(LINE), "line with errors in both".to_owned()));
    }
    if panels.iter().any(|(_, p)| p.iter().any(|p| p.outlier)) {
        entries.push((Key::Mark(Mark::Diamond, ink::RUST, BAR), "beyond three".to_owned()));
    }
    svg.legend_above((12.0, 18.0), page_width() - 10.0, &entries);
    svg.close();
    let told: Vec<String> =
        panels.iter().map(|(c, p)| format!("{} pairs of the {}", p.len(), c.what)).collect();
    let told = told.join(", ");
    let alt = format!("Numbers read over numbers computed, with errors of both: {told}.");
    let caption = format!("{}. Read over computed, as described: {told}.", r.title);
    Some(Figure::new("compared", svg.finish(&format!("{}: read and computed", r.title), &alt), alt, caption))
}

fn panel(svg: &mut Svg, c: &Comparison, pairs: &[Pair], (from, top): Point, side: f64) {
    let all = || pairs.iter().flat_map(|p| p.across.iter().chain(&p.up)).copied();
    let (low, high) = all().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| (a.min(x), b.max(x)));
    let scaled = Scaled::suiting(pairs.iter().map(|p| p.up[1]).fold(0.0, f64::max), c.unit);
    let f = scaled.factor;
    let log = c.logarithmic && high / low > 6.0;
    let axis = || {
        if log {
            Axis::logarithmic(low / 1.1 * f, high * 1.1 * f)
        } else {
            Axis::covering(low * f, high * f, 5.0)
        }
    };
    let (across, up) = (axis(), axis());
    let left = from + Frame::room_left(&up) + 10.0;
    let frame = Frame { left, right: left + side, top, bottom: top + side, across, up };
    frame.draw(
        svg,
        &scaled.title(&format!("{}, computed", c.what)),
        &scaled.title(&format!("{}, read", c.what)),
    );
    let at = |x: f64, y: f64| -> Point { (frame.x(x * f), frame.y(y * f)) };
    let (a, b) = (frame.across.low, frame.across.high);
    svg.line("equal", (frame.x(a), frame.y(a)), (frame.x(b), frame.y(b)), EQUAL);
    if let Some(l) = &c.line {
        let of = |x: f64| {
            if c.logarithmic {
                libm::exp(l.intercept + l.slope * libm::log(x))
            } else {
                l.intercept + l.slope * x
            }
        };
        let steps = 60;
        let points: Vec<Point> = (0..=steps)
            .map(|i| {
                let u = f64::from(i) / f64::from(steps);
                let x = if log { a * libm::pow(b / a, u) } else { a + (b - a) * u } / f;
                (x, of(x))
            })
            .filter(|(_, y)| (frame.up.low..=frame.up.high).contains(&(y * f)))
            .map(|(x, y)| at(x, y))
            .collect();
        svg.curve("line", &points, LINE);
    }
    svg.open("pairs");
    for p in pairs {
        svg.line("error", at(p.across[0], p.up[1]), at(p.across[2], p.up[1]), BAR);
        svg.line("error", at(p.across[1], p.up[0]), at(p.across[1], p.up[2]), BAR);
    }
    for p in pairs {
        let (mark, fill) = if p.outlier { (Mark::Diamond, ink::RUST) } else { (Mark::Disc, ink::AMBER) };
        svg.mark("pair", at(p.across[1], p.up[1]), mark, 3.8, fill, BAR);
    }
    svg.close();
}

//! Energy barriers over the load held.

use calotte_answers::poke::report::PokeReport;

use super::drawable;
use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::style::page_width;
use crate::svg::{Key, Mark, Point, Svg};
use crate::text::Scaled;

const HEIGHT: f64 = 330.0;
const OUTLINE: Pen = Pen::solid(ink::INK, 1.1);

/// One state left: its words, its line, its mark, and load and barrier of every point.
struct Series {
    words: String,
    pen: Pen,
    mark: (Mark, &'static str),
    points: Vec<(f64, f64)>,
}

/// Barriers by the state they leave, in the order met, each sorted by load.
fn series(report: &PokeReport) -> Vec<Series> {
    const LOOKS: [(Pen, Mark, &str); 3] = [
        (Pen::solid(ink::DEEP, 1.8), Mark::Disc, ink::DEEP),
        (Pen::with(ink::AMBER, 1.8, Dash::Dashed), Mark::Square, ink::PAPER),
        (Pen::with(ink::PLUM, 1.8, Dash::Chain), Mark::Diamond, ink::PAPER),
    ];
    let mut states: Vec<&str> = Vec::new();
    for b in &report.barriers {
        if !states.contains(&b.from.as_str()) {
            states.push(&b.from);
        }
    }
    states
        .into_iter()
        .enumerate()
        .map(|(i, from)| {
            let (pen, mark, fill) = LOOKS[i.min(LOOKS.len() - 1)];
            let words = match from {
                "start" => "out of the state poked".to_owned(),
                "far" => "out of the far state".to_owned(),
                other => format!("out of {other}"),
            };
            let mut points: Vec<(f64, f64)> = report
                .barriers
                .iter()
                .filter(|b| b.from == from && drawable(b.load_SI, b.barrier_J))
                .map(|b| (b.load_SI, b.barrier_J))
                .collect();
            points.sort_by(|a, b| a.0.total_cmp(&b.0));
            Series { words, pen, mark: (mark, fill), points }
        })
        .filter(|s| !s.points.is_empty())
        .collect()
}

/// The figure; `None` without barriers.
pub(super) fn figure(report: &PokeReport) -> Option<Figure> {
    let all = series(report);
    let points = || all.iter().flat_map(|s| s.points.iter());
    let far = points().map(|p| p.0.abs()).fold(0.0, f64::max);
    let high = points().map(|p| p.1).fold(0.0, f64::max);
    let low = points().map(|p| p.1).fold(0.0, f64::min);
    // Without loads there is no axis to draw them over; the numbers stand in the report.
    if all.is_empty() || far == 0.0 {
        return None;
    }
    let load = Scaled::suiting(far, &report.load.load_unit);
    let energy = Scaled::suiting(high.max(-low), "J");
    let least = points().map(|p| p.0).fold(0.0, f64::min);
    let most = points().map(|p| p.0).fold(0.0, f64::max);
    let pad = 0.03 * (most - least);
    let up = Axis::covering(low * energy.factor, high * 1.05 * energy.factor, 5.0);
    let start = if least < 0.0 { least - pad } else { 0.0 };
    let across = Axis::covering(start * load.factor, (most + pad) * load.factor, 7.0);
    let left = 10.0 + Frame::room_left(&up);
    let frame = Frame { left, right: page_width() - 18.0, top: 38.0, bottom: HEIGHT - 46.0, across, up };

    let mut svg = Svg::new(page_width(), HEIGHT);
    frame.draw(&mut svg, &load.title(&report.load.load_name), &energy.title("energy barrier"));
    let mut entries = Vec::new();
    svg.open("curves");
    for s in &all {
        let line: Vec<Point> =
            s.points.iter().map(|p| (frame.x(p.0 * load.factor), frame.y(p.1 * energy.factor))).collect();
        if line.len() > 1 {
            svg.curve("barrier", &line, s.pen);
        }
        for at in line {
            svg.mark("barrier-point", at, s.mark.0, 3.8, s.mark.1, OUTLINE);
        }
        entries.push((if s.points.len() > 1 { Key::Line(s.pen) } else { mark(s) }, s.words.clone()));
    }
    svg.close();
    svg.open("legend");
    if crate::style::now().is_usual() {
        svg.legend((frame.left, 22.0), &entries);
    } else {
        svg.legend_above((frame.left, 22.0), page_width() - 8.0, &entries);
    }
    svg.close();

    let list: Vec<String> = all
        .iter()
        .map(|s| {
            let most = s.points.iter().map(|p| p.1).fold(f64::NEG_INFINITY, f64::max);
            format!("{}, at most {}", s.words, energy.print(most))
        })
        .collect();
    let list = list.join("; ");
    let caption = format!(
        "{}. Energy that has to be put in to pass the saddle at a held {}: {list}.",
        report.title, report.load.load_name
    );
    let alt = format!("Energy barrier over {}: {list}.", report.load.load_name);
    let title = format!("{}: energy barriers", report.title);
    Some(Figure::new("barrier", svg.finish(&title, &alt), alt, caption))
}

fn mark(s: &Series) -> Key {
    Key::Mark(s.mark.0, s.mark.1, OUTLINE)
}

//! Grey values along the line over time, with the followed edge.

use super::{ClipDrawing, FIT};
use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::style::page_width;
use crate::svg::{Key, Point, Svg};

const COLUMNS: usize = 260;
const CELLS: usize = 150;
const GREYS: u32 = 24;

/// The space–time picture.
pub(super) fn strip(drawing: &ClipDrawing<'_>, title: &str) -> Option<Figure> {
    let s = drawing.strip;
    let count = s.numbers.len();
    let (first, last) = (*s.numbers.first()?, *s.numbers.last()?);
    if last <= first || s.across < 2 {
        return None;
    }
    let across = Axis::between(first as f64, last as f64, 7.0);
    // Up the figure is up the picture, whichever way the line runs.
    let far = s.across as f64 - 1.0;
    let falls = drawing.report.lines.first().is_some_and(|l| l.to_px[1] > l.from_px[1]);
    let up = Axis::between(0.0, far, 6.0);
    let left = 10.0 + Frame::room_left(&up);
    let frame = Frame { left, right: page_width() - 18.0, top: 40.0, bottom: 330.0, across, up };
    let mut svg = Svg::new(page_width(), frame.bottom + 46.0);
    let cells = s.across.min(CELLS);
    let high = (frame.bottom - frame.top) / cells as f64;
    let columns = count.min(COLUMNS);
    svg.open("strip");
    for c in 0..columns {
        let k = c * count / columns;
        let next = ((c + 1) * count / columns).min(count - 1);
        let x = frame.x(s.numbers[k] as f64);
        let width = (frame.x(s.numbers[next] as f64) - x)
            .min(3.0 * (frame.right - frame.left) / columns as f64)
            .max(0.8);
        let grey = |cell: usize| {
            let j = cell * s.across / cells;
            let j = if falls { s.across - 1 - j } else { j };
            u32::from(s.values[k * s.across + j]) * GREYS / 256
        };
        let mut from = 0;
        for cell in 1..=cells {
            if cell == cells || grey(cell) != grey(from) {
                let v = (grey(from) * 255 / (GREYS - 1)).min(255);
                let top = frame.bottom - high * cell as f64;
                let size = ((width + 0.6).min(frame.right - x), high * (cell - from) as f64 + 0.1);
                svg.rectangle("grey", (x, top), size, &format!("#{v:02x}{v:02x}{v:02x}"));
                from = cell;
            }
        }
    }
    svg.close();
    let lower = if falls { "end" } else { "start" };
    frame.draw(&mut svg, "frame", &format!("place on the line, from its {lower} (px)"));
    // Pieces between gaps.
    let mut piece: Vec<Point> = Vec::new();
    let mut before = None;
    let mut pieces = 0;
    for spot in drawing.along.iter().map(Some).chain([None]) {
        let broken = spot.is_none_or(|s| before.is_some_and(|b| s.0 > b + 3));
        if broken {
            if piece.len() > 1 {
                svg.curve("edge", &piece, FIT);
                pieces += 1;
            }
            piece.clear();
        }
        if let Some((n, along)) = spot {
            let place = if falls { far - along } else { *along };
            piece.push((frame.x(*n as f64), frame.y(place)));
            before = Some(*n);
        }
    }
    svg.open("legend");
    svg.legend_above((left, 20.0), frame.right, &[(Key::Line(FIT), "edge followed".to_owned())]);
    svg.close();
    let alt = format!(
        "Grey values along the line in {count} frames, and the edge that was followed, in {pieces} piece{}.",
        if pieces == 1 { "" } else { "s" }
    );
    let caption = format!(
        "{title}. What the line across the pole saw, frame by frame, with the edge that was followed."
    );
    Some(Figure::new("strip", svg.finish(&format!("{title}: strip"), &alt), alt, caption))
}

//! Growth of sideways deflections against the wall's thickness.

use calotte_answers::release::report::ReleaseReport;

use super::split::{STRIP, Split, legs};
use super::time::{duration, phases, usable};
use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::place::{Placer, Rect};
use crate::style::page_width;
use crate::svg::{Anchor, Key, Svg};
use crate::text::{Scaled, number, text_width};

const PLOT: f64 = 230.0;
const WALL: Pen = Pen::with(ink::INK, 1.4, Dash::Dashed);
const LINES: [Pen; 5] = [
    Pen::solid(ink::DEEP, 2.0),
    Pen::with(ink::AMBER, 2.0, Dash::Chain),
    Pen::with(ink::PLUM, 1.8, Dash::Dotted),
    Pen::with(ink::GREY, 1.8, Dash::Dashed),
    Pen::solid(ink::RUST, 1.2),
];

/// The figure; `None` when nothing sideways was followed.
pub(super) fn figure(report: &ReleaseReport) -> Option<Figure> {
    let lines: Vec<(u32, Vec<(f64, f64)>)> = report
        .sideways
        .iter()
        .map(|s| {
            let whole = s.time_s.iter().copied().zip(s.amplitude_m.iter().copied());
            let mut rows: Vec<(f64, f64)> =
                whole.filter(|(t, a)| usable(*t) && usable(*a) && *a > 0.0).collect();
            rows.sort_by(|a, b| a.0.total_cmp(&b.0));
            (s.n, rows)
        })
        .filter(|(_, rows)| rows.len() > 1)
        .collect();
    let thickness = Some(report.part.thickness_m).filter(|h| usable(*h) && *h > 0.0);
    let fold = |x: fn(&(f64, f64)) -> f64| {
        lines
            .iter()
            .flat_map(|l| l.1.iter().map(x))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)))
    };
    let ((first, last), (low, high)) = (fold(|r| r.0), fold(|r| r.1));
    if last <= first {
        return None;
    }
    let high = thickness.map_or(high, |h| h.max(high)) * 2.0;
    // A deflection that dies away says no more below a billionth of the largest.
    let low = low.max(high * 1e-9) / 1.5;
    let unit = Scaled::suiting(libm::sqrt(low * high).max(high * 1e-3), "m");
    let up = Axis::logarithmic(low * unit.factor, high * unit.factor);
    let left = 10.0 + Frame::room_left(&up);
    let top = 12.0 + 22.0 + STRIP;
    let logs: Vec<(f64, f64)> =
        lines.iter().flat_map(|l| l.1.iter().map(|r| (r.0, libm::log10(r.1.max(low))))).collect();
    let pieces = legs(report, first, last);
    let split = Split::new(&pieces, &logs, (left, page_width() - 14.0), (top, top + PLOT), up);
    let mut svg = Svg::new(page_width(), split.bottom + 46.0);
    split.phases(&mut svg, &phases(report, first, last));
    split.draw(&mut svg, &unit.title("amplitude"));
    let mut placer =
        Placer::new(Rect { left, top: split.top, right: page_width() - 14.0, bottom: split.bottom });
    let (x0, x1) = split.sides();
    if let Some(h) = thickness {
        let y = split.y(h * unit.factor);
        svg.line("thickness", (x0, y), (x1, y), WALL);
        let words = format!("wall thickness {}", Scaled::suiting(h, "m").print(h));
        svg.text("level-name", (x0 + 5.0, y - 4.0), ink::LABEL, Anchor::Start, ink::INK, &words);
        let half = text_width(&words, ink::LABEL) / 2.0;
        placer.block(Rect::about((x0 + 5.0 + half, y - 8.0), half + 3.0, 7.0));
        placer.avoid(&[(x0, y), (x1, y)]);
    }
    let drawn: Vec<_> = lines
        .iter()
        .enumerate()
        .map(|(i, (n, rows))| {
            let shown: Vec<(f64, f64)> =
                rows.iter().map(|r| (r.0, r.1.max(low * 1e-3) * unit.factor)).collect();
            (LINES[i % LINES.len()], *n, split.curves(&shown))
        })
        .collect();
    svg.open("curves");
    for (pen, _, curves) in &drawn {
        for piece in curves {
            svg.curve("amplitude", piece, *pen);
            placer.avoid(piece);
        }
    }
    svg.close();
    svg.open("labels");
    for (_, n, curves) in &drawn {
        let Some(end) = curves.last().and_then(|c| c.last()) else { continue };
        let words = format!("n = {n}");
        if let Some(spot) = placer.beside(*end, 3.0, &words, ink::LABEL) {
            svg.text("label", spot.at, ink::LABEL, Anchor::Start, ink::INK, &words);
        }
    }
    svg.close();
    svg.open("legend");
    let entries: Vec<(Key, String)> =
        drawn.iter().map(|(pen, n, _)| (Key::Line(*pen), format!("n = {n}"))).collect();
    svg.legend_above((left, 20.0), page_width() - 14.0, &entries);
    svg.close();

    let each: Vec<String> = report
        .sideways
        .iter()
        .filter(|s| usable(s.growth) && usable(s.largest_m))
        .map(|s| {
            format!(
                "n = {} grows {} times, to {} at {}{}",
                s.n,
                number(s.growth, 3),
                Scaled::suiting(s.largest_m, "m").print(s.largest_m),
                duration(s.largest_at_s),
                if s.wins { ", more than the wall's thickness" } else { "" }
            )
        })
        .collect();
    let each = if each.is_empty() { String::new() } else { format!(" {}.", each.join("; ")) };
    let caption = format!(
        "{}. Largest sideways deflection of each wave number n, linearised about the axisymmetric motion; dashed: the \
         wall's thickness.{each}",
        report.title
    );
    let alt = format!("Amplitudes of sideways deflections over time on a logarithmic scale.{each}");
    let title = format!("{}: growth sideways", report.title);
    Some(Figure::new("sideways", svg.finish(&title, &alt), alt, caption))
}

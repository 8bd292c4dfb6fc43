//! Trip and reset over a batch, as two histograms.

use calotte_answers::heat::report::{HeatSpread, Spread};

use super::{celsius, degrees, drawable};
use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::style::page_width;
use crate::svg::{Anchor, Key, Svg};
use crate::text::{fixed, number};

const PLOT: f64 = 190.0;
const TOP: f64 = 62.0;
/// Room between the panels.
const BETWEEN: f64 = 24.0;
/// Fewest and most bars.
const BARS: [f64; 2] = [6.0, 40.0];
const EDGE: Pen = Pen::solid(ink::INK, 0.7);
const MIDDLE: Pen = Pen::solid(ink::INK, 1.4);
const FIRST: Pen = Pen::with(ink::RUST, 1.4, Dash::Dashed);

/// One panel: what, draws in °C, and the fill of its bars.
struct Panel<'a> {
    what: &'static str,
    at: Vec<f64>,
    told: &'a Spread,
    fill: &'static str,
}

/// The figure; `None` when fewer than two draws are known of either.
pub(super) fn figure(spread: &HeatSpread, title: &str) -> Option<Figure> {
    let panel = |what, draws: &[Option<f64>], told, fill| {
        let at: Vec<f64> = draws.iter().flatten().filter(|t| drawable(**t)).map(|t| celsius(*t)).collect();
        (at.len() > 1).then_some(Panel { what, at, told, fill })
    };
    let panels: Vec<Panel> = [
        panel("reset", &spread.resets_K, &spread.reset, ink::WALL_NATURAL),
        panel("trip", &spread.trips_K, &spread.trip, ink::WALL_INVERTED),
    ]
    .into_iter()
    .flatten()
    .collect();
    if panels.is_empty() {
        return None;
    }
    let mut svg = Svg::new(page_width(), TOP + PLOT + 46.0);
    let room = page_width() / panels.len() as f64;
    for (i, p) in panels.iter().enumerate() {
        draw(&mut svg, p, room * i as f64, room * (i as f64 + 1.0), spread.drawn);
    }
    svg.open("legend");
    let mut entries = vec![(Key::Line(MIDDLE), "middle 95 % of the draws".to_owned())];
    if panels.iter().any(|p| p.told.first_order_half_width_K.is_some()) {
        entries.push((Key::Line(FIRST), "± by the tolerances, to first order".to_owned()));
    }
    svg.legend_above((12.0, 20.0), page_width() - 10.0, &entries);
    svg.close();
    let mut story = String::new();
    for p in &panels {
        if let (Some(a), Some(b)) = (quantile(p.told, 0.025), quantile(p.told, 0.975)) {
            story += &format!(" Middle 95 % of the {}: {} to {}.", p.what, degrees(a), degrees(b));
        }
        let lost = p.told.unknown + p.told.none + p.told.beyond;
        if lost > 0.0 {
            story += &format!(
                " {} % have no {} within the range or none was found.",
                number(100.0 * lost, 2),
                p.what
            );
        }
    }
    let alt = format!("Histograms of reset and trip temperature of {} drawn parts.{story}", spread.drawn);
    let caption = format!(
        "{title}. Reset and trip temperature of {} parts drawn within the tolerances.{story}",
        spread.drawn
    );
    let heading = format!("{title}: spread of trip and reset");
    Some(Figure::new("heat-spread", svg.finish(&heading, &alt), alt, caption))
}

fn quantile(told: &Spread, share: f64) -> Option<f64> {
    told.quantiles.iter().find(|q| q.share == share).map(|q| q.at_K).filter(|t| drawable(*t))
}

fn draw(svg: &mut Svg, p: &Panel, from: f64, to: f64, drawn: usize) {
    let low = p.at.iter().copied().fold(f64::INFINITY, f64::min);
    let high = p.at.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    // As many bars as the square root of the draws.
    let bars = (p.at.len() as f64).sqrt().ceil().clamp(BARS[0], BARS[1]);
    let wide = ((high - low) / bars).max(1e-9 * (1.0 + high.abs()));
    let mut counts = vec![0usize; bars as usize];
    for t in &p.at {
        let k = (((t - low) / wide) as usize).min(counts.len() - 1);
        counts[k] += 1;
    }
    let share = |count: usize| 100.0 * count as f64 / drawn.max(1) as f64;
    let most = counts.iter().copied().max().map_or(1.0, share);
    let centre = p.told.mean_K.map(celsius);
    let first = p.told.first_order_half_width_K.zip(centre).map(|(w, c)| (c - w, c + w));
    let ends = [Some(low), Some(high), first.map(|f| f.0), first.map(|f| f.1)];
    let ends = ends.into_iter().flatten().filter(|x| drawable(*x));
    let (a, b) = ends.fold((low, high), |(a, b), x| (a.min(x), b.max(x)));
    let pad = 0.04 * (b - a).max(wide);
    let across = Axis::covering(a - pad, b + pad, 4.0);
    // Room above the highest bar for the words on the median.
    let up = Axis::covering(0.0, 1.14 * most, 4.0);
    let left = from + 8.0 + Frame::room_left(&up);
    let frame = Frame { left, right: to - BETWEEN + 10.0, top: TOP, bottom: TOP + PLOT, across, up };
    svg.open(p.what);
    for (k, count) in counts.iter().enumerate() {
        let (x0, x1) = (frame.x(low + wide * k as f64), frame.x(low + wide * (k + 1) as f64));
        let y = frame.y(share(*count));
        if *count > 0 {
            svg.polygon("bar", &[(x0, frame.bottom), (x0, y), (x1, y), (x1, frame.bottom)], p.fill, EDGE);
        }
    }
    frame.draw(svg, &format!("{} temperature (°C)", p.what), "share of the batch (%)");
    let mut level = frame.top - 8.0;
    let middle = quantile(p.told, 0.025).zip(quantile(p.told, 0.975)).map(|(a, b)| (celsius(a), celsius(b)));
    for (class, ends, pen) in [("middle", middle, MIDDLE), ("first-order", first, FIRST)] {
        let Some((a, b)) = ends.filter(|e| drawable(e.0) && drawable(e.1)) else { continue };
        let (x0, x1) = (frame.x(a), frame.x(b));
        svg.line(class, (x0, level), (x1, level), pen);
        for x in [x0, x1] {
            svg.line("stop", (x, level - 3.5), (x, level + 3.5), Pen::solid(pen.colour, pen.width));
        }
        level -= 11.0;
    }
    if let Some(m) = quantile(p.told, 0.5) {
        let x = frame.x(celsius(m));
        svg.line("median", (x, frame.top), (x, frame.bottom), Pen::with(ink::INK, 1.0, Dash::Dotted));
        let words = format!("median {} °C", fixed(celsius(m), 1));
        let (at, anchor) = if x < 0.5 * (frame.left + frame.right) {
            ((frame.right - 4.0, frame.top + 13.0), Anchor::End)
        } else {
            ((frame.left + 5.0, frame.top + 13.0), Anchor::Start)
        };
        svg.text("label", at, ink::LABEL, anchor, ink::INK, &words);
    }
    svg.close();
}

//! What was read of the drawn parts, coloured by what they do, with the edges that decide.

use calotte_answers::spread::report::{BatchGauge, BatchReport};

use super::{Shown, percent};
use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::style::page_width;
use crate::svg::{Anchor, Key, Svg};
use crate::text::number;

const PLOT: f64 = 150.0;
const TOP: f64 = 46.0;
/// From the bottom of a panel to the top of the next.
const BETWEEN: f64 = 62.0;
/// Panels at most.
const MOST: usize = 3;
const EDGE: Pen = Pen::solid(ink::INK, 0.5);
const DECIDES: Pen = Pen::with(ink::RUST, 1.6, Dash::Dashed);
const HERE: Pen = Pen::with(ink::INK, 1.0, Dash::Dotted);

fn fill(kind: &str) -> &'static str {
    match kind {
        "stays" | "good" => ink::WALL_INVERTED,
        "waits" => ink::AMBER,
        "unknown" => ink::PAPER,
        _ => ink::DEEP,
    }
}

fn word(kind: &str) -> &str {
    match kind {
        "stays" => "stay",
        "waits" => "wait, then return",
        "returns" => "return",
        other => other,
    }
}

/// The figure; `None` when nothing was read that spreads.
pub(super) fn figure(report: &BatchReport) -> Option<Figure> {
    let drawable = |g: &&BatchGauge| {
        g.histogram.ends_SI.len() > 2
            && g.histogram.ends_SI.iter().all(|e| e.is_finite())
            && g.histogram.kinds.iter().all(|k| k.counts.len() + 1 == g.histogram.ends_SI.len())
    };
    let gauges: Vec<&BatchGauge> = report.gauges.iter().filter(drawable).take(MOST).collect();
    if gauges.is_empty() {
        return None;
    }
    let mut svg = Svg::new(page_width(), TOP + gauges.len() as f64 * (PLOT + BETWEEN) - BETWEEN + 46.0);
    let mut kinds: Vec<&str> = Vec::new();
    for (i, g) in gauges.iter().enumerate() {
        panel(&mut svg, g, TOP + i as f64 * (PLOT + BETWEEN), report.drawn);
        for k in &g.histogram.kinds {
            if !kinds.contains(&k.kind.as_str()) {
                kinds.push(&k.kind);
            }
        }
    }
    let mut entries: Vec<(Key, String)> =
        kinds.iter().map(|k| (Key::Patch(fill(k)), word(k).to_owned())).collect();
    if gauges.iter().any(|g| !g.edges_SI.is_empty()) {
        entries.push((Key::Line(DECIDES), "edge".to_owned()));
    }
    if gauges.iter().any(|g| g.as_described_SI.is_some()) {
        entries.push((Key::Line(HERE), "part as described".to_owned()));
    }
    svg.open("legend");
    svg.legend_above((12.0, 20.0), page_width() - 10.0, &entries);
    svg.close();
    let mut story = format!(" {} are good.", percent(report.good.share));
    for g in &gauges {
        let at = |share: f64| g.quantiles.iter().find(|q| q.share == share).map(|q| q.at_SI);
        if let (Some(a), Some(b)) = (at(0.025), at(0.975)) {
            let shown = Shown::of(g);
            let say =
                |v: f64| format!("{} {}", number(shown.at(v), 4), shown.scaled.name).trim_end().to_owned();
            story += &format!(" Middle 95 % of the {}: {} to {}.", g.gauge, say(a), say(b));
        }
    }
    let names: Vec<&str> = gauges.iter().map(|g| g.gauge.as_str()).collect();
    let alt = format!(
        "Histograms of {} of {} drawn parts, coloured by what they do.{story}",
        names.join(", "),
        report.drawn
    );
    let caption = format!("{}. {} drawn parts by {}.{story}", report.title, report.drawn, names.join(", "));
    let heading = format!("{}: a batch", report.title);
    Some(Figure::new("batch", svg.finish(&heading, &alt), alt, caption))
}

fn panel(svg: &mut Svg, g: &BatchGauge, top: f64, drawn: usize) {
    let shown = Shown::of(g);
    let ends: Vec<f64> = g.histogram.ends_SI.iter().map(|e| shown.at(*e)).collect();
    let bins = ends.len() - 1;
    let share = |count: usize| 100.0 * count as f64 / drawn.max(1) as f64;
    let height = |i: usize| g.histogram.kinds.iter().map(|k| share(k.counts[i])).sum::<f64>();
    let most = (0..bins).map(height).fold(0.0, f64::max);
    let (first, last) = (ends[0], ends[bins]);
    // Edges near the parts are shown with them; one far away would squeeze them.
    let near = |e: &f64| *e > first - 0.6 * (last - first) && *e < last + 0.6 * (last - first);
    let edges: Vec<f64> = g.edges_SI.iter().map(|e| shown.at(*e)).filter(near).collect();
    let low = edges.iter().copied().fold(first, f64::min);
    let high = edges.iter().copied().fold(last, f64::max);
    let pad = 0.03 * (high - low);
    let across = Axis::covering(low - pad, high + pad, 6.0);
    let up = Axis::covering(0.0, 1.08 * most, 4.0);
    let frame = Frame {
        left: 10.0 + Frame::room_left(&up),
        right: page_width() - 18.0,
        top,
        bottom: top + PLOT,
        across,
        up,
    };
    svg.open("panel");
    for i in 0..bins {
        let (x0, x1) = (frame.x(ends[i]), frame.x(ends[i + 1]));
        let mut level = 0.0;
        for k in &g.histogram.kinds {
            if k.counts[i] > 0 {
                let next = level + share(k.counts[i]);
                let (y0, y1) = (frame.y(level), frame.y(next));
                svg.polygon("bar", &[(x0, y0), (x0, y1), (x1, y1), (x1, y0)], fill(&k.kind), EDGE);
                level = next;
            }
        }
    }
    frame.draw(svg, &shown.title(&g.gauge), "share of the batch (%)");
    for e in edges {
        svg.line("edge", (frame.x(e), frame.top), (frame.x(e), frame.bottom), DECIDES);
    }
    if let Some(v) =
        g.as_described_SI.map(|v| shown.at(v)).filter(|v| *v >= frame.across.low && *v <= frame.across.high)
    {
        svg.line("here", (frame.x(v), frame.top), (frame.x(v), frame.bottom), HERE);
    }
    if let Some(d) = g.deviation_SI {
        let unit = &shown.scaled.name;
        let unit = if unit == "°C" { "K" } else { unit.as_str() };
        let words = format!("deviation {} {unit}", number(d * shown.scaled.factor, 3));
        svg.text(
            "label",
            (frame.right - 5.0, frame.top + 14.0),
            ink::LABEL,
            Anchor::End,
            ink::INK,
            words.trim_end(),
        );
    }
    svg.close();
}

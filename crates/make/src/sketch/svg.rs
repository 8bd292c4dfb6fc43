//! A page as SVG: one user unit is one millimetre, so that it prints at true scale.

use std::f64::consts::PI;
use std::fmt::Write as _;

use calotte_figures::escape;

use super::{Anchor, Layer, Mark, Page};

/// A length to a ten-thousandth of a millimetre.
fn mm(v: f64) -> String {
    format!("{}", (v * 1e4).round() / 1e4 + 0.0)
}

/// Colours of layers: cuts stand out in hue and in darkness.
fn colour(layer: Layer) -> &'static str {
    match layer {
        Layer::Cut => "#9a4a06",
        Layer::Hatch => "#6e6e6e",
        Layer::Dimension | Layer::Centre => "#12355b",
        Layer::Outline | Layer::Fold | Layer::Words => "#1c1c1c",
    }
}

/// The page as a complete SVG file.
pub fn svg(page: &Page) -> String {
    let [w, h] = page.size;
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\" role=\"img\" aria-label=\"{title}\">\n<title>{title}</title>\n<rect width=\"{w}\" height=\"{h}\" fill=\"#ffffff\"/>\n",
        w = mm(w),
        h = mm(h),
        title = escape(&page.title)
    );
    let at = |p: [f64; 2]| format!("{},{}", mm(p[0]), mm(h - p[1]));
    for (layer, mark) in &page.sketch.marks {
        let dashes: Vec<String> = layer.dashes().iter().map(|d| mm(*d)).collect();
        let dashes = if dashes.is_empty() {
            String::new()
        } else {
            format!(" stroke-dasharray=\"{}\"", dashes.join(" "))
        };
        let pen = format!(
            "class=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{}\" stroke-linecap=\"round\" stroke-linejoin=\"round\"{dashes}",
            layer.name().to_lowercase(),
            colour(*layer),
            mm(layer.pen()),
        );
        let _ = match mark {
            Mark::Line([a, b]) => writeln!(out, "<path {pen} d=\"M{} L{}\"/>", at(*a), at(*b)),
            Mark::Arc { centre, radius, from, to } => {
                let place = |angle: f64| {
                    let (sin, cos) = libm::sincos(angle);
                    at([centre[0] + radius * cos, centre[1] + radius * sin])
                };
                // In pieces of an eighth of a right angle at most: readers turn arcs into cubics, and those of short arcs keep the length.
                // Counterclockwise is sweep 0 with y downwards.
                let count = ((to - from) / (PI / 16.0)).ceil().max(1.0);
                let ends = (1..=count as u32).map(|k| from + (to - from) * f64::from(k) / count);
                let pieces: String =
                    ends.map(|angle| format!(" A{r},{r} 0 0 0 {}", place(angle), r = mm(*radius))).collect();
                writeln!(out, "<path {pen} d=\"M{}{pieces}\"/>", place(*from))
            }
            Mark::Path { points, closed } => {
                let all: Vec<String> = points.iter().map(|p| at(*p)).collect();
                writeln!(out, "<path {pen} d=\"M{}{}\"/>", all.join(" L"), if *closed { " Z" } else { "" })
            }
            Mark::Solid(points) => {
                let all: Vec<String> = points.iter().map(|p| at(*p)).collect();
                writeln!(out, "<path fill=\"{}\" d=\"M{} Z\"/>", colour(*layer), all.join(" L"))
            }
            Mark::Text { at: place, size, anchor, turn, words, bold } => {
                let anchor = match anchor {
                    Anchor::Start => "",
                    Anchor::Middle => " text-anchor=\"middle\"",
                    Anchor::End => " text-anchor=\"end\"",
                };
                let turn = if *turn == 0.0 {
                    String::new()
                } else {
                    format!(
                        " transform=\"rotate({} {} {})\"",
                        mm(-turn.to_degrees()),
                        mm(place[0]),
                        mm(h - place[1])
                    )
                };
                let weight = if *bold { " font-weight=\"bold\"" } else { "" };
                writeln!(
                    out,
                    "<text x=\"{}\" y=\"{}\" font-family=\"DejaVu Sans, sans-serif\" font-size=\"{}\" fill=\"#1c1c1c\"{weight}{anchor}{turn}>{}</text>",
                    mm(place[0]),
                    mm(h - place[1]),
                    mm(*size),
                    escape(words)
                )
            }
        };
    }
    out.push_str("</svg>\n");
    out
}

//! How many terms the readings of a memory speak for.

use calotte_lab::bench::BenchReport;

use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::style::page_width;
use crate::svg::{Key, Mark, Point, Svg};

const SCHWARZ: Pen = Pen::solid(ink::DEEP, 1.8);
const AKAIKE: Pen = Pen::with(ink::RUST, 1.4, Dash::Dotted);
/// Beyond this a number of terms is out of the question; larger values are drawn here.
const MOST: f64 = 40.0;

/// The figure; `None` with fewer than two numbers of terms.
pub(super) fn figure(r: &BenchReport) -> Option<Figure> {
    let m = r.memory.as_ref().filter(|m| m.evidence.len() > 1)?;
    let (first, last) = (m.evidence.first()?.terms as f64, m.evidence.last()?.terms as f64);
    let up = Axis::covering(0.0, MOST, 5.0);
    let left = 10.0 + Frame::room_left(&up);
    let right = page_width() - 18.0;
    let across = Axis::between(first - 0.5, last + 0.5, last - first + 1.0);
    let f = Frame { left, right, top: 44.0, bottom: 190.0, across, up };
    let mut svg = Svg::new(page_width(), 236.0);
    f.draw(&mut svg, "terms of the series", "criterion above its least");
    for (of, pen, mark) in [
        ((|e| e.aicc) as fn(&calotte_lab::bench::Evidence) -> f64, AKAIKE, Mark::Square),
        (|e| e.bic, SCHWARZ, Mark::Disc),
    ] {
        let points: Vec<Point> =
            m.evidence.iter().map(|e| (f.x(e.terms as f64), f.y(of(e).min(MOST)))).collect();
        svg.curve("criterion", &points, pen);
        for p in &points {
            svg.mark("terms", *p, mark, 3.4, ink::PAPER, pen);
        }
    }
    svg.open("legend");
    let entries = [
        (Key::Line(SCHWARZ), "Schwarz (the least is taken)".to_owned()),
        (Key::Line(AKAIKE), "Akaike, for few readings".to_owned()),
    ];
    svg.legend_above((left, 20.0), right, &entries);
    svg.close();
    let told = format!(
        "{} term{} taken; {} or more above the least is drawn at {MOST:.0}",
        m.terms.len(),
        if m.terms.len() == 1 { "" } else { "s" },
        MOST
    );
    let alt = format!("Two criteria over the number of terms. {told}.");
    let caption = format!("{}. How many terms the readings speak for. {told}.", r.title);
    Some(Figure::new("evidence", svg.finish(&format!("{}: evidence", r.title), &alt), alt, caption))
}

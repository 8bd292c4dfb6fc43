//! What a drawing holds, kept while it is drawn: the numbers behind curves, marks and areas, and the boxes of texts.
//!
//! Frames and sections tell the drawing which rectangle of the page they cover and how numbers lie on it; whatever is drawn
//! inside is turned back into numbers. So no figure can forget its data, and the data are those that are drawn.

use std::fmt::Write as _;

use crate::axis::{Axis, Frame};
use crate::place::Rect;
use crate::svg::{Key, Point};

/// Significant digits kept of numbers read back from the page, counted from the span of their axis.
const DIGITS: f64 = 13.0;
/// Parts of drawings that carry no numbers.
const DECORATION: [&str; 19] = [
    "arrow-head",
    "half",
    "stroke",
    "paper",
    "leader",
    "scale-bar",
    "axis",
    "table",
    "scale",
    "hatch",
    "lip-end",
    "key",
    "frame",
    "tick",
    "break",
    "scale-end",
    "rim-plane",
    "seat",
    "under-axis",
];

/// How numbers lie along a side of a panel.
#[derive(Clone, Debug)]
enum Along {
    Axis { axis: Axis, at_low: f64, at_high: f64 },
    Scale { zero: f64, units_per: f64 },
}

impl Along {
    fn value(&self, page: f64) -> f64 {
        let (value, span) = match self {
            Self::Axis { axis, at_low, at_high } => {
                let value = axis.value((page - at_low) / (at_high - at_low));
                (value, if axis.is_log() { value } else { axis.high - axis.low })
            }
            // The span of a section is taken as a thousand units of the page.
            Self::Scale { zero, units_per } => ((page - zero) / units_per, 1000.0 / units_per),
        };
        rounded(value, span)
    }
}

/// A number with so many digits that the last one is [`DIGITS`] places below the span.
fn rounded(value: f64, span: f64) -> f64 {
    if !value.is_finite() || value == 0.0 {
        return value;
    }
    let exponent = |x: f64| libm::log10(x.abs()).floor();
    let digits = exponent(value) - exponent(if span == 0.0 { value } else { span }) + DIGITS;
    if digits < 1.0 {
        return 0.0;
    }
    format!("{value:.*e}", (digits - 1.0).min(16.0) as usize).parse().unwrap_or(value)
}

/// A rectangle of the page with numbers along its sides.
#[derive(Clone, Debug)]
struct Panel {
    window: Rect,
    x: Along,
    y: Along,
    x_title: String,
    y_title: String,
}

/// Something drawn that stands for numbers.
#[derive(Clone, Debug)]
struct Piece {
    part: String,
    look: Option<String>,
    points: Vec<Point>,
}

/// A text as it stands on the page: four corners.
#[derive(Clone, Debug)]
struct Lettering {
    words: String,
    corners: [Point; 4],
}

/// Everything kept of a drawing.
#[derive(Clone, Debug, Default)]
pub(crate) struct Record {
    panels: Vec<Panel>,
    pieces: Vec<Piece>,
    keys: Vec<(String, String)>,
    texts: Vec<Lettering>,
    /// Frames and legends draw lines that stand for nothing.
    silent: bool,
}

impl Record {
    /// Draws nothing but decoration until the same is called with `false`; says what was before.
    pub(crate) fn silence(&mut self, on: bool) -> bool {
        std::mem::replace(&mut self.silent, on)
    }

    pub(crate) fn frame(&mut self, frame: &Frame, x_title: &str, y_title: &str) {
        self.panels.push(Panel {
            window: frame.window(),
            x: Along::Axis { axis: frame.across.clone(), at_low: frame.left, at_high: frame.right },
            y: Along::Axis { axis: frame.up.clone(), at_low: frame.bottom, at_high: frame.top },
            x_title: x_title.to_owned(),
            y_title: y_title.to_owned(),
        });
    }

    /// A section drawn to scale: `zero` is where radius and height are 0, `per` the page units per unit of length across
    /// and downwards.
    pub(crate) fn section(&mut self, window: Rect, zero: Point, per: (f64, f64), unit: &str, title: &str) {
        let of = if title.is_empty() { String::new() } else { format!("{title}: ") };
        self.panels.push(Panel {
            window,
            x: Along::Scale { zero: zero.0, units_per: per.0 },
            y: Along::Scale { zero: zero.1, units_per: per.1 },
            x_title: format!("{of}r ({unit})"),
            y_title: format!("z ({unit})"),
        });
    }

    /// Rows of names over an axis: the first row stands `row` below `top`, the next ones `row` apart.
    pub(crate) fn rows(&mut self, frame: &Frame, x_title: &str, top: f64, row: f64, names: &[String]) {
        let names: Vec<String> = names.iter().enumerate().map(|(i, n)| format!("{} = {n}", i + 1)).collect();
        self.panels.push(Panel {
            window: frame.window(),
            x: Along::Axis { axis: frame.across.clone(), at_low: frame.left, at_high: frame.right },
            y: Along::Scale { zero: top, units_per: row },
            x_title: x_title.to_owned(),
            y_title: format!("row, {}", names.join("; ")),
        });
    }

    pub(crate) fn piece(&mut self, part: &str, look: Option<String>, points: &[Point]) {
        if !self.silent && !DECORATION.contains(&part) {
            self.pieces.push(Piece { part: part.to_owned(), look, points: points.to_vec() });
        }
    }

    pub(crate) fn key(&mut self, key: &Key, label: &str) {
        self.keys.push((key.look(), label.to_owned()));
    }

    /// A text whose base line starts at `start` and runs `width` in the direction of reading, turned by `degrees` about
    /// `about`, clockwise on the page.
    pub(crate) fn text(
        &mut self,
        words: &str,
        start: Point,
        width: f64,
        size: f64,
        degrees: f64,
        about: Point,
    ) {
        let (sin, cos) = libm::sincos(degrees.to_radians());
        let turned = |(x, y): Point| {
            let (dx, dy) = (x - about.0, y - about.1);
            (about.0 + cos * dx - sin * dy, about.1 + sin * dx + cos * dy)
        };
        // From the height of figures and capitals to a little below the base line.
        let (top, bottom) = (start.1 - 0.73 * size, start.1 + 0.12 * size);
        let corners = [(start.0, top), (start.0 + width, top), (start.0 + width, bottom), (start.0, bottom)];
        self.texts.push(Lettering { words: words.to_owned(), corners: corners.map(turned) });
    }

    /// What is wrong with the texts: cut off by the edge of the page, or set over one another.
    pub(crate) fn faults(&self, width: f64, top: f64, bottom: f64) -> Vec<String> {
        const SLACK: f64 = 0.5;
        let mut out = Vec::new();
        for t in self.texts.iter().filter(|t| !t.words.trim().is_empty()) {
            let inside = t.corners.iter().all(|c| {
                c.0 >= -SLACK && c.0 <= width + SLACK && c.1 >= top - SLACK && c.1 <= bottom + SLACK
            });
            if !inside {
                out.push(format!("“{}” is cut off", t.words));
            }
        }
        for (i, a) in self.texts.iter().enumerate() {
            for b in &self.texts[..i] {
                if a.words.trim().is_empty() || b.words.trim().is_empty() {
                    continue;
                }
                if overlap(&a.corners, &b.corners, SLACK) {
                    out.push(format!("“{}” and “{}” overlap", b.words, a.words));
                }
            }
        }
        out
    }

    /// The numbers behind the drawing as CSV: a header of comments, then a row per point.
    pub(crate) fn csv(&self, title: &str) -> String {
        let mut out = format!("# {}\n", title.replace(['\n', '\r'], " "));
        for (i, p) in self.panels.iter().enumerate() {
            let _ = writeln!(out, "# panel {}: x = {}, y = {}", i + 1, p.x_title, p.y_title);
        }
        for (look, words) in &self.keys {
            let _ = writeln!(out, "# key: {look} = {words}");
        }
        out.push_str("# part: what is drawn; legend: its words in the legend; piece: counts the curves, marks and areas of a part\n");
        out.push_str("panel,part,legend,piece,x,y\n");
        let mut counts = std::collections::BTreeMap::<(usize, &str, &str), usize>::new();
        for piece in &self.pieces {
            // The panel drawn last that holds all of it: panels within panels come later.
            let held = |p: &Panel| {
                let window = p.window.grown(1.0);
                piece.points.iter().all(|at| window.holds(*at))
            };
            let Some(k) = self.panels.iter().rposition(held) else { continue };
            let legend = piece
                .look
                .as_ref()
                .and_then(|look| self.keys.iter().find(|(key, _)| key == look))
                .map_or("", |(_, words)| words.as_str());
            let count = counts.entry((k, &piece.part, legend)).or_insert(0);
            *count += 1;
            for at in &piece.points {
                let (x, y) = (self.panels[k].x.value(at.0), self.panels[k].y.value(at.1));
                let _ = writeln!(out, "{},{},{},{count},{x},{y}", k + 1, quoted(&piece.part), quoted(legend));
            }
        }
        out
    }
}

/// A field of a CSV file.
fn quoted(text: &str) -> String {
    if text.contains([',', '"', '\n']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}

/// Whether two rectangles, turned or not, share more than `slack` in every direction (separating axes).
fn overlap(a: &[Point; 4], b: &[Point; 4], slack: f64) -> bool {
    let axes = [a, b]
        .into_iter()
        .flat_map(|r| [(r[1].0 - r[0].0, r[1].1 - r[0].1), (r[3].0 - r[0].0, r[3].1 - r[0].1)]);
    for (dx, dy) in axes {
        let long = libm::hypot(dx, dy);
        if long == 0.0 {
            return false;
        }
        let span = |r: &[Point; 4]| {
            r.iter()
                .map(|p| (p.0 * dx + p.1 * dy) / long)
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), t| (l.min(t), h.max(t)))
        };
        let (p, q) = (span(a), span(b));
        if p.1.min(q.1) - p.0.max(q.0) <= slack {
            return false;
        }
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_come_back_as_they_were_drawn() {
        let frame = Frame {
            left: 57.3,
            right: 661.9,
            top: 20.0,
            bottom: 311.0,
            across: Axis::covering(0.0, 1.0, 5.0),
            up: Axis::logarithmic(1e-3, 40.0),
        };
        let mut record = Record::default();
        frame_points(&frame, &mut record);
        let csv = record.csv("t");
        let rows: Vec<&str> = csv.lines().filter(|l| l.starts_with("1,")).collect();
        assert_eq!(rows, ["1,curve,,1,0.1,0.002", "1,curve,,1,0.3,7"], "{csv}");
    }

    fn frame_points(frame: &Frame, record: &mut Record) {
        record.frame(frame, "time (s)", "force (N)");
        record.piece("curve", None, &[(frame.x(0.1), frame.y(0.002)), (frame.x(0.3), frame.y(7.0))]);
        record.piece("elsewhere", None, &[(1.0, 1.0)]);
    }

    #[test]
    fn texts_over_one_another_or_over_the_edge_are_faults() {
        let mut record = Record::default();
        record.text("one", (10.0, 20.0), 30.0, 10.0, 0.0, (10.0, 20.0));
        record.text("two", (50.0, 20.0), 30.0, 10.0, 0.0, (50.0, 20.0));
        assert!(record.faults(100.0, 0.0, 50.0).is_empty());
        assert_eq!(record.faults(70.0, 0.0, 50.0), ["“two” is cut off"]);
        record.text("turned", (38.0, 40.0), 40.0, 10.0, -90.0, (38.0, 40.0));
        assert_eq!(record.faults(100.0, 0.0, 50.0), ["“one” and “turned” overlap"]);
    }
}

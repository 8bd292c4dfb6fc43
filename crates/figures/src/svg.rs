//! A small SVG writer. How large a user unit is on paper says the style: labels are 11 units high.

use std::fmt::Write as _;

use crate::ink::{self, Dash, Pen};
use crate::record::Record;
use crate::style;
use crate::text::text_width;

/// Which point of a text sits at its coordinates.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// A point on the page.
pub(crate) type Point = (f64, f64);

/// A growing drawing.
pub(crate) struct Svg {
    width: f64,
    height: f64,
    body: String,
    /// Room taken above and below the page by legends of several lines.
    lift: f64,
    sink: f64,
    /// What is drawn, as numbers.
    pub(crate) record: Record,
}

/// A coordinate rounded to 0.01 unit, without a negative zero; what is not finite becomes 0
/// (callers filter their data, this keeps the file well formed whatever happens).
pub(crate) fn coordinate(x: f64) -> String {
    if !x.is_finite() {
        return "0".to_owned();
    }
    let rounded = (x * 100.0).round() / 100.0;
    // Adding zero turns −0 into 0.
    format!("{}", rounded + 0.0)
}

/// Text made safe for XML content and attributes; characters XML 1.0 forbids become U+FFFD.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(' '),
            '\u{0}'..='\u{1f}' | '\u{7f}'..='\u{9f}' | '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}

/// Path data of an open polyline; points that round to the same place as the one before are left out.
pub(crate) fn open_path(points: &[Point]) -> String {
    let mut d = String::new();
    let mut last = None;
    for &(x, y) in points {
        let here = (coordinate(x), coordinate(y));
        if last.as_ref() == Some(&here) {
            continue;
        }
        let verb = if last.is_none() { 'M' } else { 'L' };
        if last.is_some() {
            d.push(' ');
        }
        let _ = write!(d, "{verb}{},{}", here.0, here.1);
        last = Some(here);
    }
    d
}

/// Path data of a closed polygon.
pub(crate) fn closed_path(points: &[Point]) -> String {
    let mut d = open_path(points);
    d.push_str(" Z");
    d
}

impl Svg {
    /// An empty page with a white background.
    pub(crate) fn new(width: f64, height: f64) -> Self {
        let mut svg = Self::clear(width, height);
        svg.rectangle("paper", (0.0, 0.0), (width, height), ink::PAPER);
        svg
    }

    /// An empty page one can see through.
    pub(crate) fn clear(width: f64, height: f64) -> Self {
        Self { width, height, body: String::new(), lift: 0.0, sink: 0.0, record: Record::default() }
    }

    /// Opens a group.
    pub(crate) fn open(&mut self, id: &str) {
        let _ = writeln!(self.body, "<g id=\"{}\">", escape(id));
    }

    /// Closes the group opened last.
    pub(crate) fn close(&mut self) {
        self.body.push_str("</g>\n");
    }

    /// A straight line.
    pub(crate) fn line(&mut self, class: &str, a: Point, b: Point, pen: Pen) {
        self.record.piece(class, Some(Key::Line(pen).look()), &[a, b]);
        let _ = writeln!(
            self.body,
            "<line class=\"{class}\" x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\" {}/>",
            coordinate(a.0),
            coordinate(a.1),
            coordinate(b.0),
            coordinate(b.1),
            stroke(pen)
        );
    }

    /// A picture of pixels (the bytes of a PNG), carried in the file.
    pub(crate) fn picture(&mut self, class: &str, at: Point, size: (f64, f64), png: &[u8]) {
        self.record.piece(class, None, &[at, (at.0 + size.0, at.1 + size.1)]);
        use base64::Engine as _;
        let _ = writeln!(
            self.body,
            "<image class=\"{class}\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" preserveAspectRatio=\"none\" href=\"data:image/png;base64,{}\"/>",
            coordinate(at.0),
            coordinate(at.1),
            coordinate(size.0),
            coordinate(size.1),
            base64::engine::general_purpose::STANDARD.encode(png)
        );
    }

    /// A stroked curve.
    pub(crate) fn curve(&mut self, class: &str, points: &[Point], pen: Pen) {
        self.record.piece(class, Some(Key::Line(pen).look()), points);
        let _ = writeln!(
            self.body,
            "<path class=\"{class}\" d=\"{}\" fill=\"none\" {}/>",
            open_path(points),
            stroke(pen)
        );
    }

    /// A filled and outlined polygon.
    pub(crate) fn polygon(&mut self, class: &str, points: &[Point], fill: &str, pen: Pen) {
        self.record.piece(class, Some(format!("area {fill}")), points);
        let _ = writeln!(
            self.body,
            "<path class=\"{class}\" d=\"{}\" fill=\"{fill}\" {}/>",
            closed_path(points),
            stroke(pen)
        );
    }

    /// A filled rectangle from its upper left corner and its size.
    pub(crate) fn rectangle(&mut self, class: &str, at: Point, size: (f64, f64), fill: &str) {
        self.record.piece(class, Some(format!("area {fill}")), &[at, (at.0 + size.0, at.1 + size.1)]);
        let _ = writeln!(
            self.body,
            "<rect class=\"{class}\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{fill}\"/>",
            coordinate(at.0),
            coordinate(at.1),
            coordinate(size.0.max(0.0)),
            coordinate(size.1.max(0.0)),
        );
    }

    /// A disc.
    pub(crate) fn circle(&mut self, class: &str, at: Point, radius: f64, fill: &str, pen: Pen) {
        let look = if fill == "none" { Key::Ring(pen).look() } else { format!("dot {fill} {}", pen.colour) };
        self.record.piece(class, Some(look), &[at]);
        let _ = writeln!(
            self.body,
            "<circle class=\"{class}\" cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"{fill}\" {}/>",
            coordinate(at.0),
            coordinate(at.1),
            coordinate(radius),
            stroke(pen)
        );
    }

    /// A text on its base line, with a thin white surround so that a line under it does not hurt it.
    pub(crate) fn text(
        &mut self,
        class: &str,
        at: Point,
        size: f64,
        anchor: Anchor,
        colour: &str,
        text: &str,
    ) {
        let halo = format!(
            " stroke=\"{}\" stroke-width=\"2.4\" stroke-linejoin=\"round\" paint-order=\"stroke\"",
            ink::PAPER
        );
        self.lettering(class, at, size, anchor, colour, text, &halo, None);
    }

    /// [`Svg::text`] read from below upwards.
    pub(crate) fn text_upright(
        &mut self,
        class: &str,
        at: Point,
        size: f64,
        anchor: Anchor,
        colour: &str,
        text: &str,
    ) {
        let at = (at.0, self.kept(at.1, text_width(text, size), anchor, self.height, true));
        let turn = format!(" transform=\"rotate(-90 {} {})\"", coordinate(at.0), coordinate(at.1));
        self.lettering(class, at, size, anchor, colour, text, &turn, Some((-90.0, at)));
    }

    /// A place along the page for a text that would be cut off by its edge, in styles other than the usual one (whose
    /// layouts are made by hand). `upright`: read from below, so that its end lies above its start.
    fn kept(&self, at: f64, long: f64, anchor: Anchor, room: f64, upright: bool) -> f64 {
        if style::now().is_usual() || long > room - 2.0 {
            return at;
        }
        let before = match anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => long / 2.0,
            Anchor::End => long,
        };
        let (low, high) = if upright { (long - before, before) } else { (before, long - before) };
        at.clamp(low + 1.0, room - high - 1.0)
    }

    /// A text on a coloured ground: no white surround.
    pub(crate) fn text_on_colour(
        &mut self,
        class: &str,
        at: Point,
        size: f64,
        anchor: Anchor,
        colour: &str,
        text: &str,
    ) {
        self.lettering(class, at, size, anchor, colour, text, "", None);
    }

    fn lettering(
        &mut self,
        class: &str,
        at: Point,
        size: f64,
        anchor: Anchor,
        colour: &str,
        text: &str,
        more: &str,
        turned: Option<(f64, Point)>,
    ) {
        let long = text_width(text, size);
        let at = if turned.is_none() { (self.kept(at.0, long, anchor, self.width, false), at.1) } else { at };
        let before = match anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => long / 2.0,
            Anchor::End => long,
        };
        let (degrees, about) = turned.unwrap_or((0.0, at));
        self.record.text(text, (at.0 - before, at.1), long, size, degrees, about);
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let _ = writeln!(
            self.body,
            "<text class=\"{class}\" x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"{anchor}\" \
             fill=\"{colour}\"{more}>{}</text>",
            coordinate(at.0),
            coordinate(at.1),
            coordinate(size),
            escape(text)
        );
    }

    /// A text turned about its middle by an angle, clockwise on the page.
    pub(crate) fn text_turned(
        &mut self,
        class: &str,
        middle: Point,
        size: f64,
        degrees: f64,
        colour: &str,
        text: &str,
    ) {
        let (x, y) = (coordinate(middle.0), coordinate(middle.1));
        let turn = format!(" transform=\"rotate({} {x} {y})\"", coordinate(degrees));
        let base = (middle.0, middle.1 + 0.36 * size);
        self.lettering(class, base, size, Anchor::Middle, colour, text, &turn, Some((degrees, middle)));
    }

    /// A mark about a point, of about the given radius.
    pub(crate) fn mark(&mut self, class: &str, at: Point, mark: Mark, radius: f64, fill: &str, pen: Pen) {
        self.record.piece(class, Some(format!("mark {mark:?} {fill} {}", pen.colour)), &[at]);
        let before = self.record.silence(true);
        self.mark_shape(class, at, mark, radius, fill, pen);
        self.record.silence(before);
    }

    fn mark_shape(&mut self, class: &str, at: Point, mark: Mark, radius: f64, fill: &str, pen: Pen) {
        let p = |dx: f64, dy: f64| (at.0 + radius * dx, at.1 + radius * dy);
        let polygon: &[Point] = match mark {
            Mark::Disc => return self.circle(class, at, radius * 0.9, fill, pen),
            Mark::Half => {
                self.circle(class, at, radius * 0.9, ink::PAPER, pen);
                let side: Vec<Point> = (0..=12)
                    .map(|i| {
                        let t = std::f64::consts::PI * f64::from(i) / 12.0;
                        p(-0.9 * libm::sin(t), 0.9 * libm::cos(t))
                    })
                    .collect();
                return self.polygon("half", &side, pen.colour, Pen { width: 0.0, ..pen });
            }
            Mark::Cross => {
                self.line(class, p(-0.8, -0.8), p(0.8, 0.8), pen);
                return self.line("stroke", p(-0.8, 0.8), p(0.8, -0.8), pen);
            }
            Mark::Target => {
                self.circle(class, at, radius, "none", pen);
                self.line("stroke", p(-1.5, 0.0), p(1.5, 0.0), pen);
                return self.line("stroke", p(0.0, -1.5), p(0.0, 1.5), pen);
            }
            Mark::Up => &[p(0.0, -1.1), p(1.0, 0.75), p(-1.0, 0.75)],
            Mark::Down => &[p(0.0, 1.1), p(1.0, -0.75), p(-1.0, -0.75)],
            Mark::Right => &[p(1.1, 0.0), p(-0.75, 1.0), p(-0.75, -1.0)],
            Mark::Left => &[p(-1.1, 0.0), p(0.75, 1.0), p(0.75, -1.0)],
            Mark::Diamond => &[p(0.0, -1.15), p(1.15, 0.0), p(0.0, 1.15), p(-1.15, 0.0)],
            Mark::Square => &[p(-0.8, -0.8), p(0.8, -0.8), p(0.8, 0.8), p(-0.8, 0.8)],
        };
        self.polygon(class, polygon, fill, pen);
    }

    /// An arrow: a line with a head at its end.
    pub(crate) fn arrow(&mut self, class: &str, from: Point, to: Point, pen: Pen) {
        self.record.piece(class, Some(Key::Arrow(pen).look()), &[from, to]);
        let before = self.record.silence(true);
        self.arrow_shape(class, from, to, pen);
        self.record.silence(before);
    }

    fn arrow_shape(&mut self, class: &str, from: Point, to: Point, pen: Pen) {
        const HEAD: f64 = 8.0;
        let long = libm::hypot(to.0 - from.0, to.1 - from.1);
        if !(long.is_finite() && long > 0.5) {
            return;
        }
        let (ux, uy) = ((to.0 - from.0) / long, (to.1 - from.1) / long);
        let head = HEAD.min(0.6 * long);
        let back = (to.0 - head * ux, to.1 - head * uy);
        self.line(class, from, back, pen);
        let side = 0.36 * head;
        let corners =
            [to, (back.0 - side * uy, back.1 + side * ux), (back.0 + side * uy, back.1 - side * ux)];
        self.polygon("arrow-head", &corners, pen.colour, Pen::solid(pen.colour, 0.4));
    }

    /// A pattern to fill with as `url(#id)`: slanted strokes, or dots.
    pub(crate) fn pattern(&mut self, id: &str, ground: &str, stroke: &str, dots: bool) {
        let _ = writeln!(
            self.body,
            "<defs><pattern id=\"{id}\" width=\"7\" height=\"7\" patternUnits=\"userSpaceOnUse\"{}>\
             <rect width=\"7\" height=\"7\" fill=\"{ground}\"/>{}</pattern></defs>",
            if dots { "" } else { " patternTransform=\"rotate(45)\"" },
            if dots {
                format!("<circle cx=\"3.5\" cy=\"3.5\" r=\"0.8\" fill=\"{stroke}\"/>")
            } else {
                format!("<rect width=\"0.8\" height=\"7\" fill=\"{stroke}\"/>")
            }
        );
    }

    /// Legend entries in as many lines as they need between `at` and `right` above a plot that leaves room for the usual
    /// style's: where more lines are needed in another style, they stand above and the page grows by them.
    pub(crate) fn legend_above(&mut self, at: Point, right: f64, entries: &[(Key, String)]) {
        if style::now().is_usual() {
            return self.legend_rows(at, right, entries);
        }
        let widest = entries.iter().map(|(k, w)| entry_width(*k, w) - ENTRY_GAP).fold(0.0, f64::max);
        let left = at.0.min((right - widest).max(6.0));
        let top = at.1 - LEGEND_STEP * (legend_lines(left, right, entries) - 1.0);
        self.lift = self.lift.max(14.0 - top);
        self.legend_rows((left, top), right, entries);
    }

    /// The same below everything, with a note after it that may be empty, where neither has room in the line of `at`; says
    /// whether they were drawn there.
    pub(crate) fn legend_below(&mut self, at: Point, entries: &[(Key, String)], note: &str) -> bool {
        let long: f64 =
            entries.iter().map(|(k, w)| entry_width(*k, w)).sum::<f64>() + text_width(note, ink::LABEL);
        if style::now().is_usual() || at.0 + long < self.width - 6.0 {
            return false;
        }
        let (left, right) = (14.0, self.width - 8.0);
        let lines = legend_lines(left, right, entries);
        self.legend_rows((left, at.1 + LEGEND_STEP), right, entries);
        self.sink = self.sink.max(LEGEND_STEP * (lines + f64::from(u8::from(!note.is_empty()))));
        if !note.is_empty() {
            let under = at.1 + LEGEND_STEP * (lines + 1.0);
            self.text("note", (left, under), ink::LABEL, Anchor::Start, ink::INK, note);
        }
        true
    }

    /// One line of legend entries from `at` (left end, base line of the text) rightwards;
    /// returns the x where the next entry would start.
    pub(crate) fn legend(&mut self, at: Point, entries: &[(Key, String)]) -> f64 {
        let mut x = at.0;
        for (key, label) in entries {
            x += self.legend_entry((x, at.1), *key, label);
        }
        x
    }

    /// Legend entries in as many lines as they need between `at` and `right`.
    pub(crate) fn legend_rows(&mut self, at: Point, right: f64, entries: &[(Key, String)]) {
        let (mut x, mut y) = at;
        for (key, label) in entries {
            if x > at.0 && x + entry_width(*key, label) - ENTRY_GAP > right {
                (x, y) = (at.0, y + LEGEND_STEP);
            }
            x += self.legend_entry((x, y), *key, label);
        }
    }

    fn legend_entry(&mut self, at: Point, key: Key, label: &str) -> f64 {
        self.record.key(&key, label);
        let before = self.record.silence(true);
        let (x, middle) = (at.0, at.1 - 3.8);
        let dot = (x + SWATCH / 2.0, middle);
        match key {
            Key::Line(pen) => self.line("key", (x, middle), (x + SWATCH, middle), pen),
            Key::Dot(fill, pen) => self.circle("key", dot, DOT, fill, pen),
            Key::Mark(mark, fill, pen) => self.mark("key", dot, mark, DOT + 0.4, fill, pen),
            Key::Ring(pen) => self.circle("key", dot, DOT + 2.2, "none", pen),
            Key::Arrow(pen) => self.arrow("key", (x, middle), (x + SWATCH, middle), pen),
            Key::Patch(fill) => {
                let corners = [
                    (x + 4.0, at.1 - 9.5),
                    (x + SWATCH, at.1 - 9.5),
                    (x + SWATCH, at.1 + 2.0),
                    (x + 4.0, at.1 + 2.0),
                ];
                self.polygon("key", &corners, fill, Pen::solid(ink::GREY, 0.6));
            }
        }
        self.text("key-text", (x + key.room(), at.1), ink::LABEL, Anchor::Start, ink::INK, label);
        self.record.silence(before);
        entry_width(key, label)
    }

    /// The finished file.
    pub(crate) fn finish(self, title: &str, description: &str) -> Drawn {
        let now = style::now();
        // Legends of several lines make the page taller.
        let height = self.height + self.lift + self.sink;
        let (w, h, top) = (coordinate(self.width), coordinate(height), coordinate(-self.lift));
        let ground = if height > self.height {
            format!(
                "<rect class=\"paper\" x=\"0\" y=\"{top}\" width=\"{w}\" height=\"{h}\" fill=\"{}\"/>\n",
                ink::PAPER
            )
        } else {
            String::new()
        };
        let mm = |x: f64| coordinate(x / now.units_per_mm());
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{}mm\" height=\"{}mm\" \
             viewBox=\"0 {top} {w} {h}\" role=\"img\" aria-labelledby=\"title desc\" \
             font-family=\"{}\">\n\
             <title id=\"title\">{}</title>\n<desc id=\"desc\">{}</desc>\n{ground}{}</svg>\n",
            mm(self.width),
            mm(height),
            now.family.css(),
            escape(title),
            escape(description),
            self.body
        );
        Drawn {
            data: self.record.csv(title),
            faults: self.record.faults(self.width, -self.lift, self.height + self.sink),
            svg,
        }
    }
}

/// A finished drawing.
pub(crate) struct Drawn {
    /// The SVG file.
    pub(crate) svg: String,
    /// The numbers behind it, as CSV.
    pub(crate) data: String,
    /// Texts that are cut off or overlap.
    pub(crate) faults: Vec<String>,
}

/// Radius of the small discs that mark points.
pub(crate) const DOT: f64 = 3.6;

/// Length of the sample beside a legend entry.
const SWATCH: f64 = 30.0;
/// Room between legend entries.
const ENTRY_GAP: f64 = 18.0;
/// Distance of legend lines.
pub(crate) const LEGEND_STEP: f64 = 17.0;

/// Shape of a mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Mark {
    Disc,
    /// A disc filled on its left half.
    Half,
    Cross,
    /// A circle with cross hairs.
    Target,
    Up,
    Down,
    Right,
    Left,
    Diamond,
    Square,
}

/// The sample beside a legend entry.
#[derive(Clone, Copy)]
pub(crate) enum Key {
    Line(Pen),
    Dot(&'static str, Pen),
    Mark(Mark, &'static str, Pen),
    Arrow(Pen),
    Patch(&'static str),
    Ring(Pen),
}

impl Key {
    /// What a key and the things it stands for have in common.
    pub(crate) fn look(&self) -> String {
        match self {
            Self::Line(pen) => format!("line {} {:?}", pen.colour, pen.dash),
            Self::Dot(fill, pen) => format!("dot {fill} {}", pen.colour),
            Self::Mark(mark, fill, pen) => format!("mark {mark:?} {fill} {}", pen.colour),
            Self::Arrow(pen) => format!("arrow {} {:?}", pen.colour, pen.dash),
            Self::Patch(fill) => format!("area {fill}"),
            Self::Ring(pen) => format!("ring {}", pen.colour),
        }
    }

    /// From the left end of the sample to the words.
    fn room(self) -> f64 {
        if matches!(self, Self::Dot(..) | Self::Mark(..) | Self::Ring(..)) {
            SWATCH / 2.0 + 10.0
        } else {
            SWATCH + 6.0
        }
    }
}

fn entry_width(key: Key, label: &str) -> f64 {
    key.room() + text_width(label, ink::LABEL) + ENTRY_GAP
}

/// How many lines [`Svg::legend_rows`] needs between `left` and `right`.
pub(crate) fn legend_lines(left: f64, right: f64, entries: &[(Key, String)]) -> f64 {
    let (mut x, mut lines) = (left, 1.0);
    for (key, label) in entries {
        if x > left && x + entry_width(*key, label) - ENTRY_GAP > right {
            x = left;
            lines += 1.0;
        }
        x += entry_width(*key, label);
    }
    lines
}

fn stroke(pen: Pen) -> String {
    let mut s = format!("stroke=\"{}\" stroke-width=\"{}\"", pen.colour, coordinate(pen.width));
    let dash = match pen.dash {
        Dash::Solid => return s + " stroke-linejoin=\"round\"",
        Dash::Dashed => "6 3.5",
        Dash::Chain => "10 3 2 3",
        Dash::Dotted => "1.5 3",
    };
    let _ = write!(s, " stroke-dasharray=\"{dash}\"");
    s
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coordinates_are_short_and_never_ill_formed() {
        assert_eq!(coordinate(1.0 / 3.0), "0.33");
        assert_eq!(coordinate(-0.001), "0");
        assert_eq!(coordinate(12.0), "12");
        assert_eq!(coordinate(f64::NAN), "0");
        assert_eq!(coordinate(-2.675), "-2.68");
    }

    #[test]
    fn markup_in_text_is_escaped_and_forbidden_characters_replaced() {
        assert_eq!(escape("a<b & \"c\">'"), "a&lt;b &amp; &quot;c&quot;&gt;&#39;");
        assert_eq!(escape("bell\u{7}\nend"), "bell\u{fffd} end");
    }

    #[test]
    fn coincident_points_are_written_once() {
        let d = open_path(&[(0.0, 0.0), (0.001, 0.0), (1.0, 2.0), (1.0, 2.0)]);
        assert_eq!(d, "M0,0 L1,2");
    }
}

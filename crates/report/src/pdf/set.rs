//! Blocks set as strips: lines broken, tables measured, tags made.

use std::rc::Rc;

use super::faces::{Face, Faces};
use super::flow::{Filled, Ink, Op, Strip, fill};
use super::{MM, PdfFailure};
use crate::model::{Block, BoxKind, Document, Grid, Inline, KeyNumber, Line, Picture};
use crate::request::Paper;

/// Margins: left and right, top, bottom, mm.
pub(crate) const SIDE: f32 = 20.0;
pub(crate) const TOP: f32 = 22.0;
pub(crate) const BOTTOM: f32 = 20.0;
/// Sizes of type, points.
pub(crate) const BODY: f32 = 9.0;
const SMALL: f32 = 8.0;
const CODE: f32 = 7.2;
/// Distance of lines over the size of the type.
const LEADING: f32 = 1.42;
pub(crate) const INK: Ink = [0x1c, 0x1c, 0x1c];
pub(crate) const SOFT: Ink = [0x55, 0x58, 0x5c];
pub(crate) const DEEP: Ink = [0x12, 0x35, 0x5b];
const LINK: Ink = [0x12, 0x50, 0x8f];
const GROUND: Ink = [0xf6, 0xf4, 0xef];
const RULE: Ink = [0xd8, 0xd3, 0xc7];
/// Widest running text, mm: longer lines are hard to follow.
const MEASURE: f32 = 158.0;

/// What a tag is.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Kind {
    Heading(u16, String),
    Paragraph,
    List,
    Item,
    Label,
    Body,
    Table,
    Row,
    ColumnHead,
    RowHead,
    Cell,
    Figure(String),
    Caption,
    Code,
    Contents,
    ContentsItem,
    Link,
    Note,
}

/// A tag with what is inside it, as places in the list of tags.
#[derive(Clone, Debug)]
pub(crate) struct Tagged {
    pub(crate) kind: Kind,
    pub(crate) inside: Vec<usize>,
}

/// A document laid out.
#[derive(Clone, Debug, Default)]
pub(crate) struct Laid {
    pub(crate) filled: Filled,
    pub(crate) tags: Vec<Tagged>,
    /// Tags at the top of the tree.
    pub(crate) roots: Vec<usize>,
    /// Headings: level, words, id.
    pub(crate) headings: Vec<(u8, String, String)>,
}

impl Laid {
    /// Pages on which chapters begin, counted from 1.
    pub(crate) fn chapters(&self) -> Vec<usize> {
        let of = |id: &String| self.filled.places.iter().find(|p| p.id == *id).map_or(0, |p| p.page + 1);
        self.headings.iter().filter(|h| h.0 == 2).map(|h| of(&h.2)).collect()
    }
}

/// A run of words of one look.
#[derive(Clone, Debug)]
struct Run {
    text: String,
    face: Face,
    link: Option<String>,
}

/// Words broken into lines no wider than `width`; a word that is wider is broken where it must.
fn lines_of(faces: &Faces, runs: &[Run], size: f32, width: f32) -> Vec<Vec<Run>> {
    let mut lines: Vec<Vec<Run>> = vec![Vec::new()];
    let mut x = 0.0;
    let put = |lines: &mut Vec<Vec<Run>>, x: &mut f32, run: &Run, word: &str| {
        let mut rest = word;
        while !rest.is_empty() {
            let w = faces.width(run.face, size, rest.trim_end());
            if *x > 0.0 && *x + w > width {
                lines.push(Vec::new());
                *x = 0.0;
            }
            // As much of it as a line holds: nearly always all.
            let mut end = rest.len();
            while faces.width(run.face, size, rest[..end].trim_end()) > width {
                let shorter = rest[..end].char_indices().next_back().map_or(0, |c| c.0);
                if shorter == 0 {
                    break;
                }
                end = shorter;
            }
            let piece = &rest[..end];
            rest = &rest[end..];
            *x += faces.width(run.face, size, piece);
            if let Some(line) = lines.last_mut() {
                match line.last_mut() {
                    Some(last) if last.face == run.face && last.link == run.link => last.text.push_str(piece),
                    _ => line.push(Run { text: piece.to_owned(), ..run.clone() }),
                }
            }
        }
    };
    for run in runs {
        // A word keeps the space behind it, so that copied text has it.
        for word in run.text.split_inclusive(' ') {
            put(&mut lines, &mut x, run, word);
        }
    }
    lines
}

fn runs_of(line: &Line, plain: Face) -> Vec<Run> {
    let one = |i: &Inline| {
        let (text, face, link) = match i {
            Inline::Text(t) => (t.clone(), plain, None),
            Inline::Strong(t) => (t.clone(), Face::Bold, None),
            Inline::Code(t) => (t.clone(), Face::Mono, None),
            Inline::Link { to, text } => (text.clone(), plain, Some(to.clone())),
            Inline::Cite(n) => (format!("[{n}]"), plain, Some(format!("source-{n}"))),
        };
        Run { text, face, link }
    };
    line.0.iter().map(one).filter(|r| !r.text.is_empty()).collect()
}

/// Lines of plain words in one face.
pub(crate) fn words_to_lines(faces: &Faces, text: &str, face: Face, size: f32, width: f32) -> Vec<String> {
    let run = Run { text: text.to_owned(), face, link: None };
    lines_of(faces, &[run], size, width)
        .into_iter()
        .map(|l| l.into_iter().map(|r| r.text).collect::<String>().trim_end().to_owned())
        .collect()
}

struct Setter<'a> {
    faces: &'a Faces,
    width: f32,
    strips: Vec<Strip>,
    laid: Laid,
    pictures: usize,
}

/// The look of a piece of running text.
#[derive(Clone, Copy)]
struct Look {
    size: f32,
    face: Face,
    ink: Ink,
}

const TEXT: Look = Look { size: BODY, face: Face::Plain, ink: INK };
const QUIET: Look = Look { size: SMALL, face: Face::Plain, ink: SOFT };
const CELL: Look = Look { size: SMALL, face: Face::Plain, ink: INK };

impl Setter<'_> {
    fn tag(&mut self, kind: Kind, parent: Option<usize>) -> usize {
        let at = self.laid.tags.len();
        self.laid.tags.push(Tagged { kind, inside: Vec::new() });
        match parent {
            Some(p) => self.laid.tags[p].inside.push(at),
            None => self.laid.roots.push(at),
        }
        at
    }

    /// Ops and height of running text at `x`, broken to `width`.
    fn text(&mut self, line: &Line, look: Look, x: f32, width: f32, tag: usize) -> Vec<(f32, Vec<Op>)> {
        let runs = runs_of(line, look.face);
        let step = look.size * LEADING;
        let mut out = Vec::new();
        for words in lines_of(self.faces, &runs, look.size, width) {
            let mut ops = Vec::new();
            let mut at = x;
            for run in words {
                let size = if run.face == Face::Mono { look.size * 0.92 } else { look.size };
                let w = self.faces.width(run.face, size, &run.text);
                let (ink, tag) = match &run.link {
                    None => (look.ink, tag),
                    Some(to) => {
                        let tag = self.tag(Kind::Link, Some(tag));
                        let shown = self.faces.width(run.face, size, run.text.trim_end());
                        let alt = run.text.trim().to_owned();
                        ops.push(Op::Link { x: at, y: 0.0, width: shown, height: step, to: to.clone(), alt, tag });
                        (LINK, tag)
                    }
                };
                ops.push(Op::Words { x: at, y: 1.02 * look.size, face: run.face, size, ink, text: run.text, tag });
                at += w;
            }
            out.push((step, ops));
        }
        out
    }

    /// Running text as one strip.
    fn piece(&mut self, line: &Line, look: Look, x: f32, width: f32, tag: usize) -> (f32, Vec<Op>) {
        let mut y = 0.0;
        let mut all = Vec::new();
        for (height, ops) in self.text(line, look, x, width, tag) {
            all.extend(ops.into_iter().map(|o| down(o, y)));
            y += height;
        }
        (y, all)
    }

    /// Lines as strips that leave no line alone on a page.
    fn lines(&mut self, lines: Vec<(f32, Vec<Op>)>, above: f32, what: &'static str) {
        let count = lines.len();
        for (i, (height, ops)) in lines.into_iter().enumerate() {
            let keep = count > 1 && (i == 0 || i + 2 == count);
            let above = if i == 0 { above } else { 0.0 };
            self.strips.push(Strip { above, height, ops, keep, what, ..Strip::default() });
        }
    }

    fn measure(&self) -> f32 {
        self.width.min(MEASURE * MM)
    }

    fn paragraph(&mut self, line: &Line, look: Look, above: f32) {
        let tag = self.tag(Kind::Paragraph, None);
        let lines = self.text(line, look, 0.0, self.measure(), tag);
        self.lines(lines, above, "a paragraph");
    }

    fn heading(&mut self, level: u8, id: &str, text: &str) {
        let tag = self.tag(Kind::Heading(u16::from(level), text.to_owned()), None);
        let (size, above) = match level {
            1 => (19.0, 0.0),
            2 => (13.5, 24.0),
            _ => (9.8, 14.0),
        };
        let ink = if level == 3 { INK } else { DEEP };
        let look = Look { size, face: Face::Bold, ink };
        let rule = if level == 2 { 7.0 } else { 0.0 };
        let (height, ops) = self.piece(&Line::of(text), look, 0.0, self.width, tag);
        let mut all = Vec::new();
        if level == 2 {
            all.push(Op::Ground { x: 0.0, y: 0.0, width: self.width, height: 1.2, ink: DEEP });
        }
        all.extend(ops.into_iter().map(|o| down(o, rule)));
        self.laid.headings.push((level, text.to_owned(), id.to_owned()));
        self.strips.push(Strip {
            above,
            height: height + rule + 2.0,
            ops: all,
            keep: true,
            places: vec![id.to_owned()],
            what: "a heading",
            head: None,
        });
    }

    /// Items with a mark before each.
    fn list(&mut self, items: &[Line], x: f32, width: f32, parent: Option<usize>) -> Vec<Vec<(f32, Vec<Op>)>> {
        let list = self.tag(Kind::List, parent);
        let mut out = Vec::new();
        for item in items {
            let tag = self.tag(Kind::Item, Some(list));
            let label = self.tag(Kind::Label, Some(tag));
            let body = self.tag(Kind::Body, Some(tag));
            let mut lines = self.text(item, TEXT, x + 11.0, width - 11.0, body);
            if let Some((_, ops)) = lines.first_mut() {
                let text = "•".to_owned();
                ops.insert(0, Op::Words { x: x + 1.0, y: 1.02 * BODY, face: Face::Plain, size: BODY, ink: SOFT, text, tag: label });
            }
            out.push(lines);
        }
        out
    }

    /// Rows of cells, each with a rule under it.
    fn rows(&mut self, g: &Grid) {
        let table = self.tag(Kind::Table, None);
        if !g.quiet {
            let tag = self.tag(Kind::Caption, Some(table));
            let (height, ops) = self.piece(&Line::of(&g.caption), QUIET, 0.0, self.measure(), tag);
            self.strips.push(Strip { above: 7.0, height: height + 2.0, ops, keep: true, what: "a table", ..Strip::default() });
        }
        let widths = self.column_widths(g);
        let gap = 7.0;
        let row = |me: &mut Self, cells: &[Line], head: bool| {
            let tr = me.tag(Kind::Row, Some(table));
            let (mut x, mut tall, mut ops) = (0.0, 0.0_f32, Vec::new());
            for (i, cell) in cells.iter().enumerate() {
                let kind = match (head, i) {
                    (true, _) => Kind::ColumnHead,
                    (false, 0) => Kind::RowHead,
                    _ => Kind::Cell,
                };
                let tag = me.tag(kind, Some(tr));
                let w = widths.get(i).copied().unwrap_or(40.0);
                let look = if head { Look { face: Face::Bold, ..CELL } } else { CELL };
                let (height, inside) = me.piece(cell, look, x, w - gap, tag);
                ops.extend(inside.into_iter().map(|o| down(o, 2.2)));
                tall = tall.max(height);
                x += w;
            }
            let height = tall + 4.4;
            let (rule, ink) = if head { (0.9, INK) } else { (0.5, RULE) };
            ops.push(Op::Ground { x: 0.0, y: height - rule, width: me.width, height: rule, ink });
            Strip { height, ops, what: "a row of a table", ..Strip::default() }
        };
        let mut head = None;
        if g.heads.iter().any(|h| !h.is_empty()) {
            let cells: Vec<Line> = g.heads.iter().map(|h| Line::of(h)).collect();
            let mut strip = row(self, &cells, true);
            strip.keep = true;
            strip.above = if g.quiet { 5.0 } else { 0.0 };
            head = Some(Rc::new(strip.clone()));
            self.strips.push(strip);
        }
        let count = g.rows.len();
        for (i, cells) in g.rows.iter().enumerate() {
            let mut strip = row(self, cells, false);
            strip.head = if i == 0 { None } else { head.clone() };
            strip.keep = i + 2 == count;
            self.strips.push(strip);
        }
    }

    /// Columns as wide as their longest word needs, the rest shared by the widths wanted.
    fn column_widths(&self, g: &Grid) -> Vec<f32> {
        let count = g.heads.len().max(g.rows.iter().map(Vec::len).max().unwrap_or(0)).max(1);
        let longest = |i: usize| {
            let head = g.heads.get(i).map(|h| vec![(h.clone(), Face::Bold)]).unwrap_or_default();
            let cells = g.rows.iter().filter_map(|r| r.get(i)).flat_map(|c| {
                runs_of(c, Face::Plain).into_iter().map(|r| (r.text, r.face)).collect::<Vec<_>>()
            });
            let words = head.into_iter().chain(cells);
            let width = |(t, f): (String, Face)| {
                t.split(' ').map(|w| self.faces.width(f, SMALL, w)).fold(0.0_f32, f32::max)
            };
            words.map(width).fold(0.0_f32, f32::max).min(0.4 * self.width) + 8.0
        };
        let least: Vec<f32> = (0..count).map(longest).collect();
        let spare = (self.width - least.iter().sum::<f32>()).max(0.0);
        let wish: Vec<f32> = (0..count).map(|i| g.widths.get(i).copied().unwrap_or(10) as f32).collect();
        let all: f32 = wish.iter().sum::<f32>().max(1.0);
        // What a column has beyond its least is what it wished and did not yet have.
        let wanted: Vec<f32> = (0..count).map(|i| (self.width * wish[i] / all - least[i]).max(0.0)).collect();
        let sum: f32 = wanted.iter().sum::<f32>().max(1e-3);
        let total: f32 = least.iter().sum();
        let shrink = if total > self.width { self.width / total } else { 1.0 };
        (0..count).map(|i| least[i] * shrink + spare * wanted[i] / sum).collect()
    }

    fn facts(&mut self, rows: &[(String, Line)]) {
        let grid = Grid {
            caption: String::new(),
            quiet: true,
            heads: Vec::new(),
            rows: rows.iter().map(|(n, v)| vec![Line::of(n), v.clone()]).collect(),
            widths: vec![31, 69],
        };
        self.rows(&grid);
    }

    fn figure(&mut self, p: &Picture) -> Result<(), PdfFailure> {
        let number = self.pictures;
        self.pictures += 1;
        let [w, h] = calotte_paper::size_mm(&p.svg)?.map(|mm| mm as f32 * MM);
        let scale = (self.width / w).min(1.0);
        let tag = self.tag(Kind::Figure(p.alt.clone()), None);
        let mut ops = vec![Op::Picture { x: 0.5 * (self.width - w * scale), y: 0.0, scale, picture: number, tag }];
        let under = self.tag(Kind::Caption, Some(tag));
        let caption = Line::strong(&format!("Figure {}. ", p.number)).then(Line(vec![Inline::Text(p.caption.clone())]));
        let (height, words) = self.piece(&caption, QUIET, 0.0, self.measure(), under);
        let y = h * scale + 6.0;
        ops.extend(words.into_iter().map(|o| down(o, y)));
        self.strips.push(Strip {
            above: 12.0,
            height: y + height,
            ops,
            places: vec![p.id.clone()],
            what: "a figure",
            ..Strip::default()
        });
        Ok(())
    }

    fn aside(&mut self, kind: BoxKind, title: &str, items: &[Line]) {
        let (ground, edge) = match kind {
            BoxKind::Doubt => ([0xfb, 0xe3, 0xc4], [0x9a, 0x4a, 0x06]),
            BoxKind::Caution => ([0xff, 0xf3, 0xd6], [0xb0, 0x7a, 0x00]),
            BoxKind::Note => ([0xea, 0xf0, 0xf6], DEEP),
        };
        let tag = self.tag(Kind::Note, None);
        let head = self.tag(Kind::Paragraph, Some(tag));
        let width = self.width;
        let mut lines = self.text(&Line::strong(title), TEXT, 12.0, width - 24.0, head);
        lines.extend(self.list(items, 12.0, width - 24.0, Some(tag)).into_iter().flatten());
        let count = lines.len();
        for (i, (height, ops)) in lines.into_iter().enumerate() {
            let (first, last) = (i == 0, i + 1 == count);
            let pad = [if first { 6.0 } else { 0.0 }, if last { 7.0 } else { 0.0 }];
            let tall = height + pad[0] + pad[1];
            let mut all = vec![
                Op::Ground { x: 0.0, y: 0.0, width, height: tall + 0.2, ink: ground },
                Op::Ground { x: 0.0, y: 0.0, width: 3.0, height: tall + 0.2, ink: edge },
            ];
            all.extend(ops.into_iter().map(|o| down(o, pad[0])));
            let keep = !last && (i < 2 || i + 3 > count);
            self.strips.push(Strip {
                above: if first { 10.0 } else { 0.0 },
                height: tall,
                ops: all,
                keep,
                what: "a box",
                ..Strip::default()
            });
        }
    }

    fn numbers(&mut self, numbers: &[KeyNumber]) {
        let columns = if numbers.len() % 3 == 0 || numbers.len() > 4 { 3 } else { 2 };
        let list = self.tag(Kind::List, None);
        let gap = 8.0;
        let wide = (self.width - gap * (columns as f32 - 1.0)) / columns as f32;
        for (r, row) in numbers.chunks(columns).enumerate() {
            let mut cards = Vec::new();
            for k in row {
                let item = self.tag(Kind::Item, Some(list));
                let label = self.tag(Kind::Label, Some(item));
                let body = self.tag(Kind::Body, Some(item));
                let inside = wide - 18.0;
                let value = Look { size: 13.0, face: Face::Bold, ink: INK };
                let (mut y, mut ops) = (6.0, Vec::new());
                for (text, look, tag) in [(&k.name, QUIET, label), (&k.value, value, body), (&k.note, QUIET, body)] {
                    if !text.is_empty() {
                        let (height, words) = self.piece(&Line::of(text), look, 10.0, inside, tag);
                        ops.extend(words.into_iter().map(|o| down(o, y)));
                        y += height;
                    }
                }
                cards.push((y + 5.0, ops));
            }
            let tall = cards.iter().map(|c| c.0).fold(0.0_f32, f32::max);
            let mut all = Vec::new();
            for (i, (_, ops)) in cards.into_iter().enumerate() {
                let x = i as f32 * (wide + gap);
                all.push(Op::Ground { x, y: 0.0, width: wide, height: tall, ink: GROUND });
                all.push(Op::Ground { x, y: 0.0, width: 3.0, height: tall, ink: DEEP });
                all.extend(ops.into_iter().map(|o| across(o, x)));
            }
            let above = if r == 0 { 10.0 } else { gap };
            self.strips.push(Strip { above, height: tall, ops: all, what: "a row of numbers", ..Strip::default() });
        }
    }

    fn code(&mut self, title: &str, text: &str) {
        let tag = self.tag(Kind::Paragraph, None);
        let (height, ops) = self.piece(&Line::strong(title), TEXT, 0.0, self.width, tag);
        self.strips.push(Strip { above: 9.0, height: height + 3.0, ops, keep: true, what: "a title", ..Strip::default() });
        let tag = self.tag(Kind::Code, None);
        let (width, pad) = (self.width, 6.0);
        let mut lines: Vec<String> = Vec::new();
        for line in text.lines() {
            let line = line.replace('\t', "    ");
            if line.is_empty() {
                lines.push(" ".to_owned());
            }
            // Letters of a line are all of one width: what does not fit goes on below.
            let fit = ((width - 2.0 * pad) / self.faces.width(Face::Mono, CODE, "m")) as usize;
            let letters: Vec<char> = line.chars().collect();
            lines.extend(letters.chunks(fit.max(20)).map(|c| c.iter().collect::<String>()));
        }
        let count = lines.len();
        for (i, text) in lines.into_iter().enumerate() {
            let (first, last) = (i == 0, i + 1 == count);
            let above = if first { 5.0 } else { 0.0 };
            let tall = CODE * 1.4 + above + if last { 5.0 } else { 0.0 };
            let words = Op::Words { x: pad, y: above + CODE * 1.05, face: Face::Mono, size: CODE, ink: INK, text: text + "\n", tag };
            let ground = Op::Ground { x: 0.0, y: 0.0, width, height: tall + 0.2, ink: GROUND };
            let keep = !last && (i < 2 || i + 3 > count);
            self.strips.push(Strip { height: tall, ops: vec![ground, words], keep, what: "a line", ..Strip::default() });
        }
    }

    /// The contents: chapters with their pages.
    fn contents(&mut self, d: &Document, numbers: &[usize]) {
        let tag = self.tag(Kind::Contents, None);
        let look = TEXT;
        let step = look.size * 1.75;
        for (i, (id, text)) in d.chapters().enumerate() {
            let item = self.tag(Kind::ContentsItem, Some(tag));
            let link = self.tag(Kind::Link, Some(item));
            let page = numbers.get(i).map_or("0".to_owned(), usize::to_string);
            let w = self.faces.width(look.face, look.size, &page);
            let right = self.measure();
            let word = |x: f32, text: String, tag: usize| Op::Words { x, y: 1.02 * look.size, face: look.face, size: look.size, ink: look.ink, text, tag };
            let from = self.faces.width(look.face, look.size, text) + 6.0;
            let ops = vec![
                Op::Link { x: 0.0, y: 0.0, width: right, height: step, to: id.to_owned(), alt: text.to_owned(), tag: link },
                Op::Ground { x: from, y: look.size, width: (right - w - 6.0 - from).max(0.0), height: 0.4, ink: RULE },
                word(0.0, format!("{text} "), link),
                word(right - w, page, link),
            ];
            self.strips.push(Strip { above: if i == 0 { 6.0 } else { 0.0 }, height: step, ops, keep: true, what: "the contents", ..Strip::default() });
        }
        if let Some(last) = self.strips.last_mut() {
            last.keep = false;
        }
    }

    fn block(&mut self, b: &Block) -> Result<(), PdfFailure> {
        match b {
            Block::Heading { level, id, text } => self.heading(*level, id, text),
            Block::Text(l) => self.paragraph(l, TEXT, 6.0),
            Block::List(items) => {
                for lines in self.list(items, 0.0, self.measure(), None) {
                    self.lines(lines, 4.0, "an item");
                }
            }
            Block::Facts(rows) => self.facts(rows),
            Block::Table(g) => self.rows(g),
            Block::Figure(p) => self.figure(p)?,
            Block::Aside { kind, title, items } => self.aside(*kind, title, items),
            Block::Numbers(numbers) => self.numbers(numbers),
            Block::Code { title, text } => self.code(title, text),
            Block::Files(files) => {
                let names: Vec<Line> = files
                    .iter()
                    .map(|f| Line(vec![Inline::Code(f.name.clone()), Inline::Text(format!(", attached to this file: {}", f.what))]))
                    .collect();
                for lines in self.list(&names, 0.0, self.measure(), None) {
                    self.lines(lines, 4.0, "an item");
                }
            }
            Block::Sources(entries) => {
                let list = self.tag(Kind::List, None);
                for e in entries {
                    let item = self.tag(Kind::Item, Some(list));
                    let label = self.tag(Kind::Label, Some(item));
                    let body = self.tag(Kind::Body, Some(item));
                    let line = Line(vec![Inline::Text(format!("{} Here: {}.", e.text, e.used_for))]);
                    let (height, mut ops) = self.piece(&line, TEXT, 24.0, self.measure() - 24.0, body);
                    let text = format!("[{}] ", e.number);
                    ops.insert(0, Op::Words { x: 0.0, y: 1.02 * BODY, face: Face::Plain, size: BODY, ink: SOFT, text, tag: label });
                    self.strips.push(Strip { above: 4.0, height, ops, places: vec![e.id.clone()], what: "a source", ..Strip::default() });
                }
            }
        }
        Ok(())
    }
}

/// The same lower down.
pub(crate) fn down(mut op: Op, by: f32) -> Op {
    match &mut op {
        Op::Words { y, .. } | Op::Ground { y, .. } | Op::Picture { y, .. } | Op::Link { y, .. } => *y += by,
    }
    op
}

/// The same farther right.
fn across(mut op: Op, by: f32) -> Op {
    match &mut op {
        Op::Words { x, .. } | Op::Ground { x, .. } | Op::Picture { x, .. } | Op::Link { x, .. } => *x += by,
    }
    op
}

/// Pages of a document; `numbers`: pages of the chapters, where they are known.
pub(crate) fn pages(d: &Document, paper: Paper, faces: &Faces, numbers: &[usize]) -> Result<Laid, PdfFailure> {
    let [w, h] = paper.size_mm().map(|mm| mm as f32 * MM);
    let width = w - 2.0 * SIDE * MM;
    let room = h - (TOP + BOTTOM) * MM;
    let mut s = Setter { faces, width, strips: Vec::new(), laid: Laid::default(), pictures: 0 };
    s.paragraph(&Line::of(&d.kind.to_uppercase()), QUIET, 0.0);
    s.heading(1, "top", &d.title);
    s.paragraph(&Line::of(&d.answer), Look { size: 11.5, face: Face::Plain, ink: INK }, 5.0);
    if let Some(date) = &d.date {
        s.paragraph(&Line::of(date), QUIET, 5.0);
    }
    let mut chapter = 0;
    for b in &d.blocks {
        if matches!(b, Block::Heading { level: 2, .. }) {
            chapter += 1;
            // The contents follow the first page's chapter.
            if chapter == 2 {
                let tag = s.tag(Kind::Paragraph, None);
                let (height, ops) = s.piece(&Line::strong("Contents"), TEXT, 0.0, width, tag);
                s.strips.push(Strip { above: 22.0, height, ops, keep: true, what: "the contents", ..Strip::default() });
                s.contents(d, numbers);
            }
        }
        s.block(b)?;
    }
    let Setter { strips, mut laid, .. } = s;
    laid.filled = fill(&strips, SIDE * MM, TOP * MM, room).map_err(|(what, tall)| PdfFailure::TooTall {
        what: what.to_owned(),
        height_mm: f64::from(tall / MM),
        room_mm: f64::from(room / MM),
    })?;
    Ok(laid)
}

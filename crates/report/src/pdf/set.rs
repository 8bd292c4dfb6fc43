//! Blocks set as strips: lines broken, tables measured, tags made.

use super::faces::{Face, Faces};
use super::flow::{Filled, Ink, Op, Strip, fill};
use super::lines::{MONO, lines_of, runs_of};
use super::{MM, PdfFailure};
use crate::model::{Block, BoxKind, Document, Inline, Line, Picture};
use crate::request::Paper;

/// Margins: left and right, top, bottom, mm.
pub(crate) const SIDE: f32 = 20.0;
pub(crate) const TOP: f32 = 22.0;
pub(crate) const BOTTOM: f32 = 20.0;
/// Sizes of type, points.
pub(crate) const BODY: f32 = 9.0;
pub(super) const SMALL: f32 = 8.0;
const CODE: f32 = 7.2;
/// Distance of lines over the size of the type.
pub(super) const LEADING: f32 = 1.42;
pub(crate) const INK: Ink = [0x1c, 0x1c, 0x1c];
pub(crate) const SOFT: Ink = [0x55, 0x58, 0x5c];
pub(crate) const DEEP: Ink = [0x12, 0x35, 0x5b];
const LINK: Ink = [0x12, 0x50, 0x8f];
pub(super) const GROUND: Ink = [0xf6, 0xf4, 0xef];
pub(super) const RULE: Ink = [0xd8, 0xd3, 0xc7];
/// Widest running text, mm: longer lines are hard to follow.
const MEASURE: f32 = 158.0;
/// Sizes over the full one that a figure may take to fit on the rest of a page.
const SMALLER: [f32; 4] = [0.92, 0.84, 0.77, 0.7];

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

pub(super) struct Setter<'a> {
    pub(super) faces: &'a Faces,
    pub(super) width: f32,
    pub(super) strips: Vec<Strip>,
    laid: Laid,
    pictures: usize,
    /// Width of figures over that of the text.
    share: f32,
    /// Distances between pieces over the usual ones.
    air: f32,
    /// Running text.
    pub(super) body: Look,
    /// Whether captions say no more than their first sentence.
    brief: bool,
}

/// The look of a piece of running text.
#[derive(Clone, Copy)]
pub(super) struct Look {
    pub(super) size: f32,
    pub(super) face: Face,
    pub(super) ink: Ink,
}

const TEXT: Look = Look { size: BODY, face: Face::Plain, ink: INK };
pub(super) const QUIET: Look = Look { size: SMALL, face: Face::Plain, ink: SOFT };
pub(super) const CELL: Look = Look { size: SMALL, face: Face::Plain, ink: INK };

impl Setter<'_> {
    pub(super) fn tag(&mut self, kind: Kind, parent: Option<usize>) -> usize {
        let at = self.laid.tags.len();
        self.laid.tags.push(Tagged { kind, inside: Vec::new() });
        match parent {
            Some(p) => self.laid.tags[p].inside.push(at),
            None => self.laid.roots.push(at),
        }
        at
    }

    /// Ops and height of running text at `x`, broken to `width`.
    pub(super) fn text(
        &mut self,
        line: &Line,
        look: Look,
        x: f32,
        width: f32,
        tag: usize,
    ) -> Vec<(f32, Vec<Op>)> {
        let runs = runs_of(line, look.face);
        let step = look.size * LEADING;
        let mut out = Vec::new();
        for words in lines_of(self.faces, &runs, look.size, width) {
            let mut ops = Vec::new();
            let mut at = x;
            for run in words {
                let size = if run.face == Face::Mono { look.size * MONO } else { look.size };
                let w = self.faces.width(run.face, size, &run.text);
                let (ink, tag) = match &run.link {
                    None => (look.ink, tag),
                    Some(to) => {
                        let tag = self.tag(Kind::Link, Some(tag));
                        let shown = self.faces.width(run.face, size, run.text.trim_end());
                        let alt = run.text.trim().to_owned();
                        ops.push(Op::Link {
                            x: at,
                            y: 0.0,
                            width: shown,
                            height: step,
                            to: to.clone(),
                            alt,
                            tag,
                        });
                        (LINK, tag)
                    }
                };
                ops.push(Op::Words {
                    x: at,
                    y: 1.02 * look.size,
                    face: run.face,
                    size,
                    ink,
                    text: run.text,
                    tag,
                });
                at += w;
            }
            out.push((step, ops));
        }
        out
    }

    /// Running text as one strip.
    pub(super) fn piece(
        &mut self,
        line: &Line,
        look: Look,
        x: f32,
        width: f32,
        tag: usize,
    ) -> (f32, Vec<Op>) {
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

    pub(super) fn measure(&self) -> f32 {
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
            1 => (if self.brief { 15.0 } else { 19.0 }, 0.0),
            2 => (13.5 - 2.5 * (1.0 - self.air), 24.0 * self.air),
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
            ..Strip::default()
        });
    }

    /// Items with a mark before each.
    fn list(
        &mut self,
        items: &[Line],
        x: f32,
        width: f32,
        parent: Option<usize>,
    ) -> Vec<Vec<(f32, Vec<Op>)>> {
        let list = self.tag(Kind::List, parent);
        let mut out = Vec::new();
        for item in items {
            let tag = self.tag(Kind::Item, Some(list));
            let label = self.tag(Kind::Label, Some(tag));
            let body = self.tag(Kind::Body, Some(tag));
            let mut lines = self.text(item, self.body, x + 11.0, width - 11.0, body);
            if let Some((_, ops)) = lines.first_mut() {
                let text = "•".to_owned();
                ops.insert(
                    0,
                    Op::Words {
                        x: x + 1.0,
                        y: 1.02 * self.body.size,
                        face: Face::Plain,
                        size: self.body.size,
                        ink: SOFT,
                        text,
                        tag: label,
                    },
                );
            }
            out.push(lines);
        }
        out
    }

    fn figure(&mut self, p: &Picture) -> Result<(), PdfFailure> {
        let number = self.pictures;
        self.pictures += 1;
        let [w, h] = calotte_paper::size_mm(&p.svg)?.map(|mm| mm as f32 * MM);
        let full = (self.width / w).min(1.0) * self.share;
        let tag = self.tag(Kind::Figure(p.alt.clone()), None);
        let under = self.tag(Kind::Caption, Some(tag));
        let end = p.caption.find(". ").filter(|_| self.brief).map_or(p.caption.len(), |at| at + 1);
        let words = Line(vec![Inline::Text(p.caption[..end].to_owned())]);
        let caption = Line::strong(&format!("Figure {}. ", p.number)).then(words);
        let (height, caption) = self.piece(&caption, QUIET, 0.0, self.measure(), under);
        let sized = |scale: f32| {
            let y = h * scale + 6.0;
            let mut ops =
                vec![Op::Picture { x: 0.5 * (self.width - w * scale), y: 0.0, scale, picture: number, tag }];
            ops.extend(caption.iter().cloned().map(|o| down(o, y)));
            Strip {
                above: 12.0 * self.air,
                height: y + height,
                ops,
                places: vec![p.id.clone()],
                what: "a figure",
                ..Strip::default()
            }
        };
        // Where the rest of a page is a little too small for it, the figure is made a little smaller.
        let smaller = SMALLER.iter().map(|s| sized(full * s)).collect();
        let strip = Strip { smaller, ..sized(full) };
        self.strips.push(strip);
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
        let mut lines = self.text(&Line::strong(title), self.body, 12.0, width - 24.0, head);
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
            // A box of few lines stays whole.
            let keep = !last && (count < 16 || i < 2 || i + 3 > count);
            self.strips.push(Strip {
                above: if first { 10.0 * self.air.max(0.7) } else { 0.0 },
                height: tall,
                ops: all,
                keep,
                what: "a box",
                ..Strip::default()
            });
        }
    }

    fn code(&mut self, title: &str, text: &str) {
        let tag = self.tag(Kind::Paragraph, None);
        let (height, ops) = self.piece(&Line::strong(title), self.body, 0.0, self.width, tag);
        self.strips.push(Strip {
            above: 9.0,
            height: height + 3.0,
            ops,
            keep: true,
            what: "a title",
            ..Strip::default()
        });
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
            let words = Op::Words {
                x: pad,
                y: above + CODE * 1.05,
                face: Face::Mono,
                size: CODE,
                ink: INK,
                text: text + "\n",
                tag,
            };
            let ground = Op::Ground { x: 0.0, y: 0.0, width, height: tall + 0.2, ink: GROUND };
            let keep = !last && (i < 2 || i + 3 > count);
            self.strips.push(Strip {
                height: tall,
                ops: vec![ground, words],
                keep,
                what: "a line",
                ..Strip::default()
            });
        }
    }

    fn block(&mut self, b: &Block) -> Result<(), PdfFailure> {
        match b {
            Block::Heading { level, id, text } => self.heading(*level, id, text),
            Block::Text(l) => self.paragraph(l, self.body, 6.0),
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
            Block::Blank { title, heads, rows } => self.blank(title, heads, *rows),
            Block::Files(files) => {
                let names: Vec<Line> = files
                    .iter()
                    .map(|f| {
                        Line(vec![
                            Inline::Code(f.name.clone()),
                            Inline::Text(format!(", attached to this file: {}", f.what)),
                        ])
                    })
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
                    let (height, mut ops) = self.piece(&line, self.body, 24.0, self.measure() - 24.0, body);
                    let text = format!("[{}] ", e.number);
                    ops.insert(
                        0,
                        Op::Words {
                            x: 0.0,
                            y: 1.02 * self.body.size,
                            face: Face::Plain,
                            size: self.body.size,
                            ink: SOFT,
                            text,
                            tag: label,
                        },
                    );
                    self.strips.push(Strip {
                        above: 4.0,
                        height,
                        ops,
                        places: vec![e.id.clone()],
                        what: "a source",
                        ..Strip::default()
                    });
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
pub(super) fn across(mut op: Op, by: f32) -> Op {
    match &mut op {
        Op::Words { x, .. } | Op::Ground { x, .. } | Op::Picture { x, .. } | Op::Link { x, .. } => *x += by,
    }
    op
}

/// Pages of a document; `numbers`: pages of the chapters, where they are known.
pub(crate) fn pages(
    d: &Document,
    paper: Paper,
    faces: &Faces,
    numbers: &[usize],
    share: f32,
) -> Result<Laid, PdfFailure> {
    let [w, h] = paper.size_mm().map(|mm| mm as f32 * MM);
    let width = w - 2.0 * SIDE * MM;
    let top = if d.one_page { 12.0 } else { TOP };
    let bottom = if d.one_page { 16.0 } else { BOTTOM };
    let room = h - (top + bottom) * MM;
    let mut s = Setter {
        faces,
        width,
        strips: Vec::new(),
        laid: Laid::default(),
        pictures: 0,
        share,
        air: if d.one_page { 0.45 } else { 1.0 },
        body: if d.one_page { Look { size: 8.4, ..TEXT } } else { TEXT },
        brief: d.one_page,
    };
    s.paragraph(&Line::of(&d.kind.to_uppercase()), QUIET, 0.0);
    s.heading(1, "top", &d.title);
    s.paragraph(
        &Line::of(&d.answer),
        Look { size: if d.one_page { 10.0 } else { 11.5 }, face: Face::Plain, ink: INK },
        5.0,
    );
    if let Some(date) = &d.date {
        s.paragraph(&Line::of(date), QUIET, 5.0);
    }
    let mut chapter = 0;
    for b in &d.blocks {
        if matches!(b, Block::Heading { level: 2, .. }) {
            chapter += 1;
            // The contents follow the first page's chapter.
            if chapter == 2 && !d.one_page {
                let tag = s.tag(Kind::Paragraph, None);
                let (height, ops) = s.piece(&Line::strong("Contents"), s.body, 0.0, width, tag);
                s.strips.push(Strip {
                    above: 22.0,
                    height,
                    ops,
                    keep: true,
                    what: "the contents",
                    ..Strip::default()
                });
                s.contents(d, numbers);
            }
        }
        s.block(b)?;
    }
    let Setter { strips, mut laid, .. } = s;
    laid.filled = fill(&strips, SIDE * MM, top * MM, room).map_err(|(what, tall)| PdfFailure::TooTall {
        what: what.to_owned(),
        height_mm: f64::from(tall / MM),
        room_mm: f64::from(room / MM),
    })?;
    Ok(laid)
}

//! Tables, tables to fill in, the numbers that matter, and the contents as strips.

use std::rc::Rc;

use super::faces::Face;
use super::flow::{Op, Strip};
use super::lines::runs_of;
use super::set::{
    CELL, DEEP, GROUND, INK, Kind, LEADING, Look, QUIET, RULE, SMALL, SOFT, Setter, across, down,
};
use crate::model::{Document, Grid, KeyNumber, Line};

impl Setter<'_> {
    /// Rows of cells, each with a rule under it.
    pub(super) fn rows(&mut self, g: &Grid) {
        let table = self.tag(Kind::Table, None);
        if !g.quiet {
            let tag = self.tag(Kind::Caption, Some(table));
            let (height, ops) = self.piece(&Line::of(&g.caption), QUIET, 0.0, self.measure(), tag);
            self.strips.push(Strip {
                above: 7.0,
                height: height + 2.0,
                ops,
                keep: true,
                what: "a table",
                ..Strip::default()
            });
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
            if i == 0 && head.is_none() {
                strip.above = 5.0;
            }
            strip.keep = i + 2 == count || i == 0 && count > 1;
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

    pub(super) fn facts(&mut self, rows: &[(String, Line)]) {
        let grid = Grid {
            caption: String::new(),
            quiet: true,
            heads: Vec::new(),
            rows: rows.iter().map(|(n, v)| vec![Line::of(n), v.clone()]).collect(),
            widths: vec![31, 69],
        };
        self.rows(&grid);
    }

    pub(super) fn numbers(&mut self, numbers: &[KeyNumber]) {
        let columns = if numbers.len().is_multiple_of(3) || numbers.len() > 4 { 3 } else { 2 };
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
                for (text, look, tag) in
                    [(&k.name, QUIET, label), (&k.value, value, body), (&k.note, QUIET, body)]
                {
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
            self.strips.push(Strip {
                above,
                height: tall,
                ops: all,
                what: "a row of numbers",
                ..Strip::default()
            });
        }
    }

    /// A table to be filled in by hand.
    pub(super) fn blank(&mut self, title: &str, heads: &[String], rows: usize) {
        let table = self.tag(Kind::Table, None);
        let caption = self.tag(Kind::Caption, Some(table));
        let (height, mut ops) = self.piece(&Line::strong(title), self.body, 0.0, self.width, caption);
        let mut y = height + 2.0;
        let wide = self.width / heads.len().max(1) as f32;
        let tr = self.tag(Kind::Row, Some(table));
        let line = |y: f32, width: f32| Op::Ground { x: 0.0, y, width, height: 0.6, ink: SOFT };
        ops.push(line(y, self.width));
        let from = y;
        for (i, head) in heads.iter().enumerate() {
            let tag = self.tag(Kind::ColumnHead, Some(tr));
            let look = Look { face: Face::Bold, ..CELL };
            let (_, words) = self.piece(&Line::of(head), look, i as f32 * wide + 4.0, wide - 8.0, tag);
            ops.extend(words.into_iter().map(|o| down(o, y + 2.0)));
        }
        y += SMALL * LEADING + 4.0;
        for _ in 0..=rows {
            ops.push(line(y, self.width));
            y += 19.0;
        }
        y -= 19.0;
        for i in 0..=heads.len() {
            let x = (i as f32 * wide).min(self.width - 0.6);
            ops.push(Op::Ground { x, y: from, width: 0.6, height: y - from, ink: SOFT });
        }
        self.strips.push(Strip {
            above: 8.0,
            height: y + 1.0,
            ops,
            what: "the table to fill in",
            ..Strip::default()
        });
    }

    /// The contents: chapters with their pages.
    pub(super) fn contents(&mut self, d: &Document, numbers: &[usize]) {
        let tag = self.tag(Kind::Contents, None);
        let look = self.body;
        let step = look.size * 1.75;
        for (i, (id, text)) in d.chapters().enumerate() {
            let item = self.tag(Kind::ContentsItem, Some(tag));
            let link = self.tag(Kind::Link, Some(item));
            let page = numbers.get(i).map_or("0".to_owned(), usize::to_string);
            let w = self.faces.width(look.face, look.size, &page);
            let right = self.measure();
            let word = |x: f32, text: String, tag: usize| Op::Words {
                x,
                y: 1.02 * look.size,
                face: look.face,
                size: look.size,
                ink: look.ink,
                text,
                tag,
            };
            let from = self.faces.width(look.face, look.size, text) + 6.0;
            let ops = vec![
                Op::Link {
                    x: 0.0,
                    y: 0.0,
                    width: right,
                    height: step,
                    to: id.to_owned(),
                    alt: text.to_owned(),
                    tag: link,
                },
                Op::Ground {
                    x: from,
                    y: look.size,
                    width: (right - w - 6.0 - from).max(0.0),
                    height: 0.4,
                    ink: RULE,
                },
                word(0.0, format!("{text} "), link),
                word(right - w, page, link),
            ];
            self.strips.push(Strip {
                above: if i == 0 { 6.0 } else { 0.0 },
                height: step,
                ops,
                keep: true,
                what: "the contents",
                ..Strip::default()
            });
        }
        if let Some(last) = self.strips.last_mut() {
            last.keep = false;
        }
    }
}

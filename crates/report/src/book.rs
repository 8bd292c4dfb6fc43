//! A document in the making: chapters with ids, figures with numbers, sources numbered as they are first cited.

use std::collections::BTreeSet;

use calotte_figures::Figure;

use crate::model::{Block, BoxKind, Entry, Grid, Line, Picture};
use crate::sources::source;

/// A document in the making.
#[derive(Default)]
pub(crate) struct Book {
    pub(crate) blocks: Vec<Block>,
    cited: Vec<&'static str>,
    ids: BTreeSet<String>,
    figures: usize,
}

impl Book {
    /// An id that nothing else has, from words.
    fn id(&mut self, words: &str) -> String {
        let mut id = String::new();
        for c in words.to_lowercase().chars() {
            match c {
                'a'..='z' | '0'..='9' => id.push(c),
                _ if !id.is_empty() && !id.ends_with('-') => id.push('-'),
                _ => {}
            }
        }
        let base = format!("at-{}", id.trim_end_matches('-'));
        let free = (1..).map(|n| if n == 1 { base.clone() } else { format!("{base}-{n}") });
        let id = free.into_iter().find(|id| !self.ids.contains(id)).unwrap_or(base);
        self.ids.insert(id.clone());
        id
    }

    /// Begins a chapter; its id comes back.
    pub(crate) fn chapter(&mut self, text: &str) -> String {
        let id = self.id(text);
        self.blocks.push(Block::Heading { level: 2, id: id.clone(), text: text.to_owned() });
        id
    }
    /// Begins a section of a chapter.
    pub(crate) fn section(&mut self, text: &str) {
        let id = self.id(text);
        self.blocks.push(Block::Heading { level: 3, id, text: text.to_owned() });
    }
    pub(crate) fn text(&mut self, line: Line) {
        self.blocks.push(Block::Text(line));
    }
    pub(crate) fn list(&mut self, items: Vec<Line>) {
        if !items.is_empty() {
            self.blocks.push(Block::List(items));
        }
    }
    pub(crate) fn facts(&mut self, rows: Vec<(String, Line)>) {
        if !rows.is_empty() {
            self.blocks.push(Block::Facts(rows));
        }
    }
    pub(crate) fn table(
        &mut self,
        caption: &str,
        quiet: bool,
        heads: &[&str],
        widths: &[u32],
        rows: Vec<Vec<Line>>,
    ) {
        if !rows.is_empty() {
            self.blocks.push(Block::Table(Grid {
                caption: caption.to_owned(),
                quiet,
                heads: heads.iter().map(|h| (*h).to_owned()).collect(),
                rows,
                widths: widths.to_vec(),
            }));
        }
    }
    pub(crate) fn aside(&mut self, kind: BoxKind, title: &str, items: Vec<Line>) {
        if !items.is_empty() {
            self.blocks.push(Block::Aside { kind, title: title.to_owned(), items });
        }
    }

    /// Sets a figure; its number comes back. `of` is the question it belongs to.
    pub(crate) fn figure(&mut self, of: &str, f: &Figure, title: &str) -> usize {
        // The title of the case stands on every page of a report already.
        let caption = f
            .caption
            .strip_prefix(title)
            .map_or(&*f.caption, |rest| rest.trim_start_matches(['.', ':', ',', ';', ' ']));
        let mut letters = caption.chars();
        let caption: String =
            letters.next().map_or(String::new(), |c| c.to_uppercase().chain(letters).collect());
        self.figures += 1;
        let number = self.figures;
        self.blocks.push(Block::Figure(Box::new(Picture {
            id: format!("figure-{number}"),
            number,
            file: format!("{of}-{}", f.name),
            svg: f.svg.clone(),
            alt: f.alt.clone(),
            caption,
        })));
        number
    }

    /// The number of a source, given when it is first cited.
    pub(crate) fn cite(&mut self, key: &'static str) -> usize {
        debug_assert!(source(key).is_some(), "{key} is no source");
        let at = self.cited.iter().position(|k| *k == key);
        at.unwrap_or_else(|| {
            self.cited.push(key);
            self.cited.len() - 1
        }) + 1
    }
    /// A sentence with the sources behind it.
    pub(crate) fn cited(&mut self, text: &str, keys: &[&'static str]) -> Line {
        let numbers: Vec<usize> = keys.iter().map(|k| self.cite(k)).collect();
        Line::of(text).citing(&numbers)
    }

    /// Keys of the sources cited, in the order of their numbers.
    pub(crate) fn keys(&self) -> &[&'static str] {
        &self.cited
    }
    /// The list of sources.
    pub(crate) fn sources(&mut self) {
        let entry = |(i, key): (usize, &&'static str)| {
            source(key).map(|s| Entry {
                number: i + 1,
                id: format!("source-{}", i + 1),
                text: s.printed(),
                used_for: s.used_for.to_owned(),
            })
        };
        let entries: Vec<Entry> = self.cited.iter().enumerate().filter_map(entry).collect();
        if !entries.is_empty() {
            self.blocks.push(Block::Sources(entries));
        }
    }
}

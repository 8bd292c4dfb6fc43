//! The desk's sheet of an answer, taken apart into what a report tells in different places.

use calotte_desk::{Block as Said, Sheet};

use crate::model::Line;

/// What stands under one heading of a sheet.
#[derive(Clone, Debug, Default)]
pub(crate) struct Section {
    pub(crate) head: String,
    pub(crate) said: Vec<Said>,
}

/// A sheet taken apart.
#[derive(Clone, Debug, Default)]
pub(crate) struct Told {
    /// The part in one line.
    pub(crate) intro: Vec<String>,
    /// Doubts.
    pub(crate) doubts: Vec<String>,
    /// What it comes to, in sentences.
    pub(crate) story: Vec<String>,
    /// Everything with numbers.
    pub(crate) sections: Vec<Section>,
    /// Evidence.
    pub(crate) evidence: Vec<Said>,
    /// Warnings and what lies beyond the model.
    pub(crate) warnings: Vec<String>,
    /// Words explained.
    pub(crate) words: Vec<String>,
}

/// Headings under which a sheet tells its story.
const STORIES: [&str; 6] =
    ["Why", "What happens", "What was found", "What it shows", "The batch", "What it comes to"];

fn texts(said: &[Said]) -> impl Iterator<Item = String> + '_ {
    said.iter().filter_map(|s| match s {
        Said::Text { text } | Said::Item { text } => Some(text.clone()),
        _ => None,
    })
}

/// Takes a sheet apart. Nothing of it is lost but its title and the case's notes, which the report tells once.
pub(crate) fn apart(sheet: &Sheet) -> Told {
    let mut sections = vec![Section::default()];
    for block in &sheet.blocks {
        match block {
            Said::Head { text } => sections.push(Section { head: text.clone(), said: Vec::new() }),
            other => {
                if let Some(last) = sections.last_mut() {
                    last.said.push(other.clone());
                }
            }
        }
    }
    let mut told = Told::default();
    for s in sections {
        match s.head.as_str() {
            "" => {
                for text in texts(&s.said) {
                    match text.strip_prefix("Doubt: ") {
                        Some(doubt) => told.doubts.push(doubt.to_owned()),
                        None => told.intro.push(text),
                    }
                }
            }
            head if STORIES.contains(&head) => told.story.extend(texts(&s.said)),
            "Evidence" => told.evidence = s.said,
            "Warnings" | "Beyond this model" => told.warnings.extend(texts(&s.said)),
            "What the words mean" => told.words.extend(texts(&s.said)),
            "Notes on the case" => {}
            _ => told.sections.push(s),
        }
    }
    told
}

/// One of the shapes that pieces of a section are set in.
pub(crate) enum Piece {
    Text(Line),
    Items(Vec<Line>),
    Facts(Vec<(String, Line)>),
    Table { heads: Vec<String>, rows: Vec<Vec<Line>> },
}

/// Neighbours of one kind set together.
pub(crate) fn pieces(said: &[Said]) -> Vec<Piece> {
    let mut out: Vec<Piece> = Vec::new();
    let lines = |cells: &[String]| cells.iter().map(|c| Line::of(c)).collect::<Vec<_>>();
    for s in said {
        match s {
            Said::Head { .. } => {}
            Said::Text { text } => out.push(Piece::Text(Line::of(text))),
            Said::Item { text } => match out.last_mut() {
                Some(Piece::Items(items)) => items.push(Line::of(text)),
                _ => out.push(Piece::Items(vec![Line::of(text)])),
            },
            Said::Row { name, value } => match out.last_mut() {
                Some(Piece::Facts(rows)) if name.is_empty() => {
                    if let Some((_, last)) = rows.last_mut() {
                        let more = Line::of(&format!("; {value}"));
                        *last = std::mem::take(last).then(more);
                    }
                }
                Some(Piece::Facts(rows)) => rows.push((name.clone(), Line::of(value))),
                _ => out.push(Piece::Facts(vec![(name.clone(), Line::of(value))])),
            },
            Said::Cells { name, cells } if cells.is_empty() => out.push(Piece::Text(Line::of(name))),
            Said::Cells { name, cells } => {
                let row: Vec<String> = std::iter::once(name).chain(cells).cloned().collect();
                match out.last_mut() {
                    Some(Piece::Table { heads, rows }) if !name.is_empty() && name != "input" => {
                        heads.resize(heads.len().max(row.len()), String::new());
                        let mut row = lines(&row);
                        row.resize(heads.len(), Line::default());
                        rows.push(row);
                    }
                    _ if name.is_empty() || name == "input" => {
                        out.push(Piece::Table { heads: row, rows: Vec::new() })
                    }
                    _ => out.push(Piece::Table {
                        heads: vec![String::new(); row.len()],
                        rows: vec![lines(&row)],
                    }),
                }
            }
            Said::Table { rows, .. } => {
                let mut rows = rows.iter();
                let heads = rows.next().cloned().unwrap_or_default();
                let fill = |r: &Vec<String>| {
                    let mut row = lines(r);
                    row.resize(heads.len(), Line::default());
                    row
                };
                let rows = rows.map(fill).collect();
                out.push(Piece::Table { heads, rows });
            }
        }
    }
    out
}

//! An answer in words: a title and blocks under it, and how they are set as plain text.

use serde::Serialize;

/// Columns of running text.
const WIDTH: usize = 92;
/// Columns before the value of a row.
const INDENT: usize = 31;
/// Columns of one cell after the name of a row.
const CELL: usize = 30;

/// An answer in words.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Sheet {
    /// What it comes to, in one line.
    pub title: String,
    /// The rest, from top to bottom.
    pub blocks: Vec<Block>,
}

/// A piece of a [`Sheet`].
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(tag = "kind", rename_all = "lowercase")]
pub enum Block {
    /// A paragraph.
    Text {
        /// Its words.
        text: String,
    },
    /// A heading: what follows belongs to it.
    Head {
        /// Its words.
        text: String,
    },
    /// An item of a list.
    Item {
        /// Its words.
        text: String,
    },
    /// A name and what belongs to it; an empty name goes on with the row before.
    Row {
        /// What the value is of.
        name: String,
        /// The value in words.
        value: String,
    },
    /// A name and several cells beside it; without cells, a line to itself.
    Cells {
        /// What the cells are of; empty above cells that are heads.
        name: String,
        /// The cells.
        cells: Vec<String>,
    },
    /// A table; its first row holds the heads.
    Table {
        /// The rows.
        rows: Vec<Vec<String>>,
        /// Least widths of columns that stand flush right as text; none for a table whose columns stand flush left.
        right: Vec<usize>,
    },
}

impl Sheet {
    /// An empty sheet.
    pub fn new(title: &str) -> Self {
        Self { title: title.to_owned(), blocks: Vec::new() }
    }
    /// Adds a paragraph.
    pub fn text_block(&mut self, text: &str) {
        self.blocks.push(Block::Text { text: text.to_owned() });
    }
    /// Adds a heading.
    pub fn head(&mut self, text: &str) {
        self.blocks.push(Block::Head { text: text.to_owned() });
    }
    /// Adds an item of a list.
    pub fn item(&mut self, text: &str) {
        self.blocks.push(Block::Item { text: text.to_owned() });
    }
    /// Adds the same for several; nothing for none.
    pub fn items(&mut self, texts: &[String]) {
        texts.iter().for_each(|t| self.item(t));
    }
    /// Adds a list under its heading; nothing for an empty list.
    pub fn list(&mut self, head: &str, texts: &[String]) {
        if !texts.is_empty() {
            self.head(head);
            self.items(texts);
        }
    }
    /// Adds every doubt.
    pub fn doubts(&mut self, doubts: &[String]) {
        doubts.iter().for_each(|d| self.item(&format!("Doubt: {d}")));
    }
    /// Adds a name with its value.
    pub fn row(&mut self, name: &str, value: &str) {
        self.blocks.push(Block::Row { name: name.to_owned(), value: value.to_owned() });
    }
    /// Adds a name with several cells.
    pub fn cells(&mut self, name: &str, cells: &[&str]) {
        let cells = cells.iter().map(|c| (*c).to_owned()).collect();
        self.blocks.push(Block::Cells { name: name.to_owned(), cells });
    }
    /// Adds a table whose first row holds the heads.
    pub fn table(&mut self, rows: Vec<Vec<String>>) {
        self.blocks.push(Block::Table { rows, right: Vec::new() });
    }

    /// The sheet as plain text, without a newline at its end.
    pub fn text(&self) -> String {
        let mut out = format!("{}\n", self.title);
        for block in &self.blocks {
            match block {
                Block::Text { text } => out.push_str(&wrap(text, "", "")),
                Block::Head { text } => {
                    out.push('\n');
                    out.push_str(text);
                }
                Block::Item { text } => out.push_str(&wrap(text, "  - ", "    ")),
                Block::Row { name, value } => {
                    let first = format!("  {name:<28} ");
                    out.push_str(&wrap(value, &first, &" ".repeat(INDENT)));
                }
                Block::Cells { name, cells } => out.push_str(&line(name, cells)),
                Block::Table { rows, right } => {
                    let rows: Vec<String> = table(rows, right);
                    out.push_str(&rows.join("\n"));
                }
            }
            out.push('\n');
        }
        out.trim_end().to_owned()
    }
}

/// Wraps a paragraph that starts with `first`, later lines indented by `indent`.
fn wrap(text: &str, first: &str, indent: &str) -> String {
    let mut out = String::from(first);
    let mut column = first.chars().count();
    let mut fresh = true;
    for word in text.split_whitespace() {
        let n = word.chars().count();
        if !fresh && column + 1 + n > WIDTH {
            out.push('\n');
            out.push_str(indent);
            column = indent.chars().count();
            fresh = true;
        }
        if !fresh {
            out.push(' ');
            column += 1;
        }
        out.push_str(word);
        column += n;
        fresh = false;
    }
    out
}

/// A name, then cells flush left, each in [`CELL`] columns.
fn line(name: &str, cells: &[String]) -> String {
    let mut line = format!("  {name}");
    for (i, cell) in cells.iter().enumerate() {
        let pad = (INDENT + CELL * i).saturating_sub(line.chars().count()).max(1);
        line += &format!("{}{cell}", " ".repeat(pad));
    }
    line.trim_end().to_owned()
}

/// Rows of cells; columns flush right in the given widths, or flush left and as wide as their longest cell.
fn table(rows: &[Vec<String>], right: &[usize]) -> Vec<String> {
    let count = rows.iter().map(Vec::len).max().unwrap_or(0);
    let wide = |i: usize| rows.iter().filter_map(|r| r.get(i)).map(|c| c.chars().count()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..count).map(wide).collect();
    let set = |(i, cell): (usize, &String)| match right.get(i) {
        Some(w) => format!("{cell:>w$}"),
        None => format!("{cell:<w$}", w = widths[i]),
    };
    rows.iter()
        .map(|row| line(&row.iter().enumerate().map(set).collect::<Vec<_>>().join("  "), &[]))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blocks_are_set_as_text() {
        let mut s = Sheet::new("TITLE: part");
        s.text_block(&"word ".repeat(20));
        s.head("Head");
        s.row("name", &"value ".repeat(12));
        s.row("", "goes on");
        s.cells("", &["one", "two"]);
        s.cells("a", &["1", ""]);
        s.item("item");
        let cell = |t: &str| t.to_owned();
        s.table(vec![vec![cell(""), cell("é")], vec![cell("long"), cell("x")]]);
        s.blocks.push(Block::Table {
            rows: vec![vec![cell("n"), cell("Ω²")], vec![cell("1"), cell("2.5")]],
            right: vec![4, 5],
        });
        s.list("Nothing", &[]);
        let expected = "TITLE: part\n\
            word word word word word word word word word word word word word word word word word word\n\
            word word\n\
            \n\
            Head\n  \
              name                         value value value value value value value value value value\n                               \
              value value\n                               \
              goes on\n                               \
              one                           two\n  \
              a                            1\n  \
              - item\n        \
              é\n  \
              long  x\n     \
              n     Ω²\n     \
              1    2.5";
        assert_eq!(s.text(), expected);
    }

    #[test]
    fn kinds_are_told_apart_in_json() {
        let mut s = Sheet::new("T");
        s.row("a", "b");
        s.table(vec![vec!["h".to_owned()]]);
        let json = serde_json::to_value(&s).unwrap();
        assert_eq!(json["blocks"][0], serde_json::json!({"kind": "row", "name": "a", "value": "b"}));
        assert_eq!(json["blocks"][1], serde_json::json!({"kind": "table", "rows": [["h"]], "right": []}));
    }
}

//! From TOML to tests: what is written, where, and what is wrong with it on its own.

use std::collections::BTreeMap;
use std::ops::Range;

use calotte_quantity::{Dimension, Quantity, nearest};
use calotte_specimen::{File, Finding, Level};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::keys::{Key, TABLES, Table, Takes, table};

const LARGEST: usize = 1 << 20;

/// A quantity and where it stands.
#[derive(Clone, Debug)]
pub(super) struct Placed {
    pub(super) quantity: Quantity,
    pub(super) span: Range<usize>,
}

/// What stands behind a key.
#[derive(Clone, Debug)]
pub(super) enum Value {
    Quantities(Vec<Placed>),
    Grid(Vec<Vec<Placed>>),
    Text(String),
}

/// One table as written, whatever is wrong in it left out.
#[derive(Clone, Debug)]
pub(super) struct Written {
    pub(super) table: &'static str,
    /// Its header, for findings about what is missing.
    pub(super) span: Range<usize>,
    pub(super) values: BTreeMap<&'static str, (Value, Range<usize>)>,
    /// Something in it is wrong, so that it is not worked out.
    pub(super) broken: bool,
}

impl Written {
    pub(super) fn quantity(&self, key: &str) -> Option<&Placed> {
        match self.values.get(key) {
            Some((Value::Quantities(q), _)) => q.first(),
            _ => None,
        }
    }

    pub(super) fn quantities(&self, key: &str) -> &[Placed] {
        match self.values.get(key) {
            Some((Value::Quantities(q), _)) => q,
            _ => &[],
        }
    }

    pub(super) fn grid(&self, key: &str) -> &[Vec<Placed>] {
        match self.values.get(key) {
            Some((Value::Grid(rows), _)) => rows,
            _ => &[],
        }
    }

    pub(super) fn text(&self, key: &str) -> Option<&str> {
        match self.values.get(key) {
            Some((Value::Text(t), _)) => Some(t),
            _ => None,
        }
    }

    pub(super) fn span_of(&self, key: &str) -> Range<usize> {
        self.values.get(key).map_or_else(|| self.span.clone(), |v| v.1.clone())
    }
}

/// A finding at bytes of the bench file.
pub(super) fn finding(level: Level, span: Range<usize>, says: String, hint: Option<String>) -> Finding {
    Finding { level, file: File::Case, span, says, hint }
}

/// Everything found in a file.
#[derive(Default)]
pub(super) struct Draft {
    pub(super) tables: Vec<Written>,
    pub(super) found: Vec<Finding>,
    /// TOML itself is broken, or there is no text.
    pub(super) lost: bool,
}

impl Draft {
    fn error(&mut self, span: Range<usize>, says: impl Into<String>, hint: impl Into<String>) {
        let hint = hint.into();
        let hint = (!hint.is_empty()).then_some(hint);
        self.found.push(finding(Level::Error, span, says.into(), hint));
    }
}

/// Reads the whole file.
pub(super) fn read(bytes: &[u8]) -> Draft {
    let mut draft = Draft { lost: true, ..Draft::default() };
    let start = if bytes.starts_with(b"\xef\xbb\xbf") { 3 } else { 0 };
    if bytes.len() > LARGEST {
        draft.error(
            0..0,
            "the bench file is larger than 1 MiB",
            "tables of readings go into CSV files of their own",
        );
        return draft;
    }
    let text = match std::str::from_utf8(&bytes[start..]) {
        Ok(text) => text,
        Err(e) => {
            let at = start + e.valid_up_to();
            draft.error(at..at + 1, "the file is not UTF-8 text", "save it as UTF-8");
            return draft;
        }
    };
    if text.trim().is_empty() {
        draft.error(0..0, "the file is empty", "`calotte bench --template` prints one to start from");
        return draft;
    }
    let (root, faults) = DeTable::parse_recoverable(text);
    draft.lost = !faults.is_empty();
    for fault in faults {
        let says = fault.message().lines().collect::<Vec<_>>().join("; ");
        let hint = if says.contains("quoted") {
            "texts, and numbers with a unit, stand in quotes: `drop = \"12.1 ± 0.5 mm\"`"
        } else {
            ""
        };
        draft.error(fault.span().unwrap_or(0..0), says, hint);
    }
    let mut reader = Reader { text, draft };
    reader.root(root.get_ref());
    let mut draft = reader.draft;
    // A byte order mark moves every place.
    if start > 0 {
        let moved = |s: &mut Range<usize>| *s = s.start + start..s.end + start;
        draft.found.iter_mut().for_each(|f| moved(&mut f.span));
        for w in &mut draft.tables {
            moved(&mut w.span);
            for (value, span) in w.values.values_mut() {
                moved(span);
                match value {
                    Value::Quantities(q) => q.iter_mut().for_each(|p| moved(&mut p.span)),
                    Value::Grid(rows) => rows.iter_mut().flatten().for_each(|p| moved(&mut p.span)),
                    Value::Text(_) => {}
                }
            }
        }
    }
    draft
}

struct Reader<'t> {
    text: &'t str,
    draft: Draft,
}

impl Reader<'_> {
    fn root(&mut self, root: &DeTable<'_>) {
        let top = &TABLES[0];
        let mut own = Written { table: "", span: 0..0, values: BTreeMap::new(), broken: false };
        for (name, value) in root {
            let (span, word) = (name.span(), name.get_ref().as_ref());
            match (table(word).filter(|t| !t.name.is_empty()), value.get_ref()) {
                (Some(t), DeValue::Table(inside)) if !t.many => self.table(t, span, inside),
                (Some(t), DeValue::Array(all)) if t.many && all.iter().all(|v| is_table(v.get_ref())) => {
                    for one in all {
                        if let DeValue::Table(inside) = one.get_ref() {
                            self.table(t, one.span(), inside);
                        }
                    }
                }
                (Some(t), _) => {
                    let (says, hint) = if t.many {
                        (
                            format!("`{word}` is a list of tables"),
                            format!("write `[[{word}]]` on a line of its own"),
                        )
                    } else {
                        (format!("`{word}` is one table"), format!("write `[{word}]` on a line of its own"))
                    };
                    self.draft.error(span, says, hint);
                }
                (None, DeValue::Table(_) | DeValue::Array(_)) if !top.keys.iter().any(|k| k.name == word) => {
                    let names: Vec<&str> = TABLES.iter().skip(1).map(|t| t.name).collect();
                    let hint = nearest(word, names.iter().copied()).map_or_else(
                        || format!("the tables are {}", names.join(", ")),
                        |near| format!("did you mean `{}`?", headed(near)),
                    );
                    self.draft.error(span, format!("unknown table `{word}`"), hint);
                }
                (None, _) => self.key(top, &mut own, word, span, value),
            }
        }
        self.draft.tables.push(own);
        // Maps are ordered by name; findings and tests go by place.
        self.draft.tables.sort_by_key(|w| w.span.start);
    }

    fn table(&mut self, table: &'static Table, span: Range<usize>, inside: &DeTable<'_>) {
        let mut written = Written { table: table.name, span, values: BTreeMap::new(), broken: false };
        for (name, value) in inside {
            self.key(table, &mut written, name.get_ref(), name.span(), value);
        }
        self.draft.tables.push(written);
    }

    fn key(
        &mut self,
        table: &'static Table,
        to: &mut Written,
        word: &str,
        span: Range<usize>,
        value: &Spanned<DeValue<'_>>,
    ) {
        let Some(key) = table.keys.iter().find(|k| k.name == word) else {
            let here = || table.keys.iter().map(|k| k.name);
            let hint = nearest(word, here()).map_or_else(
                || format!("known here: {}", here().collect::<Vec<_>>().join(", ")),
                |near| format!("did you mean `{near}`?"),
            );
            self.draft.error(span, format!("unknown key `{word}`"), hint);
            to.broken = true;
            return;
        };
        let place = inner(self.text, value.span(), value.get_ref());
        match self.value(key, value) {
            Some(read) => {
                to.values.insert(key.name, (read, place));
            }
            None => to.broken = true,
        }
    }

    /// What is written; `None` when something in it is wrong, its finding made.
    fn value(&mut self, key: &Key, value: &Spanned<DeValue<'_>>) -> Option<Value> {
        match (key.takes, value.get_ref()) {
            (Takes::Text, DeValue::String(t)) if !t.trim().is_empty() => Some(Value::Text(t.to_string())),
            (Takes::Word(words), DeValue::String(t)) => {
                if words.contains(&t.as_ref()) {
                    return Some(Value::Text(t.to_string()));
                }
                let all = words.iter().map(|w| format!("\"{w}\"")).collect::<Vec<_>>().join(", ");
                let hint = nearest(t, words.iter().copied())
                    .map_or_else(|| format!("one of {all}"), |near| format!("did you mean \"{near}\"?"));
                self.draft.error(value.span(), format!("`{}` cannot be \"{t}\"", key.name), hint);
                None
            }
            (
                Takes::Quantity(d) | Takes::Again(d),
                DeValue::String(_) | DeValue::Integer(_) | DeValue::Float(_),
            ) => self.one(key, d, value).map(|p| Value::Quantities(vec![p])),
            (Takes::Again(d) | Takes::List(d), DeValue::Array(all)) if !all.is_empty() => {
                self.row(key, d, all.iter()).map(Value::Quantities)
            }
            (Takes::Grid(d), DeValue::Array(all)) if !all.is_empty() => {
                let mut rows = Vec::new();
                let mut whole = true;
                for one in all {
                    let row = match one.get_ref() {
                        DeValue::Array(inside) if !inside.is_empty() => self.row(key, d, inside.iter()),
                        DeValue::String(_) | DeValue::Integer(_) | DeValue::Float(_) => {
                            self.one(key, d, one).map(|p| vec![p])
                        }
                        _ => {
                            self.wrong(key, one.span());
                            None
                        }
                    };
                    match row {
                        Some(row) => rows.push(row),
                        None => whole = false,
                    }
                }
                whole.then_some(Value::Grid(rows))
            }
            _ => {
                self.wrong(key, value.span());
                None
            }
        }
    }

    fn wrong(&mut self, key: &Key, span: Range<usize>) {
        let says = format!("`{}` does not take this", key.name);
        self.draft.error(span, says, format!("for example `{}`", key.takes.example(key.name)));
    }

    fn row<'v, 'd: 'v>(
        &mut self,
        key: &Key,
        d: Dimension,
        all: impl Iterator<Item = &'v Spanned<DeValue<'d>>>,
    ) -> Option<Vec<Placed>> {
        // Every one is read, so that every finding is made.
        let read: Vec<Option<Placed>> = all.map(|one| self.one(key, d, one)).collect();
        read.into_iter().collect()
    }

    fn one(&mut self, key: &Key, dimension: Dimension, value: &Spanned<DeValue<'_>>) -> Option<Placed> {
        let (text, span) = match value.get_ref() {
            DeValue::String(t) => (t.to_string(), inner(self.text, value.span(), value.get_ref())),
            // A bare number: fine where no unit is needed.
            DeValue::Integer(_) | DeValue::Float(_) => {
                (self.text[value.span()].replace('_', ""), value.span())
            }
            _ => {
                let example = key.takes.example(key.name);
                self.draft.error(
                    value.span(),
                    format!("`{}` takes quantities", key.name),
                    format!("for example `{example}`"),
                );
                return None;
            }
        };
        // A case file's rates are no frequencies, so that hertz are no unit there; here they are what is meant.
        let hertz = dimension == Dimension::Rate;
        let read = if hertz { text.replace("kHz", "1/ms").replace("Hz", "1/s") } else { text.clone() };
        match Quantity::parse(&read, dimension) {
            Ok(quantity) => {
                let [low, high] = key.allowed;
                let v = quantity.value;
                if v < low || v > high || (low == 0.0 && v <= 0.0) {
                    let says = if low == 0.0 && v <= 0.0 {
                        format!("`{}` must be greater than 0", key.name)
                    } else {
                        format!("`{}` is out of range", key.name)
                    };
                    let unit = quantity.unit;
                    let hint = if low.is_finite() && high.is_finite() {
                        format!(
                            "between {} and {} is taken",
                            calotte_quantity::show(low, None, unit),
                            calotte_quantity::show(high, None, unit)
                        )
                    } else {
                        String::new()
                    };
                    self.draft.error(span, says, hint);
                    return None;
                }
                Some(Placed { quantity, span })
            }
            Err(e) => {
                let hint = e.hint().unwrap_or_default();
                let hint = if hertz { hint.replace("1/s", "Hz") } else { hint };
                // Inside the text where the fault is, as long as it is written without escapes.
                let plain = self.text.get(span.clone()) == Some(&read);
                let at = if plain { span.start + e.at.start..span.start + e.at.end } else { span };
                self.draft.error(at, format!("`{}`: {e}", key.name), hint);
                None
            }
        }
    }
}

fn is_table(v: &DeValue<'_>) -> bool {
    matches!(v, DeValue::Table(_))
}

/// The header of a table as written.
pub(super) fn headed(name: &str) -> String {
    if table(name).is_some_and(|t| t.many) { format!("[[{name}]]") } else { format!("[{name}]") }
}

/// The text inside the quotes of a one-line string.
fn inner(text: &str, span: Range<usize>, value: &DeValue<'_>) -> Range<usize> {
    let quoted =
        matches!(value, DeValue::String(_)) && span.len() >= 2 && !text[span.clone()].starts_with("\"\"\"");
    if quoted { span.start + 1..span.end - 1 } else { span }
}

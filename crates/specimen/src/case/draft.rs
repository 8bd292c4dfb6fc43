//! From TOML to fields: what is written, where, and what is wrong with it on its own.

use std::collections::BTreeMap;
use std::ops::Range;

use calotte_quantity::{Dimension, Quantity, nearest};
use toml::de::{DeTable, DeValue};

use super::finding::{File, Finding};
use super::keys::{KEYS, Key, TABLES, Takes, find_key};

const LARGEST: usize = 1 << 20;

/// A value as read.
#[derive(Clone, Debug)]
pub(super) enum Value {
    Text(String),
    Flag(bool),
    Number(Quantity),
    Numbers(Vec<(Quantity, Range<usize>)>),
    Texts(Vec<(String, Range<usize>)>),
    /// Written, but wrong; its finding is made.
    Wrong,
}

/// A key found in the file.
#[derive(Clone, Debug)]
pub(super) struct Field {
    pub(super) key: &'static Key,
    pub(super) key_span: Range<usize>,
    /// Inside the quotes of a text.
    pub(super) span: Range<usize>,
    pub(super) value: Value,
}

/// Everything found.
#[derive(Default)]
pub(super) struct Draft {
    /// By `table.name`.
    pub(super) fields: BTreeMap<String, Field>,
    /// Headers of the tables present.
    pub(super) tables: BTreeMap<&'static str, Range<usize>>,
    pub(super) findings: Vec<Finding>,
    /// TOML itself is broken: what is missing may only have been lost.
    pub(super) broken: bool,
}

impl Draft {
    pub(super) fn error(&mut self, span: Range<usize>, says: impl Into<String>) -> &mut Finding {
        self.push(Finding::error(File::Case, span, says))
    }

    pub(super) fn warning(&mut self, span: Range<usize>, says: impl Into<String>) -> &mut Finding {
        self.push(Finding::warning(File::Case, span, says))
    }

    fn push(&mut self, finding: Finding) -> &mut Finding {
        self.findings.push(finding);
        let last = self.findings.len() - 1;
        &mut self.findings[last]
    }

    pub(super) fn has(&self, path: &str) -> bool {
        self.fields.contains_key(path)
    }

    pub(super) fn span(&self, path: &str) -> Option<Range<usize>> {
        if let Some((list, index)) = path.strip_suffix(']').and_then(|p| p.split_once('[')) {
            let index = index.parse::<usize>().ok()?.checked_sub(1)?;
            return match &self.fields.get(list)?.value {
                Value::Numbers(all) => all.get(index).map(|q| q.1.clone()),
                Value::Texts(all) => all.get(index).map(|t| t.1.clone()),
                _ => None,
            };
        }
        self.fields.get(path).map(|f| f.span.clone()).or_else(|| self.tables.get(path).cloned())
    }

    pub(super) fn text(&self, path: &str) -> Option<&str> {
        match self.fields.get(path).map(|f| &f.value) {
            Some(Value::Text(t)) => Some(t),
            _ => None,
        }
    }

    pub(super) fn flag(&self, path: &str) -> Option<bool> {
        match self.fields.get(path).map(|f| &f.value) {
            Some(Value::Flag(b)) => Some(*b),
            _ => None,
        }
    }

    pub(super) fn number(&self, path: &str) -> Option<&Quantity> {
        match self.fields.get(path).map(|f| &f.value) {
            Some(Value::Number(q)) => Some(q),
            _ => None,
        }
    }

    pub(super) fn numbers(&self, path: &str) -> Option<&[(Quantity, Range<usize>)]> {
        match self.fields.get(path).map(|f| &f.value) {
            Some(Value::Numbers(q)) => Some(q),
            _ => None,
        }
    }
}

/// Reads the whole file; never stops early once it is text.
pub(super) fn read(bytes: &[u8]) -> Draft {
    let mut draft = Draft::default();
    let start = if bytes.starts_with(b"\xef\xbb\xbf") { 3 } else { 0 };
    if bytes.len() > LARGEST {
        draft.broken = true;
        draft.error(0..0, "the case file is larger than 1 MiB").hint =
            Some("is this a case file? measured points go into a CSV file of their own".to_owned());
        return draft;
    }
    let text = match std::str::from_utf8(&bytes[start..]) {
        Ok(text) => text,
        Err(e) => {
            draft.broken = true;
            let at = start + e.valid_up_to();
            draft.error(at..at + 1, "the file is not UTF-8 text").hint = Some("save it as UTF-8".to_owned());
            return draft;
        }
    };
    if text.trim().is_empty() {
        draft.broken = true;
        draft.error(0..0, "the file is empty").hint =
            Some("`calotte new cap` writes one to start from".to_owned());
        return draft;
    }
    let (root, faults) = DeTable::parse_recoverable(text);
    draft.broken = !faults.is_empty();
    for fault in faults {
        let span = fault.span().unwrap_or(0..0);
        let finding = draft.error(span, fault.message().lines().collect::<Vec<_>>().join("; "));
        if fault.message().contains("quoted") {
            finding.hint =
                Some("texts, and numbers with a unit, stand in quotes: `radius = \"25 mm\"`".to_owned());
        }
    }
    Reader { text, draft: &mut draft }.root(root.get_ref());
    shift(&mut draft, start);
    draft
}

/// Moves every place by the length of a byte order mark.
fn shift(draft: &mut Draft, by: usize) {
    let moved = |s: &mut Range<usize>| *s = s.start + by..s.end + by;
    for f in draft.fields.values_mut() {
        moved(&mut f.span);
        moved(&mut f.key_span);
        match &mut f.value {
            Value::Numbers(all) => all.iter_mut().for_each(|q| moved(&mut q.1)),
            Value::Texts(all) => all.iter_mut().for_each(|t| moved(&mut t.1)),
            _ => {}
        }
    }
    draft.tables.values_mut().for_each(moved);
    draft.findings.iter_mut().for_each(|f| moved(&mut f.span));
}

struct Reader<'t, 'd> {
    text: &'t str,
    draft: &'d mut Draft,
}

impl Reader<'_, '_> {
    fn root(&mut self, root: &DeTable<'_>) {
        for (name, value) in root {
            let (span, word) = (name.span(), name.get_ref().as_ref());
            let table = TABLES.iter().find(|t| t.0 == word);
            match (table, value.get_ref()) {
                (Some((table, ..)), DeValue::Table(inside)) => {
                    self.draft.tables.insert(table, span);
                    self.table(table, inside);
                }
                (Some(_), other) => {
                    let says = format!("`{word}` is a table, not {}", kind_of(other));
                    self.draft.error(span, says).hint =
                        Some(format!("write `[{word}]` on a line of its own"));
                }
                (None, _) => match find_key("", word) {
                    Some(key) => self.field(key, span, value),
                    None => self.unknown("", word, span, matches!(value.get_ref(), DeValue::Table(_))),
                },
            }
        }
    }

    fn table(&mut self, table: &'static str, inside: &DeTable<'_>) {
        for (name, value) in inside {
            match find_key(table, name.get_ref()) {
                Some(key) => self.field(key, name.span(), value),
                None => self.unknown(table, name.get_ref(), name.span(), false),
            }
        }
    }

    fn unknown(&mut self, table: &str, word: &str, span: Range<usize>, is_table: bool) {
        let here = KEYS.iter().filter(|k| k.table == table).map(|k| k.name);
        let tables = TABLES.iter().map(|t| t.0);
        let elsewhere: Vec<&str> =
            KEYS.iter().filter(|k| k.name == word && k.table != table).map(|k| k.table).collect();
        let hint = if is_table {
            match nearest(word, tables.clone()) {
                Some(near) => format!("did you mean `[{near}]`?"),
                None => format!(
                    "the tables are {}",
                    tables.map(|t| format!("[{t}]")).collect::<Vec<_>>().join(", ")
                ),
            }
        } else if let Some(near) = nearest(word, here.clone()) {
            format!("did you mean `{near}`?")
        } else if elsewhere == [""] {
            format!("`{word}` stands at the top, before the first table")
        } else if !elsewhere.is_empty() {
            let tables: Vec<String> = elsewhere.iter().map(|t| format!("`[{t}]`")).collect();
            format!("`{word}` belongs in {}", tables.join(" or "))
        } else {
            format!(
                "known here: {}",
                here.chain(if table.is_empty() { TABLES.map(|t| t.0).to_vec() } else { vec![] })
                    .collect::<Vec<_>>()
                    .join(", ")
            )
        };
        let what = if is_table { "table" } else { "key" };
        self.draft.error(span, format!("unknown {what} `{word}`")).hint = Some(hint);
    }

    fn field(&mut self, key: &'static Key, key_span: Range<usize>, value: &toml::Spanned<DeValue<'_>>) {
        let span = inner(self.text, value.span(), value.get_ref());
        let read = self.value(key, value);
        self.draft.fields.insert(key.path(), Field { key, key_span, span, value: read });
    }

    fn value(&mut self, key: &'static Key, value: &toml::Spanned<DeValue<'_>>) -> Value {
        let span = inner(self.text, value.span(), value.get_ref());
        match (key.takes, value.get_ref()) {
            (Takes::Text | Takes::Texts, DeValue::String(t)) if t.trim().is_empty() => {
                self.draft.error(value.span(), format!("`{}` is empty", key.name));
                Value::Wrong
            }
            (Takes::Text, DeValue::String(t)) => Value::Text(t.to_string()),
            (Takes::Texts, DeValue::String(t)) => Value::Texts(vec![(t.to_string(), span)]),
            (Takes::Texts, DeValue::Array(all)) => {
                let mut out = Vec::new();
                for one in all {
                    match one.get_ref() {
                        DeValue::String(t) if !t.trim().is_empty() => {
                            out.push((t.to_string(), inner(self.text, one.span(), one.get_ref())));
                        }
                        _ => {
                            self.draft.error(one.span(), format!("`{}` takes texts", key.name)).hint =
                                Some(format!("for example `{} = {}`", key.name, quoted(key)));
                        }
                    }
                }
                if out.len() == all.len() { Value::Texts(out) } else { Value::Wrong }
            }
            (Takes::Flag, DeValue::Boolean(b)) => Value::Flag(*b),
            (Takes::Choice(all), DeValue::String(t)) => {
                if all.contains(&t.as_ref()) {
                    return Value::Text(t.to_string());
                }
                let hint = match nearest(t, all.iter().copied()) {
                    Some(near) => format!("did you mean \"{near}\"?"),
                    None => format!(
                        "one of {}",
                        all.iter().map(|a| format!("\"{a}\"")).collect::<Vec<_>>().join(", ")
                    ),
                };
                self.draft.error(span, format!("`{}` cannot be \"{t}\"", key.name)).hint = Some(hint);
                Value::Wrong
            }
            (Takes::Numbers(dimension) | Takes::List(dimension), DeValue::Array(all)) => {
                let mut out = Vec::new();
                for one in all {
                    let at = inner(self.text, one.span(), one.get_ref());
                    if let Some(q) = self.quantity(key, dimension, one) {
                        out.push((q, at));
                    }
                }
                if out.len() == all.len() { Value::Numbers(out) } else { Value::Wrong }
            }
            (Takes::Number(dimension) | Takes::Numbers(dimension), _) => {
                self.quantity(key, dimension, value).map_or(Value::Wrong, Value::Number)
            }
            (takes, other) => {
                let wanted = match takes {
                    Takes::Flag => "true or false",
                    Takes::List(_) => "a list",
                    Takes::Texts => "a list of texts",
                    _ => "a text in quotes",
                };
                let says = format!("`{}` takes {wanted}, not {}", key.name, kind_of(other));
                self.draft.error(value.span(), says).hint =
                    Some(format!("for example `{} = {}`", key.name, quoted(key)));
                Value::Wrong
            }
        }
    }

    fn quantity(
        &mut self,
        key: &Key,
        dimension: Dimension,
        value: &toml::Spanned<DeValue<'_>>,
    ) -> Option<Quantity> {
        let (text, bare) = match value.get_ref() {
            DeValue::String(t) => (t.to_string(), false),
            DeValue::Integer(i) => (i.to_string(), true),
            DeValue::Float(x) => (x.as_str().to_owned(), true),
            other => {
                let says = format!("`{}` takes {}, not {}", key.name, dimension.noun(), kind_of(other));
                self.draft.error(value.span(), says).hint =
                    Some(format!("for example `{} = {}`", key.name, quoted(key)));
                return None;
            }
        };
        let span = inner(self.text, value.span(), value.get_ref());
        match Quantity::parse(&text, dimension) {
            Ok(q) => Some(q),
            Err(e) => {
                // Escapes in a text move its letters; then all of it is meant.
                let exact = self.text.get(span.clone()) == Some(text.as_str());
                let at = if exact && !bare {
                    span.start + e.at.start..span.start + e.at.end
                } else {
                    value.span()
                };
                let at = if at.is_empty() { value.span() } else { at };
                let hint =
                    e.hint().map(|h| if bare { h.replace("write `", "write, in quotes, `") } else { h });
                self.draft.error(at, e.to_string()).hint = hint;
                None
            }
        }
    }
}

/// Inside the quotes of a text written without escapes; all of it otherwise.
fn inner(text: &str, span: Range<usize>, value: &DeValue<'_>) -> Range<usize> {
    let DeValue::String(t) = value else { return span };
    let raw = text.get(span.clone()).unwrap_or("");
    for quote in ["\"\"\"", "'''", "\"", "'"] {
        let body = raw.strip_prefix(quote).and_then(|r| r.strip_suffix(quote));
        if body == Some(t.as_ref()) && !t.is_empty() {
            return span.start + quote.len()..span.end - quote.len();
        }
    }
    span
}

/// Its example as it is written in the file.
pub(super) fn quoted(key: &Key) -> String {
    match key.takes {
        Takes::Flag => key.example.to_owned(),
        _ if key.example.starts_with('[') => key.example.to_owned(),
        _ => format!("\"{}\"", key.example),
    }
}

fn kind_of(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a bare number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

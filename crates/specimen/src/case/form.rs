//! Every table and key of the case file as data, for forms. It follows from the table of keys, as reader and schema do.

use calotte_quantity::{Dimension, units};
use serde::Serialize;

use super::keys::{KEYS, Key, Range, TABLES, Takes};

/// A table of the case file.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct TableForm {
    /// Its name; empty for the keys at the top.
    pub name: String,
    /// What it holds.
    pub says: String,
    /// Whether a case must have it. (Layers of given thickness stand for the wall.)
    pub required: bool,
    /// Its keys, in the order in which they are best asked.
    pub keys: Vec<KeyForm>,
}

/// What is written behind a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "lowercase")]
pub enum Entry {
    /// A text.
    Text,
    /// `true` or `false`.
    Flag,
    /// One of the choices.
    Choice,
    /// A number with its unit.
    Number,
    /// A number or a list of them.
    Numbers,
    /// A list of numbers.
    List,
    /// A text or a list of them.
    Texts,
}

/// A key of a table.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct KeyForm {
    /// Its name.
    pub name: String,
    /// What it takes.
    pub takes: Entry,
    /// The texts it may be; empty where it takes no choice.
    pub choices: Vec<String>,
    /// What its numbers measure: `length`, `rim-stiffness` …
    pub dimension: Option<String>,
    /// Symbols of the units known for that; empty for one that is written without.
    pub units: Vec<String>,
    /// SI values outside this are probably a slip of the unit; no bound where there is none.
    pub usual: [Option<f64>; 2],
    /// Which numbers are possible, in words; empty where it takes none.
    pub range: String,
    /// What it says about the part.
    pub says: String,
    /// An example, as it is written in the file but for the quotes of a single text or number.
    pub example: String,
    /// The values of `decided_by` with which it goes; empty for all.
    pub kinds: Vec<String>,
    /// The key of its table that decides whether it belongs; `None` where it always does.
    pub decided_by: Option<String>,
    /// What that key is when it is left out.
    pub decided_default: Option<String>,
    /// Whether its numbers may carry a tolerance, `±`.
    pub tolerance: bool,
}

/// Every table with its keys: first the keys at the top, then the tables in the order of a case.
pub fn case_form() -> Vec<TableForm> {
    let top = ("", "The case itself.", false);
    let table = |(name, says, required): (&str, &str, bool)| TableForm {
        name: name.to_owned(),
        says: says.to_owned(),
        required,
        keys: KEYS.iter().filter(|k| k.table == name).map(key).collect(),
    };
    std::iter::once(top).chain(TABLES).map(table).collect()
}

fn key(k: &Key) -> KeyForm {
    let dimension = k.takes.measures();
    let texts = |all: &[&str]| all.iter().map(|t| (*t).to_owned()).collect::<Vec<_>>();
    let known = dimension.into_iter().flat_map(|d| units(d).map(|u| u.symbol).filter(|s| !s.is_empty()));
    let (by, default) = k.decided_by();
    let decided = !k.kinds.is_empty();
    KeyForm {
        name: k.name.to_owned(),
        takes: match k.takes {
            Takes::Text => Entry::Text,
            Takes::Flag => Entry::Flag,
            Takes::Choice(_) => Entry::Choice,
            Takes::Number(_) => Entry::Number,
            Takes::Numbers(_) => Entry::Numbers,
            Takes::List(_) => Entry::List,
            Takes::Texts => Entry::Texts,
        },
        choices: if let Takes::Choice(all) = k.takes { texts(all) } else { Vec::new() },
        dimension: dimension.map(name_of),
        units: known.map(str::to_owned).collect(),
        usual: [k.usual.0, k.usual.1].map(|v| v.is_finite().then_some(v)),
        range: dimension.map_or_else(String::new, |_| k.range.words().to_owned()),
        says: k.says.to_owned(),
        example: k.example.to_owned(),
        kinds: texts(k.kinds),
        decided_by: decided.then(|| by.to_owned()),
        decided_default: default.filter(|_| decided).map(str::to_owned),
        tolerance: dimension.is_some() && !k.ignores_tolerance(),
    }
}

impl Key {
    /// Counts and the places of listed thicknesses are taken as exact; the reader warns of a tolerance there.
    fn ignores_tolerance(&self) -> bool {
        matches!(self.range, Range::Whole | Range::Ordinal) || self.path() == "wall.arc"
    }
}

/// `RimStiffness` as `rim-stiffness`.
fn name_of(d: Dimension) -> String {
    let mut out = String::new();
    for c in format!("{d:?}").chars() {
        if c.is_ascii_uppercase() && !out.is_empty() {
            out.push('-');
        }
        out.push(c.to_ascii_lowercase());
    }
    out
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;
    use std::path::Path;

    use calotte_quantity::{Dimension, Quantity, find_unit};
    use ts_rs::{Config, TS};

    use super::super::keys::{KEYS, TABLES, find_key};
    use super::{Entry, KeyForm, TableForm, case_form, name_of};

    /// Every key of the table of keys once, under its table, and nothing else.
    #[test]
    fn every_key_once() {
        let forms = case_form();
        let paths: Vec<(&str, &str)> =
            forms.iter().flat_map(|t| t.keys.iter().map(|k| (t.name.as_str(), k.name.as_str()))).collect();
        let once: BTreeSet<_> = paths.iter().collect();
        assert_eq!((paths.len(), once.len()), (KEYS.len(), KEYS.len()));
        assert!(KEYS.iter().all(|k| once.contains(&(k.table, k.name))));
        assert_eq!(forms.len(), TABLES.len() + 1);
        assert_eq!(forms[0].name, "");
    }

    /// The numbers of an example: of the list, or the one.
    fn numbers(example: &str) -> Vec<String> {
        if !example.starts_with('[') {
            return vec![example.to_owned()];
        }
        let list: toml::Table = format!("a = {example}").parse().unwrap();
        let text = |v: &toml::Value| v.as_str().map_or_else(|| v.to_string(), str::to_owned);
        list["a"].as_array().unwrap().iter().map(text).collect()
    }

    /// Examples are what the reader takes: of the dimension, in the range, within what is usual; and carry a tolerance only where one
    /// is used.
    #[test]
    fn examples_parse() {
        for t in case_form() {
            for k in t.keys {
                let at = format!("{}.{}", t.name, k.name);
                let range = find_key(&t.name, &k.name).unwrap().range;
                let [low, high] = k.usual;
                match k.takes {
                    Entry::Flag => assert!(["true", "false"].contains(&k.example.as_str()), "{at}"),
                    Entry::Choice => assert!(k.choices.contains(&k.example) && k.choices.len() > 1, "{at}"),
                    Entry::Text => assert!(!k.example.is_empty(), "{at}"),
                    Entry::Texts => assert!(numbers(&k.example).len() > 1, "{at}"),
                    Entry::Number | Entry::Numbers | Entry::List => {
                        let name = k.dimension.as_ref().unwrap();
                        let d = *Dimension::ALL.iter().find(|d| name_of(**d) == *name).unwrap();
                        for n in numbers(&k.example) {
                            let q = Quantity::parse(&n, d).unwrap();
                            assert!(range.allows(q.value), "{at}: {n}");
                            let inside =
                                low.is_none_or(|l| q.value >= l) && high.is_none_or(|h| q.value <= h);
                            assert!(inside, "{at}: {n} in {:?}", k.usual);
                            assert!(k.tolerance || q.half_width.is_none(), "{at}");
                        }
                        assert!(k.units.iter().all(|u| find_unit(u, d).is_some()), "{at}");
                        assert!(d == Dimension::Number || !k.units.is_empty(), "{at}");
                    }
                }
            }
        }
    }

    /// A key that goes with some kinds names the key that decides, which knows these kinds.
    #[test]
    fn kinds_are_choices_of_the_key_that_decides() {
        for t in case_form() {
            for k in t.keys.iter().filter(|k| !k.kinds.is_empty()) {
                let by = t.keys.iter().find(|d| Some(&d.name) == k.decided_by.as_ref()).unwrap();
                assert!(k.kinds.iter().all(|kind| by.choices.contains(kind)), "{}.{}", t.name, k.name);
                assert!(k.decided_default.iter().all(|d| by.choices.contains(d)), "{}.{}", t.name, k.name);
            }
        }
    }

    /// The page's types of these forms are fresh; `UPDATE_API=1` writes them anew.
    #[test]
    fn typescript_is_fresh() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../ui/src/api");
        let config = Config::new();
        for (name, text) in [
            ("TableForm", TableForm::export_to_string(&config).unwrap()),
            ("KeyForm", KeyForm::export_to_string(&config).unwrap()),
            ("Entry", Entry::export_to_string(&config).unwrap()),
        ] {
            let text: String = text.lines().map(|l| format!("{}\n", l.trim_end())).collect();
            let file = folder.join(format!("{name}.ts"));
            if std::env::var_os("UPDATE_API").is_some() {
                std::fs::create_dir_all(&folder).unwrap();
                std::fs::write(&file, &text).unwrap();
            }
            let kept = std::fs::read_to_string(&file).unwrap_or_default();
            assert_eq!(kept, text, "{name}.ts is stale: run the tests with UPDATE_API=1");
        }
    }
}

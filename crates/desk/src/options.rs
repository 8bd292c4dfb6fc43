//! Options of a question, read from JSON; every fault names the option and says what would be right.

use std::borrow::Cow;
use std::ops::RangeInclusive;

use calotte_quantity::nearest;
use serde_json::{Map, Value};

use crate::reply::Refusal;

/// Text of an option, with the name of the option as its reader knows it: `--until` on the command line, `until` on the page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// Name of the option.
    pub option: Cow<'static, str>,
    /// What was written.
    pub text: String,
}

impl Written {
    /// Text of an option.
    pub fn new(option: impl Into<Cow<'static, str>>, text: impl Into<String>) -> Self {
        Self { option: option.into(), text: text.into() }
    }
}

/// Options of one question as they came, each read once.
pub(crate) struct Given<'a> {
    question: &'static str,
    options: Option<&'a Map<String, Value>>,
}

impl<'a> Given<'a> {
    /// The options of `question`, all of them among the known.
    pub(crate) fn new(question: &'static str, value: &'a Value, known: &[&str]) -> Result<Self, Refusal> {
        let options = match value {
            Value::Null => None,
            Value::Object(options) => Some(options),
            other => {
                let says = format!("the options of `{question}` are {}, not an object", kind(other));
                return Err(Refusal::with_help(says, "write for example `{}`"));
            }
        };
        for name in options.into_iter().flat_map(Map::keys) {
            if known.contains(&name.as_str()) {
                continue;
            }
            let near = nearest(name, known.iter().copied());
            let help = match (near, known.is_empty()) {
                (Some(near), _) => format!("did you mean `{near}`?"),
                (None, true) => "it takes none".to_owned(),
                (None, false) => format!("its options are {}", known.join(", ")),
            };
            return Err(Refusal::with_help(format!("`{question}` has no option `{name}`"), help));
        }
        Ok(Self { question, options })
    }

    /// What is given; null is nothing.
    fn get(&self, name: &str) -> Option<&'a Value> {
        self.options.and_then(|o| o.get(name)).filter(|v| !v.is_null())
    }

    fn wrong(&self, name: &str, value: &Value, wanted: &str) -> Refusal {
        Refusal::question(format!(
            "option `{name}` of `{}`: {wanted} is wanted, not {}",
            self.question,
            shown(value)
        ))
    }

    /// A flag; `usual` where nothing is given.
    pub(crate) fn flag(&self, name: &str, usual: bool) -> Result<bool, Refusal> {
        match self.get(name) {
            None => Ok(usual),
            Some(Value::Bool(b)) => Ok(*b),
            Some(other) => Err(self.wrong(name, other, "true or false")),
        }
    }

    /// A whole number within a range.
    pub(crate) fn count(&self, name: &str, range: RangeInclusive<i64>) -> Result<Option<u64>, Refusal> {
        let Some(value) = self.get(name) else { return Ok(None) };
        match value.as_i64() {
            Some(n) if range.contains(&n) && n >= 0 => Ok(Some(n.unsigned_abs())),
            _ => {
                let wanted = match (range.start(), range.end()) {
                    (a, &i64::MAX) => format!("a whole number of {a} or more"),
                    (a, b) => format!("a whole number from {a} to {b}"),
                };
                Err(self.wrong(name, value, &wanted))
            }
        }
    }

    /// A text.
    pub(crate) fn text(&self, name: &'static str) -> Result<Option<Written>, Refusal> {
        match self.get(name) {
            None => Ok(None),
            Some(Value::String(text)) => Ok(Some(Written::new(name, text.as_str()))),
            Some(other) => Err(self.wrong(name, other, "a text")),
        }
    }

    /// Several texts.
    pub(crate) fn texts(&self, name: &'static str) -> Result<Option<Vec<Written>>, Refusal> {
        let Some(value) = self.get(name) else { return Ok(None) };
        let one = |v: &Value| match v {
            Value::String(text) => Ok(Written::new(name, text.as_str())),
            other => Err(self.wrong(name, other, "a list of texts")),
        };
        match value {
            Value::Array(list) => list.iter().map(one).collect::<Result<_, _>>().map(Some),
            other => Err(self.wrong(name, other, "a list of texts")),
        }
    }

    /// Several numbers.
    pub(crate) fn numbers(&self, name: &str) -> Result<Option<Vec<f64>>, Refusal> {
        let Some(value) = self.get(name) else { return Ok(None) };
        let one = |v: &Value| v.as_f64().ok_or_else(|| self.wrong(name, v, "a list of numbers"));
        match value {
            Value::Array(list) => list.iter().map(one).collect::<Result<_, _>>().map(Some),
            other => Err(self.wrong(name, other, "a list of numbers")),
        }
    }

    /// One of several words.
    pub(crate) fn choice<T: Copy>(&self, name: &str, words: &[(&str, T)]) -> Result<Option<T>, Refusal> {
        let Some(value) = self.get(name) else { return Ok(None) };
        let found = value.as_str().and_then(|s| words.iter().find(|w| w.0 == s));
        let all = || words.iter().map(|w| format!("`{}`", w.0)).collect::<Vec<_>>().join(" or ");
        found.map(|w| Some(w.1)).ok_or_else(|| self.wrong(name, value, &all()))
    }
}

/// What a value is, for people.
fn kind(value: &Value) -> &'static str {
    match value {
        Value::Null => "nothing",
        Value::Bool(_) => "a flag",
        Value::Number(_) => "a number",
        Value::String(_) => "a text",
        Value::Array(_) => "a list",
        Value::Object(_) => "an object",
    }
}

/// A value as it was written, where that is short.
fn shown(value: &Value) -> String {
    match value {
        Value::Array(_) | Value::Object(_) => kind(value).to_owned(),
        Value::String(s) if s.chars().count() > 40 => "a longer text".to_owned(),
        other => format!("`{other}`"),
    }
}

/// What is wrong with a number as written at `place`.
pub fn misread(place: &str, e: &calotte_quantity::QuantityError) -> Refusal {
    Refusal::Question { says: format!("{place}: {e}"), help: e.hint().map(|h| h.to_string()) }
}

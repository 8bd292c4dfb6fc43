//! The header of a logbook: `logbook.toml`.

use std::ops::Range;

use calotte_quantity::{Dimension, Quantity, nearest};
use calotte_specimen::{File, Finding};
use toml::de::{DeTable, DeValue};

use super::super::belief::{Prior, Unknown};
use super::super::record::Settings;

/// A table row as TOML has it: keys (dotted) with their texts and places.
pub(super) type TomlRow = Vec<(String, Range<usize>, String, Range<usize>)>;

/// A range of `[next]`: its key with its place, and both ends as written with theirs.
pub(super) type NextAsWritten = (String, Range<usize>, [Written; 2]);
/// A text with its place.
type Written = (String, Range<usize>);

/// The header of a logbook, and the rows that stand in it.
#[derive(Clone, Debug, Default)]
pub struct Header {
    /// What it says.
    pub settings: Settings,
    /// File of the case, as written; `None` when the logbook names none.
    pub case: Option<(String, Range<usize>)>,
    /// CSV file of specimens.
    pub specimens: Option<(String, Range<usize>)>,
    /// CSV file of trials.
    pub trials: Option<(String, Range<usize>)>,
    /// Ranges for the next specimen: key and both ends, as written.
    pub(super) next: Vec<NextAsWritten>,
    pub(super) specimen_rows: Vec<TomlRow>,
    pub(super) trial_rows: Vec<TomlRow>,
}

const KEYS: [&str; 15] = [
    "title",
    "case",
    "specimens",
    "trials",
    "watched",
    "at_once",
    "wait_error",
    "trip_error",
    "temperature_error",
    "trial_scatter",
    "lapse",
    "prior",
    "next",
    "specimen",
    "trial",
];

/// Text of a value that is a text or a number.
fn text_of(value: &DeValue<'_>) -> Option<String> {
    match value {
        DeValue::String(t) => Some(t.trim().to_owned()),
        DeValue::Integer(i) => Some(i.to_string()),
        DeValue::Float(x) => Some(x.as_str().to_owned()),
        DeValue::Datetime(d) => Some(d.to_string()),
        _ => None,
    }
}

/// Reads the header; `None` when it cannot be used.
pub fn read_header(bytes: &[u8]) -> (Option<Header>, Vec<Finding>) {
    let mut found = Vec::new();
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text.strip_prefix('\u{feff}').unwrap_or(text),
        Err(e) => {
            let at = e.valid_up_to();
            return (None, vec![Finding::error(File::Case, at..at + 1, "the file is not UTF-8 text")]);
        }
    };
    let shift = bytes.len() - text.len();
    let table = match DeTable::parse(text) {
        Ok(table) => table,
        Err(e) => {
            let at = e.span().unwrap_or(0..0);
            let finding = Finding::error(File::Case, at.start + shift..at.end + shift, e.message());
            return (
                None,
                vec![finding.hint(
                    "a logbook is a TOML file; `calotte logbook --template DIR` writes one to start from",
                )],
            );
        }
    };
    let mut out = Header::default();
    let mut say = |f: Finding| found.push(f);
    for (key, value) in table.get_ref() {
        let key_span = key.span().start + shift..key.span().end + shift;
        let span = value.span().start + shift..value.span().end + shift;
        let name = key.get_ref().as_ref();
        let value = value.get_ref();
        let wrong = |what: &str| Finding::error(File::Case, span.clone(), format!("`{name}` must be {what}"));
        match name {
            "title" | "case" | "specimens" | "trials" => match value {
                DeValue::String(t) if !t.trim().is_empty() => {
                    let entry = Some((t.to_string(), span.clone()));
                    match name {
                        "title" => out.settings.title = t.trim().to_owned(),
                        "case" => out.case = entry,
                        "specimens" => out.specimens = entry,
                        _ => out.trials = entry,
                    }
                }
                _ => say(wrong("a text")),
            },
            "watched" | "at_once" | "wait_error" | "trip_error" | "temperature_error" | "trial_scatter"
            | "lapse" => match number(name, value, &span) {
                Ok(x) => set(&mut out.settings, name, x),
                Err(f) => say(f),
            },
            "prior" => priors(value, shift, &span, &mut out.settings.priors, &mut say),
            "next" => next(value, shift, &span, &mut out, &mut say),
            "specimen" | "trial" => match value {
                DeValue::Array(all) => {
                    for row in all.iter() {
                        let DeValue::Table(row) = row.get_ref() else {
                            say(wrong(&format!("a list of tables, each under `[[{name}]]`")));
                            break;
                        };
                        let mut cells = Vec::new();
                        flatten("", row, shift, &mut cells, &mut say);
                        if name == "specimen" { &mut out.specimen_rows } else { &mut out.trial_rows }
                            .push(cells);
                    }
                }
                _ => say(wrong(&format!("a list of tables, each under `[[{name}]]`"))),
            },
            _ => {
                let near = nearest(name, KEYS.into_iter());
                let hint = near.map_or_else(
                    || format!("keys are {}", KEYS.join(", ")),
                    |n| format!("did you mean `{n}`?"),
                );
                say(Finding::error(File::Case, key_span, format!("`{name}` is no key of a logbook"))
                    .hint(hint));
            }
        }
    }
    let nothing = out.trials.is_none() && out.trial_rows.is_empty();
    if found.is_empty() && nothing {
        let finding = Finding::error(File::Case, 0..0, "the logbook has no trials");
        found.push(finding.hint("name a CSV file, `trials = \"trials.csv\"`, or write them as `[[trial]]`"));
    }
    if found.is_empty() && out.settings.at_once >= out.settings.watched {
        found.push(
            Finding::error(File::Case, 0..0, "`at_once` is not shorter than `watched`")
                .hint("`at_once` is the shortest wait that is noticed, `watched` how long one looks"),
        );
    }
    (found.is_empty().then_some(out), found)
}

/// Leaves of a row's table, dotted.
fn flatten(prefix: &str, table: &DeTable<'_>, shift: usize, out: &mut TomlRow, say: &mut dyn FnMut(Finding)) {
    for (key, value) in table {
        let name =
            if prefix.is_empty() { key.get_ref().to_string() } else { format!("{prefix}.{}", key.get_ref()) };
        let span = value.span().start + shift..value.span().end + shift;
        match value.get_ref() {
            DeValue::Table(inside) => flatten(&name, inside, shift, out, say),
            other => match text_of(other) {
                Some(text) => out.push((name, key.span().start + shift..key.span().end + shift, text, span)),
                None => say(Finding::error(File::Case, span, format!("`{name}` must be a text or a number"))),
            },
        }
    }
}

/// A number of the header, above 0.
fn number(name: &str, value: &DeValue<'_>, span: &Range<usize>) -> Result<f64, Finding> {
    let dimension = match name {
        "watched" | "at_once" => Dimension::Time,
        "temperature_error" => Dimension::TemperatureDifference,
        _ => Dimension::Number,
    };
    let error = |says: String| Finding::error(File::Case, span.clone(), says);
    let text = text_of(value).ok_or_else(|| error(format!("`{name}` must be a number with its unit")))?;
    let read = Quantity::parse(&text, dimension).map_err(|e| {
        let f = error(format!("`{name}`: {e}"));
        match e.hint() {
            Some(hint) => f.hint(hint),
            None => f,
        }
    })?;
    let most = if name == "lapse" {
        0.5
    } else if dimension == Dimension::Number {
        1.0
    } else {
        f64::INFINITY
    };
    let may_be_zero = name == "lapse" || name == "trial_scatter";
    if read.value < 0.0 || (read.value == 0.0 && !may_be_zero) || read.value >= most {
        let bounds = if most.is_finite() { format!(" and less than {most}") } else { String::new() };
        return Err(error(format!("`{name}` must be greater than 0{bounds}")));
    }
    Ok(read.value)
}

fn set(s: &mut Settings, name: &str, x: f64) {
    match name {
        "watched" => s.watched = x,
        "at_once" => s.at_once = x,
        "wait_error" => s.wait_error = x,
        "trip_error" => s.trip_error = x,
        "temperature_error" => s.temperature_error = x,
        "trial_scatter" => s.assumed.trial_scatter = x,
        _ => s.assumed.lapse = x,
    }
}

/// `[prior]`: `thickness_factor = "1.00 ± 0.05"` is normal in the logarithm with the tolerance as two standard deviations;
/// `youngs_factor = [0.5, 2]` is flat in the logarithm between the two.
fn priors(
    value: &DeValue<'_>,
    shift: usize,
    span: &Range<usize>,
    out: &mut Vec<Prior>,
    say: &mut dyn FnMut(Finding),
) {
    let DeValue::Table(table) = value else {
        say(Finding::error(File::Case, span.clone(), "`prior` must be a table, `[prior]`"));
        return;
    };
    for (key, value) in table {
        let name = key.get_ref().as_ref();
        let span = value.span().start + shift..value.span().end + shift;
        let mut bad = |says: String, hint: &str| {
            say(Finding::error(File::Case, span.clone(), says).hint(hint));
        };
        let Some(of) = Unknown::named(name) else {
            let hint = format!("numbers are {}", Unknown::ALL.map(Unknown::name).join(", "));
            bad(format!("`prior.{name}`: no number of that name is sought"), &hint);
            continue;
        };
        const WRITE: &str = "write `\"1.00 ± 0.05\"` for a normal one, or `[0.5, 2.0]` for a flat one";
        let read =
            |v: &DeValue<'_>| Quantity::parse(&text_of(v)?, Dimension::Number).ok().filter(|q| q.value > 0.0);
        let usual = Prior::usual(of);
        match value.get_ref() {
            DeValue::Array(ends) if ends.len() == 2 => {
                match (read(ends[0].get_ref()), read(ends[1].get_ref())) {
                    (Some(a), Some(b)) if a.value < b.value => {
                        out.push(Prior { bounds: [libm::log(a.value), libm::log(b.value)], ..usual });
                    }
                    _ => bad(
                        format!("`prior.{name}`: two numbers above 0, the smaller first, are wanted"),
                        WRITE,
                    ),
                }
            }
            one => match read(one)
                .and_then(|q| Some((q.value, q.half_width.filter(|h| *h > 0.0 && *h < q.value)?)))
            {
                Some((value, half)) => {
                    let (mean, sd) = (libm::log(value), 0.5 * half / value);
                    // Five standard deviations, or the usual bounds where those are wider.
                    let [a, b] = usual.bounds;
                    let bounds = [a.min(mean - 5.0 * sd), b.max(mean + 5.0 * sd)];
                    out.push(Prior { of, bounds, normal: Some([mean, sd]) });
                }
                None => bad(format!("`prior.{name}`: a number above 0 with a tolerance is wanted"), WRITE),
            },
        }
    }
}

/// `[next]`: `"wall.thickness" = ["1.5 mm", "2.5 mm"]`, `hold = ["1 s", "100 s"]`.
fn next(
    value: &DeValue<'_>,
    shift: usize,
    span: &Range<usize>,
    out: &mut Header,
    say: &mut dyn FnMut(Finding),
) {
    let DeValue::Table(table) = value else {
        say(Finding::error(File::Case, span.clone(), "`next` must be a table, `[next]`"));
        return;
    };
    let mut leaves: Vec<(String, Range<usize>, &DeValue<'_>)> = Vec::new();
    let place = |s: Range<usize>| s.start + shift..s.end + shift;
    for (key, value) in table {
        match value.get_ref() {
            DeValue::Table(inside) => {
                for (k, v) in inside {
                    leaves.push((format!("{}.{}", key.get_ref(), k.get_ref()), place(v.span()), v.get_ref()));
                }
            }
            other => leaves.push((key.get_ref().to_string(), place(value.span()), other)),
        }
    }
    for (name, span, value) in leaves {
        let ends = match value {
            DeValue::Array(ends) if ends.len() == 2 => {
                let end = |i: usize| Some((text_of(ends[i].get_ref())?, place(ends[i].span())));
                end(0).zip(end(1))
            }
            _ => None,
        };
        match ends {
            Some((a, b)) => out.next.push((name, span, [a, b])),
            None => say(Finding::error(File::Case, span, format!("`next.{name}` must be two ends"))
                .hint("write for example `wall.thickness = [\"1.5 mm\", \"2.5 mm\"]`")),
        }
    }
}

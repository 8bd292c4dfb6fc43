//! Points from a CSV file: a column per key of the case, the unit after the key (`wall.thickness_mm`, `wall.thickness [mm]`) or in
//! the cells (`2.1 mm`).

use std::ops::Range;

use calotte_quantity::{Quantity, find_unit};
use calotte_specimen::lines::{Field, LARGEST, fields, lines, separator};
use calotte_specimen::{Case, File, Finding, Level};

use crate::plan::{Spacing, Varied};
use crate::read::find_key;

/// Findings told of one file.
const MOST_FINDINGS: usize = 20;

/// What a table of points says.
#[derive(Default)]
pub(crate) struct Points {
    pub(crate) vary: Vec<Varied>,
    /// SI values, a row per point.
    pub(crate) rows: Vec<Vec<f64>>,
    pub(crate) findings: Vec<Finding>,
}

/// A column: what varies, and its unit where the first line gives one.
struct Head {
    varied: Varied,
    unit: Option<String>,
}

/// Reads the points.
pub(crate) fn read(name: &str, bytes: &[u8], case: &Case) -> Points {
    let mut out = Points::default();
    let file = || File::Other(name.to_owned());
    let error =
        |span: Range<usize>, says: String, hint: String| Finding::error(file(), span, says).hint(hint);
    const EXAMPLE: &str =
        "name the columns by keys of the case in the first line, for example `wall.thickness_mm`";
    if bytes.len() > LARGEST {
        out.findings.push(error(
            0..0,
            "the table is larger than 16 MiB".to_owned(),
            "split it into several plans".to_owned(),
        ));
        return out;
    }
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text,
        Err(e) => {
            let at = e.valid_up_to();
            out.findings.push(error(
                at..at + 1,
                "the file is not UTF-8 text".into(),
                "save it as CSV in UTF-8".into(),
            ));
            return out;
        }
    };
    let mut all = lines(text);
    let Some(first) = all.next() else {
        out.findings.push(error(0..0, "the table has no lines".into(), EXAMPLE.into()));
        return out;
    };
    let separator = separator(first.text);
    let mut heads: Vec<Head> = Vec::new();
    for field in fields(&first, separator) {
        match head(&field, case) {
            Ok(head) if heads.iter().any(|h| h.varied.key == head.varied.key) => {
                let says = format!("`{}` has two columns", head.varied.key);
                out.findings.push(error(field.span, says, "keep one of them".into()));
            }
            Ok(head) => heads.push(head),
            Err((says, hint)) => out.findings.push(error(field.span, says, hint)),
        }
    }
    if !out.findings.is_empty() {
        return out;
    }
    for line in all {
        if out.findings.len() >= MOST_FINDINGS {
            out.findings.push(Finding::error(file(), line.span, "too many faults; reading stopped here"));
            break;
        }
        let cells = fields(&line, separator);
        if cells.len() != heads.len() {
            let says = format!("{} cells in this line for {} columns", cells.len(), heads.len());
            out.findings.push(error(line.span, says, "every line has a cell for every column".into()));
            continue;
        }
        let row: Vec<Option<f64>> = cells
            .iter()
            .zip(&heads)
            .map(|(field, head)| match cell(field, head) {
                Ok(v) => Some(v),
                Err((span, says, hint)) => {
                    out.findings.push(error(span, says, hint));
                    None
                }
            })
            .collect();
        out.rows.extend(row.into_iter().collect::<Option<Vec<f64>>>());
    }
    if out.rows.is_empty() && out.findings.iter().all(|f| f.level != Level::Error) {
        out.findings.push(error(
            first.span,
            "no points follow the first line".into(),
            "write a line for each point".into(),
        ));
    }
    out.vary = heads.into_iter().map(|h| h.varied).collect();
    out
}

fn head(field: &Field<'_>, case: &Case) -> Result<Head, (String, String)> {
    let whole = |key: &str, unit: Option<&str>| {
        find_key(key, case).map(|(quantity, dimension, written)| Head {
            varied: Varied {
                key: key.to_owned(),
                quantity,
                dimension,
                unit: written,
                range: None,
                spacing: Spacing::Even,
            },
            unit: unit.map(str::to_owned),
        })
    };
    // The longest key that the name begins with, if what follows is a unit.
    let keys = case.inputs().iter().map(|i| i.key.as_str()).chain(["depth"]);
    let mut behind: Vec<(&str, &str)> = keys
        .filter_map(|k| Some((k, field.text.strip_prefix(k)?)))
        .filter(|(_, rest)| !rest.is_empty())
        .collect();
    behind.sort_by_key(|(k, _)| std::cmp::Reverse(k.len()));
    for (key, rest) in behind {
        if !rest.starts_with(['_', ' ', '(', '[']) {
            continue;
        }
        let unit = rest.trim_matches(|c: char| matches!(c, '_' | '(' | ')' | '[' | ']') || c.is_whitespace());
        let head = whole(key, Some(unit))?;
        if find_unit(unit, head.varied.dimension).is_some() {
            return Ok(head);
        }
        let usual = head.varied.dimension.usual_unit();
        let says = format!("`{unit}` is no unit of {}", head.varied.dimension.noun());
        return Err((says, format!("for example `{key}_{usual}`")));
    }
    whole(field.text, None)
}

fn cell(field: &Field<'_>, head: &Head) -> Result<f64, (Range<usize>, String, String)> {
    let dimension = head.varied.dimension;
    let bare = field.text.ends_with(|c: char| c.is_ascii_digit() || c == '.');
    let text = match &head.unit {
        Some(unit) if bare => format!("{} {unit}", field.text),
        _ => field.text.to_owned(),
    };
    match Quantity::parse(&text, dimension) {
        Ok(q) if q.half_width.is_some() => {
            let says = format!("`{}` has a tolerance", head.varied.key);
            Err((field.span.clone(), says, "a point is numbers alone".to_owned()))
        }
        Ok(q) => Ok(q.value),
        Err(e) => {
            let hint = e.hint().unwrap_or_else(|| format!("write {}", dimension.noun()));
            Err((field.span.clone(), format!("`{}`: {e}", head.varied.key), hint))
        }
    }
}

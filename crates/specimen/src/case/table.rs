//! Columns of numbers from a CSV file.
//!
//! First line: names with their unit, `r_mm,z_mm`; then numbers. Fields are separated by comma, semicolon
//! or tab, whichever the first line uses; blank lines and lines that start with `#` do not count.

use std::ops::Range;

use calotte_quantity::{Dimension, Quantity, find_unit, nearest, units};

use super::finding::{File, Finding, Level};
use super::lines::{Field, LARGEST, fields, lines, separator};

const MOST_FINDINGS: usize = 20;

/// What a column measures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Measure {
    Of(Dimension),
    /// One over it; the unit is written `1/MPa`.
    Per(Dimension),
}

impl Measure {
    fn dimension(self) -> Dimension {
        match self {
            Self::Of(d) | Self::Per(d) => d,
        }
    }

    /// The unit without the `1/` of a reciprocal.
    fn base(self, unit: &str) -> Option<&str> {
        match self {
            Self::Of(_) => Some(unit),
            Self::Per(_) => unit.strip_prefix("1/"),
        }
    }

    fn knows(self, unit: &str) -> bool {
        self.base(unit).is_some_and(|u| find_unit(u, self.dimension()).is_some())
    }

    fn symbol(self, unit: &str) -> String {
        if matches!(self, Self::Per(_)) { format!("1/{unit}") } else { unit.to_owned() }
    }
}

/// A column to look for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Wanted {
    pub(crate) name: &'static str,
    pub(crate) measure: Measure,
}

impl Wanted {
    pub(crate) fn length(name: &'static str) -> Self {
        Self { name, measure: Measure::Of(Dimension::Length) }
    }

    /// Name and usual unit: `r_mm`.
    fn example(self) -> String {
        let unit = self.measure.symbol(self.measure.dimension().usual_unit());
        if unit.is_empty() { self.name.to_owned() } else { format!("{}_{unit}", self.name) }
    }
}

/// Columns in the order wanted, SI, and the place of every row.
pub(crate) struct Columns {
    pub(crate) values: Vec<Vec<f64>>,
    pub(crate) rows: Vec<Range<usize>>,
}

/// Names in the first line, without their units, and where each stands; none when there is no such line.
pub(crate) fn header_stems(bytes: &[u8]) -> Vec<(String, Range<usize>)> {
    let Some(head) = std::str::from_utf8(bytes).ok().and_then(|t| lines(t).next()) else { return Vec::new() };
    let fields = fields(&head, separator(head.text));
    fields.into_iter().map(|f| (name_and_unit(f.text).0, f.span)).collect()
}

/// Reads the wanted columns of a file; `None` when any finding is an error.
pub(crate) fn read_columns(name: &str, bytes: &[u8], wanted: &[Wanted]) -> (Option<Columns>, Vec<Finding>) {
    let file = || File::Other(name.to_owned());
    let mut found = Vec::new();
    let example = wanted.iter().map(|w| w.example()).collect::<Vec<_>>().join(",");
    if bytes.len() > LARGEST {
        found
            .push(Finding::error(file(), 0..0, "the file is larger than 16 MiB").hint("thin the points out"));
        return (None, found);
    }
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text,
        Err(e) => {
            let at = e.valid_up_to();
            found.push(
                Finding::error(file(), at..at + 1, "the file is not UTF-8 text")
                    .hint("save it as CSV in UTF-8"),
            );
            return (None, found);
        }
    };
    let mut lines = lines(text);
    let Some(head) = lines.next() else {
        found.push(
            Finding::error(file(), 0..0, "the file has no lines").hint(format!("start with `{example}`")),
        );
        return (None, found);
    };
    let separator = separator(head.text);
    let columns = header(&fields(&head, separator), wanted, &example, &file, &mut found);
    let Some(columns) = columns else { return (None, found) };

    let mut out = Columns { values: vec![Vec::new(); wanted.len()], rows: Vec::new() };
    for line in lines {
        if found.len() >= MOST_FINDINGS {
            found.push(Finding::error(file(), line.span, "too many faults; reading stopped here"));
            break;
        }
        let row = fields(&line, separator);
        for (c, (index, unit)) in columns.iter().enumerate() {
            match row.get(*index) {
                Some(field) => match cell(field, unit, wanted[c].measure) {
                    Ok(value) => out.values[c].push(value),
                    Err(finding) => {
                        found.push(Finding { file: file(), ..finding });
                        out.values[c].push(f64::NAN);
                    }
                },
                None => {
                    let says =
                        format!("{} fields; column `{}` is the {}th", row.len(), wanted[c].name, index + 1);
                    found.push(Finding::error(file(), line.span.clone(), says));
                    out.values[c].push(f64::NAN);
                }
            }
        }
        out.rows.push(line.span);
    }
    if out.rows.is_empty() && found.iter().all(|f| f.level != Level::Error) {
        found.push(Finding::error(file(), head.span, "no rows follow the first line"));
    }
    let broken = found.iter().any(|f| f.level == Level::Error);
    ((!broken).then_some(out), found)
}

/// Index and unit of each wanted column.
fn header(
    head: &[Field<'_>],
    wanted: &[Wanted],
    example: &str,
    file: &dyn Fn() -> File,
    found: &mut Vec<Finding>,
) -> Option<Vec<(usize, String)>> {
    let whole = head.first().map_or(0, |f| f.span.start)..head.last().map_or(0, |f| f.span.end);
    if head.iter().all(|f| f.text.parse::<f64>().is_ok()) {
        let says = "the first line must name the columns and their units";
        found.push(Finding::error(file(), whole, says).hint(format!("put `{example}` before the numbers")));
        return None;
    }
    let mut columns = vec![None; wanted.len()];
    let mut bad = false;
    for (i, field) in head.iter().enumerate() {
        let (stem, unit) = name_and_unit(field.text);
        let Some(c) = wanted.iter().position(|w| w.name == stem) else {
            let finding =
                Finding::warning(file(), field.span.clone(), format!("column `{}` is not used", field.text));
            let near = nearest(&stem, wanted.iter().map(|w| w.name));
            found.push(match wanted.iter().find(|w| Some(w.name) == near) {
                Some(near) => finding.hint(format!("did you mean `{}`?", near.example())),
                None => finding,
            });
            continue;
        };
        if columns[c].is_some() {
            found.push(Finding::error(file(), field.span.clone(), format!("a second column `{stem}`")));
            bad = true;
        }
        let measure = wanted[c].measure;
        if !measure.knows(&unit) {
            let says = match unit.as_str() {
                "" => format!("column `{}` does not name its unit", field.text),
                unit => format!("unknown unit `{unit}`"),
            };
            let known: Vec<String> = units(measure.dimension())
                .filter(|u| !u.symbol.is_empty())
                .map(|u| measure.symbol(u.symbol))
                .collect();
            let hint = format!("write `{}`; known units: {}", wanted[c].example(), known.join(", "));
            found.push(Finding::error(file(), field.span.clone(), says).hint(hint));
            bad = true;
        }
        columns[c] = Some((i, unit));
    }
    for (c, one) in wanted.iter().enumerate() {
        if columns[c].is_none() {
            let says = format!("no column `{}`", one.name);
            found.push(
                Finding::error(file(), whole.clone(), says)
                    .hint(format!("the first line should be `{example}`")),
            );
            bad = true;
        }
    }
    if bad { None } else { columns.into_iter().collect() }
}

/// `r_mm`, `r (mm)` and `r [mm]` as stem and unit; a number between them belongs to the stem, `youngs_1_GPa`.
fn name_and_unit(text: &str) -> (String, String) {
    const BREAKS: [char; 4] = ['_', '(', '[', ' '];
    let mut end = text.find(BREAKS).unwrap_or(text.len());
    let index = text[end..].strip_prefix('_').map_or("", |rest| {
        let digits = rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(0);
        if rest[digits..].starts_with(BREAKS) { &rest[..digits] } else { "" }
    });
    if !index.is_empty() {
        end += 1 + index.len();
    }
    let unit =
        text[end..].trim_matches(|c: char| matches!(c, '_' | '(' | ')' | '[' | ']') || c.is_whitespace());
    (text[..end].to_lowercase(), unit.to_owned())
}

fn cell(field: &Field<'_>, unit: &str, measure: Measure) -> Result<f64, Finding> {
    let bad = |says: String| Finding::error(File::Case, field.span.clone(), says);
    if field.text.is_empty() {
        return Err(bad("an empty field where a number is wanted".to_owned()));
    }
    if !field.text.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | '+' | '-' | '−' | 'e' | 'E' | ','))
    {
        let odd = field.text.parse::<f64>().is_ok();
        let says = if odd {
            "the number must be finite".to_owned()
        } else {
            format!("`{}` is not a number", field.text)
        };
        return Err(bad(says).hint("the unit belongs in the first line, the tolerance in the case file"));
    }
    let (text, dimension) = match measure {
        Measure::Of(dimension) => (format!("{} {unit}", field.text), dimension),
        Measure::Per(_) => (field.text.to_owned(), Dimension::Number),
    };
    let one = match measure.base(unit).and_then(|u| find_unit(u, measure.dimension())) {
        Some(u) if matches!(measure, Measure::Per(_)) => u.to_si(1.0),
        _ => 1.0,
    };
    Quantity::parse(&text, dimension).map(|q| q.value / one).map_err(|e| {
        let finding = bad(e.to_string());
        match e.hint() {
            Some(hint) => finding.hint(hint.replace(&format!(" {unit}"), "")),
            None => finding,
        }
    })
}

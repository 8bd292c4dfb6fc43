//! From tables to specimens and trials.

use std::collections::BTreeMap;
use std::ops::Range;

use calotte_specimen::lines::{LARGEST, fields, lines, separator};
use calotte_specimen::{Case, File, Finding, Level, place};

use super::super::record::{Figure, Logbook, NextRange, Specimen, Trial};
use super::check;
use super::columns::{Cell, Column, dimension, named, quantity};
use super::header::{Header, TomlRow};

/// A CSV file of a logbook.
#[derive(Clone, Copy, Debug)]
pub struct Sheet<'a> {
    /// Name as in findings.
    pub name: &'a str,
    /// Its bytes.
    pub bytes: &'a [u8],
}

/// A row with the cells that are not empty.
pub(super) struct Row {
    pub(super) file: File,
    pub(super) line: usize,
    pub(super) span: Range<usize>,
    pub(super) cells: Vec<Cell>,
    /// What was wrong with its cells already.
    pub(super) bad: bool,
}

impl Row {
    pub(super) fn cell(&self, column: Column, tolerance: bool) -> Option<&Cell> {
        self.cells.iter().find(|c| c.named.column == column && c.named.tolerance == tolerance)
    }
}

/// Most faults of lines that are told one by one.
const MOST_FINDINGS: usize = 20;

/// Reads the tables of a logbook against its case. `specimens` and `trials` are the CSV files that the header names (or the one
/// file that is the whole logbook, as `trials`). Faulty lines are left out with an error at their place; `None` when nothing is
/// left.
pub fn read_logbook(
    header: &Header,
    logbook: &[u8],
    case: &Case,
    specimens: Option<Sheet<'_>>,
    trials: Option<Sheet<'_>>,
) -> (Option<Logbook>, Vec<Finding>) {
    let mut found = Vec::new();
    let mut sound = true;
    let mut tables: [Vec<Row>; 2] = [Vec::new(), Vec::new()];
    for (i, (rows, sheet)) in
        [(&header.specimen_rows, specimens), (&header.trial_rows, trials)].into_iter().enumerate()
    {
        tables[i].extend(toml_rows(rows, logbook, case, &mut found));
        if let Some(sheet) = sheet {
            match csv_rows(&sheet, case, &mut found) {
                Some(rows) => tables[i].extend(rows),
                None => sound = false,
            }
        }
    }
    let next = next(header, case, &mut found, &mut sound);
    if !sound {
        return (None, found);
    }
    let [specimen_rows, trial_rows] = tables;
    let mut keys: Vec<usize> = Vec::new();
    for cell in specimen_rows.iter().chain(&trial_rows).flat_map(|r| &r.cells) {
        if let Column::Size(i) = cell.named.column
            && !keys.contains(&i)
        {
            keys.push(i);
        }
    }
    keys.sort_unstable();
    let mut gather = Gather {
        case,
        keys: &keys,
        header,
        found,
        specimens: Vec::new(),
        places: BTreeMap::new(),
        lost: BTreeMap::new(),
        lines: 0,
        left_out: 0,
    };
    for row in &specimen_rows {
        gather.specimen(row);
    }
    for row in &trial_rows {
        gather.trial(row);
    }
    let Gather { mut found, specimens, lines, left_out, .. } = gather;
    if found.len() > MOST_FINDINGS {
        let rest = found.len() - MOST_FINDINGS;
        found.truncate(MOST_FINDINGS);
        let last = found.last().map_or((File::Case, 0..0), |f| (f.file.clone(), f.span.clone()));
        found.push(Finding::error(last.0, last.1, format!("{rest} more faults of lines are not listed")));
    }
    let next = next
        .into_iter()
        .map(|(input, ends)| (input.and_then(|i| keys.iter().position(|k| *k == i)), input, ends))
        .filter(|(at, input, _)| at.is_some() || input.is_none())
        .map(|(at, _, ends)| (at, ends))
        .collect::<Vec<NextRange>>();
    let book = Logbook { settings: header.settings.clone(), keys, next, specimens, lines, left_out };
    let any = book.trials().next().is_some();
    if !any && found.iter().all(|f| f.level != Level::Error) {
        found.push(
            Finding::error(File::Case, 0..0, "no trial is left")
                .hint("a trial has a specimen and an outcome"),
        );
    }
    (any.then_some(book), found)
}

/// The ranges of `[next]`, by input of the case.
fn next(
    header: &Header,
    case: &Case,
    found: &mut Vec<Finding>,
    sound: &mut bool,
) -> Vec<(Option<usize>, [f64; 2])> {
    let mut out = Vec::new();
    for (name, span, ends) in &header.next {
        let column = named(name, case).ok().map(|n| n.column);
        let input = match column {
            Some(Column::Hold) => None,
            Some(Column::Size(i)) => Some(i),
            _ => {
                found.push(Finding::error(
                    File::Case,
                    span.clone(),
                    format!("`next.{name}` is no number of the case and not `hold`"),
                ));
                *sound = false;
                continue;
            }
        };
        let Some(of) = column.and_then(|c| dimension(c, case)) else { continue };
        let mut values = [0.0; 2];
        for (value, (text, at)) in values.iter_mut().zip(ends) {
            match quantity(text, "", of) {
                Ok(q) => *value = q.value,
                Err(e) => {
                    let f = Finding::error(File::Case, at.clone(), format!("`next.{name}`: {}", e.says));
                    found.push(match e.hint {
                        Some(hint) => f.hint(hint),
                        None => f,
                    });
                    *sound = false;
                }
            }
        }
        if *sound && !(values[0] > 0.0 && values[0] < values[1]) {
            found.push(Finding::error(
                File::Case,
                span.clone(),
                format!("`next.{name}`: both ends must be above 0, the smaller first"),
            ));
            *sound = false;
        }
        out.push((input, values));
    }
    out
}

/// Rows of `[[specimen]]` or `[[trial]]`.
fn toml_rows(rows: &[TomlRow], logbook: &[u8], case: &Case, found: &mut Vec<Finding>) -> Vec<Row> {
    let mut out = Vec::new();
    for row in rows {
        let from = row.iter().map(|c| c.1.start).min().unwrap_or(0);
        let to = row.iter().map(|c| c.3.end).max().unwrap_or(from);
        let mut made = Row {
            file: File::Case,
            line: place(logbook, from).line,
            span: from..to,
            cells: Vec::new(),
            bad: false,
        };
        for (name, key_span, text, span) in row {
            match named(name, case) {
                Ok(named) => made.cells.push(Cell { named, text: text.clone(), span: span.clone() }),
                Err(e) => {
                    made.bad = true;
                    let f = Finding::error(File::Case, key_span.clone(), e.says);
                    found.push(match e.hint {
                        Some(hint) => f.hint(hint),
                        None => f,
                    });
                }
            }
        }
        out.push(made);
    }
    out
}

/// Rows of a CSV file; `None` when its first line cannot be used.
fn csv_rows(sheet: &Sheet<'_>, case: &Case, found: &mut Vec<Finding>) -> Option<Vec<Row>> {
    let file = || File::Other(sheet.name.to_owned());
    let error = |span: Range<usize>, says: String| Finding::error(file(), span, says);
    if sheet.bytes.len() > LARGEST {
        found.push(error(0..0, "the file is larger than 16 MiB".into()));
        return None;
    }
    let text = match std::str::from_utf8(sheet.bytes) {
        Ok(text) => text,
        Err(e) => {
            let at = e.valid_up_to();
            found
                .push(error(at..at + 1, "the file is not UTF-8 text".into()).hint("save it as CSV in UTF-8"));
            return None;
        }
    };
    let mut all = lines(text);
    let Some(head) = all.next() else {
        found.push(
            error(0..0, "the file has no lines".into())
                .hint("start with `specimen,wall.thickness_mm,hold_s,outcome,wait_s`"),
        );
        return None;
    };
    let separator = separator(head.text);
    let mut columns = Vec::new();
    let mut sound = true;
    for field in fields(&head, separator) {
        match named(field.text, case) {
            Ok(n) if columns.contains(&n) => {
                found.push(error(field.span, format!("a second column `{}`", field.text)));
                sound = false;
            }
            Ok(n) => columns.push(n),
            Err(e) => {
                let f = error(field.span, e.says);
                found.push(match e.hint {
                    Some(hint) => f.hint(hint),
                    None => f,
                });
                sound = false;
            }
        }
    }
    if sound && !columns.iter().any(|c| c.column == Column::Specimen) {
        found.push(
            error(head.span.clone(), "no column `specimen`".into())
                .hint("name the specimen of every line in a column `specimen`"),
        );
        sound = false;
    }
    if !sound {
        return None;
    }
    let mut out = Vec::new();
    for line in all {
        let row = fields(&line, separator);
        let mut made = Row {
            file: file(),
            line: place(sheet.bytes, line.span.start).line,
            span: line.span.clone(),
            cells: Vec::new(),
            bad: false,
        };
        if row.len() > columns.len() {
            let says = format!("{} fields under {} columns", row.len(), columns.len());
            found.push(
                error(row[columns.len()].span.clone(), says)
                    .hint("put a field that holds a separator in quotes"),
            );
            made.bad = true;
        }
        for (named, field) in columns.iter().zip(row).filter(|(_, f)| !f.text.is_empty()) {
            made.cells.push(Cell { named: named.clone(), text: field.text.to_owned(), span: field.span });
        }
        out.push(made);
    }
    Some(out)
}

/// Specimens and trials so far.
struct Gather<'a> {
    case: &'a Case,
    keys: &'a [usize],
    header: &'a Header,
    found: Vec<Finding>,
    specimens: Vec<Specimen>,
    /// Place in the list by name.
    places: BTreeMap<String, usize>,
    /// Lines of specimens that were left out, by name.
    lost: BTreeMap<String, usize>,
    lines: usize,
    left_out: usize,
}

impl Gather<'_> {
    fn error(&mut self, row: &Row, span: Range<usize>, says: String, hint: Option<String>) {
        let f = Finding::error(row.file.clone(), span, says);
        self.found.push(match hint {
            Some(hint) => f.hint(hint),
            None => f,
        });
    }

    /// The name in a row; a fault is told.
    fn name(&mut self, row: &Row) -> Option<(String, Range<usize>)> {
        match row.cell(Column::Specimen, false) {
            Some(c) => Some((c.text.clone(), c.span.clone())),
            None => {
                self.error(row, row.span.clone(), "no specimen is named".into(), None);
                None
            }
        }
    }

    /// The sizes in a row by key: `None` for empty cells; `Err` after faults, which are told.
    fn sizes(&mut self, row: &Row) -> Result<Vec<Option<Figure>>, ()> {
        let mut out = Vec::new();
        let mut sound = true;
        for key in self.keys {
            match check::figure(row, Column::Size(*key), self.case) {
                Ok(f) => out.push(f),
                Err((span, e)) => {
                    self.error(row, span, e.says, e.hint);
                    sound = false;
                }
            }
        }
        if sound { Ok(out) } else { Err(()) }
    }

    /// A row of the table of specimens.
    fn specimen(&mut self, row: &Row) {
        self.lines += 1;
        let name = self.name(row);
        let sizes = self.sizes(row);
        let kept = match (&name, sizes) {
            (Some((name, span)), Ok(sizes)) if !row.bad => match self.places.get(name) {
                Some(at) => {
                    let says =
                        format!("specimen `{name}` stands on line {} already", self.specimens[*at].line);
                    self.error(row, span.clone(), says, Some("give every specimen a name of its own".into()));
                    false
                }
                None => self.add(row, name, sizes),
            },
            _ => false,
        };
        if !kept {
            self.left_out += 1;
            if let Some((name, _)) = name.filter(|n| !self.places.contains_key(&n.0)) {
                self.lost.insert(name, row.line);
            }
        }
    }

    /// Adds a specimen with all its sizes; `false` after a fault, which is told.
    fn add(&mut self, row: &Row, name: &str, sizes: Vec<Option<Figure>>) -> bool {
        let missing = self.keys.iter().zip(&sizes).find(|(_, s)| s.is_none()).map(|(k, _)| *k);
        if let Some(key) = missing {
            let says = format!("specimen `{name}` has no `{}`", self.case.inputs()[key].key);
            let hint = "every specimen needs all sizes that the logbook has columns for".to_owned();
            self.error(row, row.span.clone(), says, Some(hint));
            return false;
        }
        let sizes: Vec<Figure> = sizes.into_iter().flatten().collect();
        let changes: Vec<(usize, f64)> = self.keys.iter().zip(&sizes).map(|(k, s)| (*k, s.value)).collect();
        if let Err(why) = self.case.changed(&changes, None) {
            let first = self.keys.iter().find_map(|k| row.cell(Column::Size(*k), false));
            let span = first.map_or(row.span.clone(), |c| c.span.clone());
            self.error(row, span, format!("no part has the sizes of specimen `{name}`: {why}"), None);
            return false;
        }
        self.places.insert(name.to_owned(), self.specimens.len());
        self.specimens.push(Specimen { name: name.to_owned(), line: row.line, sizes, trials: Vec::new() });
        true
    }

    /// A row of the table of trials, which may bring its specimen's sizes.
    fn trial(&mut self, row: &Row) {
        self.lines += 1;
        if !self.tried(row) {
            self.left_out += 1;
        }
    }

    fn tried(&mut self, row: &Row) -> bool {
        let Some((name, span)) = self.name(row) else { return false };
        let Ok(sizes) = self.sizes(row) else {
            if !self.places.contains_key(&name) {
                self.lost.insert(name, row.line);
            }
            return false;
        };
        if row.bad {
            return false;
        }
        // What the trial says is looked at first: a contradiction there must not hide behind an unknown specimen.
        let trial = match check::trial(row, self.case, &self.header.settings) {
            Ok(trial) => trial,
            Err(all) => {
                for (span, e) in all {
                    self.error(row, span, e.says, e.hint);
                }
                // Its sizes are kept: they contradict nothing.
                if !self.places.contains_key(&name) && sizes.iter().all(Option::is_some) {
                    self.add(row, &name, sizes);
                }
                return false;
            }
        };
        let at = match self.places.get(&name) {
            Some(at) => *at,
            None if sizes.iter().all(Option::is_none) => {
                let (says, hint) = match self.lost.get(&name) {
                    Some(line) => (
                        format!("specimen `{name}` was left out (line {line}), and so is this trial of it"),
                        None,
                    ),
                    None => (format!("no specimen `{name}` is known"), self.near(&name)),
                };
                self.error(row, span, says, hint);
                return false;
            }
            None => {
                if !self.add(row, &name, sizes) {
                    self.lost.insert(name, row.line);
                    return false;
                }
                self.specimens.len() - 1
            }
        };
        if let Some((key, here)) = self.differs(at, row) {
            let s = &self.specimens[at];
            let k = self.keys[key];
            let input = &self.case.inputs()[k];
            let before = input.show(s.sizes[key].value, s.sizes[key].half_width);
            let says = format!("`{}` of specimen `{name}` was {before} on line {}", input.key, s.line);
            let hint =
                "two specimens need two names; for the same one leave its sizes empty or write them alike"
                    .to_owned();
            self.error(row, here, says, Some(hint));
            return false;
        }
        let line = row.line;
        self.specimens[at].trials.extend(trial.map(|t| Trial { line, ..t }));
        true
    }

    /// A size in a row that is not that of its specimen.
    fn differs(&self, at: usize, row: &Row) -> Option<(usize, Range<usize>)> {
        self.keys.iter().enumerate().find_map(|(i, key)| {
            let cell = row.cell(Column::Size(*key), false)?;
            let here = check::figure(row, Column::Size(*key), self.case).ok()??;
            let there = self.specimens[at].sizes[i];
            let same = |a: f64, b: f64| (a - b).abs() <= 1e-9 * a.abs().max(b.abs());
            let widths = same(here.half_width.unwrap_or(0.0), there.half_width.unwrap_or(0.0));
            (!(same(here.value, there.value) && widths)).then(|| (i, cell.span.clone()))
        })
    }

    fn near(&self, name: &str) -> Option<String> {
        let near = calotte_quantity::nearest(name, self.places.keys().map(String::as_str));
        near.map(|n| format!("did you mean `{n}`?"))
            .or_else(|| Some("the first line of a specimen, or its table, must give its sizes".to_owned()))
    }
}

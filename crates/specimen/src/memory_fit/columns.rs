//! A table of relaxation or creep from a CSV file.

use std::ops::Range;

use calotte_quantity::Dimension;

use crate::case::{Columns, File, Finding, Level, Measure, Wanted, header_stems, read_columns};

/// Fewest and most rows.
const ROWS: (usize, usize) = (4, 5_000);

/// Sizes beyond these, in SI, are no readings.
const SIZES: (f64, f64) = (1e-30, 1e30);
/// Last time over first, and largest value over least.
const WIDEST: f64 = 1e15;

/// What a table holds beside the time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MemoryColumn {
    /// A relaxation modulus of any kind, Pa.
    Modulus,
    /// Young's relaxation modulus, Pa.
    Youngs,
    /// A modulus over some fixed value of it.
    Ratio,
    /// A creep compliance, 1/Pa.
    Compliance,
}

impl MemoryColumn {
    const ALL: [Self; 4] = [Self::Modulus, Self::Youngs, Self::Ratio, Self::Compliance];

    /// Its name in the first line.
    pub fn name(self) -> &'static str {
        match self {
            Self::Modulus => "modulus",
            Self::Youngs => "youngs",
            Self::Ratio => "ratio",
            Self::Compliance => "compliance",
        }
    }

    /// SI unit; `1` for a ratio.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Modulus | Self::Youngs => "Pa",
            Self::Ratio => "1",
            Self::Compliance => "1/Pa",
        }
    }

    fn wanted(self) -> Wanted {
        let measure = match self {
            Self::Modulus | Self::Youngs => Measure::Of(Dimension::Pressure),
            Self::Ratio => Measure::Of(Dimension::Number),
            Self::Compliance => Measure::Per(Dimension::Pressure),
        };
        Wanted { name: self.name(), measure }
    }
}

/// A whole table: times increase, everything is positive. SI.
#[derive(Clone, Debug, PartialEq)]
pub struct MemoryTable {
    /// What it holds.
    pub column: MemoryColumn,
    /// Times, s.
    pub times: Vec<f64>,
    /// Values in the unit of the column.
    pub values: Vec<f64>,
}

/// Reads a table; `None` when any finding is an error. `name` is that of the file, for the findings.
pub fn read_memory_table(name: &str, bytes: &[u8]) -> (Option<MemoryTable>, Vec<Finding>) {
    let file = || File::Other(name.to_owned());
    let stems = header_stems(bytes);
    let held: Vec<MemoryColumn> =
        MemoryColumn::ALL.into_iter().filter(|c| stems.iter().any(|s| s.0 == c.name())).collect();
    let column = held.first().copied().unwrap_or(MemoryColumn::Modulus);
    let time = Wanted { name: "time", measure: Measure::Of(Dimension::Time) };
    let (columns, mut found) = read_columns(name, bytes, &[time, column.wanted()]);
    for extra in held.iter().skip(1) {
        let at = stems.iter().find(|s| s.0 == extra.name()).map_or(0..0, |s| s.1.clone());
        // The reader has said that the column is not used; that it is one too many says more.
        found.retain(|f| f.span != at);
        let says = format!("`{}` and `{}`: one of them is wanted", column.name(), extra.name());
        found.push(Finding::error(file(), at, says).hint("keep one column beside the time"));
    }
    if held.is_empty() && !stems.is_empty() {
        for f in found.iter_mut().filter(|f| f.says == "no column `modulus`") {
            f.says = "no column of a modulus, a ratio or a compliance".to_owned();
            f.hint = Some(
                "the first line should be `time_s,modulus_MPa` (or youngs_MPa, ratio, compliance_1/MPa)"
                    .to_owned(),
            );
        }
    }
    if let Some(columns) = &columns {
        judge(columns, column, &file, &mut found);
    }
    let broken = found.iter().any(|f| f.level == Level::Error);
    let table = columns.filter(|_| !broken).map(|mut c| {
        let values = c.values.pop().unwrap_or_default();
        MemoryTable { column, times: c.values.pop().unwrap_or_default(), values }
    });
    (table, found)
}

fn judge(c: &Columns, column: MemoryColumn, file: &dyn Fn() -> File, found: &mut Vec<Finding>) {
    let [times, values] = [&c.values[0], &c.values[1]];
    let mut error = |at: Range<usize>, says: String, hint: &str| {
        found.push(Finding::error(file(), at, says).hint(hint));
    };
    let mut sound = true;
    for (i, row) in c.rows.iter().enumerate() {
        if times[i] <= 0.0 {
            let hint = "time counts from the step of strain (or stress), and logarithms of it are taken: leave this row out";
            error(row.clone(), "a time must be greater than 0".to_owned(), hint);
            sound = false;
        } else if i > 0 && times[i] == times[i - 1] {
            error(row.clone(), "this time stands in the row before too".to_owned(), "give each time once");
            sound = false;
        } else if i > 0 && times[i] < times[i - 1] {
            error(
                row.clone(),
                "the time must increase from row to row".to_owned(),
                "sort the rows by time; one test per file",
            );
            sound = false;
        }
        if values[i] <= 0.0 {
            let says = format!("a {} must be greater than 0", column.name());
            error(row.clone(), says, "is it the reading, or its change?");
            sound = false;
        }
        let sane = |x: f64| x <= 0.0 || (SIZES.0..=SIZES.1).contains(&x);
        if !sane(times[i]) || !sane(values[i]) {
            error(row.clone(), "a number of this size is no reading".to_owned(), "is the exponent right?");
            sound = false;
        }
    }
    let count = c.rows.len();
    let last = c.rows[count - 1].clone();
    if count < ROWS.0 {
        let says = format!("{count} row{}; a fit needs {}", if count == 1 { "" } else { "s" }, ROWS.0);
        error(last.clone(), says, "ten or more to each decade of time are good");
        sound = false;
    }
    if count > ROWS.1 {
        let says = format!("{count} rows; at most {} are taken", ROWS.1);
        error(last.clone(), says, "thin them out, evenly in the logarithm of time");
        sound = false;
    }
    let range = |x: &[f64]| {
        let ends = x.iter().fold((f64::INFINITY, 0.0_f64), |e, v| (e.0.min(*v), e.1.max(*v)));
        ends.1 / ends.0
    };
    if sound && (range(times) > WIDEST || range(values) > WIDEST) {
        let says = "the readings span more than fifteen decades".to_owned();
        error(last.clone(), says, "is a unit or an exponent wrong?");
        sound = false;
    }
    let trend = if sound { trend(times, values) } else { 0.0 };
    match column {
        MemoryColumn::Compliance if trend < 0.0 => error(
            last,
            "the compliance falls with time overall".to_owned(),
            "a creep compliance grows; if this is a modulus, name the column so: `modulus_MPa`",
        ),
        MemoryColumn::Compliance => {}
        _ if trend > 0.0 => error(
            last,
            format!(
                "the {} grows with time overall",
                if column == MemoryColumn::Ratio { "ratio" } else { "modulus" }
            ),
            "a relaxation modulus falls; if this is a compliance, name the column so: `compliance_1/MPa`",
        ),
        _ => {}
    }
}

/// Slope of the straight line through ln y against ln t.
fn trend(times: &[f64], values: &[f64]) -> f64 {
    let n = times.len() as f64;
    let logs = |x: &[f64]| -> Vec<f64> { x.iter().map(|v| libm::log(*v)).collect() };
    let (x, y) = (logs(times), logs(values));
    let mean = |v: &[f64]| v.iter().sum::<f64>() / n;
    let (mx, my) = (mean(&x), mean(&y));
    let above: f64 = x.iter().zip(&y).map(|(x, y)| (x - mx) * (y - my)).sum();
    let below: f64 = x.iter().map(|x| (x - mx) * (x - mx)).sum();
    if below > 0.0 { above / below } else { 0.0 }
}

//! Tables of a batch: the drawn parts, the shares of variance, what tightening saves.

use calotte_answers::spread::Draws;
use calotte_answers::spread::report::BatchReport;
use calotte_runs::{Kind, Table, Value};
use calotte_specimen::Case;

use crate::provenance::facts;
use crate::tables::{column, number};

/// Drawn parts in the table at most.
const MOST: usize = 100_000;

pub(super) fn all(case: &Case, report: &BatchReport, draws: &Draws) -> Vec<(String, Table)> {
    let mut all = vec![("draws".to_owned(), parts(case, draws))];
    if report.gauges.iter().any(|g| !g.indices.is_empty()) {
        all.push(("indices".to_owned(), indices(case, report)));
    }
    if !report.tightening.is_empty() {
        all.push(("tightening".to_owned(), tightening(case, report)));
    }
    all
}

fn parts(case: &Case, draws: &Draws) -> Table {
    let mut columns: Vec<_> =
        draws.inputs.iter().map(|k| column(&format!("{k}_SI"), "SI", "drawn number", Kind::Number)).collect();
    columns.extend(draws.gauges.iter().zip(&draws.units).map(|(g, unit)| {
        let unit = if unit.is_empty() { "1" } else { *unit };
        column(&format!("{}_SI", g.name().replace(' ', "_")), unit, g.name(), Kind::Number)
    }));
    columns.push(column(
        "kind",
        "",
        "stays, waits, returns; good or bad where no verdict is asked",
        Kind::Text,
    ));
    columns.push(column("good", "1", "1 when it lies in all windows", Kind::Count));
    columns.push(column(
        "exact",
        "1",
        "1 when its readings are exact, 0 when they are those of the approximation",
        Kind::Count,
    ));
    let rows = draws.rows.iter().take(MOST).map(|p| {
        let mut row: Vec<Value> = p.numbers.iter().map(|x| Value::Number(*x)).collect();
        row.extend(p.readings.iter().map(|r| number(r.filter(|r| r.is_finite()))));
        row.push(Value::Text(p.kind.to_owned()));
        row.push(Value::Count(i64::from(p.good)));
        row.push(Value::Count(i64::from(p.exact)));
        row
    });
    Table { columns, rows: rows.collect(), provenance: facts(case) }
}

fn indices(case: &Case, report: &BatchReport) -> Table {
    let columns = vec![
        column("gauge", "", "what is read", Kind::Text),
        column("input", "", "number of the case, or two that vary together", Kind::Text),
        column("first", "1", "share of the variance that would go if it were known", Kind::Number),
        column("first_error", "1", "standard error", Kind::Number),
        column("total", "1", "share that would be left if all others were known", Kind::Number),
        column("total_error", "1", "standard error", Kind::Number),
    ];
    let row = |gauge: &str, i: &calotte_answers::spread::report::BatchIndex| {
        vec![
            Value::Text(gauge.to_owned()),
            Value::Text(i.inputs.join(" ")),
            Value::Number(i.first),
            Value::Number(i.first_error),
            Value::Number(i.total),
            Value::Number(i.total_error),
        ]
    };
    let rows = report.gauges.iter().flat_map(|g| g.indices.iter().map(|i| row(&g.gauge, i))).collect();
    Table { columns, rows, provenance: facts(case) }
}

fn tightening(case: &Case, report: &BatchReport) -> Table {
    let columns = vec![
        column("input", "", "number of the case", Kind::Text),
        column("saved", "1", "share of all parts saved by half its tolerance", Kind::Number),
        column("saved_error", "1", "standard error", Kind::Number),
        column("of_failing", "1", "share of the parts that are not good", Kind::Number),
    ];
    let row = |t: &calotte_answers::spread::report::BatchTightening| {
        vec![
            Value::Text(t.input.clone()),
            Value::Number(t.saved),
            Value::Number(t.saved_error),
            number(t.of_failing),
        ]
    };
    Table { columns, rows: report.tightening.iter().map(row).collect(), provenance: facts(case) }
}

//! Tables of sizes: solutions, what was read, curves, the front.

use calotte_answers::size::report::{SizeReport, SizeVaried, SizeWish};
use calotte_runs::{Column, Kind, Table, Value};
use calotte_specimen::Case;

use crate::provenance::facts;
use crate::tables::{column, number};

/// Every table that the answer has.
pub(super) fn all(case: &Case, r: &SizeReport) -> Vec<(String, Table)> {
    let mut all = vec![("solutions".to_owned(), solutions(case, r))];
    if !r.scan.axes_si.is_empty() {
        all.push(("scan".to_owned(), scan(case, r)));
    }
    if r.set.as_ref().is_some_and(|s| !s.curves.is_empty()) {
        all.push(("curves".to_owned(), curves(case, r)));
    }
    if r.front.is_some() {
        all.push(("front".to_owned(), front(case, r)));
    }
    all
}

fn varied(v: &SizeVaried) -> Column {
    column(&format!("{}_si", v.key), "SI", "number of the case that may change", Kind::Number)
}

fn wish(k: usize, w: &SizeWish) -> Column {
    column(&format!("wish_{}_{}_si", k + 1, w.about.replace(' ', "_")), "SI", &w.text, Kind::Number)
}

fn solutions(case: &Case, r: &SizeReport) -> Table {
    let mut columns = vec![column("solution", "1", "number of the solution", Kind::Count)];
    columns.extend(r.vary.iter().map(varied));
    for (k, w) in r.wishes.iter().enumerate() {
        columns.push(wish(k, w));
        columns.push(column(
            &format!("wish_{}_forward_si", k + 1),
            "SI",
            "the forward question about it",
            Kind::Number,
        ));
    }
    columns.push(column("confirmed", "", "whether the forward questions confirm it", Kind::Flag));
    let rows = r
        .solutions
        .iter()
        .enumerate()
        .map(|(k, s)| {
            let mut row = vec![Value::Count(k as i64 + 1)];
            row.extend(s.values_si.iter().map(|v| Value::Number(*v)));
            for read in &s.readings {
                row.push(Value::Number(read.solver_si));
                row.push(number(read.forward_si));
            }
            row.push(Value::Flag(s.confirmed));
            row
        })
        .collect();
    Table { columns, rows, provenance: facts(case) }
}

fn scan(case: &Case, r: &SizeReport) -> Table {
    let mut columns: Vec<Column> = r.vary.iter().map(varied).collect();
    columns.extend(r.wishes.iter().enumerate().map(|(k, w)| wish(k, w)));
    let count = r.scan.readings_si.first().map_or(0, Vec::len);
    let rows = (0..count)
        .map(|i| {
            let mut left = i;
            let mut row: Vec<Value> = r
                .scan
                .axes_si
                .iter()
                .map(|axis| {
                    let v = axis[left % axis.len()];
                    left /= axis.len();
                    Value::Number(v)
                })
                .collect();
            row.extend(r.scan.readings_si.iter().map(|w| number(w[i])));
            row
        })
        .collect();
    Table { columns, rows, provenance: facts(case) }
}

fn curves(case: &Case, r: &SizeReport) -> Table {
    let mut columns = vec![column("curve", "1", "number of the curve", Kind::Count)];
    columns.extend(r.vary.iter().map(varied));
    columns.push(column("met", "", "whether the other wishes are met there", Kind::Flag));
    let mut rows = Vec::new();
    for (k, c) in r.set.iter().flat_map(|s| &s.curves).enumerate() {
        for (p, met) in c.points_si.iter().zip(&c.met) {
            let mut row = vec![Value::Count(k as i64 + 1)];
            row.extend(p.iter().map(|v| Value::Number(*v)));
            row.push(Value::Flag(*met));
            rows.push(row);
        }
    }
    Table { columns, rows, provenance: facts(case) }
}

fn front(case: &Case, r: &SizeReport) -> Table {
    let Some(f) = &r.front else {
        return Table { columns: Vec::new(), rows: Vec::new(), provenance: facts(case) };
    };
    let mut columns: Vec<Column> = f.wishes.iter().map(|i| wish(*i, &r.wishes[*i])).collect();
    columns.extend(r.vary.iter().map(varied));
    columns.push(column("rate_si", "SI", "change of the second for one of the first", Kind::Number));
    let rows = f
        .points
        .iter()
        .map(|p| {
            let mut row: Vec<Value> = p.readings_si.iter().map(|v| Value::Number(*v)).collect();
            row.extend(p.values_si.iter().map(|v| Value::Number(*v)));
            row.push(number(p.rate_si));
            row
        })
        .collect();
    Table { columns, rows, provenance: facts(case) }
}

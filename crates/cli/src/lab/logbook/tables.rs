//! Tables of an answer about a logbook.

use calotte_desk::facts;
use calotte_desk::tables::{column, number};
use calotte_lab::logbook::report::LogbookReport;
use calotte_runs::{Kind, Table, Value};
use calotte_specimen::Case;

fn text(t: &str) -> Value {
    if t.is_empty() { Value::Missing } else { Value::Text(t.to_owned()) }
}

/// `specimens`: a row per trial; `compared`: a row per number; `next`: a row per candidate.
pub(super) fn tables(case: &Case, r: &LogbookReport) -> Vec<(String, Table)> {
    let mut out = vec![("specimens".to_owned(), specimens(case, r))];
    if !r.compared.is_empty() {
        out.push(("compared".to_owned(), compared(case, r)));
    }
    if let Some(next) = &r.next {
        let mut columns: Vec<_> = next
            .keys
            .iter()
            .map(|k| column(&format!("{k}_si"), "SI", &format!("`{k}` of the candidate"), Kind::Number))
            .collect();
        columns.push(column(
            "bits",
            "bit",
            "information of its trial about the numbers sought, best hold",
            Kind::Number,
        ));
        let rows = next.bits.iter().enumerate().map(|(k, bits)| {
            let mut rest = k;
            let mut row: Vec<Value> = next
                .axes_si
                .iter()
                .map(|axis| {
                    let v = axis[rest % axis.len()];
                    rest /= axis.len();
                    Value::Number(v)
                })
                .collect();
            row.push(number(*bits));
            row
        });
        out.push(("next".to_owned(), Table { columns, rows: rows.collect(), provenance: facts(case) }));
    }
    out
}

fn specimens(case: &Case, r: &LogbookReport) -> Table {
    let mut columns = vec![
        column("specimen", "", "name", Kind::Text),
        column("line", "1", "line of the trial in its file", Kind::Count),
    ];
    for v in &r.varied {
        columns.push(column(&format!("{}_si", v.key), "SI", &format!("`{}` as read", v.key), Kind::Number));
        columns.push(column(&format!("{}_half_width_si", v.key), "SI", "its tolerance", Kind::Number));
    }
    columns.extend([
        column("margin", "1", "ln(h*/h) of the sizes as read", Kind::Number),
        column("margin_sd", "1", "its standard deviation by the sizes", Kind::Number),
        column("hold_s", "s", "how long it was held", Kind::Number),
        column("outcome", "", "returns, waits or stays", Kind::Text),
        column("wait_s", "s", "wait as read", Kind::Number),
    ]);
    for of in ["as_described", "from_the_others"] {
        for o in ["returns", "waits", "stays"] {
            columns.push(column(&format!("chance_{o}_{of}"), "1", "chance", Kind::Number));
        }
    }
    let mut rows = Vec::new();
    for s in &r.specimens {
        for t in &s.trials {
            let mut row = vec![text(&s.name), Value::Count(t.line as i64)];
            row.extend(
                s.sizes.iter().flat_map(|z| [Value::Number(z.value_si), Value::Number(z.half_width_si)]),
            );
            row.extend([
                number(s.margin),
                number(s.margin_sd),
                Value::Number(t.hold_s),
                text(t.outcome.unwrap_or("")),
                number(t.wait_s),
            ]);
            for c in [t.chances_as_described, t.chances_from_the_others] {
                row.extend((0..3).map(|i| number(c.map(|c| c[i]))));
            }
            rows.push(row);
        }
    }
    Table { columns, rows, provenance: facts(case) }
}

fn compared(case: &Case, r: &LogbookReport) -> Table {
    let columns = vec![
        column("what", "", "what was read", Kind::Text),
        column("unit", "", "SI unit of both numbers", Kind::Text),
        column("specimen", "", "name", Kind::Text),
        column("read_si", "SI", "as read", Kind::Number),
        column(
            "read_sd",
            "1",
            "standard deviation of it; of its logarithm for waits and loads",
            Kind::Number,
        ),
        column("computed_si", "SI", "as computed from the sizes as read", Kind::Number),
        column(
            "computed_sd",
            "1",
            "standard deviation of it by the sizes; of its logarithm for waits and loads",
            Kind::Number,
        ),
        column("z", "1", "difference over both errors", Kind::Number),
        column("z_fitted", "1", "the same with the numbers sought at their medians", Kind::Number),
    ];
    let row = |c: &calotte_lab::logbook::report::Comparison,
               r: &calotte_lab::logbook::report::ComparedRow| {
        vec![
            text(&c.what),
            text(c.unit),
            text(&r.specimen),
            Value::Number(r.read_si),
            Value::Number(r.read_sd),
            number(r.computed_si),
            number(r.computed_sd),
            number(r.z),
            number(r.z_fitted),
        ]
    };
    let rows = r.compared.iter().flat_map(|c| c.rows.iter().map(move |r| row(c, r))).collect();
    Table { columns, rows, provenance: facts(case) }
}

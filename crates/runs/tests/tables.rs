//! Tables read back with the readers of others.

mod common;

use std::fs::File;

use calotte_runs::{Column, Failure, Kind, Table, Value};
use common::{Folder, job, plain, row, rows};
use parquet::basic::{LogicalType, Type as Physical};
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::Field;

fn table() -> Table {
    Table { columns: job().columns, rows: rows(0..23), provenance: job().provenance }
}

/// NaN equal to itself if all bits agree.
fn same(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Number(a), Value::Number(b)) => a.to_bits() == b.to_bits(),
        _ => a == b,
    }
}

#[test]
fn parquet_holds_rows_types_and_metadata() {
    let folder = Folder::new();
    plain(&job(), &folder.0, 2).unwrap();
    let reader = SerializedFileReader::new(File::open(folder.path("grid.parquet")).unwrap()).unwrap();
    let file = reader.metadata().file_metadata();
    assert_eq!(file.num_rows(), 23);
    let types: Vec<_> = file.schema_descr().columns().iter().map(|c| (c.name(), c.physical_type())).collect();
    let due = [
        ("thickness_m", Physical::DOUBLE),
        ("waves", Physical::INT64),
        ("word", Physical::BYTE_ARRAY),
        ("stays", Physical::BOOLEAN),
    ];
    assert_eq!(types, due);
    assert_eq!(file.schema_descr().column(2).logical_type_ref(), Some(&LogicalType::String));
    let metadata: Vec<(&str, &str)> = file
        .key_value_metadata()
        .unwrap()
        .iter()
        .map(|kv| (kv.key.as_str(), kv.value.as_deref().unwrap_or("nothing")))
        .collect();
    assert_eq!(
        metadata[..4],
        [
            ("provenance.program", "calotte 1"),
            ("provenance.case", "two\nlines"),
            ("column.thickness_m.unit", "m"),
            ("column.thickness_m.about", "What thickness_m is."),
        ]
    );
    assert_eq!(metadata.len(), 2 + 2 * 4);
    let mut count = 0;
    for (point, record) in reader.get_row_iter(None).unwrap().enumerate() {
        let record = record.unwrap();
        let back = record.get_column_iter().map(|(_, field)| match field {
            Field::Null => Value::Missing,
            Field::Double(x) => Value::Number(*x),
            Field::Long(n) => Value::Count(*n),
            Field::Str(t) => Value::Text(t.clone()),
            Field::Bool(b) => Value::Flag(*b),
            other => panic!("{other:?}"),
        });
        let due = row(point as u64);
        assert!(back.zip(&due).all(|(a, b)| same(&a, b)), "{record:?} for {due:?}");
        count += 1;
    }
    assert_eq!(count, 23);
}

#[test]
fn csv_holds_the_same_rows() {
    let bytes = table().to_csv();
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(bytes.as_slice());
    assert_eq!(reader.headers().unwrap(), vec!["thickness_m", "waves", "word", "stays"]);
    let records: Vec<_> = reader.records().map(Result::unwrap).collect();
    assert_eq!(records.len(), 23);
    for (record, due) in records.iter().zip(rows(0..23)) {
        let back = record.iter().zip(table().columns).map(|(field, column)| match column.kind {
            _ if field.is_empty() => Value::Missing,
            Kind::Number => Value::Number(field.parse().unwrap()),
            Kind::Count => Value::Count(field.parse().unwrap()),
            Kind::Text => Value::Text(field.into()),
            Kind::Flag => Value::Flag(field.parse().unwrap()),
        });
        assert!(back.zip(&due).all(|(a, b)| same(&a, b)), "{record:?} for {due:?}");
    }
}

#[test]
fn parquet_refuses_rows_that_do_not_fit() {
    let mut table = table();
    table.rows[7][0] = Value::Flag(true);
    match table.to_parquet() {
        Err(Failure::Table(what)) => {
            assert!(what.contains("row 7 has a flag in column `thickness_m`"), "{what}")
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn names_with_spaces_and_signs_are_names() {
    let name = "h / mm; OPTIONAL, \"x\"";
    let column = Column { name: name.into(), unit: "1".into(), about: String::new(), kind: Kind::Number };
    let table = Table { columns: vec![column], rows: vec![vec![Value::Missing]], provenance: Vec::new() };
    let folder = Folder::new();
    std::fs::write(folder.path("a.parquet"), table.to_parquet().unwrap()).unwrap();
    let reader = SerializedFileReader::new(File::open(folder.path("a.parquet")).unwrap()).unwrap();
    assert_eq!(reader.metadata().file_metadata().schema_descr().column(0).name(), name);
    let bytes = table.to_csv();
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(bytes.as_slice());
    assert_eq!(reader.headers().unwrap(), vec![name]);
    assert_eq!(reader.records().count(), 1);
}

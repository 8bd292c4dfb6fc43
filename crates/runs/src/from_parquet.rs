//! Parquet files of ours read back as tables.

use std::fs::File;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

use parquet::basic::Type as Physical;
use parquet::column::reader::{ColumnReader, ColumnReaderImpl};
use parquet::data_type::DataType;
use parquet::errors::ParquetError;
use parquet::file::metadata::ParquetMetaData;
use parquet::file::reader::{FileReader, SerializedFileReader};

use crate::table::{Column, Kind, Table, Value};

/// Rows read at once.
const BATCH: usize = 4096;

impl Table {
    /// Reads a file that [`Table::to_parquet`] wrote, bit by bit the same table.
    ///
    /// # Errors
    /// Words on why it is none, or not whole.
    pub fn from_parquet(path: &Path) -> Result<Self, String> {
        let file = File::open(path).map_err(|e| e.to_string())?;
        // What is damaged may well break an assumption of the library.
        catch_unwind(AssertUnwindSafe(|| read(file).map_err(|e| e.to_string())))
            .unwrap_or_else(|_| Err("it cannot be read as Parquet".to_owned()))
    }
}

/// What the file says about itself.
fn entries(metadata: &ParquetMetaData) -> Vec<(String, String)> {
    let all = metadata.file_metadata().key_value_metadata().into_iter().flatten();
    all.map(|e| (e.key.clone(), e.value.clone().unwrap_or_default())).collect()
}

fn read(file: File) -> Result<Table, ParquetError> {
    let reader = SerializedFileReader::new(file)?;
    let metadata = reader.metadata();
    let said = entries(metadata);
    let about = |name: &str, what: &str| {
        let key = format!("column.{name}.{what}");
        said.iter().find(|e| e.0 == key).map(|e| e.1.clone()).unwrap_or_default()
    };
    let mut columns = Vec::new();
    for c in metadata.file_metadata().schema_descr().columns() {
        let name = c.name().to_owned();
        let kind = match c.physical_type() {
            Physical::DOUBLE => Kind::Number,
            Physical::INT64 => Kind::Count,
            Physical::BYTE_ARRAY => Kind::Text,
            Physical::BOOLEAN => Kind::Flag,
            other => return Err(ParquetError::General(format!("column `{name}` is of type {other}"))),
        };
        columns.push(Column { unit: about(&name, "unit"), about: about(&name, "about"), name, kind });
    }
    let mut rows: Vec<Vec<Value>> = Vec::new();
    for g in 0..metadata.num_row_groups() {
        let group = reader.get_row_group(g)?;
        let start = rows.len();
        let count = usize::try_from(group.metadata().num_rows()).unwrap_or(0);
        for at in 0..columns.len() {
            let cells = match group.get_column_reader(at)? {
                ColumnReader::DoubleColumnReader(r) => cells(r, count, |x| Some(Value::Number(x)))?,
                ColumnReader::Int64ColumnReader(r) => cells(r, count, |n| Some(Value::Count(n)))?,
                ColumnReader::BoolColumnReader(r) => cells(r, count, |b| Some(Value::Flag(b)))?,
                ColumnReader::ByteArrayColumnReader(r) => {
                    cells(r, count, |t| Some(Value::Text(t.as_utf8().ok()?.to_owned())))?
                }
                _ => return Err(ParquetError::General("a column of a strange type".to_owned())),
            };
            if cells.len() != count {
                return Err(ParquetError::General(format!("{} cells in {count} rows", cells.len())));
            }
            for (i, cell) in cells.into_iter().enumerate() {
                match rows.get_mut(start + i) {
                    Some(row) => row.push(cell),
                    None => rows.push(vec![cell]),
                }
            }
        }
    }
    let provenance =
        said.into_iter().filter_map(|(k, v)| Some((k.strip_prefix("provenance.")?.to_owned(), v)));
    Ok(Table { columns, rows, provenance: provenance.collect() })
}

/// All cells of a column of one row group.
fn cells<T: DataType>(
    mut reader: ColumnReaderImpl<T>,
    count: usize,
    cell: impl Fn(T::T) -> Option<Value>,
) -> Result<Vec<Value>, ParquetError> {
    let (mut values, mut levels) = (Vec::new(), Vec::new());
    while levels.len() < count {
        if reader.read_records(BATCH, Some(&mut levels), None, &mut values)?.0 == 0 {
            break;
        }
    }
    let mut values = values.into_iter();
    let strange = || ParquetError::General("a cell that is none of ours".to_owned());
    levels
        .iter()
        .map(|level| match level {
            0 => Ok(Value::Missing),
            _ => values.next().and_then(&cell).ok_or_else(strange),
        })
        .collect()
}

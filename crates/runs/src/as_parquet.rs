//! A table as Parquet: optional columns, units and provenance in the metadata of the file.

use std::sync::Arc;

use parquet::basic::{Compression, LogicalType, Repetition, Type as Physical};
use parquet::data_type::{BoolType, ByteArray, ByteArrayType, DataType, DoubleType, Int64Type};
use parquet::errors::ParquetError;
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::{SerializedColumnWriter, SerializedFileWriter};
use parquet::schema::types::Type;

use crate::failure::Failure;
use crate::table::{Column, Kind, Table, Value, misfit};

/// Rows of one row group.
const GROUP: usize = 1 << 20;

/// The type of a column: optional, named as in the table.
fn field(column: &Column) -> Result<Arc<Type>, ParquetError> {
    let (physical, logical) = match column.kind {
        Kind::Number => (Physical::DOUBLE, None),
        Kind::Count => (Physical::INT64, None),
        Kind::Text => (Physical::BYTE_ARRAY, Some(LogicalType::String)),
        Kind::Flag => (Physical::BOOLEAN, None),
    };
    let made = Type::primitive_type_builder(&column.name, physical)
        .with_repetition(Repetition::OPTIONAL)
        .with_logical_type(logical)
        .build()?;
    Ok(Arc::new(made))
}

/// Writes the values of column `at` that `pick` finds; the others are missing.
fn fill<T: DataType>(
    writer: &mut SerializedColumnWriter<'_>,
    rows: &[Vec<Value>],
    at: usize,
    pick: impl Fn(&Value) -> Option<T::T>,
) -> Result<(), ParquetError> {
    let cells: Vec<Option<T::T>> = rows.iter().map(|row| row.get(at).and_then(&pick)).collect();
    let levels: Vec<i16> = cells.iter().map(|c| i16::from(c.is_some())).collect();
    let values: Vec<T::T> = cells.into_iter().flatten().collect();
    writer.typed::<T>().write_batch(&values, Some(&levels), None)?;
    Ok(())
}

fn column(
    writer: &mut SerializedColumnWriter<'_>,
    kind: Kind,
    rows: &[Vec<Value>],
    at: usize,
) -> Result<(), ParquetError> {
    match kind {
        Kind::Number => fill::<DoubleType>(writer, rows, at, |v| match v {
            Value::Number(x) => Some(*x),
            _ => None,
        }),
        Kind::Count => fill::<Int64Type>(writer, rows, at, |v| match v {
            Value::Count(n) => Some(*n),
            _ => None,
        }),
        Kind::Text => fill::<ByteArrayType>(writer, rows, at, |v| match v {
            Value::Text(t) => Some(ByteArray::from(t.as_str())),
            _ => None,
        }),
        Kind::Flag => fill::<BoolType>(writer, rows, at, |v| match v {
            Value::Flag(b) => Some(*b),
            _ => None,
        }),
    }
}

impl Table {
    /// The table as Parquet.
    ///
    /// Numbers are DOUBLE, counts INT64, texts BYTE_ARRAY of strings, flags BOOLEAN; all columns are
    /// optional, a missing value is a null. The metadata of the file hold `provenance.KEY` for every entry
    /// of the provenance, `column.NAME.unit` and `column.NAME.about`.
    ///
    /// # Errors
    /// [`Failure::Table`] when rows do not fit the columns or columns are none or repeat a name.
    pub fn to_parquet(&self) -> Result<Vec<u8>, Failure> {
        if let Some(what) = misfit(&self.columns, &self.rows) {
            return Err(Failure::Table(what));
        }
        self.parquet().map_err(|e| Failure::Table(e.to_string()))
    }

    fn parquet(&self) -> Result<Vec<u8>, ParquetError> {
        let fields = self.columns.iter().map(field).collect::<Result<_, _>>()?;
        let schema = Arc::new(Type::group_type_builder("table").with_fields(fields).build()?);
        let entry = |key: String, value: &String| KeyValue { key, value: Some(value.clone()) };
        let mut metadata: Vec<KeyValue> =
            self.provenance.iter().map(|(k, v)| entry(format!("provenance.{k}"), v)).collect();
        for c in &self.columns {
            metadata.push(entry(format!("column.{}.unit", c.name), &c.unit));
            metadata.push(entry(format!("column.{}.about", c.name), &c.about));
        }
        let properties = WriterProperties::builder()
            .set_compression(Compression::SNAPPY)
            .set_key_value_metadata(Some(metadata))
            .build();
        let mut out = SerializedFileWriter::new(Vec::new(), schema, Arc::new(properties))?;
        for rows in self.rows.chunks(GROUP) {
            let mut group = out.next_row_group()?;
            for (at, c) in self.columns.iter().enumerate() {
                if let Some(mut writer) = group.next_column()? {
                    column(&mut writer, c.kind, rows, at)?;
                    writer.close()?;
                }
            }
            group.close()?;
        }
        out.into_inner()
    }
}

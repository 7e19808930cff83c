//! A table as Apache Parquet, uncompressed, for programs that read many runs at once.

use std::sync::Arc;

use debrief::{Column, Table};
use parquet::{
    basic::{LogicalType, Repetition, TimeUnit, Type as Physical},
    data_type::{BoolType, ByteArray, ByteArrayType, DoubleType, Int64Type},
    errors::ParquetError,
    file::{properties::WriterProperties, writer::SerializedFileWriter},
    schema::types::{Type, TypePtr},
};
use record::Wall;

/// The table's bytes.
///
/// # Errors
/// A cell that is not of its column's type.
pub(crate) fn written(table: &Table) -> Result<Vec<u8>, ParquetError> {
    let fields = table.columns.iter().map(field).collect::<Result<_, _>>()?;
    let schema = Type::group_type_builder(table.name)
        .with_fields(fields)
        .build()?;
    let properties = Arc::new(WriterProperties::builder().build());
    let mut file = SerializedFileWriter::new(Vec::new(), Arc::new(schema), properties)?;
    let mut group = file.next_row_group()?;
    for (n, column) in table.columns.iter().enumerate() {
        let cells = table.rows.iter().map(|row| {
            let cell = row.get(n).map(String::as_str).unwrap_or_default();
            (!cell.is_empty()).then_some(cell)
        });
        let cells: Vec<Option<&str>> = cells.collect();
        // Definition levels: 1 where there is a value, 0 where it is not known.
        let levels: Vec<i16> = cells.iter().map(|c| i16::from(c.is_some())).collect();
        let known = cells.into_iter().flatten();
        let wrong = |cell: &str| {
            ParquetError::General(format!(
                "column {}: {cell}, allowed: {}",
                column.name, column.datatype
            ))
        };
        let Some(mut writer) = group.next_column()? else {
            return Err(ParquetError::General(format!("no column {}", column.name)));
        };
        match column.datatype {
            "boolean" => {
                let values: Vec<bool> = known
                    .map(|c| c.parse().map_err(|_| wrong(c)))
                    .collect::<Result<_, _>>()?;
                writer
                    .typed::<BoolType>()
                    .write_batch(&values, Some(&levels), None)?;
            }
            "integer" => {
                let values: Vec<i64> = known
                    .map(|c| c.parse().map_err(|_| wrong(c)))
                    .collect::<Result<_, _>>()?;
                writer
                    .typed::<Int64Type>()
                    .write_batch(&values, Some(&levels), None)?;
            }
            "decimal" => {
                let values: Vec<f64> = known
                    .map(|c| c.parse().map_err(|_| wrong(c)))
                    .collect::<Result<_, _>>()?;
                writer
                    .typed::<DoubleType>()
                    .write_batch(&values, Some(&levels), None)?;
            }
            "dateTimeStamp" => {
                let values: Vec<i64> = known
                    .map(|c| c.parse().map(Wall::unix_ms).map_err(|_| wrong(c)))
                    .collect::<Result<_, _>>()?;
                writer
                    .typed::<Int64Type>()
                    .write_batch(&values, Some(&levels), None)?;
            }
            _ => {
                let values: Vec<ByteArray> = known.map(ByteArray::from).collect();
                writer
                    .typed::<ByteArrayType>()
                    .write_batch(&values, Some(&levels), None)?;
            }
        }
        writer.close()?;
    }
    group.close()?;
    file.into_inner()
}

fn field(column: &Column) -> Result<TypePtr, ParquetError> {
    let (physical, logical) = match column.datatype {
        "boolean" => (Physical::BOOLEAN, None),
        "integer" => (Physical::INT64, None),
        "decimal" => (Physical::DOUBLE, None),
        "dateTimeStamp" => (
            Physical::INT64,
            Some(LogicalType::timestamp(true, TimeUnit::MILLIS)),
        ),
        _ => (Physical::BYTE_ARRAY, Some(LogicalType::String)),
    };
    Type::primitive_type_builder(column.name, physical)
        .with_logical_type(logical)
        .with_repetition(Repetition::OPTIONAL)
        .build()
        .map(Arc::new)
}

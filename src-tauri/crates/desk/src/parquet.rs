//! Tables as Apache Parquet, uncompressed, for programs that read many runs at once.

use std::{io::Write, sync::Arc};

use debrief::{Column, Table};
use parquet::{
    basic::{LogicalType, Repetition, TimeUnit, Type as Physical},
    data_type::{BoolType, ByteArray, ByteArrayType, DataType, DoubleType, Int64Type},
    errors::ParquetError,
    file::{
        properties::WriterProperties,
        writer::{SerializedColumnWriter, SerializedFileWriter},
    },
    schema::types::{Type, TypePtr},
};
use record::Wall;

/// The table's bytes.
///
/// # Errors
/// A cell that is not of its column's type.
pub(crate) fn written(table: &Table) -> Result<Vec<u8>, ParquetError> {
    let mut part = Part::new(Vec::new(), table.name, &table.columns, &[])?;
    part.add(&table.rows)?;
    part.file.into_inner()
}

/// A file that grows by groups of rows.
pub(crate) struct Part<W: Write + Send> {
    file: SerializedFileWriter<W>,
    /// The columns that are written, each with its place in a row.
    columns: Vec<(usize, Column)>,
}

impl<W: Write + Send> Part<W> {
    /// Begins a file without those columns that its folders name.
    ///
    /// # Errors
    /// The disk.
    pub(crate) fn new(
        to: W,
        name: &str,
        columns: &[Column],
        without: &[&str],
    ) -> Result<Self, ParquetError> {
        let kept = columns.iter().copied().enumerate();
        let columns: Vec<(usize, Column)> =
            kept.filter(|(_, c)| !without.contains(&c.name)).collect();
        let fields = columns.iter().map(|(_, column)| field(column));
        let schema = Type::group_type_builder(name)
            .with_fields(fields.collect::<Result<_, _>>()?)
            .build()?;
        let properties = Arc::new(WriterProperties::builder().build());
        let file = SerializedFileWriter::new(to, Arc::new(schema), properties)?;
        Ok(Self { file, columns })
    }

    /// Adds rows as a group.
    ///
    /// # Errors
    /// A cell that is not of its column's type, or the disk.
    pub(crate) fn add(&mut self, rows: &[Vec<String>]) -> Result<(), ParquetError> {
        let mut group = self.file.next_row_group()?;
        for (place, column) in &self.columns {
            let Some(writer) = group.next_column()? else {
                return Err(ParquetError::General(format!("no column {}", column.name)));
            };
            let cells = rows.iter().map(|row| {
                let cell = row.get(*place).map(String::as_str).unwrap_or_default();
                (!cell.is_empty()).then_some(cell)
            });
            cells_of(column, &cells.collect::<Vec<_>>(), writer)?;
        }
        group.close()?;
        Ok(())
    }

    /// Ends the file.
    ///
    /// # Errors
    /// The disk.
    pub(crate) fn close(self) -> Result<(), ParquetError> {
        self.file.close().map(drop)
    }
}

fn cells_of(
    column: &Column,
    cells: &[Option<&str>],
    writer: SerializedColumnWriter<'_>,
) -> Result<(), ParquetError> {
    // Definition levels: 1 where there is a value, 0 where it is not known.
    let levels: Vec<i16> = cells.iter().map(|c| i16::from(c.is_some())).collect();
    let known = || cells.iter().copied().flatten();
    match column.datatype {
        "boolean" => put::<BoolType>(writer, &levels, &read(column, known(), |c| c.parse().ok())?),
        "integer" => put::<Int64Type>(writer, &levels, &read(column, known(), |c| c.parse().ok())?),
        "decimal" => {
            put::<DoubleType>(writer, &levels, &read(column, known(), |c| c.parse().ok())?)
        }
        "dateTimeStamp" => {
            let moment = |c: &str| c.parse().map(Wall::unix_ms).ok();
            put::<Int64Type>(writer, &levels, &read(column, known(), moment)?)
        }
        _ => put::<ByteArrayType>(
            writer,
            &levels,
            &known().map(ByteArray::from).collect::<Vec<_>>(),
        ),
    }
}

fn read<'a, T>(
    column: &Column,
    cells: impl Iterator<Item = &'a str>,
    value: impl Fn(&str) -> Option<T>,
) -> Result<Vec<T>, ParquetError> {
    let wrong = |cell: &str| {
        ParquetError::General(format!(
            "column {}: {cell}, allowed: {}",
            column.name, column.datatype
        ))
    };
    cells
        .map(|cell| value(cell).ok_or_else(|| wrong(cell)))
        .collect()
}

fn put<D: DataType>(
    mut writer: SerializedColumnWriter<'_>,
    levels: &[i16],
    values: &[D::T],
) -> Result<(), ParquetError> {
    writer
        .typed::<D>()
        .write_batch(values, Some(levels), None)?;
    writer.close()
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

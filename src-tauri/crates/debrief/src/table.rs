//! Tables for other programs: one row a run, a pause, a shock and so on, with what each column is.

use cycle::{Ms, mark::Reason};
use record::{Opened, Wall};
use serde_json::{Value, json};

use crate::{
    Measures, Taken, VERSION,
    rows::{self, Seconds},
};

/// Whose eyes the tables are for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Form {
    /// The service's own: with record id, unit code, protocol and wall clock.
    Own,
    /// For others: the year only, a new id that leads nowhere, no unit, protocol, clock or note.
    Deidentified {
        /// The new id.
        id: String,
    },
}

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its name.
    pub name: &'static str,
    /// A datatype of CSV on the Web: string, boolean, integer, decimal or `dateTimeStamp`.
    pub datatype: &'static str,
    /// Its unit; empty where there is none.
    pub unit: &'static str,
    /// What it says.
    pub what: &'static str,
}

/// One table. Its first column names the run, and joins the tables.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    /// Its name, without an ending.
    pub name: &'static str,
    /// What each cell of a row is.
    pub columns: Vec<Column>,
    /// Its rows; an empty cell is not known.
    pub rows: Vec<Vec<String>>,
}

impl Table {
    pub(crate) fn new(name: &'static str, columns: &[Column]) -> Self {
        Self {
            name,
            columns: columns.to_vec(),
            rows: Vec::new(),
        }
    }

    pub(crate) fn row(&mut self, cells: Vec<String>) {
        self.rows.push(cells);
    }

    /// As CSV (RFC 4180). A cell without a value is not known.
    pub fn csv(&self) -> String {
        self.csv_names() + &self.csv_rows()
    }

    /// The first line of it, the columns' names.
    pub fn csv_names(&self) -> String {
        let names: Vec<&str> = self.columns.iter().map(|c| c.name).collect();
        names.join(",") + "\r\n"
    }

    /// The lines after it.
    pub fn csv_rows(&self) -> String {
        let mut out = String::new();
        for cells in &self.rows {
            for (n, cell) in cells.iter().enumerate() {
                if n > 0 {
                    out.push(',');
                }
                quoted(&mut out, cell);
            }
            out.push_str("\r\n");
        }
        out
    }

    /// Its description as CSV on the Web has it.
    fn schema(&self) -> Value {
        let columns = self.columns.iter().map(|c| {
            let mut column = json!({
                "name": c.name,
                "titles": c.name,
                "datatype": c.datatype,
                "null": "",
                "dc:description": c.what,
            });
            if !c.unit.is_empty()
                && let Some(fields) = column.as_object_mut()
            {
                fields.insert("schema:unitText".to_owned(), json!(c.unit));
            }
            column
        });
        let mut schema = json!({"columns": columns.collect::<Vec<_>>()});
        let keys = if self.name == RUNS {
            ("primaryKey", json!("run"))
        } else {
            let to = json!({"resource": format!("{RUNS}.csv"), "columnReference": "run"});
            (
                "foreignKeys",
                json!([{"columnReference": "run", "reference": to}]),
            )
        };
        if let Some(fields) = schema.as_object_mut() {
            fields.insert(keys.0.to_owned(), keys.1);
        }
        json!({"url": format!("{}.csv", self.name), "tableSchema": schema})
    }
}

fn quoted(out: &mut String, cell: &str) {
    if cell.contains(['"', ',', '\r', '\n']) {
        out.push('"');
        out.push_str(&cell.replace('"', "\"\""));
        out.push('"');
    } else {
        out.push_str(cell);
    }
}

/// The table that the others join.
const RUNS: &str = "runs";

/// The tables of a run.
pub fn sheets(opened: &Opened, measures: &Measures, form: &Form) -> Vec<Table> {
    let id = match form {
        Form::Own => measures.record_id.as_str(),
        Form::Deidentified { id } => id.as_str(),
    };
    let seconds = Seconds::new(id, measures);
    let mut all = vec![rows::runs(opened, measures, form, &seconds)];
    all.extend(rows::tables(measures, form, &seconds));
    if *form == Form::Own {
        all.push(rows::clocks(measures, &seconds));
    }
    all
}

/// The tables of a run and their description as CSV on the Web has it: file name and text.
pub fn tables(opened: &Opened, measures: &Measures, form: &Form) -> Vec<(String, String)> {
    let all = sheets(opened, measures, form);
    let mut files: Vec<(String, String)> = all
        .iter()
        .map(|table| (format!("{}.csv", table.name), table.csv()))
        .collect();
    files.push(("metadata.json".to_owned(), about(&all, "Measures of a run")));
    files
}

/// What the tables are, as CSV on the Web has it: the text of `metadata.json` beside them.
pub fn about(all: &[Table], title: &str) -> String {
    let about = json!({
        "@context": "http://www.w3.org/ns/csvw",
        "dc:title": title,
        "dc:description": "By the crew's marks, which carry a human delay: +/- 1 s. Times are \
            seconds from the zero named in runs.csv. An empty cell is not known, or there was none.",
        "schema:version": VERSION,
        "tables": all.iter().map(Table::schema).collect::<Vec<_>>(),
    });
    format!("{about:#}\n")
}

/// The wall clock at the run's zero, by its first line.
pub fn began(opened: &Opened) -> Option<Wall> {
    let (entry, stamp) = opened.entries.first().zip(opened.stamps.first())?;
    let back = i64::try_from(entry.taken.0).ok()?;
    let unix = stamp.wall.unix_ms().checked_sub(back)?;
    Wall::new(unix, stamp.wall.offset_min()).ok()
}

/// As recorded, or as amended and by which revision.
pub(crate) fn basis(taken: Taken) -> String {
    match taken {
        Taken::Recorded => "as recorded".to_owned(),
        Taken::Amended {
            revision,
            unsealed: 0,
        } => format!("as amended, revision {revision}"),
        Taken::Amended { revision, unsealed } => {
            format!("as amended, revision {revision} and {unsealed} unsealed amendments")
        }
    }
}

/// A reason in plain words.
pub(crate) fn reason(reason: Reason) -> String {
    reason.word().replace('_', " ")
}

/// Whole seconds, to the nearest.
pub(crate) fn whole(span: Ms) -> u64 {
    span.0.saturating_add(500).div_euclid(1000)
}

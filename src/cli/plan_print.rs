//! What `cutspan plan` prints: a table for reading, or JSON.

use anyhow::Result;
use comfy_table::{CellAlignment, TableComponent, presets};
use serde_json::{Map, Value, json};

use crate::table::{Cell, Row, Table, number};

/// Digits of a number in the text.
const DIGITS: usize = 3;

pub(super) fn text(table: &Table, remarks: &[String]) -> String {
    let mut shown = comfy_table::Table::new();
    shown.load_preset(presets::NOTHING);
    for line in [TableComponent::HeaderLines, TableComponent::MiddleHeaderIntersections] {
        shown.set_style(line, '─');
    }
    shown.set_header(["with", "without", "measure", "expected", "lower", "upper", "width", "unit", ""]);
    for row in table.iter() {
        shown.add_row(cells(&row));
    }
    for column in [0, 1, 3, 4, 5, 6] {
        if let Some(column) = shown.column_mut(column) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    let lines = shown.lines().map(|line| line.trim_end().to_owned() + "\n").collect::<String>();
    format!("{lines}\n{}\n", remarks.join("\n"))
}

fn cells(row: &Row<'_>) -> Vec<String> {
    let real = |name: &str| row.real(name).map_or(String::new(), |value| number::reading(value, DIGITS));
    let whole = |name: &str| row.whole(name).map_or(String::new(), number::whole);
    let measure = match (row.real("percentile"), row.text("measure")) {
        (Some(percent), _) => format!("percentile {}", number::significant(percent, 4)),
        (None, "share") => "share with the outcome".to_owned(),
        (None, "auc") => "area under the ROC curve".to_owned(),
        (None, "cutoff_smoothed") => "best cutoff, smoothed".to_owned(),
        (None, "cutoff_empirical") => "best cutoff, empirical".to_owned(),
        (None, other) => other.to_owned(),
    };
    let width = match row.real("width_error") {
        Some(error) => format!("{} ± {}", real("width"), number::reading(error, 1)),
        None => real("width"),
    };
    vec![
        whole("n_with"),
        whole("n_without"),
        measure,
        real("expected"),
        real("lower"),
        real("upper"),
        width,
        row.text("unit").to_owned(),
        row.text("notices").to_owned(),
    ]
}

pub(super) fn json(table: &Table, remarks: &[String]) -> Result<String> {
    let value = |cell: &Cell| match cell {
        Cell::Missing => Value::Null,
        Cell::Text(text) => json!(text),
        Cell::Integer(whole) => json!(whole),
        Cell::Real(real) => json!(number::full(*real).parse::<f64>().unwrap_or(*real)),
    };
    let object = |cells: &Vec<Cell>| {
        let pairs =
            table.columns.iter().zip(cells).map(|(column, cell)| (column.name.to_owned(), value(cell)));
        Value::Object(pairs.collect::<Map<_, _>>())
    };
    let rows: Vec<Value> = table.rows.iter().map(object).collect();
    Ok(serde_json::to_string_pretty(&json!({ "remarks": remarks, "rows": rows }))? + "\n")
}

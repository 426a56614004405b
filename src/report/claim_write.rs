//! A claim as plain text, Markdown and JSON.

use std::fmt::Write as _;

use serde_json::{Map, Value, json};

use super::claim::ClaimPage;
use super::claim_grids::{Grid, GridRow};
use super::markdown::escaped;
use super::sentence::capital;
use super::wrapped::wrapped;
use crate::table::{Cell, Table, number};

/// Width of a line of text.
const WIDTH: usize = 96;
/// Most columns of a table.
const BROADEST: usize = 100;
/// Longest label that keeps its columns on its own line.
const LABEL: usize = 30;

/// Plain text that fits 100 columns.
#[must_use]
pub fn claim_text(page: &ClaimPage) -> String {
    let mut out = format!("{}\n{}\n", page.title, "=".repeat(page.title.chars().count().min(WIDTH)));
    if let Some(warning) = &page.warning {
        paragraph(&mut out, "", warning);
    }
    for sentence in sentences(&page.understood).iter().chain(&page.first).chain(&page.answer) {
        paragraph(&mut out, "", sentence);
    }
    for grid in &page.grids {
        text_grid(&mut out, grid);
    }
    for (heading, lines) in closing(page) {
        let _ = writeln!(out, "\n{heading}");
        for line in lines {
            out.push_str(&folded(line, "- "));
        }
    }
    if !page.citation.is_empty() {
        let _ = writeln!(out, "\nTo cite, in one line");
    }
    for (position, line) in page.citation.iter().enumerate() {
        // Whole, so that it can be copied.
        let text = if position == 0 { format!("{line}\n") } else { folded(line, "- ") };
        out.push_str(&text);
    }
    out
}

/// Remarks, each with the stop of a sentence.
fn sentences(remarks: &[String]) -> Vec<String> {
    remarks.iter().map(|remark| format!("{remark}.")).collect()
}

fn closing(page: &ClaimPage) -> impl Iterator<Item = (&'static str, &Vec<String>)> {
    let parts = [("How it was judged", &page.method), ("Keep in mind", &page.cautions)];
    parts.into_iter().filter(|(_, lines)| !lines.is_empty())
}

fn paragraph(out: &mut String, lead: &str, text: &str) {
    out.push('\n');
    out.push_str(&folded(text, lead));
}

/// A text in lines, those after the first indented like the lead.
fn folded(text: &str, lead: &str) -> String {
    wrapped(text, (lead, &" ".repeat(length(lead))), WIDTH) + "\n"
}

fn text_grid(out: &mut String, grid: &Grid) {
    paragraph(out, "", &grid.title);
    let widths: Vec<usize> = (0..grid.columns.len())
        .map(|c| {
            let cells = grid.rows.iter().filter_map(|row| row.cells.get(c)).map(|cell| length(cell));
            cells.chain([length(&grid.columns[c])]).max().unwrap_or(0)
        })
        .collect();
    let room = BROADEST.saturating_sub(widths.iter().map(|width| width + 2).sum());
    let label = grid.rows.iter().filter(|row| !row.cells.is_empty()).map(|row| length(&row.label));
    let label = label.max().unwrap_or(0).min(LABEL).min(room);
    let line = |label_text: &str, cells: &[String]| {
        let mut line = format!("{label_text}{}", " ".repeat(label.saturating_sub(length(label_text))));
        for (cell, width) in cells.iter().zip(&widths) {
            let _ = write!(line, "  {}{cell}", " ".repeat(width - length(cell)));
        }
        format!("{}\n", line.trim_end())
    };
    let header = line("", &grid.columns);
    out.push_str(&header);
    let _ = writeln!(out, "{}", "-".repeat(length(header.trim_end())));
    for row in &grid.rows {
        if row.cells.is_empty() {
            let _ = writeln!(out, "{}", capital(&row.label));
        } else if length(&row.label) > label {
            let _ = writeln!(out, "{}", row.label);
            out.push_str(&line("", &row.cells));
        } else {
            out.push_str(&line(&row.label, &row.cells));
        }
    }
    for note in &grid.notes {
        out.push_str(&folded(note, ""));
    }
}

fn length(text: &str) -> usize {
    text.chars().count()
}

/// Markdown with tables.
#[must_use]
pub fn claim_markdown(page: &ClaimPage) -> String {
    let mut out = format!("# {}\n", escaped(&page.title));
    if let Some(warning) = &page.warning {
        let _ = write!(out, "\n> **{}**\n", escaped(warning));
    }
    for sentence in sentences(&page.understood) {
        let _ = write!(out, "\n{}\n", escaped(&sentence));
    }
    for caution in &page.first {
        let _ = write!(out, "\n> **{}**\n", escaped(caution));
    }
    for sentence in &page.answer {
        let _ = write!(out, "\n{}\n", escaped(sentence));
    }
    for grid in &page.grids {
        markdown_grid(&mut out, grid);
    }
    for (heading, lines) in closing(page) {
        let _ = write!(out, "\n## {heading}\n\n");
        for line in lines {
            let _ = writeln!(out, "- {}", escaped(line));
        }
    }
    if !page.citation.is_empty() {
        let _ = write!(out, "\n## To cite, in one line\n\n");
    }
    for (position, line) in page.citation.iter().enumerate() {
        let (lead, end) = if position == 0 { ("", "\n") } else { ("- ", "") };
        let _ = writeln!(out, "{lead}{}{end}", escaped(line));
    }
    out
}

fn markdown_grid(out: &mut String, grid: &Grid) {
    let _ = write!(out, "\n## {}\n\n", escaped(&grid.title));
    let columns: Vec<String> = grid.columns.iter().map(|c| escaped(c)).collect();
    let _ = writeln!(out, "| group | {} |", columns.join(" | "));
    let _ = writeln!(out, "| --- |{}", " ---: |".repeat(columns.len()));
    for GridRow { label, cells } in &grid.rows {
        if cells.is_empty() {
            let _ = writeln!(out, "| **{}** |{}", escaped(&capital(label)), " |".repeat(columns.len()));
        } else {
            let cells: Vec<String> = cells.iter().map(|c| escaped(c)).collect();
            let _ = writeln!(out, "| {} | {} |", escaped(label.trim()), cells.join(" | "));
        }
    }
    for note in &grid.notes {
        let _ = write!(out, "\n{}\n", escaped(note));
    }
}

/// JSON: the words, and every row of the table at the precision of the CSV files.
pub fn claim_json(page: &ClaimPage, table: &Table) -> Result<String, serde_json::Error> {
    let value = json!({
        "title": page.title,
        "warning": page.warning,
        "understood": page.understood,
        "first": page.first,
        "answer": page.answer,
        "cutoff_tests": page.cutoff_tests,
        "in_no_group": page.in_no_group,
        "finer_groups": page.finer,
        "groupings_left_out": page.not_asked,
        "insulin_assay": page.insulin_assay,
        "method": page.method,
        "cautions": page.cautions,
        "citation": page.citation,
        "study_sha256": page.study_sha256,
        "rows": table.rows.iter().map(|row| object(table, row)).collect::<Vec<_>>(),
    });
    Ok(serde_json::to_string_pretty(&value)? + "\n")
}

fn object(table: &Table, row: &[Cell]) -> Value {
    let cell = |cell: &Cell| match cell {
        Cell::Missing => Value::Null,
        Cell::Text(text) => json!(text),
        Cell::Integer(whole) => json!(whole),
        Cell::Real(real) => number::full(*real).parse::<f64>().map_or(Value::Null, |number| json!(number)),
    };
    let pairs = table.columns.iter().zip(row);
    Value::Object(pairs.map(|(column, value)| (column.name.to_owned(), cell(value))).collect::<Map<_, _>>())
}

//! The tables of a claim, as a reader sees them: rounded, one group a row, withheld cells by a letter.

use serde::Serialize;

use super::claim::{Stated, in_unit};
use super::sentence::places;
use crate::chart::Labels;
use crate::table::number::{aligned, decimals, significant, whole};
use crate::table::schema::ALL_GROUPS;
use crate::table::{Row, Table};

/// A table for reading.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Grid {
    pub title: String,
    pub columns: Vec<String>,
    pub rows: Vec<GridRow>,
    /// Why cells are withheld, each with the letter that stands in them.
    pub notes: Vec<String>,
}

/// A row: a heading without cells, or a label with them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct GridRow {
    pub label: String,
    pub cells: Vec<String>,
}

/// A column: its heading, its measure, what its values are multiplied by.
struct Column {
    heading: String,
    measure: &'static str,
    per: f64,
}

fn column(heading: impl Into<String>, measure: &'static str, per: f64) -> Column {
    Column { heading: heading.into(), measure, per }
}

pub(super) fn grids(table: &Table, stated: &[Stated<'_>], labels: &Labels, rule: &str) -> Vec<Grid> {
    let of_threshold = |s: &Stated<'_>| {
        let mut grids = vec![shares(table, s, labels)];
        grids.extend(accuracy(table, s, labels, rule));
        grids.extend(claims(table, s, labels));
        grids
    };
    stated.iter().flat_map(of_threshold).collect()
}

fn shares(table: &Table, stated: &Stated<'_>, labels: &Labels) -> Grid {
    let at = in_unit(labels, stated.index, stated.value);
    let columns = [
        column(format!("{} {at}, %", stated.side), "share", 1.0),
        column(format!("percentile of {at}"), "percentile", 1.0),
        column("same percentile*", "equivalent", 1.0),
    ];
    let title = format!("{} {} {at}, by group", labels.index_label(stated.index), stated.side);
    let mut grid = fill(table, stated, labels, (title, &columns));
    grid.notes.push(format!("* the value that is the same percentile of the group as {at} is of everybody"));
    grid
}

fn accuracy(table: &Table, stated: &Stated<'_>, labels: &Labels, rule: &str) -> Vec<Grid> {
    let Some(first) = stated.rows(table, "sensitivity").into_iter().next() else { return Vec::new() };
    let beyond = format!(
        "{} {} {}",
        labels.index_label(stated.index),
        labels.beyond(stated.index, stated.strict),
        in_unit(labels, stated.index, stated.value)
    );
    let title = format!("{beyond} as a sign of {}", labels.outcome(first.text("outcome")));
    let shares = [
        column("Se, %", "sensitivity", 100.0),
        column("Sp, %", "specificity", 100.0),
        column("PPV, %", "ppv", 100.0),
        column("NPV, %", "npv", 100.0),
    ];
    let ratios = [
        column("LR+", "lr_positive", 1.0),
        column("LR−", "lr_negative", 1.0),
        column("best cutoff", "best_cutoff", 1.0),
    ];
    let mut second =
        fill(table, stated, labels, (format!("{title}: likelihood ratios, best cutoff"), &ratios));
    second.notes.push(format!("best cutoff: the group's own, by the rule “{rule}”"));
    vec![fill(table, stated, labels, (title, &shares)), second]
}

/// Rows in the order of the table, the measures of a group side by side.
fn fill(table: &Table, stated: &Stated<'_>, labels: &Labels, (title, columns): (String, &[Column])) -> Grid {
    let by_column: Vec<Vec<Row<'_>>> = columns.iter().map(|c| stated.rows(table, c.measure)).collect();
    let mut grid = Grid { title, ..Grid::default() };
    grid.columns.push("n".to_owned());
    grid.columns.extend(columns.iter().map(|c| c.heading.clone()));
    let mut notes = Notes::default();
    let places: Vec<usize> = columns.iter().zip(&by_column).map(|(c, rows)| places_of(c, rows)).collect();
    // The shares of an outcome have denominators of their own; a likelihood ratio counts all whose outcome is known.
    let of_outcome = columns.iter().any(|c| c.measure == "sensitivity");
    let counted = stated.rows(table, if of_outcome { "lr_positive" } else { columns[0].measure });
    for (position, first) in by_column.first().into_iter().flatten().enumerate() {
        heading(&mut grid, first, labels);
        let cells = || by_column.iter().map(|rows| rows.get(position));
        let n = counted.get(position).and_then(|row| row.whole("n"));
        let mut texts = vec![n.map(whole).unwrap_or_default()];
        for ((cell, column), places) in cells().zip(columns).zip(&places) {
            texts.push(cell.map_or_else(String::new, |row| cell_text(row, column.per, *places, &mut notes)));
        }
        grid.rows.push(GridRow { label: label(first), cells: texts });
    }
    grid.notes = notes.lines();
    grid
}

fn places_of(column: &Column, rows: &[Row<'_>]) -> usize {
    match column.measure {
        "share" | "percentile" => 1,
        _ if column.per > 1.0 => 0,
        _ => decimals(&rows.iter().filter_map(|row| row.shown("value")).collect::<Vec<_>>(), 3).min(4),
    }
}

/// A heading where a grouping begins.
fn heading(grid: &mut Grid, row: &Row<'_>, labels: &Labels) {
    if row.text("grouping") == "everybody" {
        return;
    }
    let text = labels.grouping(row.text("grouping")).to_owned();
    let last = grid.rows.iter().rev().find(|row| row.cells.is_empty());
    if last.is_none_or(|last| last.label != text) {
        grid.rows.push(GridRow { label: text, cells: Vec::new() });
    }
}

fn label(row: &Row<'_>) -> String {
    if row.text("grouping") == "everybody" {
        "Everybody".to_owned()
    } else {
        format!("  {}", row.text("group"))
    }
}

fn cell_text(row: &Row<'_>, per: f64, places: usize, notes: &mut Notes) -> String {
    let Some(value) = row.shown("value") else { return notes.letter(row.text("withheld")) };
    let number = |value: f64| aligned(value * per, places);
    match (row.shown("lower"), row.shown("upper")) {
        (Some(lower), Some(upper)) => {
            let between = if lower < 0.0 { " to " } else { "–" };
            format!("{} ({}{between}{})", number(value), number(lower), number(upper))
        }
        _ => number(value),
    }
}

/// Reasons to withhold, each told once.
#[derive(Default)]
struct Notes(Vec<String>);

impl Notes {
    fn letter(&mut self, reason: &str) -> String {
        let position = self.0.iter().position(|known| known == reason).unwrap_or_else(|| {
            self.0.push(reason.to_owned());
            self.0.len() - 1
        });
        format!("[{}]", Self::name(position))
    }

    fn name(position: usize) -> char {
        char::from(b'a' + (position % 26) as u8)
    }

    fn lines(&self) -> Vec<String> {
        let line =
            |(position, reason): (usize, &String)| format!("[{}] withheld: {reason}", Self::name(position));
        self.0.iter().enumerate().map(line).collect()
    }
}

/// One table for each claim about a threshold.
fn claims(table: &Table, stated: &Stated<'_>, labels: &Labels) -> Vec<Grid> {
    let mut claims: Vec<&str> = Vec::new();
    for row in table.iter().filter(|row| {
        row.real("threshold") == Some(stated.value)
            && row.text("side") == stated.side
            && row.text("group") == ALL_GROUPS
    }) {
        if !claims.contains(&row.text("claim")) {
            claims.push(row.text("claim"));
        }
    }
    claims.into_iter().map(|claim| one_claim(table, claim, labels)).collect()
}

fn one_claim(table: &Table, claim: &str, labels: &Labels) -> Grid {
    let columns = ["n", "estimate", "verdict", "p", "p by Holm"].map(str::to_owned).to_vec();
    let mut grid = Grid { title: format!("Claim: {claim}"), columns, ..Grid::default() };
    let mut notes = Notes::default();
    let rows: Vec<Row<'_>> =
        table.iter().filter(|row| row.text("claim") == claim && row.text("group") != ALL_GROUPS).collect();
    let per = |row: &Row<'_>| {
        let share = ["sensitivity", "specificity", "ppv", "npv"].contains(&row.text("measure"));
        if share { 100.0 } else { 1.0 }
    };
    let percent = rows.iter().any(|row| row.text("value_unit") == "%");
    let middle: Vec<f64> = rows.iter().filter_map(|row| row.shown("value")).collect();
    for row in &rows {
        heading(&mut grid, row, labels);
        let places = match per(row) {
            _ if percent => 1,
            100.0 => 0,
            _ => decimals(&middle, 3).min(4).max(places(1000.0)),
        };
        let p = |column: &str| row.real(column).map(p_text).unwrap_or_default();
        let cells = vec![
            row.whole("n").map(whole).unwrap_or_default(),
            cell_text(row, per(row), places, &mut notes),
            row.text("verdict").to_owned(),
            p("p"),
            p("p_holm"),
        ];
        grid.rows.push(GridRow { label: label(row), cells });
    }
    grid.notes = notes.lines();
    grid
}

fn p_text(p: f64) -> String {
    if p < 0.001 { "< 0.001".to_owned() } else { significant(p, 2) }
}

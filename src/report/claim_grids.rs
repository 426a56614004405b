//! The tables of a threshold, as a reader sees them: rounded, one group a row, withheld cells by a letter.

use serde::Serialize;

use super::claim::{ClaimInput, Stated, in_unit};
use super::claim_share_grid::shares;
use super::claim_verdict_grid::one_claim;
use crate::chart::Labels;
use crate::table::estimate::{in_a_cell, of_share, of_value};
use crate::table::number::{decimals, whole};
use crate::table::reasons::explained;
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

/// A column: its heading and its measure.
pub(super) struct Column {
    heading: String,
    measure: &'static str,
}

pub(super) fn column(heading: impl Into<String>, measure: &'static str) -> Column {
    Column { heading: heading.into(), measure }
}

/// The tables of every threshold; below the first of them, who is in none of its groups and which groups could be finer.
pub(super) fn grids<'n>(
    input: &ClaimInput<'_>,
    stated: &[Stated<'_>],
    groups: impl Iterator<Item = &'n String>,
) -> Vec<Grid> {
    let (table, labels) = (input.table, input.labels);
    let of_threshold = |(position, s): (usize, &Stated<'_>)| {
        let mut grids = vec![shares(table, s, labels)];
        grids.extend(accuracy(table, s, labels));
        // They are the same whatever the threshold.
        grids.extend(best_cutoffs(input, s).filter(|_| position == 0));
        grids.extend(s.claims(table).into_iter().map(|claim| one_claim(input, (s, claim))));
        grids
    };
    let mut grids: Vec<Grid> = stated.iter().enumerate().flat_map(of_threshold).collect();
    if let Some(first) = grids.first_mut() {
        first.notes.extend(groups.cloned());
    }
    grids
}

fn accuracy(table: &Table, stated: &Stated<'_>, labels: &Labels) -> Vec<Grid> {
    let Some(first) = stated.rows(table, "sensitivity").into_iter().next() else { return Vec::new() };
    let at = in_unit(labels, stated.index, stated.value);
    let [beyond, short] = stated.sides(labels);
    let sign = format!("{} {beyond} {at}", labels.index_label(stated.index));
    let title = format!("{sign} as a sign of {}", labels.outcome(first.text("outcome")));
    let shares = [
        column("have it, %", "prevalence"),
        column("Se, %", "sensitivity"),
        column("Sp, %", "specificity"),
        column("PPV, %", "ppv"),
        column("NPV, %", "npv"),
    ];
    let ratios = [column("LR+", "lr_positive"), column("LR−", "lr_negative")];
    let mut finds = fill(table, stated, labels, (title.clone(), "outcome known", &shares));
    finds.notes.push(format!(
        "Se (sensitivity): of those with the outcome, how many are {beyond} {at}: found. Sp (specificity): of those without it, \
         how many are {short} {at}: rightly left out."
    ));
    finds.notes.push(format!(
        "have it: of all whose outcome is known. PPV (positive predictive value): of those {beyond} {at}, how many have the outcome. NPV (negative predictive value): of \
         those {short} {at}, how many do not."
    ));
    let title = format!("{title}: likelihood ratios");
    let mut second = fill(table, stated, labels, (title, "outcome known", &ratios));
    second.notes.push(format!(
        "LR+, LR− (likelihood ratios): how many times as often people with the outcome are {beyond} (LR+) or {short} (LR−) {at} \
         as people without it; 1 tells nothing."
    ));
    vec![finds, second]
}

/// Each group's own cutoffs, counted and smoothed.
fn best_cutoffs(input: &ClaimInput<'_>, stated: &Stated<'_>) -> Option<Grid> {
    let first = stated.rows(input.table, "best_cutoff").into_iter().next()?;
    let columns = [column("best cutoff", "best_cutoff"), column("smoothed", "smoothed_cutoff")];
    let title = format!(
        "Best cutoff of {} in each group for {}",
        input.labels.index_with_unit(stated.index),
        input.labels.outcome(first.text("outcome"))
    );
    let mut grid = fill(input.table, stated, input.labels, (title, "outcome known", &columns));
    grid.notes.push(format!(
        "Best cutoff: the group's own, counted, by the rule “{}”; it jumps from one person's value to another's. Smoothed: of the \
         largest Youden index between smoothed distributions; it is steadier, and tests between groups rest on it.",
        input.rule
    ));
    Some(grid)
}

/// Rows in the order of the table, the measures of a group side by side.
pub(super) fn fill(
    table: &Table,
    stated: &Stated<'_>,
    labels: &Labels,
    (title, people, columns): (String, &str, &[Column]),
) -> Grid {
    let by_column: Vec<Vec<Row<'_>>> = columns.iter().map(|c| stated.rows(table, c.measure)).collect();
    let mut grid = Grid { title, ..Grid::default() };
    grid.columns.push(people.to_owned());
    grid.columns.extend(columns.iter().map(|c| c.heading.clone()));
    let mut notes = Notes::default();
    let places: Vec<usize> = by_column.iter().map(|rows| places_of(rows, labels)).collect();
    // The shares of an outcome have denominators of their own; a likelihood ratio counts all whose outcome is known.
    let of_outcome = columns.iter().any(|c| c.measure == "sensitivity");
    let counted = stated.rows(table, if of_outcome { "lr_positive" } else { columns[0].measure });
    for (position, first) in by_column.first().into_iter().flatten().enumerate() {
        heading(&mut grid, first, labels);
        let n = counted.get(position).and_then(|row| row.whole("n"));
        let mut texts = vec![n.map(whole).unwrap_or_default()];
        for (rows, places) in by_column.iter().zip(&places) {
            let cell = rows.get(position);
            texts.push(cell.map_or_else(String::new, |row| cell_text(row, *places, &mut notes)));
        }
        grid.rows.push(GridRow { label: label(first), cells: texts });
    }
    grid.notes = notes.lines();
    grid
}

/// Measures of accuracy in per cent are read in whole per cent, shares with a decimal, values of an index with three digits.
pub(super) fn places_of(rows: &[Row<'_>], labels: &Labels) -> usize {
    let Some(first) = rows.first() else { return 0 };
    match (first.text("value_unit"), first.text("measure")) {
        ("%", "share" | "share_beyond" | "percentile") => labels.percent_places(1),
        ("%", _) => 0,
        _ => decimals(&rows.iter().filter_map(|row| row.shown("value")).collect::<Vec<_>>(), 3).min(4),
    }
}

/// A heading where a grouping begins.
pub(super) fn heading(grid: &mut Grid, row: &Row<'_>, labels: &Labels) {
    if row.text("grouping") == "everybody" {
        return;
    }
    let text = labels.grouping(row.text("grouping")).to_owned();
    let last = grid.rows.iter().rev().find(|row| row.cells.is_empty());
    if last.is_none_or(|last| last.label != text) {
        grid.rows.push(GridRow { label: text, cells: Vec::new() });
    }
}

pub(super) fn label(row: &Row<'_>) -> String {
    if row.text("grouping") == "everybody" {
        "Everybody".to_owned()
    } else {
        format!("  {}", row.text("group"))
    }
}

pub(super) fn cell_text(row: &Row<'_>, places: usize, notes: &mut Notes) -> String {
    let Some(value) = row.shown("value") else { return notes.letter(row.text("withheld")) };
    let interval = row.shown("lower").zip(row.shown("upper"));
    let written = if row.text("value_unit") == "%" { of_share } else { of_value };
    in_a_cell(written(value, interval, places))
}

/// Reasons to withhold, each told once.
#[derive(Debug, Default)]
pub(super) struct Notes(Vec<String>);

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

    pub fn lines(&self) -> Vec<String> {
        let line = |(position, reason): (usize, &String)| {
            format!("[{}] withheld: {}", Self::name(position), explained(reason))
        };
        self.0.iter().enumerate().map(line).collect()
    }
}

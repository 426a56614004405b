//! `cutspan list`: the rows that a study can name.

use anyhow::{Result, bail};
use clap::{Args, ValueEnum};
use comfy_table::{Table, TableComponent, presets};
use serde_json::{Map, Value};

use super::list_published::published_rows;
use super::list_rows::{Listing, listing};
use super::say::{columns, say};
use crate::definitions::{indices, nearest};

/// Width of the text when the terminal does not say.
const USUAL_WIDTH: usize = 100;
/// Blanks between two columns of a table.
const GAP: usize = 2;

/// Print the rows that a study can name: indices, outcomes, exclusions, groups, rules …
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  cutspan list                                   what there is to list
  cutspan list indices                           indices with their formulas
  cutspan list methods                           what the words in the tables' columns mean
  cutspan list published --index homa_ir         cutoffs in print of one index
  cutspan list outcomes --format csv > rows.csv   every column, for a spreadsheet

Output: a table on standard output, or one row below the other where the screen is narrow. Nothing is read or written.")]
pub struct ListArgs {
    /// What to list; without it, what there is
    kind: Option<RowKind>,
    /// Text shows the main columns; csv and json hold all of them
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Of the cutoffs in print, only those that speak of this index, converted ones too
    #[arg(long, value_name = "NAME")]
    index: Option<String>,
}

/// The registries.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum RowKind {
    /// indices and their formulas
    Indices,
    /// outcomes and the items they count
    Outcomes,
    /// reasons to leave people out
    Exclusions,
    /// variables that split people into groups
    Groups,
    /// rules that pick a cutoff
    Rules,
    /// waist limits by population
    WaistTables,
    /// quantities that a table of one's own can fill, and their units
    Quantities,
    /// cutoffs in print, by population and rule
    Published,
    /// surveys the program knows, and their cycles
    Surveys,
    /// populations whose ages groups can be given when they are compared on equal terms
    Standards,
    /// what the words in the columns method and interval of the tables mean
    Methods,
    /// laboratory methods that an assay route can convert to, and the cycles that hold them
    Assays,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    Text,
    Csv,
    Json,
}

pub fn run(args: &ListArgs) -> Result<()> {
    let listing = match (args.kind, &args.index) {
        (Some(RowKind::Published), Some(index)) => published_rows(Some(known_index(index)?)),
        (_, Some(_)) => bail!("--index narrows the cutoffs in print: cutspan list published --index homa_ir"),
        (kind, None) => kind.map_or_else(contents, listing),
    };
    match args.format {
        Format::Text => say(text(&listing)),
        Format::Csv => say(csv(&listing)?),
        Format::Json => say(json(&listing)? + "\n"),
    }
}

/// The name of an index that exists.
fn known_index(name: &str) -> Result<&str> {
    let names = || indices().iter().map(|row| row.name.as_str());
    match names().find(|known| *known == name) {
        Some(known) => Ok(known),
        None => bail!("unknown index \"{name}\". {}", nearest::hint(name, names())),
    }
}

/// What there is to list.
fn contents() -> Listing {
    let row = |kind: &RowKind| {
        let value = kind.to_possible_value()?;
        let what = value.get_help().map(ToString::to_string).unwrap_or_default();
        Some(vec![value.get_name().to_owned(), what, listing(*kind).rows.len().to_string()])
    };
    Listing {
        columns: &["name", "what", "rows"],
        in_text: 3,
        rows: RowKind::value_variants().iter().filter_map(row).collect(),
        note: "cutspan list NAME prints the rows",
    }
}

/// A table of the main columns where it fits the terminal, else one row below the other.
fn text(listing: &Listing) -> String {
    let listing = &told(listing);
    let fits = width(listing) <= columns().unwrap_or(USUAL_WIDTH);
    let rows = if fits { table(listing) } else { records(listing) };
    if listing.note.is_empty() { rows } else { format!("{rows}\n{}\n", listing.note) }
}

/// The rows with the form of a number beside it: who reads the first line only must not take it for another.
fn told(listing: &Listing) -> Listing {
    let form = listing.columns.iter().position(|column| *column == "form");
    let rows = listing.rows.iter().map(|row| {
        let mut cells = row.clone();
        if let Some(form) = form.map(|form| &row[form]).filter(|form| !form.is_empty()) {
            cells[0] = format!("{} ({form})", row[0]);
        }
        cells
    });
    Listing { rows: rows.collect(), ..*listing }
}

/// Width of the table with every cell on one line.
fn width(listing: &Listing) -> usize {
    let longest = |column: usize| {
        let cells = listing.rows.iter().map(|row| row[column].chars().count());
        cells.chain([listing.columns[column].len()]).max().unwrap_or_default() + GAP
    };
    (0..listing.in_text).map(longest).sum()
}

fn table(listing: &Listing) -> String {
    let mut table = Table::new();
    table.load_preset(presets::NOTHING);
    for line in [TableComponent::HeaderLines, TableComponent::MiddleHeaderIntersections] {
        table.set_style(line, '─');
    }
    table.set_header(&listing.columns[..listing.in_text]);
    for row in &listing.rows {
        table.add_row(&row[..listing.in_text]);
    }
    format!("{table}\n")
}

fn records(listing: &Listing) -> String {
    let record = |row: &Vec<String>| {
        let parts = listing.columns.iter().zip(row).take(listing.in_text).skip(1);
        let lines =
            parts.filter(|(_, cell)| !cell.is_empty()).map(|(column, cell)| format!("  {column}: {cell}\n"));
        format!("{}\n{}", row[0], lines.collect::<String>())
    };
    listing.rows.iter().map(record).collect::<Vec<_>>().join("\n")
}

fn csv(listing: &Listing) -> Result<Vec<u8>> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(listing.columns)?;
    for row in &listing.rows {
        writer.write_record(row)?;
    }
    Ok(writer.into_inner().map_err(csv::IntoInnerError::into_error)?)
}

fn json(listing: &Listing) -> Result<String> {
    let object = |row: &Vec<String>| {
        let pairs = listing.columns.iter().zip(row);
        Value::Object(
            pairs.map(|(name, cell)| ((*name).to_owned(), Value::from(cell.as_str()))).collect::<Map<_, _>>(),
        )
    };
    Ok(serde_json::to_string_pretty(&listing.rows.iter().map(object).collect::<Vec<_>>())?)
}

//! Several files about the same people, put side by side by their ids.

use std::collections::HashMap;

use polars::prelude::{ChunkedArray, Float64Chunked, NewChunkedArray, StringChunked};

use super::raw::RawTable;
use super::{FlowLine, SourceError};

/// Files joined by id, in the order of the first.
#[derive(Debug)]
pub(super) struct Joined {
    pub ids: Vec<String>,
    tables: Vec<RawTable>,
    /// For each table, the row of each person; `None` when all rows stand as they are.
    rows: Vec<Option<Vec<u32>>>,
    pub flow: Vec<FlowLine>,
}

/// Joins the tables of `source`. An empty or repeated id is an error, and so are people without a row
/// in every file unless `allow_unmatched`, which counts and drops them.
pub(super) fn join(
    source: &str,
    tables: Vec<RawTable>,
    id: &str,
    allow_unmatched: bool,
) -> Result<Joined, SourceError> {
    let ids = tables.iter().map(|table| ids(table, id)).collect::<Result<Vec<_>, _>>()?;
    let places = tables.iter().zip(&ids).map(|(table, ids)| places(table, id, ids));
    let places = places.collect::<Result<Vec<_>, _>>()?;
    let mut flow = vec![line(source, format!("in {}", short_name(&tables[0])), ids[0].len())];
    let mut kept: Vec<&str> = ids[0].iter().map(String::as_str).collect();
    for (later, place) in tables.iter().zip(&places).skip(1) {
        let before = kept.len();
        kept.retain(|person| place.contains_key(person));
        if !allow_unmatched && (kept.len() < before || place.len() > before) {
            let first = (&tables[0], &places[0], ids[0].as_slice());
            return Err(unmatched(source, first, later, place));
        }
        flow.push(line(source, format!("in {} too", short_name(later)), kept.len()));
    }
    let row = |place: &HashMap<&str, u32>| kept.iter().map(|person| place[person]).collect::<Vec<u32>>();
    let single = tables.len() == 1;
    let rows = places.iter().map(|place| (!single).then(|| row(place))).collect();
    let ids = kept.iter().map(|person| (*person).to_owned()).collect();
    Ok(Joined { ids, tables, rows, flow })
}

impl Joined {
    /// The column as numbers, one for each person.
    pub fn numbers(&self, column: &str, missing: &[String]) -> Result<Float64Chunked, SourceError> {
        let (table, rows) = self.holder(column)?;
        let cells = table.numbers(column, missing)?;
        let Some(rows) = rows else { return Ok(cells) };
        let all: Vec<Option<f64>> = cells.iter().collect();
        Ok(ChunkedArray::from_iter_options(column.into(), rows.iter().map(|r| all[*r as usize])))
    }

    /// The column as text, one for each person.
    pub fn texts(&self, column: &str, missing: &[String]) -> Result<StringChunked, SourceError> {
        let (table, rows) = self.holder(column)?;
        let cells = table.texts(column, missing)?;
        let Some(rows) = rows else { return Ok(cells) };
        let all: Vec<Option<&str>> = cells.iter().collect();
        Ok(ChunkedArray::from_iter_options(column.into(), rows.iter().map(|r| all[*r as usize])))
    }

    /// Columns read whose names begin like this, in the order of the files.
    pub fn names_beginning(&self, beginning: &str) -> Vec<String> {
        let columns = self.tables.iter().flat_map(|table| &table.columns);
        columns.map(|(name, _)| name).filter(|name| name.starts_with(beginning)).cloned().collect()
    }

    /// An error about one person's cell.
    pub fn cell_error(&self, person: usize, column: &str, found: &str, expected: &str) -> SourceError {
        match self.holder(column) {
            Ok((table, rows)) => {
                let row = rows.map_or(person, |rows| rows[person] as usize);
                table.cell_error(row, column, found, expected)
            }
            Err(error) => error,
        }
    }

    /// The one table that has the column.
    fn holder(&self, column: &str) -> Result<(&RawTable, Option<&Vec<u32>>), SourceError> {
        let mut holders = self.tables.iter().zip(&self.rows).filter(|(table, _)| table.has(column));
        match (holders.next(), holders.next()) {
            (Some((table, rows)), None) => Ok((table, rows.as_ref())),
            (Some((one, _)), Some((other, _))) => Err(SourceError::File {
                file: one.file.clone(),
                message: format!("column `{column}` stands in {} too; rename one of them", other.file),
            }),
            _ => {
                let names = |part: fn(&RawTable) -> String| self.tables.iter().map(part).collect::<Vec<_>>();
                Err(SourceError::Column {
                    file: names(|t| t.file.clone()).join(", "),
                    column: column.to_owned(),
                    known: names(|t| t.names.join(", ")).join(", "),
                })
            }
        }
    }
}

fn ids(table: &RawTable, id: &str) -> Result<Vec<String>, SourceError> {
    let cells = table.texts(id, &[])?;
    let present = |(row, cell): (usize, Option<&str>)| {
        cell.map(str::to_owned).ok_or_else(|| table.cell_error(row, id, "", "an id for every person"))
    };
    cells.iter().enumerate().map(present).collect()
}

fn places<'a>(table: &RawTable, id: &str, ids: &'a [String]) -> Result<HashMap<&'a str, u32>, SourceError> {
    let mut places = HashMap::with_capacity(ids.len());
    for (row, person) in ids.iter().enumerate() {
        if let Some(first) = places.insert(person.as_str(), row as u32) {
            let expected = format!("each id once; it stands in {} too", table.place(first as usize));
            return Err(table.cell_error(row, id, person, &expected));
        }
    }
    Ok(places)
}

fn unmatched(
    source: &str,
    (first, first_places, first_ids): (&RawTable, &HashMap<&str, u32>, &[String]),
    later: &RawTable,
    later_places: &HashMap<&str, u32>,
) -> SourceError {
    let lost: Vec<&String> = first_ids.iter().filter(|id| !later_places.contains_key(id.as_str())).collect();
    let new = later_places.keys().filter(|id| !first_places.contains_key(**id)).count();
    let example = lost.first().map_or(String::new(), |id| format!(" (the first is `{id}`)"));
    let message = format!(
        "the files do not hold the same people: {} of {}{example} have no row in {}, and {new} of the latter none in \
         the former; correct the files, or set allow_unmatched = true to leave these people out and count them",
        lost.len(),
        first.file,
        later.file,
    );
    SourceError::source(source, message)
}

fn line(source: &str, step: String, people: usize) -> FlowLine {
    FlowLine { source: source.to_owned(), step, people }
}

fn short_name(table: &RawTable) -> String {
    let path = std::path::Path::new(&table.file);
    path.file_name().map_or_else(|| table.file.clone(), |name| name.to_string_lossy().into_owned())
}

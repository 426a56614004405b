//! Several files about the same people, put side by side by their ids.

use std::collections::HashMap;

use polars::prelude::{ChunkedArray, Float64Chunked, NewChunkedArray, StringChunked};

use super::error::Problems;
use super::raw::{Measured, RawTable};
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
/// in every file unless `allow_unmatched`, which counts and drops them. Of a single table, what is wrong with its ids
/// is added to `problems`, so that the rest of it can be looked at too.
pub(super) fn join(
    source: &str,
    mut tables: Vec<RawTable>,
    (id, allow_unmatched): (&str, bool),
    problems: &mut Problems,
) -> Result<Joined, SourceError> {
    if tables.len() == 1
        && let Some(table) = tables.pop()
    {
        return Ok(single(source, table, id, problems));
    }
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
    let rows = places.iter().map(|place| Some(row(place))).collect();
    let ids = kept.iter().map(|person| (*person).to_owned()).collect();
    Ok(Joined { ids, tables, rows, flow })
}

/// A table by itself: its rows as they stand.
fn single(source: &str, table: RawTable, id: &str, problems: &mut Problems) -> Joined {
    let ids = problems.keep(ids(&table, id));
    if let Some(ids) = &ids {
        problems.keep(places(&table, id, ids));
    }
    let ids = ids.unwrap_or_else(|| vec![String::new(); table.rows]);
    let flow = vec![line(source, format!("in {}", short_name(&table)), ids.len())];
    Joined { ids, tables: vec![table], rows: vec![None], flow }
}

impl Joined {
    /// The column as numbers, one for each person.
    pub fn numbers(&self, column: &str, missing: &[String]) -> Result<Float64Chunked, SourceError> {
        Ok(self.measured(column, missing, None)?.values)
    }

    /// The same, with the people whose value is given as below a limit by a text that begins with `mark`.
    pub fn measured(
        &self,
        column: &str,
        missing: &[String],
        mark: Option<&str>,
    ) -> Result<Measured, SourceError> {
        let (table, rows) = self.holder(column)?;
        let cells = table.measured(column, missing, mark)?;
        let Some(rows) = rows else { return Ok(cells) };
        let all: Vec<Option<f64>> = cells.values.iter().collect();
        let limit_of: HashMap<usize, f64> = cells.below.iter().copied().collect();
        let below = rows.iter().enumerate();
        let below = below.filter_map(|(person, row)| Some((person, *limit_of.get(&(*row as usize))?)));
        let values = rows.iter().map(|row| all[*row as usize]);
        Ok(Measured {
            values: ChunkedArray::from_iter_options(column.into(), values),
            below: below.collect(),
        })
    }

    /// The column as text, one for each person.
    pub fn texts(&self, column: &str, missing: &[String]) -> Result<StringChunked, SourceError> {
        let (table, rows) = self.holder(column)?;
        let cells = table.exact_texts(column, missing)?;
        let Some(rows) = rows else { return Ok(cells) };
        let all: Vec<Option<&str>> = cells.iter().collect();
        Ok(ChunkedArray::from_iter_options(column.into(), rows.iter().map(|r| all[*r as usize])))
    }

    /// Names of all columns of the files, read or not.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.tables.iter().flat_map(|table| &table.names).map(String::as_str)
    }

    /// Columns read whose names begin like this, in the order of the files.
    pub fn names_beginning(&self, beginning: &str) -> Vec<String> {
        let columns = self.tables.iter().flat_map(|table| &table.columns);
        columns.map(|(name, _)| name).filter(|name| name.starts_with(beginning)).cloned().collect()
    }

    /// An error about one person's cell.
    pub fn cell_error(&self, person: usize, column: &str, found: &str, expected: &str) -> SourceError {
        self.cells_error(column, &[(person, found.to_owned())], expected)
    }

    /// An error about the cells of several people in a column.
    pub fn cells_error(&self, column: &str, found: &[(usize, String)], expected: &str) -> SourceError {
        match self.holder(column) {
            Ok((table, rows)) => {
                let row = |person: usize| rows.map_or(person, |rows| rows[person] as usize);
                let found: Vec<(usize, String)> =
                    found.iter().map(|(person, text)| (row(*person), text.clone())).collect();
                table.cells_error(column, &found, expected)
            }
            Err(error) => error,
        }
    }

    /// Where a person's cell of a column stands: `line 17`.
    pub fn place(&self, person: usize, column: &str) -> String {
        self.holder(column).map_or_else(
            |_| String::new(),
            |(table, rows)| table.place(rows.map_or(person, |rows| rows[person] as usize)),
        )
    }

    /// How many times a text stands in a column.
    pub fn count(&self, column: &str, text: &str) -> usize {
        let Ok((table, _)) = self.holder(column) else { return 0 };
        table
            .texts(column, &[])
            .map_or(0, |cells| cells.iter().flatten().filter(|cell| *cell == text).count())
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
                Err(SourceError::Columns {
                    file: names(|t| t.file.clone()).join(", "),
                    columns: vec![column.to_owned()],
                    known: names(|t| t.names.join(", ")).join(", "),
                })
            }
        }
    }
}

fn ids(table: &RawTable, id: &str) -> Result<Vec<String>, SourceError> {
    let cells = table.exact_texts(id, &[])?;
    let empty: Vec<(usize, String)> = cells
        .iter()
        .enumerate()
        .filter(|(_, cell)| cell.is_none())
        .map(|(row, _)| (row, String::new()))
        .collect();
    if !empty.is_empty() {
        return Err(table.cells_error(id, &empty, "an id for every person"));
    }
    Ok(cells.iter().flatten().map(str::to_owned).collect())
}

fn places<'a>(table: &RawTable, id: &str, ids: &'a [String]) -> Result<HashMap<&'a str, u32>, SourceError> {
    let mut places = HashMap::with_capacity(ids.len());
    let mut again = Vec::new();
    for (row, person) in ids.iter().enumerate() {
        if let Some(first) = places.get(person.as_str()) {
            again.push((row, person.clone(), *first));
        } else {
            places.insert(person.as_str(), row as u32);
        }
    }
    match again.as_slice() {
        [] => Ok(places),
        [(row, person, first)] => {
            let expected = format!("each id once; it stands in {} too", table.place(*first as usize));
            Err(table.cell_error(*row, id, person, &expected))
        }
        several => {
            let found: Vec<(usize, String)> = several.iter().map(|(row, id, _)| (*row, id.clone())).collect();
            Err(table.cells_error(id, &found, "each id once; these stand in an earlier row too"))
        }
    }
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

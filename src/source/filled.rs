//! Columns of a table in which nobody, or hardly anybody, has a value.

use polars::prelude::{BooleanChunked, Column, DataFrame, DataType, PolarsResult};

use super::columns::Values;
use super::join::Joined;
use super::{Loaded, SourceError};
use crate::definitions::Quantity;
use crate::notice::Notice;
use crate::study::{MappedColumn, Source, Study, TableSource};

/// Fewer people than this are too few for any percentile or share.
const PEOPLE: usize = 30;
/// Of a hundred people as few with a value are hardly any, however many they are.
const PERCENT: usize = 5;

/// A caution when nobody has a value in a column, or hardly anybody. `fewest`: the fewest people that may be counted.
pub(super) fn notice(
    source: &TableSource,
    joined: &Joined,
    mapped: &MappedColumn,
    (values, fewest): (&Values, Option<i64>),
) -> Option<Notice> {
    let (people, present) = (joined.ids.len(), values.present());
    let column = format!("{} from column `{}`", mapped.quantity, mapped.column);
    let caution = |kind, message| Some(Notice::caution(kind, source.name.as_str(), message));
    if present == 0 {
        let why = why_nobody(joined, mapped)?;
        let message = format!(
            "{column}: nobody has a value, because {why}; whatever reads it is unknown for everybody"
        );
        return caution("column_empty", message);
    }
    let few = 2 * present < people && present < PEOPLE;
    if !few && 100 * present >= PERCENT * people {
        return None;
    }
    let who = match fewest {
        None => format!("only {present} of {people} people have a value"),
        Some(fewest) if (present as i64) < fewest => "hardly anybody has a value".to_owned(),
        // A number of values would tell how many are missing.
        Some(_) => {
            format!("only about {:.0} % of the people have a value", 100.0 * present as f64 / people as f64)
        }
    };
    let message = format!("{column}: {who}; whatever reads it is unknown for the others");
    caution("column_nearly_empty", message)
}

fn why_nobody(joined: &Joined, mapped: &MappedColumn) -> Option<String> {
    let texts = joined.texts(&mapped.column, &[]).ok()?;
    Some(match texts.iter().flatten().next() {
        Some(text) => format!("every text in it, such as `{text}`, is listed under `missing`"),
        None => "it is empty".to_owned(),
    })
}

/// Notes in the tables of a study which of their columns hold a value of nobody, as the files read show it.
pub fn note_empty(study: &mut Study, loaded: &Loaded) -> Result<(), SourceError> {
    let Study { sources, quantities, .. } = study;
    for source in sources {
        let Source::Table(table) = source else { continue };
        let people = of_table(table, loaded).map_err(|e| SourceError::table(&table.name, e))?;
        for column in &mut table.columns {
            let quantity = quantities.iter().find(|quantity| quantity.name == column.quantity);
            column.empty = quantity.is_some_and(|quantity| nobody_has(quantity, &people));
        }
    }
    Ok(())
}

/// The people of a table.
fn of_table(table: &TableSource, loaded: &Loaded) -> PolarsResult<DataFrame> {
    let here: BooleanChunked =
        loaded.frame.column("source")?.str()?.iter().map(|source| source == Some(&*table.name)).collect();
    loaded.frame.filter(&here)
}

/// Whether a quantity is there and missing for everybody.
fn nobody_has(quantity: &Quantity, people: &DataFrame) -> bool {
    let columns = quantity.columns();
    let found: Vec<_> = columns.iter().filter_map(|name| people.column(name).ok()).collect();
    let is_empty =
        |column: &&Column| column.dtype() == &DataType::Null || column.null_count() == people.height();
    !found.is_empty() && found.iter().all(is_empty)
}

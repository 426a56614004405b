//! Tables as the page shows them: few columns, labels for names, numbers rounded for reading. The
//! files beside the page hold everything.

mod accuracy;
mod choices;
mod compare;
mod cutoffs;
mod indices;
mod people;
mod percentiles;
mod side_by_side;
mod unknowns;

use serde::Serialize;

use crate::chart::Labels;
use crate::definitions::answer::unit_in_print;
use crate::table::number::{fixed, p_value, reading, significant, whole};
use crate::table::{Row, Table, small};

use super::samples;

/// Rows shown on the page; a longer table is cut and says so.
const MOST_ROWS: usize = 60;
/// Tables up to this length are shown open.
const OPEN_ROWS: usize = 24;

/// Columns of a table on the page, as many as its style sheet can align.
const MOST_COLUMNS: usize = 16;

/// How the cells of a column are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Write {
    Text,
    /// A unit, with the sign for micro.
    Unit,
    Index,
    /// Names of indices joined by commas.
    Indices,
    Outcome,
    Population,
    Grouping,
    Rule,
    People,
    /// Three significant digits.
    Number,
    /// A p value.
    P,
    /// Five significant digits, as tolerances ask for.
    Fine,
    /// One decimal.
    Percent,
    /// The estimate with its interval, three significant digits; the reason when withheld.
    Estimate,
    /// The same with one decimal, for percentages.
    PercentEstimate,
}

struct Column {
    name: &'static str,
    heading: &'static str,
    write: Write,
}

const fn column(name: &'static str, heading: &'static str, write: Write) -> Column {
    Column { name, heading, write }
}

const INDEX: Column = column("index", "index", Write::Index);
const OUTCOME: Column = column("outcome", "outcome", Write::Outcome);
const POPULATION: Column = column("population", "population", Write::Population);
const GROUPING: Column = column("grouping", "by", Write::Grouping);
const GROUP: Column = column("group", "group", Write::Text);
const RULE: Column = column("rule", "rule", Write::Rule);
const N: Column = column("n", "n", Write::People);
const WITH: Column = column("n_with", "with outcome", Write::People);
const THRESHOLD: Column = column("threshold", "threshold", Write::Number);
const MEASURE: Column = column("measure", "measure", Write::Text);

/// A table and the columns shown of it.
type Shown = (&'static str, &'static [Column]);

/// The tables shown, by topic, in the order of the page. A table that is not listed is linked only.
const TOPICS: &[&[Shown]] = &[
    people::VIEWS,
    cutoffs::VIEWS,
    choices::VIEWS,
    compare::VIEWS,
    indices::VIEWS,
    unknowns::VIEWS,
    side_by_side::VIEWS,
    percentiles::VIEWS,
    accuracy::VIEWS,
];

fn shown() -> impl Iterator<Item = Shown> {
    TOPICS.iter().flat_map(|topic| topic.iter().copied())
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct View {
    pub name: &'static str,
    pub title: &'static str,
    pub open: bool,
    pub headings: Vec<Heading>,
    pub rows: Vec<Vec<CellText>>,
    /// Rows of the file.
    pub total: usize,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct Heading {
    text: &'static str,
    number: bool,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct CellText {
    text: String,
    withheld: bool,
}

impl View {
    /// The view less the columns in which no row has anything.
    pub(super) fn without_empty_columns(self) -> Self {
        let filled: Vec<bool> = (0..self.headings.len())
            .map(|column| self.rows.iter().any(|row| !row[column].text.is_empty()))
            .collect();
        Self {
            headings: kept(self.headings, &filled),
            rows: self.rows.into_iter().map(|row| kept(row, &filled)).collect(),
            ..self
        }
    }
}

fn kept<T>(items: Vec<T>, filled: &[bool]) -> Vec<T> {
    items.into_iter().zip(filled).filter_map(|(item, filled)| filled.then_some(item)).collect()
}

/// All tables that have rows: those with a view in its order, then those that are only linked.
pub(super) fn views(tables: &[Table], labels: &Labels) -> Vec<View> {
    let filled = |name: &str| tables.iter().find(|table| table.name == name && !table.rows.is_empty());
    let viewed = shown().filter_map(|(name, columns)| Some(view(filled(name)?, columns, labels)));
    let linked = tables
        .iter()
        .filter(|table| !table.rows.is_empty() && shown().all(|(name, _)| name != table.name))
        .map(|table| view(table, &[], labels));
    viewed.chain(linked).collect()
}

/// A column for the survey, in front, when a table holds more than one.
fn columns_of<'a>(table: &Table, columns: &'a [Column]) -> Vec<&'a Column> {
    const SURVEY: &Column = &column("survey", "sample", Write::Text);
    let several = samples::surveys(std::slice::from_ref(table)).len() > 1;
    let named = columns.first().is_none_or(|first| first.name == SURVEY.name);
    let survey = (several && !named).then_some(SURVEY);
    survey.into_iter().chain(columns).collect()
}

fn view(table: &Table, columns: &[Column], labels: &Labels) -> View {
    let columns = &columns_of(table, columns)[..];
    let mut rows: Vec<Row<'_>> = table.iter().collect();
    if table.position("grouping").is_some() && rows.len() > MOST_ROWS {
        rows.sort_by_key(|row| row.text("grouping") != "everybody");
    }
    rows.truncate(if columns.is_empty() { 0 } else { MOST_ROWS });
    View {
        name: table.name,
        title: table.title,
        open: table.rows.len() <= OPEN_ROWS && !columns.is_empty(),
        headings: columns
            .iter()
            .map(|column| Heading { text: column.heading, number: is_number(column.write) })
            .collect(),
        rows: rows
            .iter()
            .map(|row| columns.iter().map(|column| cell(row, column, labels)).collect())
            .collect(),
        total: table.rows.len(),
    }
}

fn is_number(write: Write) -> bool {
    matches!(
        write,
        Write::People
            | Write::Number
            | Write::P
            | Write::Fine
            | Write::Percent
            | Write::Estimate
            | Write::PercentEstimate
    )
}

fn cell(row: &Row<'_>, column: &Column, labels: &Labels) -> CellText {
    let text = row.text(column.name);
    let estimate = matches!(column.write, Write::Estimate | Write::PercentEstimate);
    let reason = if estimate { reason(row) } else { "" };
    let percent = |value: f64| fixed(value, labels.percent_places(1));
    let text = match column.write {
        _ if !reason.is_empty() => format!("withheld: {reason}"),
        Write::Text => text.to_owned(),
        Write::Unit => unit_in_print(text),
        Write::Index => labels.index_with_unit(text),
        Write::Indices => {
            text.split(", ").map(|name| labels.index_label(name)).collect::<Vec<_>>().join(", ")
        }
        Write::Outcome => labels.outcome(text).to_owned(),
        Write::Population => labels.population(text).to_owned(),
        Write::Grouping => labels.grouping(text).to_owned(),
        Write::Rule => labels.rule(text).to_owned(),
        Write::People => row.whole(column.name).map_or_else(|| unprinted(row).to_owned(), whole),
        Write::Number => printed(row, column.name).map(|value| reading(value, 3)).unwrap_or_default(),
        Write::P => printed(row, column.name).map(p_value).unwrap_or_default(),
        Write::Fine => row.real(column.name).map(|value| significant(value, 5)).unwrap_or_default(),
        Write::Percent => printed(row, column.name).map(percent).unwrap_or_default(),
        Write::Estimate if row.has("unit") && row.text("unit") == "%" && labels.fewest_shown.is_some() => {
            with_interval(row, column.name, &percent)
        }
        Write::Estimate => with_interval(row, column.name, &|value| reading(value, 3)),
        Write::PercentEstimate => with_interval(row, column.name, &percent),
    };
    CellText { text, withheld: !reason.is_empty() }
}

/// The style that aligns columns of numbers: a table says once which they are, rather than each cell.
pub(super) fn alignment() -> String {
    let column = |n: usize| format!(".n{n} :is(td,th):nth-child({n}):not(.withheld)");
    let columns: Vec<String> = (1..=MOST_COLUMNS).map(column).collect();
    format!("{}{{text-align:right;white-space:nowrap;min-width:0}}\n", columns.join(","))
}

/// What stands in place of a count that is not printed; nothing where there is none.
fn unprinted(row: &Row<'_>) -> &'static str {
    let says = |words: &&str| row.text("notices").contains(words);
    let left_out = row.has("notices") && [small::LEFT_OUT, small::BESIDE].iter().any(says);
    if left_out { "not shown" } else { "" }
}

/// Why a row's estimate is withheld; empty for a table without such a column.
fn reason<'a>(row: &Row<'a>) -> &'a str {
    if row.has("withheld") { row.text("withheld") } else { "" }
}

/// What was asked for (a threshold, a percentile) is printed always, an estimate unless withheld.
fn printed(row: &Row<'_>, column: &str) -> Option<f64> {
    let asked = column == "threshold" || (column == "percentile" && row.has("value"));
    if asked || !row.has("withheld") { row.real(column) } else { row.shown(column) }
}

fn with_interval(row: &Row<'_>, column: &str, write: &dyn Fn(f64) -> String) -> String {
    let Some(value) = printed(row, column) else { return String::new() };
    let end = |name: &str| if row.has(name) { printed(row, name) } else { None };
    match (end("lower"), end("upper")) {
        (Some(lower), Some(upper)) => {
            let between = if lower < 0.0 || upper < 0.0 { " to " } else { "–" };
            format!("{} ({}{between}{})", write(value), write(lower), write(upper))
        }
        _ => write(value),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_style_aligns_every_column_that_a_table_may_show() {
        // One more for the sample, in front.
        let widest = shown().map(|(_, columns)| columns.len() + 1).max();
        assert!(widest.is_some_and(|widest| widest > 10 && widest <= MOST_COLUMNS), "{widest:?}");
    }

    #[test]
    fn a_p_value_is_no_row_of_noughts() {
        let mut table = Table::new(crate::table::schema::shape("index_comparison").expect("a table"));
        for p in [3.9e-70, 0.000_003_57, 0.02] {
            table.row().real("p_holm", Some(p)).done().expect("a row");
        }
        let of = |(name, columns): Shown| {
            columns.iter().find(|c| c.name == "p_holm").filter(|_| name == table.name)
        };
        let column = shown().find_map(of).expect("a column of p values");
        let cells: Vec<String> =
            table.iter().map(|row| cell(&row, column, &Labels::default()).text).collect();
        assert_eq!(cells, ["< 0.001", "< 0.001", "0.020"]);
    }

    #[test]
    fn units_are_written_as_in_print() {
        let mut table = Table::new(crate::table::schema::shape("sample").expect("a table"));
        table.row().text("unit", "uU/mL").done().expect("a row");
        let of =
            |(name, columns): Shown| columns.iter().find(|c| c.name == "unit").filter(|_| name == table.name);
        let column = shown().find_map(of).expect("a column of units");
        let cell = table.iter().next().map(|row| cell(&row, column, &Labels::default()).text);
        assert_eq!(cell.as_deref(), Some("µU/mL"));
    }
}

//! Tables as the page shows them: few columns, labels for names, numbers rounded for reading. The
//! files beside the page hold everything.

use serde::Serialize;

use crate::chart::Labels;
use crate::table::number::{fixed, reading, significant, whole};
use crate::table::{Row, Table, small};

use super::samples;

/// Rows shown on the page; a longer table is cut and says so.
const MOST_ROWS: usize = 60;
/// Tables up to this length are shown open.
const OPEN_ROWS: usize = 24;

/// How the cells of a column are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Write {
    Text,
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

/// The columns shown of each table. A table that is not listed is linked only.
const VIEWS: &[(&str, &[Column])] = &[
    (
        "checks",
        &[
            column("check", "check", Write::People),
            column("held", "holds", Write::Text),
            column("table", "table", Write::Text),
            column("column", "column", Write::Text),
            column("where", "where", Write::Text),
            column("greater_than", "greater than where", Write::Text),
            column("found", "found", Write::Fine),
            column("expected", "printed", Write::Fine),
            column("lower", "from", Write::Fine),
            column("upper", "to", Write::Fine),
            column("why_not", "why not", Write::Text),
            column("note", "note", Write::Text),
        ],
    ),
    (
        "participant_flow",
        &[
            column("source", "source", Write::Text),
            column("step", "step", Write::Text),
            column("people", "people left", Write::People),
            column("left_out", "left out", Write::People),
        ],
    ),
    (
        "sample",
        &[
            POPULATION,
            column("variable", "variable", Write::Text),
            column("level", "level", Write::Text),
            N,
            column("value", "weighted share or median", Write::Estimate),
            column("unit", "unit", Write::Text),
        ],
    ),
    (
        "threshold_shares",
        &[
            INDEX,
            THRESHOLD,
            POPULATION,
            GROUPING,
            GROUP,
            N,
            column("share_beyond", "% at or beyond (interval)", Write::PercentEstimate),
            column("percentile", "percentile", Write::Percent),
        ],
    ),
    (
        "cutoffs",
        &[
            INDEX,
            OUTCOME,
            RULE,
            GROUPING,
            GROUP,
            N,
            WITH,
            column("cutoff", "cutoff (interval)", Write::Estimate),
        ],
    ),
    (
        "cutoff_differences",
        &[
            INDEX,
            OUTCOME,
            RULE,
            GROUPING,
            GROUP,
            column("overall", "everybody’s cutoff", Write::Number),
            column("difference", "difference (interval)", Write::Estimate),
            column("ratio", "ratio", Write::Number),
        ],
    ),
    (
        "choice_ranges",
        &[
            INDEX,
            GROUPING,
            GROUP,
            column("kind", "cutoff by", Write::Text),
            column("choice", "choice", Write::Text),
            column("base", "base", Write::Number),
            column("smallest", "smallest", Write::Number),
            column("smallest_choice", "given by", Write::Text),
            column("largest", "largest", Write::Number),
            column("largest_choice", "given by", Write::Text),
            column("ratio", "ratio", Write::Number),
        ],
    ),
    (
        "assay_route_steps",
        &[
            column("route_label", "measured", Write::Text),
            column("quantity", "quantity", Write::Text),
            column("cycle", "release", Write::Text),
            column("path", "methods", Write::Text),
            column("equations", "equations", Write::Text),
            column("source", "source", Write::Text),
            column("converted", "converted", Write::People),
            column("floored", "at the floor", Write::People),
            column("notices", "remarks", Write::Text),
        ],
    ),
    (
        "assay_routes",
        &[
            INDEX,
            GROUPING,
            GROUP,
            column("route_label", "measured", Write::Text),
            column("method", "estimate of", Write::Text),
            N,
            column("estimate", "estimate (interval)", Write::Estimate),
            column("ratio", "ratio to as released", Write::Number),
        ],
    ),
    (
        "cutoff_pairs",
        &[
            INDEX,
            OUTCOME,
            column("method", "cutoff", Write::Rule),
            GROUPING,
            GROUP,
            column("other_group", "less", Write::Text),
            column("ratio", "ratio", Write::Number),
            column("difference", "difference (interval)", Write::Estimate),
            column("p_holm", "adjusted p", Write::Number),
        ],
    ),
    (
        "cutoff_methods",
        &[
            INDEX,
            OUTCOME,
            GROUPING,
            GROUP,
            N,
            WITH,
            column("method", "method", Write::Rule),
            column("cutoff", "cutoff (interval)", Write::Estimate),
            column("youden", "Youden index", Write::Number),
            column("youden_corrected", "corrected", Write::Number),
            column("youden_external", "in PSUs not drawn", Write::Number),
        ],
    ),
    (
        "decomposition",
        &[
            INDEX,
            OUTCOME,
            GROUPING,
            column("adjusted_for", "adjusted for", Write::Text),
            column("groups", "groups", Write::People),
            column("smallest", "smallest cutoff", Write::Estimate),
            column("smallest_group", "in", Write::Text),
            column("largest", "largest cutoff", Write::Number),
            column("largest_group", "in", Write::Text),
            column("ratio", "largest ÷ smallest", Write::Number),
            column("ratio_under_equality", "the same if groups were equal", Write::Number),
            column("log_range_remaining", "% of the range left", Write::Percent),
            column("lost_share", "% of people lost", Write::Percent),
        ],
    ),
    (
        "standardised_cutoffs",
        &[
            INDEX,
            OUTCOME,
            GROUPING,
            GROUP,
            column("adjusted_for", "adjusted for", Write::Text),
            N,
            WITH,
            column("cutoff", "cutoff (interval)", Write::Estimate),
        ],
    ),
    (
        "standardised_values",
        &[
            INDEX,
            GROUPING,
            GROUP,
            column("adjusted_for", "adjusted for", Write::Text),
            MEASURE,
            column("percentile", "percentile", Write::Number),
            THRESHOLD,
            N,
            column("value", "value (interval)", Write::Estimate),
        ],
    ),
    ("auc", &[INDEX, OUTCOME, GROUPING, GROUP, N, WITH, column("auc", "AUC (interval)", Write::Estimate)]),
    (
        "which_index",
        &[
            OUTCOME,
            GROUPING,
            GROUP,
            column("index", "highest AUC", Write::Index),
            N,
            column("auc", "AUC (interval)", Write::Estimate),
            column("not_distinguishable", "not distinguishable from it", Write::Indices),
            column("lower_indices", "lower by more than noise", Write::Indices),
        ],
    ),
    (
        "index_comparison",
        &[
            OUTCOME,
            GROUPING,
            GROUP,
            INDEX,
            column("other_index", "less", Write::Index),
            N,
            column("difference", "difference of AUC (interval)", Write::Estimate),
            column("p_holm", "adjusted p", Write::Number),
        ],
    ),
    (
        "outcome_prevalence",
        &[
            OUTCOME,
            POPULATION,
            GROUPING,
            GROUP,
            N,
            WITH,
            column("n_unknown", "unknown", Write::People),
            column("prevalence", "% with outcome (interval)", Write::PercentEstimate),
        ],
    ),
    (
        "outcome_items",
        &[
            OUTCOME,
            column("item", "item", Write::Outcome),
            GROUPING,
            GROUP,
            N,
            column("n_yes", "yes", Write::People),
            column("n_no", "no", Write::People),
            column("n_unknown", "unknown", Write::People),
            column("unknown_percent", "% unknown", Write::Percent),
            column("decided_yes", "decided yes", Write::People),
            column("decided_no", "decided no", Write::People),
        ],
    ),
    (
        "measurement_limits",
        &[
            column("source", "source", Write::Text),
            column("quantity", "quantity", Write::Text),
            N,
            column("missing", "missing", Write::People),
            column("detection_limit", "detection limit", Write::Number),
            column("at_fill", "at fill", Write::People),
            column("below_limit", "below limit", Write::People),
            column("top_coded", "top-coded", Write::People),
            column("n_yes", "yes", Write::People),
        ],
    ),
    (
        "sample_comparison",
        &[
            column("survey", "sample", Write::Text),
            column("compared_with", "and", Write::Text),
            INDEX,
            OUTCOME,
            POPULATION,
            GROUPING,
            GROUP,
            MEASURE,
            RULE,
            column("percentile", "percentile", Write::Number),
            column("value", "first", Write::Number),
            column("other", "second", Write::Number),
            column("difference", "difference (interval)", Write::Estimate),
            column("ratio", "ratio", Write::Number),
            column("p", "p", Write::Number),
        ],
    ),
    (
        "transfer",
        &[
            column("survey", "derived in", Write::Text),
            column("judged_in", "judged in", Write::Text),
            INDEX,
            OUTCOME,
            GROUPING,
            GROUP,
            column("derived_from", "cutoff of", Write::Text),
            RULE,
            column("cutoff", "cutoff", Write::Number),
            MEASURE,
            column("cutoff_uncertainty", "cutoff held", Write::Text),
            N,
            column("value", "value (interval)", Write::Estimate),
        ],
    ),
    (
        "percentiles",
        &[
            INDEX,
            POPULATION,
            GROUPING,
            GROUP,
            N,
            column("percentile", "percentile", Write::Number),
            column("value", "value (interval)", Write::Estimate),
        ],
    ),
    (
        "reference_limits",
        &[
            INDEX,
            POPULATION,
            GROUPING,
            GROUP,
            N,
            column("limit", "limit", Write::Text),
            column("value", "unweighted, by rank (90 % interval)", Write::Estimate),
            column("log_normal", "log-normal", Write::Number),
            column("weighted", "weighted percentile", Write::Number),
        ],
    ),
    (
        "partition_tests",
        &[
            INDEX,
            POPULATION,
            GROUPING,
            GROUP,
            column("other_group", "and", Write::Text),
            column("z", "z", Write::Estimate),
            column("critical_z", "critical z", Write::Number),
            column("sd_ratio", "ratio of SDs", Write::Number),
            column("advice", "advice", Write::Text),
        ],
    ),
    (
        "geometric_means",
        &[
            INDEX,
            POPULATION,
            GROUPING,
            GROUP,
            N,
            column("value", "geometric mean (interval)", Write::Estimate),
        ],
    ),
    (
        "equivalent_thresholds",
        &[
            INDEX,
            THRESHOLD,
            column("same", "held equal", Write::Text),
            OUTCOME,
            GROUPING,
            GROUP,
            N,
            column("equivalent", "equivalent threshold", Write::Estimate),
        ],
    ),
    (
        "reclassified",
        &[
            INDEX,
            OUTCOME,
            RULE,
            GROUPING,
            GROUP,
            N,
            column("newly_beyond", "% newly beyond", Write::Percent),
            column("no_longer_beyond", "% no longer beyond", Write::Percent),
        ],
    ),
    (
        "cutoff_accuracy",
        &[
            INDEX,
            OUTCOME,
            RULE,
            GROUPING,
            GROUP,
            MEASURE,
            column("cutoff_uncertainty", "cutoff", Write::Text),
            N,
            column("value", "value (interval)", Write::Estimate),
        ],
    ),
    (
        "threshold_accuracy",
        &[
            INDEX,
            THRESHOLD,
            OUTCOME,
            GROUPING,
            GROUP,
            MEASURE,
            N,
            column("value", "value (interval)", Write::Estimate),
        ],
    ),
];

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
    number: bool,
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
    let shown = VIEWS.iter().filter_map(|(name, columns)| Some(view(filled(name)?, columns, labels)));
    let linked = tables
        .iter()
        .filter(|table| !table.rows.is_empty() && VIEWS.iter().all(|(name, _)| *name != table.name))
        .map(|table| view(table, &[], labels));
    shown.chain(linked).collect()
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
    let text = match column.write {
        _ if !reason.is_empty() => format!("withheld: {reason}"),
        Write::Text => text.to_owned(),
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
        Write::Fine => row.real(column.name).map(|value| significant(value, 5)).unwrap_or_default(),
        Write::Percent => printed(row, column.name).map(|value| fixed(value, 1)).unwrap_or_default(),
        Write::Estimate => with_interval(row, column.name, |value| reading(value, 3)),
        Write::PercentEstimate => with_interval(row, column.name, |value| fixed(value, 1)),
    };
    CellText { text, number: is_number(column.write) && reason.is_empty(), withheld: !reason.is_empty() }
}

/// What stands in place of a count that is not printed; nothing where there is none.
fn unprinted(row: &Row<'_>) -> &'static str {
    let left_out = row.has("notices") && row.text("notices").contains(small::LEFT_OUT);
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

fn with_interval(row: &Row<'_>, column: &str, write: fn(f64) -> String) -> String {
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

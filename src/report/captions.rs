//! Captions of the charts as text beside them, ready for a manuscript.

use crate::chart::{Chart, Labels, Print};
use crate::table::number::{significant, whole};
use crate::table::{Row, Table};

use super::interval_words::interval;

/// What the captions are put together from.
#[derive(Debug, Clone, Copy)]
pub struct CaptionInput<'a> {
    pub title: &'a str,
    pub charts: &'a [Chart],
    pub tables: &'a [Table],
    pub labels: &'a Labels,
    /// Endings of the files that each chart is written as.
    pub formats: &'a [&'static str],
    pub print: Print,
    /// Share of intervals that should cover the truth.
    pub confidence: f64,
}

/// `charts/captions.md`: for each chart its title, caption, data, people, whiskers and files.
#[must_use]
pub fn captions(input: &CaptionInput<'_>) -> String {
    let head = format!(
        "# {}: captions of the charts\n\nEvery chart is drawn {} mm wide.\n",
        input.title,
        significant(input.print.width_mm, 6)
    );
    let each: Vec<String> = input.charts.iter().map(|chart| caption(chart, input)).collect();
    format!("{head}{}", each.concat())
}

fn caption(chart: &Chart, input: &CaptionInput<'_>) -> String {
    let names = tables_of(chart.kind);
    let table = names.first().and_then(|name| input.tables.iter().find(|table| table.name == *name));
    let rows = table.map(|table| rows_of(chart, table, input.labels)).unwrap_or_default();
    let data: Vec<String> = names
        .iter()
        .filter(|name| input.tables.iter().any(|table| table.name == **name && !table.rows.is_empty()))
        .map(|name| format!("tables/{name}.csv"))
        .collect();
    let files: Vec<String> = input.formats.iter().map(|ending| format!("{}.{ending}", chart.name)).collect();
    let lines = [
        ("Data", data.join(", ")),
        ("n", people(chart, &rows, input.labels)),
        ("Intervals", whiskers(&rows, input.confidence)),
        ("Files", files.join(", ")),
    ];
    let lines: Vec<String> = lines
        .iter()
        .filter(|(_, text)| !text.is_empty())
        .map(|(what, text)| format!("- {what}: {text}\n"))
        .collect();
    format!("\n## {}\n\n{}\n\n{}", chart.title, chart.caption, lines.concat())
}

/// The tables a kind of chart is drawn from, the one with its estimates first.
fn tables_of(kind: &str) -> &'static [&'static str] {
    match kind {
        "flow" => &["participant_flow"],
        "cutoffs" => &["cutoffs", "threshold_shares"],
        "choices" => &["choice_ranges"],
        "assay_routes" => &["assay_routes"],
        "cutoff_ratios" => &["cutoff_pairs"],
        "cutoff_methods" => &["cutoff_methods"],
        "standardized" => &["standardised_cutoffs", "decomposition"],
        "heat" => &["threshold_shares"],
        "distribution" => &["distributions", "percentiles", "threshold_shares"],
        "percentiles" => &["percentiles", "threshold_shares"],
        "percentile_curves" => &["percentile_curves", "curve_checks", "lms_parameters", "curve_comparisons"],
        "cutoff_curves" => &["cutoff_curves", "curve_checks"],
        "roc" | "roc_groups" => &["auc", "roc_points", "cutoffs", "cutoff_accuracy"],
        "net_benefit" => &["net_benefit", "threshold_shares"],
        "indices" => &["auc", "index_comparison"],
        "spread" => &["heterogeneity"],
        "samples" => &["sample_comparison"],
        _ => &[],
    }
}

/// The rows a chart may show: of its sample, its index, and the outcome and population that it names.
fn rows_of<'a>(chart: &Chart, table: &'a Table, labels: &Labels) -> Vec<Row<'a>> {
    let fits = |row: &Row<'_>, column: &str, wanted: &str| {
        wanted.is_empty() || !row.has(column) || row.text(column) == wanted
    };
    let mut rows: Vec<Row<'a>> = table
        .iter()
        .filter(|row| fits(row, "index", &chart.index))
        .filter(|row| {
            chart.sample.is_empty()
                || !row.has("survey")
                || labels.survey(row.text("survey")) == chart.sample
                || row.text("survey") == chart.sample
        })
        .collect();
    keep_named(&mut rows, "outcome", &chart.title, |name| labels.outcome(name).to_owned());
    keep_named(&mut rows, "population", &chart.caption, |name| labels.population(name).to_owned());
    rows
}

/// Keeps the rows whose name in a column stands in a text; all of them when none does. A name within a
/// longer one that stands there too does not count.
fn keep_named(rows: &mut Vec<Row<'_>>, column: &str, text: &str, label: impl Fn(&str) -> String) {
    if !rows.iter().all(|row| row.has(column)) {
        return;
    }
    let named = |row: &Row<'_>| label(row.text(column));
    let longest = rows.iter().map(named).filter(|found| text.contains(found)).map(|found| found.len()).max();
    if let Some(longest) = longest {
        rows.retain(|row| named(row).len() == longest && text.contains(&named(row)));
    }
}

/// How many people everybody's rows count, once for each population and outcome.
fn people(chart: &Chart, rows: &[Row<'_>], labels: &Labels) -> String {
    let everybody =
        |row: &&Row<'_>| row.has("n") && row.has("grouping") && row.text("grouping") == "everybody";
    let mut found: Vec<String> = Vec::new();
    for row in rows.iter().filter(everybody) {
        let Some(n) = row.whole("n") else { continue };
        let mut about: Vec<&str> = Vec::new();
        if chart.index.is_empty() && row.has("index") {
            about.push(labels.index_label(row.text("index")));
        }
        if row.has("outcome") && !row.text("outcome").is_empty() {
            about.push(labels.outcome(row.text("outcome")));
        }
        if row.has("population") {
            about.push(labels.population(row.text("population")));
        }
        let with = if row.has("n_with") { row.whole("n_with") } else { None };
        let with = with.map(|with| format!(", {} of them with the outcome", whole(with))).unwrap_or_default();
        let text = format!("{}{with} ({})", whole(n), about.join(", "));
        if !found.contains(&text) {
            found.push(text);
        }
    }
    found.join("; ")
}

/// What the whiskers or bands are: the kinds of intervals of the rows.
fn whiskers(rows: &[Row<'_>], confidence: f64) -> String {
    let mut kinds: Vec<&str> = Vec::new();
    for row in rows.iter().filter(|row| row.has("interval")) {
        let kind = row.text("interval");
        if !kind.is_empty() && !kinds.contains(&kind) {
            kinds.push(kind);
        }
    }
    if kinds.is_empty() {
        return String::new();
    }
    let words: Vec<&str> = kinds.into_iter().map(interval).collect();
    format!("{} %, {}", significant(confidence * 100.0, 6), words.join("; "))
}

//! Captions of the charts as text beside them, ready for a manuscript.

use crate::chart::{Chart, Labels, Print};
use crate::study::Study;
use crate::table::number::{significant, whole};
use crate::table::{Row, Table};

use super::interval_words::interval;
use super::markdown::escaped;

/// What the captions are put together from.
#[derive(Debug, Clone, Copy)]
pub struct CaptionInput<'a> {
    pub study: &'a Study,
    pub charts: &'a [Chart],
    pub tables: &'a [Table],
    pub labels: &'a Labels,
    /// Endings of the files that each chart is written as.
    pub formats: &'a [&'static str],
    pub print: Print,
}

/// `charts/captions.md`: for each chart its title, a caption that needs nothing else, its data and files.
#[must_use]
pub fn captions(input: &CaptionInput<'_>) -> String {
    let head = format!(
        "# {}: captions of the charts\n\nEvery chart is drawn {} mm wide.\n",
        escaped(&input.study.title),
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
    let lines = [("Data", data.join(", ")), ("Files", files.join(", "))];
    let sentences = [
        chart.caption.clone(),
        thresholds(chart, input.study),
        rules(chart, input),
        if counts_people(&chart.caption) { String::new() } else { people(chart, input) },
        whiskers(chart, &rows, input.study.confidence),
    ];
    let sentences: Vec<String> = sentences.into_iter().filter(|sentence| !sentence.is_empty()).collect();
    let lines: Vec<String> = lines
        .iter()
        .filter(|(_, text)| !text.is_empty())
        .map(|(what, text)| format!("- {what}: {text}\n"))
        .collect();
    format!("\n## {}\n\n{}\n\n{}", escaped(&chart.title), escaped(&sentences.join(" ")), lines.concat())
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
        "published" => &["published_cutoffs"],
        "trend" => &["trend_cycles", "trend"],
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
        "transfer" => &["transfer"],
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

/// Whether a caption says already how many people stand behind the chart.
fn counts_people(caption: &str) -> bool {
    ["n = ", "of them with the outcome"].iter().any(|words| caption.contains(words))
}

/// The table that counts the people of a chart.
fn counted_in(kind: &str) -> &'static str {
    match kind {
        "cutoff_ratios" | "standardized" | "cutoff_curves" | "spread" => "auc",
        "choices" | "distribution" | "percentile_curves" | "published" => "percentiles",
        "flow" | "samples" | "trend" => "",
        other => tables_of(other).first().copied().unwrap_or_default(),
    }
}

/// How many people stand behind everybody's estimates, population by population.
fn people(chart: &Chart, input: &CaptionInput<'_>) -> String {
    let Some(table) = input.tables.iter().find(|table| table.name == counted_in(chart.kind)) else {
        return String::new();
    };
    let everybody =
        |row: &Row<'_>| row.has("n") && row.has("grouping") && row.text("grouping") == "everybody";
    let mut populations: Vec<(&str, Vec<i64>, Vec<i64>)> = Vec::new();
    for row in rows_of(chart, table, input.labels).into_iter().filter(everybody) {
        let population = if row.has("population") { row.text("population") } else { "" };
        let place = populations.iter().position(|(known, ..)| *known == population).unwrap_or_else(|| {
            populations.push((population, Vec::new(), Vec::new()));
            populations.len() - 1
        });
        populations[place].1.extend(row.whole("n"));
        populations[place].2.extend(if row.has("n_with") { row.whole("n_with") } else { None });
    }
    let several = populations.len() > 1;
    let said: Vec<String> = populations
        .iter()
        .filter_map(|(population, n, with)| {
            let with =
                range(with).map(|with| format!(", {with} of them with the outcome")).unwrap_or_default();
            let whose =
                if several { format!(" ({})", input.labels.population(population)) } else { String::new() };
            Some(format!("{}{with}{whose}", range(n)?))
        })
        .collect();
    if said.is_empty() { String::new() } else { format!("n = {}.", said.join("; ")) }
}

/// One number, or the smallest and the largest.
fn range(counts: &[i64]) -> Option<String> {
    let (least, most) = (counts.iter().min()?, counts.iter().max()?);
    Some(if least == most { whole(*least) } else { format!("{} to {}", whole(*least), whole(*most)) })
}

/// Where the thresholds of the chart's index come from, on charts that show them.
fn thresholds(chart: &Chart, study: &Study) -> String {
    if !["cutoffs", "heat", "distribution", "percentiles", "net_benefit"].contains(&chart.kind) {
        return String::new();
    }
    let own = study.thresholds.iter().filter(|t| study.indices[t.index].row.name == chart.index);
    let each: Vec<String> = own
        .filter(|threshold| !threshold.source.is_empty())
        .map(|threshold| format!("{} ({})", significant(threshold.value, 6), threshold.source))
        .collect();
    if each.is_empty() { String::new() } else { format!("Thresholds: {}.", each.join(", ")) }
}

/// The sources of the rules behind the cutoffs of a chart.
fn rules(chart: &Chart, input: &CaptionInput<'_>) -> String {
    let named = |label: &str| chart.kind == "roc" || chart.caption.contains(&format!("“{label}”"));
    let shown = input.study.rules.iter().filter(|rule| named(&rule.label));
    let each: Vec<String> = shown
        .filter(|rule| !rule.rule.row().source.is_empty())
        .map(|rule| format!("{} ({})", rule.label, rule.rule.row().source))
        .collect();
    if each.is_empty() { String::new() } else { format!("Rules: {}.", each.join("; ")) }
}

/// What the whiskers or bands are: the kinds of intervals of the rows, or why there are none.
fn whiskers(chart: &Chart, rows: &[Row<'_>], confidence: f64) -> String {
    let mut kinds: Vec<&str> = Vec::new();
    for kind in rows.iter().filter_map(Row::printed_interval) {
        let kind = drawn_as(chart.kind, kind);
        if !kinds.contains(&kind) {
            kinds.push(kind);
        }
    }
    let why = rows.iter().filter(|row| row.printed_interval().is_none()).find_map(Row::why_no_interval);
    let why = why.filter(|why| !chart.caption.contains(why));
    let words: Vec<&str> = kinds.into_iter().map(interval).collect();
    match (words.is_empty(), why) {
        (true, None) => String::new(),
        (true, Some(why)) => format!("No intervals: {why}."),
        (false, why) => {
            let lacking = why.map(|why| format!(" Where none is drawn: {why}.")).unwrap_or_default();
            format!("Intervals: {} %, {}.{lacking}", significant(confidence * 100.0, 6), words.join("; "))
        }
    }
}

/// The kind of interval that a chart draws: ratios have that on the logarithm, unless replicates were drawn at random.
fn drawn_as<'a>(chart: &str, kind: &'a str) -> &'a str {
    if chart == "cutoff_ratios" && kind == "replicates_t" { "replicates_t_log" } else { kind }
}

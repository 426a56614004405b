//! Which rows of the tables a chart shows, in which order, and how their numbers are written.

use crate::table::number::{self, aligned, p_value, significant, whole};
use crate::table::{Row, Table};

use super::labels::Labels;

/// The grouping of the row that stands for the whole population.
pub(super) const EVERYBODY: &str = "everybody";
/// Significant digits of an index value in a chart.
const DIGITS: usize = 3;

/// Rows that share the texts of some columns.
#[derive(Debug, Clone)]
pub(super) struct Bundle<'a> {
    pub key: Vec<&'a str>,
    pub rows: Vec<Row<'a>>,
}

impl<'a> Bundle<'a> {
    pub(super) fn everybody(&self) -> Option<Row<'a>> {
        self.rows.iter().copied().find(|row| row.text("grouping") == EVERYBODY)
    }

    /// The rows by grouping, everybody first, groups in the order of their levels.
    pub(super) fn groupings(&self, labels: &Labels) -> Vec<Bundle<'a>> {
        let mut groupings = bundles(self.rows.iter().copied(), &["grouping"]);
        groupings.sort_by_key(|bundle| bundle.key[0] != EVERYBODY);
        for grouping in &mut groupings {
            if let Some(levels) = labels.levels.get(grouping.key[0]) {
                grouping.rows.sort_by_key(|row| {
                    levels.iter().position(|level| level == row.text("group")).unwrap_or(usize::MAX)
                });
            }
        }
        groupings
    }
}

/// Bundles rows by the texts of columns, in the order of first appearance.
pub(super) fn bundles<'a>(rows: impl Iterator<Item = Row<'a>>, columns: &[&str]) -> Vec<Bundle<'a>> {
    let mut bundles: Vec<Bundle<'a>> = Vec::new();
    for row in rows {
        let key: Vec<&str> = columns.iter().map(|column| row.text(column)).collect();
        match bundles.iter_mut().find(|bundle| bundle.key == key) {
            Some(bundle) => bundle.rows.push(row),
            None => bundles.push(Bundle { key, rows: vec![row] }),
        }
    }
    bundles
}

/// A threshold that the study judges.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Threshold {
    pub value: f64,
    pub strict: bool,
}

/// The thresholds judged for an index, in the order of the table.
pub(super) fn thresholds(table: Option<&Table>, index: &str) -> Vec<Threshold> {
    let mut found: Vec<Threshold> = Vec::new();
    let rows = table.into_iter().flat_map(Table::iter).filter(|row| row.text("index") == index);
    for (value, strict) in rows.filter_map(|row| Some((row.real("threshold")?, row.text("strict") == "yes")))
    {
        let threshold = Threshold { value, strict };
        if !found.contains(&threshold) {
            found.push(threshold);
        }
    }
    found
}

/// A group's label: its levels, or `everybody`.
pub(super) fn group_label(row: &Row<'_>) -> String {
    if row.text("grouping") == EVERYBODY { "Everybody".to_owned() } else { row.text("group").to_owned() }
}

/// An index at the head of a title: `Triglycerides / HDL (mg/dL)`.
pub(super) fn index_title(index: &str, labels: &Labels) -> String {
    capital(labels.index_label(index))
}

/// The heading of what is said of a row's people alone: `Sex: female`, or `Everybody`.
pub(super) fn place_heading(row: &Row<'_>, labels: &Labels) -> String {
    let group = group_label(row);
    match row.text("grouping") {
        EVERYBODY => group,
        grouping => format!("{}: {group}", capital(labels.grouping(grouping))),
    }
}

pub(super) fn grouping_heading(grouping: &str, labels: &Labels) -> String {
    if grouping == EVERYBODY { String::new() } else { capital(labels.grouping(grouping)) }
}

/// Decimals for the values of one chart: three significant digits for the middle one.
pub(super) fn decimals<'a>(rows: impl Iterator<Item = Row<'a>>, column: &str) -> usize {
    number::decimals(&rows.filter_map(|row| row.shown(column)).collect::<Vec<_>>(), DIGITS)
}

/// A threshold or another number somebody chose: as it was written, not padded.
pub(super) fn stated_text(value: f64) -> String {
    significant(value, 6).replace('-', "\u{2212}")
}

/// `2.31 (2.05–2.60)`, or the value alone when it has no interval; empty when withheld.
pub(super) fn interval_text(row: &Row<'_>, column: &str, decimals: usize) -> String {
    let Some(value) = row.shown(column) else { return String::new() };
    estimate_text(value, row.shown("lower").zip(row.shown("upper")), decimals)
}

/// An estimate with its interval, or alone when it has none.
pub(super) fn estimate_text(value: f64, interval: Option<(f64, f64)>, decimals: usize) -> String {
    let range = interval.and_then(|(lower, upper)| range_text(Some(lower), Some(upper), decimals));
    range.map_or_else(|| aligned(value, decimals), |range| format!("{} ({range})", aligned(value, decimals)))
}

/// The two ends of an interval, when both exist, with `to` where a minus sign could be misread.
pub(super) fn range_text(lower: Option<f64>, upper: Option<f64>, decimals: usize) -> Option<String> {
    let (lower, upper) = (lower?, upper?);
    let between = if lower < 0.0 || upper < 0.0 { " to " } else { "–" };
    Some(format!("{}{between}{}", aligned(lower, decimals), aligned(upper, decimals)))
}

/// A p value in a cell; empty without one.
pub(super) fn p_text(p: Option<f64>) -> String {
    p.map(p_value).unwrap_or_default()
}

/// Which way percentiles of an index count.
pub(super) fn order(index: &str, labels: &Labels) -> &'static str {
    if labels.lower_is_resistant(index) {
        "Percentiles count towards lower, more resistant values."
    } else {
        "Percentiles count towards higher, more resistant values."
    }
}

/// How many people stand behind some rows: `2063, 513 of them with the outcome`, the smallest and the largest number where
/// they differ; `None` where no number is printed.
pub(super) fn people_behind(rows: &[Row<'_>]) -> Option<String> {
    let counts = |column: &str| -> Option<String> {
        let known = || rows.iter().filter(|row| row.has(column)).filter_map(|row| row.whole(column));
        let (least, most) = (known().min()?, known().max()?);
        Some(if least == most { whole(least) } else { format!("{} to {}", whole(least), whole(most)) })
    };
    let with = counts("n_with").map(|with| format!(", {with} of them with the outcome")).unwrap_or_default();
    counts("n").map(|n| format!("{n}{with}"))
}

/// The same of everybody, counted by a table whose rows have the key of a bundle in some columns: ` n = 2063.`
pub(super) fn everybody_behind(table: Option<&Table>, columns: &[&str], bundle: &Bundle<'_>) -> String {
    let same = |row: &Row<'_>| columns.iter().zip(&bundle.key).all(|(column, key)| row.text(column) == *key);
    let rows = table.into_iter().flat_map(Table::iter);
    let everybody: Vec<Row<'_>> = rows.filter(|row| row.text("grouping") == EVERYBODY && same(row)).collect();
    people_behind(&everybody).map(|n| format!(" n = {n}.")).unwrap_or_default()
}

/// A count, or a dash where it may not be printed.
pub(super) fn count_text(row: &Row<'_>, column: &str) -> String {
    row.whole(column).map_or_else(|| "–".to_owned(), whole)
}

/// The first letter in upper case.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A file stem from parts: lower case, letters, digits and underscores.
pub(super) fn stem(parts: &[&str]) -> String {
    let joined = parts.iter().filter(|part| !part.is_empty()).copied().collect::<Vec<_>>().join("_");
    joined.chars().map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '_' }).collect()
}

/// The population in a file stem; the cohort is not named.
pub(super) fn population_stem(population: &str) -> &str {
    if population == "cohort" { "" } else { population }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    #[test]
    fn an_estimate_without_an_interval_stands_alone() {
        assert_eq!(estimate_text(1.02, None, 2), "1.02");
        assert_eq!(estimate_text(1.02, Some((0.9, 1.15)), 2), "1.02 (0.90–1.15)");
    }

    #[test]
    fn who_stands_behind_rows_is_one_number_or_two() {
        let mut table = Table::new(schema::shape("auc").expect("a table"));
        for (index, grouping, n, with) in
            [("a", EVERYBODY, 2063, 513), ("b", EVERYBODY, 2138, 513), ("a", "sex", 9, 1)]
        {
            let row = table.row().text("index", index).text("grouping", grouping);
            row.whole("n", Some(n)).whole("n_with", Some(with)).done().expect("a row");
        }
        let behind = |columns: &[&str], key: Vec<&str>| {
            everybody_behind(Some(&table), columns, &Bundle { key, rows: Vec::new() })
        };
        assert_eq!(behind(&["index"], vec!["a"]), " n = 2063, 513 of them with the outcome.");
        assert_eq!(behind(&["survey"], vec![""]), " n = 2063 to 2138, 513 of them with the outcome.");
        assert_eq!(behind(&["index"], vec!["c"]), "");
    }

    #[test]
    fn titles_and_headings_begin_with_a_capital() {
        assert_eq!(index_title("triglycerides / HDL", &Labels::default()), "Triglycerides / HDL");
        let mut table = Table::new(schema::shape("auc").expect("a table"));
        for (grouping, group) in [(EVERYBODY, EVERYBODY), ("sex", "female")] {
            table.row().text("grouping", grouping).text("group", group).done().expect("a row");
        }
        let headings: Vec<String> = table.iter().map(|row| place_heading(&row, &Labels::default())).collect();
        assert_eq!(headings, ["Everybody", "Sex: female"]);
    }
}

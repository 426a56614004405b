//! Words for numbers: the pieces from which the page's sentences are put together.

use crate::chart::Labels;
use crate::table::Row;
use crate::table::estimate::of_share;
use crate::table::number::{aligned, decimals, significant};

use super::short::without_brackets;

/// The lowest and highest printed estimates of a set of rows.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ends<'a> {
    pub low: (f64, Row<'a>),
    pub high: (f64, Row<'a>),
    /// Rows whose estimate is withheld.
    pub withheld: usize,
    /// The only such row.
    alone: Option<Row<'a>>,
}

/// The ends of a column over rows; `None` with fewer than two printed estimates.
pub(super) fn ends<'a>(rows: &[Row<'a>], column: &str) -> Option<Ends<'a>> {
    let mut shown: Vec<(f64, Row<'a>)> =
        rows.iter().filter_map(|row| Some((row.shown(column)?, *row))).collect();
    shown.sort_by(|a, b| a.0.total_cmp(&b.0));
    if shown.len() < 2 {
        return None;
    }
    let alone = lone(rows, |row| row.shown(column).is_none());
    Some(Ends { low: shown[0], high: shown[shown.len() - 1], withheld: rows.len() - shown.len(), alone })
}

/// The ends of a column over those rows whose estimate is printed with its interval.
pub(super) fn certain_ends<'a>(rows: &[Row<'a>], column: &str) -> Option<Ends<'a>> {
    let certain: Vec<Row<'a>> = rows.iter().copied().filter(has_interval).collect();
    let alone = lone(rows, |row| !has_interval(row));
    ends(&certain, column).map(|ends| Ends { withheld: rows.len() - certain.len(), alone, ..ends })
}

/// The only row of which something holds.
fn lone<'a>(rows: &[Row<'a>], holds: impl Fn(&Row<'a>) -> bool) -> Option<Row<'a>> {
    let mut found = rows.iter().copied().filter(|row| holds(row));
    found.next().filter(|_| found.next().is_none())
}

/// Whether a row's interval is printed.
pub(super) fn has_interval(row: &Row<'_>) -> bool {
    row.shown("lower").is_some() && row.shown("upper").is_some()
}

/// `runs from 23.0 % (19.8–26.5) in “30 and over” to …`, and of how many groups the share is withheld.
pub(super) fn shares_run(ends: &Ends<'_>, labels: &Labels) -> String {
    let places = labels.percent_places(1);
    let end = |(share, row): &(f64, Row<'_>)| {
        format!("{} in “{}”", percent((*share, row), places), row.text("group"))
    };
    format!("runs from {} to {}{}", end(&ends.low), end(&ends.high), withheld_shares(ends, labels))
}

/// Of how many groups the share is withheld. Where people may not be shown in small counts, a group of many may be
/// withheld for a few elsewhere: it is named, with the reason.
fn withheld_shares(ends: &Ends<'_>, labels: &Labels) -> String {
    match ends.alone.filter(|row| labels.fewest_shown.is_some() && !row.text("withheld").is_empty()) {
        Some(row) => {
            format!("; the share of “{}” is withheld: {}", row.text("group"), row.text("withheld"))
        }
        None => withheld("share", ends.withheld),
    }
}

/// Why everybody's share lies outside those of the groups that are printed, where others are withheld.
pub(super) fn outside(everybody: f64, ends: &Ends<'_>) -> &'static str {
    if ends.withheld > 0 && (everybody < ends.low.0 || everybody > ends.high.0) {
        "; everybody’s lies outside these: the groups shown leave some people out"
    } else {
        ""
    }
}

/// `23.0 % (19.8–26.5)`: a share with the interval of its row.
pub(super) fn percent((share, row): (f64, &Row<'_>), places: usize) -> String {
    let (share, interval) = of_share(share, row.shown("lower").zip(row.shown("upper")), places);
    format!("{share}\u{a0}%{interval}")
}

/// `; the share of one group is withheld` or nothing.
pub(super) fn withheld(what: &str, count: usize) -> String {
    match count {
        0 => String::new(),
        1 => format!("; the {what} of one group is withheld"),
        _ => format!("; the {what}s of {count} groups are withheld"),
    }
}

/// `1.46 times as high`, or that both are practically the same.
pub(super) fn times_as_high(ratio: f64) -> String {
    match aligned(ratio, 2).as_str() {
        "1.00" => "practically the same".to_owned(),
        text => format!("{text} times as high"),
    }
}

/// `at or above HOMA-IR 2`; of an index that only says yes or no, the group of those it says yes of.
pub(super) fn beyond(labels: &Labels, index: &str, strict: bool, threshold: f64) -> String {
    if let Some(condition) = labels.index_label(index).strip_suffix(" (1 or 0)") {
        return format!("in the group “{condition}”");
    }
    let value = significant(threshold, 6).replace('-', "\u{2212}");
    format!("{} {}", labels.beyond(index, strict), labels.index_at(index, &value))
}

/// `below HOMA-IR 2`: those whom [`beyond`] leaves.
pub(super) fn short_of(labels: &Labels, index: &str, strict: bool, threshold: f64) -> String {
    let side = beyond(labels, index, strict, threshold);
    match side.strip_prefix(labels.beyond(index, strict)) {
        Some(at) => format!("{}{at}", labels.short_of(index, strict)),
        None => format!("not {side}"),
    }
}

/// A long label less what stands in brackets, or up to a colon where that leaves a name and not a mere `two of`. What follows
/// a bracket or a comma is part of what it means: `A1c 5.7 % (39 mmol/mol) or more`.
pub(super) fn short_label(label: &str) -> String {
    let short = match label.split_once(':') {
        Some((head, _)) if head.split_whitespace().count() < 3 => label.to_owned(),
        Some((head, _)) => head.trim().to_owned(),
        None => without_brackets(label),
    };
    if short.is_empty() { label.to_owned() } else { short }
}

/// What a label is called once it has been said in full.
fn called_again(label: &str) -> String {
    let short = short_label(label);
    if short == label && label.contains(':') { "that outcome".to_owned() } else { short }
}

/// Writes long labels short after their first mention, in texts that are read in this order.
pub(super) fn shorten_repeats<'a>(texts: impl Iterator<Item = &'a mut String>, labels: &[&str]) {
    // A short label that two would share tells neither.
    let own =
        |label: &&&str| labels.iter().filter(|other| called_again(other) == called_again(label)).count() == 1;
    let mut longest: Vec<(&str, bool)> = labels.iter().filter(own).map(|label| (*label, false)).collect();
    longest.sort_by_key(|(label, _)| std::cmp::Reverse(label.len()));
    for text in texts {
        for (label, said) in &mut longest {
            let Some(first) = text.find(*label) else { continue };
            let from = if *said { first } else { first + label.len() };
            *said = true;
            let rest = text[from..].replace(*label, &called_again(label));
            text.replace_range(from.., &rest);
        }
    }
}

/// ` (20.1–25.3)`, or nothing without an interval.
pub(super) fn range(row: &Row<'_>, places: usize) -> String {
    ends_text(row, places).map(|text| format!(" ({text})")).unwrap_or_default()
}

/// ` (20.1–25.3) in “women”`: the interval and the group it belongs to.
pub(super) fn range_of_group(row: &Row<'_>, places: usize) -> String {
    format!("{} in “{}”", range(row, places), row.text("group"))
}

fn ends_text(row: &Row<'_>, places: usize) -> Option<String> {
    let (lower, upper) = (row.shown("lower")?, row.shown("upper")?);
    let between = if lower < 0.0 || upper < 0.0 { " to " } else { "–" };
    Some(format!("{}{between}{}", aligned(lower, places), aligned(upper, places)))
}

/// Decimals that show three significant digits of a value.
pub(super) fn places(value: f64) -> usize {
    decimals(&[value], 3)
}

/// The first letter in upper case.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The first letter in lower case.
pub(super) fn uncapital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 56 %, from 53 to 59 %, in one group; 61 % in another; and a third that is withheld.
    #[test]
    fn of_people_who_may_not_be_shown_shares_are_written_as_they_are_known() {
        let mut table = crate::table::Table::new(crate::table::schema::shape("claim").expect("a table"));
        for (group, share) in [("a", Some(56.0)), ("b", Some(61.0)), ("c", None)] {
            let row = table.row().text("group", group).real("value", share);
            let row = row.real("lower", share.map(|s| s - 3.0)).real("upper", share.map(|s| s + 3.0));
            row.text("withheld", share.map_or("few", |_| "")).done().expect("a row");
        }
        let rows: Vec<Row<'_>> = table.iter().collect();
        let across = ends(&rows, "value").expect("two shares");
        let private = Labels { fewest_shown: Some(10), ..Labels::default() };
        let said = |labels: &Labels| shares_run(&across, labels);
        let end = "; the share of “c” is withheld: few";
        let coarse = "runs from 56\u{a0}% (53–59) in “a” to 61\u{a0}% (58–64) in “b”";
        assert_eq!(said(&private), format!("{coarse}{end}"));
        assert!(said(&Labels::default()).starts_with("runs from 56.0\u{a0}% (53.0–59.0)"));
        assert!(outside(60.0, &across).is_empty());
        assert!(
            outside(55.0, &across).contains("leave some people out") && !outside(62.0, &across).is_empty()
        );
    }

    #[test]
    fn equal_is_not_one_times_as_high() {
        assert_eq!(times_as_high(1.004), "practically the same");
        assert_eq!(times_as_high(1.46), "1.46 times as high");
    }

    #[test]
    fn a_long_label_is_written_out_once() {
        let mut texts = [
            "For two of: waist, HDL and for two of: waist, HDL.".to_owned(),
            "two of: waist, HDL".to_owned(),
        ];
        shorten_repeats(texts.iter_mut(), &["two of: waist, HDL"]);
        assert_eq!(texts, ["For two of: waist, HDL and for that outcome.", "that outcome"]);
        let mut ambiguous = ["a, b and a, b and a, c".to_owned()];
        shorten_repeats(ambiguous.iter_mut(), &["a, b", "a, c"]);
        assert_eq!(ambiguous, ["a, b and a, b and a, c"]);
    }

    #[test]
    fn a_short_label_means_what_the_long_one_means() {
        for (label, short) in [
            ("A1c 5.7 % (39 mmol/mol) or more", "A1c 5.7 % or more"),
            ("A1c in the diabetes range (6.5 %, 48 mmol/mol)", "A1c in the diabetes range"),
            (
                "metabolic syndrome (ATP III 2001), glucose item left out",
                "metabolic syndrome, glucose item left out",
            ),
            (
                "diabetes by diagnosis, fasting glucose or A1c",
                "diabetes by diagnosis, fasting glucose or A1c",
            ),
            ("two of four findings: waist, HDL", "two of four findings"),
            ("(39)", "(39)"),
        ] {
            assert_eq!(short_label(label), short);
        }
    }

    #[test]
    fn an_index_of_yes_or_no_is_said_as_a_group() {
        let mut labels = Labels::default();
        let label =
            crate::chart::IndexLabel { label: "Raised glucose (1 or 0)".to_owned(), ..Default::default() };
        labels.indices.insert("raised".to_owned(), label);
        assert_eq!(beyond(&labels, "raised", false, 1.0), "in the group “Raised glucose”");
        assert_eq!(beyond(&labels, "homa_ir", false, 2.0), "at or above homa_ir 2");
        assert_eq!(short_of(&labels, "raised", false, 1.0), "not in the group “Raised glucose”");
        assert_eq!(short_of(&labels, "homa_ir", false, 2.0), "below homa_ir 2");
        assert_eq!(short_of(&labels, "homa_ir", true, 2.0), "at or below homa_ir 2");
    }
}

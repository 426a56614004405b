//! Words for numbers: the pieces from which the page's sentences are put together.

use crate::chart::Labels;
use crate::table::Row;
use crate::table::estimate::of_share;
use crate::table::number::{aligned, decimals, significant};

use super::short::without_brackets;

/// `23.0 % (19.8–26.5)`: a share with the interval of its row.
pub(super) fn percent((share, row): (f64, &Row<'_>), places: usize) -> String {
    let (share, interval) = of_share(share, row.shown("lower").zip(row.shown("upper")), places);
    format!("{share}\u{a0}%{interval}")
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

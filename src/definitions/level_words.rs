//! Words that people use for levels of a group: a label, an everyday word, an open end, or a range of ages.

use super::aliases::{levels_meant, plain, singular};

/// What stands before and behind the number of the uppermost and of the lowest group.
const UPPERMOST: [[&str; 2]; 8] = [
    ["over_", ""],
    ["above_", ""],
    ["older_than_", ""],
    ["", "_plus"],
    ["", "_or_over"],
    ["", "_or_older"],
    ["", "_and_older"],
    ["", ""],
];
const LOWEST: [[&str; 2]; 2] = [["below_", ""], ["younger_than_", ""]];

/// Words between the ends of a range of ages, and before its lower one.
const TO: [&str; 4] = ["_to_", "_through_", "_and_", "_"];
const FROM: [&str; 3] = ["between_", "from_", ""];

/// Values that words name, wherever a group may be cut.
#[derive(Debug, Clone, PartialEq)]
pub struct Span {
    /// The lowest value, unless the span is open there.
    pub from: Option<f64>,
    /// What all values are below, unless the span is open there; the last age of a range may count or not.
    pub below: Vec<f64>,
}

impl Span {
    /// The numbers that were written.
    pub fn ends(&self) -> impl Iterator<Item = f64> {
        self.from.into_iter().chain(self.below.last().copied())
    }

    /// The bands that make it up, of those between these cuts; none where an end of it is no cut. Nobody has a value below
    /// `lowest`, or of `beyond` and over, so an end there is open.
    #[must_use]
    pub fn bands(&self, cuts: &[f64], (lowest, beyond): (f64, f64)) -> Option<std::ops::Range<usize>> {
        let band_from = |end: f64| cuts.iter().position(|cut| *cut == end).map(|at| at + 1);
        let first = self.from.filter(|from| *from > lowest).map_or(Some(0), band_from)?;
        let last = if self.below.is_empty() || self.below.iter().any(|below| *below >= beyond) {
            cuts.len() + 1
        } else {
            self.below.iter().find_map(|below| band_from(*below))?
        };
        (first < last).then_some(first..last)
    }
}

/// The span that words name of ages (over 40, 40 to 59) or of a body mass index, which is said to be one (BMI over 25).
#[must_use]
pub fn span(words: &str, is_age: bool) -> Option<Span> {
    let words =
        if is_age { words.strip_prefix("age_").unwrap_or(words) } else { words.strip_prefix("bmi_")? };
    let of_ends = |ends: &[[&str; 2]]| {
        ends.iter()
            .filter(|[before, behind]| !before.is_empty() || !behind.is_empty())
            .find_map(|[before, behind]| number(words.strip_prefix(before)?.strip_suffix(behind)?, is_age))
    };
    if let Some(from) = of_ends(&UPPERMOST).or_else(|| of_ends(&[["", "_and_over"]])) {
        return Some(Span { from: Some(from), below: Vec::new() });
    }
    if let Some(below) = of_ends(&LOWEST).or_else(|| of_ends(&[["under_", ""]])) {
        return Some(Span { from: None, below: vec![below] });
    }
    let range = |(before, between): (&str, &str)| {
        let (low, high) = words.strip_prefix(before)?.split_once(between)?;
        Some((number(low, is_age)?, number(high, is_age)?))
    };
    let mut ranges = FROM.iter().flat_map(|before| TO.iter().map(move |between| (*before, *between)));
    let (low, high) = ranges.find_map(range).filter(|(low, high)| low < high)?;
    // People aged 40 to 59 are below 60.
    let below = if is_age { vec![high + 1.0, high] } else { vec![high] };
    Some(Span { from: Some(low), below })
}

/// An age in whole years, or a body mass index, whose point is no letter of a plain word.
fn number(text: &str, is_age: bool) -> Option<f64> {
    let is_whole = text.chars().all(|c| c.is_ascii_digit());
    if is_whole { text.parse().ok() } else { text.replace('_', ".").parse().ok().filter(|_| !is_age) }
}

/// Words of labels that name nobody by themselves: people of every ancestry are American in a survey of the nation.
const COMMON: [&str; 5] = ["american", "other", "non", "or", "and"];

/// Whether all words of a name stand in a label, in the singular or plural, and one of them tells people apart: Black in
/// Non-Hispanic Black. Who is not Hispanic is not told by that word.
#[must_use]
pub fn has_the_words(label: &str, name: &str) -> bool {
    let words = |text: &str| -> Vec<String> {
        singular(&plain(text).replace("non_", "non")).split('_').map(str::to_owned).collect()
    };
    let (of_label, of_name) = (words(label), words(name));
    of_name.iter().all(|word| of_label.contains(word))
        && of_name.iter().any(|word| !COMMON.contains(&&**word))
}

/// Whether words are a label, an everyday word for it, or its open end: over 60. Of a number alone only an age is meant.
#[must_use]
pub fn means_level(words: &str, label: &str, is_age: bool) -> bool {
    let of_label = plain(label);
    if singular(&of_label) == singular(words) || levels_meant(words).contains(&label) {
        return true;
    }
    let (of_label, words) = if is_age {
        let without = |text| str::strip_prefix(text, "age_").unwrap_or(text);
        (without(&*of_label), Some(without(words)))
    } else {
        (of_label.strip_prefix("bmi_").unwrap_or(&of_label), words.strip_prefix("bmi_"))
    };
    let is_one = |number: &str, ends: &[[&str; 2]]| {
        ends.iter()
            .any(|[before, behind]| words.is_some_and(|words| words == format!("{before}{number}{behind}")))
    };
    words == Some(of_label)
        || of_label.strip_suffix("_and_over").is_some_and(|number| is_one(number, &UPPERMOST))
        || of_label.strip_prefix("under_").is_some_and(|number| is_one(number, &LOWEST))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn neighbouring_bands_are_meant_by_a_span_whose_ends_are_their_cuts() {
        const ANY: (f64, f64) = (f64::NEG_INFINITY, f64::INFINITY);
        let ages = |words: &str| span(words, true).and_then(|span| span.bands(&[20.0, 40.0, 60.0], ANY));
        for words in ["over_40", "40_plus", "age_over_40", "40_and_older", "40_and_over"] {
            assert_eq!(ages(words), Some(2..4), "{words}");
        }
        for words in ["40_to_59", "between_40_and_60", "from_40_to_59", "40_59", "40_through_59"] {
            assert_eq!(ages(words), Some(2..3), "{words}");
        }
        assert_eq!([ages("under_40"), ages("20_to_59")], [Some(0..2), Some(1..3)]);
        for words in ["over_50", "40_to_64", "60_to_40", "under_65", "40", "over", "black"] {
            assert_eq!(ages(words), None, "{words}");
        }
        // Of people from 20 to 79 years nobody is under 20 or from 80.
        let within = |words: &str| span(words, true).and_then(|span| span.bands(&[40.0, 60.0], (20.0, 80.0)));
        assert_eq!(
            [within("20_39"), within("18_to_39"), within("60_to_79")],
            [Some(0..1), Some(0..1), Some(2..3)]
        );
        assert_eq!([within("25_to_39"), within("under_20")], [None, None]);
        let bmi = |words: &str| span(words, false).and_then(|span| span.bands(&[18.5, 25.0, 30.0], ANY));
        assert_eq!(
            [bmi("bmi_over_25"), bmi("bmi_18_5_to_30"), bmi("over_25")],
            [Some(2..4), Some(1..3), None]
        );
    }

    #[test]
    fn words_of_a_label_are_whole_words_and_who_is_not_hispanic_is_not_called_so() {
        for words in ["black", "Blacks", "Non-Hispanic", "non hispanic black"] {
            assert!(has_the_words("Non-Hispanic Black", words), "{words}");
        }
        for words in ["ack", "Hispanic", "white", "Non"] {
            assert!(!has_the_words("Non-Hispanic Black", words), "{words}");
        }
        assert!(!has_the_words("Mexican American", "Americans"));
        assert!(has_the_words("Mexican American", "Mexican"));
        assert!(!has_the_words("female", "male"));
        assert!(means_level("mexican_americans", "Mexican American", false));
    }

    #[test]
    fn an_open_end_is_meant_by_its_number_and_a_bare_number_is_an_age() {
        assert!(means_level("age_20_39", "20-39", true) && !means_level("bmi_20_39", "20-39", true));
        for words in ["over_60", "60_plus", "60_and_over", "older_than_60", "60", "age_60_and_over"] {
            assert!(means_level(words, "60 and over", true), "{words}");
        }
        for words in ["under_25", "below_25", "younger_than_25"] {
            assert!(means_level(words, "under 25", true), "{words}");
        }
        assert!(means_level("bmi_over_30", "BMI 30 and over", false));
        assert!(means_level("obese", "BMI 30 and over", false));
        assert!(!means_level("over_30", "BMI 30 and over", false));
        assert!(!means_level("over_40", "40-59", true));
        assert!(!means_level("under_60", "60 and over", true));
    }
}

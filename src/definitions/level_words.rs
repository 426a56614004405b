//! Words that people use for one level of a group: its label, an everyday word, or its open end.

use super::aliases::{levels_meant, plain};

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

/// Whether words are a label, an everyday word for it, or its open end: over 60. Of a number alone only an age is meant.
#[must_use]
pub fn means_level(words: &str, label: &str, is_age: bool) -> bool {
    let of_label = plain(label);
    if of_label == words || levels_meant(words).contains(&label) {
        return true;
    }
    let (of_label, words) = if is_age {
        (of_label.strip_prefix("age_").unwrap_or(&of_label), Some(words))
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
    use super::means_level;

    #[test]
    fn an_open_end_is_meant_by_its_number_and_a_bare_number_is_an_age() {
        for words in ["over_60", "60_plus", "60_and_over", "older_than_60", "60"] {
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

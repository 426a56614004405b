//! Columns of a table that hold yes and no, so that they tell who has an outcome.

use crate::definitions::plain_answer;

/// Codes that questionnaires commonly give a refused or unknown answer, beside others that are numbers.
pub(super) const NO_ANSWER: [&str; 6] = ["7", "8", "9", "77", "88", "99"];
/// Texts that the study file says are missing everywhere.
pub(super) const MISSING: [&str; 2] = ["NA", "."];

/// What the texts of a column of answers stand for; words for yes and no need no codes.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Answers {
    pub codes: Vec<(String, String)>,
    /// Texts that stand for no answer.
    pub missing: Vec<String>,
}

/// How a column answers, if it does: in words for yes and no, or by 1 and 0, and both occur.
pub(super) fn answers(values: &[String]) -> Option<Answers> {
    let mut found = Answers::default();
    let (mut has, mut words) = ([false; 2], 0);
    for text in values.iter().filter(|text| !MISSING.contains(&text.as_str())) {
        let word = plain_answer(text);
        match word.or_else(|| number(text)) {
            Some(yes) => {
                has[usize::from(yes)] = true;
                words += usize::from(word.is_some());
                found.codes.push((text.clone(), if yes { "yes" } else { "no" }.to_owned()));
            }
            None if NO_ANSWER.contains(&text.as_str()) => found.missing.push(text.clone()),
            None => return None,
        }
    }
    if words == found.codes.len() {
        found.codes.clear();
    }
    (has == [true; 2]).then_some(found)
}

/// 1 is yes and 0 is no, however many decimals are written.
fn number(text: &str) -> Option<bool> {
    let number: f64 = text.replace(',', ".").parse().ok()?;
    match number {
        1.0 => Some(true),
        0.0 => Some(false),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn yes_and_no_are_known_in_words_and_as_one_and_nought() {
        let of = |values: &[&str]| answers(&values.iter().map(|text| (*text).to_owned()).collect::<Vec<_>>());
        let codes = |found: Option<Answers>| found.map(|found| found.codes.len());
        assert_eq!(codes(of(&["ja", "nein", "NA"])), Some(0), "words need no codes");
        assert_eq!(codes(of(&["0", "1"])), Some(2));
        assert_eq!(codes(of(&["0.0", "1.0"])), Some(2));
        let told = of(&["0", "1", "9"]).expect("9 is no answer");
        assert_eq!((told.codes[1].1.as_str(), told.missing), ("yes", vec!["9".to_owned()]));
        for other in [&["1", "2"][..], &["yes"], &["0", "1", "2"], &["yes", "no", "perhaps"], &[]] {
            assert_eq!(of(other), None, "{other:?}");
        }
    }
}

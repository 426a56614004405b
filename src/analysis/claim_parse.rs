//! A claim as it is typed: words in any case, a comparison, a number of per cent.

use thiserror::Error;

use super::claim_form::{Bound, Form};
use super::claim_number::{before_share, is_whom, middle, near, percent};
use super::claim_plain::plain;

/// Per cent of everybody who may lie between the best cutoff and t, when the claim does not say.
const CUTOFF_WITHIN: f64 = 10.0;

/// A claim that is in none of the forms.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("the claim \"{found}\" cannot be read: {slip}")]
pub struct FormError {
    pub found: String,
    pub slip: Slip,
}

/// What is wrong with a claim.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum Slip {
    /// The form is known, its number is not one of per cent.
    #[error("{0}")]
    Number(String),
    #[error(
        "{0}. In numbers, \"finds most people with it\" is \"sensitivity more than 50 %\"; \"below is fine\" or \"below is safe\" \
         is \"npv at least 90 %\" (of those below, so many do not have it); \"above means you have it\" is \"ppv at least 50 %\". \
         Known forms: \"share at most 25 %\", \"share about 33 %\", \"at least 1 in 3\", \"share beyond at least 10 %\", \
         \"percentile 75\", \"percentile 75 within 5\", \
         \"sensitivity at least 80 %\" (or specificity, ppv, npv), \"best cutoff\", \"best cutoff within 10 %\""
    )]
    Words(String),
}

/// Words that claim a sensitivity of more than half, and who may stand behind them.
const FINDS_MOST: &str = "finds most";
/// A share of more than half.
const MOST_OF: &str = "most";
const MOST: f64 = 50.0;
/// Words that claim how many of those who have it are not found.
const MISSES: &str = "misses";

/// Words that praise a threshold and do not say which side of it.
const PRAISE: [&str; 6] = ["fine", "safe", "ok", "okay", "normal", "healthy"];

/// Everyday sentences, as [`plain`] leaves them and without the threshold itself, and what they claim of which measure.
const SENTENCES: &[(&[&str], &str, Bound)] = &[
    (
        &["below fine", "below safe", "under fine", "under safe", "below means you do not have it"],
        "npv",
        Bound::AtLeast(90.0),
    ),
    (&["above means you have it", "over means you have it"], "ppv", Bound::AtLeast(50.0)),
    (&["spares those who do not have it"], "specificity", Bound::AtLeast(80.0)),
];

/// Words for the measures of accuracy that a claim can name.
const ACCURACY: &[(&[&str], &str)] = &[
    (&["sensitivity", "se", "finds"], "sensitivity"),
    (&["specificity", "sp"], "specificity"),
    (&["ppv", "positive predictive value"], "ppv"),
    (&["npv", "negative predictive value"], "npv"),
];

/// A comparison in words, and the bound that it makes of a number.
type Comparison = (&'static str, fn(f64) -> Bound);

/// Longer words first, where one begins with another.
const COMPARISONS: &[Comparison] = &[
    ("at least", Bound::AtLeast),
    ("no less than", Bound::AtLeast),
    ("not less than", Bound::AtLeast),
    (">=", Bound::AtLeast),
    ("no more than", Bound::AtMost),
    ("not more than", Bound::AtMost),
    ("at most", Bound::AtMost),
    ("up to", Bound::AtMost),
    ("<=", Bound::AtMost),
    ("more than", Bound::MoreThan),
    ("over", Bound::MoreThan),
    ("above", Bound::MoreThan),
    (">", Bound::MoreThan),
    ("less than", Bound::LessThan),
    ("fewer than", Bound::LessThan),
    ("under", Bound::LessThan),
    ("below", Bound::LessThan),
    ("<", Bound::LessThan),
];

impl Form {
    /// Reads a claim as it is written.
    pub fn parse(written: &str) -> Result<Self, FormError> {
        let fail = |slip: Slip| FormError { found: written.to_owned(), slip };
        let text = plain(written);
        let most = |words: &str| text.strip_prefix(words).is_some_and(is_whom);
        if most(FINDS_MOST) {
            return Ok(Self::Accuracy { measure: "sensitivity", bound: Bound::MoreThan(MOST) });
        }
        if most(MOST_OF) {
            return Ok(Self::Share(Bound::MoreThan(MOST)));
        }
        if PRAISE.contains(&&*text) {
            let slip = format!(
                "\"{text}\" does not say which side of the threshold is meant: write \"below is fine\""
            );
            return Err(fail(Slip::Words(slip)));
        }
        if let Some(found) = sentence(&text) {
            return Ok(found);
        }
        if let Some(rest) = text.strip_prefix("best cutoff") {
            return Ok(Self::BestCutoff { within: margin(rest).map_err(fail)? });
        }
        if let Some(rest) = text.strip_prefix("percentile") {
            let (percentile, within) = near(rest).map_err(fail)?;
            return Ok(Self::Percentile { percentile, within });
        }
        let (subject, bound) = bound(&text).map_err(fail)?;
        if subject == MISSES {
            return Ok(Self::Accuracy { measure: "sensitivity", bound: bound.of_the_others() });
        }
        if ["share", ""].contains(&subject) {
            return Ok(Self::Share(bound));
        }
        if subject == "share beyond" {
            return Ok(Self::ShareBeyond(bound));
        }
        let measure = ACCURACY.iter().find(|(names, _)| names.contains(&subject)).map(|(_, name)| *name);
        let measure = measure
            .ok_or_else(|| fail(Slip::Words(format!("\"{subject}\" is not something it can speak of"))))?;
        Ok(Self::Accuracy { measure, bound })
    }
}

/// A claim in an everyday sentence, in which the threshold may stand: `below 2 is fine`.
fn sentence(text: &str) -> Option<Form> {
    let words: Vec<&str> = text.split(' ').filter(|word| word.parse::<f64>().is_err()).collect();
    let words = words.join(" ");
    let &(_, measure, bound) = SENTENCES.iter().find(|(known, ..)| known.contains(&&*words))?;
    Some(Form::Accuracy { measure, bound })
}

/// `sensitivity at least 80 %` as its subject and its bound.
fn bound(text: &str) -> Result<(&str, Bound), Slip> {
    for (words, bound) in COMPARISONS {
        if let Some((subject, number)) = text.split_once(words) {
            return Ok((subject.trim(), bound(percent(number)?)));
        }
    }
    if let Some((subject, [low, high])) = range(text) {
        let (near, within) = middle(low, high)?;
        return Ok((subject.trim(), Bound::About { near, within }));
    }
    // "1 in 3" or "42 %" by itself is no limit: it says about how many.
    if let Some((subject, number)) = text.split_once("about").or_else(|| before_share(text)) {
        let (near, within) = near(number)?;
        return Ok((subject.trim(), Bound::About { near, within }));
    }
    let slip = if text.contains(|c: char| c.is_ascii_digit()) {
        "it does not say whether its number is a least, a most or about: write \"at least 30 %\", \"at most 30 %\" or \"about 30 %\""
    } else {
        "no number of per cent stands in it, such as \"30 %\", \"1 in 3\" or \"half\""
    };
    Err(Slip::Words(slip.to_owned()))
}

/// Words before the smaller and before the larger number of a range.
const RANGES: [[&str; 2]; 2] = [["between", " and "], ["from", " to "]];

/// What a range is of, and its two numbers.
fn range(text: &str) -> Option<(&str, [&str; 2])> {
    RANGES.iter().find_map(|[first, second]| {
        let (subject, numbers) = text.split_once(first)?;
        let (low, high) = numbers.split_once(second)?;
        Some((subject, [low, high]))
    })
}

fn margin(rest: &str) -> Result<f64, Slip> {
    let rest = rest.trim();
    match rest.strip_prefix("within") {
        Some(number) => percent(number),
        None if rest.is_empty() => Ok(CUTOFF_WITHIN),
        None => Err(Slip::Words(format!("\"{rest}\" was not expected after \"best cutoff\""))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_form_is_read_as_it_is_written() {
        let accuracy = |measure, bound| Form::Accuracy { measure, bound };
        let cases = [
            ("share at most 25%", Form::Share(Bound::AtMost(25.0))),
            ("Share beyond at least 10 %", Form::ShareBeyond(Bound::AtLeast(10.0))),
            ("share no more than 25 per cent", Form::Share(Bound::AtMost(25.0))),
            ("percentile 75", Form::Percentile { percentile: 75.0, within: 5.0 }),
            ("percentile 75 within 2.5", Form::Percentile { percentile: 75.0, within: 2.5 }),
            ("percentile 75 ± 1", Form::Percentile { percentile: 75.0, within: 1.0 }),
            ("Se at least 80 %", accuracy("sensitivity", Bound::AtLeast(80.0))),
            ("npv at most 90", accuracy("npv", Bound::AtMost(90.0))),
            ("npv at least 90 percent", accuracy("npv", Bound::AtLeast(90.0))),
            ("sensitivity more than 50 %", accuracy("sensitivity", Bound::MoreThan(50.0))),
            ("ppv over 50%", accuracy("ppv", Bound::MoreThan(50.0))),
            ("ppv under 0.5 %", accuracy("ppv", Bound::LessThan(0.5))),
            ("specificity less than 30", accuracy("specificity", Bound::LessThan(30.0))),
            ("specificity ≥ 30", accuracy("specificity", Bound::AtLeast(30.0))),
            ("best cutoff", Form::BestCutoff { within: 10.0 }),
            ("best cutoff within 20 %", Form::BestCutoff { within: 20.0 }),
        ];
        for (written, form) in cases {
            assert_eq!(Form::parse(written), Ok(form), "{written}");
        }
        for written in [
            "share",
            "share at most",
            "share 25",
            "88",
            "misses few",
            "most of all luck",
            "between 45 and 40 %",
            "finds most of all",
            "about",
            "1 in",
            "share at least about 30 %",
            "luck 1 in 3",
            "share at most 250",
            "luck at least 5",
            "best cutoff 2",
            "",
        ] {
            assert!(Form::parse(written).is_err(), "{written}");
        }
    }

    #[test]
    fn one_in_so_many_and_about_are_read_as_a_writer_means_them() {
        let about = |near, within| Bound::About { near, within };
        let sensitivity = |bound| Form::Accuracy { measure: "sensitivity", bound };
        let most = sensitivity(Bound::MoreThan(50.0));
        let cases = [
            ("1 in 3", Form::Share(about(33.3, 5.0))),
            ("One in three people", Form::Share(about(33.3, 5.0))),
            ("share is about 1/3", Form::Share(about(33.3, 5.0))),
            ("share about 33 %", Form::Share(about(33.0, 5.0))),
            ("share ≈ 33 % within 2", Form::Share(about(33.0, 2.0))),
            ("share beyond around 10 %", Form::ShareBeyond(about(10.0, 5.0))),
            ("at least 1 in 3", Form::Share(Bound::AtLeast(33.3))),
            ("share at least 1/3", Form::Share(Bound::AtLeast(33.3))),
            ("more than 30 % of people", Form::Share(Bound::MoreThan(30.0))),
            ("finds most people", most),
            ("finds most people who have it", most),
            ("1 in 3 adults", Form::Share(about(33.3, 5.0))),
            ("half", Form::Share(about(50.0, 5.0))),
            ("half of the people", Form::Share(about(50.0, 5.0))),
            ("more than half", Form::Share(Bound::MoreThan(50.0))),
            ("at most a third of adults", Form::Share(Bound::AtMost(33.3))),
            ("A third", Form::Share(about(33.3, 5.0))),
            ("two-thirds", Form::Share(about(66.7, 5.0))),
            ("two thirds within 2", Form::Share(about(66.7, 2.0))),
            ("about a quarter", Form::Share(about(25.0, 5.0))),
            ("three quarters of people", Form::Share(about(75.0, 5.0))),
            ("finds most of those", most),
            ("finds most of those who have it", most),
            ("detects the majority of people with it", most),
            ("88 percent", Form::Share(about(88.0, 5.0))),
            ("share 42 %", Form::Share(about(42.0, 5.0))),
            ("42% of adults", Form::Share(about(42.0, 5.0))),
            ("42 out of 100", Form::Share(about(42.0, 5.0))),
            ("about 42 out of 100 adults", Form::Share(about(42.0, 5.0))),
            ("4 of 10 people", Form::Share(about(40.0, 5.0))),
            ("nearly half", Form::Share(about(50.0, 5.0))),
            ("share beyond 10 % within 2", Form::ShareBeyond(about(10.0, 2.0))),
            ("most people", Form::Share(Bound::MoreThan(50.0))),
            ("most", Form::Share(Bound::MoreThan(50.0))),
            ("the majority of adults", Form::Share(Bound::MoreThan(50.0))),
            ("between 40 and 45 %", Form::Share(about(42.5, 2.5))),
            ("share from 40 % to 45 %", Form::Share(about(42.5, 2.5))),
            ("detects 8 out of 10 people", sensitivity(about(80.0, 5.0))),
            ("sensitivity 80 %", sensitivity(about(80.0, 5.0))),
            ("misses at most 20 %", sensitivity(Bound::AtLeast(80.0))),
            ("misses fewer than 1 in 5", sensitivity(Bound::MoreThan(80.0))),
            ("misses 1 in 5 people who have it", sensitivity(about(80.0, 5.0))),
            ("finds 8 in 10", Form::Accuracy { measure: "sensitivity", bound: about(80.0, 5.0) }),
        ];
        for (written, form) in cases {
            assert_eq!(Form::parse(written), Ok(form), "{written}");
        }
        let said = Form::parse("misses few").expect_err("no number").to_string();
        assert!(
            said.contains("In numbers, \"finds most people with it\" is \"sensitivity more than 50 %\""),
            "{said}"
        );
    }

    #[test]
    fn a_proportion_is_not_taken_for_per_cent() {
        for written in ["npv at least 0.9", "share at most 1", "percentile 0.75", "best cutoff within 0.1"] {
            let problem = Form::parse(written).expect_err(written).slip.to_string();
            assert!(problem.contains("did you mean"), "{problem}");
        }
        let said = Form::parse("npv at least 0.9").expect_err("a proportion").slip.to_string();
        assert!(said.starts_with("\"0.9\" would be 0.9 %; did you mean 90 %? Write \"90 %\""), "{said}");
        assert!(Form::parse("npv at least 0").is_ok() && Form::parse("share at least 1 %").is_ok());
    }

    #[test]
    fn everyday_sentences_are_understood_as_they_are_listed() {
        let of = |measure, bound| Ok(Form::Accuracy { measure, bound });
        for written in ["below is fine", "Below is safe", "below 2 is fine"] {
            assert_eq!(Form::parse(written), of("npv", Bound::AtLeast(90.0)), "{written}");
        }
        assert_eq!(Form::parse("above means you have it"), of("ppv", Bound::AtLeast(50.0)));
        assert_eq!(Form::parse("spares those who do not have it"), of("specificity", Bound::AtLeast(80.0)));
        let safe = Form::parse("safe").expect_err("no side").slip.to_string();
        assert!(safe.starts_with(
            "\"safe\" does not say which side of the threshold is meant: write \"below is fine\""
        ));
        let said = Form::parse("is fine").expect_err("no side").to_string();
        assert!(said.contains("\"below is fine\" or \"below is safe\" is \"npv at least 90 %\""), "{said}");
    }
}

//! Words for people whom the study leaves out, or who are named by what they are not: what is said of them.

use anyhow::{Error, anyhow};

use super::claim_bands::groups_by_age;
use super::claim_groups::name_of;
use super::claim_parts::{Part, labels, parts};
use super::claim_source::aged;
use super::claim_unknown::listed;
use super::place_elsewhere::studies_of_ages;
use crate::definitions::aliases::plain;
use crate::definitions::level_words::span;
use crate::definitions::whom::{ages, is_near, leaves_age_unsaid, left_out_by, negated_from};
use crate::finished::Opened;

/// Most words that say an age.
const LONGEST: usize = 6;
/// Words of measures beside which a number is none of years.
const OF_OTHER_UNITS: [&str; 6] = ["bmi", "mass", "weight", "waist", "hours", "months"];

/// What is said of a name that no group of the run has, because the study leaves these people out or the words do not say who
/// they are.
pub(super) fn not_here(opened: &Opened, name: &str) -> Option<Error> {
    if name.contains('=') {
        return None;
    }
    let text = plain(name);
    let words: Vec<&str> = text.split('_').collect();
    let why = negated(opened, &words)
        .or_else(|| by_condition(opened, &words))
        .or_else(|| by_age(opened, &words))
        .or_else(|| without_years(opened, &words))?;
    Some(anyhow!("“{}”: {why}", name.trim()))
}

/// Of people named by what they are not: that the study leaves the others out already, or which groups are left.
fn negated(opened: &Opened, words: &[&str]) -> Option<String> {
    let at = negated_from(words)?;
    let (before, not) = (&words[..at], &words[at + 1..]);
    if let Some(reasons) = left_out(opened, not) {
        return Some(format!(
            "the study leaves out already: {reasons}. Leave these words out of the name; for all its people, --group everybody"
        ));
    }
    let rest = || {
        let of = |name: String| parts(opened, &name).ok().flatten().filter(|parts| !parts.is_empty());
        of(not.join(" ")).or_else(|| of(format!("with {}", not.join(" "))))
    };
    let left = rest().filter(|_| before.is_empty()).and_then(|parts| left_of(opened, &parts));
    let how = left.or_else(|| listed(opened)).map(|how| format!(". {how}")).unwrap_or_default();
    Some(format!("this says who people are not; name the groups in which they are{how}"))
}

/// How those groups of a variable are asked that are none of the only part's.
fn left_of(opened: &Opened, parts: &[Part]) -> Option<String> {
    let [part] = parts else { return None };
    let (variable, _) = part.first()?;
    let grouping = (0..opened.study.groupings.len()).find(|&at| opened.study.groupings[at] == [*variable])?;
    let name = name_of(&opened.study, grouping);
    let is_left = |label: &&String| !part.contains(&(*variable, (*label).clone()));
    let left: Vec<String> =
        labels(opened, *variable).iter().filter(is_left).map(|label| format!("{name}={label}")).collect();
    let can_be_typed = !left.is_empty() && left.iter().all(|label| !label.contains(','));
    can_be_typed.then(|| format!("Those left are --group \"{}\"", left.join(",")))
}

/// Of people with a condition for which the study leaves people out.
fn by_condition(opened: &Opened, words: &[&str]) -> Option<String> {
    let reasons = left_out(opened, words)?;
    Some(format!(
        "the study leaves out: {reasons}. So this run cannot tell of these people as a group; a study file whose `exclude` does not \
         name them would count them"
    ))
}

/// For which reasons the study leaves out people of a condition that one of the words names.
fn left_out(opened: &Opened, words: &[&str]) -> Option<String> {
    let names = words.iter().map(|word| left_out_by(word)).find(|names| !names.is_empty())?;
    let is_meant = !words.iter().any(|word| is_near(word));
    let exclusions =
        opened.study.exclusions.iter().filter(|exclusion| is_meant && names.contains(&exclusion.name));
    let reasons: Vec<&str> = exclusions.map(|exclusion| exclusion.label.as_str()).collect();
    (!reasons.is_empty()).then(|| reasons.join("; "))
}

/// Of people of ages that the study does not have, and which study has them.
fn by_age(opened: &Opened, words: &[&str]) -> Option<String> {
    let of_study = opened.study.published.age;
    let whole = aged(of_study)?;
    let is_outside = |(from, below): &(f64, f64)| *below <= of_study.0 || *from >= of_study.1;
    let named = words.iter().find_map(|word| ages(word)).or_else(|| in_years(words));
    let meant = named.filter(is_outside)?;
    let who = aged(meant).map(|aged| format!("these people are {aged}, and ")).unwrap_or_default();
    let elsewhere = studies_of_ages(opened, meant).map(|studies| format!(". {studies}")).unwrap_or_default();
    Some(format!("{who}the study's people are {whole}: it leaves them out{elsewhere}"))
}

/// Ages that words say in years.
fn in_years(words: &[&str]) -> Option<(f64, f64)> {
    if words.iter().any(|word| OF_OTHER_UNITS.contains(word)) {
        return None;
    }
    let has_number = |word: &&&str| word.starts_with(|letter: char| letter.is_ascii_digit());
    let numbers = |words: &[&str]| words.iter().filter(has_number).count();
    // A number that is left over is a decimal of the other, or another measure.
    let spans = (1..=LONGEST.min(words.len())).rev().flat_map(|many| words.windows(many));
    let spans = spans.filter(|some| numbers(some) == numbers(words));
    let found = spans.map(|words| words.join("_")).find_map(|words| span(&words, true))?;
    let below = found.below.iter().copied().reduce(f64::max);
    Some((found.from.unwrap_or(f64::NEG_INFINITY), below.unwrap_or(f64::INFINITY)))
}

/// Of people whose age is spoken of without a number of years.
fn without_years(opened: &Opened, words: &[&str]) -> Option<String> {
    let has_number = words.iter().any(|word| word.contains(|c: char| c.is_ascii_digit()));
    let word = words.iter().find(|word| !has_number && leaves_age_unsaid(word))?;
    let groups = groups_by_age(opened)?;
    Some(format!("“{word}” says no age in years; this run has the ages {groups}: name one of them"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finished;

    #[test]
    fn people_whom_the_study_leaves_out_are_said_to_be() {
        // It is of people from 20 on, without pregnancy and known diabetes, with bmi_class.
        let opened = finished::open(None, &[]).expect("the demo");
        let said = |name: &str| not_here(&opened, name).map(|error| error.to_string()).unwrap_or_default();
        for name in ["pregnant women", "women in pregnancy"] {
            assert!(
                said(name).contains("the study leaves out: pregnant (test or own report). So this run"),
                "{}",
                said(name)
            );
        }
        assert!(said("people with diabetes").contains("the study leaves out: told by a doctor of diabetes"));
        assert!(said("non-diabetic women").contains("leaves out already: told by a doctor of diabetes"));
        for name in ["teenagers", "teens", "people aged 12 to 17", "children", "under 18"] {
            assert!(
                said(name).contains("the study's people are aged 20 and over: it leaves them out"),
                "{}",
                said(name)
            );
        }
        assert!(
            said("teenagers").starts_with("“teenagers”: these people are aged 13 to 19, and "),
            "{}",
            said("teenagers")
        );
        assert!(
            said("non-obese").ends_with(
                "Those left are --group \"bmi_class=under 18.5,bmi_class=18.5-24.9,bmi_class=25-29.9\""
            ),
            "{}",
            said("non-obese")
        );
        assert!(said("old people").contains("“old” says no age in years; this run has the ages \"20-39\""));
        for name in [
            "luck",
            "women over 50",
            "pre-diabetic people",
            "people at risk of diabetes",
            "sex=children",
            "bmi over 20",
            "body mass index under 18.5",
            "under 18.5",
            "fasting under 8 hours",
            "Non-Hispanic Black",
        ] {
            assert_eq!(said(name), "", "{name}");
        }
    }
}

//! What `--says` claims, with the outcome that it may name; and a sentence that stands where it cannot be read.

use std::path::Path;

use anyhow::{Result, bail};

use super::claim_names::squeezed;
use crate::analysis::claim::Form;
use crate::definitions::aliases::meant;
use crate::study::Study;

/// Words before an outcome that a claim names: finds most people with the syndrome.
const BEFORE_OUTCOME: [&str; 5] = [" who have ", " with ", " for ", " of having ", " having "];

/// Words of a sentence that speak of one side of a threshold, and the option for it.
const SIDES: [(&[&str], &str); 4] = [
    (&["below", "under", "less than", "<"], "--below"),
    (&["at most", "up to", "\u{2264}"], "--at-most"),
    (&["at least", "or more", "and over", "\u{2265}"], "--at-least"),
    (&["above", "over", "more than", ">"], "--above"),
];

/// What has fewer words may be the name of a folder.
const FEWEST_WORDS: usize = 3;

/// The claims in the order of the options; one in two wordings is asked once. Of the run's outcomes `outcome` is meant.
pub fn forms(says: &[String], study: &Study, outcome: Option<usize>) -> Result<Vec<Form>> {
    let mut forms: Vec<Form> = Vec::new();
    for claim in says {
        let read = Form::parse(claim);
        let form = match (read, without_outcome(claim, study, outcome)) {
            (Err(_), Some(rest)) => Form::parse(rest)?,
            (read, _) => read?,
        };
        if !forms.contains(&form) {
            forms.push(form);
        }
    }
    Ok(forms)
}

/// The one outcome of the run that a claim names at its end, where none was given by itself.
pub fn outcome_named(says: &[String], study: &Study) -> Option<usize> {
    let only = Some(0).filter(|_| study.outcomes.len() == 1);
    only.filter(|_| says.iter().any(|claim| without_outcome(claim, study, only).is_some()))
}

/// A claim without the outcome at its end, where that is the one that is meant.
fn without_outcome<'c>(claim: &'c str, study: &Study, outcome: Option<usize>) -> Option<&'c str> {
    let row = &study.outcomes[outcome?].row;
    let is_meant = |name: &str| {
        let same = |known: &str| squeezed(known) == squeezed(name);
        same(&row.name) || same(&row.label) || meant(name).contains(&&*row.name)
    };
    let cut = |words: &&str| {
        let (before, name) = claim.rsplit_once(words)?;
        let name = name.strip_prefix("the ").unwrap_or(name);
        is_meant(name).then_some(before)
    };
    BEFORE_OUTCOME.iter().find_map(cut)
}

/// Refuses a sentence that was given in place of a run, and says how to ask it.
pub fn not_a_sentence(place: Option<&Path>, more: &[String]) -> Result<()> {
    let mut texts = place.and_then(Path::to_str).into_iter().chain(more.iter().map(String::as_str));
    let is_sentence = |text: &&str| {
        text.split_whitespace().count() >= FEWEST_WORDS && !text.contains('/') && !Path::new(text).exists()
    };
    if let Some(text) = texts.find(is_sentence) {
        let option =
            option_of(text).unwrap_or_else(|| "--below 2 (or --at-least, --above, --at-most)".to_owned());
        bail!(
            "a sentence cannot be read by itself: “{text}”. Ask it in parts: --index NAME, the threshold by {option}, and what is \
             claimed of it by --says, such as --says \"below is fine\" or --says \"share at most 25 %\"; then the run's folder"
        );
    }
    match more.first() {
        Some(extra) => bail!("one run is asked at a time: {extra} was not expected"),
        None => Ok(()),
    }
}

/// `--below 2`, from the side and the number that a sentence names.
fn option_of(sentence: &str) -> Option<String> {
    let text = sentence.to_lowercase();
    let is_number = |word: &&str| word.parse::<f64>().is_ok_and(f64::is_finite);
    let number =
        text.split_whitespace().map(|word| word.trim_end_matches(['.', ',', ';'])).find(is_number)?;
    let (_, option) = SIDES.iter().find(|(words, _)| words.iter().any(|word| text.contains(word)))?;
    Some(format!("{option} {number}"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::claim::Bound;

    fn study() -> Study {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        crate::study::load(&root.join("nhanes-2017-2020-adults.toml")).expect("a study")
    }

    #[test]
    fn an_outcome_at_the_end_of_a_claim_is_read_where_it_is_the_one_that_is_meant() {
        let study = study();
        let read =
            |claim: &str, outcome| forms(&[claim.to_owned()], &study, outcome).map_err(|e| e.to_string());
        let most = Form::Accuracy { measure: "sensitivity", bound: Bound::MoreThan(50.0) };
        for claim in [
            "finds most people with metabolic syndrome",
            "finds most people who have the metabolic syndrome",
            "sensitivity more than 50 % for metabolic_syndrome_harmonized_2009",
        ] {
            assert_eq!(read(claim, Some(0)), Ok(vec![most]), "{claim}");
        }
        // Another outcome, or none.
        assert!(read("finds most people with diabetes", Some(0)).is_err());
        assert!(read("finds most people with metabolic syndrome", None).is_err());
        assert_eq!(outcome_named(&["finds most people with mets".to_owned()], &study), None);
        let one = Study { outcomes: study.outcomes[..1].to_vec(), ..study.clone() };
        assert_eq!(outcome_named(&["finds most people with mets".to_owned()], &one), Some(0));
        assert_eq!(outcome_named(&["finds most people".to_owned()], &one), None);
    }

    #[test]
    fn a_sentence_in_place_of_a_run_is_told_how_to_ask() {
        let said = |text: &str| not_a_sentence(Some(Path::new(text)), &[]).expect_err(text).to_string();
        let text = said("HOMA-IR below 2 is fine");
        assert!(text.contains("the threshold by --below 2, and what is claimed"), "{text}");
        assert!(said("2.5 or more is resistant").contains("by --at-least 2.5,"));
        assert!(said("all is fine").contains("--below 2 (or --at-least"));
        assert!(not_a_sentence(Some(Path::new("out")), &[]).is_ok() && not_a_sentence(None, &[]).is_ok());
        let more =
            not_a_sentence(Some(Path::new("out")), &["other".to_owned()]).expect_err("two").to_string();
        assert!(more.contains("one run is asked at a time: other"), "{more}");
    }
}

//! What `--says` claims, with the outcome that it may name; and a sentence that stands where it cannot be read.

use std::path::Path;

use anyhow::{Error, Result, anyhow, bail};

use super::claim_names::{quoted, squeezed};
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
        let form = match with_outcome(claim) {
            Some((form, name)) => {
                let named = outcomes_meant(claim, study, (form, name))?;
                if let Some(outcome) = outcome.filter(|outcome| !named.contains(outcome)) {
                    bail!("{}", another(claim, study, (name, outcome)));
                }
                form
            }
            None => Form::parse(claim).map_err(|error| of_whom(claim).unwrap_or_else(|| error.into()))?,
        };
        if !forms.contains(&form) {
            forms.push(form);
        }
    }
    Ok(forms)
}

/// The outcome of the run that a claim names at its end, where none was given by itself; and the words that name it.
pub fn outcome_named(says: &[String], study: &Study) -> Result<Option<(usize, String)>> {
    let Some((claim, (form, name))) = says.iter().find_map(|claim| Some((claim, with_outcome(claim)?)))
    else {
        return Ok(None);
    };
    let named = outcomes_meant(claim, study, (form, name))?;
    if let [one] = named[..] {
        return Ok(Some((one, name.to_owned())));
    }
    let names: Vec<&str> = named.iter().map(|&at| study.outcomes[at].row.name.as_str()).collect();
    bail!(
        "the claim \"{claim}\" is about \"{name}\", which could be any of {}: name it with --outcome",
        quoted(&names)
    )
}

/// A claim that can be read once the outcome at its end is taken off, and that outcome.
fn with_outcome(claim: &str) -> Option<(Form, &str)> {
    if Form::parse(claim).is_ok() {
        return None;
    }
    BEFORE_OUTCOME.iter().find_map(|words| {
        let (before, name) = claim.split_once(words)?;
        Some((Form::parse(before).ok()?, name.trim().trim_start_matches("the ")))
    })
}

/// Words before those whom a claim counts, which say nothing of them.
const BEFORE_WHOM: [&str; 4] = ["of", "all", "the", "for"];

/// What is said of a claim that can be read but for words at its end, which say whom it counts: half of women.
fn of_whom(claim: &str) -> Option<Error> {
    let words: Vec<&str> = claim.split_whitespace().collect();
    let is_word = |word: &&str| word.chars().all(|c| c.is_alphabetic() || c == '-');
    let readable = |many: &usize| Form::parse(&words[..*many].join(" ")).is_ok();
    let read = (1..words.len()).rev().find(readable)?;
    let whom: Vec<&str> =
        words[read..].iter().skip_while(|word| BEFORE_WHOM.contains(word)).copied().collect();
    let last = words[..read].iter().rposition(|word| !BEFORE_WHOM.contains(word))?;
    let read = words[..=last].join(" ");
    (!whom.is_empty() && whom.iter().all(is_word)).then(|| {
        let whom = whom.join(" ");
        anyhow!(
            "the claim \"{claim}\" can be read but for “{whom}”: whom a claim counts is said by --group, such as --says \"{read}\" \
             --group \"{whom}\""
        )
    })
}

/// The outcomes of the run that a name can mean: the one of this name or label, else all that an everyday word means.
fn outcomes_meant(claim: &str, study: &Study, (form, name): (Form, &str)) -> Result<Vec<usize>> {
    if !form.needs_outcome() {
        bail!(
            "the claim \"{claim}\" is about the {} of all people, in which \"{name}\" takes no part: groups of people are asked by \
             --group; how many of those with an outcome are found is its sensitivity",
            form.measure().replace('_', " ")
        );
    }
    let all = || study.outcomes.iter().map(|outcome| &outcome.row).enumerate();
    let same = |known: &str| squeezed(known) == squeezed(name);
    if let Some((exact, _)) = all().find(|(_, row)| same(&row.name) || same(&row.label)) {
        return Ok(vec![exact]);
    }
    let names = meant(name);
    let fits: Vec<usize> = all().filter(|(_, row)| names.contains(&&*row.name)).map(|(at, _)| at).collect();
    if fits.is_empty() {
        let known: Vec<&str> = all().map(|(_, row)| row.name.as_str()).collect();
        bail!(
            "the claim \"{claim}\" can be read, but for \"{name}\", which is no outcome of this run. {}",
            if known.is_empty() { "It has none".to_owned() } else { format!("It has {}", quoted(&known)) }
        );
    }
    Ok(fits)
}

/// A claim that names another outcome than the option does.
fn another(claim: &str, study: &Study, (name, outcome): (&str, usize)) -> String {
    format!(
        "the claim \"{claim}\" is about \"{name}\", but the outcome asked for is {}: name the same in both, or leave it out of \
         the claim",
        study.outcomes[outcome].row.name
    )
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
        let wrong = |claim: &str, outcome| read(claim, outcome).expect_err(claim);
        let other = wrong("finds most people with raised_a1c", Some(0));
        assert!(
            other.contains(
                "is about \"raised_a1c\", but the outcome asked for is metabolic_syndrome_harmonized_2009"
            ),
            "{other}"
        );
        let unknown = wrong("finds most people with luck", Some(0));
        assert!(
            unknown.contains("\"luck\", which is no outcome of this run. It has \"metabolic"),
            "{unknown}"
        );
        assert!(
            wrong("share at most 25 % for women", None).contains("groups of people are asked by --group")
        );
        assert!(wrong("misses few people with mets", Some(0)).contains("cannot be read"));
        for (claim, says, whom) in [
            ("half of women", "half", "women"),
            ("1 in 3 women", "1 in 3", "women"),
            ("at least 80 % of the men", "at least 80 %", "men"),
        ] {
            let said = wrong(claim, None);
            assert!(said.ends_with(&format!("such as --says \"{says}\" --group \"{whom}\"")), "{said}");
        }
        let everybody = wrong("is fine for everybody", None);
        assert!(everybody.contains("\"fine\" does not say which side"), "{everybody}");
    }

    #[test]
    fn an_outcome_that_only_a_claim_names_is_taken_or_asked_back() {
        let study = study();
        let named = |claim: &str, study: &Study| -> Result<Option<usize>, String> {
            let named = outcome_named(&[claim.to_owned()], study).map_err(|error| error.to_string())?;
            Ok(named.map(|(outcome, _)| outcome))
        };
        assert_eq!(named("finds most people with metabolic_syndrome_harmonized_2009", &study), Ok(Some(0)));
        let several =
            named("detects 8 out of 10 people with metabolic syndrome", &study).expect_err("several");
        assert!(several.contains("could be any of \"metabolic_syndrome_harmonized_2009\", "), "{several}");
        assert!(several.ends_with("name it with --outcome"), "{several}");
        let one = Study { outcomes: study.outcomes[..1].to_vec(), ..study };
        assert_eq!(named("finds most people with mets", &one), Ok(Some(0)));
        assert_eq!(named("finds most people", &one), Ok(None));
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

//! What is said of a group that the run does not have: a slip of the pen, a finer grouping, and which groups there are.

use anyhow::{Error, anyhow};

use super::claim_crossed::crossed_group;
use super::claim_groups::name_of;
use super::claim_parts::says_nothing;
use crate::definitions::aliases::words_for;
use crate::definitions::finer::{finer, told_apart};
use crate::definitions::level_words::has_the_words;
use crate::definitions::nearest::{MEANT, nearest_label};
use crate::definitions::survey::survey;
use crate::finished::Opened;
use crate::study::Source;

/// A grouping with more groups is listed by its name alone.
const MOST_LEVELS: usize = 10;

/// The error about an unknown grouping, with what is known of groups; of the name, `unread` are the words from the first on
/// that means nothing.
pub(super) fn with_groups(opened: &Opened, unread: &str, error: &Error) -> Error {
    let said = error.to_string();
    let apart = apart(opened, unread);
    let meant = if said.contains(MEANT) || apart.is_some() { None } else { meant(opened, unread) };
    let meant = meant.map(|name| format!("{MEANT} \"{name}\"?"));
    let further = [apart, meant, listed(opened)].into_iter().flatten();
    let all = further.fold(said, |said, more| {
        let stop = if said.ends_with('?') { "" } else { "." };
        format!("{said}{stop} {more}")
    });
    anyhow!("{all}")
}

/// The groups of each grouping of one variable: `Its groups: sex (female; male)`.
pub(super) fn listed(opened: &Opened) -> Option<String> {
    let single = opened.study.groupings.iter().enumerate().filter(|(_, of)| of.len() == 1);
    let of = |(grouping, of): (usize, &Vec<usize>)| {
        let labels = &opened.tallies.plan.variables[of[0]].labels;
        let few = (labels.len() <= MOST_LEVELS).then(|| format!(" ({})", labels.join("; ")));
        format!("{}{}", name_of(&opened.study, grouping), few.unwrap_or_default())
    };
    let each: Vec<String> = single.map(of).collect();
    (!each.is_empty()).then(|| format!("Its groups: {}", each.join(", ")))
}

/// The words that are meant but for slips of the pen: all of them as a label or an everyday word, else each by itself; only what
/// the run has, with no word left out.
fn meant(opened: &Opened, unread: &str) -> Option<String> {
    let variables = opened.study.groupings.iter().flatten();
    let labels: Vec<&str> =
        variables.flat_map(|&v| &opened.tallies.plan.variables[v].labels).map(String::as_str).collect();
    let everyday: Vec<String> = words_for(&labels).map(|words| words.replace('_', " ")).collect();
    let parts = labels.iter().flat_map(|label| label.split([' ', '-']));
    let is_word = |word: &&str| word.chars().all(char::is_alphabetic);
    let known: Vec<&str> = labels
        .iter()
        .copied()
        .chain(everyday.iter().map(String::as_str))
        .chain(parts.filter(is_word))
        .collect();
    let is_found = |name: &str| crossed_group(opened, name).is_ok_and(|found| found.is_some());
    let as_meant = |word: &str| {
        let is_right = is_found(word) || says_nothing(opened, word);
        if is_right { Some(word.to_owned()) } else { nearest_label(word, &known).map(str::to_owned) }
    };
    let whole = nearest_label(unread, &known).map(str::to_owned);
    let each = unread.split(' ').map(as_meant).collect::<Option<Vec<String>>>().map(|words| words.join(" "));
    whole.into_iter().chain(each).find(|name| is_found(name))
}

/// A finer grouping that the run lacks and its survey has, whose groups have one of the words.
fn apart(opened: &Opened, unread: &str) -> Option<String> {
    let surveys = || {
        opened.study.sources.iter().filter_map(|source| match source {
            Source::Survey { survey: name, .. } => survey(name),
            Source::Table(_) => None,
        })
    };
    let variables = opened.study.groupings.iter().flatten().map(|&v| opened.study.variables[v].name.as_str());
    let named = |joins: &str| {
        let parts = finer(joins)?;
        let (labels, _) = surveys().find_map(|survey| told_apart(survey, joins, parts))?;
        let has = |label: &&str| unread.split(' ').any(|word| has_the_words(label, word));
        let label = labels.into_iter().find(has)?;
        Some(format!(
            "{label} is told apart by {parts}, not by {joins}: name {parts} among the groups of the study file and run that again"
        ))
    };
    variables.into_iter().find_map(named)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finished;

    #[test]
    fn a_slip_of_the_pen_is_found_and_the_groups_are_listed() {
        let opened = finished::open(None, &[]).expect("the demo");
        let said = |unread: &str| with_groups(&opened, unread, &anyhow!("no")).to_string();
        for (unread, meant) in [("wimmen", "women"), ("femal", "female"), ("obesse", "obese")] {
            assert!(said(unread).contains(&format!("Did you mean \"{meant}\"?")), "{}", said(unread));
        }
        assert!(said("obesse wimmen").contains("Did you mean \"obese women\"?"), "{}", said("obesse wimmen"));
        // A word that tells people apart is not left out of what is meant, and no part of a label is named that means nothing.
        for unread in ["postmenopausal women", "young women", "Non", "native people"] {
            assert!(!said(unread).contains(MEANT), "{}", said(unread));
        }
        let luck = said("luck");
        assert!(!luck.contains(MEANT), "{luck}");
        assert!(
            luck.contains("Its groups: sex (female; male), age_20_40_60 (20-39; 40-59; 60 and over), "),
            "{luck}"
        );
    }

    #[test]
    fn a_group_of_a_finer_grouping_is_said_to_be_told_apart_there() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let mut opened = finished::open(None, &[]).expect("the demo");
        opened.study.sources =
            crate::study::load(&root.join("nhanes-2017-2020-adults.toml")).expect("a study").sources;
        let said = apart(&opened, "asians").expect("a finer grouping");
        assert!(
            said.starts_with("Non-Hispanic Asian is told apart by ancestry_detailed, not by ancestry: "),
            "{said}"
        );
        assert_eq!(apart(&opened, "wimmen"), None);
    }
}

//! The parts of a name that puts a group together: “women” and “over 60”, each with the levels of the run that it can mean.

use anyhow::{Result, bail};

use super::claim_bands::{is_age, not_cut_there, of_span, variables};
use crate::definitions::aliases::plain;
use crate::definitions::level_words::{has_the_words, means_level};
use crate::definitions::survey::survey;
use crate::definitions::whom::{ages, is_everybody as is_everybody_by_name};
use crate::finished::Opened;
use crate::study::Source;

/// Words between the parts of a name that say nothing by themselves.
const BETWEEN: [&str; 17] = [
    "and",
    "with",
    "x",
    "×",
    "aged",
    "age",
    "ages",
    "who",
    "are",
    "of",
    "the",
    "in",
    "years",
    "years_old",
    "year_old",
    "years_of_age",
    "those",
];
/// Most words of one part.
const LONGEST: usize = 6;
/// A shorter word of a label does not name it.
const FEWEST_LETTERS: usize = 4;

/// Labels of variables that one part of a name can mean.
pub(super) type Part = Vec<(usize, String)>;

/// A name in its parts, or the words of it from the first on that is neither in a part nor between them.
enum Read {
    Parts(Vec<Part>),
    Unread(String),
}

/// A name in its parts; none where a word is neither in one nor between them.
pub(super) fn parts(opened: &Opened, name: &str) -> Result<Option<Vec<Part>>> {
    Ok(match read(opened, name)? {
        Read::Parts(parts) => Some(parts),
        Read::Unread(_) => None,
    })
}

/// The words of a name from the first on that means nothing in the run; the whole name where each means something.
pub(super) fn unread(opened: &Opened, name: &str) -> String {
    match read(opened, name) {
        Ok(Read::Unread(words)) => words,
        _ => name.to_owned(),
    }
}

/// A name in its parts, longest first.
fn read(opened: &Opened, name: &str) -> Result<Read> {
    let text = plain(&name.replace('×', " × ").replace('+', " plus "));
    let words: Vec<&str> = text.split('_').filter(|word| !word.is_empty()).collect();
    let mut parts = Vec::new();
    let mut rest = &words[..];
    while !rest.is_empty() {
        let longest = || (1..=LONGEST.min(rest.len())).rev().map(|many| (many, rest[..many].join("_")));
        let found = longest().map(|(many, words)| (many, meant_by(opened, &words)));
        if let Some((many, part)) = found.into_iter().find(|(_, part)| !part.is_empty()) {
            parts.push(part);
            rest = &rest[many..];
            continue;
        }
        let between = longest().find(|(_, words)| says_nothing(opened, words)).map(|(many, _)| many);
        if let Some(many) = between {
            rest = &rest[many..];
            continue;
        }
        if let Some(elsewhere) = longest().find_map(|(_, words)| not_cut_there(opened, &words)) {
            bail!("{elsewhere}");
        }
        return Ok(Read::Unread(rest.join(" ")));
    }
    Ok(Read::Parts(parts))
}

/// Whether a name is made of words that say no more than that people are meant: everybody of this study.
pub(super) fn is_everybody(opened: &Opened, name: &str) -> bool {
    let names_people = || (1..=LONGEST).any(|many| windows(name, many).any(|words| are_all(opened, &words)));
    matches!(read(opened, name), Ok(Read::Parts(parts)) if parts.is_empty()) && names_people()
}

/// So many words of a name, wherever they stand in it.
fn windows(name: &str, many: usize) -> impl Iterator<Item = String> {
    let text = plain(name);
    let words: Vec<&str> = text.split('_').collect();
    words.windows(many).map(|words| words.join("_")).collect::<Vec<_>>().into_iter()
}

/// Whether words tell nobody of this study from anybody else.
pub(super) fn says_nothing(opened: &Opened, words: &str) -> bool {
    BETWEEN.contains(&words) || are_all(opened, words)
}

/// Whether words mean all people of this study: people, those of ages that hold the study's, those of the nation that its survey
/// draws from.
fn are_all(opened: &Opened, words: &str) -> bool {
    let (lowest, beyond) = opened.study.published.age;
    let hold_its = |(from, below): (f64, f64)| from <= lowest && beyond <= below;
    is_everybody_by_name(words) || ages(words).is_some_and(hold_its) || are_its_nation(opened, words)
}

/// Whether all people of this study are drawn from the nation that words name.
fn are_its_nation(opened: &Opened, words: &str) -> bool {
    let of_nation = |source: &Source| match source {
        Source::Survey { survey: name, .. } => {
            survey(name).is_some_and(|survey| survey.nation.iter().any(|nation| nation == words))
        }
        Source::Table(_) => false,
    };
    !opened.study.sources.is_empty() && opened.study.sources.iter().all(of_nation)
}

/// The levels of the run's groupings that some words mean: by name, else as a span of bands, else by a word of a label.
fn meant_by(opened: &Opened, words: &str) -> Part {
    let variables = variables(opened);
    let of = |test: &dyn Fn(&str, bool) -> bool| -> Part {
        let of_variable = |&variable: &usize| {
            let is_age = is_age(&opened.study.variables[variable]);
            let meant = labels(opened, variable).iter().filter(|label| test(label, is_age));
            meant.map(|label| (variable, label.clone())).collect::<Vec<_>>()
        };
        variables.iter().flat_map(of_variable).collect()
    };
    let named = of(&|label, is_age| means_level(words, label, is_age));
    if !named.is_empty() {
        return named;
    }
    let span = of_span(opened, words);
    if !span.is_empty() {
        return span;
    }
    let is_word = words.split('_').all(|word| word.chars().all(char::is_alphabetic));
    if !is_word || words.len() < FEWEST_LETTERS || says_nothing(opened, words) {
        return Vec::new();
    }
    // A word that several labels of one variable share names none of them.
    let mut by_word =
        of(&|label, _| has_the_words(label, words) && !label.contains(|c: char| c.is_ascii_digit()));
    let shared: Vec<usize> = by_word.iter().map(|(variable, _)| *variable).collect();
    by_word.retain(|(variable, _)| shared.iter().filter(|other| *other == variable).count() == 1);
    by_word
}

pub(super) fn labels(opened: &Opened, variable: usize) -> &[String] {
    &opened.tallies.plan.variables[variable].labels
}

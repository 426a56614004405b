//! The parts of a name that puts a group together: “women” and “over 60”, each with the levels of the run that it can mean.

use anyhow::{Result, bail};

use super::claim_bands::{not_cut_there, of_span};
use crate::definitions::aliases::plain;
use crate::definitions::level_words::{has_the_words, means_level};
use crate::finished::Opened;

/// Words between the parts of a name that say nothing by themselves.
const BETWEEN: [&str; 19] = [
    "and", "with", "x", "×", "aged", "age", "ages", "who", "are", "of", "the", "people", "in", "years",
    "old", "adults", "persons", "those", "all",
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
    while let Some(first) = rest.first() {
        let longest = || (1..=LONGEST.min(rest.len())).rev().map(|many| (many, rest[..many].join("_")));
        let found = longest().map(|(many, words)| (many, meant_by(opened, &words)));
        if let Some((many, part)) = found.into_iter().find(|(_, part)| !part.is_empty()) {
            parts.push(part);
            rest = &rest[many..];
            continue;
        }
        if let Some(elsewhere) = longest().find_map(|(_, words)| not_cut_there(opened, &words)) {
            bail!("{elsewhere}");
        }
        if !BETWEEN.contains(first) {
            return Ok(Read::Unread(rest.join(" ")));
        }
        rest = &rest[1..];
    }
    Ok(Read::Parts(parts))
}

/// The levels of the run's groupings that some words mean: by name, else as a span of bands, else by a word of a label.
fn meant_by(opened: &Opened, words: &str) -> Part {
    let mut variables: Vec<usize> = opened.study.groupings.iter().flatten().copied().collect();
    variables.sort_unstable();
    variables.dedup();
    let of = |test: &dyn Fn(&str, bool) -> bool| -> Part {
        let of_variable = |&variable: &usize| {
            let is_age = opened.study.variables[variable].name.starts_with("age");
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
    if !is_word || words.len() < FEWEST_LETTERS || BETWEEN.contains(&words) {
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

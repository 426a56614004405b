//! Names of a run that a command line gives: found, or an error that lists the known ones.

use anyhow::{Result, anyhow, bail};

use super::say::tell;
use crate::definitions::aliases::{meant, plain};
use crate::definitions::{self, nearest};
use crate::finished::{Opened, Origin};

/// A study that knows the indices which the demo lacks.
const STUDY_WITH_MOST: &str = "pipelines/nhanes-2017-2020-adults.toml";

/// A name, what it is called in words, and the built-in names of its kind.
pub(super) struct Kind {
    pub what: &'static str,
    pub known: Vec<(String, String)>,
    pub built_in: Vec<&'static str>,
}

/// Position of an index of the run; its only one when none is named.
pub fn index(opened: &Opened, name: Option<&str>) -> Result<usize> {
    let study = &opened.study;
    let known: Vec<(String, String)> =
        study.indices.iter().map(|index| (index.row.name.clone(), index.row.label.clone())).collect();
    let Some(name) = name else {
        if known.len() == 1 {
            return Ok(0);
        }
        bail!("which index is meant? Name it with --index; this run has {}", listed(&known));
    };
    let built_in = definitions::indices().iter().map(|row| row.name.as_str()).collect();
    found(&Kind { what: "index", known, built_in }, name, &opened.origin)
}

/// Position of an outcome of the run.
pub fn outcome(opened: &Opened, name: &str) -> Result<usize> {
    let study = &opened.study;
    if study.outcomes.is_empty() {
        bail!(
            "this run has no outcome, so none can be meant: leave --outcome out, or run a study with outcomes"
        );
    }
    let known = study.outcomes.iter().map(|o| (o.row.name.clone(), o.row.label.clone())).collect();
    let built_in = definitions::outcomes().iter().map(|row| row.name.as_str()).collect();
    let kind = Kind { what: "outcome", known, built_in };
    found(&kind, name, &opened.origin).map_err(|error| {
        if unmeasured(&kind, name) {
            anyhow!("{error}. Insulin resistance itself was not measured in this survey")
        } else {
            error
        }
    })
}

/// Whether insulin resistance itself is asked for and no outcome of the run measures it.
fn unmeasured(kind: &Kind, name: &str) -> bool {
    let is_it = |name: &str| squeezed(name).contains("insulinresist");
    is_it(name) && kind.known.iter().all(|(known, label)| !is_it(known) && !is_it(label))
}

/// A name or label without capitals, hyphens, underscores and blanks.
pub(super) fn squeezed(name: &str) -> String {
    plain(name).replace('_', "")
}

/// By name or label, as they are squeezed, or by an everyday word that can mean only one of the run.
pub(super) fn found(kind: &Kind, name: &str, origin: &Origin) -> Result<usize> {
    let wanted = squeezed(name);
    let same = |known: &(String, String)| squeezed(&known.0) == wanted || squeezed(&known.1) == wanted;
    let exact = kind.known.iter().position(same).or_else(|| by_alias(kind, name));
    exact.ok_or_else(|| unknown(kind, name, origin))
}

/// What an everyday word means.
fn by_alias(kind: &Kind, name: &str) -> Option<usize> {
    let names = meant(name);
    let mut fits = (0..kind.known.len()).filter(|&at| names.contains(&kind.known[at].0.as_str()));
    fits.next().filter(|_| fits.next().is_none())
}

/// What a word was taken for that is neither the name nor the label of what was found.
pub(super) fn taken(word: &str, (name, label): (&str, &str)) -> Option<String> {
    let is_written = [name, label].iter().any(|known| squeezed(known) == squeezed(word));
    (!is_written).then(|| is_taken_for(word, name))
}

/// The same of words that are known not to be a name.
pub(super) fn is_taken_for(words: &str, name: &str) -> String {
    format!("“{words}” is taken to mean {name}")
}

/// As [`index`], and on the side says what an everyday word was taken for.
pub fn index_told(opened: &Opened, name: Option<&str>) -> Result<usize> {
    let found = index(opened, name)?;
    let row = &opened.study.indices[found].row;
    if let Some(said) = name.and_then(|name| taken(name, (&row.name, &row.label))) {
        tell(said);
    }
    Ok(found)
}

/// The same of [`outcome`].
pub fn outcome_told(opened: &Opened, name: &str) -> Result<usize> {
    let found = outcome(opened, name)?;
    let row = &opened.study.outcomes[found].row;
    if let Some(said) = taken(name, (&row.name, &row.label)) {
        tell(said);
    }
    Ok(found)
}

/// What is meant by an everyday word, what is near, or what another study has.
fn unknown(kind: &Kind, name: &str, origin: &Origin) -> anyhow::Error {
    let names = || kind.known.iter().map(|(name, _)| name.as_str());
    let what = kind.what;
    let here = match origin {
        Origin::Demo => {
            format!("no run was named, so the invented survey answered; it has no {what} \"{name}\"")
        }
        _ => format!("this run has no {what} \"{name}\""),
    };
    let built_in: Vec<&str> = meant(name).into_iter().filter(|n| kind.built_in.contains(n)).collect();
    let of_run: Vec<&str> =
        built_in.iter().copied().filter(|meant| names().any(|known| known == *meant)).collect();
    if !of_run.is_empty() {
        return anyhow!(
            "{here}. What is meant is called {}. Known: {}",
            quoted(&of_run),
            listed(&kind.known)
        );
    }
    let wanted = squeezed(name);
    let elsewhere = match kind.built_in.iter().find(|built_in| squeezed(built_in) == wanted) {
        Some(exact) => vec![*exact],
        None => built_in,
    };
    if !elsewhere.is_empty() {
        let verb = if elsewhere.len() == 1 { "is" } else { "are" };
        let how = match origin {
            Origin::Demo => format!("run a study that has it ({STUDY_WITH_MOST}) and add its folder"),
            _ => "name it in the study file and run that again".to_owned(),
        };
        return anyhow!("{here}; it has {}. {} {verb} known: {how}", listed(&kind.known), quoted(&elsewhere));
    }
    if nearest::nearest(name, names()).is_some() {
        return anyhow!("{here}. {}", nearest::hint(name, names()));
    }
    let all = nearest::nearest(name, kind.built_in.iter().copied());
    let hint = all.map(|near| format!("Did you mean \"{near}\", which this run does not have? "));
    anyhow!("{here}. {}Known: {}", hint.unwrap_or_default(), listed(&kind.known))
}

pub(super) fn quoted(names: &[&str]) -> String {
    names.iter().map(|name| format!("\"{name}\"")).collect::<Vec<_>>().join(", ")
}

fn listed(known: &[(String, String)]) -> String {
    known.iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>().join(", ")
}

/// What is said of a name that several groupings have, by their positions.
pub(super) fn ambiguous(name: &str, several: &[usize], known: &[(String, String)]) -> anyhow::Error {
    let fits: Vec<&str> = several.iter().map(|&position| known[position].0.as_str()).collect();
    anyhow!("\"{name}\" could be any of {}: write one of them", quoted(&fits))
}

//! Groupings that `--group` names: by name, by label as it is printed, by a part of either; what a group belongs to.

use anyhow::{Result, anyhow, bail};

use super::claim_names::{Kind, found, quoted, squeezed, taken};
use crate::definitions::aliases::{levels_meant, meant, plain};
use crate::definitions::groups;
use crate::finished::Opened;
use crate::study::{Study, Variable};

/// Words for the people who are in every answer.
const EVERYBODY: [&str; 2] = ["everybody", "everyone"];

/// Positions of groupings of the run, or everything that is wrong with their names; none for everybody alone.
pub fn groupings(opened: &Opened, names: &[String]) -> Result<Vec<usize>> {
    let known = known(&opened.study);
    let names = whole(names, &known);
    let asked: Vec<&String> = names.iter().filter(|name| !EVERYBODY.contains(&&*plain(name))).collect();
    if known.is_empty() && !asked.is_empty() {
        bail!("this run has no groups: leave --group out, or run a study with groups");
    }
    let (found, wrong): (Vec<_>, Vec<_>) =
        asked.into_iter().map(|name| grouping(opened, &known, name.trim())).partition(Result::is_ok);
    let wrong: Vec<String> = wrong.into_iter().filter_map(Result::err).map(|e| e.to_string()).collect();
    if !wrong.is_empty() {
        bail!("{}", wrong.join("\n       "));
    }
    let mut positions: Vec<usize> = Vec::new();
    for position in found.into_iter().filter_map(Result::ok) {
        if !positions.contains(&position) {
            positions.push(position);
        }
    }
    Ok(positions)
}

/// Names as they were meant: a label with a comma in it was taken apart at the comma.
fn whole(parts: &[String], known: &[(String, String)]) -> Vec<String> {
    let is_label = |text: &str| known.iter().any(|(_, label)| squeezed(label) == squeezed(&crossed(text)));
    let mut names = Vec::new();
    let mut rest = parts;
    while !rest.is_empty() {
        let mut joined = (2..=rest.len()).rev().map(|many| (many, rest[..many].join(",")));
        let label = joined.find(|(_, label)| is_label(label));
        let (many, name) = label.unwrap_or_else(|| (1, rest[0].clone()));
        names.push(name);
        rest = &rest[many..];
    }
    names
}

/// Names and labels of the run's groupings, those of crossings joined by `×`.
fn known(study: &Study) -> Vec<(String, String)> {
    let joined = |g: &Vec<usize>, of: fn(&Variable) -> &str| {
        g.iter().map(|&v| of(&study.variables[v])).collect::<Vec<_>>().join(" × ")
    };
    study.groupings.iter().map(|g| (joined(g, |v| &v.name), joined(g, |v| &v.label))).collect()
}

/// By name or label; else as one of its groups, which is refused with a hint; else by a part that only one has.
fn grouping(opened: &Opened, known: &[(String, String)], name: &str) -> Result<usize> {
    let wanted = variables(name);
    if let Some(position) = known.iter().position(|(known, _)| variables(known) == wanted) {
        return Ok(position);
    }
    let built_in = groups().iter().map(|row| row.name.as_str()).collect();
    let kind = Kind { what: "grouping", known: known.to_vec(), built_in };
    let exact = found(&kind, &crossed(name), &opened.origin);
    if exact.is_ok() || squeezed(name).is_empty() {
        return exact;
    }
    if wanted.len() > 1 {
        return crossing(&opened.study, known, (name, &wanted));
    }
    if let Some(hint) = of_group(opened, known, (name, is_level)) {
        return Err(hint);
    }
    if let Some(position) = by_part(known, name)? {
        return Ok(position);
    }
    of_group(opened, known, (name, has_the_words)).map_or(exact, Err)
}

/// By the beginning of a name or label, else by any part of one; an error where several have it.
fn by_part(known: &[(String, String)], name: &str) -> Result<Option<usize>> {
    let part = squeezed(name);
    let squeezed: Vec<[String; 2]> =
        known.iter().map(|(name, label)| [squeezed(name), squeezed(label)]).collect();
    let tests: [fn(&str, &str) -> bool; 2] =
        [|known, part| known.starts_with(part), |known, part| known.contains(part)];
    for (test, of_label) in tests.iter().flat_map(|test| [(test, false), (test, true)]) {
        let fits = (0..known.len()).filter(|&at| test(&squeezed[at][usize::from(of_label)], &part));
        match fits.collect::<Vec<_>>().as_slice() {
            [] => {}
            [one] => {
                if of_label {
                    taken(name, &known[*one].0);
                }
                return Ok(Some(*one));
            }
            several => return Err(ambiguous(name, several, known)),
        }
    }
    Ok(None)
}

fn ambiguous(name: &str, several: &[usize], known: &[(String, String)]) -> anyhow::Error {
    let fits: Vec<&str> = several.iter().map(|&position| known[position].0.as_str()).collect();
    anyhow!("\"{name}\" could be any of {}: write one of them", quoted(&fits))
}

/// The crossing of the run whose variables these words begin or mean.
fn crossing(study: &Study, known: &[(String, String)], (name, words): (&str, &[String])) -> Result<usize> {
    let crossings: Vec<usize> = (0..known.len()).filter(|&at| study.groupings[at].len() > 1).collect();
    if crossings.is_empty() {
        bail!(
            "this run crosses no groupings, so it has no \"{name}\": name the crossing in the study file, such as \
             groups = [\"sex × bmi_class\"], and run that again"
        );
    }
    let fits: Vec<usize> = crossings
        .iter()
        .copied()
        .filter(|&at| {
            let variables: Vec<&Variable> =
                study.groupings[at].iter().map(|&v| &study.variables[v]).collect();
            variables.len() == words.len()
                && words.iter().all(|word| variables.iter().any(|variable| is_meant(variable, word)))
                && variables.iter().all(|variable| words.iter().any(|word| is_meant(variable, word)))
        })
        .collect();
    match fits.as_slice() {
        [one] => {
            taken(name, &known[*one].0);
            Ok(*one)
        }
        [] => {
            let has: Vec<&str> = crossings.iter().map(|&at| known[at].0.as_str()).collect();
            bail!("this run has no crossing \"{name}\". It has {} (× may be written x or *)", quoted(&has))
        }
        several => Err(ambiguous(name, several, known)),
    }
}

/// Whether a word is the beginning of a variable's name or label, or an everyday word for it.
fn is_meant(variable: &Variable, word: &str) -> bool {
    let word_of = squeezed(word);
    [&variable.name, &variable.label].iter().any(|known| squeezed(known).starts_with(&word_of))
        || meant(word).contains(&variable.name.as_str())
}

/// What is said of a name that is one group of a grouping: of a single one, if any has it.
fn of_group(
    opened: &Opened,
    known: &[(String, String)],
    (name, test): (&str, fn(&str, &str) -> bool),
) -> Option<anyhow::Error> {
    let has = |variable: &usize| {
        opened.tallies.plan.variables[*variable].labels.iter().any(|label| test(label, name))
    };
    let mut found: Vec<usize> =
        (0..known.len()).filter(|&at| opened.study.groupings[at].iter().any(has)).collect();
    if found.iter().any(|&at| opened.study.groupings[at].len() == 1) {
        found.retain(|&at| opened.study.groupings[at].len() == 1);
    }
    let names: Vec<&str> = found.iter().map(|&at| known[at].0.as_str()).collect();
    let first = names.first()?;
    let first = if first.contains(' ') { format!("\"{first}\"") } else { (*first).to_owned() };
    Some(anyhow!("“{name}” is a group of {}: --group {first}", names.join(" or ")))
}

/// Whether a word is a group's label, or an everyday word for it.
fn is_level(label: &str, name: &str) -> bool {
    squeezed(label) == squeezed(name) || levels_meant(name).contains(&label)
}

/// Whether all words of a name stand in a group's label: Black in Non-Hispanic Black.
fn has_the_words(label: &str, name: &str) -> bool {
    let words = |text: &str| plain(text).split('_').map(str::to_owned).collect::<Vec<_>>();
    let of_label = words(label);
    words(name).iter().all(|word| of_label.contains(word))
}

/// A crossing however it is written, with `×` between its parts.
fn crossed(name: &str) -> String {
    name.replace('*', "×").replace(" x ", " × ").replace('×', " × ")
}

/// The variables of a crossing, in alphabetical order.
fn variables(name: &str) -> Vec<String> {
    let mut variables: Vec<String> = crossed(name).split('×').map(plain).collect();
    variables.sort_unstable();
    variables
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finished;

    fn asked(opened: &Opened, names: &[&str]) -> Result<Vec<String>, String> {
        let names: Vec<String> = names.iter().flat_map(|name| name.split(',')).map(str::to_owned).collect();
        let known = known(&opened.study);
        let found = groupings(opened, &names).map_err(|error| error.to_string())?;
        Ok(found.into_iter().map(|at| known[at].0.clone()).collect())
    }

    #[test]
    fn a_grouping_is_known_by_its_printed_label_and_a_group_names_its_grouping() {
        // It has sex, age_20_40_60, bmi_class, ancestry and sex × bmi_class.
        let opened = finished::open(None, &[]).expect("the demo");
        let found = |names: &[&str], wanted: &[&str]| {
            assert_eq!(
                asked(&opened, names),
                Ok(wanted.iter().map(|name| (*name).to_owned()).collect()),
                "{names:?}"
            );
        };
        found(&["everybody"], &[]);
        found(&["Everybody,sex"], &["sex"]);
        found(&["Body mass index"], &["bmi_class"]);
        found(&["Body mass index, WHO classes,sex"], &["bmi_class", "sex"]);
        found(&["Sex × body mass index, WHO classes"], &["sex × bmi_class"]);
        for crossing in ["sex x bmi", "sex*bmi", "bmi × sex", "BMI-class * gender"] {
            found(&[crossing], &["sex × bmi_class"]);
        }
        let refused = |name: &str| asked(&opened, &[name]).expect_err(name);
        for (name, grouping) in [
            ("women", "sex"),
            ("female", "sex"),
            ("men", "sex"),
            ("obese", "bmi_class"),
            ("60 and over", "age_20_40_60"),
        ] {
            assert_eq!(refused(name), format!("“{name}” is a group of {grouping}: --group {grouping}"));
        }
        assert_eq!(
            refused("sex x age"),
            "this run has no crossing \"sex x age\". It has \"sex × bmi_class\" (× may be written x or *)"
        );
        assert!(refused("luck").contains("no grouping \"luck\""), "{}", refused("luck"));
    }

    #[test]
    fn a_word_of_a_label_is_enough_for_a_hint() {
        assert!(
            has_the_words("Non-Hispanic Black", "black")
                && has_the_words("Non-Hispanic Black", "Non-Hispanic")
        );
        assert!(!has_the_words("Non-Hispanic Black", "ack") && !has_the_words("female", "male"));
    }
}

//! What `--group` names: groupings by name, by label as it is printed, by a part of either; or one group of a grouping.

use anyhow::{Result, anyhow, bail};

use super::claim_crossed::{crossed_group, group_of_crossing, separately};
use super::claim_names::{Kind, found, quoted, squeezed, taken};
use super::claim_one_group::{Found, group, group_of, has_the_words, is_level};
use super::say::tell;
use crate::definitions::aliases::{meant, plain};
use crate::definitions::groups;
use crate::finished::Opened;
use crate::study::{Study, Variable};

/// Words for the people who are in every answer.
const EVERYBODY: [&str; 2] = ["everybody", "everyone"];

/// Groupings by position, and single groups of those that are not asked as a whole.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asked {
    pub groupings: Vec<usize>,
    pub only: Vec<(usize, String)>,
}

/// What is asked of the run, or everything that is wrong with the names; no groupings for everybody alone.
pub fn groupings(opened: &Opened, names: &[String]) -> Result<Asked> {
    let known = known(&opened.study);
    let names = whole(names, &known);
    let asked: Vec<&String> = names.iter().filter(|name| !EVERYBODY.contains(&&*plain(name))).collect();
    if known.is_empty() && !asked.is_empty() {
        bail!("this run has no groups: leave --group out, or run a study with groups");
    }
    let (found, wrong): (Vec<_>, Vec<_>) =
        asked.into_iter().map(|name| one(opened, &known, name.trim())).partition(Result::is_ok);
    let wrong: Vec<String> = wrong.into_iter().filter_map(Result::err).map(|e| e.to_string()).collect();
    if !wrong.is_empty() {
        bail!("{}", wrong.join("\n       "));
    }
    let asked = together(&found.into_iter().filter_map(Result::ok).collect::<Vec<_>>());
    if let Some(words) = separately(opened, &asked.only) {
        tell(words);
    }
    Ok(asked)
}

/// Each grouping once; as a whole where any of the names asks for that.
fn together(found: &[Found]) -> Asked {
    let mut asked = Asked { groupings: Vec::new(), only: Vec::new() };
    let is_whole = |grouping: usize| found.iter().any(|f| f.grouping == grouping && f.groups.is_empty());
    for Found { grouping, groups } in found {
        if !asked.groupings.contains(grouping) {
            asked.groupings.push(*grouping);
        }
        for group in groups.iter().filter(|_| !is_whole(*grouping)) {
            let single = (*grouping, group.clone());
            if !asked.only.contains(&single) {
                asked.only.push(single);
            }
        }
    }
    asked
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

/// By name or label; else as one group; else by a part that only one grouping has.
fn one(opened: &Opened, known: &[(String, String)], name: &str) -> Result<Found> {
    let all_of = |grouping: usize| Found { grouping, groups: Vec::new() };
    let wanted = variables(name);
    if let Some(position) = known.iter().position(|(known, _)| variables(known) == wanted) {
        return Ok(all_of(position));
    }
    let built_in = groups().iter().map(|row| row.name.as_str()).collect();
    let kind = Kind { what: "grouping", known: known.to_vec(), built_in };
    let exact = found(&kind, &crossed(name), &opened.origin);
    if exact.is_ok() || squeezed(name).is_empty() {
        return exact.map(all_of);
    }
    if let Some((grouping, group)) = name.split_once('=') {
        let position = found(&kind, &crossed(grouping.trim()), &opened.origin)
            .or_else(|error| by_part(known, grouping)?.ok_or(error))?;
        return match opened.study.groupings[position].len() {
            1 => group_of(opened, known, (position, group.trim())),
            _ => group_of_crossing(opened, (position, group.trim())),
        };
    }
    if wanted.len() > 1 {
        if let Some(found) = crossed_group(opened, name)? {
            return Ok(found);
        }
        return crossing(&opened.study, known, (name, &wanted)).map(all_of);
    }
    if let Some(found) = group(opened, known, (name, is_level))? {
        return Ok(found);
    }
    if let Some(position) = by_part(known, name)? {
        return Ok(all_of(position));
    }
    if let Some(found) = group(opened, known, (name, has_the_words))? {
        return Ok(found);
    }
    crossed_group(opened, name)?.map_or_else(|| exact.map(all_of), Ok)
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
            bail!(
                "this run has no crossing \"{name}\". It has {} (× may be written x or *){}",
                quoted(&has),
                adjusted_instead(study, known, words).unwrap_or_default()
            )
        }
        several => Err(ambiguous(name, several, known)),
    }
}

/// Where the run has adjusted one of the crossed variables for the others, which answers much of what a crossing is asked for.
fn adjusted_instead(study: &Study, known: &[(String, String)], words: &[String]) -> Option<String> {
    let standardisation = study.standardisation.as_ref()?;
    let means = |variables: &[usize], word: &String| {
        variables.iter().any(|&variable| is_meant(&study.variables[variable], word))
    };
    let compared = standardisation.of.iter().find(|&&grouping| {
        let variables = &study.groupings[grouping];
        let others: Vec<&String> = words.iter().filter(|word| !means(variables, word)).collect();
        let adjusts = |to: &Vec<usize>| others.iter().all(|word| means(to, word));
        others.len() < words.len() && standardisation.to.iter().any(adjusts)
    })?;
    let name = &known[*compared].0;
    Some(format!(
        ". Shares by {name} after adjusting are in its table standardised_values and, at the thresholds of the study, in the answer \
         with --group {name}"
    ))
}

/// Whether a word is the beginning of a variable's name or label, or an everyday word for it.
fn is_meant(variable: &Variable, word: &str) -> bool {
    let word_of = squeezed(word);
    [&variable.name, &variable.label].iter().any(|known| squeezed(known).starts_with(&word_of))
        || meant(word).contains(&variable.name.as_str())
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

    fn read(opened: &Opened, names: &[&str]) -> Result<(Vec<String>, Vec<String>), String> {
        let names: Vec<String> = names.iter().flat_map(|name| name.split(',')).map(str::to_owned).collect();
        let known = known(&opened.study);
        let Asked { groupings, only } = groupings(opened, &names).map_err(|error| error.to_string())?;
        let only = only.into_iter().map(|(grouping, group)| format!("{}={group}", known[grouping].0));
        Ok((groupings.into_iter().map(|at| known[at].0.clone()).collect(), only.collect()))
    }

    #[test]
    fn a_grouping_is_known_by_its_printed_label_and_one_group_is_asked_alone() {
        // It has sex, age_20_40_60, bmi_class, ancestry and sex × bmi_class.
        let opened = finished::open(None, &[]).expect("the demo");
        let owned = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>();
        let found = |names: &[&str], wanted: &[&str], only: &[&str]| {
            assert_eq!(read(&opened, names), Ok((owned(wanted), owned(only))), "{names:?}");
        };
        found(&["everybody"], &[], &[]);
        found(&["Everybody,sex"], &["sex"], &[]);
        found(&["Body mass index"], &["bmi_class"], &[]);
        found(&["Body mass index, WHO classes,sex"], &["bmi_class", "sex"], &[]);
        found(&["Sex × body mass index, WHO classes"], &["sex × bmi_class"], &[]);
        for crossing in ["sex x bmi", "sex*bmi", "bmi × sex", "BMI-class * gender"] {
            found(&[crossing], &["sex × bmi_class"], &[]);
        }
        found(&["women"], &["sex"], &["sex=female"]);
        found(&["60 and over", "men"], &["age_20_40_60", "sex"], &["age_20_40_60=60 and over", "sex=male"]);
        found(&["bmi=obese"], &["bmi_class"], &["bmi_class=30 and over"]);
        for crossed in ["female × 30 and over", "sex × bmi=women × 30 and over", "women with obesity"] {
            found(&[crossed], &["sex × bmi_class"], &["sex × bmi_class=female × 30 and over"]);
        }
        // The whole grouping holds the group.
        found(&["women", "sex"], &["sex"], &[]);
        let refused = |name: &str| read(&opened, &[name]).expect_err(name);
        let lacking = refused("sex=children");
        assert_eq!(lacking, "sex has no group “children”. It has \"female\", \"male\"");
        assert!(refused("sex × bmi_class=women").contains("crosses groupings"));
        assert!(
            refused("sex x age").starts_with(
                "this run has no crossing \"sex x age\". It has \"sex × bmi_class\" (× may be written x or *)"
            ),
            "{}",
            refused("sex x age")
        );
        assert!(refused("women over 60").contains("no group of all that “women over 60” names"));
        assert!(refused("luck").contains("no grouping \"luck\""), "{}", refused("luck"));
        let mut crossed = finished::open(None, &[]).expect("the demo");
        crossed.study.groupings.retain(|grouping| grouping.len() > 1);
        assert_eq!(
            read(&crossed, &["women"]).expect_err("a crossing only"),
            "“women” is told apart only in sex × bmi_class: --group \"sex × bmi_class\""
        );
    }

    #[test]
    fn a_crossing_that_the_run_lacks_points_to_shares_that_it_has_adjusted() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let study = crate::study::load(&root.join("nhanes-2017-2020-adults.toml")).expect("a study");
        let said =
            |name: &str| adjusted_instead(&study, &known(&study), &variables(name)).unwrap_or_default();
        assert!(
            said("ancestry × obesity").starts_with(". Shares by ancestry after adjusting"),
            "{}",
            said("ancestry × obesity")
        );
        assert_eq!(said("age × obesity"), "");
    }
}

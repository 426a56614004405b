//! What `--group` names: groupings by name, by label as it is printed, by a part of either; or one group of a grouping.

use anyhow::{Error, Result, bail};

use super::claim_crossed::{crossed_group, group_of_crossing, separately};
use super::claim_crossing::crossing;
use super::claim_names::{Kind, ambiguous, found, squeezed};
use super::claim_not_here::not_here;
use super::claim_one_group::{Found, group, group_of, has_a_word, is_level};
use super::claim_parts::{is_everybody, parts, unread};
use super::claim_understood::understood;
use super::claim_unknown::with_groups;
use crate::definitions::aliases::plain;
use crate::definitions::groups;
use crate::definitions::nearest::MEANT;
use crate::finished::Opened;
use crate::study::{Study, Variable};

/// Groupings by position, and single groups of those that are not asked as a whole.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asked {
    pub groupings: Vec<usize>,
    pub only: Vec<(usize, String)>,
    /// What names were taken to mean that are not written as the run writes them.
    pub understood: Vec<String>,
}

/// What is asked of the run, or everything that is wrong with the names; no groupings for everybody alone.
pub fn groupings(opened: &Opened, names: &[String]) -> Result<Asked> {
    let known = known(&opened.study);
    let names = whole(names, &known);
    let read = |name: &String| {
        let found = one(opened, &known, name.trim());
        // What is meant but for a slip of the pen says more than that it is not here.
        let why = |error: Error| {
            // Where every word is read, the groups are there, and their crossing is not.
            let is_read = parts(opened, name).is_ok_and(|read| read.is_some_and(|parts| !parts.is_empty()));
            if is_read || error.to_string().contains(MEANT) {
                error
            } else {
                not_here(opened, name).unwrap_or(error)
            }
        };
        found.map(|found| (name.trim().to_owned(), found)).map_err(why)
    };
    let (found, wrong): (Vec<_>, Vec<_>) = names.iter().map(read).partition(Result::is_ok);
    let wrong: Vec<String> = wrong.into_iter().filter_map(Result::err).map(|e| e.to_string()).collect();
    if !wrong.is_empty() {
        bail!("{}", wrong.join("\n       "));
    }
    let found: Vec<(String, Option<Found>)> = found.into_iter().filter_map(Result::ok).collect();
    let said = found.iter().filter_map(|(name, found)| understood(opened, &known, (name, found.as_ref())));
    let said: Vec<String> = said.collect();
    let mut asked = together(&found.into_iter().filter_map(|(_, found)| found).collect::<Vec<_>>());
    asked.understood = said.into_iter().chain(separately(opened, &asked.only)).collect();
    Ok(asked)
}

/// Each grouping once; as a whole where any of the names asks for that.
fn together(found: &[Found]) -> Asked {
    let mut asked = Asked { groupings: Vec::new(), only: Vec::new(), understood: Vec::new() };
    let is_whole = |grouping: usize| found.iter().any(|f| f.grouping == grouping && f.groups.is_empty());
    for Found { grouping, groups, .. } in found {
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
pub(super) fn known(study: &Study) -> Vec<(String, String)> {
    let joined = |g: &Vec<usize>, of: fn(&Variable) -> &str| {
        g.iter().map(|&v| of(&study.variables[v])).collect::<Vec<_>>().join(" × ")
    };
    study.groupings.iter().map(|g| (joined(g, |v| &v.name), joined(g, |v| &v.label))).collect()
}

/// All groups of a grouping.
fn all_of(grouping: usize) -> Found {
    Found::of(grouping, Vec::new())
}

/// What a name asks for: nothing more than everybody, a grouping by its name, or whatever else it can mean.
fn one(opened: &Opened, known: &[(String, String)], name: &str) -> Result<Option<Found>> {
    let wanted = variables(name);
    if let Some(position) = known.iter().position(|(known, _)| variables(known) == wanted) {
        return Ok(Some(all_of(position)));
    }
    if is_everybody(opened, name) {
        return Ok(None);
    }
    if known.is_empty() {
        bail!("this run has no groups: leave --group out, or run a study with groups");
    }
    by_words(opened, known, (name, &wanted)).map(Some)
}

/// By name or label; else as one group; else by a part that only one grouping has.
fn by_words(opened: &Opened, known: &[(String, String)], (name, wanted): (&str, &[String])) -> Result<Found> {
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
        return crossing(&opened.study, known, (name, wanted)).map(all_of);
    }
    if let Some(found) = group(opened, known, (name, is_level))? {
        return Ok(found);
    }
    if let Some(position) = by_part(known, name)? {
        return Ok(all_of(position));
    }
    if let Some(found) = group(opened, known, (name, has_a_word))? {
        return Ok(found);
    }
    match (crossed_group(opened, name)?, exact) {
        (Some(found), _) => Ok(found),
        (None, Err(error)) => Err(with_groups(opened, &unread(opened, name), &error)),
        (None, Ok(grouping)) => Ok(all_of(grouping)),
    }
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
            [one] => return Ok(Some(*one)),
            several => return Err(ambiguous(name, several, known)),
        }
    }
    Ok(None)
}

/// A crossing however it is written, with `×` between its parts.
fn crossed(name: &str) -> String {
    name.replace('*', "×").replace(" x ", " × ").replace('×', " × ")
}

/// The variables of a crossing, in alphabetical order.
pub(super) fn variables(name: &str) -> Vec<String> {
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
        let Asked { groupings, only, .. } = groupings(opened, &names).map_err(|error| error.to_string())?;
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
        for everybody in ["all people", "adults", "the people", "everyone"] {
            found(&[everybody], &[], &[]);
        }
        // Its people are of no nation that has a word, and 20 and over: no word is dropped that tells people apart.
        for refused in
            ["American adults", "old people", "young women", "teenagers", "pregnant women", "of the"]
        {
            assert!(read(&opened, &[refused]).is_err(), "{refused}");
        }
        found(&["Body mass index"], &["bmi_class"], &[]);
        found(&["Body mass index, WHO classes,sex"], &["bmi_class", "sex"], &[]);
        found(&["Sex × body mass index, WHO classes"], &["sex × bmi_class"], &[]);
        for crossing in ["sex x bmi", "sex*bmi", "bmi × sex", "BMI-class * gender"] {
            found(&[crossing], &["sex × bmi_class"], &[]);
        }
        found(&["women"], &["sex"], &["sex=female"]);
        found(&["over 40"], &["age_20_40_60"], &["age_20_40_60=40-59", "age_20_40_60=60 and over"]);
        found(&["60 and over", "men"], &["age_20_40_60", "sex"], &["age_20_40_60=60 and over", "sex=male"]);
        found(&["bmi=obese"], &["bmi_class"], &["bmi_class=30 and over"]);
        found(&["age=under 60"], &["age_20_40_60"], &["age_20_40_60=20-39", "age_20_40_60=40-59"]);
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
        let luck = refused("luck");
        assert!(
            luck.contains("no grouping \"luck\"") && luck.contains("Its groups: sex (female; male), "),
            "{luck}"
        );
        assert!(refused("wimmen").contains("Did you mean \"women\"?"), "{}", refused("wimmen"));
        assert!(
            refused("over 50").contains("nearest cuts of age_20_40_60 are 40 and 60"),
            "{}",
            refused("over 50")
        );
        let mut crossed = finished::open(None, &[]).expect("the demo");
        crossed.study.groupings.retain(|grouping| grouping.len() > 1);
        assert_eq!(
            read(&crossed, &["women"]).expect_err("a crossing only"),
            "“women” is told apart only in sex × bmi_class: --group \"sex × bmi_class\""
        );
    }
}

//! One group of a crossing, as people name it: “female × 60 and over”, “women over 60”.

use anyhow::{Result, bail};

use super::claim_alike::alike;
use super::claim_groups::name_of;
use super::claim_names::quoted;
use super::claim_one_group::{Found, full};
use super::claim_parts::{Part, labels, parts};
use crate::finished::Opened;

/// The group that a name puts together from levels of variables; none where some word of it is no level of the run.
///
/// An error where several groupings have it, or none has all of it: it then names those that have a part of it; or where
/// it names a number at which the run is not cut.
pub(super) fn crossed_group(opened: &Opened, name: &str) -> Result<Option<Found>> {
    let Some(parts) = parts(opened, name)?.filter(|parts| !parts.is_empty()) else { return Ok(None) };
    let groupings = 0..opened.study.groupings.len();
    let fits: Vec<Found> = groupings.filter_map(|grouping| fit(opened, grouping, &parts)).collect();
    let is_whole = |found: &&Found| opened.study.groupings[found.grouping].len() == parts.len();
    let whole: Vec<Found> = fits.iter().filter(is_whole).cloned().collect();
    match whole.as_slice() {
        [] if parts.len() == 1 || of_one_variable(&parts) => Ok(None),
        [] => bail!("{}", lacking(opened, (name, &parts), &fits)),
        candidates => alike(opened, name, candidates).map(Some),
    }
}

/// One group of this crossing: a level of each of its variables.
pub(super) fn group_of_crossing(opened: &Opened, (grouping, group): (usize, &str)) -> Result<Found> {
    let variables = &opened.study.groupings[grouping];
    let found = parts(opened, group)?
        .filter(|parts| parts.len() == variables.len())
        .and_then(|parts| fit(opened, grouping, &parts));
    let Some(found) = found else {
        let example: Vec<&str> = variables
            .iter()
            .filter_map(|&variable| Some(labels(opened, variable).first()?.as_str()))
            .collect();
        bail!(
            "{} crosses groupings, and “{group}” is none of its groups: name a level of each, such as --group \"{}\"",
            name_of(&opened.study, grouping),
            example.join(" × ")
        );
    };
    Ok(found)
}

/// Says of single groups that are asked each by itself how those who are in all of them are asked, where the run has them.
pub(super) fn separately(opened: &Opened, only: &[(usize, String)]) -> Option<String> {
    let study = &opened.study;
    let level = |variable: &usize| {
        let mut of = only.iter().filter(|(grouping, _)| study.groupings[*grouping] == [*variable]);
        of.next().filter(|_| of.next().is_none()).map(|(_, label)| label.as_str())
    };
    let crossing = study.groupings.iter().filter(|variables| variables.len() > 1).find_map(|variables| {
        variables.iter().map(level).collect::<Option<Vec<&str>>>().map(|levels| levels.join(" × "))
    })?;
    Some(format!("People who are in both are asked for by --group \"{crossing}\""))
}

/// Whether all parts are levels of the same variable, which nobody has two of.
fn of_one_variable(parts: &[Part]) -> bool {
    let variables = |part: &Part| part.iter().map(|(variable, _)| *variable).collect::<Vec<_>>();
    parts.iter().all(|part| variables(part).iter().all(|variable| variables(&parts[0]).contains(variable)))
}

/// The groups of a grouping in which each of its variables has one of the parts.
fn fit(opened: &Opened, grouping: usize, parts: &[Part]) -> Option<Found> {
    let mut groups: Vec<String> = Vec::new();
    for variable in &opened.study.groupings[grouping] {
        let mut of = parts.iter().filter(|part| part.iter().any(|(meant, _)| meant == variable));
        let part = of.next().filter(|_| of.next().is_none())?;
        let levels: Vec<String> =
            part.iter().filter(|(meant, _)| meant == variable).map(|(_, label)| label.clone()).collect();
        groups = if groups.is_empty() { levels } else { crossed(&groups, &levels) };
    }
    Some(Found::of(grouping, groups))
}

/// Every group with every level.
fn crossed(groups: &[String], levels: &[String]) -> Vec<String> {
    groups.iter().flat_map(|group| levels.iter().map(move |level| format!("{group} × {level}"))).collect()
}

/// What is said where no grouping has all parts: which groups have some of them, and how to ask for all.
fn lacking(opened: &Opened, (name, parts): (&str, &[Part]), fits: &[Found]) -> String {
    let size = |found: &Found| opened.study.groupings[found.grouping].len();
    let most = fits.iter().map(size).max().unwrap_or(0);
    let largest: Vec<String> =
        fits.iter().filter(|found| size(found) == most).flat_map(|found| full(opened, found)).collect();
    let largest: Vec<&str> = largest.iter().map(String::as_str).collect();
    let has = if largest.is_empty() { String::new() } else { format!("It has {}. ", quoted(&largest)) };
    let variable = |part: &Part| part.first().map(|(at, _)| opened.study.variables[*at].name.clone());
    let crossing: Vec<String> = parts.iter().filter_map(variable).collect();
    format!(
        "this run has no group of all that “{name}” names. {has}For those who are in all, name the crossing in the study file, \
         groups = [\"{}\"], and run that again",
        crossing.join(" × ")
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::claim_parts::unread;
    use crate::finished;

    // It has sex, age_20_40_60, bmi_class, ancestry and sex × bmi_class.
    fn demo() -> Opened {
        finished::open(None, &[]).expect("the demo")
    }

    fn found(opened: &Opened, name: &str) -> Vec<String> {
        crossed_group(opened, name).expect(name).map(|found| full(opened, &found)).unwrap_or_default()
    }

    #[test]
    fn a_group_of_a_crossing_is_known_by_its_label_and_in_everyday_words() {
        let opened = demo();
        for name in [
            "female × 30 and over",
            "female x 30 and over",
            "female*30 and over",
            "30 and over × women",
            "women and 30 and over",
            "obese women",
            "women with obesity",
            "women BMI over 30",
            "female × BMI 30+",
        ] {
            assert_eq!(found(&opened, name), ["sex × bmi_class=female × 30 and over"], "{name}");
        }
        for name in ["over 60", "60+", "people aged 60 and over", "older than 60"] {
            assert_eq!(found(&opened, name), ["age_20_40_60=60 and over"], "{name}");
        }
        assert_eq!(found(&opened, "over 40"), ["age_20_40_60=40-59", "age_20_40_60=60 and over"]);
        assert_eq!(found(&opened, "adults 40 to 59"), ["age_20_40_60=40-59"]);
        // A number alone is an age, and not a body mass index; other words are no levels.
        let elsewhere = crossed_group(&opened, "women over 30").err().map(|error| error.to_string());
        let elsewhere = elsewhere.expect("no cut at 30");
        assert!(elsewhere.contains("the nearest cut of age_20_40_60 is 40; it has"), "{elsewhere}");
        for name in ["luck", "sex × bmi_class", "women of luck", "men and women", ""] {
            assert_eq!(found(&opened, name), Vec::<String>::new(), "{name}");
        }
    }

    #[test]
    fn a_word_of_one_label_is_a_part_and_what_is_not_read_is_told() {
        let mut opened = demo();
        let [sex, ancestry] = ["sex", "ancestry"].map(|name| {
            let is_it = |of: &Vec<usize>| of.len() == 1 && opened.study.variables[of[0]].name == name;
            opened.study.groupings.iter().find(|of| is_it(of)).expect(name)[0]
        });
        let labels = labels(&opened, ancestry).to_vec();
        opened.study.groupings.push(vec![sex, ancestry]);
        for label in &labels {
            let name = format!("{label} women");
            assert_eq!(found(&opened, &name), [format!("sex × ancestry=female × {label}")], "{name}");
        }
        assert_eq!(unread(&opened, "blak women"), "blak women");
        assert_eq!(unread(&opened, "women of luck"), "luck");
    }

    #[test]
    fn what_no_grouping_has_is_told_by_its_parts() {
        let opened = demo();
        let said = |name: &str| crossed_group(&opened, name).err().map(|error| error.to_string());
        let three = said("men over 60 with obesity").expect("no such crossing");
        assert_eq!(
            three,
            "this run has no group of all that “men over 60 with obesity” names. It has \"sex × bmi_class=male × 30 and over\". For \
             those who are in all, name the crossing in the study file, groups = [\"sex × age_20_40_60 × bmi_class\"], and run that \
             again"
        );
        let two = said("women over 60").expect("no such crossing");
        assert!(two.contains("It has \"sex=female\", \"age_20_40_60=60 and over\"."), "{two}");
    }

    #[test]
    fn a_group_is_asked_of_its_crossing_and_single_groups_are_said_to_be_asked_by_themselves() {
        let opened = demo();
        let crossing = opened.study.groupings.iter().position(|of| of.len() == 2).expect("a crossing");
        let of = |group: &str| group_of_crossing(&opened, (crossing, group)).map(|found| found.groups);
        assert_eq!(of("women × 30 and over").expect("a group"), ["female × 30 and over"]);
        let said = of("women").expect_err("half a name").to_string();
        assert!(
            said.contains("“women” is none of its groups: name a level of each, such as --group \"female × "),
            "{said}"
        );
        let position = |name: &str| (0..crossing).find(|&at| name_of(&opened.study, at) == name).expect(name);
        let women = (position("sex"), "female".to_owned());
        let obese = (position("bmi_class"), "30 and over".to_owned());
        let old = (position("age_20_40_60"), "60 and over".to_owned());
        assert_eq!(
            separately(&opened, &[women.clone(), obese]).as_deref(),
            Some("People who are in both are asked for by --group \"female × 30 and over\"")
        );
        assert_eq!(separately(&opened, &[women, old]), None);
    }
}

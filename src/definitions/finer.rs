//! Groupings whose groups join what another grouping parts.

use super::survey::{Recipe, Survey};

/// A grouping, and the finer one.
const FINER: [(&str, &str); 4] = [
    ("age_20_40_60", "age_band"),
    ("bmi_class", "obesity_class"),
    ("obesity", "bmi_class"),
    ("ancestry", "ancestry_detailed"),
];

/// The grouping that parts what this one joins.
#[must_use]
pub fn finer(grouping: &str) -> Option<&'static str> {
    FINER.iter().find(|(joins, _)| *joins == grouping).map(|(_, parts)| *parts)
}

/// Labels that a survey's finer question has and its other has not, and the first cycle that asks it.
#[must_use]
pub fn told_apart<'a>(survey: &'a Survey, joins: &str, parts: &str) -> Option<(Vec<&'a str>, &'a str)> {
    let labels = |quantity: &str| {
        let row = survey.variables.iter().find(|variable| variable.quantity == quantity)?;
        match &row.recipe {
            Recipe::Codes { codes, .. } => {
                Some((codes.values().map(String::as_str).collect::<Vec<_>>(), row))
            }
            _ => None,
        }
    };
    let ((joined, _), (apart, row)) = (labels(joins)?, labels(parts)?);
    let first = row.from.as_deref().or(survey.cycles.first().map(|cycle| &*cycle.name))?;
    Some((apart.into_iter().filter(|label| !joined.contains(label)).collect(), first))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::groups;
    use crate::definitions::survey::survey;

    #[test]
    fn every_finer_grouping_exists_and_its_cuts_contain_those_of_the_other() {
        for (joins, parts) in FINER {
            let of = |name: &str| groups().iter().find(|group| group.name == name).expect(name);
            assert!(of(joins).cuts.iter().all(|cut| of(parts).cuts.contains(cut)), "{joins} {parts}");
            assert!(of(joins).cuts.is_empty() || of(joins).cuts.len() < of(parts).cuts.len());
            assert_eq!(finer(joins), Some(parts));
        }
        assert_eq!(finer("sex"), None);
    }

    #[test]
    fn the_national_survey_tells_asian_people_apart_since_2011() {
        let survey = survey("nhanes").expect("a known survey");
        let apart = told_apart(survey, "ancestry", "ancestry_detailed").expect("labels");
        assert_eq!(apart, (vec!["Non-Hispanic Asian"], "2011-2012"));
        assert_eq!(told_apart(survey, "age", "ancestry_detailed"), None);
    }
}

//! Which part of a survey answers a condition, and what an assay route leaves as released.

use super::{ExclusionSet, Route, Study};
use crate::definitions::{Exclusion, Subsample, columns_read};
use crate::notice::Notice;

/// The only glucose that official equations are printed for is the fasting one.
const TWO_HOUR_GLUCOSE: &str = "glucose_2h";

impl Study {
    /// The most restrictive subsample among the quantities of an exclusion.
    #[must_use]
    pub fn subsample_of(&self, exclusion: &Exclusion) -> Subsample {
        let read = self.read_by(&exclusion.formula);
        let subsamples = self.quantities.iter().filter(|q| read.contains(&q.name.as_str()));
        subsamples.map(|q| q.subsample).max().unwrap_or(Subsample::Interview)
    }

    /// Whether an exclusion rests on a measurement, which may be missing, and not on questions alone, which a survey asks of whom
    /// they concern.
    #[must_use]
    pub fn is_measured(&self, exclusion: &Exclusion) -> bool {
        let read = self.read_by(&exclusion.formula);
        self.quantities.iter().any(|q| !q.units.is_empty() && read.contains(&q.name.as_str()))
    }

    /// Names of the quantities that a formula reads.
    pub(super) fn read_by(&self, formula: &str) -> Vec<&str> {
        let columns = columns_read("", formula).unwrap_or_default();
        let fills = |columns: &[String], own: Vec<String>| own.iter().any(|column| columns.contains(column));
        let read = self.quantities.iter().filter(|q| fills(&columns, q.columns()));
        read.map(|q| q.name.as_str()).collect()
    }
}

/// A caution for every route that converts fasting glucose where 2-hour glucose counts too.
pub(super) fn unconverted(study: &Study) -> Vec<Notice> {
    let Some(section) = &study.sensitivity else { return Vec::new() };
    let readers = readers(study, &section.exclusions);
    let converts = |route: &&Route| route.quantities().into_iter().any(|quantity| quantity == "glucose");
    let routes = section.routes.iter().filter(converts).filter(|_| !readers.is_empty());
    let notice = |route: &Route| {
        Notice::caution(
            "route_without_2h_glucose",
            format!("route {}", route.name),
            format!(
                "converts fasting glucose alone: the 2-hour glucose in {} stays as released, because no equation is \
                 printed for it",
                readers.join(", ")
            ),
        )
    };
    routes.map(notice).collect()
}

/// Names of the outcomes, exclusions and reference groups that read 2-hour glucose.
fn readers(study: &Study, sets: &[ExclusionSet]) -> Vec<String> {
    let two_hours = |name: &str| name == TWO_HOUR_GLUCOSE;
    let outcomes = study.sensitivity.iter().flat_map(|section| &section.outcomes);
    let outcomes = outcomes.filter(|o| o.ingredients.iter().any(|name| two_hours(name)));
    let without = study.references.iter().flat_map(|reference| &reference.without);
    let left_out = sets.iter().flat_map(|set| &set.exclusions).chain(without);
    let left_out = left_out.filter(|e| study.read_by(&e.formula).into_iter().any(two_hours));
    let mut names: Vec<String> =
        outcomes.map(|o| o.row.name.clone()).chain(left_out.map(|e| e.name.clone())).collect();
    names.sort_unstable();
    names.dedup();
    names
}

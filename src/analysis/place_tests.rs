//! Which of the groupings a person belongs to have cutoffs that differ by more than noise.

use rayon::prelude::*;
use serde::Serialize;

use super::context::Context;
use super::heterogeneity;
use super::place_people::{quantities_of, unanswered};
use super::roc::{Curve, curve};
use super::{AnalysisError, smoothed};
use crate::cohort::Subject;
use crate::definitions::answer::Answer;
use crate::definitions::columns_read;
use crate::study::{Split, Study};
use crate::table::schema::{DIFFER, NOT_DISTINGUISHABLE};

/// The test of one grouping: whether the smoothed cutoffs of its groups differ.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct GroupingTest {
    pub outcome: String,
    pub grouping: String,
    pub groups: i64,
    pub p: Option<f64>,
    /// Adjusted by Holm's method for the groupings tested here.
    pub p_holm: Option<f64>,
    /// Whether they differ by more than noise, by the adjusted p.
    pub differ: Option<bool>,
    pub why_not: String,
    /// Quantities that would tell the person's group; empty where it is known.
    pub needs: Vec<String>,
}

/// Tests by the first index of each family that the person's values give: indices that say the same share them, so that
/// one cutoff fits whichever is asked for. Each is computed once.
#[derive(Debug, Default)]
pub(super) struct Tested(Vec<(usize, Vec<GroupingTest>)>);

impl Tested {
    /// The tests that an index goes by, and the index that was tested.
    pub fn of(
        &mut self,
        context: &Context,
        (subject, answers): (&Subject, &[Answer]),
        index: usize,
    ) -> Result<(usize, Vec<GroupingTest>), AnalysisError> {
        let family = |i: usize| context.study.indices[i].row.family.as_ref();
        let says_the_same = |&i: &usize| family(i).is_some() && family(i) == family(index);
        let tested = (0..index).filter(says_the_same).find(|&i| subject.keys[i].is_some()).unwrap_or(index);
        if let Some(known) = self.0.iter().find(|(of, _)| *of == tested) {
            return Ok(known.clone());
        }
        let mut found = tests(context, tested)?;
        for test in &mut found {
            test.needs = needs(context.study, (subject, answers), &test.grouping);
        }
        let found = (tested, found);
        self.0.push(found.clone());
        Ok(found)
    }
}

/// Tests of every grouping by a single variable, for the study's first outcome.
fn tests(context: &Context, index: usize) -> Result<Vec<GroupingTest>, AnalysisError> {
    if context.study.outcomes.is_empty() {
        return Ok(Vec::new());
    }
    let single = |g: &usize| context.groups[*g].grouping.is_some() && context.groups[*g].is_single();
    let groups: Vec<usize> = (0..context.groups.len()).filter(single).collect();
    let curves: Vec<Curve> = groups.par_iter().map(|&g| curve(context, (index, 0), g)).collect();
    let smoothed = smoothed::all(context, &curves);
    let table = heterogeneity::table(context, &curves, &smoothed)?;
    let rows = table.iter().filter(|row| row.text("method") == smoothed::METHOD);
    Ok(rows
        .map(|row| GroupingTest {
            outcome: row.text("outcome").to_owned(),
            grouping: row.text("grouping").to_owned(),
            groups: row.whole("groups").unwrap_or_default(),
            p: row.real("p"),
            p_holm: row.real("p_holm"),
            differ: match row.text("conclusion") {
                DIFFER => Some(true),
                NOT_DISTINGUISHABLE => Some(false),
                _ => None,
            },
            why_not: row.text("withheld").to_owned(),
            needs: Vec::new(),
        })
        .collect())
}

/// What a person whose level of a variable is not known would have to answer.
fn needs(study: &Study, (subject, answers): (&Subject, &[Answer]), variable: &str) -> Vec<String> {
    let known = study.variables.iter().zip(&subject.levels);
    let open = known.filter(|(_, level)| level.is_none()).find(|(of, _)| of.name == variable);
    let columns = open.map_or_else(Vec::new, |(of, _)| match &of.split {
        Split::Bands { column, .. } => vec![column.clone()],
        Split::Levels { sql, .. } => columns_read(&of.name, sql).unwrap_or_default(),
    });
    unanswered(&quantities_of(study, &columns), answers)
}

//! Which of the groupings a person belongs to have cutoffs that differ by more than noise, by the study's own tests.

use std::borrow::Cow;

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
use crate::table::{Row, Table, number};

/// The test of one grouping: whether the smoothed cutoffs of its groups differ.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct GroupingTest {
    pub outcome: String,
    pub grouping: String,
    pub groups: i64,
    pub p: Option<f64>,
    /// Adjusted by Holm's method over all such tests of the study, as its run adjusts it.
    pub p_holm: Option<f64>,
    /// Whether they differ by more than noise, by the adjusted p.
    pub differ: Option<bool>,
    pub why_not: String,
    /// Quantities that would tell the person's group; empty where it is known.
    pub needs: Vec<String>,
}

/// The tests of a study: as its run wrote them, or made when they are first asked for. Both are of every index, outcome and
/// grouping, so that a person is told what the run's page says.
#[derive(Debug)]
pub(super) struct Tested<'a>(Option<Cow<'a, Table>>);

impl<'a> Tested<'a> {
    pub fn new(of_run: Option<&'a Table>) -> Self {
        Self(of_run.map(Cow::Borrowed))
    }

    /// The tests that an index goes by for the study's first outcome, and the index that was tested: the first of its
    /// family that the person's values give, so that one cutoff fits whichever is asked for.
    pub fn of(
        &mut self,
        context: &Context,
        (subject, answers): (&Subject, &[Answer]),
        index: usize,
    ) -> Result<(usize, Vec<GroupingTest>), AnalysisError> {
        let study = context.study;
        let family = |i: usize| study.indices[i].row.family.as_ref();
        let says_the_same = |&i: &usize| family(i).is_some() && family(i) == family(index);
        let tested = (0..index).filter(says_the_same).find(|&i| subject.keys[i].is_some()).unwrap_or(index);
        if self.0.is_none() {
            self.0 = Some(Cow::Owned(all(context)?));
        }
        let outcome = study.outcomes.first().map_or("", |outcome| outcome.row.name.as_str());
        let wanted = (study.indices[tested].row.name.as_str(), outcome, smoothed::METHOD);
        let is = |row: &Row<'_>| (row.text("index"), row.text("outcome"), row.text("method")) == wanted;
        let rows = self.0.iter().flat_map(|table| table.iter()).filter(is);
        let needs = |row: &Row<'_>| needs(study, (subject, answers), row.text("grouping"));
        Ok((tested, rows.map(|row| GroupingTest { needs: needs(&row), ..test(&row) }).collect()))
    }
}

/// Tests of every grouping by a single variable, for every index and outcome.
fn all(context: &Context) -> Result<Table, AnalysisError> {
    let single = |g: &usize| context.groups[*g].grouping.is_some() && context.groups[*g].is_single();
    let groups: Vec<usize> = (0..context.groups.len()).filter(single).collect();
    let of_index = |index| (0..context.study.outcomes.len()).map(move |outcome| (index, outcome));
    let pairs = (0..context.study.indices.len()).flat_map(of_index);
    let tasks: Vec<((usize, usize), usize)> =
        pairs.flat_map(|pair| groups.iter().map(move |&g| (pair, g))).collect();
    let curves: Vec<Curve> = tasks.par_iter().map(|&(pair, g)| curve(context, pair, g)).collect();
    let smoothed = smoothed::all(context, &curves);
    heterogeneity::table(context, &curves, &smoothed)
}

/// One test, its numbers as a file holds them.
fn test(row: &Row<'_>) -> GroupingTest {
    let written = |column| row.real(column).and_then(|p| number::full(p).parse().ok());
    GroupingTest {
        outcome: row.text("outcome").to_owned(),
        grouping: row.text("grouping").to_owned(),
        groups: row.whole("groups").unwrap_or_default(),
        p: written("p"),
        p_holm: written("p_holm"),
        differ: match row.text("conclusion") {
            DIFFER => Some(true),
            NOT_DISTINGUISHABLE => Some(false),
            _ => None,
        },
        why_not: row.text("withheld").to_owned(),
        needs: Vec::new(),
    }
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

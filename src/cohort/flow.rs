//! The participant flow: who is left after each step, counted.

use polars::prelude::*;

use super::CohortError;
use super::prepare::Cohort;
use super::weights::weight_column;
use crate::source::FlowLine;
use crate::study::Study;
use crate::table::schema::{EACH_INDEX, JOINED};

/// One step of the flow.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FlowStep {
    pub source: String,
    pub step: String,
    pub people: usize,
    pub left_out: usize,
}

/// Steps from the files to the people with each index and outcome, in order.
pub fn flow(study: &Study, cohort: &Cohort, files: &[FlowLine]) -> Result<Vec<FlowStep>, CohortError> {
    let mut steps: Vec<FlowStep> = files
        .iter()
        .map(|line| FlowStep {
            source: line.source.clone(),
            step: line.step.clone(),
            people: line.people,
            left_out: 0,
        })
        .collect();
    for (position, frame) in cohort.frames.iter().enumerate() {
        let people = cohort.rows.clone().lazy().filter(col(weight_column(frame)).gt(lit(0_i64)));
        let people = people.collect()?;
        let mut counter = Counter { steps: &mut steps, source: JOINED, before: cohort.rows.height() };
        if frame.subsample.is_some() {
            let which = if frame.sole { String::new() } else { format!("{} ", frame.name()) };
            counter.push(format!("with a positive {which}weight"), people.height());
        } else {
            counter.push("people read".to_owned(), people.height());
        }
        exclusions(study, &people, &mut counter)?;
        let kept = counter.before;
        let kept_rows = cohort_rows(study, &people)?;
        for (index, of_index) in study
            .indices
            .iter()
            .zip(&cohort.frame_of)
            .enumerate()
            .filter_map(|(i, (index, frames))| (frames.last() == Some(&position)).then_some((i, index)))
        {
            let with = kept_rows.height() - kept_rows.column(&format!("key_{index}"))?.null_count();
            counter.before = kept;
            counter.source = EACH_INDEX;
            counter.push(format!("with {}", of_index.row.label), with);
        }
    }
    Ok(steps)
}

struct Counter<'a> {
    steps: &'a mut Vec<FlowStep>,
    source: &'a str,
    before: usize,
}

impl Counter<'_> {
    fn push(&mut self, step: String, people: usize) {
        let left_out = self.before.saturating_sub(people);
        self.steps.push(FlowStep { source: self.source.to_owned(), step, people, left_out });
        self.before = people;
    }
}

/// How many people are left after each exclusion in the stated order.
fn exclusions(study: &Study, people: &DataFrame, counter: &mut Counter) -> Result<(), CohortError> {
    let flags = people.column("flags")?.i64()?;
    for (bit, exclusion) in study.exclusions.iter().enumerate() {
        let so_far = (1_i64 << (bit + 1)) - 1;
        let left = flags.iter().flatten().filter(|f| f & so_far == 0).count();
        counter.push(format!("after leaving out: {}", exclusion.label), left);
    }
    Ok(())
}

fn cohort_rows(study: &Study, people: &DataFrame) -> Result<DataFrame, CohortError> {
    let mask = Cohort::exclusion_mask(study) as i64;
    let keep: BooleanChunked =
        people.column("flags")?.i64()?.iter().map(|f| Some(f.is_some_and(|f| f & mask == 0))).collect();
    Ok(people.filter(&keep)?)
}

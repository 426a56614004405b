//! Where measurements end: values at a detection limit, below it, top-coded or missing, counted by source
//! while the values as reported are still at hand.

use polars::prelude::*;

use super::CohortError;
use super::prepare::Cohort;
use super::weights::weight_column;
use crate::definitions::limit::{LimitKind, MeasurementLimit, limit_of};
use crate::definitions::{ColumnKind, Quantity};
use crate::source::{self, Loaded};
use crate::study::{Source, Split, Study};

/// What is known of one quantity in one source, among people of the cohort in one frame. Counts add up.
#[derive(Debug, Clone, PartialEq)]
pub struct LimitCount {
    pub frame: usize,
    /// The table's name, or the survey and cycle.
    pub source: String,
    /// Position among the study's quantities.
    pub quantity: usize,
    pub detection: Option<MeasurementLimit>,
    pub top_code: Option<MeasurementLimit>,
    /// Whether the source marks values below detection.
    pub marked: bool,
    /// People of the cohort, and among everybody with a value.
    pub cohort: EndCounts,
    pub read: EndCounts,
}

/// People and integer weights by what their value is.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct EndCounts {
    pub people: u64,
    pub weight: i64,
    pub missing: u64,
    pub missing_weight: i64,
    pub at_fill: u64,
    pub at_fill_weight: i64,
    /// Below the limit of detection with a value of their own.
    pub below: u64,
    pub top_coded: u64,
    /// Of a yes/no question: people who answer yes.
    pub yes: u64,
}

/// Counts of every number the study reads and every yes/no question of its outcomes, by frame and source.
pub fn limits(study: &Study, loaded: &Loaded, cohort: &Cohort) -> Result<Vec<LimitCount>, CohortError> {
    let frames = (0..cohort.frames.len()).map(|frame| kept(study, cohort, frame));
    let frames = frames.collect::<Result<Vec<_>, _>>()?;
    let mut all = Vec::new();
    for source in &study.sources {
        let (name, here) = rows_of(source, loaded)?;
        for position in quantities(study) {
            let values = Values::new(study, loaded, position, (source, &here))?;
            for (frame, kept) in frames.iter().enumerate() {
                let count = |people: &dyn Fn(usize) -> Option<i64>| {
                    let mut counts = EndCounts::default();
                    here.iter().filter_map(|&row| Some((row, people(row)?))).for_each(|(row, weight)| {
                        values.add(row, weight, &mut counts);
                    });
                    counts
                };
                all.push(LimitCount {
                    frame,
                    source: name.clone(),
                    quantity: position,
                    detection: values.detection.clone(),
                    top_code: values.top_code.clone(),
                    marked: values.mark.is_some(),
                    cohort: count(&|row| kept[row]),
                    read: count(&|row| values.present(row).then_some(1)),
                });
            }
        }
    }
    all.sort_by_key(|count| (count.frame, count.quantity));
    Ok(all)
}

/// What a source is called, and the positions of its people.
pub(super) fn rows_of(source: &Source, loaded: &Loaded) -> Result<(String, Vec<usize>), CohortError> {
    let name = source::name(source);
    let sources = loaded.frame.column("source")?.str()?;
    let rows = sources.iter().enumerate().filter(|(_, own)| *own == Some(name.as_str()));
    let rows = rows.map(|(row, _)| row).collect();
    Ok((name, rows))
}

/// Weight of everybody of the cohort in a frame; `None` outside.
pub(super) fn kept(study: &Study, cohort: &Cohort, frame: usize) -> Result<Vec<Option<i64>>, CohortError> {
    let mask = Cohort::exclusion_mask(study) as i64;
    let flags = cohort.rows.column("flags")?.i64()?;
    let weights = cohort.rows.column(&weight_column(&cohort.frames[frame]))?.i64()?;
    let people = flags.iter().zip(weights.iter());
    Ok(people
        .map(|(flags, weight)| weight.filter(|w| *w > 0 && flags.is_some_and(|f| f & mask == 0)))
        .collect())
}

/// Positions of the quantities that are counted.
fn quantities(study: &Study) -> Vec<usize> {
    let indices = study.indices.iter().flat_map(|index| &index.ingredients);
    let outcomes: Vec<&String> = study.outcomes.iter().flat_map(|outcome| &outcome.ingredients).collect();
    let read: Vec<&String> = indices.chain(outcomes.iter().copied()).collect();
    let banded = |quantity: &Quantity| {
        let columns = quantity.columns();
        study.variables.iter().any(
            |variable| matches!(&variable.split, Split::Bands { column, .. } if columns.contains(column)),
        )
    };
    let counted = |quantity: &Quantity| match quantity.kind {
        ColumnKind::Number => quantity.name == "age" || read.contains(&&quantity.name) || banded(quantity),
        ColumnKind::YesNo => outcomes.contains(&&quantity.name),
        ColumnKind::Category => false,
    };
    (0..study.quantities.len()).filter(|&position| counted(&study.quantities[position])).collect()
}

/// The values of one quantity, as far as counting needs them.
struct Values<'a> {
    /// Of a number: its first unit, filled for everybody with a value.
    number: Option<&'a Float64Chunked>,
    answer: Option<&'a BooleanChunked>,
    mark: Option<&'a BooleanChunked>,
    detection: Option<MeasurementLimit>,
    top_code: Option<MeasurementLimit>,
    /// As reported, in the unit of the limits.
    detected: Option<&'a Float64Chunked>,
    topped: Option<&'a Float64Chunked>,
}

impl<'a> Values<'a> {
    fn new(
        study: &Study,
        loaded: &'a Loaded,
        position: usize,
        (source, here): (&Source, &[usize]),
    ) -> Result<Self, CohortError> {
        let quantity = &study.quantities[position];
        let known = |kind| match source {
            Source::Survey { survey, cycle, .. } => limit_of(&quantity.name, (survey, cycle), kind).cloned(),
            Source::Table(table) => {
                let own =
                    |limit: &&MeasurementLimit| limit.survey == table.name && limit.quantity == quantity.name;
                loaded.detection.iter().find(|limit| limit.kind == kind && own(limit)).cloned()
            }
        };
        let (detection, top_code) = (known(LimitKind::Detection), known(LimitKind::TopCode));
        let number = match quantity.units.first() {
            Some(unit) => Some(loaded.frame.column(&quantity.column(unit))?.f64()?),
            None => None,
        };
        let answer = match quantity.kind {
            ColumnKind::YesNo => Some(loaded.frame.column(&quantity.name)?.bool()?),
            _ => None,
        };
        Ok(Self {
            number,
            answer,
            mark: mark(study, loaded, quantity, here)?,
            detected: reported(loaded, quantity, detection.as_ref())?,
            topped: reported(loaded, quantity, top_code.as_ref())?,
            detection,
            top_code,
        })
    }

    fn present(&self, row: usize) -> bool {
        let number = self.number.is_some_and(|number| number.get(row).is_some());
        number || self.answer.is_some_and(|answer| answer.get(row).is_some())
    }

    fn add(&self, row: usize, weight: i64, counts: &mut EndCounts) {
        counts.people += 1;
        counts.weight += weight;
        if !self.present(row) {
            counts.missing += 1;
            counts.missing_weight += weight;
            return;
        }
        let at = |values: Option<&Float64Chunked>| values.and_then(|values| values.get(row));
        let fill = self.detection.as_ref().and_then(|limit| limit.fill);
        let at_fill = match self.mark.map(|mark| mark.get(row)) {
            Some(marked) => marked == Some(true),
            None => fill.is_some() && at(self.detected) == fill,
        };
        let below =
            self.detection.as_ref().is_some_and(|limit| at(self.detected).is_some_and(|x| x < limit.limit));
        let topped =
            self.top_code.as_ref().is_some_and(|limit| at(self.topped).is_some_and(|x| x >= limit.limit));
        counts.at_fill += u64::from(at_fill);
        counts.at_fill_weight += if at_fill { weight } else { 0 };
        counts.below += u64::from(below && !at_fill);
        counts.top_coded += u64::from(topped);
        counts.yes += u64::from(self.answer.and_then(|answer| answer.get(row)) == Some(true));
    }
}

/// The column in which a limit is compared.
fn reported<'a>(
    loaded: &'a Loaded,
    quantity: &Quantity,
    limit: Option<&MeasurementLimit>,
) -> Result<Option<&'a Float64Chunked>, CohortError> {
    let unit = limit.and_then(|limit| quantity.units.iter().find(|unit| unit.unit == limit.unit));
    Ok(match unit {
        Some(unit) => Some(loaded.frame.column(&quantity.reported_column(unit))?.f64()?),
        None => None,
    })
}

/// The source's mark of values below detection, when it has one for anybody.
fn mark<'a>(
    study: &Study,
    loaded: &'a Loaded,
    quantity: &Quantity,
    here: &[usize],
) -> Result<Option<&'a BooleanChunked>, CohortError> {
    let name = format!("{}_below_detection", quantity.name);
    if !study.quantities.iter().any(|q| q.name == name && q.kind == ColumnKind::YesNo) {
        return Ok(None);
    }
    let marks = loaded.frame.column(&name)?.bool()?;
    Ok(here.iter().any(|&row| marks.get(row).is_some()).then_some(marks))
}

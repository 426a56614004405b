//! All sources of a study in one table.

use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::path::PathBuf;

use polars::prelude::{Column, DataFrame, DataType, IntoColumn, Scalar};

use super::mention::{Needs, needs};
use super::{Loaded, SourceError, constant_column, name, read, survey, weight_column};
use crate::definitions::Subsample;
use crate::definitions::pooling::pooling_shares;
use crate::definitions::survey::{Cycle, survey as known_survey};
use crate::notice::Notice;
use crate::study::{Source, Study};

/// Reads every source of a study into one table with the same columns whatever the sources are: person,
/// source, survey, cycle, all columns of all quantities of the study (null where a source has none), the
/// weights multiplied by the source's share, stratum and psu.
pub fn read_all(study: &Study, folders: &[PathBuf]) -> Result<Loaded, SourceError> {
    check_cycles(study)?;
    let mut all = Vec::new();
    for source in &study.sources {
        all.push(read(study, source, folders)?);
    }
    if all.is_empty() {
        return Err(SourceError::source("the study", "has no source; add a [[source]]"));
    }
    let weights = common_weights(study, &all)?;
    let has_design = all.iter().any(|loaded| loaded.has_design);
    let layout = Layout { study, weights: &weights, has_design };
    let mut notices = pooling_notices(study, &needs(study));
    let mut frame: Option<DataFrame> = None;
    let (mut files, mut flow, mut detection) = (Vec::new(), Vec::new(), Vec::new());
    let mut replicate_factors = BTreeMap::new();
    for (source, loaded) in study.sources.iter().zip(all) {
        let part = layout.frame(source, &loaded).map_err(|e| SourceError::table(&name(source), e))?;
        if has_design && !loaded.has_design {
            let message = "has no strata and PSUs: its people count as sampled one by one";
            notices.push(Notice::caution("no_design", name(source), message));
        }
        frame = Some(match frame {
            Some(before) => before.vstack(&part).map_err(|e| SourceError::table(&name(source), e))?,
            None => part,
        });
        let own = loaded.replicate_factors.into_iter();
        replicate_factors.extend(own.map(|(unit, factors)| (format!("{}/{unit}", name(source)), factors)));
        files.extend(loaded.files);
        flow.extend(loaded.flow);
        notices.extend(loaded.notices);
        detection.extend(loaded.detection);
    }
    let frame = frame.unwrap_or_default();
    check_people(&frame)?;
    Ok(Loaded { frame, weights, has_design, replicate_factors, files, flow, notices, detection })
}

/// Refuses cycles that hold the same people, and unknown ones.
fn check_cycles(study: &Study) -> Result<(), SourceError> {
    let surveys = study.sources.iter().filter_map(|source| match source {
        Source::Survey { survey, .. } => Some(survey.as_str()),
        Source::Table(_) => None,
    });
    for survey_name in surveys.collect::<BTreeSet<_>>() {
        pooling_shares(survey_name, &survey::pooled_cycles(study, survey_name))
            .map_err(|words| SourceError::source(survey_name, words))?;
    }
    Ok(())
}

/// Subsamples for which any source has a weight. Some sources with and some without weights is an error.
fn common_weights(study: &Study, all: &[Loaded]) -> Result<Vec<Subsample>, SourceError> {
    let weights: BTreeSet<Subsample> = all.iter().flat_map(|loaded| loaded.weights.iter().copied()).collect();
    let without = study.sources.iter().zip(all).find(|(_, loaded)| loaded.weights.is_empty());
    match without {
        Some((source, _)) if !weights.is_empty() => Err(SourceError::source(
            &name(source),
            "has no weights, but another source of the study has; name its weight column, or study it alone",
        )),
        _ => Ok(weights.into_iter().collect()),
    }
}

/// The columns every source is brought to.
struct Layout<'a> {
    study: &'a Study,
    weights: &'a [Subsample],
    has_design: bool,
}

impl Layout<'_> {
    fn frame(&self, source: &Source, loaded: &Loaded) -> Result<DataFrame, polars::error::PolarsError> {
        let people = loaded.frame.height();
        let or_null = |column: &str, kind: DataType| {
            let null = || Column::new_scalar(column.into(), Scalar::null(kind.clone()), people);
            loaded.frame.column(column).cloned().unwrap_or_else(|_| null())
        };
        let text = |column: &str| or_null(column, DataType::String);
        let mut columns: Vec<Column> = ["person", "source", "survey", "cycle"].map(text).into();
        for quantity in &self.study.quantities {
            columns.extend(quantity.columns().iter().map(|column| or_null(column, quantity.data_type())));
        }
        for subsample in self.weights {
            columns.push(weight(source, loaded, *subsample)?);
        }
        if self.has_design {
            columns.extend(design(source, loaded)?);
        }
        DataFrame::new(people, columns)
    }
}

/// Stratum and PSU as the source calls them; without a design its people are the units of one stratum.
fn design(source: &Source, loaded: &Loaded) -> Result<[Column; 2], polars::error::PolarsError> {
    if loaded.has_design {
        return Ok([loaded.frame.column("stratum")?.clone(), loaded.frame.column("psu")?.clone()]);
    }
    let person = loaded.frame.column("person")?.clone().with_name("psu".into());
    Ok([constant_column("stratum", &name(source), loaded.frame.height()), person])
}

/// The weight of a subsample times the source's share. A table's one weight holds for every subsample.
fn weight(
    source: &Source,
    loaded: &Loaded,
    subsample: Subsample,
) -> Result<Column, polars::error::PolarsError> {
    let (share, held) = match source {
        Source::Survey { weight_share, .. } => (*weight_share, subsample),
        Source::Table(table) => (table.weight_share, Subsample::Interview),
    };
    let column = weight_column(subsample);
    if !loaded.weights.contains(&held) {
        return Ok(Column::new_scalar(column.into(), Scalar::null(DataType::Float64), loaded.frame.height()));
    }
    let own = loaded.frame.column(weight_column(held))?.f64()?;
    let shared = own * share;
    Ok(shared.with_name(column.into()).into_column())
}

/// A person twice in the study is an error.
fn check_people(frame: &DataFrame) -> Result<(), SourceError> {
    let fault = |e| SourceError::table("the study", e);
    let people = frame.column("person").map_err(fault)?;
    let people = people.str().map_err(fault)?;
    let mut seen = HashSet::with_capacity(people.len());
    match people.iter().flatten().find(|person| !seen.insert(*person)) {
        Some(person) => Err(SourceError::source(
            "the study",
            format!(
                "person `{person}` stands in two sources; give sources names of their own and list each file once"
            ),
        )),
        None => Ok(()),
    }
}

/// What pooling itself must say: several assays, unlike weights, the length of a cycle.
fn pooling_notices(study: &Study, needs: &Needs) -> Vec<Notice> {
    let cycles = study.sources.iter().filter_map(|source| match source {
        Source::Survey { survey, cycle, .. } => known_survey(survey)?.cycle(cycle).ok(),
        Source::Table(_) => None,
    });
    let cycles: Vec<&Cycle> = cycles.collect();
    let mut notices = Vec::new();
    for (quantity, assay) in [("insulin", insulin_assay as fn(&Cycle) -> &str), ("glucose", glucose_assay)] {
        if needs.quantity(quantity) {
            notices.extend(pooled_assays(&cycles, quantity, assay));
        }
    }
    if cycles.len() > 1 {
        notices.extend(cycles.iter().filter_map(|cycle| weight_notice(cycle, &cycles)));
        let notes = cycles.iter().filter(|cycle| !cycle.pooled_note.is_empty());
        notices
            .extend(notes.map(|c| Notice::note("pooled_weights", c.name.as_str(), c.pooled_note.as_str())));
    }
    notices
}

fn insulin_assay(cycle: &Cycle) -> &str {
    &cycle.insulin_assay
}

fn glucose_assay(cycle: &Cycle) -> &str {
    &cycle.glucose_assay
}

fn pooled_assays(cycles: &[&Cycle], quantity: &str, assay: fn(&Cycle) -> &str) -> Option<Notice> {
    let mut of: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for cycle in cycles {
        of.entry(assay(cycle)).or_default().push(&cycle.name);
    }
    if of.len() < 2 {
        return None;
    }
    let list: Vec<String> =
        of.iter().map(|(assay, names)| format!("{assay} ({})", names.join(", "))).collect();
    let message = format!(
        "pooled as released, without a crosswalk, over methods that are not interchangeable: {}",
        list.join("; ")
    );
    Some(Notice::caution("pooled_assays", quantity, message))
}

/// What must be said of the weights of a cycle when it is pooled.
fn weight_notice(cycle: &Cycle, pooled: &[&Cycle]) -> Option<Notice> {
    let names: Vec<String> = pooled.iter().map(|c| c.name.clone()).collect();
    let partner = cycle.paired_with.as_deref()?;
    Some(if names.iter().any(|name| name == partner) {
        let message = format!("four-year weights made for it and {partner} together are used");
        Notice::note("pooled_weights", cycle.name.as_str(), message)
    } else {
        let message = format!(
            "pooled without {partner}: its two-year weights are used, whose census base differs between the two; the \
             agency's advice for both together is their four-year weights"
        );
        Notice::caution("pooled_weights", cycle.name.as_str(), message)
    })
}

//! A cycle of a survey the program knows: which files it needs, what they yield, what must be said.

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

use polars::prelude::{
    ChunkedArray, Column, DataFrame, Float64Chunked, IntoColumn, NewChunkedArray, StringChunked,
};

use super::columns::columns;
use super::delimited::Form;
use super::mention::Needs;
use super::recipe::{Done, evaluate};
use super::release::{DEMOGRAPHICS, Release, Shelves};
use super::{FileRecord, FlowLine, Loaded, SourceError, constant_column, file, weight_column};
use crate::definitions::survey::{Cycle, Recipe, Survey, Variable, WeightVariable};
use crate::definitions::{Quantity, Standing, Subsample};
use crate::notice::Notice;
use crate::study::{Source, Study};

/// What to read, from where, and for whom.
#[derive(Debug)]
pub(super) struct Request<'a> {
    pub survey: &'static Survey,
    pub cycle: &'a Cycle,
    pub quantities: &'a [Quantity],
    pub needs: &'a Needs,
    /// Whether the cycle is pooled with the one it shares four-year weights with.
    pub four_years: bool,
}

impl Request<'_> {
    fn source(&self) -> String {
        format!("{} {}", self.survey.label, self.cycle.name)
    }

    fn weights(&self) -> &BTreeMap<Subsample, WeightVariable> {
        if self.four_years { &self.cycle.weights_four_years } else { &self.cycle.weights }
    }

    fn needed(&self, row: &Variable) -> bool {
        self.needs.quantity(&row.quantity)
    }

    /// Roles of the files without which the study cannot be run.
    fn needed_roles(&self) -> BTreeSet<&str> {
        let rows = self.survey.variables_of(&self.cycle.name).filter(|row| self.needed(row));
        let weights = self.weights().iter().filter(|(s, _)| self.needs.subsamples.contains(s));
        let roles = rows.map(|row| row.file.as_str()).chain(weights.map(|(_, w)| w.file.as_str()));
        roles.chain([DEMOGRAPHICS]).collect()
    }

    /// Variables to read from the file of this official name.
    fn wanted(&self, stem: &str) -> Vec<&str> {
        let here = |role: &str| self.cycle.files.get(role).is_some_and(|s| s == stem);
        let rows = self.survey.variables_of(&self.cycle.name).filter(|row| here(&row.file));
        let weights = self.weights().values().filter(|w| here(&w.file)).map(|w| w.variable.as_str());
        let design = [&self.survey.person, &self.survey.stratum, &self.survey.psu].map(String::as_str);
        rows.flat_map(|row| row.recipe.reads()).chain(weights).chain(design).collect()
    }
}

/// Reads one cycle.
pub(super) fn read(request: &Request<'_>, folders: &[PathBuf]) -> Result<Loaded, SourceError> {
    let mut notices = Vec::new();
    let (release, files) = read_files(request, folders, &mut notices)?;
    let done = read_quantities(request, &release)?;
    let (weights, weight_columns) = read_weights(request, &release)?;
    let mut all = person_columns(request, &release);
    for quantity in request.quantities {
        all.extend(done.get(&quantity.name).into_iter().flat_map(|values| columns(quantity, values)));
    }
    all.extend(weight_columns);
    all.extend(design_columns(request, &release)?);
    let source = request.source();
    let frame = DataFrame::new(release.people.len(), all).map_err(|e| SourceError::table(&source, e))?;
    notices.extend(cycle_notices(request));
    notices.extend(absent_quantities(request));
    let step = format!("in {}", request.cycle.files[DEMOGRAPHICS]);
    let flow = vec![FlowLine { source, step, people: release.people.len() }];
    let replicate_factors = BTreeMap::new();
    let detection = Vec::new();
    Ok(Loaded { frame, weights, has_design: true, replicate_factors, files, flow, notices, detection })
}

fn read_files(
    request: &Request<'_>,
    folders: &[PathBuf],
    notices: &mut Vec<Notice>,
) -> Result<(Release, Vec<FileRecord>), SourceError> {
    let (survey, cycle) = (request.survey, request.cycle);
    let shelves = Shelves::new(&survey.name, &cycle.name, folders);
    let source = request.source();
    if let Some(words) = absent_files(request, folders) {
        return Err(SourceError::source(&source, words));
    }
    let demographics = &cycle.files[DEMOGRAPHICS];
    let find = |stem: &str| shelves.find(stem);
    let path =
        find(demographics).ok_or_else(|| SourceError::source(&source, shelves.missing(&[demographics])))?;
    let (mut release, record) = Release::start(survey, cycle, &path, &request.wanted(demographics))?;
    let mut records = vec![record];
    let mut not_there = Vec::new();
    let stems: BTreeSet<&String> = cycle.files.values().filter(|stem| *stem != demographics).collect();
    for stem in stems {
        match find(stem) {
            Some(path) => {
                let (table, record) =
                    file::read(&path, &source, Some(&request.wanted(stem)), Form::default())?;
                release.add(stem, &survey.person, table)?;
                records.push(record);
            }
            None => not_there.push(stem.as_str()),
        }
    }
    if !not_there.is_empty() {
        let message = format!("not found and not needed by this study: {}", not_there.join(", "));
        notices.push(Notice::note("file_not_there", source, message));
    }
    Ok((release, records))
}

/// Words for the files that the study needs and that are not in the folders; `None` when all are there.
pub(super) fn absent_files(request: &Request<'_>, folders: &[PathBuf]) -> Option<String> {
    let (survey, cycle) = (request.survey, request.cycle);
    let shelves = Shelves::new(&survey.name, &cycle.name, folders);
    let needed = request.needed_roles();
    let stems =
        cycle.files.iter().filter(|(role, _)| needed.contains(role.as_str())).map(|(_, stem)| stem.as_str());
    let absent: BTreeSet<&str> = stems.filter(|stem| shelves.find(stem).is_none()).collect();
    let absent: Vec<&str> = absent.into_iter().collect();
    (!absent.is_empty()).then(|| shelves.missing(&absent))
}

/// Values of every quantity whose file was read; those made of other quantities come last.
fn read_quantities(request: &Request<'_>, release: &Release) -> Result<Done, SourceError> {
    let mut rows: Vec<&Variable> = request.survey.variables_of(&request.cycle.name).collect();
    rows.sort_by_key(|row| matches!(row.recipe, Recipe::AnyOf { .. }));
    let mut done = Done::new();
    for row in rows.into_iter().filter(|row| release.has(&row.file)) {
        let Some(quantity) = request.quantities.iter().find(|q| q.name == row.quantity) else { continue };
        let values = evaluate(release, row, quantity, &done)?;
        done.insert(row.quantity.clone(), values);
    }
    Ok(done)
}

fn read_weights(
    request: &Request<'_>,
    release: &Release,
) -> Result<(Vec<Subsample>, Vec<Column>), SourceError> {
    let mut subsamples = Vec::new();
    let mut columns = Vec::new();
    for (subsample, row) in request.weights().iter().filter(|(_, row)| release.has(&row.file)) {
        let weight = release.variable(&row.file, &row.variable)?;
        if let Some(person) = weight.cells.iter().position(|w| w.is_some_and(|w| w < 0.0)) {
            return Err(weight.error(person, "a weight of 0 or more"));
        }
        let name = weight_column(*subsample).into();
        columns.push(Float64Chunked::from_iter_options(name, weight.cells.into_iter()).into_column());
        subsamples.push(*subsample);
    }
    Ok((subsamples, columns))
}

fn person_columns(request: &Request<'_>, release: &Release) -> Vec<Column> {
    let people = release.people.len();
    let source = request.source();
    let person: StringChunked = ChunkedArray::from_iter_values(
        "person".into(),
        release.people.iter().map(|id| format!("{source}/{id}")),
    );
    let constant = |name: &str, value: &str| constant_column(name, value, people);
    vec![
        person.into_column(),
        constant("source", &source),
        constant("survey", &request.survey.label),
        constant("cycle", &request.cycle.name),
    ]
}

fn design_columns(request: &Request<'_>, release: &Release) -> Result<Vec<Column>, SourceError> {
    let texts = |name: &str, variable: &str| -> Result<Column, SourceError> {
        let cells = release.variable(DEMOGRAPHICS, variable)?.cells;
        let texts = cells.iter().map(|x| x.map(|x| x.to_string()));
        Ok(StringChunked::from_iter_options(name.into(), texts).into_column())
    };
    Ok(vec![texts("stratum", &request.survey.stratum)?, texts("psu", &request.survey.psu)?])
}

fn cycle_notices(request: &Request<'_>) -> Vec<Notice> {
    let (survey, cycle, source) = (request.survey, request.cycle, request.source());
    let mut notices = Vec::new();
    if cycle.standing != Standing::Published {
        notices.push(Notice::caution("survey_map_standing", source.as_str(), cycle.checked.as_str()));
    }
    let said = survey.notices_of(&cycle.name);
    let said = said.filter(|n| n.quantities.iter().any(|q| request.needs.quantity(q)));
    notices.extend(said.map(|n| Notice {
        weight: n.weight,
        kind: n.kind.as_str(),
        about: source.clone(),
        message: n.message.clone(),
    }));
    notices
}

/// A caution for every quantity the study speaks of and the cycle does not have.
pub(super) fn absent_quantities(request: &Request<'_>) -> Vec<Notice> {
    let spoken = request.quantities.iter().filter(|q| request.needs.quantity(&q.name));
    let notice = |quantity: &Quantity| {
        let reason = request.survey.why_absent(request.cycle, &quantity.name)?;
        let message = format!("{} is missing for everybody: {reason}", quantity.name);
        Some(Notice::caution("quantity_absent", request.source(), message))
    };
    spoken.filter_map(notice).collect()
}

/// The cycles of this survey that a study pools.
pub(super) fn pooled_cycles(study: &Study, name: &str) -> Vec<String> {
    let of = |source: &Source| match source {
        Source::Survey { survey, cycle, .. } if survey == name => Some(cycle.clone()),
        _ => None,
    };
    study.sources.iter().filter_map(of).collect()
}

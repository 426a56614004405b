//! One cutoff under other choices: `[sensitivity]`.

use serde::{Deserialize, Serialize};

use super::assay_route::{Route, RouteFile, route};
use super::check::{self, distinct};
use super::cohort;
use super::error::{StudyError, Text};
use super::explain::asked;
use super::file::{At, StudyFile};
use super::percent::written_as_shares;
use super::rule_file::RuleFile;
use super::rules::rules;
use super::{Reference, Study, StudyOutcome, StudyRule, Threshold, crossed};
use crate::definitions::{Definitions, Exclusion, Standing};

/// Percentiles that a cutoff is usually taken from begin here.
const FIRST_PERCENTILE: f64 = 75.0;
/// Flags of a person that tell which values a route converted or put at a floor.
const ROUTE_FLAGS: usize = 4;

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SensitivityFile {
    /// Index or indices of the study.
    pub index: Option<At<OneOrMore>>,
    pub outcomes: Option<Vec<At<String>>>,
    pub rules: Option<Vec<At<RuleFile>>>,
    pub percentiles: Option<At<Vec<f64>>>,
    /// Single-variable groupings of the study, besides everybody.
    pub groups: Option<Vec<At<String>>>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub exclusions: Vec<At<ExclusionsFile>>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub route: Vec<At<RouteFile>>,
}

/// A name, or a list of names.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum OneOrMore {
    One(String),
    More(Vec<String>),
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ExclusionsFile {
    pub name: At<String>,
    pub label: Option<String>,
    /// In place of the cohort's `exclude`; age range and requirements stay.
    pub exclude: Vec<At<String>>,
}

/// The choices whose effect on a cutoff is asked for. The first of each list is the base.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensitivity {
    /// Positions in the study's indices.
    pub indices: Vec<usize>,
    /// Any known outcomes, such as the complete-case form of the study's own.
    pub outcomes: Vec<StudyOutcome>,
    pub rules: Vec<StudyRule>,
    /// Proportions.
    pub percentiles: Vec<f64>,
    /// Positions in the study's groupings.
    pub groupings: Vec<usize>,
    pub exclusions: Vec<ExclusionSet>,
    pub routes: Vec<Route>,
}

/// Who is left out, as one choice among others.
#[derive(Debug, Clone, PartialEq)]
pub struct ExclusionSet {
    pub name: String,
    pub label: String,
    pub exclusions: Vec<Exclusion>,
}

impl OneOrMore {
    fn names(&self) -> Vec<&String> {
        match self {
            Self::One(name) => vec![name],
            Self::More(names) => names.iter().collect(),
        }
    }
}

/// Checks the section against the rest of the study, and writes its defaults and the steps of its routes
/// into the file.
pub(super) fn sensitivity(
    file: &mut StudyFile,
    study: &Study,
    definitions: &Definitions,
    text: Text<'_>,
) -> Result<Option<Sensitivity>, StudyError> {
    let Some(mut written) = file.sensitivity.take() else { return Ok(None) };
    complete(&mut written, file, study);
    let mut exclusions = vec![ExclusionSet {
        name: "study".to_owned(),
        label: "as in the study".to_owned(),
        exclusions: study.exclusions.clone(),
    }];
    for set in &written.exclusions {
        let of_set = set.get_ref();
        let exclusion_file = cohort::with_exclude(file, of_set.exclude.clone());
        exclusions.push(ExclusionSet {
            name: of_set.name.get_ref().clone(),
            label: of_set.label.clone().unwrap_or_default(),
            exclusions: cohort::exclusions(&exclusion_file, definitions, text)?,
        });
    }
    let mut routes = vec![Route::as_released()];
    for one in &mut written.route {
        let checked = route(one, study, text)?;
        one.get_mut().label = Some(checked.label.clone());
        one.get_mut().steps = checked.steps();
        routes.push(checked);
    }
    names_differ(&written, text)?;
    let section = Sensitivity {
        indices: indices(&written, study, text)?,
        outcomes: outcomes(&written, definitions, text)?,
        rules: rules(written.rules.as_deref().unwrap_or_default(), text)?,
        percentiles: percentiles(&written, text)?,
        groupings: groupings(&written, study, text)?,
        exclusions,
        routes,
    };
    flags_fit(&section, study, &written, text)?;
    file.sensitivity = Some(written);
    Ok(Some(section))
}

/// Writes what was left out into the section.
fn complete(written: &mut SensitivityFile, file: &StudyFile, study: &Study) {
    let nowhere = |name: &String| At::new(0..0, name.clone());
    let index = study.thresholds.first().map_or(0, |threshold| threshold.index);
    written.index.get_or_insert_with(|| At::new(0..0, OneOrMore::One(study.indices[index].row.name.clone())));
    written.outcomes.get_or_insert_with(|| study.outcomes.iter().map(|o| nowhere(&o.row.name)).collect());
    written.rules.get_or_insert_with(|| file.analysis.rules.clone());
    written.percentiles.get_or_insert_with(|| {
        let all = file.analysis.percentiles.get_ref();
        let high: Vec<f64> = all.iter().copied().filter(|p| *p >= FIRST_PERCENTILE).collect();
        At::new(0..0, if high.is_empty() { all.clone() } else { high })
    });
    written.groups.get_or_insert_with(|| {
        let single = study.groupings.iter().filter(|grouping| grouping.len() == 1);
        single.map(|grouping| nowhere(&study.variables[grouping[0]].name)).collect()
    });
    for set in &mut written.exclusions {
        let set = set.get_mut();
        set.label.get_or_insert_with(|| set.name.get_ref().replace('_', " "));
    }
}

/// Sets and routes are told apart by name, and none takes the name of the base.
fn names_differ(written: &SensitivityFile, text: Text<'_>) -> Result<(), StudyError> {
    let sets: Vec<At<String>> = written.exclusions.iter().map(|set| set.get_ref().name.clone()).collect();
    let routes: Vec<At<String>> = written.route.iter().map(|route| route.get_ref().name.clone()).collect();
    for (names, base) in [(sets, "study"), (routes, "as_released")] {
        distinct(&names, text)?;
        if let Some(taken) = names.iter().find(|name| name.get_ref() == base) {
            let problem = format!("\"{base}\" names what the others are compared with: choose another name");
            return Err(text.problem(taken.span(), problem));
        }
    }
    Ok(())
}

fn indices(written: &SensitivityFile, study: &Study, text: Text<'_>) -> Result<Vec<usize>, StudyError> {
    let Some(index) = &written.index else { return Ok(Vec::new()) };
    let names = index.get_ref().names();
    let names: Vec<At<String>> = names.into_iter().map(|name| At::new(index.span(), name.clone())).collect();
    positions("index of this study", &names, study.indices.iter().map(|i| i.row.name.as_str()), text)
}

/// Outcomes of the study or others: an alternative need not be estimated in full.
fn outcomes(
    written: &SensitivityFile,
    definitions: &Definitions,
    text: Text<'_>,
) -> Result<Vec<StudyOutcome>, StudyError> {
    check::outcomes(written.outcomes.as_deref().unwrap_or_default(), definitions, text)
}

fn groupings(written: &SensitivityFile, study: &Study, text: Text<'_>) -> Result<Vec<usize>, StudyError> {
    let names = written.groups.as_deref().unwrap_or_default();
    let single: Vec<(usize, &str)> = study
        .groupings
        .iter()
        .enumerate()
        .filter(|(_, grouping)| grouping.len() == 1)
        .map(|(position, grouping)| (position, study.variables[grouping[0]].name.as_str()))
        .collect();
    let known = single.iter().map(|(_, name)| *name);
    if let Some(name) = names.iter().find(|name| crossed(name.get_ref()).len() > 1) {
        let problem = format!(
            "\"{}\" is a crossing, and [sensitivity] takes none: name single groups of the study here",
            name.get_ref()
        );
        return Err(text.problem(name.span(), problem));
    }
    let found = positions("single grouping of this study", names, known, text)?;
    Ok(found.into_iter().map(|position| single[position].0).collect())
}

/// Where each name stands among the known ones.
fn positions<'k>(
    what: &'static str,
    names: &[At<String>],
    known: impl Iterator<Item = &'k str>,
    text: Text<'_>,
) -> Result<Vec<usize>, StudyError> {
    distinct(names, text)?;
    let known: Vec<&str> = known.collect();
    let one = |name: &At<String>| {
        known
            .iter()
            .position(|k| *k == *name.get_ref())
            .ok_or_else(|| text.unknown(what, name, known.iter().copied()))
    };
    names.iter().map(one).collect()
}

fn percentiles(written: &SensitivityFile, text: Text<'_>) -> Result<Vec<f64>, StudyError> {
    let Some(percentiles) = &written.percentiles else { return Ok(Vec::new()) };
    if percentiles.get_ref().iter().any(|p| !(*p > 0.0 && *p < 100.0)) {
        let problem = "percentiles must be numbers between 0 and 100, the base first, such as [75, 90, 95]";
        return Err(text.problem(percentiles.span(), problem));
    }
    if let Some(problem) = written_as_shares(percentiles.get_ref()) {
        return Err(text.problem(percentiles.span(), problem));
    }
    Ok(percentiles.get_ref().iter().map(|percent| percent / 100.0).collect())
}

/// Exclusions, reference groups and the marks of a route share one whole number of a person.
fn flags_fit(
    section: &Sensitivity,
    study: &Study,
    written: &SensitivityFile,
    text: Text<'_>,
) -> Result<(), StudyError> {
    let most = check::MOST_FLAGS.saturating_sub(study.references.len() + ROUTE_FLAGS);
    let longest = section.exclusions.iter().map(|set| set.exclusions.len()).max().unwrap_or(0);
    if longest <= most {
        return Ok(());
    }
    let place = written.exclusions.first().map_or(0..0, At::span);
    Err(text.problem(place, format!("at most {most} exclusions in a set of this study, found {longest}")))
}

impl Study {
    /// The study with other exclusions, cut down to what the sensitivity analysis asks; `marks` are yes/no
    /// columns of the people that become reference groups after the study's own, so that they can be counted.
    #[must_use]
    pub fn variant(&self, section: &Sensitivity, set: &ExclusionSet, marks: &[String]) -> Self {
        let place = |index: usize| section.indices.iter().position(|&i| i == index);
        let thresholds = self
            .thresholds
            .iter()
            .filter_map(|threshold| Some(Threshold { index: place(threshold.index)?, ..threshold.clone() }));
        let marked = marks.iter().map(|column| marked(column));
        let single = |position: usize| self.groupings[position][0];
        Self {
            exclusions: set.exclusions.clone(),
            indices: section.indices.iter().map(|&i| self.indices[i].clone()).collect(),
            outcomes: section.outcomes.clone(),
            references: self.references.iter().cloned().chain(marked).collect(),
            variables: section.groupings.iter().map(|&g| self.variables[single(g)].clone()).collect(),
            groupings: (0..section.groupings.len()).map(|position| vec![position]).collect(),
            percentiles: section.percentiles.clone(),
            rules: section.rules.clone(),
            thresholds: thresholds.collect(),
            standardisation: None,
            curves: None,
            sensitivity: None,
            ..self.clone()
        }
    }
}

/// The people whose column says yes, as a reference group.
fn marked(column: &str) -> Reference {
    let unmarked = Exclusion {
        name: format!("not_{column}"),
        label: String::new(),
        formula: format!("NOT {column}"),
        unknown_excludes: true,
        source: String::new(),
        standing: Standing::Study,
        note: String::new(),
    };
    Reference { name: column.to_owned(), label: String::new(), without: vec![unmarked] }
}

/// The section in words.
pub(super) fn sentences(study: &Study) -> Vec<String> {
    let Some(section) = &study.sensitivity else { return Vec::new() };
    // Rules pick cutoffs against an outcome.
    let rules = if section.outcomes.is_empty() { 0 } else { section.rules.len() };
    let choices = [
        (rules, "rule"),
        (section.outcomes.len(), "outcome"),
        (section.percentiles.len(), "percentile"),
        (section.exclusions.len(), "exclusion set"),
        (section.routes.len(), "assay route"),
    ];
    let choices: Vec<String> = choices.iter().filter_map(|(count, what)| asked(*count, what)).collect();
    let indices: Vec<&str> = section.indices.iter().map(|&i| study.indices[i].row.name.as_str()).collect();
    let mut lines = vec![format!("cutoffs of {} under {}", indices.join(", "), choices.join(", "))];
    lines.extend(section.exclusions.iter().skip(1).map(|set| {
        let labels: Vec<&str> = set.exclusions.iter().map(|exclusion| exclusion.label.as_str()).collect();
        let left_out = if labels.is_empty() { "nobody".to_owned() } else { labels.join("; ") };
        format!("exclusions \"{}\": {}; left out: {left_out}", set.name, set.label)
    }));
    for route in section.routes.iter().skip(1) {
        lines.push(format!("route \"{}\": {}", route.name, route.label));
        lines.extend(route.steps().into_iter().map(|step| format!("  {step}")));
    }
    lines
}

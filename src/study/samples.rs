//! Samples: sources that are pooled with each other and with nothing else.

use super::error::{StudyError, Text};
use super::file::{At, SourceFile};
use super::{Source, Study};
use crate::definitions::pooling::pooling_shares;
use crate::definitions::survey;

/// Surveys or cohorts that are estimated apart and then compared.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StudySample {
    pub name: String,
    /// What stands in the `survey` column of the tables and in titles.
    pub label: String,
    /// Positions in the study's sources.
    pub sources: Vec<usize>,
}

impl Study {
    /// The study as one sample alone runs it, with the replicates of `seed`.
    ///
    /// Replicates of two samples must not be the same random numbers: a difference between samples takes
    /// their variances as independent.
    #[must_use]
    pub fn of_sample(&self, sample: &StudySample, seed: u64) -> Self {
        let mut own = self.clone();
        own.sources = sample.sources.iter().map(|&position| self.sources[position].clone()).collect();
        own.samples = Vec::new();
        // Checks are of the tables of all samples together.
        own.checks = Vec::new();
        own.resampling.seed = seed;
        own.resampling.design = own.design();
        own
    }

    /// Why no question can be put to the people of a study: it keeps several samples apart.
    #[must_use]
    pub fn not_one_sample(&self) -> Option<String> {
        (self.samples.len() > 1).then(|| {
            format!(
                "this study keeps {} samples apart, and a question is put to one: name one of its sources in a study of its own",
                self.samples.len()
            )
        })
    }
}

/// Positions of the sources of each sample, in the order in which the samples first appear; all sources
/// together when none names a sample.
pub(super) fn positions(sources: &[At<SourceFile>]) -> Vec<Vec<usize>> {
    let mut samples: Vec<(Option<&str>, Vec<usize>)> = Vec::new();
    for (position, source) in sources.iter().enumerate() {
        let name = source.get_ref().sample.as_ref().map(|name| name.get_ref().as_str());
        match samples.iter_mut().find(|(known, _)| *known == name) {
            Some((_, own)) => own.push(position),
            None => samples.push((name, vec![position])),
        }
    }
    if samples.is_empty() { vec![Vec::new()] } else { samples.into_iter().map(|(_, own)| own).collect() }
}

/// Checks the names of samples and writes their labels out.
pub(super) fn complete(sources: &mut [At<SourceFile>], text: Text<'_>) -> Result<(), StudyError> {
    all_or_none(sources, text)?;
    for own in positions(sources) {
        label(sources, &own, text)?;
    }
    apart(sources, text)
}

fn all_or_none(sources: &[At<SourceFile>], text: Text<'_>) -> Result<(), StudyError> {
    let named = sources.iter().any(|source| source.get_ref().sample.is_some());
    for source in sources {
        let of = source.get_ref();
        match (&of.sample, &of.label) {
            (None, _) if named => {
                let problem = "this source has no sample although others have one: name the sample of each";
                return Err(text.problem(source.span(), problem));
            }
            (None, Some(label)) => {
                let problem = "a label belongs to a sample: add sample = \"…\" to the source";
                return Err(text.problem(label.span(), problem));
            }
            (Some(name), _) if stem(name.get_ref()).trim_matches('_').is_empty() => {
                let problem = "a sample needs a name with a letter or a digit in it";
                return Err(text.problem(name.span(), problem));
            }
            _ => {}
        }
    }
    Ok(())
}

/// Gives every source of one sample the sample's label.
fn label(sources: &mut [At<SourceFile>], own: &[usize], text: Text<'_>) -> Result<(), StudyError> {
    let given = |position: &usize| sources[*position].get_ref().label.as_ref();
    let stated: Vec<&At<String>> = own.iter().filter_map(given).collect();
    if let Some(other) = stated.iter().find(|label| label.get_ref() != stated[0].get_ref()) {
        let problem =
            format!("the sample has two labels, \"{}\" and \"{}\"", stated[0].get_ref(), other.get_ref());
        return Err(text.problem(other.span(), problem));
    }
    let name = own.first().and_then(|position| sources[*position].get_ref().sample.as_ref());
    let label = stated.first().copied().or(name).map(|label| label.get_ref().clone());
    for &position in own {
        let label = label.clone().map(|label| At::new(0..0, label));
        let source = sources[position].get_mut();
        source.label = source.label.take().or(label);
    }
    Ok(())
}

/// Samples need names and labels that tell them apart, and people of their own.
fn apart(sources: &[At<SourceFile>], text: Text<'_>) -> Result<(), StudyError> {
    let firsts: Vec<&SourceFile> =
        positions(sources).iter().filter_map(|own| own.first()).map(|&p| sources[p].get_ref()).collect();
    for (position, source) in firsts.iter().enumerate() {
        let (Some(name), Some(label)) = (&source.sample, &source.label) else { continue };
        for other in &firsts[..position] {
            let same_name = other.sample.as_ref().is_some_and(|o| stem(o.get_ref()) == stem(name.get_ref()));
            let same_label = other.label.as_ref().is_some_and(|o| o.get_ref() == label.get_ref());
            if same_name || same_label {
                let problem = format!(
                    "two samples cannot be told apart by \"{}\": names and labels must differ in letters or digits",
                    if same_name { name.get_ref() } else { label.get_ref() }
                );
                return Err(text.problem(name.span(), problem));
            }
        }
    }
    shared_people(sources, text)
}

/// The same cycle in two samples, or releases that overlap, are the same people twice.
fn shared_people(sources: &[At<SourceFile>], text: Text<'_>) -> Result<(), StudyError> {
    if positions(sources).len() < 2 {
        return Ok(());
    }
    let mut seen: Vec<(&str, Vec<String>)> = Vec::new();
    for source in sources {
        let of = source.get_ref();
        let (survey, Some(cycle)) = (of.survey.get_ref().as_str(), &of.cycle) else { continue };
        if !seen.iter().any(|(known, _)| *known == survey) {
            seen.push((survey, Vec::new()));
        }
        let Some((_, cycles)) = seen.iter_mut().find(|(known, _)| *known == survey) else { continue };
        cycles.push(cycle.get_ref().clone());
        if survey::survey(survey).is_some_and(|s| s.cycle(cycle.get_ref()).is_ok()) {
            pooling_shares(survey, cycles).map_err(|problem| {
                text.problem(source.span(), format!("samples must be independent, but {problem}"))
            })?;
        }
    }
    Ok(())
}

/// The samples of a completed study; none when its sources name none.
pub(super) fn samples(sources: &[At<SourceFile>]) -> Vec<StudySample> {
    positions(sources)
        .into_iter()
        .filter_map(|own| {
            let first = sources[*own.first()?].get_ref();
            let (name, label) = (first.sample.as_ref()?, first.label.as_ref()?);
            Some(StudySample { name: name.get_ref().clone(), label: label.get_ref().clone(), sources: own })
        })
        .collect()
}

/// A name as it stands in names of files and folders.
fn stem(name: &str) -> String {
    name.chars().map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '_' }).collect()
}

impl StudySample {
    /// The name as it stands in names of files and folders.
    #[must_use]
    pub fn stem(&self) -> String {
        stem(&self.name)
    }
}

/// What `check` says of the samples.
pub(super) fn in_words(study: &Study) -> Vec<String> {
    let sources = |sample: &StudySample| {
        let name = |&position: &usize| match &study.sources[position] {
            Source::Survey { survey, cycle, .. } => format!("{survey} {cycle}"),
            Source::Table(table) => table.name.clone(),
        };
        sample.sources.iter().map(name).collect::<Vec<_>>().join(" + ")
    };
    let mut lines: Vec<String> =
        study.samples.iter().map(|s| format!("{} ({}): {}", s.name, s.label, sources(s))).collect();
    if study.samples.len() > 1 {
        lines.push("estimated apart, never pooled; then compared side by side, and cutoffs of each judged in the others".to_owned());
    }
    lines
}

//! Defaults that depend on the rest of the study: pooling shares, replicates, labels.

use super::error::{StudyError, Text};
use super::file::{At, SourceFile, StudyFile};
use super::sources::known_survey;
use crate::definitions::pooling::pooling_shares;
use crate::definitions::survey;

/// Shares may miss 1 by this much, for decimals such as 0.3333333.
const SHARE_SLACK: f64 = 1e-6;

/// Writes the defaults that are worked out into the file.
pub(super) fn complete(file: &mut StudyFile, text: Text<'_>) -> Result<(), StudyError> {
    super::resampling::complete(&mut file.resampling, text)?;
    super::samples::complete(&mut file.source, text)?;
    for own in super::samples::positions(&file.source) {
        let mut pooled: Vec<At<SourceFile>> = own.iter().map(|&i| file.source[i].clone()).collect();
        shares(&mut pooled, text)?;
        for (position, source) in own.into_iter().zip(pooled) {
            file.source[position] = source;
        }
    }
    super::curves::complete(file);
    for reference in &mut file.analysis.reference {
        let reference = reference.get_mut();
        if reference.label.is_none() {
            reference.label = Some(reference.name.get_ref().replace('_', " "));
        }
    }
    Ok(())
}

/// Gives every source of a sample its factor on the weights; the factors of a sample sum to 1.
fn shares(sources: &mut [At<SourceFile>], text: Text<'_>) -> Result<(), StudyError> {
    let worked_out = official(sources, text)?;
    let stated = sources.iter().filter(|source| source.get_ref().share.is_some()).count();
    if stated == 0 {
        for (source, share) in sources.iter_mut().zip(worked_out) {
            source.get_mut().share = Some(At::new(0..0, share));
        }
        return Ok(());
    }
    if let Some(silent) = sources.iter().find(|source| source.get_ref().share.is_none()) {
        let problem = "this source has no share although others have one: give all of them a share, or none";
        return Err(text.problem(silent.span(), problem));
    }
    let given: Vec<&At<f64>> = sources.iter().filter_map(|source| source.get_ref().share.as_ref()).collect();
    if let Some(bad) = given.iter().find(|share| !share.get_ref().is_finite() || *share.get_ref() <= 0.0) {
        return Err(text.problem(bad.span(), format!("a share must be above 0, found {}", bad.get_ref())));
    }
    let sum: f64 =
        (0..given.len()).filter(|i| !is_second_of_pair(sources, *i)).map(|i| *given[i].get_ref()).sum();
    if (sum - 1.0).abs() > SHARE_SLACK {
        let problem = format!("the shares of the sources must sum to 1, found {sum}");
        return Err(text.problem(given[0].span(), problem));
    }
    Ok(())
}

/// Whether an earlier source holds the other half of a pair of cycles with joint weights: such a
/// pair stands for the population once, and its share counts once.
fn is_second_of_pair(sources: &[At<SourceFile>], position: usize) -> bool {
    let source = sources[position].get_ref();
    let earlier: Vec<String> = sources[..position].iter().filter_map(cycle).collect();
    let Some(survey) = survey::survey(source.survey.get_ref()) else { return false };
    cycle(&sources[position])
        .and_then(|name| survey.cycle(&name).ok())
        .is_some_and(|cycle| cycle.partner_in(&earlier).is_some())
}

fn cycle(source: &At<SourceFile>) -> Option<String> {
    source.get_ref().cycle.as_ref().map(|cycle| cycle.get_ref().clone())
}

/// The factors that follow from the sources themselves: the official fractions of one survey's
/// cycles, or 1 for a single table. Empty when a study states them.
fn official(sources: &[At<SourceFile>], text: Text<'_>) -> Result<Vec<f64>, StudyError> {
    let Some(first) = sources.first() else {
        let problem =
            "a study needs at least one [[source]]: a named survey and cycle, or survey = \"table\"";
        return Err(text.problem(0..0, problem));
    };
    let survey = first.get_ref().survey.get_ref();
    let mut shares = Vec::new();
    let mut cycles: Vec<String> = Vec::new();
    for source in sources.iter().filter(|source| source.get_ref().survey.get_ref() != "table") {
        known_survey(source, text)?;
        cycles.extend(cycle(source));
        shares = pooling_shares(source.get_ref().survey.get_ref(), &cycles)
            .map_err(|problem| text.problem(source.span(), problem))?;
    }
    if shares.len() == sources.len() {
        return Ok(shares);
    }
    if survey == "table" && sources.len() == 1 {
        return Ok(vec![1.0]);
    }
    if sources.iter().any(|source| source.get_ref().share.is_none()) {
        let problem = "several sources are pooled: give each a share (a factor on its weights; shares sum to 1), or a sample of its own to compare them";
        return Err(text.problem(sources[1].span(), problem));
    }
    Ok(Vec::new())
}

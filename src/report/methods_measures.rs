//! Indices, outcomes, groups and cutoffs of a study, in sentences.

use crate::definitions::{Direction, Standing};
use crate::study::{LmsPower, Split, Standard, Study, StudyIndex, StudyOutcome, Threshold, Variable};
use crate::table::number::significant;

use super::methods::{MethodsInput, filled, listed};

pub(super) fn indices(study: &Study) -> Vec<String> {
    let mut sentences: Vec<String> = study.indices.iter().map(index).collect();
    if study.indices.iter().any(|index| index.row.valid_if.is_some()) {
        sentences.push("An index outside its condition is missing.".to_owned());
    }
    sentences
}

fn index(index: &StudyIndex) -> String {
    let row = &index.row;
    let unit = if row.unit == "1" { "no unit".to_owned() } else { format!("in {}", row.unit) };
    let side = match row.direction {
        Direction::Higher => "higher",
        Direction::Lower => "lower",
    };
    let condition = row.valid_if.as_ref().map(|when| format!(" where `{}`", words(when))).unwrap_or_default();
    format!(
        "{} was computed as `{}`{condition} ({unit}; {side} is more resistant; {}).",
        row.label,
        words(&row.formula),
        cited(&row.source, row.standing)
    )
}

/// A formula on one line.
fn words(formula: &str) -> String {
    formula.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn cited(source: &str, standing: Standing) -> String {
    let source = if source.is_empty() { "no source stated" } else { source };
    match standing {
        Standing::Published => source.to_owned(),
        Standing::CommonPractice => format!("{source}; common practice"),
        Standing::FromMemory => format!("{source}; from memory of the source, not read again"),
        Standing::Study => format!("{source}; as stated by this study"),
    }
}

pub(super) fn outcomes(study: &Study) -> Vec<String> {
    let mut sentences: Vec<String> = study.outcomes.iter().map(outcome).collect();
    if !sentences.is_empty() {
        sentences.push(
            "People for whom an outcome is unknown are counted and take no part in estimates against it."
                .to_owned(),
        );
    }
    sentences
}

fn outcome(outcome: &StudyOutcome) -> String {
    let row = &outcome.row;
    let items: Vec<String> = row.items.iter().map(|item| format!("`{item}`")).collect();
    let definition = match (&row.formula, row.at_least) {
        (Some(formula), _) if !formula.contains('{') => format!("`{}`", words(formula)),
        (Some(_), _) => format!("`{}`", words(&outcome.sql)),
        (None, Some(least)) => format!("at least {least} of {}", listed(&items)),
        (None, None) => listed(&items),
    };
    let required = match row.required.as_slice() {
        [] => String::new(),
        names => {
            format!(", and {}", listed(&names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>()))
        }
    };
    format!("The outcome “{}” is {definition}{required} ({}).", row.label, cited(&row.source, row.standing))
}

pub(super) fn groups(study: &Study) -> Vec<String> {
    let mut sentences = Vec::new();
    if !study.groupings.is_empty() {
        let named: Vec<String> =
            study.groupings.iter().map(|grouping| grouping_words(grouping, study)).collect();
        sentences.push(format!("Results are given for everybody and by {}.", listed(&named)));
    }
    for reference in &study.references {
        let without: Vec<&str> = reference.without.iter().map(|e| e.label.as_str()).collect();
        sentences.push(format!(
            "The reference group “{}” are people of the cohort known to have none of: {}.",
            reference.label,
            without.join("; ")
        ));
    }
    sentences
}

fn grouping_words(grouping: &[usize], study: &Study) -> String {
    let variables: Vec<&Variable> = grouping.iter().map(|position| &study.variables[*position]).collect();
    let label = variables.iter().map(|variable| variable.label.as_str()).collect::<Vec<_>>().join(" × ");
    let levels = match &variables[..] {
        [only] => match &only.split {
            Split::Bands { labels, .. } => labels.join(", "),
            Split::Levels { levels, .. } => levels.join(", "),
        },
        _ => String::new(),
    };
    if levels.is_empty() { label } else { format!("{label} ({levels})") }
}

/// Thresholds, percentiles, cutoffs and what else the run estimated.
pub(super) fn estimates(input: &MethodsInput<'_>) -> Vec<String> {
    let (study, tables) = (input.study, input.tables);
    let mut sentences = Vec::new();
    if filled(tables, "percentiles").is_some() {
        let list: Vec<String> = study.percentiles.iter().map(|p| significant(p * 100.0, 6)).collect();
        let (noun, verb) = if list.len() == 1 { ("percentile", "was") } else { ("percentiles", "were") };
        sentences.push(format!(
            "Of each index the {noun} {} {verb} estimated, counted from the least to the most resistant.",
            listed(&list)
        ));
    }
    if !study.thresholds.is_empty() && filled(tables, "threshold_shares").is_some() {
        let list: Vec<String> =
            study.thresholds.iter().map(|threshold| threshold_words(threshold, study)).collect();
        sentences.push(format!("Judged in every group was the share {}.", listed(&list)));
    }
    if filled(tables, "cutoffs").is_some() {
        let rules: Vec<String> = study.rules.iter().map(|rule| format!("“{}”", rule.label)).collect();
        let noun = if rules.len() == 1 { "the rule" } else { "the rules" };
        sentences.push(format!(
            "For each index and outcome, cutoffs were chosen anew in each group from the ROC curve by {noun} {}.",
            listed(&rules)
        ));
        if filled(tables, "cutoff_accuracy").is_some() {
            sentences.push(
                "The accuracy in `cutoff_accuracy` is that in the people in whom the cutoff was chosen."
                    .to_owned(),
            );
        }
    }
    sentences.extend(further(input));
    sentences
}

fn threshold_words(threshold: &Threshold, study: &Study) -> String {
    let index = &study.indices[threshold.index].row;
    let beyond = match (threshold.strict, index.direction) {
        (false, Direction::Higher) => "at or above",
        (false, Direction::Lower) => "at or below",
        (true, Direction::Higher) => "above",
        (true, Direction::Lower) => "below",
    };
    let source = if threshold.source.is_empty() { "no source stated" } else { &threshold.source };
    format!("{beyond} {} {} ({source})", index.label, significant(threshold.value, 6))
}

/// The way to a cutoff that ignores the survey's weights.
const MIXTURE: &str = "mixture_crossing";

/// The second way to percentile curves, where the study asks for it and it led to numbers.
fn by_lms(input: &MethodsInput<'_>) -> Option<String> {
    let power = match input.study.curves.as_ref()?.lms? {
        LmsPower::Constant => "one power everywhere",
        LmsPower::Spline => "the power",
    };
    filled(input.tables, "lms_parameters")?;
    Some(format!(
        "Percentile curves were also fitted by the LMS method (Cole and Green 1992, Stat Med 11:1305–1319): {power}, the \
         logarithm of the median and that of the spread on the same natural splines, by weighted maximum likelihood without \
         a roughness penalty; bands rest on the same replicates, each fitted anew from the solution of the full sample."
    ))
}

/// What only some studies ask for.
fn further(input: &MethodsInput<'_>) -> Vec<String> {
    let (study, tables) = (input.study, input.tables);
    let mut sentences = Vec::new();
    if filled(tables, "heterogeneity").is_some() {
        sentences.push(
            "Whether cutoffs differ between groups was tested; the method of each test stands in `heterogeneity`."
                .to_owned(),
        );
    }
    if let (Some(of), Some(_)) = (&study.standardisation, filled(tables, "standardised_cutoffs")) {
        let label = |variables: &Vec<usize>| {
            variables.iter().map(|v| study.variables[*v].label.as_str()).collect::<Vec<_>>().join(" and ")
        };
        let compared: Vec<String> = of.of.iter().map(|grouping| label(&study.groupings[*grouping])).collect();
        let adjusted: Vec<String> = of.to.iter().map(label).collect();
        let standard = match &of.standard {
            Standard::Cohort => "everybody of the cohort",
            Standard::Reference(position) => &study.references[*position].label,
            Standard::Population { label, .. } => label,
        };
        sentences.push(format!(
            "Groups by {} were also compared as if they had the distribution of {standard}, in turn by {}.",
            listed(&compared),
            adjusted.join("; then by ")
        ));
    }
    if filled(tables, "percentile_curves").is_some() || filled(tables, "cutoff_curves").is_some() {
        sentences.push("Smooth curves over age or BMI were fitted with natural splines.".to_owned());
    }
    sentences.extend(by_lms(input));
    if filled(tables, "cutoff_methods")
        .is_some_and(|table| table.iter().any(|row| row.text("method") == MIXTURE))
    {
        sentences.push(
            "Where two normal distributions of an index's logarithm part was found by expectation–maximisation without any \
             outcome; survey weights and design take no part in it: every person counts once."
                .to_owned(),
        );
    }
    if filled(tables, "choice_ranges").is_some() {
        sentences.push("How far a cutoff moves under other choices was computed for each choice alone and for all together.".to_owned());
    }
    sentences
}

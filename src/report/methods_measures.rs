//! Indices, outcomes and groups of a study, in sentences.

use crate::chart::Labels;
use crate::definitions::answer::unit_in_print;
use crate::definitions::{ColumnKind, Direction, Quantity, Standing};
use crate::study::{Source, Split, Study, StudyIndex, StudyOutcome, Variable};

use super::formula::{plain, sole_quantity};
use super::methods::{MethodsInput, listed};
use super::methods_notices::{self, PRESSURE};
use super::of_study::known_when;
use super::sentence::{capital, uncapital};
use super::short;

pub(super) fn indices(study: &Study) -> Vec<String> {
    let mut sentences: Vec<String> = study.indices.iter().map(|one| index(one, study)).collect();
    if study.indices.iter().any(|index| index.row.valid_if.is_some()) {
        sentences.push("An index is missing where its formula cannot be computed.".to_owned());
    }
    sentences
}

fn index(index: &StudyIndex, study: &Study) -> String {
    let row = &index.row;
    let unit = if row.unit == "1" { String::new() } else { format!("in {}; ", unit_in_print(&row.unit)) };
    let side = match row.direction {
        Direction::Higher => "higher",
        Direction::Lower => "lower",
    };
    let about = format!("{unit}{side} is more resistant; {}", cited(&row.source, row.standing));
    if sole_quantity(&row.formula, &study.quantities).is_some() {
        return format!("{} was taken as measured ({unit}{side} is more resistant).", capital(&row.label));
    }
    let within = row.valid_if.as_deref().filter(|when| limits_more_than_signs(when));
    let within = within.map(|when| format!(", where {}", plain(when, &study.quantities))).unwrap_or_default();
    format!("{} is {}{within} ({about}).", capital(&row.label), plain(&row.formula, &study.quantities))
}

/// Whether a condition says more than that a logarithm or a division must be possible.
fn limits_more_than_signs(condition: &str) -> bool {
    let numbers = condition.split(|c: char| !(c.is_ascii_digit() || c == '.'));
    numbers.filter_map(|text| text.parse::<f64>().ok()).any(|number| number > 2.0)
}

/// A source, and what an author must do about it before it is printed.
fn cited(source: &str, standing: Standing) -> String {
    match standing {
        _ if source.is_empty() => "[source]".to_owned(),
        Standing::Published => source.to_owned(),
        Standing::CommonPractice => format!("{source}; in common use"),
        Standing::FromMemory => format!("{source} [to be checked against the source]"),
        Standing::Study => format!("{source}; as defined for this study"),
    }
}

pub(super) fn outcomes(input: &MethodsInput<'_>) -> Vec<String> {
    let short = short::labels(input.labels);
    let one = |outcome: &StudyOutcome| self::outcome(outcome, input.study, &short);
    let mut sentences: Vec<String> = input.study.outcomes.iter().map(one).collect();
    if !sentences.is_empty() {
        sentences.push(
            "People for whom an outcome is unknown are counted and take no part in estimates against it; nothing was \
             imputed."
                .to_owned(),
        );
    }
    sentences.extend(either(input.study));
    sentences.extend(item_sources(input.study));
    sentences.extend(methods_notices::said(input.tables, PRESSURE));
    sentences.extend(asked(input.study));
    sentences
}

/// What items make of an unknown part, where a measurement or an answer meets them.
fn either(study: &Study) -> Option<String> {
    let answers = |sql: &str| {
        let mut words = sql.split(|letter: char| !letter.is_alphanumeric() && letter != '_');
        words.any(|word| study.quantities.iter().any(|q| q.kind == ColumnKind::YesNo && q.name == word))
    };
    let mut items = study.outcomes.iter().flat_map(|outcome| &outcome.items);
    items.any(|item| item.sql.contains(" OR ") && answers(&item.sql)).then(|| {
        "An item that a measurement or an answer, such as on a drug, can meet is met by either; where neither meets it \
         and one of them is unknown, the item is unknown."
            .to_owned()
    })
}

/// Who defines the items that outcomes count: each source once, with its items.
fn item_sources(study: &Study) -> Option<String> {
    let mut found: Vec<(String, Vec<&str>)> = Vec::new();
    for item in study.outcomes.iter().flat_map(|outcome| &outcome.items) {
        let source = cited(&item.source, item.standing);
        match found.iter_mut().find(|(known, _)| *known == source) {
            Some((_, items)) if items.contains(&item.label.as_str()) => {}
            Some((_, items)) => items.push(&item.label),
            None => found.push((source, vec![&item.label])),
        }
    }
    let each: Vec<String> =
        found.iter().map(|(source, items)| format!("{source} (“{}”)", items.join("”, “"))).collect();
    (!each.is_empty()).then(|| format!("The items are defined by {}.", each.join("; ")))
}

/// What questions of a survey, that outcomes rest on, count as no.
fn asked(study: &Study) -> Vec<String> {
    if study.sources.iter().any(|source| matches!(source, Source::Table(_))) {
        return Vec::new();
    }
    let used = |quantity: &&Quantity| {
        study.outcomes.iter().any(|outcome| outcome.ingredients.contains(&quantity.name))
    };
    let questions = study.quantities.iter().filter(used);
    let questions = questions.filter(|q| q.kind == ColumnKind::YesNo && !q.note.is_empty());
    questions.map(|q| format!("How “{}” is counted: {}", q.label, uncapital(&q.note))).collect()
}

fn outcome(outcome: &StudyOutcome, study: &Study, short: &Labels) -> String {
    let row = &outcome.row;
    let called = short.outcome(&row.name);
    let below = if called == row.label { String::new() } else { format!(" (below: {called})") };
    let definition = match (&row.formula, row.at_least) {
        (Some(formula), _) => condition(formula, outcome, study),
        (None, least) => counted(outcome, least),
    };
    let known = if outcome.items.is_empty() { String::new() } else { format!("{}; ", known_when(outcome)) };
    format!(
        "The outcome “{}”{below} is {definition} ({known}{}).",
        row.label,
        cited(&row.source, row.standing)
    )
}

/// What a single condition asks for. One that compares what was reported has its limits in its label.
fn condition(formula: &str, outcome: &StudyOutcome, study: &Study) -> String {
    if let Some(quantity) = sole_quantity(formula, &study.quantities) {
        return format!("as the data have it under “{}”", quantity.label);
    }
    if formula.contains("reported") {
        return "judged by its limit in the unit that was reported".to_owned();
    }
    plain(if formula.contains('{') { &outcome.sql } else { formula }, &study.quantities)
}

/// `at least 3 of: a; b; c`, after what it asks for in any case.
fn counted(outcome: &StudyOutcome, least: Option<u32>) -> String {
    let labels = |required: bool| -> Vec<&str> {
        let items = outcome.items.iter().filter(|item| item.required == required);
        items.map(|item| item.label.as_str()).collect()
    };
    let (required, items) = (labels(true), labels(false));
    let asked =
        if required.is_empty() { String::new() } else { format!("{}, and ", required.join(", and ")) };
    let rule = least.map_or("all".to_owned(), |least| format!("at least {least}"));
    format!("{asked}{rule} of: {}", items.join("; "))
}

pub(super) fn groups(study: &Study) -> Vec<String> {
    let mut sentences = Vec::new();
    if !study.groupings.is_empty() {
        let named: Vec<String> = study.groupings.iter().map(|one| grouping(one, study)).collect();
        sentences.push(format!("Results are given for everybody and by {}.", named.join("; by ")));
    }
    for reference in &study.references {
        let without: Vec<&str> = reference.without.iter().map(|e| e.label.as_str()).collect();
        sentences.push(format!(
            "The reference group “{}” is made of the people of the cohort known to have none of: {}.",
            reference.label,
            without.join("; ")
        ));
    }
    sentences
}

fn grouping(grouping: &[usize], study: &Study) -> String {
    let variables: Vec<&Variable> = grouping.iter().map(|position| &study.variables[*position]).collect();
    let [only] = variables[..] else {
        let labels: Vec<&str> = variables.iter().map(|variable| variable.label.as_str()).collect();
        return format!("{} crossed", listed(&labels));
    };
    match &only.split {
        Split::Levels { levels, .. } if levels.is_empty() => only.label.clone(),
        Split::Bands { labels: levels, .. } | Split::Levels { levels, .. } => {
            format!("{} ({})", only.label, levels.join(", "))
        }
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::study::parse;

    #[test]
    fn what_an_unknown_answer_makes_of_an_item_is_said() {
        let study = |outcome: &str| {
            let text = format!(
                "title = \"t\"\n[[source]]\nsurvey = \"nhanes\"\ncycle = \"2017-2020\"\n[analysis]\n\
                 indices = [\"insulin\"]\noutcomes = [\"{outcome}\"]\n"
            );
            parse(&text, "t.toml", Path::new(".")).expect("a study")
        };
        let counted = study("metabolic_syndrome_harmonized_2009");
        assert!(either(&counted).is_some_and(|said| said.ends_with("the item is unknown.")));
        assert_eq!(either(&study("metabolic_syndrome_atp_iii_2001")), None, "no item asks for an answer");
        let asked = asked(&counted).concat();
        for part in [
            "How “takes medicine for cholesterol” is counted: not asked",
            "refused or not known: unknown.",
            "How “takes insulin or pills to lower blood sugar” is counted: yes to insulin or to pills: yes;",
        ] {
            assert!(asked.contains(part), "{part}: {asked}");
        }
    }
}

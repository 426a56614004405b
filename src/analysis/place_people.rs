//! Whether the study's people include a person: its exclusions, its assay, and what is not known.

use polars::prelude::DataFrame;
use serde::Serialize;

use super::place::{Person, PlaceError, label_of};
use super::place_alone::{FASTING, as_taken, fasted};
use super::place_asked::{TAKES_A_DRUG, is_drugged, no_longer_asked};
use super::place_assay;
use crate::cohort::{Subject, answer};
use crate::definitions::answer::{Answer, Given};
use crate::definitions::survey::survey;
use crate::definitions::{Exclusion, Quantity, columns_read, exclusions, groups};
use crate::study::{Source, Split, Study, Variable};

/// Asked of everybody, whatever the study excludes: with them an index of fasting insulin means something else.
const ALWAYS: [&str; 3] = ["not_fasted_8_to_24_hours", "insulin_treated", "pregnant"];

/// Why an index from measured insulin says nothing of somebody.
pub(super) const TAKES_INSULIN: &str = "the person takes insulin";

/// What an exclusion's label adds for people of whom an answer is not known.
const OR_UNKNOWN: [&str; 2] = [", or age unknown", ", or unknown"];

/// Years from which on somebody is an adult, as the bounds of adults were taken.
pub(super) const ADULT: f64 = 20.0;

/// The question that tells people of Asian ancestry apart, what its label for them holds, and the classes of body mass
/// index for them.
const DETAILED: &str = "ancestry_detailed";
const ASIAN: &str = "Asian";
const LOWER_BMI: &str = "bmi_class_asian";
const BMI: &str = "bmi";

/// How a person stands to the people of a study.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Standing {
    /// Reasons for which the study's people do not include the person.
    pub outside: Vec<String>,
    /// Reasons of which it is not known whether they apply, with the values that would tell.
    pub unknown: Vec<Unknown>,
    /// What else must be known before a number is read.
    pub cautions: Vec<String>,
    /// What was not given although the study has groups by it: the person is not compared within those.
    pub not_grouped: Vec<String>,
    /// That the insulin assay is not stated, and what is known of the study's.
    pub assay_not_stated: Option<String>,
    /// Insulin assays of the study's sources.
    pub assays: Vec<String>,
}

/// Of which date somebody's standing is asked, with the answers of that date laid out.
#[derive(Debug, Clone, Copy)]
pub(super) struct Date<'a> {
    pub row: &'a DataFrame,
    pub second: bool,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Unknown {
    pub reason: String,
    /// Quantities that were not given.
    pub needs: Vec<String>,
}

impl Standing {
    /// Whether percentiles and cutoffs may be given.
    #[must_use]
    pub fn inside(&self) -> bool {
        self.outside.is_empty()
    }
}

/// Puts the study's exclusions and those that always matter to a person.
pub(super) fn standing(
    study: &Study,
    person: &Person,
    subject: &Subject,
    date: Date,
) -> Result<Standing, PlaceError> {
    let row = date.row;
    let fasted = fasted(&person.answers, row)?;
    let assays = place_assay::assays(study);
    let mut standing = Standing { assays, ..Standing::default() };
    let quantity = |answer: &Answer| study.quantities.iter().find(|q| q.name == answer.quantity);
    let doubts = person.answers.iter().filter_map(|answer| answer.doubt(quantity(answer)?));
    standing.cautions.extend(doubts.map(|words| as_taken(&words, fasted).to_owned()));
    let has_factor = |a: &Answer| matches!(a.given, Given::Number { factor: Some(_), .. });
    if person.factor_unknown && person.answers.iter().any(has_factor) {
        standing.cautions.push(
            "insulin factor not known: 6.00 is taken, and percentiles and chances are by it; what the other factor \
             gives stands beside it"
                .to_owned(),
        );
    }
    if takes_insulin(&person.answers) {
        standing.cautions.push(format!(
            "{TAKES_INSULIN}: an index from measured insulin means nothing then, as the person's own and the injected insulin are \
             measured together, and assays differ in which injected ones they see (common practice)"
        ));
    }
    for (exclusion, answer) in study.exclusions.iter().zip(&subject.exclusions) {
        match (fasted, exclusion.label.starts_with(FASTING)) {
            // Who did not fast is outside for that, and has no fasting glucose to be outside for.
            (Some(false), true) => {}
            (None, true) if *answer == Some(true) => standing.outside.push(if_fasting(&exclusion.label)),
            _ => standing.weigh(exclusion, *answer, (study, person)),
        }
    }
    for exclusion in exclusions().iter().filter(|e| ALWAYS.contains(&e.name.as_str())) {
        if study.exclusions.iter().all(|own| own.formula != exclusion.formula) {
            standing.weigh(exclusion, answer(row, exclusion)?, (study, person));
        }
    }
    if standing.inside() && is_drugged(&person.answers) {
        standing.cautions.push(TAKES_A_DRUG.to_owned());
    }
    if let Some(caution) = place_assay::caution(study, person, (&standing.assays, date))? {
        match person.assay {
            None => standing.assay_not_stated = Some(caution),
            Some(_) => standing.cautions.push(caution),
        }
    }
    standing.cautions.extend(of_adults(study, person));
    standing.cautions.extend(lower_limits(study, &person.answers));
    Ok(standing)
}

/// Adds by what a person is not compared, where anything is.
pub(super) fn compare(standing: &mut Standing, study: &Study, (answers, subject): (&[Answer], &Subject)) {
    if standing.inside() {
        let (not_given, in_none) = not_grouped(study, answers, subject);
        standing.not_grouped = not_given;
        standing.cautions.extend(in_none.into_iter().chain(without_groups(study, answers)));
    }
}

/// By what of the study's groups a person is not compared: what was not given, each once however many groupings split
/// by it, and what was answered with something that is in none of the groups.
fn not_grouped(study: &Study, answers: &[Answer], subject: &Subject) -> (Vec<String>, Option<String>) {
    let (mut not_given, mut in_none): (Vec<String>, Vec<String>) = (Vec::new(), Vec::new());
    for (variable, _) in study.variables.iter().zip(&subject.levels).filter(|(_, level)| level.is_none()) {
        let needs = unanswered(&quantities_of(study, &columns_of(variable)), answers);
        // Two classifications of one quantity count once.
        let by = variable.label.split(',').next().unwrap_or_default().to_owned();
        // What is no answer of a person, such as the release of a survey, is nobody's group.
        let of_a_person = !quantities_of(study, &columns_of(variable)).is_empty();
        if of_a_person && needs.is_empty() && !in_none.contains(&by) {
            in_none.push(by);
        }
        for label in needs.iter().map(|name| label_of(study, name)) {
            if !not_given.contains(&label) {
                not_given.push(label);
            }
        }
    }
    let in_none = (!in_none.is_empty()).then(|| {
        format!("in none of the study's groups by {}; not compared within them", in_none.join(", "))
    });
    (not_given, in_none)
}

/// That body mass index is given and none of the study's groups are made by it.
fn without_groups(study: &Study, answers: &[Answer]) -> Option<String> {
    let given = answers.iter().any(|answer| answer.quantity == BMI);
    let by_bmi = |variable: &Variable| quantities_of(study, &columns_of(variable)).iter().any(|q| q == BMI);
    let unused = given && !study.variables.iter().any(by_bmi);
    unused.then(|| {
        "body mass index is given, and the study has no groups by it: nobody is compared within them"
            .to_owned()
    })
}

/// The columns by which a variable splits people.
fn columns_of(variable: &Variable) -> Vec<String> {
    match &variable.split {
        Split::Bands { column, .. } => vec![column.clone()],
        Split::Levels { sql, .. } => columns_read(&variable.name, sql).unwrap_or_default(),
    }
}

/// Remarks on the age, and on what few adults have.
fn of_adults(study: &Study, person: &Person) -> Vec<String> {
    let age = person.answers.iter().find(|answer| answer.quantity == "age");
    let Some(Given::Number { value: age, .. }) = age.map(|answer| &answer.given) else { return Vec::new() };
    let mut remarks = Vec::new();
    let oldest = study.sources.iter().filter_map(oldest).reduce(f64::min);
    if let Some(oldest) = oldest.filter(|oldest| age > oldest) {
        remarks.push(format!(
            "age {age} is above what the survey records: whoever is {oldest} or older counts as {oldest} there"
        ));
    }
    if *age >= ADULT {
        let quantity = |answer: &Answer| study.quantities.iter().find(|q| q.name == answer.quantity);
        let rare = person.answers.iter().filter_map(|answer| answer.doubt_in_adult(quantity(answer)?));
        remarks.extend(rare);
    }
    remarks
}

/// That lower classes of body mass index are in use for people of Asian ancestry, where the study has others alone.
fn lower_limits(study: &Study, answers: &[Answer]) -> Option<String> {
    let asian = |a: &Answer| {
        a.quantity == DETAILED && matches!(&a.given, Given::Label(label) if label.contains(ASIAN))
    };
    let lower = groups().iter().find(|group| group.name == LOWER_BMI)?;
    let by_bmi = |variable: &&Variable| matches!(&variable.split, Split::Bands { column, .. } if lower.column.as_ref() == Some(column));
    let by_bmi: Vec<&Variable> = study.variables.iter().filter(by_bmi).collect();
    let others_alone = !by_bmi.is_empty() && by_bmi.iter().all(|variable| variable.name != lower.name);
    (others_alone && answers.iter().any(asian)).then(|| {
        format!(
            "the study's classes of body mass index are not those for people of Asian ancestry, for whom lower limits are in \
             use ({})",
            lower.source
        )
    })
}

/// The age as which a known survey releases everybody older too.
fn oldest(source: &Source) -> Option<f64> {
    let Source::Survey { survey: name, cycle, .. } = source else { return None };
    Some(survey(name)?.cycle(cycle).ok()?.oldest)
}

impl Standing {
    fn weigh(&mut self, exclusion: &Exclusion, answer: Option<bool>, (study, person): (&Study, &Person)) {
        let needs = || {
            let columns = columns_read(&exclusion.name, &exclusion.formula).unwrap_or_default();
            unanswered(&quantities_of(study, &columns), &person.answers)
        };
        match answer {
            Some(false) => {}
            Some(true) => self.outside.push(known_reason(&exclusion.label).to_owned()),
            None if exclusion.unknown_excludes => self.outside.push(format!(
                "{} (people of whom this is unknown were left out; not given: {})",
                exclusion.label,
                needs().join(", ")
            )),
            None => {
                let needs = needs();
                if !no_longer_asked(&person.answers, &needs) {
                    self.unknown.push(Unknown { reason: exclusion.label.clone(), needs });
                }
            }
        }
    }
}

/// A reason that rests on a fast of which nothing is said.
fn if_fasting(label: &str) -> String {
    format!("{}, if taken fasting", as_taken(known_reason(label), None))
}

/// The label of an exclusion that is known to apply.
fn known_reason(label: &str) -> &str {
    OR_UNKNOWN.iter().find_map(|words| label.strip_suffix(words)).unwrap_or(label)
}

/// Whether somebody is known to take insulin.
pub(super) fn takes_insulin(answers: &[Answer]) -> bool {
    answers.iter().any(|answer| answer.quantity == "insulin_treated" && answer.given == Given::YesNo(true))
}

/// The quantities that fill some columns.
pub(super) fn quantities_of(study: &Study, columns: &[String]) -> Vec<String> {
    let fills = |q: &&Quantity| q.columns().iter().any(|c| columns.contains(c));
    study.quantities.iter().filter(fills).map(|q| q.name.clone()).collect()
}

/// Which of some quantities a person did not answer.
pub(super) fn unanswered(quantities: &[String], answers: &[Answer]) -> Vec<String> {
    let open = quantities.iter().filter(|name| answers.iter().all(|answer| answer.quantity != **name));
    open.cloned().collect()
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::definitions::quantity::quantity;
    use crate::study;

    #[test]
    fn a_reason_that_is_known_speaks_of_nothing_unknown() {
        assert_eq!(known_reason("under 20 years, or age unknown"), "under 20 years");
        assert_eq!(known_reason("pregnant"), "pregnant");
        let raised = "fasting glucose in the diabetes range, or unknown";
        assert_eq!(if_fasting(raised), "glucose in the diabetes range, if taken fasting");
    }

    #[test]
    fn what_is_not_given_is_said_once_and_lower_limits_are_told_of() {
        let pipelines = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let study = study::load(&pipelines.join("nhanes-2017-2020-adults.toml")).expect("a study");
        let levels = vec![None; study.variables.len()];
        let subject = Subject { keys: Vec::new(), levels, exclusions: Vec::new(), references: Vec::new() };
        let read = |name: &str, written: &str| {
            Answer::read(quantity(name).expect("built in"), written, None).expect("readable")
        };
        let sex = [read("sex", "female"), read("age", "47")];
        let (not_given, in_none) = not_grouped(&study, &sex, &subject);
        assert_eq!(
            not_given.iter().filter(|label| label.contains("body mass index")).count(),
            1,
            "{not_given:?}"
        );
        assert!(in_none.is_some_and(|said| said.starts_with("in none of the study's groups by ")));
        // Which release of a survey somebody would have been in is no group of a person.
        let pooled = study::load(&pipelines.join("nhanes-1999-2020-adults.toml")).expect("a study");
        let by_cycle = pooled.variables.iter().position(|v| v.name == "cycle").expect("a grouping by it");
        let mut known = vec![Some(0); pooled.variables.len()];
        known[by_cycle] = None;
        let of_a_cycle = Subject { levels: known, ..subject.clone() };
        assert_eq!(not_grouped(&pooled, &sex, &of_a_cycle), (Vec::new(), None));
        // Where nobody is compared, nothing is missing for it.
        let mut outside = Standing { outside: vec!["pregnant".to_owned()], ..Standing::default() };
        compare(&mut outside, &study, (&sex, &subject));
        assert!(outside.not_grouped.is_empty() && outside.cautions.is_empty());
        let asian = [read("ancestry_detailed", "Non-Hispanic Asian")];
        assert!(lower_limits(&study, &asian).is_some_and(|said| said.contains("Lancet 363:157")));
        assert_eq!(lower_limits(&study, &[read("ancestry_detailed", "Non-Hispanic White")]), None);
        // Adults are grouped by BMI, adolescents are not.
        let young = study::load(&pipelines.join("nhanes-2017-2020-adolescents.toml")).expect("a study");
        let bmi = [read("bmi", "31")];
        assert_eq!(without_groups(&study, &bmi), None);
        assert!(without_groups(&young, &bmi).is_some() && without_groups(&young, &sex).is_none());
    }

    #[test]
    fn an_age_above_the_oldest_and_a_rare_bmi_are_remarked() {
        let pipelines = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let study = study::load(&pipelines.join("nhanes-2017-2020-adults.toml")).expect("a study");
        let said = |age: &str, bmi: &str| {
            let read = |name: &str, written: &str| {
                Answer::read(quantity(name).expect("built in"), written, None).expect("readable")
            };
            let answers = vec![read("age", age), read("bmi", bmi)];
            of_adults(&study, &Person { answers, ..Person::default() }).join("; ")
        };
        assert!(said("90", "25").contains("whoever is 80 or older counts as 80"));
        assert_eq!(said("80", "25"), "");
        assert!(said("47", "62").contains("body mass index 62 kg/m²: unusual in an adult"));
        assert_eq!(said("15", "14"), "", "adults alone");
    }
}

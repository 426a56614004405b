//! What a reader must know of people before any number: how they came, and what was not asked or not said of them.

use super::design::{Design, of_source};
use super::{Source, Study, StudySample, TableSource};
use crate::definitions::Exclusion;
use crate::definitions::survey::survey as known_survey;
use crate::notice::Notice;

/// Questions whose answer moves insulin, glucose or lipids, and how people are called who would be left out by it.
const QUESTIONS: [(&[&str], &str); 4] = [
    (&["pregnant", "pregnant_reported"], "pregnancy"),
    (&["glucose_drug", "diabetes_pills", "insulin_treated"], "drugs for blood sugar"),
    (&["lipid_drug"], "drugs for lipids"),
    (&["blood_pressure_drug"], "drugs for blood pressure"),
];

/// Cautions that stand before all others.
pub(super) fn remarks(study: &Study) -> Vec<Notice> {
    let mut notices = Vec::new();
    for source in &study.sources {
        let Source::Table(table) = source else { continue };
        notices.extend(sampling(source, table));
        notices.extend(unasked(table));
        notices.extend(assay(study, table));
        notices.extend(unknown_exclusions(study, table));
    }
    notices
}

fn sampling(source: &Source, table: &TableSource) -> Option<Notice> {
    match of_source(source) {
        Design::Survey if table.weight.is_some() || table.replicate_weights.is_some() => None,
        Design::Weights => Some(Notice::caution(
            "weights_without_design",
            table.name.as_str(),
            "weights are stated, and no sampling units: intervals take people as drawn one by one, and are too narrow if \
             they were drawn in clusters",
        )),
        // Sites alone make no sample.
        Design::Survey | Design::Convenience => {
            let stated =
                if table.psu.is_some() { "sampling units and no weights" } else { "no weights or design" };
            let message = format!(
                "these people are not a random sample of a population ({stated} are stated): intervals cover chance, not \
                 selection; shares, predictive values and percentiles do not carry over to others"
            );
            Some(Notice::caution("not_a_sample", table.name.as_str(), message))
        }
    }
}

fn unasked(table: &TableSource) -> Option<Notice> {
    let has = |name: &&str| table.columns.iter().any(|column| column.quantity == *name);
    let open = QUESTIONS.iter().filter(|(names, _)| !names.iter().any(&has));
    let open: Vec<&str> = open.map(|(_, what)| *what).collect();
    (!open.is_empty()).then(|| {
        let message = format!(
            "the table says nothing of {}: such people are among those counted, and it moves their values",
            open.join(", ")
        );
        Notice::caution("not_asked", table.name.as_str(), message)
    })
}

fn assay(study: &Study, table: &TableSource) -> Option<Notice> {
    let read = |name: &str| {
        let indices = study.indices.iter().flat_map(|index| &index.ingredients);
        indices
            .chain(study.outcomes.iter().flat_map(|outcome| &outcome.ingredients))
            .any(|other| other == name)
    };
    let insulin = table.columns.iter().find(|column| column.quantity == "insulin")?;
    (insulin.assay.is_none() && read("insulin")).then(|| {
        Notice::caution(
            "assay_unstated",
            table.name.as_str(),
            "the insulin assay is not stated, and a cutoff belongs to its assay: name it with assay = \"…\" in the column",
        )
    })
}

/// Exclusions that nobody in a table can be known to meet.
fn unknown_exclusions(study: &Study, table: &TableSource) -> Vec<Notice> {
    let unknown = study.exclusions.iter().filter(|exclusion| {
        !exclusion.unknown_excludes
            && !missing(study, table, exclusion).is_empty()
            && study.never_known(table, exclusion)
    });
    let notice = |exclusion: &Exclusion| {
        let message = format!(
            "nobody here is left out as “{}”: the table names no column for {}, so the answer is unknown and people stay in",
            exclusion.label,
            missing(study, table, exclusion).join(", ")
        );
        Notice::caution("exclusion_unknown", table.name.as_str(), message)
    };
    unknown.map(notice).collect()
}

/// Quantities that an exclusion reads and a table has no column for.
fn missing<'s>(study: &'s Study, table: &TableSource, exclusion: &Exclusion) -> Vec<&'s str> {
    let read = study.read_by(&exclusion.formula);
    let has = |name: &str| table.columns.iter().any(|column| column.quantity == name);
    read.into_iter().filter(|name| !has(name) && !name.ends_with("_below_detection")).collect()
}

impl Study {
    /// Whether a table has none of what an exclusion asks, sex and age apart.
    #[must_use]
    pub fn never_known(&self, table: &TableSource, exclusion: &Exclusion) -> bool {
        let read = self.read_by(&exclusion.formula);
        let mut asked = read.into_iter().filter(|name| *name != "sex" && *name != "age");
        asked.all(|name| table.columns.iter().all(|column| column.quantity != name))
    }
}

/// A caution where a table's people are taken as public because the study does not say. It stands beside the results and
/// not in them: the study that is saved with them says so.
#[must_use]
pub fn taken_as_public(study: &Study) -> Option<Notice> {
    let silent = |source: &Source| matches!(source, Source::Table(table) if !table.invented);
    let tables = study.sources.iter().any(silent);
    (tables && study.unsaid.public).then(|| {
        Notice::caution(
            "taken_as_public",
            "the study",
            "it does not say whether its people may be shown in small counts, and public = true is taken: write public = false \
             for people's records, or public = true for open data",
        )
    })
}

/// How samples differ besides their people, in cautions of their own.
#[must_use]
pub fn unlike_samples(study: &Study) -> Vec<Notice> {
    if study.samples.len() < 2 {
        return Vec::new();
    }
    let each = |word: &dyn Fn(&Source) -> String| -> Vec<(String, String)> {
        let of = |sample: &StudySample| {
            let mut words: Vec<String> = sample.sources.iter().map(|&at| word(&study.sources[at])).collect();
            words.dedup();
            (sample.label.clone(), words.join(" and "))
        };
        study.samples.iter().map(of).collect()
    };
    let differ = |said: &[(String, String)]| said.windows(2).any(|pair| pair[0].1 != pair[1].1);
    let list = |said: &[(String, String)]| {
        said.iter().map(|(label, word)| format!("{label}: {word}")).collect::<Vec<_>>().join("; ")
    };
    let mut notices = Vec::new();
    let design = each(&|source| match of_source(source) {
        Design::Survey => "weighted, with its design".to_owned(),
        Design::Weights => "weighted, without a design".to_owned(),
        Design::Convenience => "no weights, people as they came".to_owned(),
    });
    if differ(&design) {
        let message = format!("{}. A difference between them may be one of who was drawn", list(&design));
        notices.push(Notice::caution("unlike_samples", "the samples", message));
    }
    let insulin = study.indices.iter().any(|index| index.ingredients.iter().any(|name| name == "insulin"));
    let assays = each(&insulin_in_words);
    if insulin && differ(&assays) {
        let message = format!(
            "insulin was measured or converted in different ways ({}), and cutoffs differ with that",
            list(&assays)
        );
        notices.push(Notice::caution("unlike_assays", "the samples", message));
    }
    notices
}

/// Assay and unit of the insulin of a source.
fn insulin_in_words(source: &Source) -> String {
    match source {
        Source::Survey { survey, cycle, .. } => known_survey(survey)
            .and_then(|known| known.cycle(cycle).ok())
            .map_or_else(String::new, |cycle| cycle.insulin_assay.clone()),
        Source::Table(table) => {
            let Some(insulin) = table.columns.iter().find(|column| column.quantity == "insulin") else {
                return "none".to_owned();
            };
            let assay = insulin.assay.as_deref().unwrap_or("assay not stated");
            let unit = insulin.unit.as_deref().unwrap_or_default();
            let factor = insulin.factor.map_or_else(String::new, |factor| format!(" by {factor}"));
            format!("{assay}, {unit}{factor}")
        }
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::study::{StudyError, explain, parse, resampling_in_words};

    const SURVEY: &str = "[[source]]\nsurvey = \"nhanes\"\ncycle = \"2017-2018\"\nsample = \"us\"\n";
    const CLINIC: &str = "[[source]]\nsurvey = \"table\"\nsample = \"clinic\"\nname = \"clinic\"\nfiles = [\"c.csv\"]\n\
        id = \"id\"\n[source.columns]\nsex = { column = \"sex\" }\nage = { column = \"age\", unit = \"years\" }\n\
        glucose = { column = \"g\", unit = \"mg/dL\" }\ninsulin = { column = \"i\", unit = \"uU/mL\" }\n";

    fn study(sources: &str, cohort: &str) -> Result<Study, StudyError> {
        let text =
            format!("title = \"t\"\n{sources}\n[cohort]\n{cohort}\n[analysis]\nindices = [\"homa_ir\"]\n");
        parse(&text, "s.toml", Path::new("."))
    }

    fn kinds(notices: &[Notice]) -> Vec<&str> {
        notices.iter().map(|notice| notice.kind).collect()
    }

    #[test]
    fn an_exclusion_that_one_sample_cannot_answer_stays_and_is_told() {
        let both = format!("{SURVEY}{CLINIC}");
        let study =
            study(&both, "exclude = [\"pregnant\"]").expect("pregnant women of the survey are left out");
        let told: Vec<Notice> =
            remarks(&study).into_iter().filter(|n| n.kind == "exclusion_unknown").collect();
        assert_eq!(told.len(), 1, "{told:?}");
        assert_eq!(told[0].about, "clinic");
        assert!(told[0].message.contains("no column for pregnant") && told[0].message.contains("stay in"));
        assert_eq!(kinds(&unlike_samples(&study)), ["unlike_samples", "unlike_assays"]);
        for refused in [(CLINIC, "exclude = [\"pregnant\"]"), (both.as_str(), "require = [\"pregnant\"]")] {
            let error =
                self::study(refused.0, refused.1).expect_err("nobody would be left, or left out").to_string();
            assert!(error.contains("reads pregnant"), "{error}");
        }
    }

    #[test]
    fn a_table_whose_study_is_silent_is_taken_as_public_with_a_caution() {
        let said = |text: &str| {
            let study = parse(text, "s.toml", Path::new(".")).expect("a study");
            assert!(study.resolved_toml.contains("public = "), "the saved study says it");
            let saved = parse(&study.resolved_toml, "s.toml", Path::new(".")).expect("the saved study");
            assert_eq!((taken_as_public(&saved), saved.public), (None, study.public));
            assert_eq!(explain(&study).contains("public = true is taken"), taken_as_public(&study).is_some());
            taken_as_public(&study).is_some()
        };
        let of = |lead: &str, sources: &str| {
            format!("title = \"t\"\n{lead}\n{sources}\n[analysis]\nindices = [\"homa_ir\"]\n")
        };
        let clinic = CLINIC.replace("sample = \"clinic\"\n", "");
        assert!(said(&of("", &clinic)));
        assert!(!said(&of("public = true", &clinic)) && !said(&of("public = false", &clinic)));
        assert!(!said(&of("", &clinic.replace("name = \"clinic\"", "name = \"clinic (invented)\""))));
        assert!(!said(&of("", &SURVEY.replace("sample = \"us\"\n", ""))), "official files are open");
    }

    #[test]
    fn what_is_said_follows_what_is_known_of_the_design() {
        let alone = CLINIC.replace("sample = \"clinic\"\n", "");
        let of = |keys: &str| {
            study(&alone.replace("id = \"id\"", &format!("id = \"id\"\n{keys}")), "").expect("a study")
        };
        for (keys, design, units, kind) in [
            ("", Design::Convenience, "bootstrap of people", Some("not_a_sample")),
            ("weight = \"w\"", Design::Weights, "bootstrap of people", Some("weights_without_design")),
            ("weight = \"w\"\npsu = \"p\"", Design::Survey, "bootstrap of PSUs", None),
            ("psu = \"p\"", Design::Survey, "bootstrap of PSUs", Some("not_a_sample")),
        ] {
            let study = of(keys);
            assert_eq!(study.design(), design, "{keys}");
            assert!(resampling_in_words(&study.resampling).starts_with(units), "{keys}");
            let remarks = remarks(&study);
            let sampling: Vec<&str> = kinds(&remarks)
                .into_iter()
                .filter(|kind| !matches!(*kind, "assay_unstated" | "not_asked"))
                .collect();
            assert_eq!(sampling, kind.into_iter().collect::<Vec<_>>(), "{keys}");
            assert_eq!(explain(&study).contains("positive weight"), design != Design::Convenience);
            assert_eq!(explain(&study).contains("single PSU"), design == Design::Survey);
        }
        let assay = study(&alone.replace("unit = \"uU/mL\"", "unit = \"uU/mL\", assay = \"ours\""), "")
            .expect("a study");
        assert!(!kinds(&remarks(&assay)).contains(&"assay_unstated"));
        assert!(kinds(&remarks(&of(""))).contains(&"assay_unstated"));
    }
}

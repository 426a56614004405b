//! Where the data come from and who took part, in sentences.

use crate::definitions::Exclusion;
use crate::study::provenance::insulin_assays;
use crate::study::{Source, TableSource};
use crate::table::number::{significant, whole};
use crate::table::schema::{EACH_INDEX, JOINED};
use crate::table::{Row, Table};

use super::made_up;
use super::methods::{MethodsInput, filled, listed};
use super::methods_notices::{self, FASTING, PREGNANCY};
use super::methods_results;

/// Where the data come from.
pub(super) fn source(input: &MethodsInput<'_>) -> Vec<String> {
    let mut sentences: Vec<String> = made_up::in_methods(&input.study.invented()).into_iter().collect();
    sentences.push(format!("The data are {}.", listed(&named(&input.study.sources))));
    let names: Vec<&str> = input.study.samples.iter().map(|sample| sample.label.as_str()).collect();
    if names.len() > 1 {
        sentences.push(format!(
            "They are {} samples that were analysed apart: {}.",
            names.len(),
            listed(&names)
        ));
    } else if input.study.sources.len() > 1 {
        sentences.push(pooled(input));
    }
    sentences.extend(insulin_assays(input.study).map(|assay| format!("The insulin assay is {assay}.")));
    sentences.extend(methods_notices::said(input.tables, FASTING));
    sentences
}

/// The tables, and each survey once with all its cycles.
fn named(sources: &[Source]) -> Vec<String> {
    let mut cycles: Vec<(&str, Vec<&str>)> = Vec::new();
    let mut tables = Vec::new();
    for source in sources {
        match source {
            Source::Survey { survey, cycle, .. } => {
                match cycles.iter_mut().find(|(known, _)| *known == survey.as_str()) {
                    Some((_, list)) => list.push(cycle),
                    None => cycles.push((survey, vec![cycle])),
                }
            }
            Source::Table(table) => tables.push(format!("the table “{}” ({})", table.name, files(table))),
        }
    }
    let survey = |(name, cycles): &(&str, Vec<&str>)| {
        let noun = if cycles.len() == 1 { "release" } else { "releases" };
        format!("the files of {}, {noun} {}", in_full(name), listed(cycles))
    };
    cycles.iter().map(survey).chain(tables).collect()
}

/// A survey by its whole name.
fn in_full(survey: &str) -> String {
    match survey {
        "nhanes" => {
            "the National Health and Nutrition Examination Survey (NHANES) of the United States".to_owned()
        }
        other => other.to_uppercase(),
    }
}

fn files(table: &TableSource) -> String {
    let name = |file: &std::path::PathBuf| {
        file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
    };
    listed(&table.files.iter().map(name).collect::<Vec<_>>())
}

fn pooled(input: &MethodsInput<'_>) -> String {
    let share = |source: &Source| {
        significant(
            match source {
                Source::Survey { weight_share, .. } => *weight_share,
                Source::Table(table) => table.weight_share,
            },
            4,
        )
    };
    let shares: Vec<String> = input.study.sources.iter().map(share).collect();
    format!("They were pooled, with their weights multiplied by {}, in that order.", listed(&shares))
}

/// Who took part: counts at each exclusion, as they stand in the table of the participant flow.
pub(super) fn participants(input: &MethodsInput<'_>) -> Vec<String> {
    let mut sentences = flow(input.tables);
    sentences.extend(unanswered(&input.study.exclusions));
    sentences.extend(methods_notices::said(input.tables, PREGNANCY));
    sentences
}

/// What an unknown answer to an exclusion does.
fn unanswered(exclusions: &[Exclusion]) -> Option<String> {
    let strict = exclusions.iter().filter(|exclusion| exclusion.unknown_excludes);
    let strict: Vec<String> = strict.map(|exclusion| format!("“{}”", exclusion.label)).collect();
    match strict.as_slice() {
        _ if exclusions.is_empty() => None,
        [] => Some("An unknown answer to an exclusion leaves nobody out.".to_owned()),
        strict if strict.len() == exclusions.len() => {
            Some("An unknown answer to an exclusion leaves out too.".to_owned())
        }
        strict => Some(format!(
            "An unknown answer to an exclusion leaves nobody out, except to {}.",
            listed(strict)
        )),
    }
}

fn flow(tables: &[Table]) -> Vec<String> {
    let Some(table) = filled(tables, "participant_flow") else { return Vec::new() };
    let mut flow = Flow { cohort: cohort(tables), ..Flow::default() };
    for row in table.iter() {
        let (source, step) = (row.text("source"), row.text("step"));
        match (row.whole("people"), row.whole("left_out")) {
            (Some(people), Some(left_out)) => flow.step((source, step), people, left_out),
            (people, _) => flow.withheld((source, step), people, row.text("withheld")),
        }
    }
    flow.end();
    flow.sentences
}

/// Sentences of a flow as its steps come.
#[derive(Debug, Default)]
struct Flow {
    sentences: Vec<String>,
    left_out: Vec<String>,
    /// Steps that left out nobody.
    idle: Vec<String>,
    /// Indices by the number of people who have them.
    with: Vec<(i64, Vec<String>)>,
    /// How many are left, where that may be told.
    left: Option<i64>,
    /// How many the cohort has, where the last step does not tell.
    cohort: Option<i64>,
}

/// People of a lone sample's cohort, as the table of who is in it counts them.
fn cohort(tables: &[Table]) -> Option<i64> {
    let sample = filled(tables, "sample")?;
    let rows: Vec<Row<'_>> = sample.iter().filter(|row| row.text("population") == "cohort").collect();
    let lone = rows.iter().all(|row| row.text("survey") == rows[0].text("survey"));
    methods_results::cohort(&rows).filter(|_| lone)
}

impl Flow {
    fn step(&mut self, (source, step): (&str, &str), people: i64, left_out: i64) {
        let (sample, source) = source.rsplit_once(": ").unwrap_or(("", source));
        let whose = if sample.is_empty() { String::new() } else { format!("{sample}: ") };
        if source == EACH_INDEX {
            self.leave();
            let index = step.trim_start_matches("with ").to_owned();
            match self.with.iter_mut().find(|(known, _)| *known == people) {
                Some((_, indices)) => indices.push(index),
                None => self.with.push((people, vec![index])),
            }
        } else if source != JOINED {
            self.end();
            let (rows, read) = if people == 1 { ("person", "is") } else { ("people", "are") };
            self.sentences.push(format!("{} {rows} {read} {step} ({source}).", whole(people)));
        } else if let Some(reason) = step.strip_prefix("after leaving out: ") {
            self.left = Some(people);
            if left_out == 0 {
                self.idle.push(format!("“{reason}”"));
            } else {
                self.left_out.push(format!("{} ({reason})", whole(left_out)));
            }
        } else {
            self.end();
            self.left = Some(people);
            self.sentences.push(match step.strip_prefix("with ") {
                Some(what) => format!("{whose}{} have {what}.", whole(people)),
                None => format!("{whose}{} {step}.", whole(people)),
            });
        }
    }

    /// A step one of whose counts may not be printed.
    fn withheld(&mut self, (source, step): (&str, &str), people: Option<i64>, why: &str) {
        let source = source.rsplit_once(": ").map_or(source, |(_, source)| source);
        let reason = step.strip_prefix("after leaving out: ");
        match (reason, people) {
            (Some(reason), people) if source == JOINED => {
                self.left = people;
                self.left_out.push(format!("a number that is withheld ({reason}; {why})"));
            }
            (_, Some(people)) => self.step((source, step), people, 0),
            _ => {}
        }
    }

    /// Ends the exclusions.
    fn leave(&mut self) {
        if !self.left_out.is_empty() {
            let leaves = self.left.or(self.cohort);
            self.sentences.push(format!(
                "Left out, in this order and each counted once, were {}{}.",
                listed(&self.left_out),
                leaves.map_or_else(String::new, |people| format!(", which leaves {}", whole(people)))
            ));
        }
        if !self.idle.is_empty() {
            let steps = if self.idle.len() == 1 { "step" } else { "steps" };
            let more = if self.left_out.is_empty() { "" } else { " more" };
            self.sentences.push(format!("Nobody{more} was left out by the {steps} {}.", listed(&self.idle)));
        }
        self.left_out.clear();
        self.idle.clear();
    }

    /// Ends the people with each index.
    fn end(&mut self) {
        self.leave();
        if !self.with.is_empty() {
            let each: Vec<String> = self
                .with
                .iter()
                .map(|(people, indices)| format!("{} had values of {}", whole(*people), listed(indices)))
                .collect();
            self.sentences.push(format!("Of these, {}.", each.join("; ")));
            self.with.clear();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    /// The last step is withheld; women and men of the cohort are 180 and 205.
    #[test]
    fn what_is_left_is_the_cohort_and_not_the_step_before_a_withheld_one() {
        let [mut steps, mut sample] =
            ["participant_flow", "sample"].map(|name| Table::new(schema::shape(name).expect(name)));
        for (step, people, why) in [
            ("with a positive weight", Some(390), ""),
            ("after leaving out: pregnant", None, "fewer than 10 people left out"),
        ] {
            let row = steps.row().text("source", JOINED).text("step", step).whole("people", people);
            row.whole("left_out", people.map(|_| 20)).text("withheld", why).done().expect("a row");
        }
        for (variable, level, n) in [
            ("bmi", "low", None),
            ("bmi", "high", Some(300)),
            ("sex", "a", Some(180)),
            ("sex", "b", Some(205)),
        ] {
            let row = sample.row().text("population", "cohort").text("variable", variable);
            row.text("level", level).text("unit", "%").whole("n", n).done().expect("a row");
        }
        let left = "Left out, in this order and each counted once, were a number that is withheld (pregnant; fewer than 10 \
                    people left out)";
        assert_eq!(
            flow(&[steps.clone(), sample]),
            ["390 have a positive weight.".to_owned(), format!("{left}, which leaves 385.")]
        );
        assert_eq!(flow(&[steps])[1], format!("{left}."));
    }
    #[test]
    fn a_step_that_left_out_nobody_is_not_among_those_left_out() {
        let mut steps = Table::new(schema::shape("participant_flow").expect("a table"));
        for (step, people, left_out) in [
            ("with a positive weight", 390, 0),
            ("after leaving out: pregnant", 370, 20),
            ("after leaving out: takes insulin", 370, 0),
            ("after leaving out: told by a doctor of diabetes", 340, 30),
        ] {
            let row = steps.row().text("source", JOINED).text("step", step).whole("people", Some(people));
            row.whole("left_out", Some(left_out)).done().expect("a row");
        }
        let said = flow(&[steps]);
        assert_eq!(
            said[1..],
            [
                "Left out, in this order and each counted once, were 20 (pregnant) and 30 (told by a doctor of diabetes), which \
                 leaves 340.",
                "Nobody more was left out by the step “takes insulin”."
            ]
        );
    }
}

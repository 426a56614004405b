//! Intervals, what is withheld, and the software, in sentences.

use crate::analysis::{self, comparisons_made};
use crate::study::{Stated, Withhold, cutoffs_by_replicates};
use crate::table::digest::sha256;
use crate::table::number::{significant, whole};
use crate::table::{Row, Table, small};

use super::interval_words::{interval_in_paper, interval_of};
use super::methods::{MethodsInput, filled, listed};
use super::sentence::capital;

/// A kind of interval, what it is of, and in which samples.
struct Kind<'a> {
    name: &'a str,
    of: Vec<&'static str>,
    surveys: Vec<&'a str>,
}

impl Kind<'_> {
    /// Where samples have the same by another kind, those of this one are named.
    fn words(&self, all: &[Self]) -> String {
        let rivals =
            |other: &&Self| other.name != self.name && other.of.iter().any(|of| self.of.contains(of));
        let elsewhere = |other: &Self| {
            [self, other].iter().all(|kind| !kind.surveys.is_empty()) && other.surveys != self.surveys
        };
        let whose = if all.iter().filter(rivals).any(elsewhere) {
            format!(" in {}", listed(&self.surveys))
        } else {
            String::new()
        };
        format!("{}{whose}: {}", listed(&self.of), interval_in_paper(self.name))
    }
}

fn kinds(tables: &[Table]) -> Vec<Kind<'_>> {
    let mut kinds: Vec<Kind<'_>> = Vec::new();
    for row in tables.iter().flat_map(Table::iter) {
        let Some(name) = row.printed_interval() else { continue };
        let position = kinds.iter().position(|known| known.name == name).unwrap_or_else(|| {
            kinds.push(Kind { name, of: Vec::new(), surveys: Vec::new() });
            kinds.len() - 1
        });
        let kind = &mut kinds[position];
        let of = interval_of(name, &row);
        if !kind.of.contains(&of) {
            kind.of.push(of);
        }
        let survey = if row.has("survey") { row.text("survey") } else { "" };
        if !survey.is_empty() && !kind.surveys.contains(&survey) {
            kind.surveys.push(survey);
        }
    }
    kinds
}

/// The kinds of intervals that are printed, each with what it is of, and why cutoffs have none.
pub(super) fn intervals(input: &MethodsInput<'_>) -> Vec<String> {
    let kinds = kinds(input.tables);
    let mut sentences = Vec::new();
    if !kinds.is_empty() {
        let list: Vec<String> = kinds.iter().map(|kind| kind.words(&kinds)).collect();
        let percent = significant(input.study.confidence * 100.0, 6);
        sentences.push(format!(
            "Intervals are {percent} % intervals unless another share is named. {}.",
            capital(&list.join("; "))
        ));
    }
    let cutoffs = filled(input.tables, "cutoffs").into_iter().flat_map(Table::iter);
    let cutoffs: Vec<Row<'_>> = cutoffs.filter(|row| row.shown("cutoff").is_some()).collect();
    let which =
        if cutoffs.iter().any(|row| row.printed_interval().is_some()) { "Some cutoffs" } else { "Cutoffs" };
    let lacking = cutoffs.iter().find_map(Row::why_no_interval);
    sentences.extend(lacking.map(|why| format!("{which} as counted have no interval: {why}.")));
    sentences
}

/// What is withheld by rule, and what was done about many comparisons.
pub(super) fn reliability(input: &MethodsInput<'_>) -> Vec<String> {
    let study = input.study;
    let done = match study.withhold {
        Withhold::Withhold => "withheld, with the reason",
        Withhold::Flag => "printed and flagged",
    };
    let rules: Vec<String> = analysis::reliability(study)
        .into_iter()
        .filter(|(table, _)| filled(input.tables, table).is_some())
        .map(|(_, rule)| rule)
        .collect();
    let mut sentences = Vec::new();
    if !rules.is_empty() {
        sentences.push(format!("Estimates too unsure to print are {done}: {}.", rules.join("; ")));
    }
    if let Some(limit) = study.fewest_shown() {
        sentences.push(format!(
            "Counts of fewer than {limit} people are left out, and with them shares that stand for so few, counts of the same \
             table from which they could be worked out by subtracting, and every estimate about people whose count is left \
             out. Of the rest, {}.",
            small::rounding(limit)
        ));
    }
    let made = filled(input.tables, "cutoff_differences").map_or(0, comparisons_made);
    if made > 0 {
        sentences.push(format!(
            "{} cutoffs of groups, by all rules, are set beside everybody’s without adjustment for their number.",
            whole(made as i64)
        ));
    }
    if filled(input.tables, "cutoffs").is_some() {
        sentences.extend(cutoffs_by_replicates(input.study.resampling.kind).map(str::to_owned));
    }
    sentences.extend(adjusted(input));
    let added = input.tables.iter().filter(|table| table.position("stated").is_some()).flat_map(Table::iter);
    if added.into_iter().any(|row| row.text("stated") == stated_by_tool()) {
        sentences.push(
            "Estimates that nobody asked for beforehand, but the program added, are marked so in the tables (column \
             “stated”)."
                .to_owned(),
        );
    }
    sentences
}

/// Which p values are adjusted for their number.
fn adjusted(input: &MethodsInput<'_>) -> Option<String> {
    let has = |table: &&Table| {
        table.position("p_holm").is_some() && table.iter().any(|row| row.real("p_holm").is_some())
    };
    let holm: Vec<(&str, &str)> = input.tables.iter().filter(has).map(|table| compared(table.name)).collect();
    let named: Vec<&str> = holm.iter().map(|(what, _)| *what).collect();
    let families: Vec<String> = holm.iter().map(|(what, family)| format!("{what}, {family}")).collect();
    (!holm.is_empty()).then(|| {
        format!(
            "P values of {} are adjusted by Holm’s method (Holm 1979, Scand J Stat 6:65–70), each within its family: {}. “More \
             than noise” stands for a p by Holm below {}.",
            listed(&named),
            families.join("; "),
            significant(1.0 - input.study.confidence, 2)
        )
    })
}

/// What the p values of a table compare, and which of them are one family.
fn compared(table: &str) -> (&str, &str) {
    match table {
        "heterogeneity" => (
            "tests whether groups differ",
            "all of the study by one method, where indices that order people alike count once",
        ),
        "cutoff_pairs" => (
            "pairs of groups",
            "those of one index, outcome, grouping and method, where those with everybody are a family of their own",
        ),
        "index_comparison" => {
            ("pairs of indices", "those of one outcome and group, without pairs that order people alike")
        }
        other => (other, "those of the table"),
    }
}

fn stated_by_tool() -> &'static str {
    match Stated::Tool {
        Stated::Tool => "tool",
        Stated::Study => "study",
    }
}

/// Program, seed, study and files.
pub(super) fn software(input: &MethodsInput<'_>) -> Vec<String> {
    let files: Vec<String> = input
        .inputs
        .iter()
        .map(|file| format!("{} ({} rows, SHA-256 {})", file.path, whole(file.rows as i64), file.sha256))
        .collect();
    vec![
        format!(
            "Computed with cutspan {}, seed {}, from a study whose resolved file has the SHA-256 {}.",
            input.version,
            input.study.resampling.seed,
            sha256(input.study.resolved_toml.as_bytes())
        ),
        format!("Files read: {}.", files.join("; ")),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    /// The kinds of areas of samples, each by its own.
    fn said(samples: &[(&str, &str)]) -> Vec<String> {
        let mut areas = Table::new(schema::shape("auc").expect("a table"));
        for (survey, kind) in samples {
            let row = areas.row().text("survey", *survey).text("interval", *kind).real("auc", Some(0.8));
            row.real("lower", Some(0.7)).real("upper", Some(0.9)).done().expect("a row");
        }
        let tables = [areas];
        let kinds = kinds(&tables);
        kinds.iter().map(|kind| kind.words(&kinds)).collect()
    }

    #[test]
    fn a_kind_of_some_samples_names_them() {
        let both = said(&[("one", "replicates_t_logit"), ("two", "delong_t_logit")]);
        assert!(both[0].starts_with("areas under the ROC curve in one: t intervals"), "{both:?}");
        assert!(both[1].starts_with("areas under the ROC curve in two: t intervals"), "{both:?}");
        let alike = said(&[("one", "delong_t_logit"), ("two", "delong_t_logit")]);
        assert!(alike[0].starts_with("areas under the ROC curve: t intervals"), "{alike:?}");
    }
}

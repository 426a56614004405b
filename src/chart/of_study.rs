//! What a study calls its indices, outcomes, groups and rules.

use std::collections::{BTreeMap, BTreeSet};

use super::labels::{Confidence, DesignWords, IndexLabel, Labels};
use super::print::Print;
use crate::definitions::Direction;
use crate::definitions::answer::unit_in_print;
use crate::study::{Design, Split, Study, shared_ingredients};

/// Ways to a cutoff that are no rules.
const METHODS: [(&str, &str); 4] = [
    ("empirical_youden", "as counted"),
    ("kernel_smoothed_youden", "smoothed"),
    ("binormal_box_cox", "two normals"),
    ("mixture_crossing", "where two distributions part, unweighted"),
];

/// The words of a design.
#[must_use]
pub fn design_words(design: Design) -> DesignWords {
    DesignWords {
        is_sample: design != Design::Convenience,
        weighted: design.weighted(),
        intervals: design.intervals(),
        drawn: design.drawn(),
        many: design.many(),
        worth: design.worth(),
    }
}

/// Labels of a study; `survey` is what its sources together are called.
#[must_use]
pub fn labels(study: &Study, survey: &str) -> Labels {
    let index = |i: &crate::study::StudyIndex| {
        let label = IndexLabel {
            label: i.row.label.clone(),
            unit: unit_in_print(&i.row.unit),
            lower_is_resistant: i.row.direction == Direction::Lower,
        };
        (i.row.name.clone(), label)
    };
    let grouping = |variables: &Vec<usize>| {
        let join = |f: fn(&crate::study::Variable) -> &str| {
            variables.iter().map(|&v| f(&study.variables[v])).collect::<Vec<_>>().join(" × ")
        };
        (join(|v| &v.name), join(|v| &v.label))
    };
    let single = |variables: &&Vec<usize>| variables.len() == 1;
    Labels {
        survey: survey.to_owned(),
        design: design_words(study.design()),
        confidence: Confidence::of(study.confidence),
        fewest_shown: study.fewest_shown(),
        weights_are_people: study.weights_are_people(),
        indices: study.indices.iter().map(index).collect(),
        outcomes: outcomes(study),
        counted_parts: counted_parts(study),
        groupings: study
            .groupings
            .iter()
            .map(grouping)
            .chain(study.variables.iter().map(|v| (v.name.clone(), v.label.clone())))
            .collect(),
        populations: study.references.iter().map(|r| (r.name.clone(), r.label.clone())).collect(),
        rules: study
            .rules
            .iter()
            .map(|r| (r.name.clone(), r.label.clone()))
            .chain(METHODS.map(|(name, label)| (name.to_owned(), label.to_owned())))
            .collect(),
        levels: study
            .groupings
            .iter()
            .filter(single)
            .map(|g| (study.variables[g[0]].name.clone(), levels(&study.variables[g[0]].split)))
            .collect(),
    }
}

/// The size at which a study prints its charts.
#[must_use]
pub fn print(study: &Study) -> Print {
    Print { width_mm: study.output.width_mm, pixels_per_inch: study.output.dpi }
}

/// Outcomes, those of other choices, and the items they count.
fn outcomes(study: &Study) -> BTreeMap<String, String> {
    let items = study.every_outcome().flat_map(|o| &o.items).map(|i| (i.name.clone(), i.label.clone()));
    items.chain(study.every_outcome().map(|o| (o.row.name.clone(), o.row.label.clone()))).collect()
}

/// Of every index the outcomes, those of other choices among them, that count a part of it.
fn counted_parts(study: &Study) -> BTreeSet<(String, String)> {
    let pairs =
        study.indices.iter().flat_map(|index| study.every_outcome().map(move |outcome| (index, outcome)));
    pairs
        .filter(|(index, outcome)| !shared_ingredients(index, outcome).is_empty())
        .map(|(index, outcome)| (index.row.name.clone(), outcome.row.name.clone()))
        .collect()
}

fn levels(split: &Split) -> Vec<String> {
    match split {
        Split::Bands { labels, .. } => labels.clone(),
        Split::Levels { levels, .. } => levels.clone(),
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::study::parse;

    #[test]
    fn an_outcome_that_counts_a_part_of_an_index_is_known_to() {
        let text = "title = \"t\"\n[[source]]\nsurvey = \"nhanes\"\ncycle = \"2017-2020\"\n[analysis]\n\
            indices = [\"tg_hdl\", \"insulin\"]\noutcomes = [\"metabolic_syndrome_harmonized_2009\"]\n";
        let study = parse(text, "t.toml", Path::new(".")).expect("a study");
        let labels = labels(&study, "");
        let said = |index: &str| labels.built_in(index, "metabolic_syndrome_harmonized_2009");
        assert!(said("tg_hdl").starts_with(" The outcome counts a part of "), "{}", said("tg_hdl"));
        assert_eq!(said("insulin"), "");
    }
}

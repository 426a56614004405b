//! Outcomes that count a part of an index, as the paper text says it of any number of indices.

use crate::chart::Labels;
use crate::study::{Study, StudyOutcome, shared_ingredients};
use crate::table::Table;

use super::methods::{filled, listed};

/// A limit: the agreement of these is in part by construction.
pub(super) fn limit(study: &Study, labels: &Labels) -> Option<String> {
    let outcomes: Vec<String> = study
        .outcomes
        .iter()
        .filter(|outcome| !indices(study, outcome).is_empty())
        .map(|outcome| format!("“{}”", labels.outcome(&outcome.row.name)))
        .collect();
    let (noun, verb) =
        if outcomes.len() == 1 { ("The outcome", "counts") } else { ("The outcomes", "count") };
    let part = match &study.indices[..] {
        [only] => format!("a part of {}", labels.index_label(&only.row.name)),
        _ => "a part of some indices".to_owned(),
    };
    (!outcomes.is_empty()).then(|| {
        format!("{noun} {} {verb} {part}, so that they agree in part by construction.", listed(&outcomes))
    })
}

/// A result beside areas and cutoffs, for each outcome by which no indices are compared: there the comparison says it.
pub(super) fn results(study: &Study, tables: &[Table], labels: &Labels) -> Vec<String> {
    let judged = |outcome: &&StudyOutcome| {
        let mut areas = filled(tables, "auc").into_iter().flat_map(Table::iter);
        areas.any(|row| row.text("outcome") == outcome.row.name) && !compared(tables, &outcome.row.name)
    };
    let one = |outcome: &StudyOutcome| {
        let indices = indices(study, outcome);
        (!indices.is_empty()).then(|| {
            let indices: Vec<&str> = indices.iter().map(|name| labels.index_label(name)).collect();
            format!(
                "The outcome “{}” counts a part of {}: their agreement is partly built in.",
                labels.outcome(&outcome.row.name),
                listed(&indices)
            )
        })
    };
    study.outcomes.iter().filter(judged).filter_map(one).collect()
}

/// A caution for each outcome that counts a part of an index with which it is compared.
pub(super) fn cautions(tables: &[Table], labels: &Labels) -> Vec<String> {
    let mut found: Vec<(&str, Vec<&str>)> = Vec::new();
    for row in filled(tables, "auc").into_iter().flat_map(Table::iter) {
        let (index, outcome) = (row.text("index"), row.text("outcome"));
        if !labels.counts_part_of(index, outcome) {
            continue;
        }
        let label = labels.index_label(index);
        match found.iter_mut().find(|(known, _)| *known == outcome) {
            Some((_, indices)) if indices.contains(&label) => {}
            Some((_, indices)) => indices.push(label),
            None => found.push((outcome, vec![label])),
        }
    }
    let one = |(outcome, indices): &(&str, Vec<&str>)| {
        format!(
            "The outcome “{}” counts a part of {}, or treatment for it: their agreement is partly built in.",
            labels.outcome(outcome),
            listed(indices)
        )
    };
    found.iter().map(one).collect()
}

/// The indices of which an outcome counts a part.
fn indices<'s>(study: &'s Study, outcome: &StudyOutcome) -> Vec<&'s str> {
    let shares = study.indices.iter().filter(|index| !shared_ingredients(index, outcome).is_empty());
    shares.map(|index| index.row.name.as_str()).collect()
}

/// Whether the results say of an outcome which of several indices separates best.
fn compared(tables: &[Table], outcome: &str) -> bool {
    let mut rows = filled(tables, "which_index").into_iter().flat_map(Table::iter);
    rows.any(|row| {
        row.text("grouping") == "everybody"
            && row.text("outcome") == outcome
            && row.shown("auc").is_some()
            && row.whole("compared") > Some(1)
    })
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::chart;
    use crate::study::parse;
    use crate::table::schema;

    const OUTCOME: &str = "metabolic_syndrome_harmonized_2009";

    fn study(indices: &str) -> Study {
        let text = format!(
            "title = \"t\"\n[[source]]\nsurvey = \"nhanes\"\ncycle = \"2017-2020\"\n[analysis]\nindices = [{indices}]\n\
             outcomes = [\"{OUTCOME}\"]\n"
        );
        parse(&text, "t.toml", Path::new(".")).expect("a study")
    }

    fn open(name: &str) -> Table {
        Table::new(schema::shape(name).expect("a table"))
    }

    fn areas() -> Table {
        let mut table = open("auc");
        table.row().text("outcome", OUTCOME).done().expect("a row");
        table
    }

    #[test]
    fn a_shared_ingredient_is_a_result_and_a_limit_with_one_index_as_with_several() {
        for (indices, named, part) in [
            ("\"homa_ir\"", "a part of HOMA-IR:", "a part of HOMA-IR,"),
            ("\"tyg\"", "a part of TyG:", "a part of TyG,"),
            ("\"homa_ir\", \"tyg\"", "a part of HOMA-IR and TyG:", "a part of some indices,"),
        ] {
            let study = study(indices);
            let labels = chart::labels(&study, "");
            let said = results(&study, &[areas()], &labels);
            assert!(said.len() == 1 && said[0].contains(named), "{said:?}");
            let said = limit(&study, &labels).unwrap_or_default();
            assert!(said.contains(part) && said.contains("by construction"), "{said}");
        }
    }

    #[test]
    fn the_page_cautions_of_each_outcome_once() {
        let study = study("\"tg_hdl\", \"insulin\"");
        let labels = chart::labels(&study, "");
        let mut table = open("auc");
        for index in ["tg_hdl", "tg_hdl", "insulin"] {
            table.row().text("index", index).text("outcome", OUTCOME).done().expect("a row");
        }
        let said = cautions(&[table], &labels);
        assert_eq!(said.len(), 1, "{said:?}");
        assert!(said[0].contains("counts a part of") && said[0].contains("partly built in"), "{said:?}");
        assert!(!said[0].contains("insulin"), "{said:?}");
    }

    #[test]
    fn nothing_is_said_of_what_shares_nothing_or_twice() {
        let alone = study("\"insulin\"");
        let labels = chart::labels(&alone, "");
        assert_eq!((results(&alone, &[areas()], &labels), limit(&alone, &labels)), (Vec::new(), None));
        let several = study("\"homa_ir\", \"tyg\"");
        let mut which = open("which_index");
        let row = which.row().text("grouping", "everybody").text("outcome", OUTCOME);
        row.real("auc", Some(0.8)).whole("compared", Some(2)).done().expect("a row");
        assert_eq!(results(&several, &[areas(), which], &labels), [""; 0], "the comparison says it");
        assert_eq!(results(&several, &[], &labels), [""; 0], "nothing is judged");
    }
}

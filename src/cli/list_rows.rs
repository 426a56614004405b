//! The registries as lists of text cells.

use super::list::RowKind;
use super::list_assays::assay_rows;
use super::list_methods;
use super::list_published::published_rows;
use crate::definitions::quantity::quantities;
use crate::definitions::survey::{SURVEYS, survey};
use crate::definitions::{
    ColumnKind, Direction, Exclusion, GroupVariable, Outcome, Quantity, Standing, Subsample, exclusions,
    groups, indices, outcomes, waist_tables,
};
use crate::stats::rule::RULES;
use crate::study::NEGATED;

/// Rows to print. The first `in_text` columns make the table on a terminal.
#[derive(Debug)]
pub struct Listing {
    pub columns: &'static [&'static str],
    pub in_text: usize,
    pub rows: Vec<Vec<String>>,
    pub note: &'static str,
}

/// All rows of one registry.
pub fn listing(kind: RowKind) -> Listing {
    match kind {
        RowKind::Indices => index_rows(),
        RowKind::Outcomes => outcome_rows(),
        RowKind::Exclusions => exclusion_rows(),
        RowKind::Groups => group_rows(),
        RowKind::Rules => rule_rows(),
        RowKind::WaistTables => waist_rows(),
        RowKind::Published => published_rows(None),
        RowKind::Quantities => quantity_rows(),
        RowKind::Surveys => survey_rows(),
        RowKind::Standards => list_methods::standard_rows(),
        RowKind::Methods => list_methods::method_rows(),
        RowKind::Assays => assay_rows(),
    }
}

fn index_rows() -> Listing {
    let rows = indices().iter().map(|row| {
        let resistant = match row.direction {
            Direction::Higher => "higher",
            Direction::Lower => "lower",
        };
        vec![
            row.name.clone(),
            row.label.clone(),
            row.unit.clone(),
            resistant.to_owned(),
            one_line(&row.formula),
            row.source.clone(),
            row.valid_if.as_deref().map_or_else(String::new, one_line),
            row.family.clone().unwrap_or_default(),
            row.resolution.to_string(),
            standing(row.standing),
            row.note.clone(),
        ]
    });
    Listing {
        columns: &[
            "name",
            "label",
            "unit",
            "more_resistant",
            "formula",
            "source",
            "valid_if",
            "family",
            "resolution",
            "standing",
            "note",
        ],
        in_text: 6,
        rows: rows.collect(),
        note: "",
    }
}

fn outcome_rows() -> Listing {
    let rows = outcomes().iter().map(|row| {
        vec![
            row.name.clone(),
            row.label.clone(),
            condition(row),
            row.source.clone(),
            standing(row.standing),
            row.note.clone(),
        ]
    });
    Listing {
        columns: &["name", "label", "condition", "source", "standing", "note"],
        in_text: 4,
        rows: rows.collect(),
        note: "An outcome may also be named as an exclusion: people who have it are left out.\n{waist_men} and {waist_women} are the limits of the study's waist table.",
    }
}

/// The formula, or the count of items in words.
fn condition(row: &Outcome) -> String {
    let counted = |k| format!("at least {k} of: {}", row.items.join(", "));
    match (&row.formula, row.at_least) {
        (Some(formula), _) => one_line(formula),
        (None, Some(k)) if row.required.is_empty() => counted(k),
        (None, Some(k)) => format!("{}, and {}", row.required.join(" and "), counted(k)),
        (None, None) => String::new(),
    }
}

fn exclusion_rows() -> Listing {
    let cells = |name: &str, label: String, formula: String, row: &Exclusion| {
        vec![name.to_owned(), label, formula, row.source.clone(), standing(row.standing), row.note.clone()]
    };
    let rows = exclusions().iter().flat_map(|row| {
        let formula = one_line(&row.formula);
        let opposite = row.name.strip_prefix(NEGATED).map(|name| {
            let label =
                format!("for `require` alone: people of whom is known that they are not “{}”", row.label);
            cells(name, label, format!("NOT ({formula})"), row)
        });
        std::iter::once(cells(&row.name, row.label.clone(), formula, row)).chain(opposite)
    });
    Listing {
        columns: &["name", "label", "formula", "source", "standing", "note"],
        in_text: 4,
        rows: rows.collect(),
        note: "Outcomes may be named as exclusions too (cutspan list outcomes): people who have the outcome are left out.\n\
               `require` takes the same names, and keeps people of whom it is known.",
    }
}

fn group_rows() -> Listing {
    let rows = groups().iter().map(|row| {
        vec![
            row.name.clone(),
            row.label.clone(),
            levels(row),
            row.source.clone(),
            standing(row.standing),
            row.note.clone(),
        ]
    });
    Listing {
        columns: &["name", "label", "groups", "source", "standing", "note"],
        in_text: 4,
        rows: rows.collect(),
        note: "Variables are crossed with ×: \"sex × bmi_class\".",
    }
}

fn levels(row: &GroupVariable) -> String {
    if row.labels.is_empty() { "those that occur in the data".to_owned() } else { row.labels.join(", ") }
}

fn rule_rows() -> Listing {
    let rows = RULES.iter().map(|row| {
        vec![
            row.name.to_owned(),
            row.label.to_owned(),
            row.parameters.join(", "),
            row.formula.to_owned(),
            row.source.to_owned(),
        ]
    });
    Listing {
        columns: &["name", "label", "parameters", "score", "source"],
        in_text: 5,
        rows: rows.collect(),
        note: "With parameters: { rule = \"sensitivity_at_least\", value = 0.8 }",
    }
}

fn waist_rows() -> Listing {
    let rows = waist_tables().iter().map(|row| {
        vec![
            row.name.clone(),
            row.label.clone(),
            row.men_cm.to_string(),
            row.women_cm.to_string(),
            row.source.clone(),
            standing(row.standing),
        ]
    });
    Listing {
        columns: &["name", "label", "men_cm", "women_cm", "source", "standing"],
        in_text: 4,
        rows: rows.collect(),
        note: "",
    }
}

fn quantity_rows() -> Listing {
    let rows = quantities().iter().map(|row| {
        vec![
            row.name.clone(),
            row.label.clone(),
            units(row),
            subsample(row.subsample).to_owned(),
            row.columns().join(", "),
            row.note.clone(),
        ]
    });
    Listing {
        columns: &["name", "label", "units", "measured_in", "columns", "note"],
        in_text: 4,
        rows: rows.collect(),
        note: "Formulas read the columns (--format csv): with several units, limits are compared on the reported ones.",
    }
}

fn units(row: &Quantity) -> String {
    match row.kind {
        ColumnKind::Number => row.units.iter().map(|unit| unit.unit.as_str()).collect::<Vec<_>>().join(", "),
        ColumnKind::YesNo => "yes, no".to_owned(),
        ColumnKind::Category if row.levels.is_empty() => "text".to_owned(),
        ColumnKind::Category => row.levels.join(", "),
    }
}

fn survey_rows() -> Listing {
    let cycles = SURVEYS.iter().filter_map(|name| survey(name)).flat_map(|survey| {
        survey.cycles.iter().map(|cycle| {
            vec![
                survey.name.clone(),
                cycle.name.clone(),
                cycle.years.to_string(),
                cycle.insulin_assay.clone(),
                cycle.glucose_assay.clone(),
                standing(cycle.standing),
                cycle.checked.clone(),
            ]
        })
    });
    Listing {
        columns: &["survey", "cycle", "years", "insulin_assay", "glucose_assay", "standing", "checked"],
        in_text: 5,
        rows: cycles.collect(),
        note: "",
    }
}

fn one_line(formula: &str) -> String {
    formula.split_whitespace().collect::<Vec<_>>().join(" ")
}

pub(super) fn standing(standing: Standing) -> String {
    match standing {
        Standing::Published => "published",
        Standing::CommonPractice => "common practice",
        Standing::FromMemory => "from memory",
        Standing::Study => "study",
    }
    .to_owned()
}

fn subsample(subsample: Subsample) -> &'static str {
    match subsample {
        Subsample::Interview => "interview",
        Subsample::Examination => "examination",
        Subsample::Fasting => "fasting sample",
        Subsample::GlucoseTolerance => "glucose tolerance sample",
    }
}

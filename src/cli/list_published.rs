//! The cutoffs in print as a list of text cells.

use super::list_rows::{Listing, standing};
use crate::definitions::overlay::{Form, Laid, laid_over};
use crate::definitions::{Published, published};

/// All cutoffs in print, or those that speak of one index.
pub fn published_rows(index: Option<&str>) -> Listing {
    let laid = index.map_or_else(all, laid_over);
    Listing {
        columns: &[
            "cutoff",
            "index",
            "country",
            "rule",
            "outcome",
            "population",
            "n",
            "source",
            "name",
            "sex",
            "ages",
            "comparison",
            "assay",
            "form",
            "standing",
            "note",
        ],
        in_text: 9,
        rows: laid.iter().map(cells).collect(),
        note: "Read in abstracts. Few state the insulin assay, so an insulin-based cutoff may not carry over.",
    }
}

/// Every row as its source prints it.
fn all() -> Vec<Laid> {
    published().iter().map(|row| Laid { row, form: Form::Same }).collect()
}

fn cells(laid: &Laid) -> Vec<String> {
    let row = laid.row;
    let form = match laid.form {
        Form::Converted { words, .. } => format!("printed as {} {}: {words}", row.index, row.value),
        Form::Same | Form::Differs(_) => row.form.clone(),
    };
    let unit = if row.unit.is_empty() { String::new() } else { format!(" {}", row.unit) };
    let value = match laid.form {
        Form::Converted { value, .. } => crate::table::number::significant(value, 5),
        Form::Same | Form::Differs(_) => row.value.to_string(),
    };
    vec![
        format!("{value}{unit}"),
        row.index.clone(),
        row.country.clone(),
        row.rule.clone(),
        row.outcome.clone(),
        row.population.clone(),
        row.n.to_string(),
        row.source.clone(),
        row.name.clone(),
        row.sex.clone(),
        ages(row),
        row.comparison().to_owned(),
        row.assay.clone(),
        form,
        standing(row.standing),
        row.note.clone(),
    ]
}

/// Completed years that a group of a run is held against.
fn ages(row: &Published) -> String {
    match (row.age_from, row.age_below) {
        (Some(from), Some(below)) => format!("{from} to under {below}"),
        (Some(from), None) => format!("{from} and over"),
        (None, Some(below)) => format!("under {below}"),
        (None, None) => String::new(),
    }
}

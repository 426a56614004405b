//! Stated alternatives of outcomes that count items: every item known, and measurements without treatment.

use super::Outcome;

/// Rows, each followed by its alternatives.
pub(super) fn with_alternatives(rows: Vec<Outcome>) -> Vec<Outcome> {
    let own: Vec<Vec<Outcome>> = rows.iter().map(|row| alternatives(row, &rows)).collect();
    rows.into_iter().zip(own).flat_map(|(row, own)| std::iter::once(row).chain(own)).collect()
}

/// The alternatives of a row, whose items stand among `known`; none for a plain formula.
pub(super) fn alternatives(row: &Outcome, known: &[Outcome]) -> Vec<Outcome> {
    if row.items.is_empty() || row.complete_case {
        return Vec::new();
    }
    let untreated = without_treatment(row, known);
    let complete = untreated.as_ref().map(complete_case);
    std::iter::once(complete_case(row)).chain(untreated).chain(complete).collect()
}

fn complete_case(row: &Outcome) -> Outcome {
    Outcome {
        name: format!("{}_complete_case", row.name),
        label: format!("{}, every item known", row.label),
        complete_case: true,
        note: join(&row.note, "Unknown as soon as one item is unknown, even where the known ones decide."),
        ..row.clone()
    }
}

/// The row with every item by its measurement alone; `None` when no item counts a treatment.
fn without_treatment(row: &Outcome, known: &[Outcome]) -> Option<Outcome> {
    let alone = |name: &String| {
        let item = known.iter().find(|item| item.name == *name);
        item.and_then(|item| item.measured_alone.clone()).unwrap_or_else(|| name.clone())
    };
    let changed = Outcome {
        name: format!("{}_without_treatment", row.name),
        label: format!("{}, treatment not counted", row.label),
        items: row.items.iter().map(alone).collect(),
        required: row.required.iter().map(alone).collect(),
        source: format!("{}, less treatment", row.source),
        note: join(&row.note, "Treated people count by what is measured under treatment."),
        ..row.clone()
    };
    (changed.items != row.items || changed.required != row.required).then_some(changed)
}

fn join(note: &str, further: &str) -> String {
    if note.is_empty() { further.to_owned() } else { format!("{note} {further}") }
}

#[cfg(test)]
mod tests {
    use crate::definitions::outcomes;

    #[test]
    fn every_count_has_its_alternatives_and_no_formula_has() {
        let named = |name: &str| outcomes().iter().find(|row| row.name == name);
        let counts: Vec<_> =
            outcomes().iter().filter(|row| !row.items.is_empty() && !row.complete_case).collect();
        assert!(counts.len() >= 16, "{}", counts.len());
        for row in counts {
            let complete = named(&format!("{}_complete_case", row.name)).expect("made from the row");
            assert!(complete.complete_case && complete.items == row.items);
            let treated = row.items.iter().any(|item| item.ends_with("_or_drug"));
            assert_eq!(treated, named(&format!("{}_without_treatment", row.name)).is_some(), "{}", row.name);
        }
        assert!(named("high_triglycerides_or_drug_complete_case").is_none());
        let untreated = named("metabolic_syndrome_idf_2005_without_treatment").expect("made from the row");
        assert_eq!(
            untreated.items,
            ["high_triglycerides", "low_hdl", "raised_blood_pressure", "raised_fasting_glucose_or_diabetes"]
        );
        assert_eq!(untreated.required, ["central_obesity_idf_2005"]);
    }
}

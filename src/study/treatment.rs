//! Outcomes that count treatment, where nothing is known of treatment.

use crate::definitions::{DefinitionError, Definitions, Outcome};

/// Why nobody can be known not to have an outcome, and which to use instead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Untreated {
    /// Questions about treatment that are not answered.
    pub absent: Vec<String>,
    /// The outcome that counts what is measured alone.
    pub instead: String,
}

/// Whether nobody can be known not to have `outcome`, because it counts treatments that no column tells.
///
/// A condition such as "130/85 or a drug" is yes or unknown then, never no; and a count is known not to be reached only
/// when the conditions that are yes or unknown do not make it.
pub(super) fn untreated(
    outcome: &Outcome,
    definitions: &Definitions,
    has: &dyn Fn(&str) -> bool,
) -> Result<Option<Untreated>, DefinitionError> {
    let named = |name: &String| definitions.outcomes.iter().find(|row| row.name == *name);
    let conditions: Vec<&Outcome> = match outcome.items.as_slice() {
        [] => vec![outcome],
        items => items.iter().filter_map(named).collect(),
    };
    let mut absent: Vec<String> = Vec::new();
    let mut never = 0;
    for condition in conditions {
        let unasked = unasked(condition, definitions, has)?;
        never += usize::from(!unasked.is_empty());
        absent.extend(unasked);
    }
    if never < outcome.at_least.map_or(1, |count| count as usize) {
        return Ok(None);
    }
    absent.sort_unstable();
    absent.dedup();
    Ok(Some(Untreated { absent, instead: instead(outcome) }))
}

fn instead(outcome: &Outcome) -> String {
    let complete = "_complete_case";
    match (&outcome.measured_alone, outcome.name.strip_suffix(complete)) {
        (Some(alone), _) => alone.clone(),
        (None, Some(own)) => format!("{own}_without_treatment{complete}"),
        (None, None) => format!("{}_without_treatment", outcome.name),
    }
}

/// Treatments that a condition asks for besides its measurement and that no column tells.
fn unasked(
    condition: &Outcome,
    definitions: &Definitions,
    has: &dyn Fn(&str) -> bool,
) -> Result<Vec<String>, DefinitionError> {
    let alone = condition.measured_alone.as_ref();
    let Some(alone) = alone.and_then(|name| definitions.outcomes.iter().find(|row| row.name == *name)) else {
        return Ok(Vec::new());
    };
    let read = |row: &Outcome| definitions.ingredients(&row.name, &definitions.outcome_sql(row)?);
    let measured = read(alone)?;
    Ok(read(condition)?.into_iter().filter(|name| !measured.contains(name) && !has(name)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::waist_tables;

    /// hand: of five conditions four count treatment; three are needed. Without `lipid_drug` two can never be no, and three
    /// others can; without `blood_pressure_drug` too, only two can.
    #[test]
    fn an_outcome_needs_so_many_treatments_that_somebody_can_be_without_it() {
        let definitions = Definitions::built_in(&waist_tables()[0]);
        let of = |name: &str, known: &[&str]| {
            let outcome = definitions.outcomes.iter().find(|row| row.name == name).expect("known");
            untreated(outcome, &definitions, &|quantity| {
                !quantity.ends_with("_drug") || known.contains(&quantity)
            })
            .expect("rows that can be read")
        };
        let syndrome = "metabolic_syndrome_harmonized_2009";
        let none = of(syndrome, &[]).expect("never known to be absent");
        assert_eq!(none.absent, ["blood_pressure_drug", "glucose_drug", "lipid_drug"]);
        assert_eq!(none.instead, "metabolic_syndrome_harmonized_2009_without_treatment");
        assert_eq!(of(syndrome, &["glucose_drug"]).map(|u| u.absent.len()), Some(2));
        assert_eq!(of(syndrome, &["glucose_drug", "blood_pressure_drug"]), None);
        assert_eq!(of("metabolic_syndrome_harmonized_2009_without_treatment", &[]), None);
        assert_eq!(
            of("raised_blood_pressure_or_drug", &[]).map(|u| u.instead),
            Some("raised_blood_pressure".to_owned())
        );
        for row in definitions.outcomes.iter().filter_map(|row| of(&row.name, &[])) {
            assert!(definitions.outcomes.iter().any(|other| other.name == row.instead), "{}", row.instead);
        }
    }
}

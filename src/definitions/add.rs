//! The checks a row must pass before it is used, built-in or a study's own.

use super::alternatives::alternatives;
use super::{ColumnKind, DefinitionError, Definitions, Exclusion, GroupVariable, Index, Outcome, Quantity};

/// Answers to items are kept in one whole number of 63 bits, two bits each.
const MOST_ITEMS: usize = 31;
/// Columns of the cohort that hold no quantity.
const OF_THE_COHORT: [&str; 4] = ["person", "psu", "source", "stratum"];
/// How the columns of its weights begin.
const WEIGHT: &str = "weight_";
/// What no index is called, as a file of sums has that name, and how the names of further such files begin.
const SUMS_OF_PEOPLE: &str = "people";
const SUMS_OF_SEVERAL: &str = "joint_";
/// What no group is called, as that is the column that numbers the cells of groups.
const CELL: &str = "cell";

const TAKEN: &str = "this name is taken; choose another";

/// Whether a column of the cohort has this name already, so that no quantity can.
#[must_use]
pub fn is_of_the_cohort(name: &str) -> bool {
    OF_THE_COHORT.contains(&name) || name.starts_with(WEIGHT)
}

impl Definitions {
    /// Adds a quantity, if it is complete and its name and columns are new.
    pub fn add_quantity(&mut self, row: Quantity) -> Result<(), DefinitionError> {
        new_name(&row.name, self.quantities.iter().map(|known| known.name.as_str()))?;
        let problem = match row.kind {
            _ if is_of_the_cohort(&row.name) => Some(TAKEN),
            ColumnKind::Number if row.units.is_empty() => Some("a number needs a unit"),
            ColumnKind::YesNo | ColumnKind::Category if !row.units.is_empty() => {
                Some("only a number has units")
            }
            _ => None,
        };
        if let Some(problem) = problem {
            return Err(bad(&row.name, problem));
        }
        let known: Vec<String> = self.quantities.iter().flat_map(Quantity::columns).collect();
        if let Some(column) = row.columns().into_iter().find(|column| known.contains(column)) {
            return Err(bad(&row.name, &format!("another quantity fills the column {column}")));
        }
        self.quantities.push(row);
        Ok(())
    }

    /// Adds an index, if it is complete, its name is new and its formula can be read.
    pub fn add_index(&mut self, row: Index) -> Result<(), DefinitionError> {
        new_name(&row.name, self.indices.iter().map(|known| known.name.as_str()))?;
        if row.name == SUMS_OF_PEOPLE || row.name.starts_with(SUMS_OF_SEVERAL) {
            return Err(bad(&row.name, TAKEN));
        }
        stated(&row.name, &[("label", &row.label), ("unit", &row.unit), ("source", &row.source)])?;
        if !(row.resolution.is_finite() && row.resolution > 0.0) {
            return Err(bad(&row.name, "the resolution must be a number above 0"));
        }
        if self.ingredients(&row.name, &row.sql())?.is_empty() {
            return Err(bad(&row.name, "the formula reads no quantity"));
        }
        self.indices.push(row);
        Ok(())
    }

    /// Adds an outcome, if it is complete, its name is new and its condition can be read.
    pub fn add_outcome(&mut self, row: Outcome) -> Result<(), DefinitionError> {
        new_name(&row.name, self.outcomes.iter().map(|known| known.name.as_str()))?;
        if self.exclusions.iter().any(|known| known.name == row.name) {
            return Err(bad(&row.name, "an exclusion has this name already"));
        }
        stated(&row.name, &[("label", &row.label), ("source", &row.source)])?;
        if row.items.len() + row.required.len() > MOST_ITEMS {
            return Err(bad(
                &row.name,
                &format!("at most {MOST_ITEMS} items and required conditions together"),
            ));
        }
        self.ingredients(&row.name, &self.outcome_sql(&row)?)?;
        self.outcomes.push(row);
        Ok(())
    }

    /// Adds an outcome with its alternatives, if it counts items.
    pub fn add_outcome_and_alternatives(&mut self, row: Outcome) -> Result<(), DefinitionError> {
        let own = alternatives(&row, &self.outcomes);
        self.add_outcome(row)?;
        own.into_iter().try_for_each(|alternative| self.add_outcome(alternative))
    }

    /// Adds an exclusion, if it is complete, its name is new and its condition can be read.
    pub fn add_exclusion(&mut self, row: Exclusion) -> Result<(), DefinitionError> {
        new_name(&row.name, self.exclusions.iter().map(|known| known.name.as_str()))?;
        if self.outcomes.iter().any(|known| known.name == row.name) {
            return Err(bad(&row.name, "an outcome has this name already, and may be used as an exclusion"));
        }
        stated(&row.name, &[("label", &row.label), ("source", &row.source)])?;
        self.ingredients(&row.name, &self.with_waist_limits(&row.formula))?;
        self.exclusions.push(row);
        Ok(())
    }

    /// Adds a group variable, if it is complete, its name is new and it can be cut as it says.
    pub fn add_group(&mut self, row: GroupVariable) -> Result<(), DefinitionError> {
        new_name(&row.name, self.groups.iter().map(|known| known.name.as_str()))?;
        if row.name == CELL {
            return Err(bad(&row.name, TAKEN));
        }
        stated(&row.name, &[("label", &row.label), ("source", &row.source)])?;
        match (&row.column, &row.formula) {
            (Some(column), None) => {
                let number = self.kind_of_column(&row.name, column)? == ColumnKind::Number;
                if number == row.cuts.is_empty() {
                    return Err(bad(&row.name, "a number needs cuts, and only a number has them"));
                }
            }
            (None, Some(formula)) if row.cuts.is_empty() => {
                self.ingredients(&row.name, &self.with_waist_limits(formula))?;
            }
            _ => return Err(bad(&row.name, "give either a column, or a formula without cuts")),
        }
        bands(&row)?;
        self.groups.push(row);
        Ok(())
    }
}

/// Cuts increase, and there is a label of its own for every band.
fn bands(row: &GroupVariable) -> Result<(), DefinitionError> {
    if row.cuts.iter().any(|cut| !cut.is_finite()) || row.cuts.windows(2).any(|pair| pair[0] >= pair[1]) {
        return Err(bad(&row.name, "cuts must be increasing numbers"));
    }
    let bands = row.cuts.len() + 1;
    if !row.cuts.is_empty() && row.labels.len() != bands {
        let problem = format!(
            "its cuts part people into {bands} groups, and each needs a name, the lowest first: labels = [{}]; labels holds {}",
            names_of_bands(&row.cuts),
            row.labels.len()
        );
        return Err(bad(&row.name, &problem));
    }
    let twice = row.labels.iter().enumerate().find(|(at, label)| row.labels[..*at].contains(label));
    if let Some((_, label)) = twice {
        let problem = format!("the label “{label}” stands twice, and its groups could not be told apart");
        return Err(bad(&row.name, &problem));
    }
    Ok(())
}

/// Names that would do for the bands between cuts.
fn names_of_bands(cuts: &[f64]) -> String {
    let first = cuts.iter().take(1).map(|cut| format!("\"under {cut}\""));
    let between = cuts.windows(2).map(|pair| format!("\"{} to under {}\"", pair[0], pair[1]));
    let last = cuts.last().map(|cut| format!("\"{cut} and over\""));
    first.chain(between).chain(last).collect::<Vec<_>>().join(", ")
}

fn bad(row: &str, problem: &str) -> DefinitionError {
    DefinitionError::Row { row: row.to_owned(), problem: problem.to_owned() }
}

/// A name is lower-case words joined by underscores, and not taken.
fn new_name<'a>(name: &str, mut known: impl Iterator<Item = &'a str>) -> Result<(), DefinitionError> {
    let plain = name.starts_with(|first: char| first.is_ascii_lowercase())
        && name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_');
    if !plain {
        return Err(bad(
            name,
            "a name is made of lower-case letters, digits and underscores, a letter first",
        ));
    }
    if known.any(|other| other == name) {
        return Err(bad(name, TAKEN));
    }
    Ok(())
}

/// Every named part must say something.
fn stated(row: &str, parts: &[(&str, &str)]) -> Result<(), DefinitionError> {
    match parts.iter().find(|(_, text)| text.trim().is_empty()) {
        Some((part, _)) => Err(bad(row, &format!("the {part} is empty"))),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::{Subsample, waist_tables};

    #[test]
    fn a_quantity_cannot_take_a_column_of_the_cohort() {
        let named = |name: &str| Quantity {
            name: name.to_owned(),
            label: name.to_owned(),
            kind: ColumnKind::Category,
            subsample: Subsample::Interview,
            units: Vec::new(),
            levels: Vec::new(),
            plausible: None,
            note: String::new(),
        };
        let mut all = Definitions::built_in(&waist_tables()[0]);
        assert!(all.add_quantity(named("region")).is_ok());
        for taken in ["region", "stratum", "source", "weight_fasting", "sex"] {
            let said = all.add_quantity(named(taken)).expect_err("taken").to_string();
            assert!(said.contains("this name is taken"), "{taken}: {said}");
        }
    }

    #[test]
    fn names_of_files_of_sums_and_of_their_columns_are_taken() {
        let mut all = Definitions::built_in(&waist_tables()[0]);
        let index = all.indices[0].clone();
        let group = all.groups[0].clone();
        for taken in ["people", "joint_homa_ir_tyg"] {
            let said = all.add_index(Index { name: taken.to_owned(), ..index.clone() });
            assert!(said.expect_err(taken).to_string().contains(TAKEN), "{taken}");
        }
        all.add_index(Index { name: "people_ratio".to_owned(), ..index }).expect("a name of its own");
        let said = all.add_group(GroupVariable { name: "cell".to_owned(), ..group.clone() });
        assert!(said.expect_err("taken").to_string().contains(TAKEN));
        all.add_group(GroupVariable { name: "cells".to_owned(), ..group }).expect("a name of its own");
    }

    #[test]
    fn a_label_of_a_group_stands_once() {
        let mut all = Definitions::built_in(&waist_tables()[0]);
        let banded = all.groups.iter().find(|group| group.cuts.len() == 2).expect("three bands").clone();
        let labels = |labels: [&str; 3]| GroupVariable {
            name: "own".to_owned(),
            labels: labels.map(str::to_owned).to_vec(),
            ..banded.clone()
        };
        let said = all.add_group(labels(["low", "low", "high"])).expect_err("twice").to_string();
        assert!(said.contains("the label “low” stands twice"), "{said}");
        all.add_group(labels(["low", "middle", "high"])).expect("each once");
    }
}

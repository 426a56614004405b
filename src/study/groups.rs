//! Groups: single variables and crossings of them.

use super::error::{StudyError, Text};
use super::file::{AgeFile, At, StudyFile};
use super::{Split, Variable};
use crate::definitions::{ColumnKind, Definitions, GroupVariable};

/// The column that the cohort's age range cuts.
const AGE_COLUMN: &str = "age_years";

/// Variables in the order they first occur, and each grouping as positions among them.
pub(super) fn groupings(
    file: &StudyFile,
    definitions: &Definitions,
    text: Text<'_>,
) -> Result<(Vec<Variable>, Vec<Vec<usize>>), StudyError> {
    let mut variables: Vec<Variable> = Vec::new();
    let mut groupings: Vec<Vec<usize>> = Vec::new();
    for written in &file.analysis.groups {
        let mut grouping = Vec::new();
        for name in crossed(written.get_ref()) {
            let known = variables.iter().position(|variable| variable.name == name);
            if known.is_none() {
                let name = At::new(written.span(), name.to_owned());
                let age = file.cohort.age.as_ref().map(|age| *age.get_ref());
                variables.push(variable(&name, definitions, age, text)?);
            }
            let position = known.unwrap_or(variables.len() - 1);
            if grouping.contains(&position) {
                return Err(text.problem(written.span(), format!("\"{name}\" is crossed with itself")));
            }
            grouping.push(position);
        }
        if groupings.iter().any(|other| same_variables(other, &grouping)) {
            let problem = format!("the grouping \"{}\" is named twice", written.get_ref());
            return Err(text.problem(written.span(), problem));
        }
        groupings.push(grouping);
    }
    Ok((variables, groupings))
}

/// Names of the variables of a crossing: parted by `×`, `*`, or `x` between blanks.
#[must_use]
pub fn crossed(written: &str) -> Vec<&str> {
    written.split(['×', '*']).flat_map(|part| part.split(" x ")).map(str::trim).collect()
}

/// Whether two crossings have the same groups, in whatever order.
fn same_variables(one: &[usize], other: &[usize]) -> bool {
    one.len() == other.len() && one.iter().all(|position| other.contains(position))
}

fn variable(
    name: &At<String>,
    definitions: &Definitions,
    age: Option<AgeFile>,
    text: Text<'_>,
) -> Result<Variable, StudyError> {
    let known = definitions.groups.iter().map(|row| row.name.as_str());
    let row =
        definitions.groups.iter().find(|row| row.name == *name.get_ref()).ok_or_else(|| {
            text.unknown_or_own("group", name, known, &definition(name.get_ref(), definitions))
        })?;
    let split = split(row, definitions, age).map_err(|error| text.definition(name.span(), error))?;
    Ok(Variable {
        name: row.name.clone(),
        label: definitions.label(&row.label),
        split,
        source: row.source.clone(),
    })
}

/// How a group of this name comes to be known: by its own row, after that of the quantity it parts.
fn definition(name: &str, definitions: &Definitions) -> String {
    let Some(quantity) = definitions.quantities.iter().find(|quantity| quantity.name == name) else {
        return "A column of a table splits people once [[define.quantity]] says what it holds, [source.columns] names it, and \
                [[define.group]] splits by it: cutspan new --table writes all three"
            .to_owned();
    };
    let column = quantity.columns().pop().unwrap_or_default();
    let cuts = if quantity.kind == ColumnKind::Number { ", cuts and labels" } else { "" };
    format!(
        "\"{name}\" is a quantity; to split people by it add [[define.group]] with name, label, column = \"{column}\"{cuts} \
         and source"
    )
}

fn split(
    row: &GroupVariable,
    definitions: &Definitions,
    age: Option<AgeFile>,
) -> Result<Split, crate::definitions::DefinitionError> {
    let levels = |sql| Split::Levels { sql, levels: row.labels.clone() };
    let Some(column) = &row.column else {
        let formula = row.formula.as_deref().unwrap_or_default();
        return Ok(levels(definitions.with_waist_limits(formula)));
    };
    Ok(match definitions.kind_of_column(&row.name, column)? {
        ColumnKind::Number => bands(row, column, age.filter(|_| column == AGE_COLUMN)),
        ColumnKind::Category => levels(column.clone()),
        ColumnKind::YesNo => levels(format!("CASE WHEN {column} THEN 'yes' WHEN NOT {column} THEN 'no' END")),
    })
}

/// The bands of a number, without age bands that lie wholly outside the cohort's age range.
fn bands(row: &GroupVariable, column: &str, age: Option<AgeFile>) -> Split {
    let from = age.and_then(|age| age.from).unwrap_or(f64::NEG_INFINITY);
    let below = age.and_then(|age| age.below).unwrap_or(f64::INFINITY);
    let first = row.cuts.iter().take_while(|cut| **cut <= from).count();
    let last = row.cuts.iter().take_while(|cut| **cut < below).count();
    Split::Bands {
        column: column.to_owned(),
        cuts: row.cuts[first..last].to_vec(),
        labels: row.labels[first..=last].to_vec(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn variables_are_crossed_by_any_of_three_signs() {
        for written in ["sex × bmi_class", "sex*bmi_class", "sex x bmi_class"] {
            assert_eq!(crossed(written), ["sex", "bmi_class"], "{written}");
        }
        assert_eq!(crossed("sex"), ["sex"]);
    }
}

//! Groups compared on equal terms: `[analysis.standardize]`.

use serde::{Deserialize, Serialize};

use super::error::{StudyError, Text};
use super::file::{At, StudyFile};
use super::{Reference, Split, Standard, Standardisation, Stated, Variable};
use crate::definitions::standards;

/// The standard that needs no name of a reference group or population.
const COHORT: &str = "cohort";
/// Columns whose groups the program compares unasked, and what it adjusts them for.
const COMPARED: [&str; 3] = ["ancestry", "ancestry_detailed", "sex"];
const AGE: &str = "age_years";
const BMI: &str = "bmi_kg_m2";

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StandardizeFile {
    /// Groupings of the study that are compared; empty for no comparison.
    pub of: Vec<At<String>>,
    #[serde(default)]
    pub to: Vec<At<Vec<At<String>>>>,
    #[serde(default = "cohort")]
    pub standard: At<String>,
    /// `tool` where the program wrote this section.
    #[serde(default)]
    pub stated: Stated,
}

fn cohort() -> At<String> {
    At::new(0..0, COHORT.to_owned())
}

/// Writes the default into the file: ancestry and sex, adjusted for age and then for age and BMI, if the
/// study splits by all of these.
pub(super) fn complete(file: &mut StudyFile, variables: &[Variable], groupings: &[Vec<usize>]) {
    if file.analysis.standardize.is_some() {
        return;
    }
    let single: Vec<&Variable> =
        groupings.iter().filter(|g| g.len() == 1).map(|g| &variables[g[0]]).collect();
    let of: Vec<&&Variable> = single.iter().filter(|v| is_compared(v)).collect();
    let ancestry = of.iter().any(|v| v.name != "sex");
    // The fewest bands: cells that are too fine are empty in some group, and in some replicates.
    let coarsest = |column: &str| {
        single.iter().filter_map(|v| Some((bands_of(v, column)?, &v.name))).min_by_key(|found| found.0)
    };
    let (Some((_, age)), Some((_, bmi)), true) = (coarsest(AGE), coarsest(BMI), ancestry) else { return };
    let nowhere = |name: &String| At::new(0..0, name.clone());
    file.analysis.standardize = Some(StandardizeFile {
        of: of.iter().map(|v| nowhere(&v.name)).collect(),
        to: vec![At::new(0..0, vec![nowhere(age)]), At::new(0..0, vec![nowhere(age), nowhere(bmi)])],
        standard: cohort(),
        stated: Stated::Tool,
    });
}

fn is_compared(variable: &Variable) -> bool {
    matches!(&variable.split, Split::Levels { sql, .. } if COMPARED.contains(&sql.as_str()))
}

fn bands_of(variable: &Variable, wanted: &str) -> Option<usize> {
    match &variable.split {
        Split::Bands { column, labels, .. } if column == wanted && labels.len() > 1 => Some(labels.len()),
        _ => None,
    }
}

type Known<'a> = (&'a [Variable], &'a [Vec<usize>], &'a [Reference]);

/// The checked section; `None` when there is none or it compares nothing.
pub(super) fn standardisation(
    file: &StudyFile,
    known: (&Vec<Variable>, &Vec<Vec<usize>>, &Vec<Reference>),
    text: Text<'_>,
) -> Result<Option<Standardisation>, StudyError> {
    let Some(written) = &file.analysis.standardize else { return Ok(None) };
    let known: Known<'_> = (known.0, known.1, known.2);
    let Some(first) = written.of.first() else { return Ok(None) };
    if written.to.is_empty() {
        let problem = "standardize has no `to`: name what to adjust for, such as to = [[\"age_20_40_60\"]]";
        return Err(text.problem(first.span(), problem));
    }
    let of = written.of.iter().map(|name| grouping(name, known, text)).collect::<Result<Vec<_>, _>>()?;
    let to = written.to.iter().map(|names| target(names, known.0, text)).collect::<Result<Vec<_>, _>>()?;
    for (&grouping, name) in of.iter().zip(&written.of) {
        if let Some(&shared) = to.iter().flatten().find(|v| known.1[grouping].contains(v)) {
            let problem = format!("groups by {} cannot be adjusted for it", known.0[shared].name);
            return Err(text.problem(name.span(), problem));
        }
    }
    let standard = standard(&written.standard, known, &to, text)?;
    Ok(Some(Standardisation { of, to, standard, stated: written.stated }))
}

fn grouping(
    name: &At<String>,
    (variables, groupings, _): Known<'_>,
    text: Text<'_>,
) -> Result<usize, StudyError> {
    let joined = |grouping: &Vec<usize>| {
        grouping.iter().map(|&v| variables[v].name.as_str()).collect::<Vec<_>>().join(" × ")
    };
    let names: Vec<String> = groupings.iter().map(joined).collect();
    let wanted = super::crossed(name.get_ref()).join(" × ");
    names
        .iter()
        .position(|known| *known == wanted)
        .ok_or_else(|| text.unknown("grouping of this study", name, names.iter().map(String::as_str)))
}

fn target(
    names: &At<Vec<At<String>>>,
    variables: &[Variable],
    text: Text<'_>,
) -> Result<Vec<usize>, StudyError> {
    if names.get_ref().is_empty() {
        return Err(text.problem(names.span(), "an adjustment needs at least one variable"));
    }
    super::check::distinct(names.get_ref(), text)?;
    let one = |name: &At<String>| {
        variables.iter().position(|v| v.name == *name.get_ref()).ok_or_else(|| {
            text.unknown(
                "variable among this study's groups",
                name,
                variables.iter().map(|v| v.name.as_str()),
            )
        })
    };
    names.get_ref().iter().map(one).collect()
}

fn standard(
    name: &At<String>,
    (variables, _, references): Known<'_>,
    to: &[Vec<usize>],
    text: Text<'_>,
) -> Result<Standard, StudyError> {
    if name.get_ref() == COHORT {
        return Ok(Standard::Cohort);
    }
    if let Some(position) = references.iter().position(|r| r.name == *name.get_ref()) {
        return Ok(Standard::Reference(position));
    }
    let Some(row) = standards().iter().find(|row| row.name == *name.get_ref()) else {
        let named = references.iter().map(|r| r.name.as_str());
        let known = std::iter::once(COHORT).chain(named).chain(standards().iter().map(|s| s.name.as_str()));
        return Err(text.unknown("standard", name, known));
    };
    let variable = variables.iter().position(|v| v.name == row.variable);
    let Some(variable) = variable.filter(|v| to.iter().all(|target| target.contains(v))) else {
        let problem =
            format!("{} gives shares of {}: put it into every list of `to`", row.name, row.variable);
        return Err(text.problem(name.span(), problem));
    };
    let labels = match &variables[variable].split {
        Split::Bands { labels, .. } => labels,
        Split::Levels { levels, .. } => levels,
    };
    if let Some(absent) = row.levels.iter().find(|level| !labels.contains(level)) {
        let problem = format!(
            "{} has people in {absent}, and this study's {} has no such level",
            row.name, row.variable
        );
        return Err(text.problem(name.span(), problem));
    }
    let share = |label: &String| {
        row.levels.iter().zip(&row.shares).find(|(level, _)| *level == label).map_or(0.0, |(_, share)| *share)
    };
    let shares = labels.iter().map(share).collect();
    Ok(Standard::Population { name: row.name.clone(), label: row.label.clone(), variable, shares })
}

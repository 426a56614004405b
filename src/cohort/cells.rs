//! Group variables cut into atoms, so that every band of every variable is a set of atoms.

use polars::prelude::*;
use polars::sql::sql_expr;
use serde::{Deserialize, Serialize};

use super::CohortError;
use crate::study::{Split, Study, Variable};

/// Largest number of atoms of one axis: an atom is stored in a byte, one value means unknown.
const MAX_ATOMS: usize = 254;
/// Cells are numbered in an `i64`.
const MAX_CELLS: f64 = 4.0e18;

/// One independent axis of the cells: a numeric column cut at all its cuts, or a category.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Axis {
    pub name: String,
    /// Labels of the atoms; unknown comes after the last.
    pub atoms: Vec<String>,
    split: AxisSplit,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
enum AxisSplit {
    Cuts { column: String, cuts: Vec<f64> },
    Levels { sql: String },
}

/// How the atoms of an axis make the levels of a variable.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LevelMap {
    pub axis: usize,
    /// Level of each atom.
    pub level_of_atom: Vec<u8>,
    /// Labels of the levels, in order.
    pub labels: Vec<String>,
}

/// All axes of a study, and how its variables read them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CellPlan {
    pub axes: Vec<Axis>,
    /// One entry per variable of the study.
    pub variables: Vec<LevelMap>,
}

impl CellPlan {
    /// Axes and level maps of a study; levels that the study does not list are read from the data.
    pub(super) fn new(study: &Study, rows: &DataFrame) -> Result<Self, CohortError> {
        let mut plan = Self { axes: Vec::new(), variables: Vec::new() };
        for variable in &study.variables {
            let axis = match &variable.split {
                Split::Bands { column, .. } => plan.cut_axis(study, column),
                Split::Levels { sql, levels } => plan.level_axis(variable, sql, levels, rows)?,
            };
            let map = plan.level_map(axis, variable);
            plan.variables.push(map);
        }
        let cells: f64 = plan.axes.iter().map(|a| (a.atoms.len() + 1) as f64).product();
        if cells > MAX_CELLS {
            return Err(CohortError::Cells(cells));
        }
        match plan.axes.iter().find(|a| a.atoms.len() > MAX_ATOMS) {
            Some(axis) => Err(CohortError::Levels { what: axis.name.clone(), found: axis.atoms.len() }),
            None => Ok(plan),
        }
    }

    fn cut_axis(&mut self, study: &Study, column: &str) -> usize {
        // A group whose levels are a formula may be named like the column.
        let cuts_it = |axis: &Axis| matches!(&axis.split, AxisSplit::Cuts { column: of, .. } if of == column);
        if let Some(found) = self.axes.iter().position(cuts_it) {
            return found;
        }
        let mut cuts: Vec<f64> = study
            .variables
            .iter()
            .filter_map(|v| match &v.split {
                Split::Bands { column: c, cuts, .. } if c == column => Some(cuts.clone()),
                _ => None,
            })
            .flatten()
            .collect();
        cuts.sort_by(f64::total_cmp);
        cuts.dedup();
        let atoms = (0..=cuts.len()).map(|i| atom_label(&cuts, i)).collect();
        let split = AxisSplit::Cuts { column: column.to_owned(), cuts };
        self.axes.push(Axis { name: column.to_owned(), atoms, split });
        self.axes.len() - 1
    }

    fn level_axis(
        &mut self,
        variable: &Variable,
        sql: &str,
        levels: &[String],
        rows: &DataFrame,
    ) -> Result<usize, CohortError> {
        let atoms = if levels.is_empty() { levels_in(rows, &variable.name, sql)? } else { levels.to_vec() };
        let split = AxisSplit::Levels { sql: sql.to_owned() };
        self.axes.push(Axis { name: variable.name.clone(), atoms, split });
        Ok(self.axes.len() - 1)
    }

    fn level_map(&self, axis: usize, variable: &Variable) -> LevelMap {
        match (&variable.split, &self.axes[axis].split) {
            (Split::Bands { cuts, labels, .. }, AxisSplit::Cuts { cuts: all, .. }) => {
                let lower = |atom: usize| if atom == 0 { f64::NEG_INFINITY } else { all[atom - 1] };
                let level = |atom: usize| cuts.iter().filter(|&&c| c <= lower(atom)).count() as u8;
                LevelMap { axis, level_of_atom: (0..=all.len()).map(level).collect(), labels: labels.clone() }
            }
            _ => LevelMap {
                axis,
                level_of_atom: (0..self.axes[axis].atoms.len() as u8).collect(),
                labels: self.axes[axis].atoms.clone(),
            },
        }
    }

    /// The cell number of a person: atoms as digits of a mixed-radix number, first axis slowest.
    pub(super) fn expression(&self) -> Result<Expr, CohortError> {
        let mut cell = lit(0_i64);
        for axis in &self.axes {
            let radix = axis.atoms.len() as i64 + 1;
            cell = cell * lit(radix) + axis.expression()?;
        }
        Ok(cell.cast(DataType::Int64).alias("cell"))
    }

    /// Atom of each axis in a cell; the last atom + 1 means unknown.
    #[must_use]
    pub fn atoms_of(&self, cell: i64) -> Vec<u8> {
        let mut rest = cell;
        let mut atoms: Vec<u8> = self
            .axes
            .iter()
            .rev()
            .map(|axis| {
                let radix = axis.atoms.len() as i64 + 1;
                let atom = (rest % radix) as u8;
                rest /= radix;
                atom
            })
            .collect();
        atoms.reverse();
        atoms
    }

    /// Level of each variable in a cell, `None` where unknown.
    #[must_use]
    pub fn levels_of(&self, cell: i64) -> Vec<Option<u8>> {
        let atoms = self.atoms_of(cell);
        self.variables.iter().map(|v| v.level_of_atom.get(usize::from(atoms[v.axis])).copied()).collect()
    }
}

impl Axis {
    fn expression(&self) -> Result<Expr, CohortError> {
        let unknown = lit(self.atoms.len() as i64);
        Ok(match &self.split {
            AxisSplit::Cuts { column, cuts } => cuts
                .iter()
                .map(|&cut| col(column.as_str()).gt_eq(lit(cut)).cast(DataType::Int64))
                .fold(col(column.as_str()).is_null().cast(DataType::Int64) * lit(0_i64), |sum, e| sum + e)
                .fill_null(unknown),
            AxisSplit::Levels { sql } => {
                let level = formula(&self.name, sql)?.cast(DataType::String);
                let mut code = unknown;
                for (i, label) in self.atoms.iter().enumerate() {
                    code = when(level.clone().eq(lit(label.as_str()))).then(lit(i as i64)).otherwise(code);
                }
                code
            }
        })
    }
}

/// A SQL formula as an expression.
pub(super) fn formula(what: &str, sql: &str) -> Result<Expr, CohortError> {
    sql_expr(sql).map_err(|cause| CohortError::Formula {
        what: what.to_owned(),
        formula: sql.to_owned(),
        cause,
    })
}

/// The levels that occur in rows, in alphabetical order.
pub(super) fn levels_in(rows: &DataFrame, what: &str, sql: &str) -> Result<Vec<String>, CohortError> {
    let level = formula(what, sql)?.cast(DataType::String).alias("level");
    let found = rows.clone().lazy().select([level]).collect()?;
    let found = found.column("level")?.str()?;
    let levels: std::collections::BTreeSet<&str> = found.iter().flatten().collect();
    Ok(levels.into_iter().map(str::to_owned).collect())
}

fn atom_label(cuts: &[f64], atom: usize) -> String {
    match (atom.checked_sub(1).map(|i| cuts[i]), cuts.get(atom)) {
        (None, None) => "all".to_owned(),
        (None, Some(upper)) => format!("below {upper}"),
        (Some(lower), Some(upper)) => format!("{lower} to below {upper}"),
        (Some(lower), None) => format!("{lower} or more"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study;

    #[test]
    fn a_column_has_an_axis_of_its_own_beside_a_formula_of_its_name() {
        let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines/demo.toml");
        let mut study = study::load(&file).expect("a study");
        let variable = |name: &str, split| Variable {
            name: name.to_owned(),
            label: String::new(),
            split,
            source: String::new(),
        };
        let levels = || vec!["under 50".to_owned(), "50 and over".to_owned()];
        let sql = "CASE WHEN age_years < 50 THEN 'under 50' ELSE '50 and over' END".to_owned();
        let bands =
            |cut: f64| Split::Bands { column: "age_years".to_owned(), cuts: vec![cut], labels: levels() };
        study.variables = vec![
            variable("age_years", Split::Levels { sql, levels: levels() }),
            variable("age_band", bands(60.0)),
            variable("age_half", bands(45.0)),
        ];
        let plan = CellPlan::new(&study, &DataFrame::default()).expect("a plan");
        let axes: Vec<usize> = plan.variables.iter().map(|variable| variable.axis).collect();
        assert_eq!(axes, [0, 1, 1], "both bands cut the one column");
        assert_eq!(plan.axes[1].atoms, ["below 45", "45 to below 60", "60 or more"]);
        assert_eq!(plan.variables[1].level_of_atom, [0, 0, 1]);
    }
}

//! Whether the formulas of a study's own rows give what is made of them: a number, yes or no, a level.

use polars::prelude::{Column, DataFrame, DataType, IntoLazy, PolarsError};
use polars::sql::sql_expr;

use crate::definitions::{DefinitionError, ORIGIN_COLUMNS, Quantity};

/// What a formula has to give.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Gives {
    Number,
    YesOrNo,
    Level,
}

/// Computes a formula for nobody, and compares the kind of its result with the one that is wanted.
pub(super) fn check(
    row: &str,
    sql: &str,
    wanted: Gives,
    quantities: &[Quantity],
) -> Result<(), DefinitionError> {
    let bad = |problem: String| DefinitionError::Row { row: row.to_owned(), problem };
    let found = result_type(sql, quantities)
        .map_err(|cause| bad(format!("the formula cannot be computed: {cause}. The formula: {sql}")))?;
    let fits = match wanted {
        Gives::Number => found.is_primitive_numeric(),
        Gives::YesOrNo => found == DataType::Boolean,
        Gives::Level => !found.is_float(),
    };
    if fits || found == DataType::Null {
        return Ok(());
    }
    let kind = match &found {
        DataType::Boolean => "yes or no".to_owned(),
        DataType::String => "a text".to_owned(),
        number if number.is_primitive_numeric() => "a number".to_owned(),
        other => other.to_string(),
    };
    let expected = match wanted {
        Gives::Number => "a number",
        Gives::YesOrNo => "yes or no: compare it with something, as in bmi_kg_m2 >= 30.0",
        Gives::Level => {
            "a level: CASE WHEN … THEN 'low' ELSE 'high' END, or column and cuts in place of the formula"
        }
    };
    Err(bad(format!("the formula gives {kind}, expected {expected}. The formula: {sql}")))
}

/// The type of a formula over the columns of a cohort without people.
fn result_type(sql: &str, quantities: &[Quantity]) -> Result<DataType, PolarsError> {
    let empty = |name: &str, kind: &DataType| Column::new_empty(name.into(), kind);
    let mut columns: Vec<Column> = ORIGIN_COLUMNS.iter().map(|name| empty(name, &DataType::String)).collect();
    for quantity in quantities {
        columns.extend(quantity.columns().iter().map(|name| empty(name, &quantity.data_type())));
    }
    let result = sql_expr(sql)?.alias("result");
    let computed = DataFrame::new(0, columns)?.lazy().select([result]).collect()?;
    Ok(computed.column("result")?.dtype().clone())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::quantity::quantities;

    #[test]
    fn a_formula_must_give_what_is_made_of_it() {
        let said = |sql: &str, wanted: Gives| match check("own", sql, wanted, quantities()) {
            Ok(()) => String::new(),
            Err(error) => error.to_string(),
        };
        for (sql, wanted) in [
            ("triglycerides_mmol_l >= 1.7", Gives::YesOrNo),
            ("sex = 'female' AND pregnant", Gives::YesOrNo),
            ("CASE WHEN age_years < 50.0 THEN NULL END", Gives::YesOrNo),
            ("glucose_mmol_l * insulin_uu_ml / 22.5", Gives::Number),
            ("CASE WHEN age_years < 50.0 THEN 1 ELSE 2 END", Gives::Number),
            ("CASE WHEN age_years < 50.0 THEN 'young' ELSE 'old' END", Gives::Level),
            ("pregnant", Gives::Level),
        ] {
            assert_eq!(said(sql, wanted), "", "{sql}");
        }
        let number = said("triglycerides_mmol_l", Gives::YesOrNo);
        assert!(number.contains("\"own\": the formula gives a number, expected yes or no"), "{number}");
        assert!(said("systolic_mm_hg - 140.0", Gives::YesOrNo).contains("gives a number"));
        assert!(said("bmi_kg_m2 >= 30.0", Gives::Number).contains("gives yes or no, expected a number"));
        assert!(said("sex", Gives::Number).contains("gives a text, expected a number"));
        assert!(said("bmi_kg_m2", Gives::Level).contains("gives a number, expected a level"));
        assert!(said("sex * 2.0", Gives::Number).contains("cannot be computed"));
    }
}

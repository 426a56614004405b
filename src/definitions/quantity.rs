//! The quantities known to the program, and the cohort columns each of them fills.

use std::sync::LazyLock;

use polars::prelude::DataType;
use serde::Deserialize;

use super::{ColumnKind, Quantity, UnitRow};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct QuantityFile {
    quantity: Vec<Quantity>,
}

static QUANTITIES: LazyLock<Vec<Quantity>> = LazyLock::new(|| {
    toml::from_str::<QuantityFile>(include_str!("quantities.toml"))
        .expect("the embedded quantities.toml is read by a test")
        .quantity
});

/// The built-in quantities, in the order of `quantities.toml`.
#[must_use]
pub fn quantities() -> &'static [Quantity] {
    &QUANTITIES
}

/// The built-in quantity of this name.
#[must_use]
pub fn quantity(name: &str) -> Option<&'static Quantity> {
    quantities().iter().find(|q| q.name == name)
}

impl Quantity {
    /// The type of the quantity's columns.
    #[must_use]
    pub const fn data_type(&self) -> DataType {
        match self.kind {
            ColumnKind::Number => DataType::Float64,
            ColumnKind::YesNo => DataType::Boolean,
            ColumnKind::Category => DataType::String,
        }
    }

    /// All columns of the quantity, in the order they stand in the cohort table.
    #[must_use]
    pub fn columns(&self) -> Vec<String> {
        if self.kind != ColumnKind::Number {
            return vec![self.name.clone()];
        }
        let reported = self.units.iter().filter(|_| self.units.len() > 1).map(|u| self.reported_column(u));
        reported.chain(self.units.iter().map(|u| self.column(u))).collect()
    }

    /// Column filled for everybody, by conversion where needed; formulas of indices read it.
    #[must_use]
    pub fn column(&self, unit: &UnitRow) -> String {
        format!("{}_{}", self.name, unit.suffix)
    }

    /// Column filled only where the value was reported in this unit; limits are compared there.
    #[must_use]
    pub fn reported_column(&self, unit: &UnitRow) -> String {
        if self.units.len() > 1 {
            format!("{}_reported_{}", self.name, unit.suffix)
        } else {
            self.column(unit)
        }
    }
}

impl UnitRow {
    /// A value of this unit in the quantity's first unit. `chosen` is the study's factor among
    /// `choices`; without one the first choice holds, by which values are also converted back.
    ///
    /// # Formula
    ///
    /// ```text
    /// first = factor × value + offset        or, with choices, first = value / chosen
    /// ```
    #[must_use]
    pub fn to_first(&self, value: f64, chosen: Option<f64>) -> f64 {
        match self.divisor(chosen) {
            Some(divisor) => value / divisor,
            None => self.factor.unwrap_or(1.0) * value + self.offset,
        }
    }

    /// A value of the quantity's first unit in this unit: the inverse of [`UnitRow::to_first`].
    #[must_use]
    pub fn from_first(&self, first: f64, chosen: Option<f64>) -> f64 {
        match self.divisor(chosen) {
            Some(divisor) => first * divisor,
            None => (first - self.offset) / self.factor.unwrap_or(1.0),
        }
    }

    fn divisor(&self, chosen: Option<f64>) -> Option<f64> {
        if self.factor.is_some() { None } else { chosen.or_else(|| self.choices.first().copied()) }
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    /// Relative: a product and a quotient, each rounded once.
    const ROUNDING: f64 = 1e-12;

    #[test]
    fn every_quantity_is_complete_and_its_columns_are_its_own() {
        let mut seen = BTreeSet::new();
        for q in quantities() {
            assert!(!q.label.is_empty(), "{}", q.name);
            assert!(q.name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_'));
            assert_eq!(q.kind == ColumnKind::Number, !q.units.is_empty(), "{}", q.name);
            assert_eq!(q.kind == ColumnKind::Number, q.plausible.is_some(), "{}", q.name);
            for unit in &q.units {
                assert!(unit.factor.is_some() == unit.choices.is_empty(), "{} {}", q.name, unit.unit);
                assert!(!unit.source.is_empty());
            }
            for column in q.columns() {
                assert!(seen.insert(column.clone()), "{column} stands twice");
            }
        }
        assert!(seen.len() > 40);
    }

    #[test]
    fn a_number_with_two_units_has_four_columns_and_with_one_unit_one() {
        let glucose = quantity("glucose").unwrap();
        let expected =
            ["glucose_reported_mg_dl", "glucose_reported_mmol_l", "glucose_mg_dl", "glucose_mmol_l"];
        assert_eq!(glucose.columns(), expected);
        assert_eq!(quantity("bmi").unwrap().columns(), ["bmi_kg_m2"]);
        assert_eq!(quantity("fasting").unwrap().columns(), ["fasting_hours"]);
        assert_eq!(quantity("sex").unwrap().columns(), ["sex"]);
    }

    #[test]
    fn factors_turn_units_both_ways() {
        // hand: 95 / 18.0156 = 5.273208; 120 / 88.57 = 1.354861; 50 / 38.67 = 1.292992 mmol/L
        for (name, value, expected) in
            [("glucose", 95.0, 5.273_208), ("triglycerides", 120.0, 1.354_861), ("hdl", 50.0, 1.292_992)]
        {
            let unit = &quantity(name).unwrap().units[1];
            let got = unit.from_first(value, None);
            assert!((got - expected).abs() < 5e-7, "{name}: {got}");
            assert!((unit.to_first(got, None) / value - 1.0).abs() < ROUNDING);
        }
        // published (Hoelzel 2004): 48 mmol/mol is 6.543 %
        let ifcc = &quantity("a1c").unwrap().units[1];
        assert!((ifcc.to_first(48.0, None) - 6.543).abs() < 5e-4);
    }

    #[test]
    fn the_insulin_factor_is_the_chosen_one() {
        let pmol = &quantity("insulin").unwrap().units[1];
        // hand: 60 / 6.00 = 10; 15.7 uU/mL × 6.945 = 109.0365 pmol/L
        assert_eq!(pmol.to_first(60.0, None), 10.0);
        assert!((pmol.to_first(109.0365, Some(6.945)) - 15.7).abs() < 1e-9);
        assert!((pmol.from_first(15.7, Some(6.945)) - 109.0365).abs() < 1e-9);
    }
}

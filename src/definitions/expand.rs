//! From a row to the SQL that is run: waist limits filled in, items of outcomes written out.

use super::{DefinitionError, Definitions, Direction, Index, Outcome, formula::sql_number, nearest::hint};

impl Index {
    /// The formula, missing where it does not hold.
    #[must_use]
    pub fn sql(&self) -> String {
        match &self.valid_if {
            Some(condition) => format!("CASE WHEN {condition} THEN {} END", self.formula.trim()),
            None => self.formula.trim().to_owned(),
        }
    }

    /// Steps per unit: values are multiplied by this and rounded before they are compared.
    #[must_use]
    pub fn steps_per_unit(&self) -> f64 {
        let steps = 1.0 / self.resolution;
        if (steps - steps.round()).abs() < 1e-6 * steps { steps.round() } else { steps }
    }

    /// A value as a whole number of steps; halves go up, as in [`Index::step_sql`].
    #[must_use]
    pub fn step(&self, value: f64) -> i64 {
        (value * self.steps_per_unit() + 0.5).floor() as i64
    }

    /// SQL for the index as a whole number of steps. Written with FLOOR, because engines disagree
    /// on which way ROUND takes a half.
    #[must_use]
    pub fn step_sql(&self) -> String {
        format!("FLOOR(({}) * {} + 0.5)", self.sql(), sql_number(self.steps_per_unit()))
    }

    /// SQL condition: at or beyond a value in the order of resistance (beyond it, if strict).
    #[must_use]
    pub fn beyond_sql(&self, value: f64, strict: bool) -> String {
        let sign = match (self.direction, strict) {
            (Direction::Higher, false) => ">=",
            (Direction::Higher, true) => ">",
            (Direction::Lower, false) => "<=",
            (Direction::Lower, true) => "<",
        };
        format!("{} {sign} {}", self.step_sql(), sql_number(self.step(value) as f64))
    }
}

impl Definitions {
    /// The SQL condition of an outcome, all items written out.
    pub fn outcome_sql(&self, outcome: &Outcome) -> Result<String, DefinitionError> {
        self.expand(outcome, &mut Vec::new())
    }

    /// A formula with the waist limits of the chosen table in it.
    #[must_use]
    pub fn with_waist_limits(&self, formula: &str) -> String {
        formula
            .trim()
            .replace("{waist_men}", &sql_number(self.waist.men_cm))
            .replace("{waist_women}", &sql_number(self.waist.women_cm))
    }

    /// A label with the waist limits of the chosen table in it.
    #[must_use]
    pub fn label(&self, label: &str) -> String {
        label
            .replace("{waist_men}", &self.waist.men_cm.to_string())
            .replace("{waist_women}", &self.waist.women_cm.to_string())
    }

    fn expand<'a>(
        &'a self,
        outcome: &'a Outcome,
        path: &mut Vec<&'a str>,
    ) -> Result<String, DefinitionError> {
        if path.contains(&outcome.name.as_str()) {
            return Err(DefinitionError::Circular { row: outcome.name.clone(), path: path.join(", ") });
        }
        path.push(&outcome.name);
        let sql = match (&outcome.formula, outcome.at_least) {
            (Some(formula), None) if outcome.items.is_empty() && outcome.required.is_empty() => {
                self.with_waist_limits(formula)
            }
            (None, Some(k)) if (1..=outcome.items.len()).contains(&(k as usize)) => {
                let mut conditions = Vec::new();
                for name in &outcome.required {
                    conditions.push(format!("({})", self.expand_item(outcome, name, path)?));
                }
                let mut items = Vec::new();
                for name in &outcome.items {
                    items.push(self.expand_item(outcome, name, path)?);
                }
                let parts: Vec<String> = conditions.iter().chain(&items).cloned().collect();
                conditions.push(format!("({})", at_least(k, &items)));
                let counted = conditions.join(" AND ");
                if outcome.complete_case { all_known(&parts, &counted) } else { counted }
            }
            _ => return Err(DefinitionError::NoCondition { row: outcome.name.clone() }),
        };
        path.pop();
        Ok(sql)
    }

    fn expand_item<'a>(
        &'a self,
        outcome: &Outcome,
        name: &str,
        path: &mut Vec<&'a str>,
    ) -> Result<String, DefinitionError> {
        let item = self.outcomes.iter().find(|row| row.name == name).ok_or_else(|| {
            DefinitionError::UnknownItem {
                row: outcome.name.clone(),
                item: name.to_owned(),
                hint: hint(name, self.outcomes.iter().map(|row| row.name.as_str())),
            }
        })?;
        self.expand(item, path)
    }
}

/// SQL for a condition that is null as soon as one part is.
fn all_known(parts: &[String], condition: &str) -> String {
    let known: Vec<String> = parts.iter().map(|sql| format!("({sql}) IS NOT NULL")).collect();
    format!("CASE WHEN {} THEN {condition} END", known.join(" AND "))
}

/// SQL for "at least `k` of these": true when enough are known to be true, false when even the
/// unknown ones could not make it, else null.
fn at_least(k: u32, items: &[String]) -> String {
    let known = items.iter().map(|sql| format!("CASE WHEN {sql} THEN 1 ELSE 0 END"));
    let possible = items.iter().map(|sql| format!("CASE WHEN NOT ({sql}) THEN 0 ELSE 1 END"));
    format!(
        "CASE WHEN {} >= {k} THEN TRUE WHEN {} < {k} THEN FALSE END",
        known.collect::<Vec<_>>().join(" + "),
        possible.collect::<Vec<_>>().join(" + "),
    )
}

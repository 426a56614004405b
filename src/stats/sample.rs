//! The rows that estimators work on.

use super::StatError;

/// People of one domain, summed over those who share a value and a sampling unit.
///
/// Rows are sorted by `value`, ascending, and values are finite. `value` runs in the order of
/// resistance: the index itself when higher is more resistant, its negative otherwise.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Sample {
    pub value: Vec<f64>,
    /// Sum of the people's weights.
    pub weight: Vec<f64>,
    /// Sum of the people's squared weights.
    pub weight_squared: Vec<f64>,
    /// Number of people.
    pub people: Vec<u32>,
    /// Position of the PSU (or pseudo-PSU) in the design.
    pub unit: Vec<u32>,
}

impl Sample {
    /// One row per person, sorted by value; people with the same value keep the order given.
    pub fn from_people(value: &[f64], weight: &[f64], unit: &[u32]) -> Result<Self, StatError> {
        for other in [weight.len(), unit.len()] {
            if other != value.len() {
                return Err(StatError::Length(value.len(), other));
            }
        }
        let mut order: Vec<usize> = (0..value.len()).collect();
        order.sort_by(|&a, &b| value[a].total_cmp(&value[b]));
        let sample = Self {
            value: order.iter().map(|&i| value[i]).collect(),
            weight: order.iter().map(|&i| weight[i]).collect(),
            weight_squared: order.iter().map(|&i| weight[i] * weight[i]).collect(),
            people: vec![1; value.len()],
            unit: order.iter().map(|&i| unit[i]).collect(),
        };
        sample.check()?;
        Ok(sample)
    }

    #[must_use]
    pub fn len(&self) -> usize {
        self.value.len()
    }

    /// Sampling units up to the last that a row comes from.
    #[must_use]
    pub fn units(&self) -> usize {
        self.unit.iter().max().map_or(0, |largest| *largest as usize + 1)
    }

    /// How many people the rows sum up.
    #[must_use]
    pub fn people_counted(&self) -> u64 {
        self.people.iter().map(|&n| u64::from(n)).sum()
    }

    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.value.is_empty()
    }

    /// Some of the rows, in the order given.
    #[must_use]
    pub fn pick(&self, rows: &[usize]) -> Self {
        fn picked<T: Copy>(column: &[T], rows: &[usize]) -> Vec<T> {
            rows.iter().map(|&row| column[row]).collect()
        }
        Self {
            value: picked(&self.value, rows),
            weight: picked(&self.weight, rows),
            weight_squared: picked(&self.weight_squared, rows),
            people: picked(&self.people, rows),
            unit: picked(&self.unit, rows),
        }
    }

    /// The same people on the negated scale, in its order: back from the order of resistance for an index of which
    /// less is more resistant.
    #[must_use]
    pub fn negated(&self) -> Self {
        fn turned<T: Copy>(column: &[T]) -> Vec<T> {
            column.iter().rev().copied().collect()
        }
        Self {
            value: self.value.iter().rev().map(|value| -value).collect(),
            weight: turned(&self.weight),
            weight_squared: turned(&self.weight_squared),
            people: turned(&self.people),
            unit: turned(&self.unit),
        }
    }

    /// What every estimator relies on: columns of one length, finite values in order, weights that
    /// are finite, not negative and not all zero.
    pub fn check(&self) -> Result<(), StatError> {
        if self.is_empty() {
            return Err(StatError::Empty);
        }
        for other in [self.weight.len(), self.weight_squared.len(), self.people.len(), self.unit.len()] {
            if other != self.len() {
                return Err(StatError::Length(self.len(), other));
            }
        }
        check_rows(&self.value, &self.weight)?;
        match self.value.windows(2).position(|pair| pair[0] > pair[1]) {
            Some(row) => {
                Err(StatError::Value { row: row + 1, what: "value out of order", value: self.value[row + 1] })
            }
            None => Ok(()),
        }
    }
}

/// Finite values, usable weights, at least one of them positive.
pub(super) fn check_rows(value: &[f64], weight: &[f64]) -> Result<(), StatError> {
    if value.len() != weight.len() {
        return Err(StatError::Length(value.len(), weight.len()));
    }
    if value.is_empty() {
        return Err(StatError::Empty);
    }
    if let Some(row) = value.iter().position(|x| !x.is_finite()) {
        return Err(StatError::Value { row, what: "value", value: value[row] });
    }
    if let Some(row) = weight.iter().position(|w| !w.is_finite() || *w < 0.0) {
        return Err(StatError::Value { row, what: "weight", value: weight[row] });
    }
    if weight.iter().all(|w| *w == 0.0) {
        return Err(StatError::NoWeight);
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn people_are_sorted_with_their_weights_and_units() {
        let sample =
            Sample::from_people(&[3.0, 1.0, 2.0], &[30.0, 10.0, 20.0], &[2, 0, 1]).expect("usable rows");
        assert_eq!(sample.value, [1.0, 2.0, 3.0]);
        assert_eq!(sample.weight, [10.0, 20.0, 30.0]);
        assert_eq!(sample.weight_squared, [100.0, 400.0, 900.0]);
        assert_eq!(sample.unit, [0, 1, 2]);
    }

    #[test]
    fn unusable_rows_are_named() {
        let with = |value: &[f64], weight: &[f64]| {
            Sample::from_people(value, weight, &vec![0; value.len()]).expect_err("must be refused")
        };
        assert_eq!(with(&[], &[]), StatError::Empty);
        assert_eq!(with(&[1.0], &[1.0, 2.0]), StatError::Length(1, 2));
        assert_eq!(with(&[1.0, 2.0], &[1.0, -1.0]), StatError::Value { row: 1, what: "weight", value: -1.0 });
        assert_eq!(with(&[1.0, 2.0], &[0.0, 0.0]), StatError::NoWeight);
        assert!(matches!(
            with(&[1.0, f64::NAN], &[1.0, 1.0]),
            StatError::Value { row: 1, what: "value", .. }
        ));
    }

    #[test]
    fn picked_rows_keep_their_columns_together() {
        let sample = Sample::from_people(&[3.0, 1.0, 2.0], &[30.0, 10.0, 20.0], &[2, 0, 1]).expect("rows");
        let two = sample.pick(&[0, 2]);
        assert_eq!(
            (two.value, two.weight, two.weight_squared),
            (vec![1.0, 3.0], vec![10.0, 30.0], vec![100.0, 900.0])
        );
        assert_eq!((two.people, two.unit), (vec![1, 1], vec![0, 2]));
    }

    #[test]
    fn negated_rows_are_in_order_and_keep_their_people() {
        let sample = Sample::from_people(&[-3.0, -1.0], &[30.0, 10.0], &[2, 0]).expect("usable rows");
        let own = sample.negated();
        assert_eq!(own.check(), Ok(()));
        assert_eq!((own.value.as_slice(), own.weight.as_slice()), (&[1.0, 3.0][..], &[10.0, 30.0][..]));
        assert_eq!((own.weight_squared, own.unit), (vec![100.0, 900.0], vec![0, 2]));
    }

    #[test]
    fn rows_out_of_order_are_refused() {
        let mut sample = Sample::from_people(&[1.0, 2.0], &[1.0, 1.0], &[0, 0]).expect("usable rows");
        sample.value.reverse();
        assert_eq!(sample.check(), Err(StatError::Value { row: 1, what: "value out of order", value: 1.0 }));
    }
}

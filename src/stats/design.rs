//! The survey's design: strata, sampling units, linearised variance and degrees of freedom.

use std::sync::Arc;

use super::supplied::Supplied;
use super::{Replicates, Sample, StatError};

/// What to do with a stratum that has a single sampling unit and therefore no variance of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LonelyPsu {
    /// Refuse the design.
    Fail,
    /// Measure the unit from the grand mean instead of its stratum's mean: a little too wide.
    Adjust,
    /// Take the stratum as surveyed in full: it adds no variance.
    Certainty,
}

/// Strata and units of the frame: everybody sampled, not only those counted.
///
/// With PSUs, variance comes from PSU sums; without, from persons, and units are only pseudo-PSUs that
/// carry replicates. Excluded people stay in the frame, so that a domain's variance knows about units
/// in which nobody of the domain was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Design {
    stratum_of_unit: Vec<u32>,
    units_in_stratum: Vec<u64>,
    people_in_stratum: Option<Vec<u64>>,
    lonely: LonelyPsu,
    /// Replicates that came with the data and stand for strata and PSUs.
    supplied: Option<Supplied>,
}

impl Design {
    /// `stratum_of_unit[u]` is the dense position of unit `u`'s stratum. `people_in_stratum` (counts in the
    /// frame) says that there are no PSUs and that variance is by persons.
    ///
    /// # Errors
    ///
    /// [`StatError::Empty`] without units, [`StatError::Length`] if the people's strata do not match,
    /// [`StatError::LonelyPsu`] for a single unit (or person) in a stratum under [`LonelyPsu::Fail`].
    pub fn new(
        stratum_of_unit: Vec<u32>,
        people_in_stratum: Option<Vec<u64>>,
        lonely: LonelyPsu,
    ) -> Result<Self, StatError> {
        let strata = stratum_of_unit.iter().max().ok_or(StatError::Empty)?;
        let mut units_in_stratum = vec![0_u64; *strata as usize + 1];
        for &stratum in &stratum_of_unit {
            units_in_stratum[stratum as usize] += 1;
        }
        if let Some(people) = &people_in_stratum
            && people.len() != units_in_stratum.len()
        {
            return Err(StatError::Length(units_in_stratum.len(), people.len()));
        }
        let design = Self { stratum_of_unit, units_in_stratum, people_in_stratum, lonely, supplied: None };
        match design.sampled_in_stratum().iter().position(|&n| n == 1) {
            Some(stratum) if lonely == LonelyPsu::Fail => Err(StatError::LonelyPsu(stratum.to_string())),
            _ => Ok(design),
        }
    }

    /// A design that is known by its replicates alone: a unit is everybody who shares their factors. Every
    /// variance is then that of the replicates, and degrees of freedom are those of [`Supplied`]
    /// unless `stated_df` says otherwise.
    ///
    /// # Errors
    ///
    /// [`StatError::Empty`] without units.
    pub fn supplied(replicates: Arc<Replicates>, stated_df: Option<f64>) -> Result<Self, StatError> {
        let units = replicates.factors.len() / replicates.count;
        let design = Self::new(vec![0; units], None, LonelyPsu::Certainty)?;
        Ok(Self { supplied: Some(Supplied::new(replicates, stated_df)), ..design })
    }

    #[must_use]
    pub fn units(&self) -> usize {
        self.stratum_of_unit.len()
    }

    #[must_use]
    pub fn strata(&self) -> usize {
        self.units_in_stratum.len()
    }

    #[must_use]
    pub fn stratum_of_unit(&self) -> &[u32] {
        &self.stratum_of_unit
    }

    /// Positions of the units of each stratum, ascending.
    #[must_use]
    pub fn units_by_stratum(&self) -> Vec<Vec<usize>> {
        let mut units = vec![Vec::new(); self.strata()];
        for (unit, &stratum) in self.stratum_of_unit.iter().enumerate() {
            units[stratum as usize].push(unit);
        }
        units
    }

    #[must_use]
    pub fn lonely(&self) -> LonelyPsu {
        self.lonely
    }

    /// Whether variance is by persons because there are no PSUs.
    #[must_use]
    pub fn by_people(&self) -> bool {
        self.people_in_stratum.is_some()
    }

    /// Degrees of freedom of the whole frame: PSUs (or people) minus strata.
    #[must_use]
    pub fn frame_df(&self) -> f64 {
        if let Some(supplied) = &self.supplied {
            return supplied.frame_df();
        }
        let sampled = self.sampled_in_stratum();
        let strata = sampled.iter().filter(|n| **n > 0).count();
        sampled.iter().sum::<u64>() as f64 - strata as f64
    }

    /// Degrees of freedom of a domain: PSUs with a counted person minus strata with one. Where people have no PSUs,
    /// each counted person stands for one.
    ///
    /// A row counts if `counted` says so and its weight is positive. Where replicates stand for the design it
    /// is the rank of their weights among the people counted, minus 1.
    ///
    /// # Source
    ///
    /// The rule of the National Center for Health Statistics for NHANES subgroups.
    ///
    /// # Checked against
    ///
    /// R `survey`, `degf(subset(design, …))`: `tests/reference/design_share/`.
    #[must_use]
    pub fn degrees_of_freedom(&self, sample: &Sample, counted: &dyn Fn(usize) -> bool) -> f64 {
        let mut unit_seen = vec![false; self.units()];
        let mut stratum_seen = vec![false; self.strata()];
        let mut people = 0_u64;
        for row in 0..sample.len() {
            if sample.weight[row] > 0.0 && counted(row) {
                let unit = sample.unit[row] as usize;
                unit_seen[unit] = true;
                stratum_seen[self.stratum_of_unit[unit] as usize] = true;
                people += u64::from(sample.people[row]);
            }
        }
        if let Some(supplied) = &self.supplied {
            return supplied.df(&unit_seen);
        }
        let trues = |seen: &[bool]| seen.iter().filter(|s| **s).count() as f64;
        let sampled = if self.by_people() { people as f64 } else { trues(&unit_seen) };
        sampled - trues(&stratum_seen)
    }

    /// Linearised variance of a weighted ratio over the rows in the denominator, with replacement.
    ///
    /// # Formula
    ///
    /// ```text
    /// z_i  = d_i r_i / Σ w d               r_i the row's residual: y_i − p for a share
    /// z_hj = Σ w z over PSU j of stratum h
    /// V    = Σ_h n_h / (n_h − 1) Σ_j (z_hj − z̄_h)²
    /// ```
    ///
    /// `n_h` counts the PSUs of the frame, those without anybody of the domain included. Without PSUs each
    /// person is a unit: sums of squares come from the rows' squared weights, exactly, as long as the
    /// people of a row share a residual. Where replicates stand for the design, `V` is the replicate variance
    /// of the ratio, recomputed in each of them.
    ///
    /// # Missing data and ties
    ///
    /// `NaN` if nobody in the denominator carries weight.
    ///
    /// # Source
    ///
    /// Taylor linearisation as in Binder 1983, Int Stat Rev 51:279–292.
    ///
    /// # Checked against
    ///
    /// R `survey`: `tests/reference/design_mean/` and `tests/reference/design_share/`.
    #[must_use]
    pub fn ratio_variance(
        &self,
        sample: &Sample,
        in_denominator: &dyn Fn(usize) -> bool,
        residual: &dyn Fn(usize) -> f64,
    ) -> f64 {
        self.ratio_variance_over(sample, in_denominator, &|_| 1.0, residual)
    }

    /// [`Self::ratio_variance`] of a ratio whose denominator is `Σ w d x`, with `x` the row's `denominator`.
    #[must_use]
    pub fn ratio_variance_over(
        &self,
        sample: &Sample,
        in_denominator: &dyn Fn(usize) -> bool,
        denominator: &dyn Fn(usize) -> f64,
        residual: &dyn Fn(usize) -> f64,
    ) -> f64 {
        let rows = (0..sample.len()).filter(|&row| in_denominator(row));
        if let Some(supplied) = &self.supplied {
            let amounts = rows.map(|row| {
                let weight = sample.weight[row];
                (sample.unit[row], weight * residual(row), weight * denominator(row))
            });
            return supplied.ratio_variance(amounts, self.units());
        }
        let mut unit_sum = vec![0.0; self.units()];
        let mut stratum_squares = vec![0.0; self.strata()];
        let mut total = 0.0;
        for row in rows {
            let r = residual(row);
            let unit = sample.unit[row] as usize;
            total += sample.weight[row] * denominator(row);
            unit_sum[unit] += sample.weight[row] * r;
            stratum_squares[self.stratum_of_unit[unit] as usize] += sample.weight_squared[row] * r * r;
        }
        let mut stratum_sum = vec![0.0; self.strata()];
        for (sum, &stratum) in unit_sum.iter().zip(&self.stratum_of_unit) {
            stratum_sum[stratum as usize] += sum;
        }
        let spread = if self.by_people() {
            self.spread_of_people(&stratum_sum, &stratum_squares)
        } else {
            self.spread_of_units(&unit_sum, &stratum_sum)
        };
        spread / (total * total)
    }

    /// `Σ_h n_h/(n_h − 1) Σ_j (z_hj − z̄_h)²` from unit sums.
    fn spread_of_units(&self, unit_sum: &[f64], stratum_sum: &[f64]) -> f64 {
        let mut squares = vec![0.0; self.strata()];
        for (sum, &stratum) in unit_sum.iter().zip(&self.stratum_of_unit) {
            let n = self.units_in_stratum[stratum as usize];
            // A lonely unit has no stratum mean of its own: it is measured from the grand mean, 0.
            let centre = if n > 1 { stratum_sum[stratum as usize] / n as f64 } else { 0.0 };
            squares[stratum as usize] += (sum - centre) * (sum - centre);
        }
        squares.iter().zip(&self.units_in_stratum).map(|(&square, &n)| self.scaled(square, n)).sum()
    }

    /// The same with each person a unit: `Σ (z − z̄)² = Σ z² − (Σ z)² / n`.
    fn spread_of_people(&self, stratum_sum: &[f64], stratum_squares: &[f64]) -> f64 {
        let people = self.sampled_in_stratum();
        let strata = stratum_squares.iter().zip(stratum_sum).zip(people);
        strata
            .map(|((&squares, &sum), &n)| {
                let about_mean = if n > 1 { squares - sum * sum / n as f64 } else { squares };
                self.scaled(about_mean.max(0.0), n)
            })
            .sum()
    }

    /// A stratum's sum of squares with its factor `n/(n − 1)`, or what a lonely unit adds.
    fn scaled(&self, squares: f64, n: u64) -> f64 {
        match (n, self.lonely) {
            (1, LonelyPsu::Adjust) => squares,
            (0 | 1, _) => 0.0,
            _ => squares * n as f64 / (n - 1) as f64,
        }
    }

    /// Units the variance rests on, per stratum: people when there are no PSUs.
    fn sampled_in_stratum(&self) -> &[u64] {
        self.people_in_stratum.as_deref().unwrap_or(&self.units_in_stratum)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample(value: &[f64], weight: &[f64], unit: &[u32]) -> Sample {
        Sample::from_people(value, weight, unit).expect("usable rows")
    }

    #[test]
    fn variance_of_a_mean_by_hand() {
        // Two strata with two PSUs each, one person per PSU, weight 1: mean 2.5 of 1, 2, 3, 4.
        // Residuals −1.5, −0.5, 0.5, 1.5 over 4; in each stratum the two differ by 1/4 and
        // n/(n − 1) Σ (z − z̄)² = 2 · 2 · (1/8)² = 1/16; twice that is 1/8.
        let people = sample(&[1.0, 2.0, 3.0, 4.0], &[1.0; 4], &[0, 1, 2, 3]);
        let design = Design::new(vec![0, 0, 1, 1], None, LonelyPsu::Fail).expect("two units each");
        let variance = design.ratio_variance(&people, &|_| true, &|row| people.value[row] - 2.5);
        assert!((variance - 0.125).abs() < 1e-15, "{variance}");
        assert_eq!(design.frame_df(), 2.0);
    }

    #[test]
    fn one_unit_per_person_is_the_variance_by_people() {
        let people = sample(&[1.0, 2.0, 4.0, 7.0, 8.0], &[3.0, 1.0, 2.0, 5.0, 1.0], &[0, 1, 2, 3, 4]);
        let strata = vec![0, 1, 0, 1, 1];
        let units = Design::new(strata.clone(), None, LonelyPsu::Fail).expect("valid");
        let persons = Design::new(strata, Some(vec![2, 3]), LonelyPsu::Fail).expect("valid");
        let residual = |row: usize| people.value[row] - 4.0;
        let by_unit = units.ratio_variance(&people, &|row| row != 1, &residual);
        let by_person = persons.ratio_variance(&people, &|row| row != 1, &residual);
        assert!((by_unit - by_person).abs() < 1e-12 * by_unit, "{by_unit} {by_person}");
        assert!(persons.by_people() && !units.by_people());
    }

    #[test]
    fn degrees_of_freedom_count_only_units_with_a_counted_person() {
        let mut people = sample(&[1.0, 2.0, 3.0, 4.0, 5.0], &[1.0; 5], &[0, 1, 2, 3, 3]);
        let design = Design::new(vec![0, 0, 1, 1], None, LonelyPsu::Fail).expect("valid");
        assert_eq!(design.degrees_of_freedom(&people, &|_| true), 2.0);
        assert_eq!(design.degrees_of_freedom(&people, &|row| row < 2), 1.0);
        people.weight[4] = 0.0;
        assert_eq!(design.degrees_of_freedom(&people, &|row| row == 4), 0.0, "a zero weight does not count");
        let persons = Design::new(vec![0, 0, 1, 1], Some(vec![2, 3]), LonelyPsu::Fail).expect("valid");
        assert_eq!(persons.degrees_of_freedom(&people, &|_| true), 2.0, "4 people with weight in 2 strata");
    }

    #[test]
    fn lonely_units() {
        let refused = Design::new(vec![0, 1, 1], None, LonelyPsu::Fail);
        assert_eq!(refused, Err(StatError::LonelyPsu("0".to_owned())));
        let people = sample(&[1.0, 2.0, 6.0], &[1.0; 3], &[0, 1, 2]);
        let variance = |lonely| {
            let design = Design::new(vec![0, 1, 1], None, lonely).expect("allowed");
            design.ratio_variance(&people, &|_| true, &|row| people.value[row] - 3.0)
        };
        // z = −2/3, −1/3, 1: the pair gives 2 · 2 · (2/3)² = 16/9, the lonely unit 4/9 from the grand mean.
        assert!((variance(LonelyPsu::Certainty) - 16.0 / 9.0).abs() < 1e-12);
        assert!((variance(LonelyPsu::Adjust) - 20.0 / 9.0).abs() < 1e-12);
        assert_eq!(Design::new(vec![], None, LonelyPsu::Fail), Err(StatError::Empty));
        assert_eq!(Design::new(vec![0, 0], Some(vec![2, 2]), LonelyPsu::Fail), Err(StatError::Length(1, 2)));
    }
}

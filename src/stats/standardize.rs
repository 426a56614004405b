//! Comparing groups as if they had the same ages (and body sizes).

use super::{Replicates, Sample, StatError};

/// Lost share of the standard above which a comparison is withheld.
pub const MOST_LOST: f64 = 0.10;

/// The cells that every compared group has people in.
#[derive(Debug, Clone, PartialEq)]
pub struct CommonCells {
    /// The standard on these cells, summing to 1; 0 in the cells dropped.
    pub standard: Vec<f64>,
    pub kept: Vec<bool>,
    /// Share of the standard in the cells dropped; above [`MOST_LOST`] withhold the comparison.
    pub lost: f64,
}

/// A sample on standardised weights, with replicates that belong to it and to nothing else.
///
/// Its units are (unit, cell) pairs: the design's positions are gone, so degrees of freedom and linearised variance
/// come from the sample it was made from.
#[derive(Debug, Clone, PartialEq)]
pub struct Standardised {
    pub sample: Sample,
    pub replicates: Replicates,
}

/// Cells in which every group has weight, and the standard on them.
///
/// # Errors
///
/// [`StatError::Empty`] without groups, [`StatError::Undefined`] if no cell is common to all; what
/// [`standardised_weights`] says of cells and standard.
pub fn common_cells(groups: &[(&Sample, &[usize])], standard: &[f64]) -> Result<CommonCells, StatError> {
    if groups.is_empty() {
        return Err(StatError::Empty);
    }
    let mut kept: Vec<bool> = standard.iter().map(|share| *share > 0.0).collect();
    for (sample, cell) in groups {
        let weights = cell_weights(sample, cell, standard)?;
        kept.iter_mut().zip(weights).for_each(|(kept, weight)| *kept &= weight > 0.0);
    }
    let all: f64 = standard.iter().sum();
    let left: f64 = standard.iter().zip(&kept).filter(|(_, kept)| **kept).map(|(share, _)| share).sum();
    if left == 0.0 {
        return Err(StatError::Undefined("the groups have no cell in common"));
    }
    let rescaled = standard.iter().zip(&kept).map(|(share, kept)| if *kept { share / left } else { 0.0 });
    Ok(CommonCells { standard: rescaled.collect(), kept, lost: 1.0 - left / all })
}

/// Weights scaled so that the group's weighted distribution over cells equals the standard.
///
/// # Formula
///
/// ```text
/// w' = w · s_c / (W_c / W)        s_c: share of cell c in the standard, W_c: the group's weight in it
/// ```
///
/// The group's total weight stays `W`; shares are taken relative to their sum, so counts of a standard
/// population do as well.
///
/// # Missing data and ties
///
/// People whose cell is unknown must not be in the sample. A cell of the standard with share 0 gives its people weight 0.
///
/// # Errors
///
/// [`StatError::Length`] if the cells do not match the rows, [`StatError::Value`] for a cell outside the
/// standard (the row is in the error) or a share that is negative or not finite, [`StatError::Undefined`] if the standard is
/// all 0 or one of its cells is empty in the group: see [`common_cells`]. What [`Sample::check`] refuses.
///
/// # Source
///
/// Direct standardisation; Klein and Schoenborn 2001, Healthy People 2010 Stat Notes 20, for survey data.
///
/// # Checked against
///
/// R `survey`, `svystandardize`, among others its age-standardised table of high cholesterol:
/// `tests/reference/standardised_share/`.
pub fn standardised_weights(
    sample: &Sample,
    cell: &[usize],
    standard: &[f64],
) -> Result<Vec<f64>, StatError> {
    let factors = cell_factors(&cell_weights(sample, cell, standard)?, standard);
    if factors.iter().any(|factor| factor.is_nan()) {
        return Err(StatError::Undefined(
            "a cell of the standard is empty in this group: drop the cell from all groups compared",
        ));
    }
    Ok(sample.weight.iter().zip(cell).map(|(w, &c)| w * factors[c]).collect())
}

/// The sample on standardised weights, with replicates in which the scaling is made anew.
///
/// # Formula
///
/// In replicate `r` the weights are `w · factor(unit, r)`, standardised as in [`standardised_weights`]. Any
/// estimator that takes a sample and its replicates may follow.
///
/// # Missing data and ties
///
/// A replicate in which a cell of the standard is empty fails: its factors, and what is computed from them, are `NaN`.
///
/// # Errors
///
/// As for [`standardised_weights`].
///
/// # Checked against
///
/// R `survey`, `withReplicates` on jackknife weights standardised in each replicate: `tests/reference/standardised_share/`.
pub fn standardised(
    sample: &Sample,
    cell: &[usize],
    standard: &[f64],
    replicates: &Replicates,
) -> Result<Standardised, StatError> {
    let weight = standardised_weights(sample, cell, standard)?;
    let full = cell_factors(&cell_weights(sample, cell, standard)?, standard);
    let mut pairs: Vec<(u32, usize)> = sample.unit.iter().copied().zip(cell.iter().copied()).collect();
    pairs.sort_unstable();
    pairs.dedup();
    let in_replicate = replicate_cell_factors(sample, cell, standard, replicates);
    let mut factors = Vec::with_capacity(pairs.len() * replicates.count);
    for &(unit, c) in &pairs {
        // A cell outside the standard has weight 0 whatever its factor.
        let share = if full[c] > 0.0 { 1.0 / full[c] } else { 0.0 };
        let relative = |(r, factor): (usize, &f64)| factor * in_replicate[r][c] * share;
        factors.extend(replicates.of_unit(unit).iter().enumerate().map(relative));
    }
    let square = |(squared, &c): (&f64, &usize)| squared * full[c] * full[c];
    let position = |(unit, c): (&u32, &usize)| pairs.partition_point(|pair| *pair < (*unit, *c)) as u32;
    Ok(Standardised {
        sample: Sample {
            value: sample.value.clone(),
            weight,
            weight_squared: sample.weight_squared.iter().zip(cell).map(square).collect(),
            people: sample.people.clone(),
            unit: sample.unit.iter().zip(cell).map(position).collect(),
        },
        replicates: replicates.with_factors(factors),
    })
}

/// Weight of the sample in each cell of the standard.
fn cell_weights(sample: &Sample, cell: &[usize], standard: &[f64]) -> Result<Vec<f64>, StatError> {
    sample.check()?;
    if cell.len() != sample.len() {
        return Err(StatError::Length(sample.len(), cell.len()));
    }
    if let Some(row) = standard.iter().position(|share| !(*share >= 0.0 && share.is_finite())) {
        return Err(StatError::Value { row, what: "share of the standard", value: standard[row] });
    }
    if standard.iter().sum::<f64>() == 0.0 {
        return Err(StatError::Undefined("the standard has no people"));
    }
    if let Some(row) = cell.iter().position(|c| *c >= standard.len()) {
        return Err(StatError::Value { row, what: "cell", value: cell[row] as f64 });
    }
    let mut weights = vec![0.0; standard.len()];
    for (weight, &c) in sample.weight.iter().zip(cell) {
        weights[c] += weight;
    }
    Ok(weights)
}

/// Factor of each cell; `NaN` where the standard asks for people and there are none.
fn cell_factors(weights: &[f64], standard: &[f64]) -> Vec<f64> {
    let all: f64 = standard.iter().sum();
    // People in cells outside the standard lose their weight, so the total is that of the whole group.
    let total: f64 = weights.iter().sum();
    let factor = |(share, weight): (&f64, &f64)| match (*share > 0.0, *weight > 0.0) {
        (false, _) => 0.0,
        (true, false) => f64::NAN,
        (true, true) => share / all * total / weight,
    };
    standard.iter().zip(weights).map(factor).collect()
}

/// Factors of the cells in each replicate; all `NaN` where one of them is.
fn replicate_cell_factors(
    sample: &Sample,
    cell: &[usize],
    standard: &[f64],
    replicates: &Replicates,
) -> Vec<Vec<f64>> {
    let units = sample.units();
    let mut sums = super::unit_sums::UnitSums::new(standard.len(), units);
    for (row, &unit) in sample.unit.iter().enumerate() {
        sums.add(cell[row], unit, sample.weight[row]);
    }
    let totals = sums.replicate_totals(replicates);
    let of_replicate = |r: usize| {
        let weights: Vec<f64> = totals.iter().map(|cell| cell[r]).collect();
        let factors = cell_factors(&weights, standard);
        if factors.iter().any(|factor| factor.is_nan()) { vec![f64::NAN; standard.len()] } else { factors }
    };
    (0..replicates.count).map(of_replicate).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::scan::scan;
    use crate::stats::{Design, LonelyPsu, Rule};

    fn mini() -> (Sample, [usize; 8]) {
        let value = [1.2, 2.5, 2.5, 3.1, 4.8, 6.0, 7.7, 9.9];
        let weight = [3.0, 1.0, 2.0, 4.0, 2.0, 5.0, 1.0, 2.0];
        let sample = Sample::from_people(&value, &weight, &[0, 0, 1, 1, 2, 2, 3, 3]).expect("usable rows");
        (sample, [0, 0, 0, 0, 1, 1, 1, 1])
    }

    #[test]
    fn weights_take_the_standards_shares() {
        let (sample, cell) = mini();
        // Both cells weigh 10 of 20; a standard of 3 to 1 multiplies them by 1.5 and 0.5.
        let got = standardised_weights(&sample, &cell, &[75.0, 25.0]).expect("two cells");
        assert_eq!(got, [4.5, 1.5, 3.0, 6.0, 1.0, 2.5, 0.5, 1.0]);
        assert_eq!(standardised_weights(&sample, &cell, &[1.0, 1.0]).as_ref(), Ok(&sample.weight));
        let dropped = standardised_weights(&sample, &cell, &[1.0, 0.0]).expect("one cell");
        assert_eq!(dropped, [6.0, 2.0, 4.0, 8.0, 0.0, 0.0, 0.0, 0.0]);
    }

    #[test]
    fn replicates_are_standardised_anew() {
        let (sample, cell) = mini();
        let design = Design::new(vec![0, 1, 0, 1], None, LonelyPsu::Fail).expect("pairs");
        let replicates = Replicates::jackknife(&design).expect("pairs");
        let got = standardised(&sample, &cell, &[1.0, 1.0], &replicates).expect("two cells");
        assert_eq!(got.sample.weight, sample.weight);
        // Replicate 0 leaves out unit 0 and doubles unit 2: cells weigh 6 and 17, each brought to 11.5.
        for (row, want) in [(0, 0.0), (2, 2.0 * 11.5 / 6.0), (4, 4.0 * 11.5 / 17.0), (7, 2.0 * 11.5 / 17.0)] {
            let weight = got.sample.weight[row] * got.replicates.of_unit(got.sample.unit[row])[0];
            assert!((weight - want).abs() < 1e-12, "row {row}: {weight} {want}");
        }
    }

    #[test]
    fn an_emptied_cell_fails_the_replicate() {
        let (sample, _) = mini();
        let design = Design::new(vec![0, 0, 1, 1], None, LonelyPsu::Fail).expect("pairs");
        let replicates = Replicates::jackknife(&design).expect("pairs");
        let cell = [0, 0, 1, 1, 1, 1, 1, 1];
        let got = standardised(&sample, &cell, &[1.0, 1.0], &replicates).expect("two cells");
        let class = [false, false, true, false, true, true, false, true];
        let scan = scan(&got.sample, &class, &[Rule::Youden], &got.replicates);
        assert!(scan.auc[0].is_nan() && scan.rules[0].row[0] == u32::MAX, "cell 0 lives in unit 0");
        assert!(scan.auc[1..].iter().all(|auc| auc.is_finite()));
    }

    #[test]
    fn cells_missing_anywhere_are_dropped_everywhere() {
        let (sample, cell) = mini();
        let other = [0, 0, 0, 0, 0, 0, 0, 2];
        let standard = [50.0, 45.0, 5.0];
        let got = common_cells(&[(&sample, &cell), (&sample, &other)], &standard).expect("cell 0");
        assert_eq!(
            (got.kept.as_slice(), got.standard.as_slice()),
            (&[true, false, false][..], &[1.0, 0.0, 0.0][..])
        );
        assert!((got.lost - 0.5).abs() < 1e-15 && got.lost > MOST_LOST);
        let disjoint: &[usize] = &[2; 8];
        assert!(common_cells(&[(&sample, &cell), (&sample, disjoint)], &standard).is_err());
        assert_eq!(common_cells(&[], &standard), Err(StatError::Empty));
    }

    #[test]
    fn bad_input_is_refused() {
        let (sample, cell) = mini();
        let refused = |cell: &[usize], standard: &[f64]| {
            standardised_weights(&sample, cell, standard).expect_err("refused")
        };
        assert_eq!(refused(&cell[1..], &[1.0, 1.0]), StatError::Length(8, 7));
        assert!(matches!(refused(&cell, &[1.0]), StatError::Value { row: 4, what: "cell", .. }));
        assert!(matches!(refused(&cell, &[1.0, -1.0]), StatError::Value { row: 1, .. }));
        assert!(matches!(refused(&cell, &[0.0, 0.0]), StatError::Undefined(_)));
        assert!(matches!(refused(&cell, &[1.0, 1.0, 1.0]), StatError::Undefined(_)));
    }
}

//! Percentile curves that do not cross.

use super::StatError;

/// Sorts the curves at each place, so that a higher percentile is never below a lower one.
///
/// `curves[k][g]` is the fitted percentile of the `k`-th probability (ascending) at place `g`.
///
/// # Formula
///
/// The curve of the `k`-th smallest probability becomes the `k`-th smallest of the fitted values at that
/// place: the quantile function of the values that the crossing curves give to a probability drawn from the
/// set. With equally spaced probabilities this is the monotone rearrangement of the paper; it is never
/// farther from the true, monotone percentiles than the crossing curves are. The finer the set of
/// probabilities, the better.
///
/// # Missing data and ties
///
/// Curves that do not cross stay as they are.
///
/// # Errors
///
/// [`StatError::Length`] if curves differ in length, [`StatError::Value`] for a number that is not finite
/// (`row` is the place).
///
/// # Source
///
/// Chernozhukov, Fernández-Val and Galichon 2010, Econometrica 78:1093–1125.
///
/// # Checked against
///
/// R `quantreg`, `rearrange`: `tests/reference/percentile_curve/`.
pub fn rearrange(curves: &mut [Vec<f64>]) -> Result<(), StatError> {
    let places = curves.first().map_or(0, Vec::len);
    for curve in &*curves {
        if curve.len() != places {
            return Err(StatError::Length(places, curve.len()));
        }
        if let Some(row) = curve.iter().position(|value| !value.is_finite()) {
            return Err(StatError::Value { row, what: "fitted percentile", value: curve[row] });
        }
    }
    for place in 0..places {
        let mut values: Vec<f64> = curves.iter().map(|curve| curve[place]).collect();
        values.sort_by(f64::total_cmp);
        for (curve, value) in curves.iter_mut().zip(values) {
            curve[place] = value;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn only_crossed_places_change() {
        let mut curves = vec![vec![1.0, 3.0], vec![2.0, 2.0], vec![3.0, 2.5]];
        rearrange(&mut curves).expect("finite");
        assert_eq!(curves, [[1.0, 2.0], [2.0, 2.5], [3.0, 3.0]]);
    }

    #[test]
    fn misshapen_curves_are_refused() {
        assert_eq!(rearrange(&mut [vec![1.0], vec![1.0, 2.0]]), Err(StatError::Length(1, 2)));
        assert!(matches!(rearrange(&mut [vec![1.0, f64::NAN]]), Err(StatError::Value { row: 1, .. })));
        assert_eq!(rearrange(&mut []), Ok(()));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn never_crossing_and_never_farther_from_what_rises(
            fitted in prop::collection::vec(-3.0_f64..3.0, 2..12), steps in prop::collection::vec(0.0_f64..1.0, 12)
        ) {
            let truth: Vec<f64> =
                steps.iter().scan(-3.0, |height, step| { *height += step; Some(*height) }).collect();
            let mut curves: Vec<Vec<f64>> = fitted.iter().map(|value| vec![*value]).collect();
            rearrange(&mut curves).expect("finite");
            prop_assert!(curves.windows(2).all(|pair| pair[0][0] <= pair[1][0]));
            let distance = |values: &mut dyn Iterator<Item = f64>| -> f64 {
                values.zip(&truth).map(|(value, truth)| (value - truth).powi(2)).sum()
            };
            let before = distance(&mut fitted.iter().copied());
            let after = distance(&mut curves.iter().map(|curve| curve[0]));
            prop_assert!(after <= before + 1e-12, "{after} {before}");
        }
    }
}

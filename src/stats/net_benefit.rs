//! Whether acting on an index does more good than harm, for those who weigh the two differently.

use super::logistic::{Logistic, class_weights};
use super::replicate_interval::Centre;
use super::unit_sums::UnitSums;
use super::{Interval, Replicates, Sample, StatError};

/// Net benefit of a decision.
///
/// # Formula
///
/// ```text
/// NB = TP / N − FP / N · t / (1 − t)
/// ```
///
/// with `t` the threshold probability: the risk at which acting and not acting are equally good.
///
/// # Units
///
/// `true_positive`, `false_positive` and `total` are people or weights; the answer counts true positives per
/// person, false ones taken off at the odds of `t`.
///
/// # Errors
///
/// [`StatError::Parameter`] for `t` outside [0, 1), a negative count, or a total smaller than the positives or 0.
///
/// # Source
///
/// Vickers and Elkin 2006, Med Decis Making 26:565–574.
///
/// # Examples
///
/// ```
/// # use cutspan::stats::net_benefit::net_benefit;
/// assert!((net_benefit(26.0, 14.0, 113.0, 0.1)? - 0.216_322_5).abs() < 1e-7);
/// # Ok::<(), cutspan::stats::StatError>(())
/// ```
pub fn net_benefit(
    true_positive: f64,
    false_positive: f64,
    total: f64,
    threshold_probability: f64,
) -> Result<f64, StatError> {
    check_threshold(threshold_probability)?;
    for value in [true_positive, false_positive] {
        if value.is_nan() || value < 0.0 {
            return Err(StatError::Parameter { what: "positives", range: "[0, ∞)", value });
        }
    }
    let positive = true_positive + false_positive;
    if !(total > 0.0 && total >= positive * (1.0 - f64::EPSILON)) {
        return Err(StatError::Parameter { what: "total", range: "[positives, ∞)", value: total });
    }
    Ok((true_positive - false_positive * odds(threshold_probability)) / total)
}

/// Net benefit of acting on everybody; acting on nobody has 0.
///
/// # Formula
///
/// `π − (1 − π) t / (1 − t)`, with `π` the prevalence.
///
/// # Errors
///
/// [`StatError::Parameter`] for a prevalence outside [0, 1] or `t` outside [0, 1).
pub fn treat_all(prevalence: f64, threshold_probability: f64) -> Result<f64, StatError> {
    net_benefit(prevalence, 1.0 - prevalence, 1.0, threshold_probability)
}

/// Cutoffs on an index that a risk model draws at each threshold probability: act where the predicted risk is at least `t`.
///
/// # Formula
///
/// `(logit t − α) / β`: an index is not a probability, and this is the value at which its predicted risk is `t`.
///
/// # Units
///
/// That of the values on which the model was fitted.
///
/// # Errors
///
/// [`StatError::Undefined`] if the risk does not rise with the index, [`StatError::Parameter`] for `t` outside (0, 1).
pub fn risk_cutoffs(model: &Logistic, threshold_probabilities: &[f64]) -> Result<Vec<f64>, StatError> {
    if model.slope.is_nan() || model.slope <= 0.0 {
        return Err(StatError::Undefined("the risk does not rise with the index"));
    }
    if let Some(&value) = threshold_probabilities.iter().find(|t| !(**t > 0.0 && **t < 1.0)) {
        return Err(StatError::Parameter { what: "threshold probability", range: "(0, 1)", value });
    }
    Ok(threshold_probabilities.iter().map(|&t| model.value_at(t)).collect())
}

/// Decision curve: net benefit of "index at least `cutoffs[i]`" at `threshold_probabilities[i]`.
///
/// The same cutoff at every threshold gives the curve of a fixed cutoff, [`risk_cutoffs`] that of a risk model.
///
/// # Formula
///
/// [`net_benefit`] with weights in place of counts.
///
/// # Missing data and ties
///
/// People whose outcome is unknown must not be in the sample. A person at the cutoff is positive.
///
/// # Errors
///
/// [`StatError::Length`] if cutoffs and thresholds differ in number, [`StatError::Parameter`] for a
/// threshold outside [0, 1), [`StatError::OneClass`] for an empty class; what [`Sample::check`] refuses.
pub fn decision_curve(
    sample: &Sample,
    class: &[bool],
    cutoffs: &[f64],
    threshold_probabilities: &[f64],
) -> Result<Vec<f64>, StatError> {
    let sums = positives(sample, class, cutoffs, threshold_probabilities)?;
    let units = sums.1;
    let once = Replicates::once(units);
    Ok(curves(&sums.0.replicate_totals(&once), threshold_probabilities).into_iter().map(|nb| nb[0]).collect())
}

/// The decision curve in every replicate: one vector per threshold, one entry per replicate.
///
/// Cutoffs are held: those of a risk model are not fitted again, so that the spread is that of the curve in
/// the population for the given decision rule.
///
/// # Missing data and ties
///
/// `NaN` where nobody has weight.
///
/// # Errors
///
/// As for [`decision_curve`].
pub fn decision_curve_replicates(
    sample: &Sample,
    class: &[bool],
    cutoffs: &[f64],
    threshold_probabilities: &[f64],
    replicates: &Replicates,
) -> Result<Vec<Vec<f64>>, StatError> {
    let (sums, _) = positives(sample, class, cutoffs, threshold_probabilities)?;
    Ok(curves(&sums.replicate_totals(replicates), threshold_probabilities))
}

/// Pointwise bands around a curve from its replicates; none where every replicate failed.
///
/// # Formula
///
/// [`Replicates::interval`] at each point of the curve, whatever `full` of `centre`.
///
/// # Errors
///
/// As for [`Replicates::interval`].
pub fn bands(
    curve: &[f64],
    of_points: &[Vec<f64>],
    replicates: &Replicates,
    centre: Centre,
) -> Result<Vec<Option<Interval>>, StatError> {
    let band = |(&full, point): (&f64, &Vec<f64>)| {
        if point.iter().all(|value| value.is_nan()) {
            return Ok(None);
        }
        replicates.interval(point, Centre { full, ..centre }).map(Some)
    };
    curve.iter().zip(of_points).map(band).collect()
}

/// Weights of true and false positives at each cutoff, then of everybody, by unit; and the number of units.
fn positives(
    sample: &Sample,
    class: &[bool],
    cutoffs: &[f64],
    thresholds: &[f64],
) -> Result<(UnitSums, usize), StatError> {
    sample.check()?;
    class_weights(sample, class)?;
    if cutoffs.len() != thresholds.len() {
        return Err(StatError::Length(cutoffs.len(), thresholds.len()));
    }
    thresholds.iter().try_for_each(|&t| check_threshold(t))?;
    let units = sample.units();
    let mut sums = UnitSums::new(2 * cutoffs.len() + 1, units);
    for (row, &unit) in sample.unit.iter().enumerate() {
        let weight = sample.weight[row];
        sums.add(2 * cutoffs.len(), unit, weight);
        for (position, cutoff) in cutoffs.iter().enumerate() {
            if sample.value[row] >= *cutoff {
                sums.add(2 * position + usize::from(!class[row]), unit, weight);
            }
        }
    }
    Ok((sums, units))
}

fn curves(totals: &[Vec<f64>], thresholds: &[f64]) -> Vec<Vec<f64>> {
    let everybody = &totals[2 * thresholds.len()];
    let at = |(position, t): (usize, &f64)| {
        let (with, without) = (&totals[2 * position], &totals[2 * position + 1]);
        let each = with.iter().zip(without).zip(everybody);
        each.map(|((with, without), all)| (with - without * odds(*t)) / all).collect()
    };
    thresholds.iter().enumerate().map(at).collect()
}

fn check_threshold(value: f64) -> Result<(), StatError> {
    if (0.0..1.0).contains(&value) {
        Ok(())
    } else {
        Err(StatError::Parameter { what: "threshold probability", range: "[0, 1)", value })
    }
}

fn odds(probability: f64) -> f64 {
    probability / (1.0 - probability)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::replicate::BOOTSTRAP;
    use crate::stats::{Design, LonelyPsu};

    fn mini() -> (Sample, [bool; 8]) {
        let value = [1.2, 2.5, 2.5, 3.1, 4.8, 6.0, 7.7, 9.9];
        let weight = [3.0, 1.0, 2.0, 4.0, 2.0, 5.0, 1.0, 2.0];
        let sample = Sample::from_people(&value, &weight, &[0, 0, 1, 1, 2, 2, 3, 3]).expect("usable rows");
        (sample, [false, false, true, false, true, true, false, true])
    }

    #[test]
    fn worked_values() {
        let counted = [(0.1, 0.216_322_5), (0.2, 0.199_115_0), (0.363, 0.159_486_5), (0.5, 0.106_194_7)];
        for (t, want) in counted {
            let got = net_benefit(26.0, 14.0, 113.0, t).expect("counts");
            assert!((got - want).abs() < 1e-7, "{t}: {got}");
        }
        let everybody = [(0.1, 0.292_035_4), (0.2, 0.203_539_8), (0.363, -0.000_264_0), (0.5, -0.274_336_3)];
        for (t, want) in everybody {
            let got = treat_all(41.0 / 113.0, t).expect("a prevalence");
            assert!((got - want).abs() < 1e-7, "{t}: {got}");
        }
    }

    #[test]
    fn a_curve_by_hand() {
        // At 4.8 and beyond: 2 + 5 + 2 = 9 with, 1 without, of 20. Everybody: 11 with, 9 without.
        let (sample, class) = mini();
        let got = decision_curve(&sample, &class, &[4.8, 4.8, 0.0], &[0.0, 0.5, 0.5]).expect("fits");
        for (got, want) in got.iter().zip([9.0 / 20.0, 8.0 / 20.0, 2.0 / 20.0]) {
            assert!((got - want).abs() < 1e-15, "{got} {want}");
        }
        assert!((got[2] - treat_all(0.55, 0.5).expect("a prevalence")).abs() < 1e-15);
    }

    #[test]
    fn replicates_move_the_curve_and_give_bands() {
        let (sample, class) = mini();
        let design = Design::new(vec![0, 0, 1, 1], None, LonelyPsu::Fail).expect("pairs");
        let mut replicates = Replicates::jackknife(&design).expect("pairs");
        replicates.factors.iter_mut().skip(3).step_by(4).for_each(|factor| *factor = 0.0);
        let got = decision_curve_replicates(&sample, &class, &[4.8], &[0.5], &replicates).expect("fits");
        // Without unit 0: unit 1 doubled to 12, units 2 and 3 as they are: (9 − 1) / (12 + 7 + 3).
        assert!((got[0][0] - 8.0 / 22.0).abs() < 1e-15, "{got:?}");
        assert!(got[0][3].is_nan(), "nobody left");
        let centre = Centre { full: f64::NAN, df: 2.0, confidence: 0.5 };
        let drawn = Replicates { kind: BOOTSTRAP, ..replicates.clone() };
        // Without unit 1 (4 · 2 + 7 + 3 people) 8/18, without unit 2 (4 + 6 + 3 · 2) 2/16. About 0.4 the variance is
        // ½ (0.0364² + 0.0444² + 0.275²) · 4/3, SE 0.229380; t of 2 degrees of freedom has its quartiles at 0.816497. Of a
        // bootstrap the quartiles by definition 7.
        let quartiles = [(0.212_712, 0.587_288), (0.244_318, 0.404_040)];
        for (replicates, (lower, upper)) in [&replicates, &drawn].into_iter().zip(quartiles) {
            let band =
                bands(&[0.4], &got, replicates, centre).expect("a confidence")[0].expect("three replicates");
            assert!((band.lower - lower).abs() < 1e-6 && (band.upper - upper).abs() < 1e-6, "{band:?}");
            assert_eq!(bands(&[0.4], &[vec![f64::NAN; 4]], replicates, centre), Ok(vec![None]));
            assert!(bands(&[0.4], &got, replicates, Centre { confidence: 50.0, ..centre }).is_err());
        }
    }

    #[test]
    fn bad_input_is_refused() {
        assert!(net_benefit(26.0, 14.0, 113.0, 1.0).is_err());
        assert!(net_benefit(-1.0, 14.0, 113.0, 0.1).is_err());
        assert!(net_benefit(26.0, 14.0, 39.0, 0.1).is_err());
        assert!(treat_all(1.2, 0.1).is_err());
        let (sample, class) = mini();
        assert_eq!(decision_curve(&sample, &class, &[1.0], &[]), Err(StatError::Length(1, 0)));
        assert!(decision_curve(&sample, &class, &[1.0], &[1.0]).is_err());
        let falling = Logistic { intercept: 0.0, slope: -1.0 };
        assert!(matches!(risk_cutoffs(&falling, &[0.5]), Err(StatError::Undefined(_))));
        assert!(risk_cutoffs(&Logistic { intercept: 0.0, slope: 1.0 }, &[0.0]).is_err());
    }
}

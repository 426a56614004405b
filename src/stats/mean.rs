//! Weighted means, geometric means and ratios with linearised standard errors.

use super::interval::{t_on_log, t_plain};
use super::{Design, Interval, Sample, StatError};

/// A mean (or ratio) with its standard error and interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeanEstimate {
    pub value: f64,
    pub standard_error: f64,
    /// Missing with fewer than 1 degree of freedom.
    pub interval: Option<Interval>,
    pub df: f64,
    pub people: u64,
    pub weighted_people: f64,
}

/// Weighted mean of the sample's values, for comparison with other programs.
///
/// # Formula
///
/// `Σ w x / Σ w`, variance [`Design::ratio_variance`] of `x − mean`, interval `± t_df SE`.
///
/// # Errors
///
/// What [`Sample::check`] refuses.
///
/// # Checked against
///
/// R `survey`, `svymean`: `tests/reference/design_mean/`.
pub fn mean(design: &Design, sample: &Sample, confidence: f64) -> Result<MeanEstimate, StatError> {
    sample.check()?;
    let plain = linearised(design, sample, &|row| sample.value[row], &|_| 1.0)?;
    with_interval(plain, |m| t_plain(m.value, m.standard_error, m.df, confidence))
}

/// Weighted geometric mean of the sample's values, the form official tables print for skewed measures.
///
/// # Formula
///
/// ```text
/// GM = exp(Σ w ln x / Σ w)
/// SE = GM · SE(mean of ln x)          delta method
/// interval = exp(mean of ln x ± t_df SE(mean of ln x))
/// ```
///
/// # Units
///
/// The unit of the values, which are on the original scale here, not in resistance order.
///
/// # Errors
///
/// [`StatError::Value`] for a value of zero or below, and what [`Sample::check`] refuses.
///
/// # Checked against
///
/// R `survey`, `svymean(~log(x))` and `svycontrast`: `tests/reference/geometric_mean/`.
pub fn geometric_mean(design: &Design, sample: &Sample, confidence: f64) -> Result<MeanEstimate, StatError> {
    sample.check()?;
    if let Some(row) = sample.value.iter().position(|x| *x <= 0.0) {
        return Err(StatError::Value { row, what: "value in a geometric mean", value: sample.value[row] });
    }
    let on_log = linearised(design, sample, &|row| sample.value[row].ln(), &|_| 1.0)?;
    let value = on_log.value.exp();
    let estimate = MeanEstimate { value, standard_error: value * on_log.standard_error, ..on_log };
    with_interval(estimate, |m| t_on_log(m.value, on_log.standard_error, m.df, confidence))
}

/// Weighted ratio of two quantities, each a function of the row, for comparison with other programs; rows must be persons, or share
/// both quantities, when variance is by people.
///
/// # Formula
///
/// `R = Σ w y / Σ w x`, variance [`Design::ratio_variance_over`] of `y − R x` over `x`.
///
/// # Errors
///
/// [`StatError::Undefined`] for a denominator of zero, and what [`Sample::check`] refuses.
///
/// # Checked against
///
/// R `survey`, `svyratio`: `tests/reference/design_mean/`.
pub fn ratio(
    design: &Design,
    sample: &Sample,
    numerator: &dyn Fn(usize) -> f64,
    denominator: &dyn Fn(usize) -> f64,
    confidence: f64,
) -> Result<MeanEstimate, StatError> {
    sample.check()?;
    let plain = linearised(design, sample, numerator, denominator)?;
    with_interval(plain, |m| t_plain(m.value, m.standard_error, m.df, confidence))
}

/// `Σ w y / Σ w x` and its standard error, without an interval yet.
fn linearised(
    design: &Design,
    sample: &Sample,
    numerator: &dyn Fn(usize) -> f64,
    denominator: &dyn Fn(usize) -> f64,
) -> Result<MeanEstimate, StatError> {
    let weighted =
        |of: &dyn Fn(usize) -> f64| (0..sample.len()).map(|row| sample.weight[row] * of(row)).sum::<f64>();
    let below = weighted(denominator);
    if below == 0.0 {
        return Err(StatError::Undefined("the denominator of the ratio is zero"));
    }
    let value = weighted(numerator) / below;
    let residual = |row: usize| numerator(row) - value * denominator(row);
    let variance = design.ratio_variance_over(sample, &|_| true, denominator, &residual);
    Ok(MeanEstimate {
        value,
        standard_error: variance.sqrt(),
        interval: None,
        df: design.degrees_of_freedom(sample, &|_| true),
        people: sample.people_counted(),
        weighted_people: weighted(&|_| 1.0),
    })
}

/// Adds the interval where there is a degree of freedom for it.
fn with_interval(
    estimate: MeanEstimate,
    interval: impl Fn(&MeanEstimate) -> Result<Interval, StatError>,
) -> Result<MeanEstimate, StatError> {
    let interval = if estimate.df < 1.0 { None } else { Some(interval(&estimate)?) };
    Ok(MeanEstimate { interval, ..estimate })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::LonelyPsu;

    #[test]
    fn means_by_hand() {
        let sample =
            Sample::from_people(&[1.0, 4.0, 16.0], &[1.0, 2.0, 1.0], &[0, 1, 2]).expect("usable rows");
        let design = Design::new(vec![0, 0, 0], None, LonelyPsu::Fail).expect("valid");
        let plain = mean(&design, &sample, 0.95).expect("valid");
        assert_eq!(plain.value, 6.25);
        // z = −5.25, −4.5, 9.75 over 4: 3/2 · (27.5625 + 20.25 + 95.0625) / 16.
        assert!((plain.standard_error - (1.5 * 142.875 / 16.0_f64).sqrt()).abs() < 1e-12);
        let geometric = geometric_mean(&design, &sample, 0.95).expect("positive values");
        assert!((geometric.value - 4.0).abs() < 1e-12);
        let ends = geometric.interval.expect("2 df");
        assert!((ends.lower * ends.upper - 16.0).abs() < 1e-9, "symmetric on the logarithm");
    }

    #[test]
    fn refusals_and_missing_intervals() {
        let sample = Sample::from_people(&[0.0, 1.0], &[1.0, 1.0], &[0, 0]).expect("usable rows");
        let design = Design::new(vec![0], None, LonelyPsu::Certainty).expect("allowed");
        assert_eq!(mean(&design, &sample, 0.95).expect("valid").interval, None);
        assert!(matches!(geometric_mean(&design, &sample, 0.95), Err(StatError::Value { row: 0, .. })));
        assert!(matches!(ratio(&design, &sample, &|_| 1.0, &|_| 0.0, 0.95), Err(StatError::Undefined(_))));
    }
}

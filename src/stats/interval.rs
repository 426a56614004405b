//! From an estimate and its uncertainty to an interval.

use super::StatError;
use super::numeric::between_order_statistics;
use super::special::{self, beta_quantile};

/// Lower and upper end of an interval, in the unit of the estimate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    pub lower: f64,
    pub upper: f64,
}

impl Interval {
    #[must_use]
    pub fn width(&self) -> f64 {
        self.upper - self.lower
    }

    #[must_use]
    pub fn contains(&self, x: f64) -> bool {
        self.lower <= x && x <= self.upper
    }
}

/// Quantile of Student's t with `df` degrees of freedom (any positive number; infinite gives the normal).
#[must_use]
pub fn t_quantile(p: f64, df: f64) -> f64 {
    let normal = normal_quantile(p);
    if df.is_infinite() { normal } else { special::t_quantile(p, df, normal) }
}

/// Quantile of the standard normal distribution.
#[must_use]
pub fn normal_quantile(p: f64) -> f64 {
    special::normal_quantile(p)
}

/// The t that a two-sided interval of this confidence uses.
///
/// # Errors
///
/// [`StatError::Parameter`] for a confidence outside (0, 1), [`StatError::Undefined`] for fewer than 1 degree of freedom.
pub fn two_sided_t(df: f64, confidence: f64) -> Result<f64, StatError> {
    check_confidence(confidence)?;
    if df >= 1.0 {
        Ok(t_quantile(0.5 + confidence / 2.0, df))
    } else {
        Err(StatError::Undefined("fewer than 1 degree of freedom"))
    }
}

/// Interval from the spread of replicate estimates: their central share.
///
/// # Formula
///
/// Quantiles `(1 − confidence)/2` and `(1 + confidence)/2` of the replicates, unweighted, by definition 7 of
/// Hyndman and Fan: straight lines between order statistics, `h = (m − 1) p + 1`.
///
/// # Missing data and ties
///
/// `NaN` marks a replicate that failed and is left out; the caller reports how many.
///
/// # Errors
///
/// [`StatError::Empty`] if no replicate succeeded, [`StatError::Parameter`] for a confidence outside (0, 1).
///
/// # Source
///
/// Hyndman and Fan 1996, Am Stat 50:361–365.
pub fn percentile_of_replicates(replicates: &[f64], confidence: f64) -> Result<Interval, StatError> {
    check_confidence(confidence)?;
    let mut sorted: Vec<f64> = replicates.iter().copied().filter(|x| !x.is_nan()).collect();
    if sorted.is_empty() {
        return Err(StatError::Empty);
    }
    sorted.sort_by(f64::total_cmp);
    let at = |p: f64| between_order_statistics(&sorted, p);
    Ok(Interval { lower: at((1.0 - confidence) / 2.0), upper: at(0.5 + confidence / 2.0) })
}

/// `full ± t · standard_error`.
///
/// # Errors
///
/// [`StatError::Undefined`] without a finite standard error; otherwise as for [`two_sided_t`].
pub fn t_plain(full: f64, standard_error: f64, df: f64, confidence: f64) -> Result<Interval, StatError> {
    if !standard_error.is_finite() {
        return Err(StatError::Undefined("no standard error"));
    }
    let reach = two_sided_t(df, confidence)? * standard_error;
    Ok(Interval { lower: full - reach, upper: full + reach })
}

/// `exp(ln full ± t · SE)`: for a positive quantity whose logarithm has standard error `standard_error_log`.
///
/// # Errors
///
/// [`StatError::Undefined`] for an estimate that is not positive and finite; otherwise as for [`t_plain`].
pub fn t_on_log(full: f64, standard_error_log: f64, df: f64, confidence: f64) -> Result<Interval, StatError> {
    if full <= 0.0 || !full.is_finite() {
        return Err(StatError::Undefined("an interval on the logarithm needs a positive estimate"));
    }
    let log = t_plain(full.ln(), standard_error_log, df, confidence)?;
    Ok(Interval { lower: log.lower.exp(), upper: log.upper.exp() })
}

/// Interval of a share or an AUC on the logit, `ln(x / (1 − x))`, whose standard error is `standard_error_logit`.
///
/// # Errors
///
/// [`StatError::Undefined`] for an estimate that is not strictly between 0 and 1; otherwise as for [`t_plain`].
pub fn t_on_logit(
    full: f64,
    standard_error_logit: f64,
    df: f64,
    confidence: f64,
) -> Result<Interval, StatError> {
    if !(full > 0.0 && full < 1.0) {
        return Err(StatError::Undefined(
            "an interval on the logit needs an estimate strictly between 0 and 1",
        ));
    }
    let ends = t_plain(logit(full), standard_error_logit, df, confidence)?;
    Ok(Interval { lower: expit(ends.lower), upper: expit(ends.upper) })
}

#[must_use]
pub fn logit(p: f64) -> f64 {
    (p / (1.0 - p)).ln()
}

#[must_use]
pub fn expit(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}

/// Exact binomial interval for `events` among `n`; both may be fractions of people.
///
/// # Formula
///
/// ```text
/// lower = B⁻¹(α/2;     x,     n − x + 1)    0 when x = 0
/// upper = B⁻¹(1 − α/2; x + 1, n − x)        1 when x = n
/// ```
///
/// with `B⁻¹` the quantile of the beta distribution.
///
/// # Errors
///
/// [`StatError::Parameter`] for a confidence outside (0, 1), or for events that are negative or more than `n`.
///
/// # Source
///
/// Clopper and Pearson 1934, Biometrika 26:404–413.
pub fn clopper_pearson(events: f64, n: f64, confidence: f64) -> Result<Interval, StatError> {
    check_confidence(confidence)?;
    if !(n > 0.0 && events >= 0.0 && events <= n) {
        return Err(StatError::Parameter {
            what: "number of events",
            range: "[0, n] with n > 0",
            value: events,
        });
    }
    let alpha = 1.0 - confidence;
    let lower = if events == 0.0 { 0.0 } else { beta_quantile(alpha / 2.0, events, n - events + 1.0) };
    let upper = if events == n { 1.0 } else { beta_quantile(1.0 - alpha / 2.0, events + 1.0, n - events) };
    Ok(Interval { lower, upper })
}

fn check_confidence(confidence: f64) -> Result<(), StatError> {
    if confidence > 0.0 && confidence < 1.0 {
        Ok(())
    } else {
        Err(StatError::Parameter { what: "confidence", range: "(0, 1)", value: confidence })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Quantiles are compared with R's to the digits R prints.
    const QUANTILE_TOLERANCE: f64 = 1e-9;

    #[test]
    fn quantiles_of_t_and_normal_agree_with_r() {
        for (df, want) in
            [(1.0, 12.706_204_736_174_7), (16.0, 2.119_905_299_221_25), (7845.0, 1.960_266_423_170_386)]
        {
            assert!(
                (t_quantile(0.975, df) - want).abs() < QUANTILE_TOLERANCE,
                "df {df}: {}",
                t_quantile(0.975, df)
            );
            assert!((t_quantile(0.025, df) + want).abs() < QUANTILE_TOLERANCE);
        }
        assert!((normal_quantile(0.975) - 1.959_963_984_540_05).abs() < QUANTILE_TOLERANCE);
        assert_eq!(t_quantile(0.975, f64::INFINITY), normal_quantile(0.975));
    }

    #[test]
    fn replicates_give_their_central_share() {
        // 0, 1 … 100 in a scrambled order: the 2.5th and 97.5th percentile by definition 7 are 2.5 and 97.5.
        let mut replicates: Vec<f64> = (0..=100).map(|i| f64::from(i * 37 % 101)).collect();
        replicates.push(f64::NAN);
        let got = percentile_of_replicates(&replicates, 0.95).expect("101 replicates");
        assert!((got.lower - 2.5).abs() < 1e-12 && (got.upper - 97.5).abs() < 1e-12, "{got:?}");
        assert_eq!(percentile_of_replicates(&[f64::NAN], 0.95), Err(StatError::Empty));
        assert!(percentile_of_replicates(&replicates, 95.0).is_err());
    }

    #[test]
    fn scales_map_back() {
        let log = t_on_log(2.0, 0.1, f64::INFINITY, 0.95).expect("positive");
        assert!((log.lower * log.upper - 4.0).abs() < 1e-12, "symmetric on the logarithm");
        // 2 exp(1.959964 × 0.1) = 2.433045.
        assert!((log.upper - 2.433_045).abs() < 1e-6, "{log:?}");
        let logit = t_on_logit(0.5, 0.3, 10.0, 0.95).expect("inside");
        assert!((logit.lower + logit.upper - 1.0).abs() < 1e-12, "symmetric about one half");
        // t of 10 degrees of freedom is 2.228139: 1 / (1 + exp(−2.228139 × 0.3)) = 0.661154.
        assert!((logit.upper - 0.661_154).abs() < 1e-6, "{logit:?}");
        assert!(t_on_log(0.0, 0.1, 10.0, 0.95).is_err());
        assert!(t_on_logit(1.0, 0.1, 10.0, 0.95).is_err());
        for df in [0.0, 0.5, 1.0 - f64::EPSILON] {
            let few = Err(StatError::Undefined("fewer than 1 degree of freedom"));
            assert_eq!(t_plain(1.0, 0.1, df, 0.95), few, "{df}");
        }
        // t of 1 degree of freedom is tan(0.475 π) = 12.706205.
        let one = t_plain(1.0, 0.1, 1.0, 0.95).expect("enough");
        assert!((one.upper - 2.270_620_5).abs() < 1e-6, "{one:?}");
        assert!(t_plain(1.0, f64::NAN, 5.0, 0.95).is_err(), "every replicate failed");
    }

    #[test]
    fn exact_binomial_interval_by_hand() {
        // 0 of 10: upper end solves (1 − p)^10 = 0.025, so p = 1 − 0.025^(1/10).
        let none = clopper_pearson(0.0, 10.0, 0.95).expect("valid");
        assert_eq!(none.lower, 0.0);
        assert!((none.upper - (1.0 - 0.025_f64.powf(0.1))).abs() < 1e-12);
        let all = clopper_pearson(10.0, 10.0, 0.95).expect("valid");
        assert_eq!(all.upper, 1.0);
        assert!((all.lower + none.upper - 1.0).abs() < 1e-12);
        assert!(clopper_pearson(11.0, 10.0, 0.95).is_err());
    }

    #[test]
    fn an_interval_of_nearly_everybody_ends_at_one() {
        // The upper end solves (1 − u)^b ≈ 0.025 with b = n − events of 0.1 or less: u is 1 to sixteen digits.
        for (events, n) in [(99.97, 100.0), (99.9, 100.0), (39.99, 40.0), (299.95, 300.0)] {
            let most = clopper_pearson(events, n, 0.95).expect("valid");
            assert!(most.upper <= 1.0 && most.upper > 1.0 - 1e-9, "{events} of {n}: {most:?}");
            let fewest = clopper_pearson(n - events, n, 0.95).expect("valid");
            assert!(fewest.lower >= 0.0 && fewest.lower < 1e-9, "{events} of {n}: {fewest:?}");
        }
    }
}

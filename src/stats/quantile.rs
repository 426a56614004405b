//! Weighted quantiles and Woodruff's interval for them.

use super::interval::{expit, logit, two_sided_t};
use super::sample::check_rows;
use super::{Design, Interval, Sample, StatError};

/// Slack when the distribution function is compared with `p`: rounding in a running sum must not move
/// the answer by one observation.
pub(super) const RELATIVE_SLACK: f64 = 1e-12;

/// How a quantile lies between observed values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum QuantileRule {
    /// Smallest observed value at which the distribution function reaches `p`; no interpolation.
    Step,
    /// Definition 6 of Hyndman and Fan, position `p (n + 1)`, weighted; for comparison with other programs.
    HyndmanFan6,
    /// Definition 7 of Hyndman and Fan, position `p (n − 1) + 1`, weighted; for comparison with other programs.
    HyndmanFan7,
}

/// Scale on which Woodruff's interval for the share is symmetric.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WoodruffScale {
    Logit,
    /// The share itself, for comparison with other programs.
    Linear,
}

/// A quantile with its interval, or the reason why there is none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct QuantileEstimate {
    pub value: f64,
    pub interval: Option<Interval>,
    /// Width of the interval over twice its t.
    pub standard_error: Option<f64>,
    pub df: f64,
    /// Why the interval is missing.
    pub reason: Option<&'static str>,
}

/// Weighted quantile of `values` at probability `p`: the smallest observed
/// value at which the weighted distribution function reaches `p`.
///
/// # Formula
///
/// ```text
/// F(x) = Σ wᵢ·[xᵢ ≤ x] / Σ wᵢ
/// Q(p) = min { xᵢ : wᵢ > 0 and F(xᵢ) ≥ p }
/// ```
///
/// where `xᵢ` is a value and `wᵢ` its survey weight. No interpolation: the
/// answer is always an observed value.
///
/// # Units
///
/// The result is in the unit of `values`. `p` is a proportion (0.975, not
/// 97.5). Only ratios of weights matter.
///
/// # Missing data and ties
///
/// Drop missing values before the call; a `NaN` is an error, never skipped.
/// Tied values act as one value carrying their summed weight. A zero weight
/// keeps its row out. `F` is compared with a relative slack of 1e-12, so that
/// rounding in the running sum cannot move the answer by one observation.
///
/// # Errors
///
/// [`StatError`] if the slices are empty or differ in length, a value is
/// not finite, a weight is negative or not finite, all weights are zero, or `p`
/// is outside `(0, 1]`. The row number is in the error.
///
/// # Source
///
/// Hyndman and Fan 1996, Am Stat 50:361–365, definition 1, with counts
/// replaced by weights.
///
/// # Checked against
///
/// R `survey`, `svyquantile(qrule = "math")`: `tests/reference/weighted_quantile/`,
/// exact from the first cumulative share upward; below it this is the smallest value.
///
/// # Examples
///
/// ```
/// # use cutspan::stats::quantile::weighted_quantile;
/// let glucose = [88.0, 92.0, 101.0, 140.0]; // mg/dL
/// let weight = [10.0, 30.0, 40.0, 20.0];
/// assert_eq!(weighted_quantile(&glucose, &weight, 0.40), Ok(92.0));
/// assert_eq!(weighted_quantile(&glucose, &weight, 0.41), Ok(101.0));
/// assert!(weighted_quantile(&glucose, &weight, 40.0).is_err());
/// ```
pub fn weighted_quantile(values: &[f64], weights: &[f64], p: f64) -> Result<f64, StatError> {
    quantile(values, weights, p, QuantileRule::Step)
}

/// Weighted quantile of `values` at probability `p` by a stated rule; each row is one person.
///
/// # Formula
///
/// [`QuantileRule::Step`] as in [`weighted_quantile`]. The others join the points `(p_k, x_k)` by straight
/// lines and are flat beyond the first and last, with `C_k` the running weight and `W` the total:
///
/// ```text
/// Hyndman–Fan 6: p_k = C_k / (W + w_n)
/// Hyndman–Fan 7: p_k = C_{k−1} / (W − w_n)
/// ```
///
/// # Missing data and ties
///
/// As in [`weighted_quantile`]. Tied people keep their places between the first and last of them, each with
/// the mean weight of the tied, so that the order of rows does not matter; `w_n` is the mean weight
/// at the largest value.
///
/// # Errors
///
/// As in [`weighted_quantile`].
///
/// # Source
///
/// Hyndman and Fan 1996, Am Stat 50:361–365; weighted as in the R `survey` package (Lumley).
///
/// # Checked against
///
/// R `survey`, `svyquantile(qrule = "math" | "hf6" | "hf7")`: `tests/reference/weighted_quantile/`.
pub fn quantile(values: &[f64], weights: &[f64], p: f64, rule: QuantileRule) -> Result<f64, StatError> {
    check_rows(values, weights)?;
    check_probability(p)?;
    let mut order: Vec<usize> = (0..values.len()).collect();
    // Tied rows are summed in the order of their weights, so that the order given cannot matter.
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]).then(weights[a].total_cmp(&weights[b])));
    Ok(Steps::new(order.iter().map(|&i| (values[i], weights[i], 1))).quantile(p, rule))
}

/// Quantile of everybody in `sample` with Woodruff's interval.
///
/// # Formula
///
/// ```text
/// q      = Q(p)                  F̂ = share of people at or below q
/// (l, u) = F̂ ± t_df √V(F̂)        on the logit: logit F̂ ± t_df √V / (F̂ (1 − F̂))
/// interval = (Q(l), Q(u))        by the same rule
/// SE = width / (2 t_df)
/// ```
///
/// `V` is the linearised variance of the share; `df` the domain's PSUs minus strata.
///
/// # Missing data and ties
///
/// Centred at `F̂`, not at `p`: with heavy ties the two differ, and `F̂` is what was estimated. No interval
/// if `F̂ = 1` (nobody above: the upper end is unknown), `V = 0`, `df < 1`, or an end on the linear scale
/// lies outside [0, 1].
///
/// # Errors
///
/// [`StatError`] for a sample that [`Sample::check`] refuses and for `p` outside `(0, 1]`.
///
/// # Source
///
/// Woodruff 1952, J Am Stat Assoc 47:635–646.
///
/// # Checked against
///
/// R `survey`, `svyquantile(interval.type = "xlogit" | "mean")`: `tests/reference/woodruff_interval/`.
pub fn woodruff(
    design: &Design,
    sample: &Sample,
    p: f64,
    rule: QuantileRule,
    scale: WoodruffScale,
    confidence: f64,
) -> Result<QuantileEstimate, StatError> {
    sample.check()?;
    check_probability(p)?;
    let rows = (0..sample.len()).map(|i| (sample.value[i], sample.weight[i], sample.people[i]));
    let steps = Steps::new(rows);
    let value = steps.quantile(p, rule);
    let share = steps.share_at_or_below(value);
    let residual = |row: usize| if sample.value[row] <= value { 1.0 - share } else { -share };
    let variance = design.ratio_variance(sample, &|_| true, &residual);
    let df = design.degrees_of_freedom(sample, &|_| true);
    let without =
        |reason| QuantileEstimate { value, interval: None, standard_error: None, df, reason: Some(reason) };
    if df < 1.0 {
        return Ok(without("fewer than 1 degree of freedom"));
    }
    if share >= 1.0 {
        return Ok(without("nobody lies above the percentile"));
    }
    if variance <= 0.0 {
        return Ok(without("the share at or below the percentile does not vary between sampling units"));
    }
    let t = two_sided_t(df, confidence)?;
    let ends = share_interval(share, variance.sqrt() * t, scale);
    if ends.lower < 0.0 || ends.upper > 1.0 {
        return Ok(without("the interval of the share reaches below 0 or above 1"));
    }
    let interval =
        Interval { lower: steps.quantile(ends.lower, rule), upper: steps.quantile(ends.upper, rule) };
    let standard_error = Some(interval.width() / (2.0 * t));
    Ok(QuantileEstimate { value, interval: Some(interval), standard_error, df, reason: None })
}

/// `share ± reach`, on the scale asked for.
fn share_interval(share: f64, reach: f64, scale: WoodruffScale) -> Interval {
    match scale {
        WoodruffScale::Linear => Interval { lower: share - reach, upper: share + reach },
        WoodruffScale::Logit => {
            let centre = logit(share);
            let reach = reach / (share * (1.0 - share));
            Interval { lower: expit(centre - reach), upper: expit(centre + reach) }
        }
    }
}

fn check_probability(p: f64) -> Result<(), StatError> {
    if p > 0.0 && p <= 1.0 {
        Ok(())
    } else {
        Err(StatError::Parameter { what: "probability", range: "(0, 1]", value: p })
    }
}

/// A weighted distribution function: distinct values with positive weight, ascending.
struct Steps {
    value: Vec<f64>,
    /// Weight at or below each value.
    cumulative: Vec<f64>,
    /// Mean weight of one person at each value.
    mean_weight: Vec<f64>,
}

impl Steps {
    /// From rows `(value, weight, people)` sorted by value, at least one with positive weight.
    fn new(rows: impl Iterator<Item = (f64, f64, u32)>) -> Self {
        let mut steps = Self { value: Vec::new(), cumulative: Vec::new(), mean_weight: Vec::new() };
        let (mut total, mut at_value, mut people) = (0.0, 0.0, 0_u32);
        for (value, weight, count) in rows.filter(|row| row.1 > 0.0) {
            if steps.value.last() != Some(&value) {
                steps.value.push(value);
                steps.cumulative.push(0.0);
                steps.mean_weight.push(0.0);
                (at_value, people) = (0.0, 0);
            }
            total += weight;
            at_value += weight;
            people += count;
            let last = steps.value.len() - 1;
            steps.cumulative[last] = total;
            steps.mean_weight[last] = at_value / f64::from(people.max(1));
        }
        steps
    }

    fn last(&self) -> usize {
        self.value.len() - 1
    }

    fn total(&self) -> f64 {
        self.cumulative[self.last()]
    }

    fn share_at_or_below(&self, x: f64) -> f64 {
        match self.value.partition_point(|v| *v <= x) {
            0 => 0.0,
            k => self.cumulative[k - 1] / self.total(),
        }
    }

    /// `p` of 0, the end of an interval, gives the smallest value.
    fn quantile(&self, p: f64, rule: QuantileRule) -> f64 {
        let first = self.mean_weight[0];
        let last = self.mean_weight[self.last()];
        match rule {
            QuantileRule::Step => self.step(p),
            QuantileRule::HyndmanFan6 => self.between(
                p * (self.total() + last),
                |k| match k {
                    0 => first,
                    k => self.cumulative[k - 1] + self.mean_weight[k],
                },
                |k| self.cumulative[k],
            ),
            QuantileRule::HyndmanFan7 => self.between(
                p * (self.total() - last),
                |k| match k {
                    0 => 0.0,
                    k => self.cumulative[k - 1],
                },
                |k| self.cumulative[k] - self.mean_weight[k],
            ),
        }
    }

    fn step(&self, p: f64) -> f64 {
        let enough = p * self.total() * (1.0 - RELATIVE_SLACK);
        let reached = self.cumulative.partition_point(|&c| c < enough);
        self.value[reached.min(self.last())]
    }

    /// Value at running weight `at`, where value `k` holds from `from(k)` to `to(k)` and straight lines
    /// join neighbours.
    fn between(&self, at: f64, from: impl Fn(usize) -> f64, to: impl Fn(usize) -> f64) -> f64 {
        let (mut low, mut high) = (0, self.value.len());
        while low < high {
            let middle = usize::midpoint(low, high);
            if to(middle) < at { low = middle + 1 } else { high = middle }
        }
        if low > self.last() {
            return self.value[self.last()];
        }
        if low == 0 || at >= from(low) {
            return self.value[low];
        }
        let (start, end) = (to(low - 1), from(low));
        let (below, above) = (self.value[low - 1], self.value[low]);
        below + (above - below) * ((at - start) / (end - start)).clamp(0.0, 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::LonelyPsu;

    const TOLERANCE: f64 = 1e-12;

    #[test]
    fn equal_weights_are_the_textbook_rules() {
        // Values 1, 2, 2, 4, 8 at p = 0.3 and 0.9. Definition 6: positions 1.8 and 5.4 (beyond the last).
        // Definition 7: positions 2.2 and 4.6, so 2 and 4 + 0.6 · 4.
        let values = [8.0, 2.0, 1.0, 4.0, 2.0];
        let at = |p, rule| quantile(&values, &[3.0; 5], p, rule).expect("valid");
        assert_eq!(at(0.3, QuantileRule::Step), 2.0);
        assert_eq!(at(0.6, QuantileRule::Step), 2.0);
        assert_eq!(at(0.61, QuantileRule::Step), 4.0);
        assert!((at(0.3, QuantileRule::HyndmanFan6) - 1.8).abs() < TOLERANCE);
        assert_eq!(at(0.9, QuantileRule::HyndmanFan6), 8.0);
        assert_eq!(at(0.3, QuantileRule::HyndmanFan7), 2.0);
        assert!((at(0.9, QuantileRule::HyndmanFan7) - 6.4).abs() < TOLERANCE);
    }

    #[test]
    fn rounding_in_the_running_sum_moves_nothing() {
        // Ten weights of 0.1 sum to 0.9999999999999999; three of them to 0.30000000000000004.
        let values: Vec<f64> = (1..=10).map(f64::from).collect();
        for tenth in 1..=10 {
            let p = f64::from(tenth) / 10.0;
            assert_eq!(weighted_quantile(&values, &[0.1; 10], p), Ok(f64::from(tenth)), "p {p}");
        }
    }

    #[test]
    fn zero_weights_and_bad_input() {
        assert_eq!(weighted_quantile(&[1.0, 2.0, 3.0], &[0.0, 1.0, 0.0], 1e-9), Ok(2.0));
        for p in [0.0, -0.1, 1.1, f64::NAN] {
            assert!(matches!(weighted_quantile(&[1.0], &[1.0], p), Err(StatError::Parameter { .. })));
        }
        assert_eq!(quantile(&[5.0], &[2.0], 0.5, QuantileRule::HyndmanFan7), Ok(5.0));
    }

    #[test]
    fn no_interval_where_there_is_no_information() {
        let estimate = |units: &[u32], strata: Vec<u32>, p: f64| {
            let values: Vec<f64> = (0..units.len()).map(|i| i as f64).collect();
            let sample = Sample::from_people(&values, &vec![1.0; units.len()], units).expect("usable rows");
            let design = Design::new(strata, None, LonelyPsu::Certainty).expect("allowed");
            woodruff(&design, &sample, p, QuantileRule::Step, WoodruffScale::Logit, 0.95).expect("valid")
        };
        assert!(estimate(&[0, 0, 0, 0], vec![0], 0.5).reason.expect("a reason").contains("degree"));
        assert!(estimate(&[0, 1, 0, 1], vec![0, 0], 1.0).reason.expect("a reason").contains("above"));
        assert!(estimate(&[0, 1, 0, 1], vec![0, 0], 0.5).reason.expect("a reason").contains("vary"));
        let whole = estimate(&[0, 0, 1, 2, 1, 2, 3, 3], vec![0; 4], 0.5);
        assert!(whole.interval.expect("an interval").contains(whole.value));
    }
}

//! Reference limits as laboratories define them: unweighted, ignoring the design.

use super::interval::normal_quantile;
use super::special::beta_share;
use super::{Interval, Sample, StatError};

/// People asked for by the standard before limits are set.
pub const ADVISED_PEOPLE: u64 = 120;
/// Below this many people limits are not shown.
pub const FEWEST_PEOPLE: u64 = 40;
/// Confidence of the interval around a limit in the standard.
pub const LIMIT_CONFIDENCE: f64 = 0.90;

/// A nonparametric reference limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReferenceLimit {
    pub value: f64,
    /// Position among the ordered people, a fraction between two of them.
    pub rank: f64,
    /// Ranks of the people whose values bound the limit.
    pub interval_ranks: Option<(u64, u64)>,
    pub interval: Option<Interval>,
    /// Why there is no interval.
    pub reason: Option<&'static str>,
}

/// How far apart two groups are, for the question whether each needs its own limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Partition {
    pub z: f64,
    /// Separate limits are advised above this `z`.
    pub critical_z: f64,
    /// Larger standard deviation over the smaller; separate limits are advised above 1.5.
    pub sd_ratio: f64,
}

/// Nonparametric limit at proportion `p` (0.025 and 0.975 for the usual pair), with a rank interval.
///
/// # Formula
///
/// Value at rank `p (n + 1)` among the ordered people, straight lines between neighbours; the interval is
/// [`rank_interval`].
///
/// # Missing data and ties
///
/// Each person counts once, whatever the weight: the result ignores the design and must be labelled so.
///
/// # Errors
///
/// [`StatError::Undefined`] if `p (n + 1)` lies outside 1 … n; what [`Sample::check`] refuses.
///
/// # Source
///
/// Clinical and Laboratory Standards Institute, EP28-A3c, 2010.
pub fn rank_limit(sample: &Sample, p: f64, confidence: f64) -> Result<ReferenceLimit, StatError> {
    sample.check()?;
    let ranks = Ranks::of(sample);
    let n = ranks.people();
    let rank = p * (n + 1) as f64;
    if !(rank >= 1.0 && rank <= n as f64) {
        return Err(StatError::Undefined(
            "too few people for this limit: its rank lies beyond the first or last",
        ));
    }
    let below = ranks.value(rank.floor() as u64);
    let above = ranks.value(rank.ceil() as u64);
    let interval_ranks = rank_interval(n, p, confidence)?;
    let interval = interval_ranks.map(|(l, u)| Interval { lower: ranks.value(l), upper: ranks.value(u) });
    let reason = interval.is_none().then_some("too few people for a rank interval");
    let value = below + (above - below) * rank.fract();
    Ok(ReferenceLimit { value, rank, interval_ranks, interval, reason })
}

/// Ranks of the ordered people that bound the quantile `p` among `n`, `None` where too few people lie
/// beyond it.
///
/// # Formula
///
/// With `B` binomial `(n, p)`: the largest lower rank `l` with `P(B ≤ l − 1)` and the smallest upper rank
/// `u` with `P(B ≥ u)` at most `(1 − confidence) / 2`.
///
/// # Source
///
/// The definition behind the rank table of Clinical and Laboratory Standards Institute, EP28-A3c, 2010.
///
/// # Checked against
///
/// scipy, `binom`: `tests/reference/reference_limit/`.
pub fn rank_interval(n: u64, p: f64, confidence: f64) -> Result<Option<(u64, u64)>, StatError> {
    if !(confidence > 0.0 && confidence < 1.0) {
        return Err(StatError::Parameter { what: "confidence", range: "(0, 1)", value: confidence });
    }
    if !(p > 0.0 && p < 1.0) {
        return Err(StatError::Parameter { what: "proportion", range: "(0, 1)", value: p });
    }
    let tail = (1.0 - confidence) / 2.0;
    // P(B ≥ k) for k from 1 to n.
    let at_least = |k: u64| beta_share(k as f64, (n - k + 1) as f64, p);
    let lower = first_where(n, |rank| 1.0 - at_least(rank + 1) > tail);
    let upper = first_where(n + 1, |rank| rank > 0 && at_least(rank) <= tail);
    Ok((lower >= 1 && upper <= n).then_some((lower, upper)))
}

/// Log-normal limit at proportion `p`: `exp(m + z_p s)`, with `m` and `s` mean and SD of the logarithms.
///
/// # Errors
///
/// [`StatError::Value`] for a value of zero or below, [`StatError::Undefined`] with fewer than two people.
pub fn log_normal_limit(sample: &Sample, p: f64) -> Result<f64, StatError> {
    sample.check()?;
    if let Some(row) = sample.value.iter().position(|x| *x <= 0.0) {
        return Err(StatError::Value { row, what: "value on a logarithm", value: sample.value[row] });
    }
    let (_, mean, sd) = moments(sample, f64::ln)?;
    Ok((mean + normal_quantile(p) * sd).exp())
}

/// Whether two groups differ enough for separate limits; both samples on the same scale.
///
/// # Formula
///
/// ```text
/// z = |m₁ − m₂| / √(s₁²/n₁ + s₂²/n₂)
/// critical z = 3 √((n₁ + n₂) / 240)
/// ```
///
/// # Errors
///
/// [`StatError::Undefined`] with fewer than two people in a group or a group without spread.
///
/// # Source
///
/// Harris and Boyd 1990, Clin Chem 36:265–270 (from memory; the original was not at hand).
pub fn harris_boyd(a: &Sample, b: &Sample) -> Result<Partition, StatError> {
    a.check()?;
    b.check()?;
    let (n_a, mean_a, sd_a) = moments(a, |x| x)?;
    let (n_b, mean_b, sd_b) = moments(b, |x| x)?;
    if sd_a == 0.0 || sd_b == 0.0 {
        return Err(StatError::Undefined("a group without spread cannot be compared"));
    }
    Ok(Partition {
        z: (mean_a - mean_b).abs() / (sd_a * sd_a / n_a + sd_b * sd_b / n_b).sqrt(),
        critical_z: 3.0 * ((n_a + n_b) / 240.0).sqrt(),
        sd_ratio: sd_a.max(sd_b) / sd_a.min(sd_b),
    })
}

/// Smallest number in `0..end` at which `holds` turns true, `end` if never.
fn first_where(end: u64, holds: impl Fn(u64) -> bool) -> u64 {
    let (mut low, mut high) = (0, end);
    while low < high {
        let middle = u64::midpoint(low, high);
        if holds(middle) { high = middle } else { low = middle + 1 }
    }
    low
}

/// Number of people, unweighted mean and standard deviation of a function of the values.
fn moments(sample: &Sample, of: impl Fn(f64) -> f64) -> Result<(f64, f64, f64), StatError> {
    let rows = || sample.value.iter().zip(&sample.people).map(|(&x, &people)| (of(x), f64::from(people)));
    let n: f64 = rows().map(|(_, people)| people).sum();
    if n < 2.0 {
        return Err(StatError::Undefined("a standard deviation needs two people"));
    }
    let mean = rows().map(|(x, people)| x * people).sum::<f64>() / n;
    let squares: f64 = rows().map(|(x, people)| people * (x - mean) * (x - mean)).sum();
    Ok((n, mean, (squares / (n - 1.0)).sqrt()))
}

/// People in order, counted.
struct Ranks<'a> {
    value: &'a [f64],
    /// People at or before each row.
    cumulative: Vec<u64>,
}

impl<'a> Ranks<'a> {
    fn of(sample: &'a Sample) -> Self {
        let counted = sample.people.iter().scan(0_u64, |sum, &people| {
            *sum += u64::from(people);
            Some(*sum)
        });
        Self { value: &sample.value, cumulative: counted.collect() }
    }

    fn people(&self) -> u64 {
        self.cumulative.last().copied().unwrap_or(0)
    }

    /// Value of the person at a rank from 1 to the number of people.
    fn value(&self, rank: u64) -> f64 {
        self.value[self.cumulative.partition_point(|&c| c < rank)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one_to(n: u32) -> Sample {
        let value: Vec<f64> = (1..=n).map(f64::from).collect();
        Sample::from_people(&value, &vec![1.0; n as usize], &vec![0; n as usize]).expect("usable rows")
    }

    #[test]
    fn limits_of_120_people() {
        // Rank 0.025 · 121 = 3.025; ranks 1 and 7 bound it.
        let low = rank_limit(&one_to(120), 0.025, LIMIT_CONFIDENCE).expect("enough people");
        assert!((low.value - 3.025).abs() < 1e-12 && low.interval_ranks == Some((1, 7)));
        let high = rank_limit(&one_to(120), 0.975, LIMIT_CONFIDENCE).expect("enough people");
        assert!((high.value - 117.975).abs() < 1e-12);
        assert_eq!(high.interval, Some(Interval { lower: 114.0, upper: 120.0 }));
    }

    #[test]
    fn rows_of_several_people_count_each() {
        let mut grouped = one_to(2);
        grouped.people = vec![59, 60];
        // Rank 3 and 117 of 119 people: well inside either value.
        let limit = |p| rank_limit(&grouped, p, LIMIT_CONFIDENCE).expect("enough people").value;
        assert_eq!((limit(0.025), limit(0.5), limit(0.975)), (1.0, 2.0, 2.0));
    }

    #[test]
    fn few_people_have_no_interval_and_fewer_no_limit() {
        let few = rank_limit(&one_to(118), 0.025, LIMIT_CONFIDENCE).expect("a limit");
        assert!(few.interval.is_none() && few.reason.is_some());
        assert!(matches!(rank_limit(&one_to(38), 0.025, LIMIT_CONFIDENCE), Err(StatError::Undefined(_))));
        assert!(rank_interval(120, 2.5, LIMIT_CONFIDENCE).is_err());
    }

    #[test]
    fn log_normal_and_partition_by_hand() {
        // ln 1, ln e², people 1 each: mean 1, SD √2.
        let sample = Sample::from_people(&[1.0, 2.0_f64.exp()], &[1.0, 1.0], &[0, 0]).expect("usable rows");
        let want = (1.0 + 1.959_963_984_540_054 * 2.0_f64.sqrt()).exp();
        assert!((log_normal_limit(&sample, 0.975).expect("positive") - want).abs() < 1e-9 * want);
        let (a, b) = (one_to(120), one_to(120));
        let same = harris_boyd(&a, &b).expect("spread");
        assert_eq!((same.z, same.critical_z, same.sd_ratio), (0.0, 3.0, 1.0));
        let zero = Sample::from_people(&[0.0, 1.0], &[1.0, 1.0], &[0, 0]).expect("usable rows");
        assert!(matches!(log_normal_limit(&zero, 0.5), Err(StatError::Value { row: 0, .. })));
        assert!(matches!(harris_boyd(&a, &one_to(1)), Err(StatError::Undefined(_))));
    }
}

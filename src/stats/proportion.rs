//! Weighted shares with Korn–Graubard intervals, and when not to print one.

use super::interval::{clopper_pearson, t_quantile};
use super::{Design, Interval, Sample, StatError};

/// Below this many people, or effective people, a share is not shown.
const FEWEST_PEOPLE: f64 = 30.0;
/// Below this many degrees of freedom a share is flagged.
const FEWEST_DF: f64 = 8.0;
/// An interval no wider than this is narrow enough whatever the share.
const NARROW: f64 = 0.05;
/// An interval at least this wide says too little whatever the share.
const WIDE: f64 = 0.30;
/// Between the two, width over share decides.
const WIDEST_RELATIVE: f64 = 1.30;
/// Why a share is withheld whose interval is narrow, but not for so small a share.
pub const TOO_WIDE: &str = "interval wider than 130 % of the share";

/// Why a share is flagged that has no variance of its own, so that its people count as drawn singly.
pub const ALL_OR_NONE: &str = "nobody or everybody has the event";

/// A weighted share and what its interval rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    /// Weighted share, a proportion.
    pub p: f64,
    /// Linearised variance of `p`.
    pub variance: f64,
    /// People in the denominator.
    pub people: u64,
    /// People with the event.
    pub events: u64,
    /// Sum of the denominator's weights.
    pub weighted_people: f64,
    /// Size of the simple random sample that would be as precise, at most `people`.
    pub n_effective: f64,
    /// Degrees of freedom of the denominator's domain.
    pub df: f64,
}

/// What the presentation standard says about a share.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reliability {
    Present,
    /// Show it, with a footnote that one minus the share may be unreliable.
    PresentComplementUnreliable,
    /// Show it, with the reason for care.
    Flag(&'static str),
    /// Withhold it, with the reason.
    Suppress(&'static str),
}

/// Weighted share of the rows in the denominator that have the event, with its linearised variance.
///
/// # Formula
///
/// ```text
/// p     = Σ w d y / Σ w d
/// n_eff = min(n, p (1 − p) / V)      n itself if V = 0
/// ```
///
/// `V` is [`Design::ratio_variance`] of `y − p`.
///
/// # Missing data and ties
///
/// Rows outside the denominator stay in the design: their PSUs count in `V`.
///
/// # Errors
///
/// [`StatError::Empty`] with nobody in the denominator, [`StatError::NoWeight`] if they carry no weight, and
/// what [`Sample::check`] refuses.
///
/// # Source
///
/// Korn and Graubard 1998, Surv Methodol 24:193–201.
///
/// # Checked against
///
/// R `survey`, `svymean` and `svyciprop`: `tests/reference/design_share/`.
pub fn share(
    design: &Design,
    sample: &Sample,
    in_denominator: &dyn Fn(usize) -> bool,
    event: &dyn Fn(usize) -> bool,
) -> Result<Share, StatError> {
    share_with_df(sample, design, (in_denominator, event), || {
        design.degrees_of_freedom(sample, in_denominator)
    })
}

/// [`share`] whose degrees of freedom are known, as where shares of the same people follow each other.
pub(super) fn share_with_df(
    sample: &Sample,
    design: &Design,
    (in_denominator, event): (&dyn Fn(usize) -> bool, &dyn Fn(usize) -> bool),
    df: impl FnOnce() -> f64,
) -> Result<Share, StatError> {
    sample.check()?;
    let (mut people, mut events) = (0_u64, 0_u64);
    let (mut weight, mut weight_of_events) = (0.0, 0.0);
    for row in (0..sample.len()).filter(|&row| in_denominator(row)) {
        people += u64::from(sample.people[row]);
        weight += sample.weight[row];
        if event(row) {
            events += u64::from(sample.people[row]);
            weight_of_events += sample.weight[row];
        }
    }
    if people == 0 {
        return Err(StatError::Empty);
    }
    if weight == 0.0 {
        return Err(StatError::NoWeight);
    }
    let p = weight_of_events / weight;
    let residual = |row: usize| if event(row) { 1.0 - p } else { -p };
    let variance = design.ratio_variance(sample, in_denominator, &residual);
    let n_effective = (uncapped_effective(p, variance).unwrap_or(f64::INFINITY)).min(people as f64);
    Ok(Share { p, variance, people, events, weighted_people: weight, n_effective, df: df() })
}

/// `p (1 − p) / V`; none where the variance or the share leaves nothing to compare.
fn uncapped_effective(p: f64, variance: f64) -> Option<f64> {
    let binomial = p * (1.0 - p);
    (variance > 0.0 && binomial > 0.0).then(|| binomial / variance)
}

/// Whether an interval is too wide for its share, a share of nobody having no relative width.
fn too_wide(width: f64, share: f64) -> bool {
    width > NARROW && share > 0.0 && width > WIDEST_RELATIVE * share
}

impl Share {
    #[must_use]
    pub fn standard_error(&self) -> f64 {
        self.variance.sqrt()
    }

    /// Korn–Graubard interval: exact binomial on the effective number of people, never more than there are.
    ///
    /// # Formula
    ///
    /// ```text
    /// n* = min(n, n_eff (t_{n−1} / t_df)²)
    /// Clopper–Pearson with p n* events among n*
    /// ```
    ///
    /// # Errors
    ///
    /// [`StatError::Undefined`] with fewer than two people or one degree of freedom.
    ///
    /// # Source
    ///
    /// Korn and Graubard 1998, Surv Methodol 24:193–201; the cap as in the presentation standards of the
    /// National Center for Health Statistics (Parker and others 2017, Vital Health Stat 2(175)).
    ///
    /// # Checked against
    ///
    /// The uncapped form, from which it differs only by the cap, against R `survey`.
    pub fn korn_graubard(&self, confidence: f64) -> Result<Interval, StatError> {
        let n = (self.n_effective * self.t_ratio_squared(confidence)?).min(self.people as f64);
        clopper_pearson(self.p * n, n, confidence)
    }

    /// The same without either cap at the number of people, for comparison with other programs: the form of R `svyciprop(method = "beta")`.
    pub fn korn_graubard_uncapped(&self, confidence: f64) -> Result<Interval, StatError> {
        let effective = uncapped_effective(self.p, self.variance).unwrap_or(self.people as f64);
        let n = effective * self.t_ratio_squared(confidence)?;
        clopper_pearson(self.p * n, n, confidence)
    }

    /// `(t_{n−1} / t_df)²`: how far few sampling units shrink the effective number of people.
    fn t_ratio_squared(&self, confidence: f64) -> Result<f64, StatError> {
        if self.people < 2 || self.df < 1.0 {
            return Err(StatError::Undefined("fewer than 1 degree of freedom"));
        }
        let upper = 0.5 + confidence / 2.0;
        Ok((t_quantile(upper, self.people as f64 - 1.0) / t_quantile(upper, self.df)).powi(2))
    }

    /// Whether the share of everybody else, with the same interval turned round, is too unsure to be shown.
    #[must_use]
    pub fn complement_too_wide(&self, interval: Interval) -> bool {
        too_wide(interval.width(), 1.0 - self.p)
    }

    /// Whether a share with this interval may be shown.
    ///
    /// # Formula
    ///
    /// Withheld with fewer than 30 people or effective people, a width of 0.30 or more, or, when wider than
    /// 0.05, a width above 130 % of the share. Flagged with no events, only events, or fewer than 8 degrees
    /// of freedom. A share without events has no relative width. The complement is held to the same
    /// relative width, with a footnote when it alone fails.
    ///
    /// # Source
    ///
    /// Parker and others 2017, Vital Health Stat 2(175), National Center for Health Statistics.
    #[must_use]
    pub fn reliability(&self, interval: Interval) -> Reliability {
        let width = interval.width();
        if (self.people as f64) < FEWEST_PEOPLE {
            Reliability::Suppress("fewer than 30 people")
        } else if self.n_effective < FEWEST_PEOPLE {
            Reliability::Suppress("effective number of people below 30")
        } else if width >= WIDE {
            Reliability::Suppress("interval 30 percentage points wide or wider")
        } else if too_wide(width, self.p) {
            Reliability::Suppress(TOO_WIDE)
        } else if self.events == 0 || self.events == self.people {
            Reliability::Flag(ALL_OR_NONE)
        } else if self.df < FEWEST_DF {
            Reliability::Flag("fewer than 8 degrees of freedom")
        } else if self.complement_too_wide(interval) {
            Reliability::PresentComplementUnreliable
        } else {
            Reliability::Present
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::LonelyPsu;

    fn hundred(events: u64) -> Share {
        let p = events as f64 / 100.0;
        let variance = p * (1.0 - p) / 100.0;
        Share { p, variance, people: 100, events, weighted_people: 1000.0, n_effective: 100.0, df: 20.0 }
    }

    #[test]
    fn share_by_hand() {
        // Weights 1, 2, 3, 4, events in rows 1 and 3, row 0 outside: p = (2 + 4) / (2 + 3 + 4).
        let people = Sample::from_people(&[1.0, 2.0, 3.0, 4.0], &[1.0, 2.0, 3.0, 4.0], &[0, 1, 2, 3])
            .expect("usable rows");
        let design = Design::new(vec![0; 4], None, LonelyPsu::Fail).expect("one stratum");
        let got = share(&design, &people, &|row| row > 0, &|row| row % 2 == 1).expect("people with weight");
        assert!((got.p - 6.0 / 9.0).abs() < 1e-15);
        assert_eq!((got.people, got.events, got.weighted_people, got.df), (3, 2, 9.0, 2.0));
        // z = 0, 2/27, −2/9·… : residuals 1/3, −2/3, 1/3 times 2, 3, 4 over 9: 2/27, −6/27, 4/27, sum 0.
        let want = 4.0 / 3.0 * (4.0 + 36.0 + 16.0) / (27.0 * 27.0);
        assert!((got.variance - want).abs() < 1e-15, "{}", got.variance);
        assert_eq!(share(&design, &people, &|_| false, &|_| true), Err(StatError::Empty));
    }

    #[test]
    fn the_cap_never_widens_beyond_the_people() {
        let lucky = Share { variance: 1e-6, ..hundred(40) };
        let capped = lucky.korn_graubard(0.95).expect("defined");
        let uncapped = lucky.korn_graubard_uncapped(0.95).expect("defined");
        assert!(uncapped.width() < capped.width());
        let nobody = Share { variance: 0.0, ..hundred(0) };
        assert_eq!(nobody.korn_graubard(0.95).expect("defined").lower, 0.0);
        assert!(Share { df: 0.0, ..hundred(40) }.korn_graubard(0.95).is_err());
    }

    #[test]
    fn each_presentation_rule_is_met_once() {
        let with = |share: Share, lower: f64, upper: f64| share.reliability(Interval { lower, upper });
        assert_eq!(with(hundred(40), 0.38, 0.42), Reliability::Present);
        let few = Reliability::Suppress("fewer than 30 people");
        assert_eq!(with(Share { people: 29, ..hundred(40) }, 0.38, 0.42), few);
        let few = Reliability::Suppress("effective number of people below 30");
        assert_eq!(with(Share { n_effective: 29.9, ..hundred(40) }, 0.38, 0.42), few);
        let wide = Reliability::Suppress("interval 30 percentage points wide or wider");
        assert_eq!(with(hundred(40), 0.25, 0.55), wide);
        assert_eq!(with(hundred(5), 0.02, 0.09), Reliability::Suppress(TOO_WIDE));
        assert_eq!(with(hundred(5), 0.02, 0.08), Reliability::Present);
        assert_eq!(with(hundred(95), 0.90, 0.97), Reliability::PresentComplementUnreliable);
        // 0.07 is wider than 1.3 times the 0.05 of the others; 0.06 is not.
        assert!(hundred(95).complement_too_wide(Interval { lower: 0.90, upper: 0.97 }));
        assert!(!hundred(95).complement_too_wide(Interval { lower: 0.91, upper: 0.97 }));
        let all_or_none = Reliability::Flag(ALL_OR_NONE);
        assert_eq!(with(hundred(0), 0.0, 0.04), all_or_none);
        assert_eq!(with(hundred(0), 0.0, 0.10), all_or_none);
        let loose = Reliability::Flag("fewer than 8 degrees of freedom");
        assert_eq!(with(Share { df: 7.0, ..hundred(40) }, 0.38, 0.42), loose);
    }
}

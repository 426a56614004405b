//! Whether a claim holds: per group by its whole interval, for all groups together by Holm's method.

use crate::stats::StatError;
use crate::stats::interval::Interval;
use crate::stats::multiplicity::holm_of_tested;

/// The smallest p value that is told apart from 0.
const SMALLEST: f64 = 1e-6;
/// Halvings of the search for a p value; leaves it right to nine digits.
const HALVINGS: usize = 40;

/// The values with which a claim is true, ends included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Region {
    pub from: f64,
    pub to: f64,
}

/// What can be said of a claim.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Finding {
    Holds,
    Fails,
    Undecided,
    /// The estimate is withheld, and its interval may not speak for it.
    CannotTell,
}

impl Finding {
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Holds => "holds",
            Self::Fails => "fails",
            Self::Undecided => "undecided",
            Self::CannotTell => "cannot tell",
        }
    }
}

impl Region {
    #[must_use]
    pub fn has(&self, value: f64) -> bool {
        self.from <= value && value <= self.to
    }

    /// Holds when the whole interval is inside, fails when the whole interval is outside, else undecided.
    #[must_use]
    pub fn judge(&self, interval: Interval) -> Finding {
        if self.has(interval.lower) && self.has(interval.upper) {
            Finding::Holds
        } else if interval.upper < self.from || interval.lower > self.to {
            Finding::Fails
        } else {
            Finding::Undecided
        }
    }
}

/// The p value of the whole-interval rule: the smallest α at which the interval with confidence 1 − α
/// still decides.
///
/// # Formula
///
/// ```text
/// p = min { α : the interval with confidence 1 − α lies inside the region, when the estimate does,
///               or outside of it, when the estimate does }
/// ```
///
/// For a one-sided bound this is the two-sided p value of the interval's own test; for a range it is twice
/// the larger of the two one-sided p values. Never below 1e-6.
///
/// # Missing data and ties
///
/// An interval that does not exist at some confidence decides nothing there.
///
/// # Source
///
/// Inversion of an interval into a test: Lehmann and Romano 2005, Testing Statistical Hypotheses, 3rd ed., section 3.5.
#[must_use]
pub fn p_value(region: Region, value: f64, interval: &dyn Fn(f64) -> Option<Interval>) -> f64 {
    let wanted = if region.has(value) { Finding::Holds } else { Finding::Fails };
    let decides = |alpha: f64| interval(1.0 - alpha).is_some_and(|i| region.judge(i) == wanted);
    let (mut no, mut yes) = (SMALLEST.ln(), 0.0_f64);
    if decides(SMALLEST) {
        return SMALLEST;
    }
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(no, yes);
        if decides(middle.exp()) {
            yes = middle;
        } else {
            no = middle;
        }
    }
    yes.exp()
}

/// One group's estimate, ready for a verdict on all groups.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judged {
    /// By the group's own interval.
    pub finding: Finding,
    /// Whether the estimate itself is inside the region.
    pub inside: bool,
    /// `None` when it cannot be told.
    pub p: Option<f64>,
}

/// Holm's p values of the groups, and the verdict on "for all groups".
///
/// # Formula
///
/// The family is the groups that can be judged. With p adjusted by Holm and α = 1 − confidence, a group counts as
/// holding (failing) when its adjusted p is at most α and its estimate is inside (outside) the region. The claim
/// for all groups
///
/// ```text
/// fails        when any group fails
/// holds        when every group holds
/// cannot tell  when every group that can be judged holds, but some cannot
/// undecided    otherwise
/// ```
///
/// # Errors
///
/// [`StatError::Value`] for a p value outside [0, 1].
///
/// # Source
///
/// Holm 1979, Scand J Stat 6:65–70.
pub fn for_all(groups: &[Judged], confidence: f64) -> Result<(Vec<Option<f64>>, Finding), StatError> {
    let raw: Vec<Option<f64>> = groups.iter().map(|g| g.p).collect();
    let p = holm_of_tested(&raw)?;
    // Slack for confidences such as 0.95, whose complement is not exactly 0.05.
    let alpha = 1.0 - confidence + 1e-12;
    let found: Vec<Finding> = groups.iter().zip(&p).map(|(g, p)| by_holm(*g, *p, alpha)).collect();
    let every = |wanted: &[Finding]| !found.is_empty() && found.iter().all(|f| wanted.contains(f));
    let all = if found.contains(&Finding::Fails) {
        Finding::Fails
    } else if every(&[Finding::Holds]) {
        Finding::Holds
    } else if every(&[Finding::Holds, Finding::CannotTell]) || found.is_empty() {
        Finding::CannotTell
    } else {
        Finding::Undecided
    };
    Ok((p, all))
}

fn by_holm(group: Judged, adjusted: Option<f64>, alpha: f64) -> Finding {
    match adjusted {
        None => Finding::CannotTell,
        Some(p) if p > alpha => Finding::Undecided,
        Some(_) if group.inside => Finding::Holds,
        Some(_) => Finding::Fails,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::interval::t_plain;

    const AT_MOST_25: Region = Region { from: f64::NEG_INFINITY, to: 25.0 };

    fn judge(region: Region, lower: f64, upper: f64) -> Finding {
        region.judge(Interval { lower, upper })
    }

    #[test]
    fn the_whole_interval_decides_and_an_end_on_the_bound_satisfies_it() {
        assert_eq!(judge(AT_MOST_25, 14.0, 19.0), Finding::Holds);
        assert_eq!(judge(AT_MOST_25, 14.0, 25.0), Finding::Holds);
        assert_eq!(judge(AT_MOST_25, 14.0, 25.1), Finding::Undecided);
        assert_eq!(judge(AT_MOST_25, 25.0, 40.0), Finding::Undecided);
        assert_eq!(judge(AT_MOST_25, 25.1, 40.0), Finding::Fails);
        let near_two = Region { from: 1.8, to: 2.2 };
        assert_eq!(judge(near_two, 1.8, 2.2), Finding::Holds);
        assert_eq!(judge(near_two, 1.7, 2.3), Finding::Undecided);
        assert_eq!(judge(near_two, 2.1, 2.3), Finding::Undecided);
        assert_eq!(judge(near_two, 2.21, 2.3), Finding::Fails);
        assert_eq!(judge(near_two, 1.0, 1.79), Finding::Fails);
    }

    #[test]
    fn inverting_a_normal_interval_gives_its_p_value() {
        // 20 ± z · 2 against 25: z = 2.5, two-sided p of the normal = 2 · 0.00620967 = 0.0124193.
        let normal = |confidence: f64| t_plain(20.0, 2.0, f64::INFINITY, confidence).ok();
        let p = p_value(AT_MOST_25, 20.0, &normal);
        assert!((p - 0.012_419_330_651_552).abs() < 1e-9, "{p}");
        // The mirror image fails with the same p; a range takes the nearer end: z = 1.
        let above = |confidence: f64| t_plain(30.0, 2.0, f64::INFINITY, confidence).ok();
        assert!((p_value(AT_MOST_25, 30.0, &above) - p).abs() < 1e-12);
        let range = p_value(Region { from: 18.0, to: 25.0 }, 20.0, &normal);
        assert!((range - 0.317_310_507_862_914).abs() < 1e-9, "{range}");
        assert!((p_value(AT_MOST_25, 25.0, &|c| t_plain(25.0, 2.0, 1e9, c).ok()) - 1.0).abs() < 1e-6);
        assert_eq!(p_value(AT_MOST_25, 20.0, &|_| None), 1.0);
    }

    fn group(p: f64, inside: bool) -> Judged {
        Judged { finding: Finding::Undecided, inside, p: Some(p) }
    }

    const WITHHELD: Judged = Judged { finding: Finding::CannotTell, inside: false, p: None };

    #[test]
    fn holm_decides_for_all_groups() {
        let all = |groups: &[Judged]| for_all(groups, 0.95).expect("p values").1;
        // Smallest p times 3, next times 2, last as it is: 0.03, 0.04, 0.05, all at most 0.05.
        assert_eq!(all(&[group(0.01, true), group(0.02, true), group(0.05, true)]), Finding::Holds);
        // 3 · 0.02 = 0.06: nothing is decided, though each group's own interval decides.
        assert_eq!(all(&[group(0.02, true), group(0.03, true), group(0.04, true)]), Finding::Undecided);
        assert_eq!(all(&[group(0.01, true), group(0.02, true), group(0.20, true)]), Finding::Undecided);
        // One failing group is enough, but only after adjusting: 3 · 0.016 = 0.048, 3 · 0.017 = 0.051.
        assert_eq!(all(&[group(0.016, false), group(0.5, true), group(0.6, true)]), Finding::Fails);
        assert_eq!(all(&[group(0.017, false), group(0.5, true), group(0.6, true)]), Finding::Undecided);
        assert_eq!(all(&[group(0.01, true), WITHHELD]), Finding::CannotTell);
        assert_eq!(all(&[group(0.01, false), WITHHELD]), Finding::Fails);
        assert_eq!(all(&[group(0.30, true), WITHHELD]), Finding::Undecided);
        assert_eq!(all(&[WITHHELD]), Finding::CannotTell);
        assert_eq!(all(&[]), Finding::CannotTell);
        let (p, _) = for_all(&[group(0.01, true), WITHHELD, group(0.04, true)], 0.95).expect("p values");
        assert_eq!(p, [Some(0.02), None, Some(0.04)]);
    }
}

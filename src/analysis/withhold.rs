//! When a number is not printed, and why (statistics of reliability, one place).

use super::few_of_class::{few_in_class, nobody};
use super::remark::Remark;
use super::separates;
use crate::stats::Replicates;
use crate::stats::interval::Interval;
use crate::stats::proportion::{Reliability, Share, TOO_WIDE};
use crate::stats::reference_limit::{ADVISED_PEOPLE, FEWEST_PEOPLE};
use crate::stats::replicate_interval::NO_JUMPS;
use crate::study::{Study, Withhold};
use crate::table::small;

/// Fewest people with and without the outcome for an AUC, and below which it is flagged.
pub const AUC_PEOPLE: u64 = 10;
const AUC_FLAG: u64 = 30;
/// Fewest people with and without the outcome for a cutoff.
pub const CUTOFF_PEOPLE: u64 = 30;
/// Fewest people for a percentile, and beyond it on its nearer side.
pub const PERCENTILE_PEOPLE: u64 = 30;
pub const PERCENTILE_BEYOND: i64 = 5;
/// Share of failed replicates that is remarked, and beyond which the interval is withheld.
const FAILED_REMARK: f64 = 0.05;
const FAILED_WITHHELD: f64 = 0.20;
/// Fewer degrees of freedom than this are remarked.
pub const FEW_DF: f64 = 8.0;
/// Why a share is withheld whose other side is too unsure: what a sentence says holds whichever side it states.
pub const OTHER_SIDE: &str = "interval wider than 130 % of the share on the other side";

/// Said of an estimate outside its own interval: a rule that jumps may pick, in nearly every replicate, what it does not pick
/// in the sample.
const OUTSIDE: &str =
    "the estimate lies outside its interval: replicates choose another cutoff than the sample";

/// The rules of this file in words, each with the table of the estimates that it judges.
const RELIABILITY: [(&str, &str); 5] = [
    (
        "threshold_shares",
        "shares by the presentation standard for proportions of the National Center for Health Statistics (Parker et al. \
         2017, Vital Health Stat 2(175))",
    ),
    (
        "percentiles",
        "percentiles of fewer than 30 people, with fewer than 5 people beyond on its nearer side, or without an interval",
    ),
    ("auc", "areas under the ROC curve with fewer than 10 people with or without the outcome"),
    (
        "cutoffs",
        "cutoffs with fewer than 30 people with or without the outcome, or where the interval of the area is not wholly above 0.5",
    ),
    ("cutoffs", "intervals of cutoffs that more than 20 % of the replicates do not have"),
];

/// The rules as a study has them.
#[must_use]
pub fn reliability(study: &Study) -> Vec<(&'static str, String)> {
    let [usual, own] = [PERCENTILE_BEYOND, beyond_percentile(study)].map(fewer_beyond);
    RELIABILITY.iter().map(|(table, rule)| (*table, rule.replace(&usual, &own))).collect()
}

/// Fewest people beyond a percentile on its nearer side: as few as may be shown, where that is stated.
fn beyond_percentile(study: &Study) -> i64 {
    study.fewest_shown().map_or(PERCENTILE_BEYOND, |limit| limit.max(PERCENTILE_BEYOND))
}

fn fewer_beyond(people: i64) -> String {
    format!("fewer than {people} people beyond")
}

/// Reasons to withhold an estimate, and remarks that go with it when it is shown.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Verdict {
    pub withheld: Vec<String>,
    pub remarks: Vec<Remark>,
    /// Whether a reason is that people are few who may not be shown so, or that there is no number at all: a study cannot
    /// choose to flag these.
    pub barred: bool,
}

impl Verdict {
    /// Whether the number is printed under the study's choice.
    #[must_use]
    pub fn shown(&self, study: &Study) -> bool {
        self.withheld.is_empty() || (study.withhold == Withhold::Flag && !self.barred)
    }

    /// The text of the `withheld` column: empty when the number is printed.
    #[must_use]
    pub fn reason(&self, study: &Study) -> String {
        if self.shown(study) { String::new() } else { self.withheld.join("; ") }
    }

    /// The text of the `notices` column; of few people who may not be shown nothing more is said.
    #[must_use]
    pub fn notices(&self, study: &Study) -> String {
        if self.barred {
            return String::new();
        }
        let unreliable =
            self.withheld.iter().filter(|_| self.shown(study)).map(|w| format!("unreliable: {w}"));
        unreliable
            .chain(self.remarks.iter().map(|remark| remark.text(study).to_owned()))
            .collect::<Vec<_>>()
            .join("; ")
    }

    /// Whether nothing speaks against a share but that its interval is wide for so small a share, or for that on the other side.
    #[must_use]
    pub fn only_relatively_wide(&self) -> bool {
        matches!(&*self.withheld, [reason] if [TOO_WIDE, OTHER_SIDE].contains(&&**reason))
    }

    fn withhold(&mut self, when: bool, reason: impl Into<String>) {
        if when {
            self.withheld.push(reason.into());
        }
    }

    /// Of an estimate that cannot be made.
    pub fn none(reason: impl Into<String>) -> Self {
        Self { withheld: vec![reason.into()], remarks: Vec::new(), barred: true }
    }

    /// Withholds for this reason alone: others would tell nobody from a few.
    pub fn bar(&mut self, reason: impl Into<String>) {
        self.withheld = vec![reason.into()];
        self.barred = true;
    }

    /// Adds a reason why there is no number at all, which no study can choose to print.
    pub fn cannot(&mut self, reason: impl Into<String>) {
        self.withheld.push(reason.into());
        self.barred = true;
    }

    fn remark(&mut self, when: bool, remark: impl Into<Remark>) {
        if when {
            self.remarks.push(remark.into());
        }
    }

    /// Remarks few degrees of freedom.
    pub fn few_df(&mut self, df: f64) {
        let few = Remark::numbered(format!("only {df} degrees of freedom"), "few degrees of freedom");
        self.remark(df < FEW_DF, few);
    }

    /// Remarks replicates that say nothing of cutoffs.
    pub fn jumps(&mut self, replicates: &Replicates) {
        self.remark(!replicates.suits_jumps(), NO_JUMPS);
    }

    /// Remarks an estimate that its own interval of replicates does not hold.
    pub fn outside(&mut self, value: f64, interval: Option<Interval>) {
        let misses = |interval: Interval| value.is_finite() && !interval.contains(value);
        self.remark(interval.is_some_and(misses), OUTSIDE);
    }

    /// Small counts of a source whose people may not be shown.
    pub fn small_cell(&mut self, study: &Study, people: u64) {
        if let Some(limit) = too_few(study, people) {
            self.bar(small::reason(limit));
        }
    }

    /// The same where few have the outcome, or few are without it.
    fn small_class(&mut self, study: &Study, with: u64, without: u64) {
        if let Some(limit) = too_few(study, with.min(without)) {
            self.bar(few_in_class(with, without, limit as u64));
        }
    }

    /// Remarks replicates in which some group of several failed, which leaves a test on those where none did.
    pub fn failed_jointly(&mut self, used: usize, all: usize) {
        let failed = 1.0 - used as f64 / all.max(1) as f64;
        let few = if failed > FAILED_WITHHELD { ": the test rests on too few to be trusted" } else { "" };
        let words = |of: &str| format!("in {of} replicates the cutoff of some group failed{few}");
        let remark = Remark::numbered(words(&format!("{} of {all}", all - used)), words("some"));
        self.remark(failed > FAILED_REMARK, remark);
    }

    /// Remarks failed replicates; true when too many failed for an interval.
    pub fn failed(&mut self, used: usize, all: usize) -> bool {
        let failed = 1.0 - used as f64 / all.max(1) as f64;
        let too_many = failed > FAILED_WITHHELD;
        let (some, end) = if too_many { ("too many", ", so no interval") } else { ("some", "") };
        let words = |of: &str| format!("{of} replicates failed{end}");
        let remark = Remark::numbered(words(&format!("{} of {all}", all - used)), words(some));
        self.remark(failed > FAILED_REMARK, remark);
        too_many
    }
}

/// The fewest people that may be shown, where these are fewer; nobody is as few as a few.
pub(super) fn too_few(study: &Study, people: u64) -> Option<i64> {
    study.fewest_shown().filter(|limit| (people as i64) < *limit)
}

/// Decimals of a percentage of people in a remark.
#[must_use]
pub fn decimals(study: &Study) -> usize {
    usize::from(study.fewest_shown().is_none())
}

/// NCHS presentation standard for proportions (Parker 2017, Vital Health Stat 2(175)).
#[must_use]
pub fn share(study: &Study, share: &Share, interval: Interval) -> Verdict {
    let mut verdict = Verdict::default();
    let fewer = share.events.min(share.people.saturating_sub(share.events));
    if let Some(limit) = too_few(study, fewer) {
        verdict.bar(small::reason_of_share(limit));
        verdict.small_cell(study, share.people);
        return verdict;
    }
    match share.reliability(interval) {
        Reliability::Present => {}
        Reliability::PresentComplementUnreliable => {
            verdict.remark(true, "the complement may be unreliable");
        }
        Reliability::Flag(why) => verdict.remark(true, why),
        Reliability::Suppress(why) => verdict.withhold(true, why),
    }
    verdict
}

#[must_use]
pub fn auc(study: &Study, with: u64, without: u64) -> Verdict {
    let fewer = with.min(without);
    let mut verdict = nobody(with, without).map(Verdict::none).unwrap_or_default();
    verdict.withhold((1..AUC_PEOPLE).contains(&fewer), few_in_class(with, without, AUC_PEOPLE));
    verdict.remark(
        (AUC_PEOPLE..AUC_FLAG).contains(&fewer),
        format!("fewer than {AUC_FLAG} people with or without the outcome"),
    );
    verdict.small_class(study, with, without);
    verdict
}

/// `auc` is the interval of the AUC in the same people, if there is one.
#[must_use]
pub fn cutoff(study: &Study, with: u64, without: u64, auc: Option<Interval>) -> Verdict {
    let fewer = with.min(without);
    let mut verdict = nobody(with, without).map(Verdict::none).unwrap_or_default();
    verdict.withhold((1..CUTOFF_PEOPLE).contains(&fewer), few_in_class(with, without, CUTOFF_PEOPLE));
    match auc {
        Some(interval) => verdict.withheld.extend(separates::doubt(interval).map(str::to_owned)),
        None => verdict.withhold(fewer > 0, "the AUC has no interval"),
    }
    verdict.small_class(study, with, without);
    verdict
}

/// Whether there are people enough with and without the outcome for a cutoff.
#[must_use]
pub fn enough_for_cutoff(with: u64, without: u64) -> bool {
    with.min(without) >= CUTOFF_PEOPLE
}

/// Clinical and Laboratory Standards Institute, EP28-A3c, 2010: 120 people are asked for.
#[must_use]
pub fn reference_limits(study: &Study, people: u64) -> Verdict {
    let mut verdict = Verdict::default();
    verdict.withhold(people < FEWEST_PEOPLE, format!("fewer than {FEWEST_PEOPLE} people"));
    verdict.remark(
        (FEWEST_PEOPLE..ADVISED_PEOPLE).contains(&people),
        format!("fewer than the {ADVISED_PEOPLE} people asked for"),
    );
    verdict.small_cell(study, people);
    verdict
}

/// One limit, beyond which as many people must lie as may be shown.
#[must_use]
pub fn reference_limit(study: &Study, people: u64, beyond: u64) -> Verdict {
    let mut verdict = reference_limits(study, people);
    let fewest = too_few(study, beyond);
    if let Some(fewest) = fewest.filter(|_| verdict.withheld.is_empty()) {
        verdict.bar(format!("{} it", fewer_beyond(fewest)));
    }
    verdict
}

/// A percentile with so many people beyond it on its nearer side.
#[must_use]
pub fn percentile(study: &Study, people: u64, beyond: u64, has_interval: Result<(), &str>) -> Verdict {
    let fewest = beyond_percentile(study);
    let few = people >= PERCENTILE_PEOPLE && (beyond as i64) < fewest;
    of_all(study, people, few.then(|| format!("{} it", fewer_beyond(fewest))), has_interval)
}

/// A mean, or another value that lies between all people.
#[must_use]
pub fn mean(study: &Study, people: u64, has_interval: Result<(), &str>) -> Verdict {
    of_all(study, people, None, has_interval)
}

fn of_all(study: &Study, people: u64, few_beyond: Option<String>, has_interval: Result<(), &str>) -> Verdict {
    let mut verdict = Verdict::default();
    verdict.small_cell(study, people);
    if verdict.barred || people == 0 {
        if !verdict.barred {
            verdict.cannot("nobody in the group");
        }
        return verdict;
    }
    verdict.withhold(people < PERCENTILE_PEOPLE, format!("fewer than {PERCENTILE_PEOPLE} people"));
    if few_beyond.is_some() && study.fewest_shown().is_some() {
        verdict.withheld.extend(few_beyond);
        return Verdict { barred: true, ..verdict };
    }
    verdict.withheld.extend(few_beyond);
    if let Err(why) = has_interval {
        verdict.withhold(true, why);
    }
    verdict
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study;

    fn of(public: bool) -> Study {
        let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines/demo.toml");
        Study { public, withhold: Withhold::Withhold, ..study::load(&file).expect("a study") }
    }

    #[test]
    fn where_people_may_not_be_shown_no_remark_counts_them() {
        let remarked = |study: &Study| {
            let mut verdict = Verdict::default();
            verdict.few_df(5.0);
            let too_many = [verdict.failed(90, 100), verdict.failed(70, 100)];
            verdict.failed_jointly(90, 100);
            verdict.remarks.push("the complement may be unreliable".into());
            assert_eq!(too_many, [false, true]);
            verdict.notices(study)
        };
        assert_eq!(
            remarked(&of(true)),
            "only 5 degrees of freedom; 10 of 100 replicates failed; 30 of 100 replicates failed, so no interval; in 10 of 100 \
             replicates the cutoff of some group failed; the complement may be unreliable"
        );
        assert_eq!(
            remarked(&of(false)),
            "few degrees of freedom; some replicates failed; too many replicates failed, so no interval; in some replicates \
             the cutoff of some group failed; the complement may be unreliable"
        );
    }

    #[test]
    fn as_many_lie_beyond_a_percentile_as_may_be_shown() {
        let at = |public, people, beyond| percentile(&of(public), people, beyond, Ok(())).withheld;
        assert!(at(true, 100, 5).is_empty());
        assert_eq!(at(false, 100, 5), ["fewer than 10 people beyond it"]);
        assert!(at(false, 200, 10).is_empty());
        assert_eq!(at(true, 200, 4), ["fewer than 5 people beyond it"], "few, however many there are in all");
        let flagged = Study { withhold: Withhold::Flag, ..of(false) };
        assert!(
            !percentile(&flagged, 100, 5, Ok(())).shown(&flagged),
            "few people are not for a study to flag"
        );
        assert!(percentile(&flagged, 25, 12, Ok(())).shown(&flagged));
        let limit = |public, people, beyond| reference_limit(&of(public), people, beyond).withheld;
        assert!(limit(true, 200, 5).is_empty() && limit(false, 400, 10).is_empty());
        assert_eq!(limit(false, 200, 5), ["fewer than 10 people beyond it"]);
        let mut strict = of(false);
        strict.minimum_cell = 40;
        assert!(mean(&strict, 60, Ok(())).withheld.is_empty(), "a mean has no nearer side");
        assert!(reliability(&strict).iter().any(|(_, rule)| rule.contains("fewer than 40 people beyond")));
        assert!(reliability(&of(true)).iter().any(|(_, rule)| rule.contains("fewer than 5 people beyond")));
    }

    #[test]
    fn a_number_that_cannot_be_made_is_not_called_unreliable() {
        let flagged = Study { withhold: Withhold::Flag, ..of(true) };
        let mut verdict = Verdict::default();
        verdict.withhold(true, "fewer than 30 people");
        assert_eq!((verdict.reason(&flagged), verdict.shown(&flagged)), (String::new(), true));
        verdict.cannot("no bandwidth");
        assert_eq!(verdict.reason(&flagged), "fewer than 30 people; no bandwidth");
        assert!(!verdict.shown(&flagged) && verdict.notices(&flagged).is_empty());
        let nobody = mean(&flagged, 0, Ok(()));
        assert_eq!(nobody.reason(&flagged), "nobody in the group");
    }

    #[test]
    fn an_estimate_outside_its_interval_is_remarked() {
        let remarked = |value, interval| {
            let mut verdict = Verdict::default();
            verdict.outside(value, interval);
            verdict.notices(&of(true))
        };
        let interval = Some(Interval { lower: 7.51, upper: 11.07 });
        assert_eq!(remarked(7.48, interval), OUTSIDE);
        assert!(remarked(7.51, interval).is_empty() && remarked(7.48, None).is_empty());
    }
}

//! When a number is not printed, and why (statistics of reliability, one place).

use crate::stats::Replicates;
use crate::stats::interval::Interval;
use crate::stats::proportion::{Reliability, Share, TOO_WIDE};
use crate::stats::reference_limit::{ADVISED_PEOPLE, FEWEST_PEOPLE};
use crate::stats::replicate_interval::NO_JUMPS;
use crate::study::{Study, Withhold};
use crate::table::small;

/// Fewest people with and without the outcome for an AUC, and below which it is flagged.
const AUC_PEOPLE: u64 = 10;
const AUC_FLAG: u64 = 30;
/// Fewest people with and without the outcome for a cutoff.
const CUTOFF_PEOPLE: u64 = 30;
/// Fewest people for a percentile, and beyond it on its nearer side.
const PERCENTILE_PEOPLE: u64 = 30;
const PERCENTILE_BEYOND: f64 = 5.0;
/// Share of failed replicates that is remarked, and beyond which the interval is withheld.
const FAILED_REMARK: f64 = 0.05;
const FAILED_WITHHELD: f64 = 0.20;
/// Fewer degrees of freedom than this are remarked.
pub const FEW_DF: f64 = 8.0;
/// Why a share is withheld whose other side is too unsure: what a sentence says holds whichever side it states.
pub const OTHER_SIDE: &str = "interval wider than 130 % of the share on the other side";

/// The rules of this file in words, each with the table of the estimates that it judges.
pub const RELIABILITY: [(&str, &str); 5] = [
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
        "cutoffs with fewer than 30 people with or without the outcome, or where the interval of the area includes 0.5",
    ),
    ("cutoffs", "intervals of cutoffs that more than 20 % of the replicates do not have"),
];

/// Reasons to withhold an estimate, and remarks that go with it when it is shown.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Verdict {
    pub withheld: Vec<String>,
    pub remarks: Vec<String>,
}

impl Verdict {
    /// Whether the number is printed under the study's choice.
    #[must_use]
    pub fn shown(&self, study: &Study) -> bool {
        self.withheld.is_empty() || study.withhold == Withhold::Flag
    }

    /// The text of the `withheld` column: empty when the number is printed.
    #[must_use]
    pub fn reason(&self, study: &Study) -> String {
        if self.shown(study) { String::new() } else { self.withheld.join("; ") }
    }

    /// The text of the `notices` column.
    #[must_use]
    pub fn notices(&self, study: &Study) -> String {
        let unreliable =
            self.withheld.iter().filter(|_| self.shown(study)).map(|w| format!("unreliable: {w}"));
        unreliable.chain(self.remarks.iter().cloned()).collect::<Vec<_>>().join("; ")
    }

    /// Whether nothing speaks against a share but that its interval is wide for so small a share, or for so small a share
    /// on the other side.
    #[must_use]
    pub fn only_relatively_wide(&self) -> bool {
        matches!(&*self.withheld, [reason] if [TOO_WIDE, OTHER_SIDE].contains(&&**reason))
    }

    fn withhold(&mut self, when: bool, reason: impl Into<String>) {
        if when {
            self.withheld.push(reason.into());
        }
    }

    fn remark(&mut self, when: bool, remark: impl Into<String>) {
        if when {
            self.remarks.push(remark.into());
        }
    }

    /// Remarks few degrees of freedom.
    pub fn few_df(&mut self, df: f64) {
        self.remark(df < FEW_DF, format!("only {df} degrees of freedom"));
    }

    /// Remarks replicates that say nothing of cutoffs.
    pub fn jumps(&mut self, replicates: &Replicates) {
        self.remark(!replicates.suits_jumps(), NO_JUMPS);
    }

    /// Small counts of a source whose people may not be shown.
    pub fn small_cell(&mut self, study: &Study, people: u64) {
        if let Some(limit) = too_few(study, people) {
            self.withhold(true, small::reason(limit));
        }
    }

    /// The same for several counts, of which none at all says nothing of anybody.
    pub fn small_counts(&mut self, study: &Study, counts: &[u64]) {
        let fewest = counts.iter().copied().filter(|count| *count > 0).min();
        if self.withheld.is_empty()
            && let Some(fewest) = fewest
        {
            self.small_cell(study, fewest);
        }
    }

    /// Remarks replicates in which some group of several failed, which leaves a test on those where none did.
    pub fn failed_jointly(&mut self, used: usize, all: usize) {
        let failed = 1.0 - used as f64 / all.max(1) as f64;
        let few = if failed > FAILED_WITHHELD { ": the test rests on too few to be trusted" } else { "" };
        self.remark(
            failed > FAILED_REMARK,
            format!("in {} of {all} replicates the cutoff of some group failed{few}", all - used),
        );
    }

    /// Remarks failed replicates; true when too many failed for an interval.
    pub fn failed(&mut self, used: usize, all: usize) -> bool {
        let failed = 1.0 - used as f64 / all.max(1) as f64;
        let too_many = failed > FAILED_WITHHELD;
        self.remark(
            failed > FAILED_REMARK,
            format!(
                "{} of {all} replicates failed{}",
                all - used,
                if too_many { ", so no interval" } else { "" }
            ),
        );
        too_many
    }
}

/// The fewest people that may be shown, where these are fewer.
fn too_few(study: &Study, people: u64) -> Option<i64> {
    study.fewest_shown().filter(|limit| (people as i64) < *limit)
}

/// NCHS presentation standard for proportions (Parker 2017, Vital Health Stat 2(175)).
#[must_use]
pub fn share(study: &Study, share: &Share, interval: Interval) -> Verdict {
    let mut verdict = Verdict::default();
    match share.reliability(interval) {
        Reliability::Present => {}
        Reliability::PresentComplementUnreliable => {
            verdict.remark(true, "the complement may be unreliable");
        }
        Reliability::Flag(why) => verdict.remark(true, why),
        Reliability::Suppress(why) => verdict.withhold(true, why),
    }
    verdict.small_cell(study, share.people);
    verdict
}

/// Why a share of so many people has no interval.
#[must_use]
pub fn no_interval(study: &Study, people: u64) -> String {
    if people == 0 {
        "nobody to judge it by".to_owned()
    } else if let Some(limit) = too_few(study, people) {
        format!("{} to judge it by", small::reason(limit))
    } else if people < PERCENTILE_PEOPLE {
        format!("only {people} {} to judge it by", if people == 1 { "person" } else { "people" })
    } else {
        "all its people come from one sampling unit".to_owned()
    }
}

#[must_use]
pub fn auc(study: &Study, with: u64, without: u64) -> Verdict {
    let mut verdict = Verdict::default();
    let fewer = with.min(without);
    verdict.withhold(fewer < AUC_PEOPLE, few_in_class(with, without, AUC_PEOPLE));
    verdict.remark(
        (AUC_PEOPLE..AUC_FLAG).contains(&fewer),
        format!("fewer than {AUC_FLAG} people with or without the outcome"),
    );
    verdict.small_cell(study, fewer);
    verdict
}

/// `auc` is the interval of the AUC in the same people, if there is one.
#[must_use]
pub fn cutoff(study: &Study, with: u64, without: u64, auc: Option<Interval>) -> Verdict {
    let mut verdict = Verdict::default();
    verdict.withhold(with.min(without) < CUTOFF_PEOPLE, few_in_class(with, without, CUTOFF_PEOPLE));
    match auc {
        Some(interval) => verdict
            .withhold(interval.lower <= 0.5 && interval.upper >= 0.5, "the interval of the AUC includes 0.5"),
        None => verdict.withhold(true, "the AUC has no interval"),
    }
    verdict.small_cell(study, with.min(without));
    verdict
}

/// Whether there are people enough with and without the outcome for a cutoff.
#[must_use]
pub fn enough_for_cutoff(with: u64, without: u64) -> bool {
    with.min(without) >= CUTOFF_PEOPLE
}

/// Clinical and Laboratory Standards Institute, EP28-A3c, 2010: 120 people are asked for.
#[must_use]
pub fn reference_limit(study: &Study, people: u64) -> Verdict {
    let mut verdict = Verdict::default();
    verdict.withhold(people < FEWEST_PEOPLE, format!("fewer than {FEWEST_PEOPLE} people"));
    verdict.remark(
        (FEWEST_PEOPLE..ADVISED_PEOPLE).contains(&people),
        format!("fewer than the {ADVISED_PEOPLE} people asked for"),
    );
    verdict.small_cell(study, people);
    verdict
}

fn few_in_class(with: u64, without: u64, least: u64) -> String {
    let which = if with <= without { "with" } else { "without" };
    format!("fewer than {least} people {which} the outcome")
}

/// `beyond`: people on the nearer side of the percentile.
#[must_use]
pub fn percentile(study: &Study, people: u64, p: f64, has_interval: Result<(), &str>) -> Verdict {
    let mut verdict = Verdict::default();
    if people == 0 {
        verdict.withhold(true, "nobody in the group");
        return verdict;
    }
    verdict.withhold(people < PERCENTILE_PEOPLE, format!("fewer than {PERCENTILE_PEOPLE} people"));
    let beyond = people as f64 * p.min(1.0 - p);
    let few = people >= PERCENTILE_PEOPLE && beyond < PERCENTILE_BEYOND;
    verdict.withhold(few, "fewer than 5 people beyond it");
    if let Err(why) = has_interval {
        verdict.withhold(true, why);
    }
    verdict.small_cell(study, people);
    verdict
}

//! The verdict on one group: by its estimate and interval, or by the interval alone.

use super::claim_estimate::{Behind, Estimate};
use super::claim_verdict::{Finding, Judged, Region, p_value};
use super::withhold::FEW_DF;
use crate::stats::interval::Interval;
use crate::study::Study;

/// What a group's own interval says of a claim.
///
/// # Missing data and ties
///
/// Where the estimate is withheld it cannot be told, with one refinement. A share that is withheld only because its interval
/// is wider than 130 % of it, or of the share on the other side, is still judged by that interval: 1 to 7 % satisfies
/// "at most 33 %" as a whole, although 3 % is too uncertain to print. This is not done with fewer than 8 degrees of freedom,
/// with which such an interval is unsure itself, and never where people may not be shown in small counts: there an end of
/// the interval would tell how few they are.
pub fn judge(study: &Study, estimate: &Estimate, region: Region) -> Judged {
    let judged = estimate.verdict.shown(study) || by_interval_alone(study, estimate);
    match (estimate.value.filter(|_| judged), estimate.interval) {
        (Some(value), Some(interval)) => {
            let behind = |confidence: f64| estimate.behind.interval(confidence);
            let p = p_value(region, value, &behind).max(estimate.behind.smallest_p()).min(1.0);
            let finding = region.judge(interval);
            // Of people in small counts a rounded interval is told: where the one behind it says otherwise, neither is concluded.
            let otherwise = |behind: Interval| region.judge(behind) != finding;
            if study.fewest_shown().is_some() && behind(study.confidence).is_some_and(otherwise) {
                let p = Some(p.max(1.0 - study.confidence));
                return Judged { finding: Finding::Undecided, inside: region.has(value), p };
            }
            Judged { finding, inside: region.has(value), p: Some(p) }
        }
        _ => Judged { finding: Finding::CannotTell, inside: false, p: None },
    }
}

/// Whether a share is withheld, but its interval speaks for it; see [`judge`].
fn by_interval_alone(study: &Study, estimate: &Estimate) -> bool {
    !estimate.verdict.shown(study)
        && matches!(estimate.behind, Behind::Share(..))
        && estimate.verdict.only_relatively_wide()
        && estimate.df.is_some_and(|df| df >= FEW_DF)
        && study.fewest_shown().is_none()
}

/// Of a share that is judged by its interval alone, the ends of the interval that decide; `None` for every other estimate.
pub fn told_ends(
    study: &Study,
    estimate: &Estimate,
    (region, finding): (Region, Finding),
) -> Option<[Option<f64>; 2]> {
    let interval = estimate.interval.filter(|_| by_interval_alone(study, estimate))?;
    let [lower, upper] = match finding {
        Finding::Holds => [region.from.is_finite(), region.to.is_finite()],
        Finding::Fails => [interval.lower > region.to, interval.upper < region.from],
        Finding::Undecided | Finding::CannotTell => [false, false],
    };
    Some([lower.then_some(interval.lower), upper.then_some(interval.upper)])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::claim_estimate::Unit;
    use crate::analysis::withhold::{self, OTHER_SIDE, Verdict};
    use crate::stats::proportion::Share;

    const AT_MOST_33: Region = Region { from: f64::NEG_INFINITY, to: 33.0 };
    const AT_LEAST_50: Region = Region { from: 50.0, to: f64::INFINITY };

    /// 6 of 200 people who are worth 150, on 20 degrees of freedom: about 134 count, 0.8 to 7.5 %.
    fn six_of_200() -> Share {
        Share {
            p: 0.03,
            variance: 0.000_194,
            people: 200,
            events: 6,
            weighted_people: 200.0,
            n_effective: 150.0,
            df: 20.0,
        }
    }

    fn study() -> Study {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        crate::study::load(&root.join("demo.toml")).expect("a study")
    }

    fn estimate(study: &Study, share: Share, verdict: Option<Verdict>) -> Estimate {
        let interval = share.korn_graubard(0.95).expect("an interval");
        Estimate {
            threshold: 0,
            population: 0,
            group: 0,
            measure: "share",
            of_outcome: false,
            n: share.people,
            df: Some(share.df),
            value: Some(100.0 * share.p),
            unit: Unit::Percent,
            interval: Behind::Share(share, 100.0).interval(0.95),
            interval_kind: "korn_graubard",
            verdict: verdict.unwrap_or_else(|| withhold::share(study, &share, interval)),
            behind: Behind::Share(share, 100.0),
        }
    }

    #[test]
    fn a_share_too_uncertain_to_print_is_judged_by_its_interval() {
        let study = study();
        let found = |estimate: &Estimate, region: Region| {
            let finding = judge(&study, estimate, region).finding;
            (finding, told_ends(&study, estimate, (region, finding)))
        };
        let low = estimate(&study, six_of_200(), None);
        assert!(!low.verdict.shown(&study) && low.verdict.only_relatively_wide());
        let interval = low.interval.expect("an interval");
        assert!((0.5..1.0).contains(&interval.lower) && (7.0..8.0).contains(&interval.upper), "{interval:?}");
        let upper = Some([None, Some(interval.upper)]);
        assert_eq!(found(&low, AT_MOST_33), (Finding::Holds, upper));
        assert_eq!(found(&low, AT_LEAST_50), (Finding::Fails, upper));
        let five = Region { to: 5.0, ..AT_MOST_33 };
        assert_eq!(found(&low, five), (Finding::Undecided, Some([None, None])));
        assert!(judge(&study, &low, AT_MOST_33).p.is_some_and(|p| p < 0.001));
        // The rest of them, withheld for the same reason on the other side.
        let rest = Share { p: 0.97, events: 194, ..six_of_200() };
        let other = Verdict { withheld: vec![OTHER_SIDE.to_owned()], ..Verdict::default() };
        let high = estimate(&study, rest, Some(other));
        let lower = high.interval.map(|interval| interval.lower);
        assert_eq!(found(&high, AT_LEAST_50), (Finding::Holds, Some([lower, None])));
        // A printed share needs no such words.
        let half = Share { p: 0.5, variance: 0.001_67, events: 100, ..six_of_200() };
        assert_eq!(found(&estimate(&study, half, None), AT_MOST_33), (Finding::Fails, None));
    }

    /// hand: 100 of 400 have 20.83 to 29.55 %, which are told as 21 to 30 %: more than 21 % in what is told, and not in what is known.
    #[test]
    fn a_rounded_interval_concludes_nothing_that_the_one_behind_it_does_not() {
        let public = study();
        let share = Share {
            p: 0.25,
            variance: 0.25 * 0.75 / 400.0,
            people: 400,
            events: 100,
            weighted_people: 400.0,
            n_effective: 400.0,
            df: 399.0,
        };
        let mut told = estimate(&public, share, None);
        told.interval = Some(Interval { lower: 21.0, upper: 30.0 });
        let at_least_21 = Region { from: 21.0, to: f64::INFINITY };
        let private = Study { public: false, ..public };
        let judged = judge(&private, &told, at_least_21);
        assert_eq!(judged.finding, Finding::Undecided);
        assert!(judged.p.is_some_and(|p| p >= 0.05), "{judged:?}");
        assert_eq!(judge(&private, &told, Region { from: 15.0, ..at_least_21 }).finding, Finding::Holds);
    }

    #[test]
    fn no_interval_speaks_for_few_people_or_degrees_of_freedom_or_people_who_may_not_be_shown() {
        let study = study();
        let private = Study { public: false, ..study.clone() };
        let cases = [
            (&study, Share { people: 29, events: 1, n_effective: 29.0, ..six_of_200() }),
            (&study, Share { n_effective: 29.0, ..six_of_200() }),
            (&study, Share { df: 7.0, ..six_of_200() }),
            (&private, six_of_200()),
        ];
        for (study, share) in cases {
            let estimate = estimate(study, share, None);
            let judged = judge(study, &estimate, AT_MOST_33);
            assert_eq!((judged.finding, judged.p), (Finding::CannotTell, None), "{share:?}");
            assert_eq!(told_ends(study, &estimate, (AT_MOST_33, judged.finding)), None);
        }
    }
}

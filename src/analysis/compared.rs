//! Cutoffs of two groups side by side, replicate by replicate.

use super::AnalysisError;
use super::withhold::Verdict;
use crate::stats::Replicates;
use crate::stats::interval::Interval;
use crate::stats::multiplicity::holm_of_tested;
use crate::stats::paired::{Replicated, paired_difference};
use crate::stats::replicate_interval::Centre;
use crate::study::Study;

/// A group's cutoff on the index's own scale, with its replicates.
#[derive(Debug, Clone)]
pub struct Side<'a> {
    pub group: &'a str,
    /// `None` where there is no cutoff.
    pub value: Option<f64>,
    /// `NaN` where a replicate has none.
    pub replicates: Vec<f64>,
    pub df: f64,
    /// Whether it moves in jumps, which not all replicates can judge.
    pub jumps: bool,
    /// Why the cutoff is withheld.
    pub withheld: Vec<String>,
    /// Whether no study may choose to print it all the same.
    pub barred: bool,
}

/// Difference and ratio of two cutoffs that share their replicates.
#[derive(Debug, Default)]
pub struct Compared {
    pub values: Option<(f64, f64)>,
    pub difference: Option<f64>,
    pub interval: Option<Interval>,
    pub ratio: Option<f64>,
    pub ratio_interval: Option<Interval>,
    /// t on the log.
    pub ratio_interval_t: Option<Interval>,
    /// Of the logarithm of the ratio, or of the difference where there is no ratio.
    pub standard_error: Option<f64>,
    pub df: f64,
    pub p: Option<f64>,
    pub p_holm: Option<f64>,
    /// Replicates in which both cutoffs exist, and those in which one does not.
    pub replicates: Option<(usize, usize)>,
    pub verdict: Verdict,
}

impl Compared {
    /// `first` less `second`, and `first` over `second` where both are positive throughout.
    pub fn new(study: &Study, replicates: &Replicates, first: &Side, second: &Side) -> Self {
        let mut compared = Self { df: first.df.min(second.df), ..Self::default() };
        for side in [first, second] {
            compared.verdict.barred |= side.barred;
            if !side.withheld.is_empty() {
                compared.verdict.withheld.push(format!("{}: {}", side.group, side.withheld.join(", ")));
            }
        }
        let (Some(a), Some(b)) = (first.value, second.value) else { return compared };
        if !compared.verdict.shown(study) {
            return compared;
        }
        let both = |(a, b): (&f64, &f64)| (a.is_finite() && b.is_finite()).then_some((*a, *b));
        let paired: Vec<Option<(f64, f64)>> =
            first.replicates.iter().zip(&second.replicates).map(both).collect();
        let known: Vec<(f64, f64)> = paired.iter().copied().flatten().collect();
        compared.replicates = Some((known.len(), paired.len() - known.len()));
        let too_many = compared.verdict.failed(known.len(), paired.len());
        compared.verdict.few_df(compared.df);
        compared.values = Some((a, b));
        compared.difference = Some(a - b);
        let positive = a > 0.0 && b > 0.0 && known.iter().all(|(a, b)| *a > 0.0 && *b > 0.0);
        compared.ratio = positive.then_some(a / b);
        let misjudged = (first.jumps || second.jumps) && !replicates.suits_jumps();
        if misjudged {
            compared.verdict.jumps(replicates);
        } else if !too_many {
            let (df, confidence) = (compared.df, study.confidence);
            let each = |of: fn(f64, f64) -> f64| -> Vec<f64> {
                paired.iter().map(|both| both.map_or(f64::NAN, |(a, b)| of(a, b))).collect()
            };
            let centre = |full: f64| Centre { full, df, confidence };
            compared.interval = replicates.interval(&each(|a, b| a - b), centre(a - b)).ok();
            let ratio = compared.ratio.map(|full| (each(|a, b| a / b), centre(full)));
            compared.ratio_interval =
                ratio.and_then(|(each, centre)| replicates.interval_of_ratio(&each, centre).ok());
            compared.test((a, b), &paired, replicates, study.confidence);
        }
        compared
    }

    /// Standard error and t test, on the log where there is a ratio.
    fn test(
        &mut self,
        (a, b): (f64, f64),
        paired: &[Option<(f64, f64)>],
        replicates: &Replicates,
        confidence: f64,
    ) {
        let log = self.ratio.is_some();
        let scale = |x: f64| if log { x.ln() } else { x };
        let side = |of: fn((f64, f64)) -> f64| -> Vec<f64> {
            paired.iter().map(|both| both.map_or(f64::NAN, |both| scale(of(both)))).collect()
        };
        let (firsts, seconds) = (side(|both| both.0), side(|both| both.1));
        let first = Replicated { value: scale(a), replicates: &firsts };
        let second = Replicated { value: scale(b), replicates: &seconds };
        let df = self.replicates.map_or(self.df, |(used, _)| replicates.behind_test(self.df, used));
        match paired_difference(first, second, replicates, df, confidence) {
            Ok(got) => {
                self.standard_error = Some(got.standard_error);
                self.p = Some(got.p_value);
                let back = |i: Interval| Interval { lower: i.lower.exp(), upper: i.upper.exp() };
                self.ratio_interval_t = log.then(|| back(got.interval));
            }
            Err(_) if df < 1.0 => {
                self.verdict.remarks.push("no test: fewer than 1 degree of freedom".into());
            }
            Err(_) => self.verdict.remarks.push("no test: the replicates do not vary".into()),
        }
    }
}

/// Adjusts the p values of a family; what was not tested leaves it.
pub fn adjust(family: &mut [Compared]) -> Result<(), AnalysisError> {
    let raw: Vec<Option<f64>> = family.iter().map(|one| one.p).collect();
    for (one, p) in family.iter_mut().zip(adjusted(&raw)?) {
        one.p_holm = p;
    }
    Ok(())
}

/// p values by Holm, `None` where there was no test.
pub fn adjusted(raw: &[Option<f64>]) -> Result<Vec<Option<f64>>, AnalysisError> {
    holm_of_tested(raw).map_err(AnalysisError::Adjust)
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::stats::replicate::{BALANCED, JACKKNIFE};
    use crate::study::{self, Withhold};

    const ROUNDING: f64 = 1e-9;

    fn demo() -> Study {
        let text = include_str!("../../pipelines/demo.toml");
        study::parse(text, "demo.toml", Path::new("pipelines")).expect("the demo")
    }

    fn four() -> Replicates {
        let (count, kind) = (4, "bootstrap");
        Replicates { count, factors: vec![1.0; 4], scale: 0.25, rscales: vec![1.0; 4], kind }
    }

    fn side(group: &str, value: f64, logs: [f64; 4]) -> Side<'_> {
        let replicates = logs.iter().map(|l| value * l.exp()).collect();
        Side {
            group,
            value: Some(value),
            replicates,
            df: 2.0,
            jumps: true,
            withheld: Vec::new(),
            barred: false,
        }
    }

    #[test]
    fn a_ratio_by_hand_and_its_inverse() {
        let (study, replicates) = (demo(), four());
        let (three, two) = (side("three", 3.0, [0.1, -0.1, 0.0, 0.0]), side("two", 2.0, [0.0; 4]));
        let got = Compared::new(&study, &replicates, &three, &two);
        // Log ratios deviate by 0.1, −0.1, 0, 0: variance 0.02 / 4.
        let error = 0.005_f64.sqrt();
        assert!((got.standard_error.expect("varies") - error).abs() < ROUNDING);
        assert!((got.ratio.expect("positive") - 1.5).abs() < ROUNDING && got.difference == Some(1.0));
        // On 2 degrees of freedom P(|T| ≥ t) = 1 − t / √(t² + 2), and the 97.5 % point is 4.3026527297.
        let t = 1.5_f64.ln() / error;
        assert!((got.p.expect("tested") - (1.0 - t / (t * t + 2.0).sqrt())).abs() < ROUNDING);
        let interval = got.ratio_interval_t.expect("tested");
        assert!((interval.lower - 1.5 * (-4.302_652_729_7 * error).exp()).abs() < ROUNDING);
        // Sorted ratios 1.5 e^−0.1, 1.5, 1.5, 1.5 e^0.1; the 2.5 % point lies 0.075 of the way from the first.
        let spread = got.ratio_interval.expect("a bootstrap");
        let low = 1.5 * (-0.1_f64).exp();
        assert!((spread.lower - (low + 0.075 * (1.5 - low))).abs() < ROUNDING);
        let turned = Compared::new(&study, &replicates, &two, &three);
        assert!((got.ratio.expect("there") * turned.ratio.expect("there") - 1.0).abs() < ROUNDING);
        assert_eq!((turned.difference, turned.replicates), (Some(-1.0), Some((4, 0))));
        assert!((got.p.expect("there") - turned.p.expect("there")).abs() < ROUNDING);
        let back = turned.ratio_interval_t.expect("there");
        assert!((back.lower * interval.upper - 1.0).abs() < ROUNDING);
    }

    #[test]
    fn few_drawn_replicates_bound_the_degrees_of_freedom_of_a_test() {
        let (study, replicates) = (demo(), four());
        let p = |replicates: &Replicates, df: f64| {
            let three = Side { df, ..side("three", 3.0, [0.1, -0.1, 0.0, 0.0]) };
            let two = Side { df, ..side("two", 2.0, [0.0; 4]) };
            Compared::new(&study, replicates, &three, &two).p.expect("tested")
        };
        // t is 5.73; of 4 replicates 3 degrees of freedom are left.
        assert!((p(&replicates, 5000.0) - p(&replicates, 3.0)).abs() < ROUNDING);
        assert!(p(&replicates, 2.0) > p(&replicates, 3.0));
        let half = Replicates { kind: BALANCED, ..four() };
        assert!(p(&half, 4.0) < p(&half, 3.0), "half-samples follow from the design");
    }

    #[test]
    fn what_is_withheld_or_fails_says_so() {
        let (study, replicates) = (demo(), four());
        let whole = side("whole", 2.0, [0.1, -0.1, 0.05, 0.0]);
        let hidden = Side { withheld: vec!["few people".to_owned()], ..side("hidden", 3.0, [0.0; 4]) };
        let got = Compared::new(&study, &replicates, &hidden, &whole);
        assert_eq!(got.verdict.reason(&study), "hidden: few people");
        assert!(got.values.is_none() && got.p.is_none() && got.ratio_interval.is_none());
        let flagging = Study { withhold: Withhold::Flag, public: false, ..demo() };
        let got = Compared::new(&flagging, &replicates, &hidden, &whole);
        assert_eq!(got.values, Some((3.0, 2.0)), "a study may print what is unreliable");
        for pair in [[&hidden, &whole], [&whole, &hidden]] {
            let barred = pair.map(|side| Side { barred: !side.withheld.is_empty(), ..side.clone() });
            let got = Compared::new(&flagging, &replicates, &barred[0], &barred[1]);
            assert_eq!(got.verdict.reason(&flagging), "hidden: few people");
            assert!(
                got.values.is_none() && got.difference.is_none(),
                "few people are not for a study to flag"
            );
        }
        let mut failing = side("failing", 3.0, [0.0, 0.1, -0.1, 0.0]);
        failing.replicates[0] = f64::NAN;
        let got = Compared::new(&study, &replicates, &failing, &whole);
        assert_eq!(got.replicates, Some((3, 1)));
        assert!(got.ratio.is_some() && got.ratio_interval.is_none() && got.p.is_none(), "a quarter failed");
        assert!(got.verdict.notices(&study).contains("1 of 4 replicates failed"));
        let negative = Side { value: Some(-1.0), ..side("negative", 3.0, [0.0; 4]) };
        let got = Compared::new(&study, &replicates, &negative, &whole);
        assert!(got.ratio.is_none() && got.difference == Some(-3.0) && got.ratio_interval_t.is_none());
        assert!(got.p.is_some(), "tested on the difference");
        let same = Compared::new(&study, &replicates, &side("a", 3.0, [0.0; 4]), &side("b", 2.0, [0.0; 4]));
        assert!(same.p.is_none() && same.verdict.notices(&study).contains("do not vary"));
    }

    #[test]
    fn half_samples_give_t_intervals_and_a_jackknife_none_of_jumps() {
        let study = demo();
        let (three, two) = (side("three", 3.0, [0.1, -0.1, 0.0, 0.0]), side("two", 2.0, [0.0; 4]));
        let half = Replicates { kind: BALANCED, ..four() };
        let got = Compared::new(&study, &half, &three, &two);
        // Differences deviate by 3 (e^0.1 − 1), 3 (e^−0.1 − 1), 0, 0; t on 2 degrees of freedom 4.3026527297.
        let (up, down) = (3.0 * (0.1_f64.exp() - 1.0), 3.0 * ((-0.1_f64).exp() - 1.0));
        let reach = 4.302_652_729_7 * ((up * up + down * down) / 4.0).sqrt();
        let interval = got.interval.expect("half-samples");
        assert!((interval.lower - (1.0 - reach)).abs() < ROUNDING, "{interval:?}");
        // Logarithms of the ratio deviate by 0.1, −0.1, 0, 0: variance 0.02 / 4.
        let ratio = got.ratio_interval.expect("half-samples");
        let apart = (4.302_652_729_7 * 0.005_f64.sqrt()).exp();
        assert!((ratio.upper - 1.5 * apart).abs() < ROUNDING && (ratio.lower - 1.5 / apart).abs() < ROUNDING);
        let of_test = got.ratio_interval_t.expect("half-samples");
        assert!(
            (ratio.upper - of_test.upper).abs() < ROUNDING && (ratio.lower - of_test.lower).abs() < ROUNDING
        );
        let jackknife = Replicates { kind: JACKKNIFE, ..four() };
        let none = Compared::new(&study, &jackknife, &three, &two);
        assert!(none.interval.is_none() && none.ratio_interval.is_none() && none.p.is_none());
        assert!(none.difference == Some(1.0) && none.verdict.notices(&study).contains("jackknife"));
        let smooth = |side: &Side<'static>| Side { jumps: false, ..side.clone() };
        let smooth = Compared::new(&study, &jackknife, &smooth(&three), &smooth(&two));
        assert!(smooth.interval == got.interval && smooth.p == got.p && smooth.p.is_some());
    }

    #[test]
    fn what_is_no_p_value_stops_the_run() {
        assert!(matches!(adjusted(&[Some(f64::NAN)]), Err(AnalysisError::Adjust(_))));
    }
}

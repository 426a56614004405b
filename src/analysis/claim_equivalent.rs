//! The value that is the same percentile of a group as a stated threshold is of everybody.

use super::claim::Question;
use super::claim_estimate::{Behind, Domain, Estimate, Unit, people};
use super::context::{Context, resistance};
use super::thresholds::{SLACK, beside, equivalent, percentile_of};
use super::withhold::{self, Verdict};
use crate::stats::replicate::Replicates;
use crate::stats::replicate_interval::Centre;
use crate::stats::{Interval, Sample};

/// The observed value that is the same percentile in the group as the threshold is in everybody.
pub fn same_percentile(context: &Context, question: &Question, domain: Domain) -> Estimate {
    let threshold = &context.study.thresholds[domain.0];
    let sign = context.study.indices[question.index].sign() as f64;
    let frame = &context.frames[context.frame_of_index(question.index)];
    let everybody = people(context, question, (0, 0));
    let sample = people(context, question, (0, domain.2));
    let less = percentile_of(context, threshold, &everybody);
    let n = sample.people_counted();
    let found = less.and_then(|less| equivalent(&sample, less));
    // People beyond a value are counted where there is one.
    let counted = if found.is_some() { beside(&sample, found) } else { n };
    let mut verdict = withhold::percentile(context.study, n, counted, Ok(()));
    let value = found.map(|v| v * sign);
    if value.is_none() && verdict.withheld.is_empty() {
        verdict.cannot("no value of the group lies that far");
    }
    let at = resistance(threshold.value, &context.study.indices[question.index]);
    let df = frame.design.degrees_of_freedom(&sample, &|_| true);
    let interval = value.and_then(|full| {
        verdict.jumps(&frame.replicates);
        let targets = shares_below(&everybody, at, &frame.replicates);
        let values: Vec<f64> =
            reached(&sample, &targets, &frame.replicates).iter().map(|v| v * sign).collect();
        let centre = Centre { full, df, confidence: context.study.confidence };
        spread(&values, &frame.replicates, centre, &mut verdict)
    });
    Estimate {
        threshold: domain.0,
        population: 0,
        group: domain.2,
        measure: "equivalent",
        of_outcome: false,
        n,
        df: (n > 0).then_some(df),
        value,
        unit: Unit::Index,
        interval,
        interval_kind: frame.replicates.interval_kind(),
        verdict,
        behind: Behind::Nothing,
    }
}

/// The interval of the replicates, unless too many have no such value, which is remarked.
fn spread(
    values: &[f64],
    replicates: &Replicates,
    centre: Centre,
    verdict: &mut Verdict,
) -> Option<Interval> {
    let found = values.iter().filter(|v| !v.is_nan()).count();
    let enough = !verdict.failed(found, values.len()) && found > 1;
    replicates.interval_of_jumps(values, centre).ok().filter(|_| enough)
}

/// Per replicate, the weighted share of a sample below a value.
fn shares_below(sample: &Sample, at: f64, replicates: &Replicates) -> Vec<f64> {
    let (mut below, mut all) = (vec![0.0; replicates.count], vec![0.0; replicates.count]);
    for row in 0..sample.len() {
        let less = f64::from(u8::from(sample.value[row] < at));
        for ((below, all), factor) in below.iter_mut().zip(&mut all).zip(replicates.of_unit(sample.unit[row]))
        {
            *all += factor * sample.weight[row];
            *below += factor * sample.weight[row] * less;
        }
    }
    below.iter().zip(&all).map(|(below, all)| below / all).collect()
}

/// Per replicate, the least value whose strictly lower share reaches the replicate's target; `NaN` if none does.
fn reached(sample: &Sample, targets: &[f64], replicates: &Replicates) -> Vec<f64> {
    let mut all = vec![0.0; replicates.count];
    for row in 0..sample.len() {
        for (all, factor) in all.iter_mut().zip(replicates.of_unit(sample.unit[row])) {
            *all += factor * sample.weight[row];
        }
    }
    let mut less = vec![0.0; replicates.count];
    let mut found = vec![f64::NAN; replicates.count];
    let mut row = 0;
    while row < sample.len() {
        let value = sample.value[row];
        for r in 0..replicates.count {
            if found[r].is_nan() && less[r] / all[r] >= targets[r] - SLACK {
                found[r] = value;
            }
        }
        while row < sample.len() && sample.value[row] == value {
            for (less, factor) in less.iter_mut().zip(replicates.of_unit(sample.unit[row])) {
                *less += factor * sample.weight[row];
            }
            row += 1;
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::replicate::BOOTSTRAP;

    #[test]
    fn an_interval_that_too_many_replicates_lack_is_left_out_with_a_remark() {
        let replicates = Replicates {
            count: 10,
            factors: vec![1.0; 10],
            scale: 0.1,
            rscales: vec![1.0; 10],
            kind: BOOTSTRAP,
        };
        let centre = Centre { full: 2.0, df: 10.0, confidence: 0.95 };
        let judged = |failed: usize| {
            let mut verdict = Verdict::default();
            let values: Vec<f64> = (0..10).map(|r| if r < failed { f64::NAN } else { 2.0 }).collect();
            (spread(&values, &replicates, centre, &mut verdict).is_some(), verdict.remarks.len())
        };
        assert_eq!([judged(0), judged(2), judged(3)], [(true, 0), (true, 1), (false, 1)]);
    }

    #[test]
    fn equivalents_follow_the_weights_of_each_replicate() {
        let sample = Sample {
            value: vec![1.0, 2.0, 3.0, 4.0],
            weight: vec![1.0; 4],
            weight_squared: vec![1.0; 4],
            people: vec![1; 4],
            unit: vec![0, 0, 1, 1],
        };
        let replicates = Replicates {
            count: 3,
            // Unit 0: 1, 2, 0; unit 1: 1, 0, 2.
            factors: vec![1.0, 2.0, 0.0, 1.0, 0.0, 2.0],
            scale: 1.0,
            rscales: vec![1.0; 3],
            kind: BOOTSTRAP,
        };
        // Below 3: 2 of 4, all, none.
        assert_eq!(shares_below(&sample, 3.0, &replicates), [0.5, 1.0, 0.0]);
        // Half below: 3 as they are, 2 where the first two count alone, 4 where the last two do.
        assert_eq!(reached(&sample, &[0.5; 3], &replicates), [3.0, 2.0, 4.0]);
        let none = reached(&sample, &[0.9; 3], &replicates);
        assert!(none[0].is_nan() && none[1] == 3.0 && none[2].is_nan(), "{none:?}");
    }
}

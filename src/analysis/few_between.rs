//! Thresholds that stand side by side: where few people, or nobody, lie between two, their shares would tell it.

use super::context::Context;
use super::threshold_grid::Judged;
use super::thresholds::first_beyond;
use crate::stats::Sample;
use crate::study::Threshold;
use crate::table::small;

/// People at or beyond a place: as they are counted, and as many of everybody as their weighted share says.
type Beyond = [f64; 2];
/// A threshold by its number, and whether it is strict: the same one twice tells nothing more.
type Place = (u64, bool);

/// Samples that are told of at each threshold, summed from the most resistant person on.
pub(super) struct Tails<'s>(Vec<(&'s Sample, Vec<Beyond>)>);

impl<'s> Tails<'s> {
    pub(super) fn of(samples: &[&'s Sample]) -> Self {
        Self(samples.iter().map(|sample| (*sample, tail(sample))).collect())
    }

    /// People at or beyond the first row that `first` finds in each sample.
    pub(super) fn beyond(&self, first: impl Fn(&Sample) -> usize) -> Vec<Beyond> {
        self.0.iter().map(|(sample, tail)| tail[first(sample)]).collect()
    }

    /// Whether fewer than may be shown lie on one side, in any of the samples.
    fn few(&self, limit: i64, beyond: &[Beyond]) -> bool {
        let of = |((_, tail), [counted, _]): (&(&Sample, Vec<Beyond>), &Beyond)| {
            counted.min(tail[0][0] - counted) < limit as f64
        };
        self.0.iter().zip(beyond).any(of)
    }
}

/// For each row of a sample, and for none, the people from it on.
fn tail(sample: &Sample) -> Vec<Beyond> {
    let (people, weight) = (sample.people_counted() as f64, sample.weight.iter().sum::<f64>());
    let each = if weight > 0.0 { people / weight } else { 0.0 };
    let mut sums = vec![[0.0; 2]; sample.weight.len() + 1];
    for row in (0..sample.weight.len()).rev() {
        let [counted, weighted] = sums[row + 1];
        sums[row] = [counted + f64::from(sample.people[row]), weighted + each * sample.weight[row]];
    }
    sums
}

/// Keeps of the thresholds of one curve those with enough people between them and any other kept.
pub(super) struct Apart {
    limit: i64,
    kept: Vec<(Place, Vec<Beyond>)>,
}

impl Apart {
    pub(super) fn by(limit: i64) -> Self {
        Self { limit, kept: Vec::new() }
    }

    pub(super) fn keeps(&mut self, place: Place, beyond: Vec<Beyond>) -> bool {
        // Weighted shares are added up in another order than here.
        let enough = self.limit as f64 - 1e-6;
        let near = |one: &[Beyond], other: &[Beyond]| {
            let mut pairs = one.iter().flatten().zip(other.iter().flatten());
            pairs.any(|(one, other)| (one - other).abs() < enough)
        };
        let stands = self.kept.iter().all(|(known, people)| *known == place || !near(people, &beyond));
        if stands {
            self.kept.push((place, beyond));
        }
        stands
    }
}

pub(super) fn place(threshold: f64, strict: bool) -> Place {
    (threshold.to_bits(), strict)
}

/// Which points of one curve may stand: thresholds of the study first, as they are told elsewhere, then the points as
/// they come; none stands in the place of one that does not stand among everybody.
pub(super) fn standing<'t>(
    limit: i64,
    tails: &Tails<'_>,
    (stated, points): (Vec<(Place, Vec<Beyond>)>, impl Iterator<Item = Option<(Place, Vec<Beyond>)>> + 't),
) -> Vec<Stands> {
    let mut apart = Apart::by(limit);
    for (place, beyond) in stated {
        if !tails.few(limit, &beyond) {
            apart.keeps(place, beyond);
        }
    }
    points
        .map(|point| {
            let Some((place, beyond)) = point else { return Stands::Near };
            if tails.few(limit, &beyond) {
                Stands::Few
            } else if apart.keeps(place, beyond) {
                Stands::Apart
            } else {
                Stands::Near
            }
        })
        .collect()
}

/// Whether a point may stand beside others.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stands {
    Apart,
    /// Few people lie between it and another one.
    Near,
    /// Few people lie on one side of it.
    Few,
}

/// The people beyond the thresholds that the study states of an index.
pub(super) fn stated(context: &Context, index: usize, tails: &Tails<'_>) -> Vec<(Place, Vec<Beyond>)> {
    let of_index = |threshold: &&Threshold| threshold.index == index;
    let at = |threshold: &Threshold| {
        let beyond = tails.beyond(|sample| first_beyond(context, threshold, sample));
        (place(threshold.value, threshold.strict), beyond)
    };
    context.study.thresholds.iter().filter(of_index).map(at).collect()
}

impl Judged {
    /// Is not printed where its threshold does not stand.
    pub(super) fn stand(&mut self, stands: Stands, limit: i64) {
        let why = match stands {
            Stands::Apart => return,
            Stands::Near => small::too_near(limit),
            Stands::Few => small::BESIDE.to_owned(),
        };
        if self.value.is_some() {
            let people = self.people;
            *self = Self { people, df: self.df, withheld: why, ..Self::default() };
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 100 people with the values 1 to 100; the later half weighs three times as much.
    fn people() -> Sample {
        let value: Vec<f64> = (1..=100).map(f64::from).collect();
        let weight: Vec<f64> = (1..=100).map(|at| if at > 50 { 3.0 } else { 1.0 }).collect();
        Sample::from_people(&value, &weight, &[0; 100]).expect("a sample")
    }

    fn at(tails: &Tails<'_>, threshold: f64) -> (Place, Vec<Beyond>) {
        let first = |sample: &Sample| sample.value.partition_point(|value| *value < threshold);
        (place(threshold, false), tails.beyond(first))
    }

    #[test]
    fn people_are_counted_and_weighed() {
        let sample = people();
        let tails = Tails::of(&[&sample]);
        // hand: 60 people, of whom 10 weigh 1 and 50 weigh 3, are 160 of 200.
        assert_eq!(at(&tails, 41.0).1, [[60.0, 80.0]]);
        assert_eq!(at(&tails, 200.0).1, [[0.0, 0.0]]);
    }

    #[test]
    fn between_two_that_stand_enough_people_lie_by_head_and_by_weight() {
        let sample = people();
        let tails = Tails::of(&[&sample]);
        let stands = |thresholds: &[f64], stated: &[f64]| {
            let stated = stated.iter().map(|threshold| at(&tails, *threshold)).collect();
            standing(10, &tails, (stated, thresholds.iter().map(|threshold| Some(at(&tails, *threshold)))))
        };
        let [apart, near, few] = [Stands::Apart, Stands::Near, Stands::Few];
        // Seven people from 60 to 67 are 10.5 by weight; fifteen from 21 to 36 are 7.5.
        assert_eq!(stands(&[60.0, 67.0, 70.0], &[]), [apart, near, apart]);
        assert_eq!(stands(&[21.0, 36.0, 41.0], &[]), [apart, near, apart]);
        // Nobody lies between two thresholds beside the same person.
        assert_eq!(stands(&[60.2, 60.5, 60.2], &[]), [apart, near, apart]);
        // A threshold of the study stands, whichever comes before it.
        assert_eq!(stands(&[58.0, 62.0, 72.0], &[62.0]), [near, apart, apart]);
        assert_eq!(stands(&[5.0, 60.0, 97.0], &[]), [few, apart, few]);
    }

    #[test]
    fn a_share_that_does_not_stand_says_why_and_keeps_an_earlier_reason() {
        let shown = Judged { value: Some(0.5), people: 90, ..Judged::default() };
        let mut near = shown.clone();
        near.stand(Stands::Near, 10);
        assert_eq!(near.value, None);
        assert_eq!(near.withheld, "fewer than 10 people between it and another threshold shown");
        let mut unsure = Judged { withheld: "too wide".to_owned(), ..Judged::default() };
        unsure.stand(Stands::Near, 10);
        assert_eq!(unsure.withheld, "too wide");
        let mut apart = shown;
        apart.stand(Stands::Apart, 10);
        assert_eq!(apart.value, Some(0.5));
    }
}

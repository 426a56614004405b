//! Shares of the same people on one side of many places at once.

use super::proportion::{self, Share};
use super::{Design, Sample};

/// Sums over the people of a sampling unit.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    weight: f64,
    squared: f64,
    people: u32,
}

/// People summed by sampling unit, and those of them counted as having the event so far.
struct Folded {
    unit: Vec<u32>,
    slot_of_unit: Vec<u32>,
    all: Vec<Sums>,
    event: Vec<Sums>,
}

const NO_SLOT: u32 = u32::MAX;

/// Share of the people in the rows between `from` and each of `ends`, in one pass over the rows.
///
/// With `from` the number of rows these are the shares at or beyond each row of `ends`; with `from` 0 the
/// shares short of it; in between, the people whose label changes when one threshold replaces another.
///
/// # Formula
///
/// As [`proportion::share`] on each set of rows. Rows enter unit sums once, so a place costs as much as
/// there are sampling units, not people. Without PSUs the variance knows strata only, and people are
/// summed by stratum.
///
/// # Missing data and ties
///
/// `ends` ascend. A place without people in the denominator or without weight gives none.
///
/// # Source
///
/// Korn and Graubard 1998, Surv Methodol 24:193–201.
///
/// # Checked against
///
/// [`proportion::share`] on the rows themselves, with PSUs and without.
#[must_use]
pub fn shares_between(design: &Design, sample: &Sample, from: usize, ends: &[usize]) -> Vec<Option<Share>> {
    let mut shares = vec![None; ends.len()];
    let upward = ends.partition_point(|&end| end < from);
    // The denominator is the same at every place, and the rank of supplied weights takes its time.
    let df = design.degrees_of_freedom(sample, &|_| true);
    let mut folded = Folded::new(design, sample);
    let mut reached = from;
    for place in upward..ends.len() {
        folded.count(sample, reached..ends[place]);
        reached = ends[place];
        shares[place] = folded.share(design, df);
    }
    folded.event.fill(Sums::default());
    reached = from;
    for place in (0..upward).rev() {
        folded.count(sample, ends[place]..reached);
        reached = ends[place];
        shares[place] = folded.share(design, df);
    }
    shares
}

impl Folded {
    fn new(design: &Design, sample: &Sample) -> Self {
        let home = homes(design);
        let mut folded = Self {
            unit: Vec::new(),
            slot_of_unit: vec![NO_SLOT; design.units()],
            all: Vec::new(),
            event: Vec::new(),
        };
        for (row, &unit) in sample.unit.iter().enumerate() {
            let home = home[unit as usize];
            if folded.slot_of_unit[home as usize] == NO_SLOT {
                folded.slot_of_unit[home as usize] = folded.unit.len() as u32;
                folded.unit.push(home);
                folded.all.push(Sums::default());
            }
            let slot = folded.slot_of_unit[home as usize];
            folded.slot_of_unit[unit as usize] = slot;
            folded.all[slot as usize].add(sample, row);
        }
        folded.event = vec![Sums::default(); folded.all.len()];
        folded
    }

    fn count(&mut self, sample: &Sample, rows: std::ops::Range<usize>) {
        for row in rows {
            let slot = self.slot_of_unit[sample.unit[row] as usize];
            self.event[slot as usize].add(sample, row);
        }
    }

    fn share(&self, design: &Design, df: f64) -> Option<Share> {
        let mut sample = Sample::default();
        let mut push = |sums: Sums, unit: u32, value: f64| {
            sample.value.push(value);
            sample.weight.push(sums.weight);
            sample.weight_squared.push(sums.squared);
            sample.people.push(sums.people);
            sample.unit.push(unit);
        };
        for ((&unit, &all), &event) in self.unit.iter().zip(&self.all).zip(&self.event) {
            if event.people < all.people {
                push(all.less(event), unit, 0.0);
            }
        }
        for (&unit, &event) in self.unit.iter().zip(&self.event).filter(|(_, event)| event.people > 0) {
            push(event, unit, 1.0);
        }
        let first = sample.value.partition_point(|&value| value < 1.0);
        proportion::share_with_df(&sample, design, (&|_| true, &|row| row >= first), || df).ok()
    }
}

/// The unit whose sums take each unit's people: itself, or without PSUs the first of its stratum.
fn homes(design: &Design) -> Vec<u32> {
    if !design.by_people() {
        return (0..design.units() as u32).collect();
    }
    let mut first = vec![NO_SLOT; design.strata()];
    let of_unit = design.stratum_of_unit();
    for (unit, &stratum) in of_unit.iter().enumerate().rev() {
        first[stratum as usize] = unit as u32;
    }
    of_unit.iter().map(|&stratum| first[stratum as usize]).collect()
}

impl Sums {
    fn add(&mut self, sample: &Sample, row: usize) {
        self.weight += sample.weight[row];
        self.squared += sample.weight_squared[row];
        self.people += sample.people[row];
    }

    fn less(self, other: Self) -> Self {
        Self {
            weight: (self.weight - other.weight).max(0.0),
            squared: (self.squared - other.squared).max(0.0),
            people: self.people - other.people,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::LonelyPsu;

    /// Sums in another order differ in their last bits.
    const ROUNDING: f64 = 1e-12;

    fn people() -> Sample {
        let value: Vec<f64> = (0..40).map(|i| f64::from(i / 2)).collect();
        let weight: Vec<f64> = (0..40).map(|i| 1.0 + f64::from(i * 7 % 11) / 3.0).collect();
        let unit: Vec<u32> = (0..40).map(|i| i * 5 % 8).collect();
        Sample::from_people(&value, &weight, &unit).expect("usable rows")
    }

    #[test]
    fn one_pass_gives_what_each_place_gives_by_itself() {
        let sample = people();
        let strata = vec![0, 0, 1, 1, 2, 2, 3, 3];
        let by_unit = Design::new(strata.clone(), None, LonelyPsu::Fail).expect("pairs");
        let by_person = Design::new(strata, Some(vec![12, 12, 12, 12]), LonelyPsu::Fail).expect("pairs");
        let ends = [0, 3, 11, 20, 33, 40];
        for design in [&by_unit, &by_person] {
            for from in [0, 14, 40] {
                let got = shares_between(design, &sample, from, &ends);
                for (&end, got) in ends.iter().zip(&got) {
                    let inside = |row: usize| (from.min(end)..from.max(end)).contains(&row);
                    let want = proportion::share(design, &sample, &|_| true, &inside).expect("people");
                    let got = got.expect("people");
                    assert_eq!((got.people, got.events, got.df), (want.people, want.events, want.df));
                    assert!((got.p - want.p).abs() < ROUNDING, "{from}..{end}");
                    assert!((got.variance - want.variance).abs() < ROUNDING, "{from}..{end}");
                }
            }
        }
        assert_eq!(shares_between(&by_unit, &Sample::default(), 0, &[0]), [None]);
    }

    #[test]
    fn people_without_weight_add_no_degree_of_freedom() {
        let mut sample = people();
        (sample.weight[3], sample.weight_squared[3]) = (0.0, 0.0);
        let strata = vec![0, 0, 1, 1, 2, 2, 3, 3];
        let by_person = Design::new(strata, Some(vec![12, 12, 12, 12]), LonelyPsu::Fail).expect("pairs");
        // 40 people, of whom one weighs nothing, in 4 strata.
        let got = shares_between(&by_person, &sample, 0, &[20])[0].expect("people");
        assert_eq!((got.people, got.df), (40, 35.0));
    }
}

//! Two values of one index of one person: whether they differ by more than chance, and where the second one lies.

use serde::Serialize;

use super::context::Context;
use super::place::{Person, PlaceError, PlacedIndex, label_of};
use super::place_below;
use super::place_cutoffs::{self, Cutoff};
use super::place_doubt::{Doubt, doubt};
use super::place_factor::{self, ByFactor, OtherFactor};
use super::place_marks::{PassedThen, passed_then};
use super::place_people::unanswered;
use super::place_rank::{self, Rank};
use super::place_second::Later;
use super::place_spread::{self, Spread};
use super::place_usual::Chances;
use crate::cohort::{Subject, evaluate};
use crate::stats::change::{ReferenceChange, reference_change, within_person_at};
use crate::stats::place::Variation;
use crate::study::{StudyIndex, Threshold};

/// Confidence of the reference change value, two-sided.
pub(super) const CONFIDENCE: f64 = 0.95;

/// Two measurements of one index.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Change {
    pub first: f64,
    pub second: Option<f64>,
    pub months: f64,
    /// In percent of the first value; absent where it is not judged, as all that follows.
    pub change: Option<f64>,
    /// Largest rise and fall that chance alone explains, in percent.
    pub rise: Option<f64>,
    pub fall: Option<f64>,
    pub beyond_chance: Option<bool>,
    /// The same by the other factor of insulin, where nobody knows which holds.
    pub by_other: Option<ChangeByOther>,
    /// Whether the verdict holds only if both dates had one insulin assay, which is not known.
    pub if_same_assay: bool,
    /// The day-to-day variation, in percent, at which the verdict turns; none where no variation turns it.
    pub turns_at: Option<f64>,
    /// A second measurement in it that few people have; everything said of it holds only if that is right.
    pub doubt: Option<Doubt>,
    /// The second value by the other factor.
    pub other_factor: Option<OtherFactor>,
    /// Where the second value lies in the person's groups.
    pub ranks: Vec<Rank>,
    /// Positions in `ranks` of the person's smallest groups then.
    pub own: Vec<usize>,
    /// The middle half of everybody and of each of these groups.
    pub spreads: Vec<Spread>,
    /// Whether the second value passes the study's own thresholds, in their order.
    pub thresholds: Vec<PassedThen>,
    /// The cutoffs of the first rule and outcome, put to the second value.
    pub cutoffs: Vec<Cutoff>,
    pub why_not: String,
    /// Whether that is a reason for the whole answer, which says it once.
    pub said_of_all: bool,
}

/// Two measurements by the factor of insulin that was not taken.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ChangeByOther {
    /// The factor that was taken, and the other.
    pub taken: f64,
    pub factor: f64,
    pub first: f64,
    pub second: f64,
    /// In percent of the first value; absent where it is not judged.
    pub change: Option<f64>,
    pub beyond_chance: Option<bool>,
}

impl Change {
    /// Whether the factor of insulin, which nobody knows, decides if the change is more than chance.
    #[must_use]
    pub fn depends_on_factor(&self) -> bool {
        self.by_other.as_ref().is_some_and(|other| other.beyond_chance != self.beyond_chance)
    }
}

/// The second value of an index beside the first, and where it lies if it may be placed.
pub(super) fn changed(
    context: Option<&Context>,
    (later, first): (&Later, &Subject),
    person: &Person,
    (index, placed): (usize, &PlacedIndex),
) -> Result<Change, PlaceError> {
    let mut change = two_values(later, &later.study.indices[index], placed)?;
    let Some(value) = change.second else { return Ok(change) };
    let limits = limits(later, placed)?;
    if let (Some(limits), Some(used)) = (limits, &placed.variation) {
        judge(&mut change, (value / placed.value, limits), used.analytical);
    }
    let other = then_by_other(later, (index, value))?;
    change.by_other = by_other((placed, value), other, limits);
    if let Some(context) = context.filter(|_| later.second.outside.is_empty()) {
        stand(context, (later, first), person, (index, placed), (&mut change, value, other))?;
    }
    Ok(change)
}

/// The two values, or why there is no second one or no judgement.
fn two_values(later: &Later, index: &StudyIndex, placed: &PlacedIndex) -> Result<Change, PlaceError> {
    let withheld = later.withheld.iter().find(|reason| reason.is_of(index));
    let second = evaluate(&later.row, &index.row.name, &index.row.sql())?.filter(|_| withheld.is_none());
    let missing = unanswered(&index.ingredients, &later.answers);
    let of_all: Vec<String> = later.second.outside.iter().chain(unlike(later, placed)).cloned().collect();
    let said_of_all = second.is_some() && missing.is_empty() && !of_all.is_empty();
    let why_not = if let Some(reason) = withheld {
        format!("withheld then, as {}", reason.why)
    } else if !missing.is_empty() {
        let labels = missing.iter().map(|name| label_of(later.study, name));
        format!("not given: {}", labels.collect::<Vec<_>>().join(", "))
    } else if second.is_none() {
        "its formula does not hold for these values".to_owned()
    } else if is_comparable(later, placed) && placed.variation.is_none() {
        "how much it varies from day to day is not known; give --within-person-cv and --analytical-cv"
            .to_owned()
    } else {
        of_all.join("; ")
    };
    Ok(Change {
        first: placed.value,
        second,
        months: later.second.months,
        doubt: doubt(later.study, index, &later.answers)?,
        if_same_assay: placed.from_insulin && later.second.assay_in_doubt,
        why_not,
        said_of_all,
        ..Change::default()
    })
}

/// Why the insulin of the two dates cannot be compared, for an index that is made from it.
fn unlike<'a>(later: &'a Later, placed: &PlacedIndex) -> impl Iterator<Item = &'a String> {
    let why = later.second.assays_differ.iter().chain(&later.second.below_detection);
    let from_insulin = placed.from_insulin;
    why.filter(move |_| from_insulin)
}

fn is_comparable(later: &Later, placed: &PlacedIndex) -> bool {
    later.second.outside.is_empty() && unlike(later, placed).next().is_none()
}

/// The changes that chance alone explains, where the change may be judged.
fn limits(later: &Later, placed: &PlacedIndex) -> Result<Option<ReferenceChange>, PlaceError> {
    let used = placed.variation.as_ref().filter(|_| is_comparable(later, placed));
    let Some(used) = used else { return Ok(None) };
    let variation = Variation { within_person: used.within_person, analytical: used.analytical };
    let limits = reference_change(variation, CONFIDENCE);
    limits.map(Some).map_err(|why| PlaceError::Variation(why.to_string()))
}

/// A change in percent, and whether it is more than chance explains; `ratio` is the second value by the first.
fn compared(ratio: f64, limits: ReferenceChange) -> (f64, bool) {
    let by = ratio - 1.0;
    (100.0 * by, by > limits.rise || by < -limits.fall)
}

/// Fills in the change and its limits.
fn judge(change: &mut Change, (ratio, limits): (f64, ReferenceChange), analytical: f64) {
    let (by, beyond) = compared(ratio, limits);
    change.change = Some(by);
    change.rise = Some(100.0 * limits.rise);
    change.fall = Some(100.0 * limits.fall);
    change.beyond_chance = Some(beyond);
    change.turns_at = within_person_at(ratio, analytical, CONFIDENCE).ok().map(|cv| 100.0 * cv);
}

/// The second value by the other factor, where nobody knows which holds then.
fn then_by_other(later: &Later, (index, value): (usize, f64)) -> Result<Option<ByFactor>, PlaceError> {
    if !later.factor_unknown {
        return Ok(None);
    }
    let row = &later.study.indices[index].row;
    let other = place_factor::by_other(later.study, &later.answers, index)?;
    Ok(other.filter(|other| row.step(other.value) != row.step(value)))
}

/// The change by the other factor, where it is not known at either date.
fn by_other(
    (placed, second): (&PlacedIndex, f64),
    then: Option<ByFactor>,
    limits: Option<ReferenceChange>,
) -> Option<ChangeByOther> {
    let first = placed.other_factor.as_ref().filter(|other| other.unknown);
    let first = first.map(|other| ByFactor { value: other.value, taken: other.taken, factor: other.factor });
    let ByFactor { taken, factor, .. } = then.or(first)?;
    let first = first.map_or(placed.value, |other| other.value);
    let second = then.map_or(second, |other| other.value);
    let (change, beyond_chance) = limits.map(|limits| compared(second / first, limits)).unzip();
    Some(ChangeByOther { taken, factor, first, second, change, beyond_chance })
}

/// Where the second value lies in the groups to which the person belongs then, and what their cutoffs say of it.
fn stand(
    context: &Context,
    (later, first): (&Later, &Subject),
    person: &Person,
    (index, placed): (usize, &PlacedIndex),
    (change, value, other): (&mut Change, f64, Option<ByFactor>),
) -> Result<(), PlaceError> {
    let subject = &later.subject;
    let at = Threshold { index, value, strict: false, source: "the second measurement".to_owned() };
    change.ranks = place_rank::ranks(context, subject, &at)?;
    change.own = place_rank::own((context, subject), &change.ranks, person.grouping);
    change.spreads = place_spread::spreads(context, index, (&change.ranks, &change.own));
    change.thresholds = passed_then(context, subject, (index, value), other.map(|other| other.value))?;
    let used = placed.variation.as_ref();
    let chances = Chances::new(context, subject, (index, value), used);
    change.cutoffs = if subject.levels == first.levels {
        place_cutoffs::put_to((context, index), &placed.cutoffs, value, chances.as_ref())
    } else {
        let asked = (chances.as_ref(), person.grouping);
        place_cutoffs::of_first(&place_cutoffs::cutoffs(context, subject, (index, value), asked)?)
    };
    place_below::mark((context, subject), (index, value), (change.doubt.as_ref(), used), &mut change.cutoffs);
    if let Some(other) = other {
        place_factor::mark((context, subject), (index, other), used, &mut change.cutoffs);
        let beside = place_factor::beside((context, subject), (index, other), (&change.cutoffs, used))?;
        change.other_factor = Some(OtherFactor { unknown: true, ..beside });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Chance alone reaches +84 % and −46 %.
    const LIMITS: ReferenceChange = ReferenceChange { rise: 0.84, fall: 0.46 };

    fn placed(value: f64, other: Option<f64>) -> PlacedIndex {
        let other = other.map(|value| OtherFactor {
            factor: 6.945,
            taken: 6.0,
            unknown: true,
            value,
            percentile: None,
            cutoffs: Vec::new(),
        });
        PlacedIndex { value, other_factor: other, ..PlacedIndex::default() }
    }

    #[test]
    fn a_change_is_judged_by_both_factors() {
        let then = |value: f64| Some(ByFactor { value, taken: 6.0, factor: 6.945 });
        // hand: 1.2287 / 2.44 − 1 = −49.6 %; the fall by 6.00, 1.4222 / 2.44 − 1, is −41.7 %.
        let one = by_other((&placed(2.44, None), 1.4222), then(1.2287), Some(LIMITS)).expect("by both");
        assert!((one.change.expect("judged") + 49.6434).abs() < 1e-3, "{one:?}");
        assert_eq!((one.first, one.beyond_chance), (2.44, Some(true)));
        let change = Change { beyond_chance: Some(false), by_other: Some(one), ..Change::default() };
        assert!(change.depends_on_factor());
        // Where both dates are in pmol/L the ratio is the same.
        let both =
            by_other((&placed(2.4523, Some(2.1186)), 1.4222), then(1.2287), Some(LIMITS)).expect("by both");
        let (change, _) = compared(1.4222 / 2.4523, LIMITS);
        assert!((both.change.expect("judged") - change).abs() < 1e-2, "{both:?}");
        assert_eq!(both.beyond_chance, Some(false));
        assert_eq!(by_other((&placed(2.44, None), 1.66), None, Some(LIMITS)), None);
        let unjudged = by_other((&placed(2.44, None), 1.4222), then(1.2287), None).expect("two values");
        assert_eq!((unjudged.change, unjudged.beyond_chance), (None, None));
    }
}

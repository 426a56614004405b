//! Two measurements of one person, side by side.

use super::place_words::{factor, value};
use crate::analysis::{Change, ChangeByOther, DAYS_PER_MONTH, DAYS_PER_WEEK, PlacedIndex, WITHIN_DIGITS};
use crate::table::number::{fixed, significant};

/// A time that was typed in weeks or days is kept in months; so far may it be off a whole number of them.
const ROUNDING: f64 = 1e-6;
/// A variation below this many percent is said in tenths.
const TENTHS_BELOW: f64 = 10.0;
/// The variations, in percent, that can be stated beside 0.
const LEAST: f64 = 1.0;
const MOST: f64 = 200.0;

/// A second value beside the first, and whether the change is more than noise.
pub(super) fn change(index: &PlacedIndex, change: &Change) -> String {
    let (Some(by), Some(beyond)) = (change.change, change.beyond_chance) else { return brief(index, change) };
    let assumed = index.variation.as_ref().map_or(0.0, |v| 100.0 * v.within_person);
    let depends = change.depends_on_factor();
    let other = match (change.turns_at, beyond) {
        _ if depends => "the factor has to be asked of the laboratory".to_owned(),
        (None, _) => "no other variation would change this answer".to_owned(),
        (Some(cv), _) => turning(cv, beyond),
    };
    let reach = if by < 0.0 { -change.fall.unwrap_or_default() } else { change.rise.unwrap_or_default() };
    format!(
        "{} (chance alone reaches {}). This takes a day-to-day variation of {} %, and counts neither season nor drift over \
         the months; {other}. {}",
        brief(index, change).trim_end_matches('.'),
        signed(reach),
        significant(assumed, WITHIN_DIGITS),
        if beyond && !depends { "Why it changed is not known." } else { "A real change remains possible." },
    )
}

/// At which day-to-day variation, in percent, the verdict would be the other one: rounded to one of which it still is, so
/// that the answer to it says the same.
fn turning(at: f64, beyond: bool) -> String {
    let step = if at < TENTHS_BELOW { 0.1 } else { 1.0 };
    let words = |percent: f64| significant(percent, 4);
    if beyond {
        let from = (((at + ROUNDING) / step).floor() + 1.0) * step;
        let from = from.max(LEAST);
        return if from > MOST {
            format!("no variation up to {} % would change this answer", words(MOST))
        } else {
            format!("from {} % on the change would not be more than noise", words(from))
        };
    }
    let up_to = (((at - ROUNDING) / step).ceil() - 1.0) * step;
    match up_to {
        none if none < LEAST => "with 0 % alone the change would be more than noise".to_owned(),
        some => format!("with {} % or less the change would be more than noise", words(some.min(MOST))),
    }
}

/// The two values and the verdict, by both factors of insulin where nobody knows which holds.
pub(super) fn brief(index: &PlacedIndex, change: &Change) -> String {
    let Some(second) = change.second else {
        return format!("Second date: {} cannot be compared; {}.", index.label, change.why_not);
    };
    let one = pair(index, (change.first, second), change.change);
    let pair = match &change.by_other {
        None => format!("{} {one}", index.label),
        Some(other) => format!(
            "{} {one} by the factor {}, {} by {},",
            index.label,
            factor(other.taken),
            pair(index, (other.first, other.second), other.change),
            factor(other.factor)
        ),
    };
    let Some(beyond) = change.beyond_chance else {
        let why =
            if change.said_of_all { ", as said first".to_owned() } else { format!("; {}", change.why_not) };
        let fasting = if index.if_fasting { " (only if taken fasting)" } else { "" };
        return format!("{}{fasting}: the change is not judged{why}.", pair.trim_end_matches(','));
    };
    let condition = if change.if_same_assay { ", if by the same assay" } else { "" };
    format!(
        "{pair} in {}: {}{condition}.",
        time_between(change.months),
        verdict(beyond, change.by_other.as_ref())
    )
}

/// The two values by one factor: `2.44 → 1.42 (−42 %)`.
fn pair(index: &PlacedIndex, (first, second): (f64, f64), by: Option<f64>) -> String {
    let by = by.map(|by| format!(" ({})", signed(by))).unwrap_or_default();
    format!("{} → {}{by}", value(index, first), value(index, second))
}

fn verdict(beyond: bool, other: Option<&ChangeByOther>) -> String {
    let words = |beyond: bool| if beyond { "more than noise" } else { "not more than noise" };
    match other.and_then(|other| Some((other, other.beyond_chance?))) {
        None => words(beyond).to_owned(),
        Some((_, same)) if same == beyond => format!("{} by both", words(beyond)),
        Some((other, by_other)) => format!(
            "cannot tell: it depends on the factor ({}: {}; {}: {})",
            factor(other.taken),
            words(beyond),
            factor(other.factor),
            words(by_other)
        ),
    }
}

/// A time between two dates, in whole weeks or days where it is no whole number of months: `1 month`, `6 months`, `8 weeks`.
pub(super) fn time_between(months: f64) -> String {
    let days = months * DAYS_PER_MONTH;
    let whole = |time: f64| (time - time.round()).abs() < ROUNDING;
    let (time, word) = if !whole(months) && whole(days / DAYS_PER_WEEK) {
        (days / DAYS_PER_WEEK, "week")
    } else if !whole(months) && whole(days) {
        (days, "day")
    } else {
        (months, "month")
    };
    let shown = if word == "month" { significant(time, 3) } else { fixed(time, 0) };
    let more = if shown == "1" { "" } else { "s" };
    format!("{shown} {word}{more}")
}

fn signed(percent: f64) -> String {
    format!("{}{} %", if percent > 0.0 { "+" } else { "" }, fixed(percent, 0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::change::{reference_change, within_person_at};
    use crate::stats::place::Variation;

    /// The number in a sentence before its percent sign.
    fn stated(words: &str) -> f64 {
        let before = words.split(" %").next().unwrap_or_default();
        before.rsplit(' ').next().and_then(|number| number.parse().ok()).expect("a number")
    }

    #[test]
    fn the_variation_that_turns_the_verdict_turns_it_when_it_is_stated() {
        let analytical = 0.054;
        let beyond = |ratio: f64, percent: f64| {
            let variation = Variation { within_person: percent / 100.0, analytical };
            let limits = reference_change(variation, 0.95).expect("valid");
            ratio - 1.0 > limits.rise || ratio - 1.0 < -limits.fall
        };
        let mut judged = 0;
        for step in 1..400 {
            for ratio in [1.16 + 0.01 * f64::from(step), 0.86 - 0.002 * f64::from(step)] {
                let Ok(at) = within_person_at(ratio, analytical, 0.95) else { continue };
                judged += 1;
                let (more, no_more) = (turning(100.0 * at, false), turning(100.0 * at, true));
                assert!(beyond(ratio, stated(&more)), "{ratio}: {more}");
                assert!(!beyond(ratio, stated(&no_more)), "{ratio}: {no_more}");
            }
        }
        assert!(judged > 400, "{judged}");
        // 20 exactly: of this one nothing is sure.
        assert_eq!(turning(20.0, false), "with 19 % or less the change would be more than noise");
        assert_eq!(turning(20.0, true), "from 21 % on the change would not be more than noise");
        assert_eq!(turning(5.66, false), "with 5.6 % or less the change would be more than noise");
        assert_eq!(turning(0.7, false), "with 0 % alone the change would be more than noise");
        assert_eq!(turning(0.7, true), "from 1 % on the change would not be more than noise");
        assert_eq!(turning(240.0, true), "no variation up to 200 % would change this answer");
    }

    #[test]
    fn a_time_is_said_as_it_was_typed() {
        let of_days = |days: f64| time_between(days / DAYS_PER_MONTH);
        assert_eq!(
            (time_between(6.0).as_str(), time_between(1.0).as_str(), time_between(1.5).as_str()),
            ("6 months", "1 month", "1.5 months")
        );
        assert_eq!((of_days(56.0).as_str(), of_days(7.0).as_str()), ("8 weeks", "1 week"));
        assert_eq!((of_days(10.0).as_str(), of_days(1.0).as_str()), ("10 days", "1 day"));
    }

    #[test]
    fn a_change_that_depends_on_the_factor_is_not_judged_by_one() {
        let index =
            PlacedIndex { label: "HOMA-IR".to_owned(), unit: "1".to_owned(), ..PlacedIndex::default() };
        let other = ChangeByOther {
            taken: 6.0,
            factor: 6.945,
            first: 2.44,
            second: 1.22,
            change: Some(-50.0),
            beyond_chance: Some(true),
        };
        let torn = Change {
            first: 2.44,
            second: Some(1.41),
            months: 6.0,
            change: Some(-42.0),
            fall: Some(46.0),
            rise: Some(84.0),
            beyond_chance: Some(false),
            by_other: Some(other.clone()),
            ..Change::default()
        };
        assert_eq!(
            brief(&index, &torn),
            "HOMA-IR 2.44 → 1.41 (−42 %) by the factor 6.00, 2.44 → 1.22 (−50 %) by 6.945, in 6 months: cannot tell: it depends \
             on the factor (6.00: not more than noise; 6.945: more than noise)."
        );
        assert!(change(&index, &torn).ends_with("asked of the laboratory. A real change remains possible."));
        let same = ChangeByOther { beyond_chance: Some(false), ..other };
        let same = Change { by_other: Some(same), ..torn };
        assert!(brief(&index, &same).ends_with("in 6 months: not more than noise by both."));
        let known = Change { by_other: None, months: 1.0, ..same };
        assert_eq!(brief(&index, &known), "HOMA-IR 2.44 → 1.41 (−42 %) in 1 month: not more than noise.");
        let why_not = "it is treated".to_owned();
        let open = Change { beyond_chance: None, change: None, why_not, ..known };
        assert_eq!(brief(&index, &open), "HOMA-IR 2.44 → 1.41: the change is not judged; it is treated.");
        let first = Change { said_of_all: true, ..open };
        assert_eq!(brief(&index, &first), "HOMA-IR 2.44 → 1.41: the change is not judged, as said first.");
        let unsaid = PlacedIndex { if_fasting: true, ..index };
        assert!(brief(&unsaid, &first).contains(" → 1.41 (only if taken fasting): the change"));
    }
}

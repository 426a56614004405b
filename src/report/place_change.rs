//! Two measurements of one person, side by side.

use super::place_words::value;
use crate::analysis::{Change, PlacedIndex};
use crate::table::number::{fixed, significant};

/// A second value beside the first, and whether the change is more than noise.
pub(super) fn change(index: &PlacedIndex, change: &Change) -> String {
    let (Some(by), Some(beyond)) = (change.change, change.beyond_chance) else { return brief(index, change) };
    let assumed = index.variation.as_ref().map_or(0.0, |v| 100.0 * v.within_person);
    let other = match (change.turns_at, beyond) {
        (None, _) => "no other variation would change this answer".to_owned(),
        (Some(cv), true) => format!("from {} % on the change would not be more than noise", fixed(cv, 0)),
        (Some(cv), false) => format!("with {} % or less the change would be more than noise", fixed(cv, 0)),
    };
    let reach = if by < 0.0 { -change.fall.unwrap_or_default() } else { change.rise.unwrap_or_default() };
    format!(
        "{} (chance alone reaches {}). This takes a day-to-day variation of {} %, and counts neither season nor drift over \
         the months; {other}. {}",
        brief(index, change).trim_end_matches('.'),
        signed(reach),
        fixed(assumed, 0),
        if beyond { "Why it changed is not known." } else { "A real change remains possible." },
    )
}

/// The two values and the verdict.
pub(super) fn brief(index: &PlacedIndex, change: &Change) -> String {
    let Some(second) = change.second else {
        return format!("Second date: {} cannot be compared; {}.", index.label, change.why_not);
    };
    let pair = format!("{} {} → {}", index.label, value(index, change.first), value(index, second));
    let (Some(by), Some(beyond)) = (change.change, change.beyond_chance) else {
        return format!("{pair}: the change is not judged; {}.", change.why_not);
    };
    let verdict = if beyond { "more than noise" } else { "not more than noise" };
    let condition = if change.if_same_assay { ", if by the same assay" } else { "" };
    format!("{pair} ({}) in {} months: {verdict}{condition}.", signed(by), significant(change.months, 3))
}

fn signed(percent: f64) -> String {
    format!("{}{} %", if percent > 0.0 { "+" } else { "" }, fixed(percent, 0))
}

//! Why a cutoff leaves it open on which side of it the usual value is, although one side is likely at the cutoff itself.

use super::place_verdict::past;
use crate::analysis::PlacedCutoff;
use crate::stats::place::LIKELY;
use crate::table::number::reading;

/// Whether the usual value is likely beyond the cutoff itself, or likely short of it, whatever the interval makes of it.
pub(super) fn leaning(cutoff: &PlacedCutoff) -> Option<bool> {
    let chance = cutoff.chance? / 100.0;
    let likely = chance >= LIKELY || chance <= 1.0 - LIKELY;
    likely.then_some(chance >= LIKELY)
}

/// Why a side that is likely at the cutoff itself is not said: the interval holds the value, or day-to-day variation could
/// carry the usual value past an end of it; and whether the value lies outside the whole interval.
pub(super) fn why_open(cutoff: &PlacedCutoff, leaning: bool) -> (&'static str, String) {
    if cutoff.passed != Some(leaning) {
        return (
            "",
            "the usual value is taken to lie nearer to those of the group, on its other side".to_owned(),
        );
    }
    if cutoff.undecided == Some(true) {
        return (
            "",
            "within its interval, so that the true cutoff may lie on the other side of it".to_owned(),
        );
    }
    let outside = if leaning { " and past its whole interval," } else { " and of its whole interval," };
    let end = other_end(cutoff).map_or_else(|| "its end".to_owned(), |(_, end)| reading(end, 3));
    let other = past(Some(!leaning));
    (outside, format!("day-to-day variation could put the usual value {other} {end}"))
}

/// The chance at the end of the interval at which the answer would most likely be the other one, and that end.
pub(super) fn other_end(cutoff: &PlacedCutoff) -> Option<(f64, f64)> {
    let ends = [(cutoff.chance_at_lower, cutoff.lower), (cutoff.chance_at_upper, cutoff.upper)];
    let known = ends.into_iter().filter_map(|(chance, end)| Some((chance?, end?)));
    let sign = if cutoff.chance? < 50.0 { 1.0 } else { -1.0 };
    known.max_by(|a, b| (sign * a.0).total_cmp(&(sign * b.0)))
}

#[cfg(test)]
mod tests {
    use crate::analysis::{PlacedCutoff, PlacedIndex};
    use crate::report::place_fixture::open;
    use crate::report::place_verdict::plainly;

    #[test]
    fn one_verdict_is_said_with_its_reason() {
        let of = |cutoff: &PlacedCutoff| {
            plainly(&PlacedIndex::default(), cutoff, ("HOMA-IR 2.44", "the cutoff that fits (women)"))
        };
        assert_eq!(
            of(&open(9.0)),
            "HOMA-IR 2.44 is short of 3.38 (2.50–5.69), the cutoff that fits (women), and of its whole interval, but \
             day-to-day variation could put the usual value past 2.50: cannot tell"
        );
        assert_eq!(
            of(&PlacedCutoff { undecided: Some(true), ..open(9.0) }),
            "HOMA-IR 2.44 is short of 3.38 (2.50–5.69), the cutoff that fits (women), but within its interval, so that the \
             true cutoff may lie on the other side of it: cannot tell"
        );
        let past = PlacedCutoff {
            passed: Some(true),
            chance_at_lower: Some(99.0),
            chance_at_upper: Some(45.0),
            ..open(85.0)
        };
        assert_eq!(
            of(&past),
            "HOMA-IR 2.44 is past 3.38 (2.50–5.69), the cutoff that fits (women), and past its whole interval, but \
             day-to-day variation could put the usual value short of 5.69: cannot tell"
        );
        let pulled = PlacedCutoff { passed: Some(false), ..past };
        assert!(of(&pulled).ends_with("nearer to those of the group, on its other side: cannot tell"));
        assert_eq!(
            of(&open(40.0)),
            "HOMA-IR 2.44 is short of 3.38 (2.50–5.69), the cutoff that fits (women), but too close to it for one \
             measurement: cannot tell"
        );
    }
}

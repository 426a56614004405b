//! On which side of a cutoff a person's usual value likely is, in words.

use super::place_open::{leaning, other_end, why_open};
use super::place_words::{NOBODY, by_taken, factor, limit, share};
use crate::analysis::{PlacedCutoff, PlacedIndex, VariationUsed, WITHIN_DIGITS};
use crate::table::number::{reading, significant};

/// The verdict where nobody knows which factor of insulin holds, and the two say otherwise.
const DEPENDS: &str = "depends on the factor";
/// The verdict that neither side is likely.
const CANNOT_TELL: &str = "cannot_tell";

/// What one cutoff says: how likely, on which side, and by the other factor.
pub(super) type Said = (&'static str, Option<bool>, Option<&'static str>);

/// What a cutoff says of the value, and by the other factor of insulin where that says otherwise.
pub(super) fn answer(cutoff: &PlacedCutoff) -> Said {
    (cutoff.likely, cutoff.passed, cutoff.by_other.as_ref().map(|other| other.likely))
}

/// Whether a cutoff leaves it open on which side the usual value is.
pub(super) fn is_open(cutoff: &PlacedCutoff) -> bool {
    cutoff.likely == CANNOT_TELL || cutoff.by_other.is_some()
}

/// Whether one cutoff says the opposite of the other.
pub(super) fn opposite(one: &PlacedCutoff, other: &PlacedCutoff) -> bool {
    !is_open(one) && !is_open(other) && one.passed != other.passed
}

/// Whether a cutoff says otherwise than the one that decides: on the other side, or open where that one is not, or not
/// open where that one is.
pub(super) fn otherwise(deciding: &PlacedCutoff, other: &PlacedCutoff) -> bool {
    deciding.passed != other.passed || is_open(other) != is_open(deciding)
}

/// On which side of a cutoff the usual value likely is.
pub(super) fn verdict(index: &PlacedIndex, cutoff: &PlacedCutoff) -> String {
    if cutoff.runs_the_other_way() {
        return "no cutoff fits".to_owned();
    }
    if by_factors(cutoff).is_some() {
        return DEPENDS.to_owned();
    }
    let side = side_of(cutoff.likely, cutoff.passed);
    match &index.doubt {
        Some(doubt) if !is_open(cutoff) && !cutoff.whatever_below => {
            format!("{side}, if {} is right", doubt.measured)
        }
        _ => side.to_owned(),
    }
}

fn side_of(likely: &str, passed: Option<bool>) -> &'static str {
    match (likely, passed) {
        ("beyond", _) => "likely beyond",
        ("short", _) => "likely short",
        (CANNOT_TELL, _) => "cannot tell",
        (_, Some(true)) => "beyond, variation not known",
        (_, Some(false)) => "short, variation not known",
        (_, None) => "",
    }
}

/// Where a value itself lies.
pub(super) fn past(passed: Option<bool>) -> &'static str {
    if passed == Some(true) { "past" } else { "short of" }
}

/// Where a value lies to a cutoff, or where each of two factors puts it.
fn placed_to(cutoff: &PlacedCutoff, limit: &str) -> String {
    let side = past(cutoff.passed);
    match cutoff.by_other.as_ref().filter(|other| other.passed != cutoff.passed) {
        None => format!("{side} {limit}"),
        Some(other) => format!(
            "{side} {limit} by the factor {}, {} it by {}",
            factor(other.taken),
            past(other.passed),
            factor(other.factor)
        ),
    }
}

/// What each of two factors says, unless neither can tell.
fn by_factors(cutoff: &PlacedCutoff) -> Option<String> {
    let open = |likely: &str| likely == CANNOT_TELL;
    let other = cutoff.by_other.as_ref().filter(|other| !(open(cutoff.likely) && open(other.likely)))?;
    Some(format!(
        "it {DEPENDS} ({}: {}; {}: {})",
        factor(other.taken),
        side_of(cutoff.likely, cutoff.passed),
        factor(other.factor),
        side_of(other.likely, other.passed)
    ))
}

/// On which side of a cutoff, beside others: `likely short of 3.44 (2.70–4.61)`.
pub(super) fn sided(index: &PlacedIndex, cutoff: &PlacedCutoff) -> String {
    let limit = limit(index, cutoff);
    if let Some(depends) = by_factors(cutoff) {
        return format!("cannot tell: {depends}; the cutoff is {limit}");
    }
    match cutoff.likely {
        "beyond" => format!("likely beyond {limit}"),
        "short" => format!("likely short of {limit}"),
        CANNOT_TELL => format!("cannot tell, value {}", placed_to(cutoff, &limit)),
        _ => format!("{} {limit}, day-to-day variation not known", past(cutoff.passed)),
    }
}

/// On which side of several cutoffs that say the same, before their numbers: `likely short of`.
pub(super) fn side_before(cutoff: &PlacedCutoff) -> &'static str {
    match cutoff.likely {
        "beyond" => "likely beyond",
        "short" => "likely short of",
        _ => past(cutoff.passed),
    }
}

/// On which side of the cutoff that is taken, in a sentence without its end; `fits` says whose it is.
pub(super) fn plainly(index: &PlacedIndex, cutoff: &PlacedCutoff, (name, fits): (&str, &str)) -> String {
    let limit = limit(index, cutoff);
    if let Some(depends) = by_factors(cutoff) {
        return format!("{name}: cannot tell, as {depends}; {fits} is {limit}");
    }
    let side = past(cutoff.passed);
    match (cutoff.likely, leaning(cutoff).filter(|_| cutoff.by_other.is_none())) {
        ("beyond", _) => format!("{name} is likely beyond {limit}, {fits}"),
        ("short", _) => format!("{name} is likely short of {limit}, {fits}"),
        (CANNOT_TELL, Some(leaning)) => {
            let (outside, why) = why_open(cutoff, leaning);
            format!("{name} is {side} {limit}, {fits},{outside} but {why}: cannot tell")
        }
        (CANNOT_TELL, None) => {
            let placed = placed_to(cutoff, &format!("{limit}, {fits},"));
            let placed = placed.trim_end_matches(',');
            format!("{name} is {placed}, but too close to it for one measurement: cannot tell")
        }
        _ => format!("{name} is {side} {limit}, {fits}; how much it varies from day to day is not known"),
    }
}

/// The chances behind a verdict, and why there are any.
pub(super) fn chances(index: &PlacedIndex, cutoff: &PlacedCutoff) -> Option<String> {
    let varies = index.variation.as_ref().map_or_else(String::new, varies);
    Some(format!("One measurement varies ({varies}): {}.", if_right(index, cutoff)?))
}

/// The chance of being beyond a cutoff if it is right, and at the end of its interval at which the answer would most
/// likely be the other one.
pub(super) fn if_right(index: &PlacedIndex, cutoff: &PlacedCutoff) -> Option<String> {
    let chance = cutoff.chance.filter(|_| cutoff.by_other.is_none())?;
    let other = other_end(cutoff).map(|(chance, end)| {
        format!(", and {} % if truly {}, an end of its interval", share(chance), reading(end, 3))
    });
    let group = if is_pulled(index, cutoff) {
        "; the usual value is taken to lie nearer to those of the group than this one does"
    } else {
        ""
    };
    let by = by_taken(index).map(|by| format!("{by}, ")).unwrap_or_default();
    Some(format!(
        "{by}the chance that the usual value is beyond the cutoff is {} % if that is truly {}{}{group}",
        share(chance),
        reading(cutoff.cutoff?, 3),
        other.unwrap_or_default()
    ))
}

/// Whether a chance is of another side of the cutoff, or of an end of its interval, than the value itself is on: the group
/// pulls the usual value over it.
fn is_pulled(index: &PlacedIndex, cutoff: &PlacedCutoff) -> bool {
    let beyond =
        |limit: f64| if index.lower_is_resistant { index.value <= limit } else { index.value >= limit };
    let other_side = |chance: Option<f64>, passed: Option<bool>| {
        chance.zip(passed).is_some_and(|(chance, passed)| if passed { chance < 50.0 } else { chance > 50.0 })
    };
    other_side(cutoff.chance, cutoff.passed)
        || other_side(cutoff.chance_at_lower, cutoff.lower.map(beyond))
        || other_side(cutoff.chance_at_upper, cutoff.upper.map(beyond))
}

/// How much an index is taken to vary, each with where it is from: `21.6 % from day to day and 5.4 % by assay, from
/// memory`.
pub(super) fn varies(used: &VariationUsed) -> String {
    let percent = |share: f64| significant(100.0 * share, WITHIN_DIGITS);
    let within = format!("{} % from day to day", percent(used.within_person));
    let assay = format!("{} % by assay", percent(used.analytical));
    let origin = |stated: bool| if stated { "as stated" } else { "from memory" };
    let (first, second) = (origin(used.within_person_stated), origin(used.analytical_stated));
    if first == second {
        format!("{within} and {assay}, {first}")
    } else {
        format!("{within}, {first}, and {assay}, {second}")
    }
}

/// The chance of being beyond a cutoff, and at the ends of the cutoff's interval: `7 (1–35)`. Of a value in doubt none is
/// said.
pub(super) fn chance(index: &PlacedIndex, cutoff: &PlacedCutoff) -> String {
    if index.doubt.is_some() || cutoff.runs_the_other_way() {
        return NOBODY.to_owned();
    }
    let Some(at) = cutoff.chance else { return "not known".to_owned() };
    match (cutoff.chance_at_lower, cutoff.chance_at_upper) {
        (Some(one), Some(other)) => {
            format!("{} ({}–{})", share(at), share(one.min(other)), share(one.max(other)))
        }
        _ => share(at),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::{ByOther, Doubt};
    use crate::report::place_fixture::open;

    fn index() -> PlacedIndex {
        PlacedIndex { unit: "1".to_owned(), ..PlacedIndex::default() }
    }

    #[test]
    fn an_unknown_factor_that_turns_the_answer_is_said_in_its_place() {
        let by_other = ByOther { taken: 6.0, factor: 6.945, likely: CANNOT_TELL, passed: Some(true) };
        let torn =
            PlacedCutoff { passed: Some(true), likely: "beyond", by_other: Some(by_other), ..open(91.0) };
        assert_eq!(verdict(&index(), &torn), "depends on the factor");
        let said = "it depends on the factor (6.00: likely beyond; 6.945: cannot tell)";
        let limit = "3.38 (2.50–5.69)";
        assert_eq!(sided(&index(), &torn), format!("cannot tell: {said}; the cutoff is {limit}"));
        assert_eq!(chances(&index(), &torn), None);
        assert_eq!(verdict(&index(), &PlacedCutoff { by_other: None, ..torn.clone() }), "likely beyond");
        // Neither factor can tell, and they put the value on two sides.
        let open = PlacedCutoff { likely: CANNOT_TELL, passed: Some(false), ..torn };
        let sides = format!("short of {limit} by the factor 6.00, past it by 6.945");
        assert_eq!(sided(&index(), &open), format!("cannot tell, value {sides}"));
        assert_eq!(verdict(&index(), &open), "cannot tell");
        assert_eq!(
            plainly(&index(), &open, ("HOMA-IR 3.40", "the cutoff that fits (women)")),
            "HOMA-IR 3.40 is short of 3.38 (2.50–5.69), the cutoff that fits (women), by the factor 6.00, past it by 6.945, but \
             too close to it for one measurement: cannot tell"
        );
    }

    #[test]
    fn chances_are_explained_and_of_a_doubtful_value_none_is_shown() {
        let used = VariationUsed {
            within_person: 0.22,
            analytical: 0.054,
            within_person_stated: false,
            analytical_stated: false,
            sources: Vec::new(),
        };
        let mut index = PlacedIndex { variation: Some(used), ..index() };
        assert_eq!(
            chances(&index, &open(9.0)).as_deref(),
            Some(
                "One measurement varies (22 % from day to day and 5.4 % by assay, from memory): the chance that the usual value \
                 is beyond the cutoff is 9 % if that is truly 3.38, and 54 % if truly 2.50, an end of its interval; the \
                 usual value is taken to lie nearer to those of the group than this one does."
            )
        );
        assert_eq!(chance(&index, &open(9.0)), "9 (<0.1–54)");
        let (given, measured) = ("insulin 59 uU/mL".to_owned(), "insulin".to_owned());
        index.doubt = Some(Doubt { measured, given, ..Doubt::default() });
        assert_eq!(chance(&index, &open(9.0)), "–");
        let beyond = PlacedCutoff { likely: "beyond", ..open(99.99) };
        assert_eq!(verdict(&index, &beyond), "likely beyond, if insulin is right");
        let short = PlacedCutoff { likely: "short", whatever_below: true, ..open(0.1) };
        assert_eq!(verdict(&index, &short), "likely short");
    }

    #[test]
    fn a_chance_on_the_other_side_than_the_value_is_explained() {
        let said = |value: f64, cutoff: &PlacedCutoff| {
            let words = if_right(&PlacedIndex { value, ..index() }, cutoff).unwrap_or_default();
            words.ends_with("nearer to those of the group than this one does")
        };
        // Past the cutoff, and yet rather short of it.
        let past = PlacedCutoff { passed: Some(true), chance_at_lower: Some(80.0), ..open(40.0) };
        assert!(said(3.5, &past));
        // Between the lower end and the cutoff: beyond the one and short of the other, as the chances say.
        let between = PlacedCutoff { chance_at_lower: Some(58.0), ..open(31.0) };
        assert!(!said(2.6, &between) && said(2.4, &between));
        // Lower is more resistant: 2.6 is short of 2.5, and past 3.38.
        let lower = PlacedIndex { value: 2.6, lower_is_resistant: true, ..index() };
        let turned = PlacedCutoff { passed: Some(true), chance_at_upper: Some(90.0), ..open(70.0) };
        assert!(is_pulled(&lower, &turned));
        assert!(!is_pulled(&lower, &PlacedCutoff { chance_at_lower: Some(31.0), ..turned }));
    }

    #[test]
    fn a_variation_that_was_stated_is_not_called_remembered() {
        let used = VariationUsed {
            within_person: 0.15,
            analytical: 0.054,
            within_person_stated: true,
            analytical_stated: false,
            sources: Vec::new(),
        };
        assert_eq!(varies(&used), "15 % from day to day, as stated, and 5.4 % by assay, from memory");
        let both = VariationUsed { analytical_stated: true, ..used };
        assert_eq!(varies(&both), "15 % from day to day and 5.4 % by assay, as stated");
    }

    #[test]
    fn an_open_verdict_is_not_the_opposite_of_a_likely_one() {
        let short = PlacedCutoff { likely: "short", ..open(5.0) };
        let beyond = PlacedCutoff { likely: "beyond", passed: Some(true), ..open(95.0) };
        let past = PlacedCutoff { passed: Some(true), ..open(70.0) };
        assert!(opposite(&short, &beyond) && !opposite(&short, &open(9.0)));
        // A likely side beside an open one is another answer, whichever of the two decides.
        assert!(otherwise(&open(9.0), &short) && otherwise(&short, &open(9.0)));
        assert!(!otherwise(&open(9.0), &open(5.0)) && !otherwise(&short, &short));
        assert!(otherwise(&open(9.0), &past));
    }
}

//! A threshold that may be meant in another form or unit: what it would be here, and how it is asked.

use super::claim::{ClaimInput, Stated, in_unit};
use crate::analysis::claim::Doubt;
use crate::table::number::{significant, whole};

/// Digits of a threshold that is turned into the index's own form.
const DIGITS: usize = 4;

/// The doubt about a threshold, if there is one.
pub(super) fn doubt<'a>(stated: &Stated<'_>, input: &ClaimInput<'a>) -> Option<&'a Doubt> {
    let is_it = |doubt: &&Doubt| {
        doubt.stated.side.words() == stated.side && (doubt.stated.value - stated.value).abs() <= f64::EPSILON
    };
    input.doubts.iter().find(is_it)
}

/// Before the answer about a threshold that is among the values of the cohort.
pub(super) fn in_doubt(stated: &Stated<'_>, input: &ClaimInput<'_>) -> Option<String> {
    let doubt = doubt(stated, input)?;
    let at = in_unit(input.labels, stated.index, stated.value);
    Some(format!(
        "CAUTION: {} {at} is an unusual threshold, and may be meant in another form or unit. {}",
        input.labels.index_label(stated.index),
        how_to_ask(doubt, stated, input)
    ))
}

/// In place of an answer about a threshold beyond every value of the cohort, whose range is known.
pub(super) fn beyond_all(
    (stated, n): (&Stated<'_>, i64),
    (survey, range): (&str, (f64, f64)),
    input: &ClaimInput<'_>,
) -> String {
    let (low, high) = range;
    let lies = format!(
        "In {survey}, {} {} lies {} every value of the cohort (n = {}), which run from {} to {}: the threshold separates nobody.",
        input.labels.index_label(stated.index),
        in_unit(input.labels, stated.index, stated.value),
        if stated.value < low { "below" } else { "above" },
        whole(n),
        significant(low, 3),
        in_unit(input.labels, stated.index, significant(high, 3).parse().unwrap_or(high)),
    );
    match doubt(stated, input) {
        Some(doubt) => format!("{lies} {}", how_to_ask(doubt, stated, input)),
        None => lies,
    }
}

/// What each other form makes of the number and how that is asked, and how it is said that none of them is meant.
fn how_to_ask(doubt: &Doubt, stated: &Stated<'_>, input: &ClaimInput<'_>) -> String {
    let option = doubt.stated.side.option();
    let number = significant(stated.value, 6);
    let each: Vec<String> = doubt
        .readings
        .iter()
        .map(|reading| {
            let own = significant(reading.own, DIGITS).parse().unwrap_or(reading.own);
            let here = in_unit(input.labels, stated.index, own);
            format!("in {} it is {here} here: ask {option} {}", reading.words, significant(own, 6))
        })
        .collect();
    let itself = format!("write {option} \"{number} {}\"", doubt.itself);
    if each.is_empty() {
        return format!(
            "Is its unit the index's? If it is, {itself}; without that there is no verdict and no line to cite."
        );
    }
    format!(
        "If {number} is meant {}. If it is meant as it stands, {itself}; without that there is no verdict and no line to cite.",
        each.join("; ")
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::claim::{self, Side};
    use crate::chart::{IndexLabel, Labels};
    use crate::definitions::other_form::Reading;
    use crate::report::claim::tests::input;
    use crate::table::{Table, schema};

    fn said(readings: Vec<Reading>, say: fn(&Stated<'_>, &ClaimInput<'_>) -> String) -> String {
        let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
        let row = table.row().text("index", "tyg").real("threshold", Some(4.68)).text("side", "above");
        row.done().expect("a row");
        let label = IndexLabel { label: "TyG".to_owned(), ..IndexLabel::default() };
        let labels = Labels { indices: [("tyg".to_owned(), label)].into(), ..Labels::default() };
        let doubts = [Doubt {
            stated: claim::Stated { side: Side::Above, value: 4.68 },
            readings,
            itself: "tyg".to_owned(),
        }];
        let stated = Stated::of(&table.iter().next().expect("a row")).expect("a threshold");
        say(&stated, &ClaimInput { doubts: &doubts, ..input(&table, &labels) })
    }

    #[test]
    fn a_threshold_in_doubt_is_told_what_it_may_be_and_how_that_is_asked() {
        let half = || Reading {
            unit: None,
            typed: "tyg_half_log".to_owned(),
            words: "the half-log form (tyg_half_log)".to_owned(),
            own: 8.666_853,
        };
        let all = "If 4.68 is meant in the half-log form (tyg_half_log) it is 8.667 here: ask --above 8.667. If it is meant as it \
                   stands, write --above \"4.68 tyg\"; without that there is no verdict and no line to cite.";
        let among = said(vec![half()], |stated, input| in_doubt(stated, input).unwrap_or_default());
        assert_eq!(
            among,
            format!(
                "CAUTION: TyG 4.68 is an unusual threshold, and may be meant in another form or unit. {all}"
            )
        );
        let beyond: fn(&Stated<'_>, &ClaimInput<'_>) -> String =
            |stated, input| beyond_all((stated, 2881), ("S", (6.19, 11.9)), input);
        let lies = "In S, TyG 4.68 lies below every value of the cohort (n = 2881), which run from 6.19 to 11.9: the threshold \
                    separates nobody.";
        assert_eq!(said(vec![half()], beyond), format!("{lies} {all}"));
        assert!(
            said(Vec::new(), beyond)
                .contains("Is its unit the index's? If it is, write --above \"4.68 tyg\";")
        );
    }
}

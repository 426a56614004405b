//! What is left of the differences between groups after a run has adjusted them, or how to have that asked.

use super::claim::{ClaimInput, Stated};
use super::ends::ends;
use super::sentence::capital;
use crate::table::estimate::of_share;
use crate::table::{Row, Table};

/// Groups whose differences are read as their own although age and weight may be behind them.
const ASKED_OF: &str = "ancestry";

/// One sentence for each grouping asked whose shares the run has adjusted; of ancestry, else how to ask for it.
pub(super) fn adjusted(stated: &Stated<'_>, input: &ClaimInput<'_>, at: &str) -> Vec<String> {
    let rows = stated.rows(input.table, "share");
    let mut groupings: Vec<&str> = Vec::new();
    for row in rows.iter().filter(|row| row.text("grouping") != "everybody") {
        if !groupings.contains(&row.text("grouping")) {
            groupings.push(row.text("grouping"));
        }
    }
    let of_grouping = |grouping: &&str| {
        let found = input.adjusted.and_then(|table| of_run(stated, (table, grouping), (input, at)));
        found.or_else(|| (*grouping == ASKED_OF).then(|| how_to_ask(grouping, input)))
    };
    groupings.iter().filter_map(of_grouping).collect()
}

fn how_to_ask(grouping: &str, input: &ClaimInput<'_>) -> String {
    format!(
        "How much of the difference by {} goes with age or body mass is not told here: a run tells it whose study file states this \
         threshold and, under [analysis.standardize], of = [\"{grouping}\"] and to = [[\"age_20_40_60\", \"obesity\"]].",
        input.labels.grouping(grouping)
    )
}

/// The shares after adjusting for most, and as they are in the same people.
fn of_run(
    stated: &Stated<'_>,
    (table, grouping): (&Table, &str),
    (input, at): (&ClaimInput<'_>, &str),
) -> Option<String> {
    let strict = if stated.strict { "yes" } else { "no" };
    let of_threshold = |row: &Row<'_>| {
        let texts = [
            ("index", stated.index),
            ("population", "cohort"),
            ("grouping", grouping),
            ("measure", "share_beyond"),
            ("strict", strict),
        ];
        row.real("threshold") == Some(stated.value)
            && texts.iter().all(|(name, text)| row.text(name) == *text)
    };
    let rows: Vec<Row<'_>> = table.iter().filter(of_threshold).collect();
    let most = rows.iter().map(|row| row.text("adjustment")).max_by_key(|name| parts(name))?;
    let of = |adjustment: &str| -> Vec<Row<'_>> {
        rows.iter().filter(|row| row.text("adjustment") == adjustment).copied().collect()
    };
    let (after, before) = (of(most), of(NONE));
    let is_beyond = stated.is_beyond(input.labels);
    let [adjusted, plain] = [&after, &before].map(|rows| run_of(rows, is_beyond));
    let first = after.first().filter(|_| most != NONE)?;
    let remark = match first.text("notices") {
        "" => String::new(),
        notice => format!(" {}.", capital(notice)),
    };
    Some(format!(
        "By {}, adjusted for {}, the share {} {at} runs {}; unadjusted, in the same people, {}.{remark}",
        input.labels.grouping(grouping),
        first.text("adjusted_for"),
        stated.side,
        adjusted?,
        plain?
    ))
}

/// The adjustment that changes nothing.
const NONE: &str = "none";

/// How many variables an adjustment makes equal.
fn parts(adjustment: &str) -> usize {
    if adjustment == NONE { 0 } else { adjustment.split(" × ").count() }
}

/// From the lowest to the highest share on the stated side.
fn run_of(rows: &[Row<'_>], is_beyond: bool) -> Option<String> {
    let ends = ends(rows, "value")?;
    let end = |(share, row): &(f64, Row<'_>)| {
        let interval = row.shown("lower").zip(row.shown("upper"));
        let (share, interval) = if is_beyond {
            (*share, interval)
        } else {
            (100.0 - share, interval.map(|(lower, upper)| (100.0 - upper, 100.0 - lower)))
        };
        let (share, interval) = of_share(share, interval, 1);
        format!("{share}\u{a0}%{interval} in “{}”", row.text("group"))
    };
    let (low, high) = if is_beyond { (ends.low, ends.high) } else { (ends.high, ends.low) };
    Some(format!("from {} to {}", end(&low), end(&high)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Labels;
    use crate::report::claim::tests::input;
    use crate::table::schema;

    /// What is said of HOMA-IR and 2, of whose groups the run has adjusted shares at 2 where it has any.
    fn said(side: &str, grouping: &str, has_run: bool) -> Vec<String> {
        let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
        for group in ["a", "b"] {
            let row = table.row().text("index", "homa_ir").real("threshold", Some(2.0)).text("side", side);
            let row = row.text("strict", "no").text("population", "cohort").text("measure", "share");
            row.text("grouping", grouping).text("group", group).done().expect("a row");
        }
        let mut run = Table::new(schema::shape("standardised_values").expect("the table of adjusted values"));
        for (adjustment, words, shares) in [
            ("none", "nothing", [70.0, 50.0]),
            ("age", "age", [69.0, 52.0]),
            ("age × bmi", "age and body mass index", [60.0, 55.0]),
        ] {
            for (group, share) in ["a", "b"].into_iter().zip(shares) {
                let row =
                    run.row().text("index", "homa_ir").text("population", "cohort").text("strict", "no");
                let row = row.text("grouping", grouping).text("group", group).text("adjustment", adjustment);
                let row = row.text("adjusted_for", words).text("measure", "share_beyond");
                let row = row.real("threshold", Some(2.0)).real("value", Some(share));
                row.real("lower", Some(share - 4.0)).real("upper", Some(share + 5.0)).done().expect("a row");
            }
        }
        let labels = Labels::default();
        let stated = Stated::of(&table.iter().next().expect("a row")).expect("a threshold");
        let input = ClaimInput { adjusted: has_run.then_some(&run), ..input(&table, &labels) };
        adjusted(&stated, &input, "2")
    }

    #[test]
    fn shares_after_adjusting_for_most_stand_beside_those_before() {
        assert_eq!(
            said("at or above", "sex", true),
            [
                "By sex, adjusted for age and body mass index, the share at or above 2 runs from 55.0\u{a0}% (51.0–60.0) in “b” to \
                 60.0\u{a0}% (56.0–65.0) in “a”; unadjusted, in the same people, from 50.0\u{a0}% (46.0–55.0) in “b” to 70.0\u{a0}% \
                 (66.0–75.0) in “a”."
            ]
        );
        let below = said("below", "ancestry", true);
        assert!(below[0].contains("the share below 2 runs from 40.0\u{a0}% (35.0–44.0) in “a”"), "{below:?}");
        // A run of another threshold, or none.
        assert!(said("above", "sex", false).is_empty());
        let how = said("below", "ancestry", false);
        assert!(how[0].contains("of = [\"ancestry\"]"), "{how:?}");
    }
}

//! What being on the stated side promises: how many there have the outcome, or do not.

use super::claim::{ClaimInput, Stated};
use super::claim_sentences::spreads;
use super::ends::{all_or_none, certain_ends, withheld};
use super::sentence::percent;
use crate::table::Row;

/// Of those on the resistant side how many have the outcome, of those on the other how many do not; for everybody, and for
/// the outer groups of the grouping across which it differs most.
pub(super) fn predicts(stated: &Stated<'_>, input: &ClaimInput<'_>, at: &str) -> Option<String> {
    let (measure, promise) =
        if stated.is_beyond(input.labels) { ("ppv", "have") } else { ("npv", "do not have") };
    let rows = stated.rows(input.table, measure);
    let all = rows.iter().find(|row| row.text("grouping") == "everybody")?;
    let share = percent((all.shown("value")?, all), 0);
    let across = spreads(&rows, certain_ends).into_iter().next().map(|ends| {
        let end = |(value, row): &(f64, Row<'_>)| {
            format!("{} in “{}”", percent((*value, row), 0), row.text("group"))
        };
        let by = input.labels.grouping(ends.low.1.text("grouping"));
        let without = withheld("value", ends.withheld) + &all_or_none(&ends);
        format!("; by {by} this runs from {} to {}{without}", end(&ends.low), end(&ends.high))
    });
    let outcome = input.labels.outcome(all.text("outcome"));
    Some(format!(
        "Of the people {} {at}, {share} {promise} the outcome, {outcome}{}.",
        stated.side,
        across.unwrap_or_default()
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Labels;
    use crate::report::claim::tests::input;
    use crate::table::{Table, schema};

    fn said(side: &str) -> Option<String> {
        said_of(side, "")
    }

    /// With a third group, whose value is withheld for a reason.
    fn said_of(side: &str, withheld: &str) -> Option<String> {
        let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
        let groups = [("everybody", "everybody", 81.0), ("age", "old", 55.0), ("age", "young", 95.0)];
        for (measure, off) in [("npv", 0.0), ("ppv", 20.0)] {
            for (grouping, group, value) in groups {
                let row =
                    table.row().text("index", "homa_ir").real("threshold", Some(2.0)).text("side", side);
                let strict = if ["below", "above"].contains(&side) { "yes" } else { "no" };
                let row = row.text("strict", if side == "below" { "no" } else { strict });
                let row = row.text("outcome", "o").text("population", "cohort").text("measure", measure);
                let row =
                    row.text("grouping", grouping).text("group", group).real("value", Some(value - off));
                let row = row.real("lower", Some(value - off - 3.0)).real("upper", Some(value - off + 3.0));
                row.done().expect("a row");
            }
        }
        if !withheld.is_empty() {
            let row = table.row().text("index", "homa_ir").real("threshold", Some(2.0)).text("side", side);
            let row = row.text("strict", "no").text("outcome", "o").text("population", "cohort");
            let row = row.text("measure", "npv").text("grouping", "age").text("group", "oldest");
            row.text("withheld", withheld).done().expect("a row");
        }
        let labels = Labels::default();
        let stated = Stated::of(&table.iter().next().expect("a row")).expect("a threshold");
        predicts(&stated, &input(&table, &labels), "2")
    }

    #[test]
    fn below_promises_to_be_without_it_and_beyond_to_have_it() {
        assert_eq!(
            said("below").expect("a sentence"),
            "Of the people below 2, 81\u{a0}% (78–84) do not have the outcome, o; by age this runs from 55\u{a0}% (52–58) in “old” to \
             95\u{a0}% (92–98) in “young”."
        );
        let withheld = said_of("below", "fewer than 30 people").expect("a sentence");
        assert!(withheld.ends_with("in “young”; the value of one group is withheld."), "{withheld}");
        assert!(
            said("at or above").expect("a sentence").starts_with(
                "Of the people at or above 2, 61\u{a0}% (58–64) have the outcome, o; by age this runs from 35\u{a0}%"
            ),
            "{:?}",
            said("at or above")
        );
    }
}

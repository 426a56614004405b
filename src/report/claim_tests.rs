//! What the run's own tests say of the best cutoffs that a claim is about, and where counted and smoothed ones disagree.

use super::claim::{ClaimInput, Stated};
use super::claim_grids::places_of;
use super::ends::{Ends, ends};
use super::moves::{LEADING, tested};
use super::sentence::places;
use crate::table::estimate::of_value;
use crate::table::number::apart;
use crate::table::{Row, Table};

/// So much of everybody must be in the groups of a grouping that its groups may be said to be all of them.
const NEARLY_ALL: f64 = 0.9;

/// For each grouping asked, one paragraph: whether the run has found that its cutoffs differ, and the smoothed cutoffs that
/// this rests on.
pub(super) fn cutoffs_differ(input: &ClaimInput<'_>) -> Vec<String> {
    let key = |row: &Row<'_>| ["index", "outcome", "grouping"].map(|column| row.text(column).to_owned());
    let mut asked: Vec<[String; 3]> = Vec::new();
    let claimed = input.table.iter().filter(|row| !row.text("claim").is_empty());
    for row in claimed.filter(|row| row.text("measure") == "best_cutoff") {
        if !asked.contains(&key(&row)) {
            asked.push(key(&row));
        }
    }
    let of_asked = |asked: &[String; 3]| {
        let tests = input.tests.into_iter().flat_map(Table::iter);
        let test = tests.filter(|row| row.text("method") == LEADING).find(|row| key(row) == *asked);
        let tested = test.and_then(|test| conclusion(&test, input));
        let lead = if tested.is_some() {
            "They run".to_owned()
        } else {
            format!("By {}, the smoothed best cutoffs run", input.labels.grouping(&asked[2]))
        };
        let run = smoothed_run(input, &asked[2], &lead);
        let parts: Vec<String> = tested.into_iter().chain(run).collect();
        (!parts.is_empty()).then(|| parts.join(" "))
    };
    asked.iter().filter_map(of_asked).collect()
}

fn conclusion(test: &Row<'_>, input: &ClaimInput<'_>) -> Option<String> {
    let (verdict, numbers) = tested(test)?;
    Some(format!(
        "The run's own test whether the smoothed best cutoffs differ between the groups of {}: {verdict} ({numbers}).",
        input.labels.grouping(test.text("grouping"))
    ))
}

/// From which to which group the smoothed cutoffs run, and that the counted ones say otherwise where they do.
fn smoothed_run(input: &ClaimInput<'_>, grouping: &str, lead: &str) -> Option<String> {
    let [smoothed, counted] =
        ["smoothed_cutoff", "best_cutoff"].map(|measure| of_grouping(input, measure, grouping));
    let both = |rows: &[Row<'_>], others: &[Row<'_>]| -> Vec<bool> {
        let printed = |row: &Row<'_>| {
            others.iter().any(|other| same_group(other, row) && other.shown("value").is_some())
        };
        rows.iter().map(printed).collect()
    };
    let kept = |rows: &[Row<'_>], keep: Vec<bool>| -> Option<(String, [String; 2])> {
        let rows: Vec<Row<'_>> =
            rows.iter().zip(keep).filter(|(_, keep)| *keep).map(|(row, _)| *row).collect();
        let ends = ends(&rows, "value")?;
        let places = places_of(&of_all(input, rows[0].text("measure")), input.labels);
        Some((runs(&ends, places), [ends.low, ends.high].map(|(_, row)| row.text("group").to_owned())))
    };
    let (run, order) = kept(&smoothed, both(&smoothed, &counted))?;
    let (other_run, other_order) = kept(&counted, both(&counted, &smoothed))?;
    let turned = order[0] == other_order[1] && order[1] == other_order[0];
    let otherwise = if order == other_order {
        String::new()
    } else if turned {
        format!(" The counted ones point the other way, {other_run}: neither says which is higher.")
    } else {
        format!(" The counted ones run {other_run}: neither says which group has the lowest or the highest.")
    };
    Some(format!("{lead} {run}.{otherwise}"))
}

/// `from 2.21 (1.72–2.61) in “female” to 2.32 (2.05–2.72) in “male”`.
fn runs(ends: &Ends<'_>, places: usize) -> String {
    let end = |(value, row): &(f64, Row<'_>)| {
        let (value, interval) = of_value(*value, row.shown("lower").zip(row.shown("upper")), places);
        format!("{value}{interval} in “{}”", row.text("group"))
    };
    format!("from {} to {}", end(&ends.low), end(&ends.high))
}

fn same_group(one: &Row<'_>, other: &Row<'_>) -> bool {
    one.text("group") == other.text("group")
}

/// The cutoffs of all groups, which are the same for every threshold.
fn of_all<'a>(input: &ClaimInput<'a>, measure: &str) -> Vec<Row<'a>> {
    let mut stated = input.table.iter().filter_map(|row| Stated::of(&row));
    let first = stated.find(|stated| stated.divides(input.table));
    first.map(|first| first.rows(input.table, measure)).unwrap_or_default()
}

/// The cutoffs of one grouping's groups.
fn of_grouping<'a>(input: &ClaimInput<'a>, measure: &str, grouping: &str) -> Vec<Row<'a>> {
    of_all(input, measure).into_iter().filter(|row| row.text("grouping") == grouping).collect()
}

/// Where everybody's counted best cutoff lies below or above those of all groups of a grouping, which no average could.
pub(super) fn outside_of_groups(input: &ClaimInput<'_>) -> Vec<String> {
    let Some(everybody) = of_grouping(input, "best_cutoff", "everybody").into_iter().next() else {
        return Vec::new();
    };
    let mut groupings: Vec<&str> = Vec::new();
    for row in input.table.iter().filter(|row| row.text("measure") == "best_cutoff") {
        let grouping = row.text("grouping");
        if !groupings.contains(&grouping) && row.text("claim").is_empty() && grouping != "everybody" {
            groupings.push(grouping);
        }
    }
    groupings.iter().filter_map(|grouping| outside_of(input, &everybody, grouping)).collect()
}

fn outside_of(input: &ClaimInput<'_>, everybody: &Row<'_>, grouping: &str) -> Option<String> {
    let groups = of_grouping(input, "best_cutoff", grouping);
    let printed: Vec<Row<'_>> = groups.into_iter().filter(|row| row.shown("value").is_some()).collect();
    let counted: i64 = printed.iter().filter_map(|row| row.whole("n")).sum();
    let (value, ends) = (everybody.shown("value")?, ends(&printed, "value")?);
    let side = match value {
        low if low < ends.low.0 => "below",
        high if high > ends.high.0 => "above",
        _ => return None,
    };
    if (counted as f64) < NEARLY_ALL * everybody.real("n")? {
        return None;
    }
    let places = places(value).max(places(ends.low.0)).max(places(ends.high.0)).min(4);
    // A cutoff that lies beside the nearest of them must not look as if it were that.
    let places = apart(&[value], &[ends.low.0, ends.high.0], places);
    let of = |value: f64| of_value(value, None, places).0;
    Some(format!(
        "Everybody's best cutoff, {}, lies {side} those of all groups by {} ({} to {}): a counted cutoff jumps, and is no average \
         of the groups'.",
        of(value),
        input.labels.grouping(grouping),
        of(ends.low.0),
        of(ends.high.0)
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Labels;
    use crate::report::claim::tests::input;
    use crate::table::{Table, schema};

    #[test]
    fn a_claim_about_a_best_cutoff_is_told_the_runs_own_test() {
        let said = |measure: &str, conclusion: &str| {
            let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
            for grouping in ["everybody", "bmi", "bmi", "sex × bmi"] {
                let row = table.row().text("index", "homa_ir").text("outcome", "ir").text("claim", "c");
                row.text("grouping", grouping).text("measure", measure).done().expect("a row");
            }
            let mut tests = Table::new(schema::shape("heterogeneity").expect("the table of tests"));
            for (method, outcome, p) in
                [("empirical_youden", "ir", 0.5), (LEADING, "other", 0.4), (LEADING, "ir", 0.0004)]
            {
                let row =
                    tests.row().text("index", "homa_ir").text("outcome", outcome).text("grouping", "bmi");
                let row = row.text("method", method).real("f", Some(17.23)).real("df1", Some(2.0));
                let row = row.real("df2", Some(25.0)).real("p_holm", Some(p)).text("conclusion", conclusion);
                row.done().expect("a row");
            }
            let labels = Labels::default();
            cutoffs_differ(&ClaimInput { tests: Some(&tests), ..input(&table, &labels) })
        };
        assert_eq!(
            said("best_cutoff", "differ by more than noise"),
            [
                "The run's own test whether the smoothed best cutoffs differ between the groups of bmi: more than noise (F(2, 25) = \
              17.2, p < 0.001 by Holm over all such tests)."
            ]
        );
        let alike = said("best_cutoff", "not distinguishable with these data");
        assert!(alike[0].contains("of bmi: not distinguishable with these data (F(2, 25)"), "{alike:?}");
        assert_eq!(said("best_cutoff", ""), Vec::<String>::new());
        assert_eq!(said("share", "differ by more than noise"), Vec::<String>::new());
    }

    /// Counted and smoothed cutoffs of groups with so many people, everybody first; all are claimed of.
    fn cutoffs(rows: &[(&str, i64, f64, f64)]) -> Table {
        let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
        for (group, n, counted, smoothed) in rows {
            for (measure, claim, value) in [
                ("best_cutoff", "", counted),
                ("smoothed_cutoff", "", smoothed),
                ("best_cutoff", "c", counted),
            ] {
                let row = table.row().text("index", "homa_ir").text("outcome", "ir").text("claim", claim);
                let row = row.real("threshold", Some(2.0)).text("side", "below").text("population", "cohort");
                let grouping = if *group == "everybody" { *group } else { "sex" };
                let row = row.text("grouping", grouping).text("group", *group).text("measure", measure);
                row.whole("n", Some(*n)).real("value", Some(*value)).done().expect("a row");
            }
        }
        table
    }

    #[test]
    fn counted_cutoffs_in_another_order_than_smoothed_ones_are_said_to_tell_no_order() {
        let said = |rows: &[(&str, i64, f64, f64)]| {
            let (table, labels) = (cutoffs(rows), Labels::default());
            cutoffs_differ(&input(&table, &labels)).join("|")
        };
        let (female, male) = (("female", 50, 2.49, 2.21), ("male", 50, 2.23, 2.32));
        let run = "By sex, the smoothed best cutoffs run from 2.21 in “female” to 2.32 in “male”.";
        assert_eq!(
            said(&[female, male]),
            format!(
                "{run} The counted ones point the other way, from 2.23 in “male” to 2.49 in “female”: neither says which is higher."
            )
        );
        assert_eq!(said(&[("female", 50, 2.0, 2.21), male]), run);
        let three = said(&[female, male, ("unknown", 5, 2.6, 2.25)]);
        assert!(
            three.ends_with(
                " The counted ones run from 2.23 in “male” to 2.60 in “unknown”: neither says which group has the lowest or the highest."
            ),
            "{three}"
        );
    }

    #[test]
    fn a_cutoff_of_everybody_outside_those_of_all_groups_is_explained() {
        let said = |rows: &[(&str, i64, f64, f64)]| {
            let (table, labels) = (cutoffs(rows), Labels::default());
            outside_of_groups(&input(&table, &labels)).join("|")
        };
        let groups = [("female", 50, 2.49, 2.21), ("male", 50, 2.23, 2.32)];
        let with = |all: f64, groups: &[(&'static str, i64, f64, f64)]| {
            said(&[&[("everybody", 100, all, 2.2)][..], groups].concat())
        };
        assert_eq!(
            with(2.22, &groups),
            "Everybody's best cutoff, 2.22, lies below those of all groups by sex (2.23 to 2.49): a counted cutoff jumps, and is no \
             average of the groups'."
        );
        assert!(
            with(2.5, &groups).contains("2.50, lies above those of all groups"),
            "{}",
            with(2.5, &groups)
        );
        assert_eq!(with(2.3, &groups), "");
        // 2.2213 and 2.2231 are both 2.22.
        let near = [("female", 50, 2.49, 2.21), ("male", 50, 2.2231, 2.32)];
        let said_near = with(2.2213, &near);
        assert!(
            said_near.contains("2.221, lies below those of all groups by sex (2.223 to 2.490)"),
            "{said_near}"
        );
        // Where half of everybody is in none of them, theirs may lie anywhere.
        let half = [("female", 25, 2.49, 2.21), ("male", 25, 2.23, 2.32)];
        assert_eq!(with(2.22, &half), "");
    }
}

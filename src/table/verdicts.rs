//! What came of a claim in all its groups together, in the words of page and picture.

use super::Row;
use super::schema::ALL_GROUPS;

/// Said where some estimates have more decimals than the others of their column.
pub const MORE_DECIMALS: &str =
    "More decimals stand where an end of an interval would otherwise look like the limit that is claimed";

/// Slack for confidences such as 0.95, whose complement is not exactly 0.05.
const SLACK: f64 = 1e-12;

/// The rows of a claim that are about one group each.
#[must_use]
pub fn of_groups<'a>(rows: &[Row<'a>]) -> Vec<Row<'a>> {
    let single = |row: &&Row<'a>| !["everybody", ALL_GROUPS].contains(&row.text("grouping"));
    rows.iter().filter(single).copied().collect()
}

/// `asked of all 7 groups: does NOT hold in all of them`, by the verdict on all groups; of one group its name and verdict.
#[must_use]
pub fn in_all(all: &str, groups: &[Row<'_>], confidence: f64) -> String {
    if let [one] = groups {
        return format!("asked of one group, “{}”: {}", one.text("group"), of_one(all));
    }
    let n = groups.len();
    let told = groups.iter().filter(|row| row.text("verdict") != "cannot tell").count();
    let sure = groups
        .iter()
        .filter(|row| row.text("verdict") == "holds" && !could_be_chance(row, confidence))
        .count();
    let answer = match all {
        "holds" => "HOLDS in all of them".to_owned(),
        "fails" => "does NOT hold in all of them".to_owned(),
        "undecided" if sure == 0 => {
            "UNDECIDED. It neither fails nor holds for sure in any of them".to_owned()
        }
        "undecided" => {
            format!("UNDECIDED. It fails in none for sure, but holds for sure only in {sure} of {n}")
        }
        _ if told == 0 => WITHHELD.to_owned(),
        _ => format!("CANNOT TELL. It holds in the {told} that can be judged, {} cannot be", n - told),
    };
    format!("asked of all {n} groups: {answer}")
}

/// What is said where nothing can be judged.
const WITHHELD: &str = "CANNOT TELL, because the numbers are withheld";

fn of_one(verdict: &str) -> &'static str {
    match verdict {
        "holds" => "HOLDS there",
        "fails" => "FAILS there",
        "undecided" => "UNDECIDED there",
        _ => WITHHELD,
    }
}

/// How many groups are tested, where not all that are asked can be: p values are raised by their number alone.
#[must_use]
pub fn tested(groups: &[Row<'_>]) -> Option<String> {
    let (asked, tested) = (groups.len(), in_the_family(groups));
    (tested > 0 && tested < asked).then(|| {
        format!("Of the {asked} groups asked, {tested} can be tested: the smallest p is raised by {tested} (Holm).")
    })
}

/// The groups that have a test.
#[must_use]
pub fn in_the_family(groups: &[Row<'_>]) -> usize {
    groups.iter().filter(|row| row.real("p_holm").is_some()).count()
}

/// Whether a group holds or fails by its own interval, but could do so by chance among all groups asked (Holm).
#[must_use]
pub fn could_be_chance(row: &Row<'_>, confidence: f64) -> bool {
    ["holds", "fails"].contains(&row.text("verdict"))
        && row.real("p_holm").is_some_and(|p| p > 1.0 - confidence + SLACK)
}

/// The verdict on a group as it is counted: `holds`, or `holds, could be chance`.
#[must_use]
pub fn told(row: &Row<'_>, confidence: f64) -> String {
    let chance = if could_be_chance(row, confidence) { ", could be chance" } else { "" };
    format!("{}{chance}", row.text("verdict"))
}

/// Whether a share is withheld, but its interval alone was judged.
#[must_use]
pub fn by_interval_alone(row: &Row<'_>) -> bool {
    !row.text("withheld").is_empty() && !["", "cannot tell"].contains(&row.text("verdict"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::{Table, schema};

    /// Of each group its verdict and its p by Holm.
    fn said(all: &str, groups: &[(&str, Option<f64>)]) -> String {
        let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
        for grouping in ["everybody", ALL_GROUPS] {
            table.row().text("grouping", grouping).text("verdict", all).done().expect("a row");
        }
        for (verdict, p) in groups {
            let row = table.row().text("grouping", "sex").text("group", "female").text("verdict", *verdict);
            row.real("p_holm", *p).done().expect("a row");
        }
        in_all(all, &of_groups(&table.iter().collect::<Vec<_>>()), 0.95)
    }

    #[test]
    fn a_claim_that_is_not_true_of_all_is_not_said_to_fail_in_all() {
        let (holds, fails) = (("holds", Some(0.01)), ("fails", Some(0.01)));
        assert_eq!(said("fails", &[holds, fails]), "asked of all 2 groups: does NOT hold in all of them");
        assert_eq!(said("holds", &[holds, holds]), "asked of all 2 groups: HOLDS in all of them");
        assert_eq!(said("holds", &[holds]), "asked of one group, “female”: HOLDS there");
        assert_eq!(
            said("undecided", &[holds, holds, ("holds", Some(0.06)), ("fails", Some(0.2))]),
            "asked of all 4 groups: UNDECIDED. It fails in none for sure, but holds for sure only in 2 of 4"
        );
        assert_eq!(
            said("undecided", &[("undecided", Some(0.3))]),
            "asked of one group, “female”: UNDECIDED there"
        );
        assert_eq!(
            said("undecided", &[("undecided", Some(0.3)), ("undecided", Some(0.4))]),
            "asked of all 2 groups: UNDECIDED. It neither fails nor holds for sure in any of them"
        );
        assert_eq!(said("fails", &[fails]), "asked of one group, “female”: FAILS there");
        assert_eq!(
            said("cannot tell", &[holds, ("cannot tell", None)]),
            "asked of all 2 groups: CANNOT TELL. It holds in the 1 that can be judged, 1 cannot be"
        );
        assert_eq!(
            said("cannot tell", &[("cannot tell", None)]),
            "asked of one group, “female”: CANNOT TELL, because the numbers are withheld"
        );
    }

    #[test]
    fn groups_that_cannot_be_told_are_not_counted_among_the_tests() {
        let said = |groups: &[Option<f64>]| {
            let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
            for p in groups {
                table.row().text("grouping", "sex").real("p_holm", *p).done().expect("a row");
            }
            tested(&table.iter().collect::<Vec<_>>())
        };
        let words = "Of the 3 groups asked, 2 can be tested: the smallest p is raised by 2 (Holm).";
        assert_eq!(said(&[Some(0.01), None, Some(0.2)]).as_deref(), Some(words));
        assert_eq!([said(&[Some(0.01), Some(0.2)]), said(&[None, None])], [None, None]);
    }

    #[test]
    fn exactly_the_level_is_no_chance() {
        let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
        for (verdict, p) in [("holds", 0.05), ("holds", 0.051), ("undecided", 0.5)] {
            table.row().text("verdict", verdict).real("p_holm", Some(p)).done().expect("a row");
        }
        let found: Vec<bool> = table.iter().map(|row| could_be_chance(&row, 0.95)).collect();
        assert_eq!(found, [false, true, false]);
        let words: Vec<String> = table.iter().map(|row| told(&row, 0.95)).collect();
        assert_eq!(words, ["holds", "holds, could be chance", "undecided"]);
    }
}

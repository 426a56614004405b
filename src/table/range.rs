//! Which groups a range of adjusted cutoffs leaves out.

use super::Row;

/// Columns that say which range a cutoff belongs to.
const RANGE: &[&str] = &["survey", "frame", "index", "outcome", "population", "grouping", "method"];

/// `Orvane left out, for want of one of these cutoffs`: a group without a cutoff, as it is or after some adjustment, counts in
/// no range, so that all of them are of the same groups. `None` where every group counts.
#[must_use]
pub fn left_out<'a>(range: &Row<'_>, adjusted: impl Iterator<Item = Row<'a>>) -> Option<String> {
    let count = range.whole("groups_left_out").filter(|count| *count > 0)?;
    let same = |row: &Row<'_>| RANGE.iter().all(|column| row.text(column) == range.text(column));
    let mut groups: Vec<&str> = Vec::new();
    for row in adjusted.filter(same).filter(|row| row.shown("cutoff").is_none()) {
        if !groups.contains(&row.text("group")) {
            groups.push(row.text("group"));
        }
    }
    let who = if i64::try_from(groups.len()) == Ok(count) {
        groups.join(" and ")
    } else if count == 1 {
        "one group".to_owned()
    } else {
        format!("{count} groups")
    };
    Some(format!("{who} left out, for want of one of these cutoffs"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::{Table, schema};

    #[test]
    fn a_group_that_lacks_a_cutoff_after_one_adjustment_is_named() {
        let mut ranges = Table::new(schema::shape("decomposition").expect("a table"));
        for (grouping, count) in [("ancestry", 1), ("sex", 0), ("site", 3)] {
            let row = ranges.row().text("grouping", grouping).whole("groups_left_out", Some(count));
            row.done().expect("a row");
        }
        let mut adjusted = Table::new(schema::shape("standardised_cutoffs").expect("a table"));
        for (grouping, group, cutoff) in [
            ("ancestry", "Sithrel", Some(8.29)),
            ("ancestry", "Orvane", Some(8.65)),
            ("ancestry", "Orvane", None),
            ("ancestry", "Orvane", None),
            ("sex", "female", None),
        ] {
            let row = adjusted.row().text("grouping", grouping).text("group", group).real("cutoff", cutoff);
            row.done().expect("a row");
        }
        let said: Vec<Option<String>> =
            ranges.iter().map(|range| left_out(&range, adjusted.iter())).collect();
        let words = |who: &str| Some(format!("{who} left out, for want of one of these cutoffs"));
        assert_eq!(said, [words("Orvane"), None, words("3 groups")]);
    }
}

//! Which of two groups has the higher cutoff, where the cutoffs as counted and the smoothed ones need not agree.

use super::Row;
use super::schema::SMOOTHED_YOUDEN;

/// The rule whose cutoffs as counted and smoothed aim at the same.
pub const RULE: &str = "youden";
/// What a cutoff is of.
const SAME: [&str; 5] = ["survey", "index", "outcome", "population", "grouping"];

/// The two outermost groups of one grouping, the lower as counted first, where smoothed cutoffs have them the other way round.
#[must_use]
pub fn opposite<'a>(
    counted: &[Row<'a>],
    smoothed: impl Iterator<Item = Row<'a>>,
) -> Option<(&'a str, &'a str)> {
    let first = counted.first().filter(|row| row.text("rule") == RULE)?;
    let same = |row: &Row<'_>| {
        row.text("method") == SMOOTHED_YOUDEN
            && SAME.iter().all(|column| row.text(column) == first.text(column))
    };
    let smoothed: Vec<Row<'a>> = smoothed.filter(same).collect();
    let both: Vec<(&'a str, [f64; 2])> = counted
        .iter()
        .filter_map(|row| {
            let other = smoothed.iter().find(|other| other.text("group") == row.text("group"))?;
            Some((row.text("group"), [row.shown("cutoff")?, other.shown("cutoff")?]))
        })
        .collect();
    let by = |way: usize| {
        let order = |a: &&(&str, [f64; 2]), b: &&(&str, [f64; 2])| a.1[way].total_cmp(&b.1[way]);
        Some((both.iter().min_by(order)?, both.iter().max_by(order)?))
    };
    let turned = [0, 1].into_iter().filter_map(by).find(|(low, high)| {
        let [counted, smoothed] = [0, 1].map(|way| (high.1[way] - low.1[way]).signum());
        low.1[0] != high.1[0] && low.1[1] != high.1[1] && counted != smoothed
    });
    turned.map(|(one, other)| if one.1[0] < other.1[0] { (one.0, other.0) } else { (other.0, one.0) })
}

/// The same in a sentence, with a space before it; empty where both agree.
#[must_use]
pub fn sentence<'a>(counted: &[Row<'a>], smoothed: impl Iterator<Item = Row<'a>>) -> String {
    opposite(counted, smoothed).map_or_else(String::new, |(low, high)| {
        format!(
            " As counted, the cutoff is higher in “{high}” than in “{low}”; smoothed, it is the other way round: counted and \
             smoothed cutoffs disagree about which is higher, and no direction can be said."
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::{Table, schema};

    fn tables(rule: &str, groups: &[(&str, f64, f64)]) -> [Table; 2] {
        let [mut counted, mut smoothed] =
            ["cutoffs", "smoothed_cutoffs"].map(|name| Table::new(schema::shape(name).expect(name)));
        for (group, by_count, by_curve) in groups {
            let row = counted.row().text("grouping", "by").text("group", *group).text("rule", rule);
            row.real("cutoff", Some(*by_count)).done().expect("a row");
            let row =
                smoothed.row().text("grouping", "by").text("group", *group).text("method", SMOOTHED_YOUDEN);
            row.real("cutoff", Some(*by_curve)).done().expect("a row");
        }
        [counted, smoothed]
    }

    fn found(rule: &str, groups: &[(&str, f64, f64)]) -> Option<(String, String)> {
        let [counted, smoothed] = tables(rule, groups);
        let rows: Vec<Row<'_>> = counted.iter().collect();
        opposite(&rows, smoothed.iter()).map(|(low, high)| (low.to_owned(), high.to_owned()))
    }

    #[test]
    fn outermost_groups_in_opposite_orders_are_named_the_lower_as_counted_first() {
        let named = Some(("men".to_owned(), "women".to_owned()));
        assert_eq!(found("youden", &[("women", 2.49, 2.21), ("men", 2.23, 2.32)]), named);
        assert_eq!(found("youden", &[("women", 2.3, 2.2), ("men", 2.2, 2.3)]), named);
        assert_eq!(found("youden", &[("women", 2.49, 2.33), ("men", 2.23, 2.32)]), None);
        assert_eq!(found("youden", &[("women", 2.3, 2.2), ("men", 2.3, 2.3)]), None, "equal is no direction");
        assert_eq!(found("closest_to_corner", &[("women", 2.49, 2.21), ("men", 2.23, 2.32)]), None);
        // As counted a and d are outermost, and stay; smoothed c and b are, and are turned.
        let four = [("a", 2.0, 2.1), ("b", 2.1, 2.4), ("c", 2.15, 2.0), ("d", 2.2, 2.3)];
        assert_eq!(found("youden", &four), Some(("b".to_owned(), "c".to_owned())));
    }

    #[test]
    fn the_sentence_says_that_no_direction_can_be_said() {
        let [counted, smoothed] = tables("youden", &[("women", 2.49, 2.21), ("men", 2.23, 2.32)]);
        let rows: Vec<Row<'_>> = counted.iter().collect();
        let said = sentence(&rows, smoothed.iter());
        assert!(said.starts_with(" As counted, the cutoff is higher in “women” than in “men”"), "{said}");
        assert!(said.ends_with("no direction can be said."), "{said}");
        assert_eq!(sentence(&rows, smoothed.iter().take(1)), "", "one group has no order");
    }
}

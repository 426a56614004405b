//! The areas of two indices on the people who have both, where the indices are missing for different people.

use crate::chart::Labels;
use crate::table::number::{fixed, whole};
use crate::table::{Row, Table};

use super::methods::filled;

/// Columns that say for whom an area is.
const PLACE: [&str; 5] = ["survey", "outcome", "population", "grouping", "group"];

/// `; 0.775 against 0.773 of fasting insulin among the 1678 people who have both`: the leader of a row of `which_index` and
/// the index closest to it. Nothing where all that are compared have the same people.
pub(super) fn nearest(tables: &[Table], row: &Row<'_>, labels: &Labels) -> Option<String> {
    let leader = row.text("index");
    let compared = |name: &str| {
        ["not_distinguishable", "lower_indices"]
            .iter()
            .any(|column| row.text(column).split(", ").any(|other| other == name))
    };
    let pairs: Vec<Pair<'_>> = filled(tables, "index_comparison")?
        .iter()
        .filter(|pair| PLACE.iter().all(|column| pair.text(column) == row.text(column)))
        .filter_map(|pair| Pair::of(leader, &pair))
        .filter(|pair| compared(pair.other))
        .collect();
    let own = |index: &str| {
        let of_index = |area: &Row<'_>| {
            area.text("index") == index && PLACE.iter().all(|column| area.text(column) == row.text(column))
        };
        filled(tables, "auc")?.iter().find(of_index)?.whole("n")
    };
    let same_people = |pair: &Pair<'_>| [leader, pair.other].iter().all(|index| own(index) == Some(pair.n));
    if pairs.iter().all(same_people) {
        return None;
    }
    let nearest = pairs.iter().min_by(|a, b| a.ahead().total_cmp(&b.ahead()))?;
    Some(format!(
        "; {} against {} of {} among the {} people who have both",
        fixed(nearest.auc, 3),
        fixed(nearest.other_auc, 3),
        labels.index_label(nearest.other),
        whole(nearest.n)
    ))
}

/// An index and another on the same people.
struct Pair<'a> {
    other: &'a str,
    n: i64,
    auc: f64,
    other_auc: f64,
}

impl<'a> Pair<'a> {
    /// Seen from the leader, whichever of the two the table names first.
    fn of(leader: &str, row: &Row<'a>) -> Option<Self> {
        let (auc, other_auc) = (row.shown("auc")?, row.shown("other_auc")?);
        let n = row.whole("n")?;
        match (row.text("index"), row.text("other_index")) {
            (first, other) if first == leader => Some(Self { other, n, auc, other_auc }),
            (other, second) if second == leader => Some(Self { other, n, auc: other_auc, other_auc: auc }),
            _ => None,
        }
    }

    fn ahead(&self) -> f64 {
        self.auc - self.other_auc
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    fn said() -> Option<String> {
        let [mut which, mut areas, mut pairs] = ["which_index", "auc", "index_comparison"]
            .map(|name| Table::new(schema::shape(name).expect(name)));
        let row = which.row().text("index", "homa_ir").text("not_distinguishable", "tyg");
        row.text("lower_indices", "insulin").done().expect("a row");
        for (index, n) in [("insulin", 1700), ("homa_ir", 1700), ("tyg", 1678)] {
            areas.row().text("index", index).whole("n", Some(n)).done().expect("a row");
        }
        for (index, other, n, auc, other_auc) in [
            ("insulin", "homa_ir", 1700, 0.70, 0.7712),
            ("homa_ir", "tyg", 1678, 0.7752, 0.7734),
            ("insulin", "tyg", 1678, 0.71, 0.7734),
        ] {
            let row = pairs.row().text("index", index).text("other_index", other).whole("n", Some(n));
            row.real("auc", Some(auc)).real("other_auc", Some(other_auc)).done().expect("a row");
        }
        let row = which.iter().next().expect("a row");
        nearest(&[areas, pairs], &row, &Labels::default())
    }

    #[test]
    fn the_nearest_pair_is_told_on_the_people_who_have_both() {
        let told = "; 0.775 against 0.773 of tyg among the 1678 people who have both";
        assert_eq!(said().as_deref(), Some(told));
    }

    #[test]
    fn where_all_have_the_same_people_nothing_is_added() {
        let mut areas = Table::new(schema::shape("auc").expect("a table"));
        let mut pairs = Table::new(schema::shape("index_comparison").expect("a table"));
        let mut which = Table::new(schema::shape("which_index").expect("a table"));
        which.row().text("index", "a").text("not_distinguishable", "b").done().expect("a row");
        for index in ["a", "b"] {
            areas.row().text("index", index).whole("n", Some(50)).done().expect("a row");
        }
        let row = pairs.row().text("index", "a").text("other_index", "b").whole("n", Some(50));
        row.real("auc", Some(0.8)).real("other_auc", Some(0.7)).done().expect("a row");
        let row = which.iter().next().expect("a row");
        assert_eq!(nearest(&[areas, pairs], &row, &Labels::default()), None);
    }
}

//! Rows about few people, or about nobody: nothing is said of them but that they are few.

use std::collections::BTreeMap;

use super::real;
use crate::table::{Row, Table};

/// Texts that say which people a row is about, besides its group.
const PEOPLE: [&str; 3] = ["survey", "population", "grouping"];
/// The group, and the one that it is compared with.
const GROUPS: [&str; 2] = ["group", "other_group"];
/// A choice of its own of who is counted.
const EXCLUSIONS: &str = "exclusions";

/// The most people that any row counts of each group.
pub(super) struct Few {
    most: BTreeMap<[String; 4], f64>,
    limit: i64,
}

impl Few {
    pub(super) fn find(tables: &[Table], limit: i64) -> Self {
        let mut most: BTreeMap<[String; 4], f64> = BTreeMap::new();
        for table in tables.iter().filter(|table| table.position(EXCLUSIONS).is_none()) {
            for (at, row) in table.iter().enumerate() {
                if let Some((group, n)) = group(&row, "group").zip(real(table, at, "n")) {
                    let known = most.entry(group).or_default();
                    *known = known.max(n);
                }
            }
        }
        Self { most, limit }
    }

    /// Which rows of a table are about few people: of a group that is small, or few of whom are known.
    pub(super) fn rows(&self, table: &Table) -> Vec<bool> {
        let of_few = |(at, row): (usize, Row<'_>)| {
            let [group, other] =
                GROUPS.map(|name| group(&row, name).and_then(|group| self.most.get(&group)).copied());
            let known = real(table, at, "n_with").zip(real(table, at, "n_without"));
            [group, other, real(table, at, "n"), known.map(|(with, without)| with + without)]
                .into_iter()
                .flatten()
                .any(|people| (0.0..self.limit as f64).contains(&people))
        };
        table.iter().enumerate().map(of_few).collect()
    }
}

fn group(row: &Row<'_>, name: &str) -> Option<[String; 4]> {
    let [survey, population, grouping] = PEOPLE;
    let names = [survey, population, grouping, name];
    names.iter().all(|name| row.has(name)).then(|| names.map(|name| row.text(name).to_owned()))
}

#[cfg(test)]
mod tests {
    use crate::table::small::{hide, reason};
    use crate::table::{Table, schema};

    const LIMIT: i64 = 10;

    fn open(name: &str) -> Table {
        Table::new(schema::shape(name).expect(name))
    }

    /// A group of six and one of sixty, between whom twenty are left out beside the six, in nobody of whom the outcome is unknown or absent.
    fn tables() -> [Table; 2] {
        let (mut means, mut accuracy) = (open("geometric_means"), open("threshold_accuracy"));
        for (group, n) in [("six", 6), ("twenty", 20), ("sixty", 60)] {
            let row = means.row().text("survey", "s").text("population", "cohort").text("grouping", "by");
            row.text("group", group).whole("n", Some(n)).done().expect("a row");
            for (measure, of, why) in [
                ("sensitivity", n, "interval 30 percentage points wide or wider"),
                ("specificity", 0, "nobody to judge it by"),
                ("lr_positive", n, "everybody has the outcome"),
            ] {
                let row =
                    accuracy.row().text("survey", "s").text("population", "cohort").text("grouping", "by");
                let row = row.text("group", group).text("measure", measure).whole("n", Some(of));
                row.whole("df", Some(of.max(1) - 1)).text("withheld", why).done().expect("a row");
            }
        }
        [means, accuracy]
    }

    #[test]
    fn nobody_is_told_of_a_small_group_and_of_a_large_one() {
        let mut tables = tables();
        hide(&mut tables, LIMIT);
        let rows: Vec<_> =
            tables[1].iter().map(|row| (row.whole("n"), row.text("withheld").to_owned())).collect();
        assert!(rows[..3].iter().all(|row| *row == (None, reason(LIMIT))), "{rows:?}");
        assert_eq!(rows[7], (None, reason(LIMIT)), "nobody among sixty is as few as a few");
        assert_eq!(rows[8].1, reason(LIMIT), "that everybody has it tells that nobody is without");
        assert!(tables[1].iter().take(3).all(|row| row.whole("df").is_none()));
    }

    #[test]
    fn few_known_people_tell_nobody_of_their_other_side() {
        let mut table = open("smoothed_cutoffs");
        for (with, without) in [(6, 0), (60, 0)] {
            let row = table.row().whole("n_with", Some(with)).whole("n_without", Some(without));
            row.text("withheld", "nobody without the outcome").done().expect("a row");
        }
        let mut tables = [table];
        hide(&mut tables, LIMIT);
        let rows: Vec<_> =
            tables[0].iter().map(|row| (row.whole("n_with"), row.whole("n_without"))).collect();
        assert_eq!(rows, [(None, None), (Some(60), None)]);
        assert!(tables[0].iter().all(|row| row.text("withheld") == reason(LIMIT)));
    }
}

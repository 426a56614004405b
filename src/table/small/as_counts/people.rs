//! Whom shares are of, where their own table does not count them.

use std::collections::BTreeMap;

use crate::table::schema::ShareColumn;
use crate::table::small::real;
use crate::table::{Row, Table};

const SAMPLE: &str = "sample";
const EQUIVALENT: &str = "equivalent_thresholds";
const POINTS: &str = "roc_points";
const BINS: &str = "distributions";
/// Tables that count people with and without an outcome, and people with a value of an index.
const CLASSES: &str = "auc";
const VALUES: &str = "geometric_means";

const OF_CLASS: [&str; 6] = ["survey", "index", "outcome", "population", "grouping", "group"];
const OF_INDEX: [&str; 5] = ["survey", "index", "population", "grouping", "group"];
const OF_VARIABLE: [&str; 4] = ["survey", "frame", "population", "variable"];
const OF_TARGET: [&str; 5] = ["survey", "index", "same", "outcome", "population"];
const EVERYBODY: &str = "everybody";

/// What people are, and of what.
type Key = (&'static str, Vec<String>, u64);

/// Counts of people, before small ones are left out.
#[derive(Debug, Default)]
pub(in crate::table::small) struct People {
    of: BTreeMap<Key, f64>,
}

impl People {
    pub(in crate::table::small) fn find(tables: &[Table]) -> Self {
        let mut found = Self::default();
        for table in tables {
            match table.name {
                SAMPLE => found.levels(table),
                CLASSES => found.add(table, &OF_CLASS, &["n_with", "n_without"]),
                VALUES => found.add(table, &OF_INDEX, &["n"]),
                EQUIVALENT => found.targets(table),
                _ => {}
            }
        }
        found
    }

    /// The people of whom a share is.
    pub(super) fn behind(&self, table: &Table, row: usize, share: &ShareColumn) -> Option<f64> {
        let key = |what: &'static str, names: &[&str]| {
            table.at(row).map(|row| (what, texts(&row, names), threshold(&row)))
        };
        let key = match (table.name, share.column) {
            (SAMPLE, _) => key("variable", &OF_VARIABLE),
            (EQUIVALENT, _) => key("target", &OF_TARGET),
            (POINTS, "sensitivity") => key("n_with", &OF_CLASS),
            (POINTS, _) => key("n_without", &OF_CLASS),
            (BINS, _) => key("n", &OF_INDEX),
            _ => return real(table, row, share.of),
        };
        self.of.get(&key?).copied()
    }

    fn add(&mut self, table: &Table, names: &[&str], counts: &[&'static str]) {
        for row in table.iter() {
            for count in counts {
                if let Some(people) = row.real(count) {
                    self.of.insert((*count, texts(&row, names), 0), people);
                }
            }
        }
    }

    /// Everybody's people, whose share is held equal in all groups.
    fn targets(&mut self, table: &Table) {
        for row in table.iter().filter(|row| row.text("grouping") == EVERYBODY) {
            if let Some(people) = row.real("n") {
                self.of.insert(("target", texts(&row, &OF_TARGET), threshold(&row)), people);
            }
        }
    }

    /// People of all levels of a variable.
    fn levels(&mut self, table: &Table) {
        for row in table.iter().filter(|row| row.text("level") != "median") {
            let people = row.real("n").unwrap_or_default();
            *self.of.entry(("variable", texts(&row, &OF_VARIABLE), 0)).or_default() += people;
        }
    }
}

fn texts(row: &Row<'_>, names: &[&str]) -> Vec<String> {
    names.iter().map(|name| row.text(name).to_owned()).collect()
}

/// The threshold of a row that has one.
fn threshold(row: &Row<'_>) -> u64 {
    if row.has("threshold") { row.real("threshold").unwrap_or_default().to_bits() } else { 0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;
    use crate::table::small::leave_out;

    fn open(name: &str) -> Table {
        Table::new(schema::shape(name).expect(name))
    }

    #[test]
    fn levels_of_the_sample_are_shares_of_all_its_people() {
        let mut table = open(SAMPLE);
        for (level, n) in [("female", 167), ("male", 133)] {
            let row = table.row().text("survey", "s").text("population", "cohort").text("variable", "sex");
            let row = row.text("level", level).whole("n", Some(n)).text("unit", "%");
            row.real("value", Some(100.0 * n as f64 / 300.0)).done().expect("a row");
        }
        let mut tables = [table];
        leave_out(&mut tables, 10);
        let told: Vec<_> = tables[0].iter().map(|row| row.real("value")).collect();
        // hand: 165 and 135 of 300, where 167 and 133 would be 56 and 44 %.
        assert_eq!(told, [Some(55.0), Some(45.0)]);
    }

    #[test]
    fn points_of_a_curve_and_bins_are_shares_of_rounded_counts() {
        let (mut classes, mut points) = (open(CLASSES), open(POINTS));
        let row = classes.row().text("index", "homa_ir").text("outcome", "o").text("group", "everybody");
        let row = row.whole("n", Some(276)).whole("n_with", Some(70)).whole("n_without", Some(206));
        row.done().expect("a row");
        let row = points.row().text("index", "homa_ir").text("outcome", "o").text("group", "everybody");
        let row = row.real("sensitivity", Some(47.0 / 70.0)).real("specificity", Some(113.0 / 206.0));
        let row = row.real("false_positive_share", Some(93.0 / 206.0));
        row.real("sensitivity_lower", Some(0.55)).done().expect("a row");
        let (mut values, mut bins) = (open(VALUES), open(BINS));
        let row = values.row().text("index", "homa_ir").text("group", "everybody");
        row.whole("n", Some(412)).done().expect("a row");
        let row = bins.row().text("index", "homa_ir").text("group", "everybody");
        row.real("share", Some(100.0 * 12.0 / 412.0)).done().expect("a row");
        let mut tables = [classes, points, values, bins];
        leave_out(&mut tables, 10);
        let row = tables[1].iter().next().expect("a row");
        let names = ["sensitivity", "specificity", "false_positive_share", "sensitivity_lower"];
        // hand: 45 of 70, 110 and 95 of 205, and 55 % less 2.9.
        assert_eq!(names.map(|name| row.real(name)), [Some(0.64), Some(0.54), Some(0.46), Some(0.52)]);
        let bin = tables[3].iter().next().expect("a row");
        // hand: 10 of 410 are 2.4 %, 12 of 412 are 2.9 %.
        assert_eq!(bin.real("share"), Some(2.0));
    }

    #[test]
    fn a_target_is_a_share_of_everybody_in_every_group() {
        let mut table = open(EQUIVALENT);
        for (group, n) in [(EVERYBODY, 276), ("men", 121)] {
            let row = table.row().text("index", "homa_ir").text("same", "percentile");
            let row = row.text("grouping", group).text("group", group).real("threshold", Some(2.0));
            row.whole("n", Some(n)).real("target", Some(32.0 / 276.0)).done().expect("a row");
        }
        let mut tables = [table];
        leave_out(&mut tables, 10);
        let told: Vec<_> = tables[0].iter().map(|row| row.real("target")).collect();
        // hand: 30 of 275, where 32 of 276 would be 12 %.
        assert_eq!(told, [Some(0.11); 2]);
    }
}

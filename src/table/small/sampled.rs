//! Groups whose people the table of who is in the sample leaves out: other tables of the same people leave them out, too.

use std::collections::BTreeSet;

use super::{BESIDE, reason};
use crate::table::{Cell, Row, Table};

pub(super) const SAMPLE: &str = "sample";
/// Texts that say which people a row is about, there and elsewhere.
const LEVEL: [&str; 4] = ["survey", "population", "variable", "level"];
const GROUP: [&str; 4] = ["survey", "population", "grouping", "group"];

/// Levels that are left out because they, or others, are few; not those whose share is too uncertain to print.
#[derive(Debug, Default)]
pub(super) struct Sampled(BTreeSet<[String; 4]>);

impl Sampled {
    /// Of tables of which that of the sample is done.
    pub(super) fn find(tables: &[Table], limit: i64) -> Self {
        let few = reason(limit);
        let left_out = |row: &Row<'_>| {
            let why = row.text("withheld");
            row.cell("n") == &Cell::Missing && (why == BESIDE || why.ends_with(&few))
        };
        let levels = tables.iter().filter(|table| table.name == SAMPLE).flat_map(Table::iter);
        Self(levels.filter(left_out).map(|row| LEVEL.map(|name| row.text(name).to_owned())).collect())
    }

    /// Which rows of another table are about such a group.
    pub(super) fn rows(&self, table: &Table) -> Vec<bool> {
        let is_left_out = |row: Row<'_>| {
            GROUP.iter().all(|name| row.has(name))
                && self.0.contains(&GROUP.map(|name| row.text(name).to_owned()))
        };
        table.iter().map(is_left_out).collect()
    }
}

#[cfg(test)]
mod tests {
    use crate::table::small::hide;
    use crate::table::{Table, schema};

    /// Of 300 people 6 have no BMI, so that the 80 of the smallest class are left out beside them.
    #[test]
    fn a_group_that_the_sample_leaves_out_is_counted_in_no_table() {
        let mut sample = Table::new(schema::shape("sample").expect("a table"));
        for (level, n) in [("low", 80), ("middle", 120), ("high", 94), ("unknown", 6)] {
            let row = sample.row().text("survey", "s").text("population", "cohort").text("variable", "bmi");
            let row = row.text("level", level).whole("n", Some(n)).text("unit", "%");
            row.real("value", Some(n as f64 / 3.0)).done().expect("a row");
        }
        let mut index = Table::new(schema::shape("which_index").expect("a table"));
        for (group, n) in [("low", 79), ("middle", 119), ("high", 93)] {
            // The index that separates best is another one in each group.
            let row = index.row().text("survey", "s").text("population", "cohort").text("grouping", "bmi");
            let row = row.text("group", group).text("index", format!("best of {group}"));
            row.whole("n", Some(n)).whole("n_with", Some(n / 3)).done().expect("a row");
        }
        let mut tables = [index, sample];
        hide(&mut tables, 10);
        let counts = |table: &Table| table.iter().map(|row| row.whole("n")).collect::<Vec<_>>();
        assert_eq!(counts(&tables[1]), [None, Some(120), Some(94), None]);
        assert_eq!(counts(&tables[0]), [None, Some(119), Some(93)]);
        assert_eq!(tables[0].iter().next().and_then(|row| row.whole("n_with")), None);
    }
}

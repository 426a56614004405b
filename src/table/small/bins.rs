//! Histograms: where a single group's bin is empty, everybody's bin and those of the other groups tell it.

use std::collections::BTreeMap;

use super::{empty, real};
use crate::table::Table;

pub(super) const DISTRIBUTIONS: &str = "distributions";
const KEYS: [&str; 4] = ["survey", "frame", "index", "population"];
const EVERYBODY: &str = "everybody";

/// Empties the bins of rows that are left out elsewhere, and a second bin where one alone is empty; how many that are.
pub(super) fn leave_out(table: &mut Table, elsewhere: &[bool]) -> usize {
    let printed = |row: &usize| elsewhere[*row] && real(table, *row, "share").is_some();
    let unsaid: Vec<usize> = (0..table.rows.len()).filter(printed).collect();
    for row in &unsaid {
        empty(table, *row, "share");
    }
    let alone: Vec<usize> = bins(table).iter().filter_map(|bin| second(table, bin)).collect();
    for row in &alone {
        empty(table, *row, "share");
    }
    unsaid.len() + alone.len()
}

/// The rows of one bin: everybody's, and those of the groups.
#[derive(Default)]
struct Bin {
    everybody: Option<usize>,
    groups: Vec<usize>,
}

fn bins(table: &Table) -> Vec<Bin> {
    let mut found: BTreeMap<(Vec<&str>, u64), Bin> = BTreeMap::new();
    for (at, row) in table.iter().enumerate() {
        let key = KEYS.map(|key| row.text(key)).to_vec();
        let bin = found.entry((key, row.real("from").unwrap_or_default().to_bits())).or_default();
        if row.text("grouping") == EVERYBODY {
            bin.everybody = Some(at);
        } else {
            bin.groups.push(at);
        }
    }
    found.into_values().collect()
}

/// The bin to be emptied beside a single empty one: the smallest of the other groups, or everybody's where there is none.
fn second(table: &Table, bin: &Bin) -> Option<usize> {
    let everybody = bin.everybody.filter(|row| real(table, *row, "share").is_some())?;
    let (shown, hidden): (Vec<usize>, Vec<usize>) =
        bin.groups.iter().copied().partition(|row| real(table, *row, "share").is_some());
    let share = |row: &usize| real(table, *row, "share").unwrap_or_default();
    let smallest = shown.into_iter().min_by(|one, other| share(one).total_cmp(&share(other)));
    (hidden.len() == 1).then(|| smallest.unwrap_or(everybody))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    /// Shares of everybody, women and men in one bin after the other.
    fn shown(bins: &[[Option<f64>; 3]]) -> Vec<[bool; 3]> {
        let mut table = Table::new(schema::shape(DISTRIBUTIONS).expect("a table"));
        for (column, (grouping, group)) in
            [(EVERYBODY, EVERYBODY), ("sex", "women"), ("sex", "men")].into_iter().enumerate()
        {
            for (at, bin) in bins.iter().enumerate() {
                let row =
                    table.row().text("index", "homa_ir").text("grouping", grouping).text("group", group);
                row.real("from", Some(at as f64)).real("share", bin[column]).done().expect("a row");
            }
        }
        leave_out(&mut table, &vec![false; 3 * bins.len()]);
        let at = |column: usize, bin: usize| real(&table, column * bins.len() + bin, "share").is_some();
        (0..bins.len()).map(|bin| [at(0, bin), at(1, bin), at(2, bin)]).collect()
    }

    /// 4 % of 500 are 20, and 14 of 250 men are 5.6 %: 6 women, by subtraction.
    #[test]
    fn a_second_bin_goes_where_everybody_would_tell_the_one() {
        let bins = [
            [Some(4.0), None, Some(5.6)],
            [Some(4.0), Some(2.4), Some(5.6)],
            [None, None, Some(5.6)],
            [Some(4.0), None, None],
        ];
        let wanted = [[true, false, false], [true, true, true], [false, false, true], [true, false, false]];
        assert_eq!(shown(&bins), wanted);
    }
}

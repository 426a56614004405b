//! Measures against an outcome from four rounded counts, so that they agree with each other and tell no more than those:
//! predictive values, likelihood ratios and Youden's index.

use std::collections::{BTreeMap, BTreeSet};

use super::{ENDS, move_to, of_rounded, scale_to};
use crate::table::small::crossed::{self, SPLITS};
use crate::table::small::{real, rounded, step, whole};
use crate::table::{Cell, Table};

/// People on either side of a threshold as rounded counts, where each is counted once.
#[derive(Debug, Clone, Copy)]
struct Cells {
    found: f64,
    with: f64,
    passed: f64,
    without: f64,
}

/// The rows at one threshold in one group, by measure.
pub(super) struct Block {
    rows: BTreeMap<String, Vec<usize>>,
    /// People with and without the outcome, where they are printed.
    classes: Option<[f64; 2]>,
    cells: Option<Cells>,
}

/// The blocks of a table with their counts, to be asked before its shares are changed.
pub(super) fn blocks(table: &Table, limit: i64) -> Vec<Block> {
    let block = |block: crossed::Block<'_>| {
        let [(with, _), (without, _)] = SPLITS[0].map(|measure| block.people(table, measure));
        let classes = with.zip(without).map(|(with, without)| [with, without]);
        let counts = classes.filter(|_| block.counts_heads(table)).zip(block.found_and_passed(table));
        Block { rows: block.owned(), classes, cells: counts.map(|(of, counts)| Cells::of(of, counts, limit)) }
    };
    crossed::blocks(table).into_iter().map(|(_, one)| block(one)).collect()
}

/// Rows whose people are those on one side, of blocks whose counts are known.
pub(super) fn of_sides(blocks: &[Block]) -> BTreeSet<usize> {
    let known = blocks.iter().filter(|block| block.cells.is_some());
    known.flat_map(|block| SPLITS[1].iter().flat_map(|measure| block.of(measure))).copied().collect()
}

/// Makes what is made of shares anew; sensitivity and specificity are so already.
pub(super) fn coarsen(table: &mut Table, blocks: &[Block], limit: i64) {
    for block in blocks {
        block.coarsen(table, limit);
    }
}

impl Cells {
    fn of([with, without]: [f64; 2], [found, passed]: [f64; 2], limit: i64) -> Self {
        let count = |people: f64| rounded(people.round() as i64, limit) as f64;
        let part = |part: f64, all: f64| of_rounded(part / all, all, limit) * count(all);
        Self {
            found: part(found, with),
            with: count(with),
            passed: part(passed, without),
            without: count(without),
        }
    }

    /// People beyond and people short of the threshold, and who of them are told rightly.
    fn sides(self) -> [(f64, f64); 2] {
        let (alarmed, missed) = (self.without - self.passed, self.with - self.found);
        [(self.found, self.found + alarmed), (self.passed, self.passed + missed)]
    }
}

impl Block {
    fn of(&self, measure: &str) -> &[usize] {
        self.rows.get(measure).map_or(&[], Vec::as_slice)
    }

    fn coarsen(&self, table: &mut Table, limit: i64) {
        let whole = whole(table, "value");
        for (measure, (told, people)) in SPLITS[1].iter().zip(self.cells.iter().flat_map(|c| c.sides())) {
            for row in self.of(measure) {
                count(table, *row, people);
                move_to(table, *row, ("value", &ENDS), (whole * told / people, [0.0, whole]));
            }
        }
        let share = |measure: &str| {
            let told = self.of(measure).first().and_then(|row| real(table, *row, "value"));
            told.map(|told| told / whole)
        };
        let shares = share("sensitivity").zip(share("specificity"));
        if let Some((sensitivity, specificity)) = shares {
            let (beyond, short) = (1.0 - specificity, 1.0 - sensitivity);
            self.ratio(table, "lr_positive", sensitivity / beyond);
            self.ratio(table, "lr_negative", short / specificity);
        }
        let youden = shares.map(|(sensitivity, specificity)| sensitivity + specificity - 1.0);
        for (measure, told) in [("youden", youden), ("youden_loss", None)] {
            for row in self.of(measure) {
                let rough = real(table, *row, "value").zip(self.classes);
                let rough = rough.map(|(value, [with, without])| of_sum(value, with.min(without), limit));
                if let Some(told) = told.or(rough) {
                    move_to(table, *row, ("value", &ENDS), (told, [-1.0, 1.0]));
                }
            }
        }
    }

    fn ratio(&self, table: &mut Table, measure: &str, told: f64) {
        for row in self.of(measure).iter().filter(|_| told.is_finite() && told > 0.0) {
            scale_to(table, *row, ["value", "lower", "upper"], told);
        }
    }
}

/// A sum of shares, or their difference, in steps of as many people as a count is rounded to, of the fewer people.
pub(super) fn of_sum(sum: f64, fewer: f64, limit: i64) -> f64 {
    let all = rounded(fewer.round() as i64, limit) as f64;
    let step = step(limit) as f64;
    if all > 0.0 { (sum * fewer / step).round() * step / all } else { sum }
}

/// The people of a row, where they are printed.
fn count(table: &mut Table, row: usize, people: f64) {
    if let Some(at) = table.position("n").filter(|at| table.rows[row][*at] != Cell::Missing) {
        table.rows[row][at] = Cell::Integer(people.round() as i64);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;
    use crate::table::small::leave_out;

    /// Of 70 with and 206 without the outcome, 47 and 91 lie beyond the threshold; as counted, or weighted a little otherwise.
    fn told(name: &str, weighted: f64) -> Table {
        let mut table = Table::new(schema::shape(name).expect(name));
        let percent = if name == crossed::CLAIM { 100.0 } else { 1.0 };
        let (found, passed) = (47.0 / 70.0 + weighted, 115.0 / 206.0);
        for (measure, n, value, unit) in [
            ("sensitivity", 70, found, percent),
            ("specificity", 206, passed, percent),
            ("ppv", 138, 47.0 / 138.0, percent),
            ("npv", 138, 115.0 / 138.0, percent),
            ("lr_positive", 276, found / (1.0 - passed), 1.0),
            ("lr_negative", 276, (1.0 - found) / passed, 1.0),
        ] {
            let row = table.row().text("index", "homa_ir").text("outcome", "o").text("group", "everybody");
            let row = row.text("measure", measure).real("threshold", Some(2.0)).whole("n", Some(n));
            let row = row.real("value", Some(value * unit)).real("lower", Some(value * unit * 0.8));
            row.real("upper", Some(value * unit * 1.2)).done().expect("a row");
        }
        let mut tables = [table];
        leave_out(&mut tables, 10);
        let [table] = tables;
        table
    }

    fn values(table: &Table) -> Vec<f64> {
        table.iter().filter_map(|row| row.real("value")).collect()
    }

    #[test]
    fn all_measures_are_those_of_four_rounded_counts() {
        // hand: 45 of 70 are found, 115 of 205 passed over; 45 of 135 beyond and 115 of 140 short are told rightly.
        let [found, passed] = [45.0_f64 / 70.0, 115.0 / 205.0];
        assert!(
            (found / (1.0 - passed) - 1.464_3).abs() < 1e-4
                && ((1.0 - found) / passed - 0.636_65).abs() < 1e-4
        );
        let wanted = [0.64, 0.56, 0.33, 0.82, 1.46, 0.637];
        let table = told("threshold_accuracy", 0.0);
        assert_eq!(values(&table), wanted);
        let n: Vec<_> = table.iter().filter_map(|row| row.whole("n")).collect();
        assert_eq!(n, [70, 205, 135, 140, 275, 275]);
        let claim: Vec<f64> = values(&told(crossed::CLAIM, 0.0));
        assert_eq!(claim, [64.0, 56.0, 33.0, 82.0, 1.46, 0.637]);
        let upper: Vec<_> = table.iter().filter_map(|row| row.real("upper")).collect();
        // 47 of 70 times 1.2 less two in 70; 1.52 times 1.2 as much less on the logarithm as 1.46 is.
        assert_eq!([upper[0], upper[4]], [0.78, 1.76]);
    }

    #[test]
    fn weighted_shares_are_each_of_their_own_people() {
        // hand: 70 (47 ÷ 70 + 0.005) = 47.35 people are 45; 47 of 138 are 45 of 140, 23 of 138 are 25 of 140.
        assert_eq!(values(&told("threshold_accuracy", 0.005)), [0.64, 0.56, 0.32, 0.82, 1.46, 0.637]);
    }

    #[test]
    fn the_index_of_youden_is_that_of_the_shares_told() {
        let mut table = Table::new(schema::shape("transfer").expect("a table"));
        for (measure, n, value) in [
            ("sensitivity", 70, 47.0 / 70.0),
            ("specificity", 206, 115.0 / 206.0),
            ("youden", 276, 47.0 / 70.0 + 115.0 / 206.0 - 1.0),
            ("youden_loss", 276, 0.05),
        ] {
            let row =
                table.row().text("index", "homa_ir").text("group", "everybody").text("measure", measure);
            row.real("cutoff", Some(2.0))
                .whole("n", Some(n))
                .real("value", Some(value))
                .done()
                .expect("a row");
        }
        let mut tables = [table];
        leave_out(&mut tables, 10);
        // hand: 0.643 + 0.561 − 1; 0.05 of 70 people are 5 of them, who are 0.07 of 70.
        assert_eq!(values(&tables[0]), [0.64, 0.56, 0.2, 0.07]);
    }
}

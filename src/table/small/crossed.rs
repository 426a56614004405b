//! Measures against an outcome, row by row: what people with and without it and people on either side of a threshold
//! count makes up the same people twice, so that four counts and any share tell every cell of the table behind them.

use std::collections::{BTreeMap, BTreeSet};

use super::hidden::Hidden;
use super::partition::Line;
use super::{BESIDE, empty_value, real, reason, whole};
use crate::table::{Cell, Row, Table};

pub(super) const CLAIM: &str = "claim";
/// Tables of which a row is such a measure.
const TABLES: [&str; 4] = [CLAIM, "threshold_accuracy", "cutoff_accuracy", "transfer"];
/// Shares of people with and without the outcome, then of those on either side of the threshold.
pub(super) const SPLITS: [[&str; 2]; 2] = [["sensitivity", "specificity"], ["ppv", "npv"]];
/// Measures made of those shares, which tell them together, and whose people are those of both.
const MADE_OF: [&str; 4] = ["lr_positive", "lr_negative", "youden", "youden_loss"];
/// Texts that say what a threshold is judged for.
const KEYS: [&str; 8] =
    ["survey", "judged_in", "index", "outcome", "population", "grouping", "group", "derived_from"];

/// The rows at one threshold in one group, by measure.
#[derive(Debug, Default)]
pub(super) struct Block<'a> {
    rows: BTreeMap<&'a str, Vec<usize>>,
}

impl Block<'_> {
    fn first(&self, measure: &str) -> Option<usize> {
        self.of(measure).first().copied()
    }

    fn of(&self, measure: &str) -> &[usize] {
        self.rows.get(measure).map_or(&[], Vec::as_slice)
    }

    /// All rows of the block.
    pub(super) fn all(&self) -> impl Iterator<Item = usize> {
        self.rows.values().flatten().copied()
    }

    /// Rows whose people are those on one side.
    pub(super) fn of_sides(&self) -> impl Iterator<Item = usize> {
        SPLITS[1].iter().flat_map(|measure| self.of(measure)).copied()
    }

    /// Its rows by measure, for when the table changes.
    pub(super) fn owned(&self) -> BTreeMap<String, Vec<usize>> {
        self.rows.iter().map(|(measure, rows)| ((*measure).to_owned(), rows.clone())).collect()
    }

    /// People of a measure, and its share of them, as far as they are printed.
    pub(super) fn people(&self, table: &Table, measure: &str) -> (Option<f64>, Option<f64>) {
        let at = |column| self.first(measure).and_then(|row| real(table, row, column));
        (at("n"), at("value").map(|value| value / whole(table, "value")))
    }

    /// People found and passed over by the threshold, and those beyond it; then, where a weighted share is none of heads, the
    /// first two as the shares of those on one side tell them.
    pub(super) fn counts(&self, table: &Table) -> [Option<f64>; 5] {
        let [found, passed] = self.ways(table);
        let [of_beyond, of_short] = SPLITS[1].map(|measure| times(self.people(table, measure)));
        [found, passed, self.people(table, "ppv").0, of_beyond, of_short]
    }

    /// People found and passed over by the threshold, where both are told.
    pub(super) fn found_and_passed(&self, table: &Table) -> Option<[f64; 2]> {
        let [found, passed] = self.ways(table);
        found.zip(passed).map(|(found, passed)| [found, passed])
    }

    /// Whether every share that is printed is one of whole people: none is weighted.
    pub(super) fn counts_heads(&self, table: &Table) -> bool {
        let parts = SPLITS.iter().flatten().filter_map(|measure| times(self.people(table, measure)));
        parts.into_iter().all(|people| (people - people.round()).abs() < 1e-6)
    }

    /// People found and people passed over, by the first way in which the rows tell them.
    fn ways(&self, table: &Table) -> [Option<f64>; 2] {
        let [with, without, beyond, short] =
            ["sensitivity", "specificity", "ppv", "npv"].map(|measure| self.people(table, measure));
        // Those beyond less those who are so without the outcome; those with it less those who are short.
        let alarmed = less(without.0, times(without));
        let missed = less(short.0, times(short));
        let found = [times(with), times(beyond), less(beyond.0, alarmed), less(with.0, missed)];
        let found = found.into_iter().flatten().next();
        let (missed, alarmed) = (less(with.0, found), less(beyond.0, found));
        let passed = [times(without), times(short), less(short.0, missed), less(without.0, alarmed)];
        [found, passed.into_iter().flatten().next()]
    }

    /// Whether a cell of the table behind is of few people, as far as the rows tell.
    fn has_few(&self, table: &Table, limit: i64) -> bool {
        let [Some(found), _] = self.ways(table) else { return false };
        let [with, without, beyond] =
            ["sensitivity", "specificity", "ppv"].map(|measure| self.people(table, measure).0);
        let cells = [
            Some(found),
            less(with, Some(found)),
            less(beyond, Some(found)),
            less(without, less(beyond, Some(found))),
        ];
        cells.into_iter().flatten().any(|people| (-0.5..limit as f64 - 0.5).contains(&people))
    }
}

/// The people of a share.
fn times((people, share): (Option<f64>, Option<f64>)) -> Option<f64> {
    Some(people? * share?)
}

/// Some people without a part of them.
fn less(all: Option<f64>, part: Option<f64>) -> Option<f64> {
    Some(all? - part?)
}

/// Rows whose people split those of another row.
pub(super) fn lines(table: &Table) -> Vec<Line> {
    let of = |block: &Block<'_>| {
        let whole = MADE_OF.iter().find_map(|measure| block.first(measure));
        let most = SPLITS.iter().flatten().map(|measure| block.of(measure).len()).max().unwrap_or(0);
        let line = |split: &[&str; 2], at: usize| Line {
            whole,
            groups: split.iter().filter_map(|measure| block.of(measure).get(at).copied()).collect(),
            nobody_is_few: false,
        };
        (0..most).flat_map(|at| SPLITS.map(|split| line(&split, at))).collect::<Vec<_>>()
    };
    blocks(table).iter().flat_map(|(_, block)| of(block)).collect()
}

/// Rows of blocks whose people altogether are left out.
pub(super) fn without_people(table: &Table, hidden: &Hidden) -> BTreeSet<usize> {
    let is_left_out = |block: &Block<'_>| {
        MADE_OF.iter().flat_map(|measure| block.of(measure)).any(|row| hidden.is(*row, "n"))
    };
    let of_block = |(_, block): (Vec<&str>, Block<'_>)| {
        if is_left_out(&block) { block.all().collect() } else { Vec::new() }
    };
    blocks(table).into_iter().flat_map(of_block).collect()
}

/// Leaves out every measure beside one that stands for few people: any of them tells the others, and so does why another
/// is not printed. How many that empties.
pub(super) fn leave_out(table: &mut Table, limit: i64) -> usize {
    let Some(withheld) = table.position("withheld") else { return 0 };
    let of_few = |row: usize| {
        let says = |text: &str| text.contains(&reason(limit)) || text.contains(BESIDE);
        real(table, row, "value").is_none()
            && matches!(&table.rows[row][withheld], Cell::Text(text) if says(text))
    };
    let few: Vec<usize> = blocks(table)
        .iter()
        .filter(|(_, block)| block.all().any(of_few) || block.has_few(table, limit))
        .flat_map(|(_, block)| block.all().collect::<Vec<_>>())
        .collect();
    let (printed, others): (Vec<usize>, Vec<usize>) =
        few.into_iter().partition(|row| real(table, *row, "value").is_some());
    let unsaid: Vec<usize> = others.into_iter().filter(|row| !of_few(*row)).collect();
    for row in unsaid {
        table.rows[row][withheld] = Cell::text(BESIDE);
    }
    for row in &printed {
        empty_value(table, *row, BESIDE.to_owned());
    }
    printed.len()
}

/// What a block is about; the rule and side of its threshold; and the threshold.
type Point<'a> = (Vec<&'a str>, Vec<&'a str>, Vec<u64>);

/// What a block is about besides its threshold, and the block; in the order of the table.
pub(super) fn blocks(table: &Table) -> Vec<(Vec<&str>, Block<'_>)> {
    let mut found: Vec<(Vec<&str>, Block<'_>)> = Vec::new();
    let mut places: BTreeMap<Point<'_>, usize> = BTreeMap::new();
    for (at, row) in table.iter().enumerate().filter(|(_, row)| is_measured(table, row)) {
        let texts = |names: &[&str]| -> Vec<&str> {
            names.iter().filter(|name| row.has(name)).map(|name| row.text(name)).collect()
        };
        let about = texts(&KEYS);
        let numbers = ["threshold", "cutoff"].into_iter().filter(|name| row.has(name));
        let numbers: Vec<u64> = numbers.map(|name| row.real(name).unwrap_or_default().to_bits()).collect();
        let place = *places
            .entry((about.clone(), texts(&["rule", "side", "strict"]), numbers))
            .or_insert_with(|| {
                found.push((about, Block::default()));
                found.len() - 1
            });
        found[place].1.rows.entry(row.text("measure")).or_default().push(at);
    }
    found
}

/// Whether a row measures something against an outcome; in a claim's table verdicts repeat what is measured.
pub(super) fn is_measured(table: &Table, row: &Row<'_>) -> bool {
    let of_claim = table.name == CLAIM && !row.text("claim").is_empty();
    let known = || SPLITS.iter().flatten().chain(&MADE_OF).any(|known| *known == row.text("measure"));
    TABLES.contains(&table.name) && !of_claim && known()
}

#[cfg(test)]
mod tests {
    use crate::table::small::hide;
    use crate::table::{Cell, Table, schema};

    /// Measures of 60 people, 20 of them with the outcome, at a threshold with 30 people on either side.
    fn table(found: i64) -> Table {
        let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
        let passed = 10 + found;
        let rows = [
            ("share", 60, Some(50.0)),
            ("percentile", 60, Some(50.0)),
            ("sensitivity", 20, Some(5.0 * found as f64)),
            ("specificity", 40, Some(2.5 * passed as f64)),
            ("ppv", 30, Some(found as f64 / 0.3)),
            ("npv", 30, Some(passed as f64 / 0.3)),
            ("lr_positive", 60, Some(2.0)),
        ];
        for (measure, n, value) in rows {
            let row = table.row().text("index", "homa_ir").real("threshold", Some(2.0)).text("side", "below");
            let row =
                row.text("population", "cohort").text("grouping", "everybody").text("group", "everybody");
            let row = row.text("measure", measure).whole("n", Some(n)).real("value", value);
            row.real("lower", value.map(|v| v - 1.0)).done().expect("a row");
        }
        table
    }

    fn shown(tables: &[Table], column: &str) -> Vec<bool> {
        let at = tables[0].position(column).expect("a column");
        tables[0].rows.iter().map(|row| row[at] != Cell::Missing).collect()
    }

    #[test]
    fn few_in_one_of_four_take_all_measures_along() {
        // 10 found, 10 not: 20 of 40 passed over. Nobody is few.
        let mut enough = [table(10)];
        hide(&mut enough, 10);
        assert_eq!(shown(&enough, "value"), [true; 7]);
        // 12 found leave 8 that are not, whom sensitivity and the negative predictive value show.
        let mut few = [table(12)];
        hide(&mut few, 10);
        assert_eq!(shown(&few, "value"), [true, true, false, false, false, false, false]);
        assert_eq!(shown(&few, "lower"), shown(&few, "value"));
        assert_eq!(shown(&few, "n"), [true; 7]);
        let said: Vec<&str> = few[0].iter().skip(2).map(|row| row.text("withheld")).collect();
        let stands = "stands for or leaves out fewer than 10 people";
        assert_eq!(said, [stands, super::BESIDE, super::BESIDE, stands, super::BESIDE]);
    }

    #[test]
    fn people_of_one_side_do_not_tell_those_of_the_other() {
        let mut one = [table(10)];
        let (n, value) =
            (one[0].position("n").expect("a column"), one[0].position("value").expect("a column"));
        (one[0].rows[4][n], one[0].rows[5][n]) = (Cell::integer(Some(6)), Cell::integer(Some(54)));
        (one[0].rows[0][value], one[0].rows[1][value]) = (Cell::real(Some(10.0)), Cell::real(Some(90.0)));
        hide(&mut one, 10);
        assert_eq!(shown(&one, "n"), [true, true, true, true, false, false, true]);
        assert_eq!(shown(&one, "value"), [false; 7], "6 of 60 are on that side");
    }

    /// 30 of 100 with the outcome, 40 beyond: 4 of the 30 are found, whom the people beyond and the specificity tell though
    /// the sensitivity is too unsure to print.
    #[test]
    fn a_cell_that_is_told_by_the_others_takes_them_along() {
        let mut table = Table::new(schema::shape("threshold_accuracy").expect("a table"));
        let rows = [
            ("sensitivity", 30, None),
            ("specificity", 70, Some(34.0 / 70.0)),
            ("ppv", 40, None),
            ("npv", 60, None),
            ("lr_positive", 100, Some(0.26)),
        ];
        for (measure, n, value) in rows {
            let row = table.row().text("index", "homa_ir").real("threshold", Some(2.0)).text("group", "all");
            let row = row.text("measure", measure).whole("n", Some(n)).real("value", value);
            row.text("withheld", if value.is_none() { "too unsure" } else { "" }).done().expect("a row");
        }
        let mut tables = [table];
        hide(&mut tables, 10);
        assert_eq!(shown(&tables, "value"), [false; 5]);
        assert_eq!(tables[0].at(1).expect("a row").text("withheld"), super::BESIDE);
    }

    #[test]
    fn a_ratio_goes_with_the_share_that_it_is_made_of() {
        // 95 of 100 are found: 5 are not. The same twice over, as where a cutoff is chosen anew.
        let mut table = Table::new(schema::shape("cutoff_accuracy").expect("a table"));
        for (measure, n, value) in [
            ("sensitivity", 100, 0.95),
            ("specificity", 100, 0.5),
            ("lr_positive", 200, 1.9),
            ("sensitivity", 100, 0.95),
        ] {
            let row = table.row().text("index", "homa_ir").text("rule", "youden").real("cutoff", Some(2.0));
            let row = row.text("group", "all").text("measure", measure);
            row.whole("n", Some(n)).real("value", Some(value)).done().expect("a row");
        }
        let mut tables = [table];
        hide(&mut tables, 10);
        assert_eq!(shown(&tables, "value"), [false; 4]);
    }
}

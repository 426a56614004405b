//! Sums of shares that stand without them: Youden's index at a cutoff, and net benefit.

use std::collections::BTreeMap;

use super::judged::of_sum;
use super::{ENDS, move_to, of_rounded, set};
use crate::table::small::{real, step};
use crate::table::{Row, Table};

const ACCURACY: &str = "cutoff_accuracy";
/// Tables with Youden's index at a cutoff, and what is made of it there.
const OF_CUTOFFS: [&str; 2] = ["cutoffs", "cutoff_methods"];
const YOUDEN: &str = "youden";
const CORRECTED: &str = "youden_corrected";
/// The index as the method itself sees it: the same number where the method counts.
const MODEL: &str = "youden_model";
const NET_BENEFIT: &str = "net_benefit";
const OF_CUTOFF: [&str; 6] = ["survey", "index", "outcome", "population", "grouping", "group"];
const OF_STRATEGY: [&str; 7] = ["survey", "index", "outcome", "population", "grouping", "group", "strategy"];
/// How near two numbers are that are the same but for the order in which they are summed.
const SAME: f64 = 1e-9;

/// Whom something is about, and the cutoff there.
type Place = (Vec<String>, u64);

/// Makes such sums anew, after the shares of the tables.
pub(super) fn coarsen(tables: &mut [Table], limit: i64) {
    let known: BTreeMap<Place, f64> =
        tables.iter().filter(|table| table.name == ACCURACY).flat_map(youden_of).collect();
    for table in tables {
        if OF_CUTOFFS.contains(&table.name) {
            of_cutoffs(table, &known, limit);
        } else if table.name == NET_BENEFIT {
            net_benefit(table, limit);
        }
    }
}

/// Youden's index at each cutoff whose sensitivity and specificity are told.
fn youden_of(table: &Table) -> BTreeMap<Place, f64> {
    let mut shares: BTreeMap<Place, [Option<f64>; 2]> = BTreeMap::new();
    for row in table.iter() {
        for (at, measure) in ["sensitivity", "specificity"].into_iter().enumerate() {
            if row.text("measure") == measure {
                shares.entry(place(&row, &OF_CUTOFF)).or_default()[at] = row.real("value");
            }
        }
    }
    let sum = |(place, [found, passed]): (Place, [Option<f64>; 2])| Some((place, found? + passed? - 1.0));
    shares.into_iter().filter_map(sum).collect()
}

fn of_cutoffs(table: &mut Table, known: &BTreeMap<Place, f64>, limit: i64) {
    let places: Vec<Place> = table.iter().map(|row| place(&row, &OF_CUTOFF)).collect();
    for (row, place) in places.iter().enumerate() {
        let Some(youden) = real(table, row, YOUDEN) else { continue };
        let with = real(table, row, "n_with");
        let without =
            real(table, row, "n_without").or(real(table, row, "n").zip(with).map(|(n, with)| n - with));
        let rough = with.zip(without).map(|(with, without)| of_sum(youden, with.min(without), limit));
        let Some(told) = known.get(place).copied().or(rough) else { continue };
        set(table, row, YOUDEN, told);
        if let Some(corrected) = real(table, row, CORRECTED) {
            set(table, row, CORRECTED, corrected + told - youden);
        }
        if real(table, row, MODEL).is_some_and(|model| (model - youden).abs() < SAME) {
            set(table, row, MODEL, told);
        }
    }
}

/// Net benefit of one way to act at several odds tells its true and false positives, who are then rounded counts.
fn net_benefit(table: &mut Table, limit: i64) {
    let mut ways: BTreeMap<Place, Vec<usize>> = BTreeMap::new();
    for (at, row) in table.iter().enumerate().filter(|(_, row)| row.real(NET_BENEFIT).is_some()) {
        ways.entry(place(&row, &OF_STRATEGY)).or_default().push(at);
    }
    for rows in ways.values() {
        let positives = positives(table, rows);
        for row in rows {
            let point = real(table, *row, NET_BENEFIT).zip(real(table, *row, "n")).filter(|(_, n)| *n > 0.0);
            let Some(((value, people), odds)) = point.zip(odds(table, *row)) else { continue };
            let told = match positives {
                Some([right, wrong]) => {
                    of_rounded(right, people, limit) - odds * of_rounded(wrong, people, limit)
                }
                None => rough(value, people, limit),
            };
            move_to(table, *row, (NET_BENEFIT, &ENDS), (told, [f64::NEG_INFINITY, 1.0]));
        }
    }
}

/// The true and false positives, as shares of all, from which the net benefit in some rows is made.
fn positives(table: &Table, rows: &[usize]) -> Option<[f64; 2]> {
    let point = |row: &usize| Some((odds(table, *row)?, real(table, *row, NET_BENEFIT)?));
    let points: Vec<(f64, f64)> = rows.iter().filter_map(point).collect();
    let [(low, first), .., (high, last)] = points[..] else { return None };
    let wrong = (first - last) / (high - low);
    let right = first + low * wrong;
    let same = |(odds, value): &(f64, f64)| (right - odds * wrong - value).abs() < SAME;
    (wrong.is_finite() && points.iter().all(same)).then_some([right, wrong])
}

/// A sum in steps of as many people as a count is rounded to.
fn rough(sum: f64, people: f64, limit: i64) -> f64 {
    of_sum(sum, people.max(step(limit) as f64), limit)
}

/// The odds at which acting and not acting are equally good.
fn odds(table: &Table, row: usize) -> Option<f64> {
    real(table, row, "threshold_probability").map(|risk| risk / (1.0 - risk))
}

fn place(row: &Row<'_>, names: &[&str]) -> Place {
    let texts = names.iter().map(|name| row.text(name).to_owned()).collect();
    (texts, row.real("cutoff").unwrap_or_default().to_bits())
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
    fn the_index_at_a_cutoff_is_that_of_the_shares_told_there() {
        let (mut accuracy, mut cutoffs, mut methods) =
            (open(ACCURACY), open(OF_CUTOFFS[0]), open(OF_CUTOFFS[1]));
        for (measure, n, value) in [("sensitivity", 70, 47.0 / 70.0), ("specificity", 206, 115.0 / 206.0)] {
            let row = accuracy.row().text("index", "homa_ir").text("outcome", "o").text("group", "all");
            let row = row.text("measure", measure).real("cutoff", Some(2.0)).whole("n", Some(n));
            row.real("value", Some(value)).done().expect("a row");
        }
        let youden = 47.0 / 70.0 + 115.0 / 206.0 - 1.0;
        for cutoff in [2.0, 3.0] {
            let row = cutoffs.row().text("index", "homa_ir").text("outcome", "o").text("group", "all");
            let row = row.whole("n", Some(276)).whole("n_with", Some(70)).whole("n_without", Some(206));
            row.real("cutoff", Some(cutoff)).real("youden", Some(youden)).done().expect("a row");
            let row = methods.row().text("index", "homa_ir").text("outcome", "o").text("group", "all");
            let row = row.whole("n", Some(276)).whole("n_with", Some(70)).real("cutoff", Some(cutoff));
            let row = row.real("youden", Some(youden)).real("youden_model", Some(youden));
            row.real("youden_corrected", Some(youden - 0.03)).done().expect("a row");
        }
        let mut tables = [accuracy, cutoffs, methods];
        leave_out(&mut tables, 10);
        let told = |table: &Table, name: &str| table.iter().map(|row| row.real(name)).collect::<Vec<_>>();
        // hand: 45 of 70 and 115 of 205 at the first; at the second 0.23 of 70 are 15 of them.
        assert_eq!(told(&tables[1], "youden"), [Some(0.2), Some(0.21)]);
        assert_eq!(told(&tables[2], "youden"), [Some(0.2), Some(0.21)]);
        assert_eq!(told(&tables[2], "youden_model"), [Some(0.2), Some(0.21)]);
        assert_eq!(told(&tables[2], "youden_corrected"), [Some(0.17), Some(0.18)]);
    }

    /// 47 and 91 of 276 are acted on.
    #[test]
    fn net_benefit_at_several_odds_is_that_of_rounded_counts() {
        let mut table = open(NET_BENEFIT);
        let (right, wrong) = (47.0 / 276.0, 91.0 / 276.0);
        for (strategy, risk) in [("threshold", 0.05), ("threshold", 0.25), ("threshold", 0.5), ("risk", 0.5)]
        {
            let value = right - risk / (1.0 - risk) * wrong;
            let row = table.row().text("index", "homa_ir").text("strategy", strategy).whole("n", Some(276));
            let row = row.whole("n_with", Some(70)).whole("n_without", Some(206));
            let row = row.real("cutoff", Some(2.0)).real("threshold_probability", Some(risk));
            row.real("net_benefit", Some(value)).real("lower", Some(value - 0.1)).done().expect("a row");
        }
        let mut tables = [table];
        leave_out(&mut tables, 10);
        let told: Vec<_> =
            tables[0].iter().filter_map(|row| row.real("net_benefit").zip(row.real("lower"))).collect();
        // hand: 45 and 90 of 275: 0.146, 0.055 and −0.164; alone −44 of 276 are −45 of 275.
        assert_eq!(told, [(0.15, 0.05), (0.05, -0.05), (-0.16, -0.26), (-0.16, -0.26)]);
        // As counted, the second would be 0.06.
        assert!((right - wrong / 3.0 - 0.060_4).abs() < 1e-4);
    }
}

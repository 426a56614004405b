//! Shares as they would be of rounded counts: shares in whole per cent of people in a few hundreds tell together the exact
//! counts that are rounded beside them, so that every share is made anew from rounded counts before it is rounded itself. The
//! ends of its interval move along with it, which keeps the width.

mod judged;
mod people;
mod sums;

use super::{is_share, measured, real, rounded, weighted, whole};
use crate::table::schema::{ShareColumn, shares_of};
use crate::table::{Cell, Table};

pub(super) use people::People;

/// How the columns of the ends of an interval end.
const ENDS: [&str; 2] = ["lower", "upper"];
/// Such columns that are no ends of a share.
const OF_OTHERS: [&str; 2] = ["ratio_", "population_"];
const PERCENTILE: &str = "percentile";
/// By which routes the shares of this table are compared with those as released.
const ROUTES: (&str, &str) = ("assay_routes", "as_released");

/// Makes every share anew from rounded counts, and what is made of shares from those.
pub(super) fn coarsen(tables: &mut [Table], people: &People, limit: i64) {
    for table in tables.iter_mut() {
        let blocks = judged::blocks(table, limit);
        let of_sides = judged::of_sides(&blocks);
        for share in shares_of(table.name) {
            for row in (0..table.rows.len()).filter(|row| !of_sides.contains(row)) {
                if is_share(table, row)
                    && let Some(people) = people.behind(table, row, share)
                {
                    of_share(table, (row, share), people, limit);
                }
            }
        }
        judged::coarsen(table, &blocks, limit);
        of_routes(table);
    }
    sums::coarsen(tables, limit);
}

/// A share of so many people as it would be of rounded counts. The people on the smaller side of it are rounded, so that what
/// is left of it is the share of the others.
fn of_rounded(share: f64, people: f64, limit: i64) -> f64 {
    let count = |people: f64| rounded(people.round() as i64, limit) as f64;
    let all = count(people);
    if all <= 0.0 || !(0.0..=1.0).contains(&share) {
        return share;
    }
    let part = |share: f64| count(share * people) / all;
    if share > 0.5 { 1.0 - part(1.0 - share) } else { part(share) }
}

/// Of a share of a row: the share, what stands beside it in other words, and its interval.
fn of_share(table: &mut Table, (row, share): (usize, &ShareColumn), people: f64, limit: i64) {
    let Some(before) = real(table, row, share.column) else { return };
    let whole = whole(table, share.column);
    let of_people = |part: f64| whole * of_rounded(part / whole, people, limit);
    let each = real(table, row, weighted::PARTS[0].0).map(|number| number / before);
    move_to(table, row, (share.column, share.with), (of_people(before), [0.0, whole]));
    if share.with.contains(&PERCENTILE)
        && let Some(percentile) = real(table, row, PERCENTILE)
    {
        set(table, row, PERCENTILE, of_people(percentile));
    }
    // People of the population whom it stands for are the same part of all of them.
    for (number, of) in weighted::PARTS.into_iter().filter(|(number, _)| share.with.contains(number)) {
        if let (Some(_), Some(each), Some(part)) =
            (real(table, row, number), each.filter(|each| each.is_finite()), real(table, row, of))
        {
            set(table, row, number, each * part);
        }
    }
}

/// Puts a number in another's place, and moves the ends of its interval by as much, as far as they may lie.
fn move_to(
    table: &mut Table,
    row: usize,
    (column, with): (&str, &[&str]),
    (told, [least, most]): (f64, [f64; 2]),
) {
    let Some(before) = real(table, row, column) else { return };
    let is_end = |column: &&&str| {
        ENDS.iter().any(|end| column.ends_with(end))
            && !OF_OTHERS.iter().any(|other| column.starts_with(other))
    };
    for end in with.iter().filter(is_end) {
        if let Some(value) = real(table, row, end) {
            set(table, row, end, (value + told - before).clamp(least, most));
        }
    }
    set(table, row, column, told);
}

/// Puts a ratio in another's place, and moves the ends of its interval by the same factor.
fn scale_to(table: &mut Table, row: usize, [column, lower, upper]: [&str; 3], told: f64) {
    let Some(before) = real(table, row, column).filter(|before| *before > 0.0) else { return };
    for end in [lower, upper] {
        if let Some(value) = real(table, row, end) {
            set(table, row, end, value * told / before);
        }
    }
    set(table, row, column, told);
}

/// Ratios of a share by a route over the share as released.
fn of_routes(table: &mut Table) {
    if table.name != ROUTES.0 {
        return;
    }
    let names = ["survey", "index", "population", "grouping", "group", "method", "strict"];
    let about = |row: usize| {
        let threshold = real(table, row, "threshold").map(f64::to_bits);
        (names.map(|name| measured(table, row, name)), threshold)
    };
    let released = |row: &usize| measured(table, *row, "route") == Some(ROUTES.1);
    let ratio = |row: usize| {
        let base = (0..table.rows.len()).filter(released).find(|base| about(*base) == about(row))?;
        let base = real(table, base, "estimate").filter(|base| *base > 0.0)?;
        Some((row, real(table, row, "estimate")? / base))
    };
    let shares = (0..table.rows.len()).filter(|row| is_share(table, *row));
    let told: Vec<(usize, f64)> = shares.filter_map(ratio).collect();
    for (row, ratio) in told {
        scale_to(table, row, ["ratio", "ratio_lower", "ratio_upper"], ratio);
    }
}

fn set(table: &mut Table, row: usize, column: &str, value: f64) {
    if let Some(at) = table.position(column) {
        table.rows[row][at] = Cell::Real(value);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;
    use crate::table::small::leave_out;

    const LIMIT: i64 = 10;

    fn open(name: &str) -> Table {
        Table::new(schema::shape(name).expect(name))
    }

    #[test]
    fn a_share_is_that_of_rounded_counts_and_both_sides_add_up() {
        // hand: 47 of 70 are 23 short of all: 25 of 70 are left. 23 of 206 are 25 of 205.
        assert!((of_rounded(47.0 / 70.0, 70.0, LIMIT) - 45.0 / 70.0).abs() < 1e-12);
        assert!((of_rounded(23.0 / 206.0, 206.0, LIMIT) - 25.0 / 205.0).abs() < 1e-12);
        for (part, people) in [(47.0, 70.0), (113.0, 206.0), (33.0, 276.0), (91.0, 208.0)] {
            let sides = of_rounded(part / people, people, LIMIT)
                + of_rounded((people - part) / people, people, LIMIT);
            assert!((sides - 1.0).abs() < 1e-12, "{part} of {people}: {sides}");
        }
    }

    #[test]
    fn an_interval_keeps_its_width_and_people_of_the_population_their_share() {
        let mut table = open("claim");
        let row = table.row().text("index", "homa_ir").text("group", "everybody");
        let row = row.text("measure", "share_beyond").whole("n", Some(276));
        let row = row.real("value", Some(100.0 * 47.0 / 276.0)).real("lower", Some(12.8));
        let row = row.real("upper", Some(22.0)).real("population_number", Some(47_000.0));
        row.real("population_lower", Some(276.0 * 128.0)).done().expect("a row");
        let mut tables = [table];
        coarsen(&mut tables, &People::default(), LIMIT);
        let row = tables[0].iter().next().expect("a row");
        let [value, lower, upper] = ["value", "lower", "upper"].map(|name| row.real(name).expect(name));
        assert!((value - 100.0 * 45.0 / 275.0).abs() < 1e-9);
        assert!((upper - lower - 9.2).abs() < 1e-9, "{lower} to {upper}");
        let number = row.real("population_number").expect("people");
        assert!((number - 276_000.0 * 45.0 / 275.0).abs() < 1e-6, "{number}");
        let least = row.real("population_lower").expect("people");
        assert!((least - 2_760.0 * lower).abs() < 1e-6, "{least}");
    }

    #[test]
    fn what_a_table_prints_is_a_share_of_rounded_counts() {
        let mut table = open("threshold_shares");
        for beyond in [133, 135, 137] {
            let share = 100.0 * f64::from(beyond) / 276.0;
            let row = table.row().text("index", "homa_ir").text("group", format!("{beyond}"));
            let row = row.text("grouping", format!("{beyond}")).whole("n", Some(276));
            row.real("share_beyond", Some(share))
                .real("percentile", Some(100.0 - share))
                .done()
                .expect("a row");
        }
        let mut tables = [table];
        leave_out(&mut tables, LIMIT);
        let told: Vec<_> =
            tables[0].iter().map(|row| (row.real("share_beyond"), row.real("percentile"))).collect();
        // hand: 135 of 275 are 49.1 %.
        assert_eq!(told, [(Some(49.0), Some(51.0)); 3]);
    }

    #[test]
    fn a_ratio_of_shares_is_that_of_the_shares_told() {
        let mut table = open("assay_routes");
        for (route, beyond, ratio) in [("as_released", 47.0, 1.0), ("other", 58.0, 58.0 / 47.0)] {
            let row = table.row().text("index", "homa_ir").text("group", "everybody").text("route", route);
            let row = row.text("method", "share_beyond").whole("n", Some(276)).real("ratio", Some(ratio));
            let row =
                row.real("estimate", Some(100.0 * beyond / 276.0)).real("ratio_upper", Some(2.0 * ratio));
            row.done().expect("a row");
        }
        let mut tables = [table];
        coarsen(&mut tables, &People::default(), LIMIT);
        let other = tables[0].at(1).expect("a row");
        // hand: 60 of 275 over 45 of 275.
        assert!(other.real("ratio").is_some_and(|ratio| (ratio - 60.0 / 45.0).abs() < 1e-12));
        assert!(other.real("ratio_upper").is_some_and(|upper| (upper - 120.0 / 45.0).abs() < 1e-12));
    }
}

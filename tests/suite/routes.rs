//! Equations between laboratory methods: every row in one loop, floors, and cycles that refuse one.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use cutspan::definitions::chain::{chains, wanted};
use cutspan::definitions::crosswalk::{Below, Crosswalk, crosswalks, released};
use polars::prelude::*;
use polars::sql::sql_expr;

/// The worked values are printed to four decimals.
const PRINTED: f64 = 0.000_06;

fn converted(row: &Crosswalk, x: Option<f64>, below: Below) -> Option<f64> {
    let frame = df!("x" => [x]).unwrap().lazy();
    let out = frame.select([sql_expr(row.sql("x", below)).unwrap().alias("y")]).collect().unwrap();
    out.column("y").unwrap().f64().unwrap().get(0)
}

fn between(from: &str, to: &str) -> &'static Crosswalk {
    crosswalks().iter().find(|row| row.from == from && row.to == to).unwrap()
}

#[test]
fn every_equation_gives_its_worked_values() {
    assert_eq!(crosswalks().len(), 14);
    for row in crosswalks() {
        assert!(!row.worked.is_empty() && !row.source.is_empty(), "{} to {}", row.from, row.to);
        assert!(
            released().iter().any(|cycle| cycle.method(&row.quantity) == row.from),
            "{} is no released method",
            row.from
        );
        for [x, expected] in &row.worked {
            let found = converted(row, Some(*x), Below::Missing).unwrap();
            assert!((found - expected).abs() < PRINTED, "{} to {}: {x} gives {found}", row.from, row.to);
        }
        assert_eq!(converted(row, None, Below::Missing), None);
        assert_eq!(converted(row, None, Below::Floor(1.0)), None);
    }
}

#[test]
fn a_value_that_turns_negative_is_missing_or_at_the_floor() {
    let row = between("pharmacia_ria", "tosoh_aia_pack");
    assert_eq!(converted(row, Some(2.2), Below::Missing), None);
    let floor = converted(row, Some(2.2), Below::Floor(1.0)).unwrap();
    assert!((floor - 0.5_f64.sqrt()).abs() < PRINTED, "{floor}");
}

#[test]
fn no_roche_equation_begins_at_what_2009_2010_was_released_as() {
    let first = |cycle: &str, to: &str| {
        let held = released().iter().find(|row| row.cycle == cycle).unwrap();
        chains(held, "insulin", &wanted("insulin", to))[0].steps.first().map(|step| step.from.as_str())
    };
    assert_eq!(first("2011-2012", "mercodia_elisa"), Some("roche_elecsys_2010"));
    assert_eq!(first("2009-2010", "mercodia_elisa"), None);
    assert_eq!(first("2009-2010", "roche_elecsys_2010"), Some("mercodia_elisa"));
}

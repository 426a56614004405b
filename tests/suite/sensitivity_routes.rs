//! Assay routes: chains of equations by hand through the whole path.

use cutspan::source::Loaded;
use cutspan::variant::{Converted, convert};
use polars::prelude::*;

use crate::sensitivity::{of_cycles, parse, route};
use crate::support::assert_close;

/// Hand arithmetic is carried to five decimals.
const BY_HAND: f64 = 5e-5;

/// Cycle, insulin in uU/mL, glucose in mg/dL.
type Person<'a> = (&'a str, Option<f64>, f64);

/// People of some cycles as a source would hold them.
fn loaded(people: &[Person]) -> Loaded {
    let column = |f: &dyn Fn(&Person) -> Option<f64>| people.iter().map(f).collect::<Vec<_>>();
    let insulin = column(&|p| p.1);
    let glucose = column(&|p| Some(p.2));
    let none: Vec<Option<f64>> = vec![None; people.len()];
    let frame = df!(
        "cycle" => people.iter().map(|p| p.0).collect::<Vec<_>>(),
        "insulin_reported_uu_ml" => insulin.clone(),
        "insulin_reported_pmol_l" => none.clone(),
        "insulin_uu_ml" => insulin,
        "insulin_pmol_l" => column(&|p| p.1.map(|x| 6.0 * x)),
        "glucose_reported_mg_dl" => glucose.clone(),
        "glucose_reported_mmol_l" => none,
        "glucose_mg_dl" => glucose,
        "glucose_mmol_l" => column(&|p| Some(p.2 / 18.0156)),
    );
    let frame = frame.unwrap();
    Loaded {
        frame,
        weights: vec![],
        has_design: false,
        files: vec![],
        flow: vec![],
        notices: vec![],
        detection: vec![],
        replicate_factors: std::collections::BTreeMap::new(),
    }
}

/// The first route of a study applied to people.
fn by_route(text: &str, people: &[Person]) -> (DataFrame, Vec<Converted>) {
    let study = parse(text).unwrap_or_else(|e| panic!("{e}"));
    let route = &study.sensitivity.as_ref().unwrap().routes[1];
    let (loaded, converted) = convert(&study, &loaded(people), route).unwrap();
    (loaded.frame, converted)
}

fn cell(frame: &DataFrame, column: &str, row: usize) -> Option<f64> {
    frame.column(column).unwrap().f64().unwrap().get(row)
}

#[test]
fn chains_of_equations_give_the_values_of_hand_arithmetic() {
    let cycles = ["1999-2000", "2009-2010", "2011-2012", "2013-2014"];
    let people = [
        ("1999-2000", Some(10.0), 100.0),
        ("1999-2000", Some(2.0), 100.0),
        ("2009-2010", Some(10.0), 100.0),
        ("2011-2012", Some(10.0), 100.0),
        ("2011-2012", Some(647.5), 100.0),
        ("2011-2012", None, 100.0),
        ("2013-2014", Some(10.0), 100.0),
    ];
    let (frame, converted) = by_route(&of_cycles(&cycles, &route("insulin = \"mercodia\"")), &people);
    let expected = [
        // 1.0027 × 10 − 2.2934 = 7.7336; × 0.9501 + 1.4890
        Some(8.836_69),
        // 1.0027 × 2 − 2.2934 < 1.0: 1.0 / √2 = 0.707107; × 0.9501 + 1.4890
        Some(2.160_82),
        // already raised to Mercodia by the agency: a second correction would give 11.3138
        Some(10.0),
        // 0.6295 + 10.770 − 0.08566
        Some(11.313_84),
        // above 628.6 the equation falls again
        None,
        None,
        // 10^(0.9765 + 0.07832) = 11.34542; 0.6295 + 1.0770 x − 0.0008566 x²
        Some(12.738_24),
    ];
    for (row, want) in expected.into_iter().enumerate() {
        let got = cell(&frame, "insulin_uu_ml", row);
        assert_eq!(got.is_some(), want.is_some(), "row {row}: {got:?}");
        if let (Some(got), Some(want)) = (got, want) {
            assert_close(got, want, BY_HAND, &format!("row {row}"));
            assert_close(cell(&frame, "insulin_pmol_l", row).unwrap(), 6.0 * want, 6.0 * BY_HAND, "pmol/L");
            assert_eq!(cell(&frame, "insulin_reported_uu_ml", row), Some(got), "limits read it too");
        }
        assert_eq!(cell(&frame, "glucose_mg_dl", row), Some(100.0));
    }
    let counts: Vec<_> = converted.iter().map(|c| (c.people, c.converted, c.floored, c.lost)).collect();
    assert_eq!(counts, [(2, 2, 1, 0), (1, 0, 0, 0), (2, 1, 0, 1), (1, 1, 0, 0)]);
    assert!(converted[1].note.contains("correct twice"), "{}", converted[1].note);
}

#[test]
fn the_way_from_mercodia_to_tosoh_can_be_chosen() {
    let people = [("2007-2008", Some(10.0), 100.0)];
    let by = |by: &str| {
        let text = of_cycles(&["2007-2008"], &route(&format!("insulin = \"tosoh\"{by}")));
        cell(&by_route(&text, &people).0, "insulin_uu_ml", 0).unwrap()
    };
    // 10.526 − 1.5674; and 8.868 + 0.11 − 0.0744 = 8.9036, 10^(1.024 log10 8.9036 − 0.0802) = 7.80109
    assert_close(by(""), 8.9586, BY_HAND, "directly");
    assert_close(by("\nby = \"roche_elecsys_2010\""), 7.801_09, BY_HAND, "by way of Roche");
}

#[test]
fn insulin_in_pmol_is_read_by_the_stated_factor() {
    let read = |factor: &str| {
        let text = of_cycles(&["2017-2018"], &route(&format!("insulin_factor = {factor}")));
        by_route(&text, &[("2017-2018", Some(15.7), 100.0)]).0
    };
    assert_close(cell(&read("6.0"), "insulin_uu_ml", 0).unwrap(), 15.7, 1e-12, "6.00");
    // 15.7 × 6.00 = 94.2 pmol/L; 94.2 / 6.945
    let other = read("6.945");
    assert_close(cell(&other, "insulin_uu_ml", 0).unwrap(), 13.563_71, BY_HAND, "6.945");
    assert_eq!(cell(&other, "insulin_reported_uu_ml", 0), None);
    assert_close(cell(&other, "insulin_reported_pmol_l", 0).unwrap(), 94.2, 1e-12, "as reported");
}

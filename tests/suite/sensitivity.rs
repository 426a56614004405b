//! One cutoff under other choices and assays: equations by hand through the whole path, what is refused, and
//! variants that equal fresh studies.

use std::path::Path;

use cutspan::analysis::Results;
use cutspan::chart::{self, Print};
use cutspan::pipeline;
use cutspan::source::Loaded;
use cutspan::study::{self, Study, StudyError};
use cutspan::table::number::full;
use cutspan::table::{Row, Table};
use cutspan::variant::{Converted, convert};
use polars::prelude::*;

use crate::support::{assert_close, official_data};

/// Hand arithmetic is carried to five decimals.
const BY_HAND: f64 = 5e-5;
/// Official shares are printed with one decimal.
const PRINTED: f64 = 0.05;

fn parse(text: &str) -> Result<Study, StudyError> {
    study::parse(text, "test.toml", Path::new(env!("CARGO_MANIFEST_DIR")))
}

fn of_cycles(cycles: &[&str], rest: &str) -> String {
    let source = |cycle: &&str| format!("[[source]]\nsurvey = \"nhanes\"\ncycle = \"{cycle}\"\n");
    format!("title = \"test\"\n{}{rest}", cycles.iter().map(source).collect::<String>())
}

const INSULIN: &str = "[analysis]\nindices = [\"insulin\", \"homa_ir\"]\n[sensitivity]\n";

fn route(lines: &str) -> String {
    format!("{INSULIN}[[sensitivity.route]]\nname = \"other\"\n{lines}\n")
}

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

#[test]
fn a_route_that_the_documentation_does_not_allow_is_refused() {
    let cases = [
        (of_cycles(&["2009-2010"], &route("insulin = \"mercodia\"")), "correct twice"),
        (of_cycles(&["2021-2023"], &route("insulin = \"mercodia\"")), "known cycles: 1999-2000, 2001-2002"),
        (of_cycles(&["2011-2012"], &route("glucose = \"roche_c501\"")), "no official equation leads"),
        (of_cycles(&["2011-2012"], &route("insulin = \"mercodja\"")), "Did you mean \"mercodia\"?"),
        (of_cycles(&["2011-2012"], &route("insulin_factor = 7.0")), "must be 6 or 6.945, found 7"),
        (of_cycles(&["2011-2012"], &route("insulin = \"tosoh\"\ninsulin_factor = 6.0")), "make two routes"),
        (of_cycles(&["2011-2012"], &route("insulin = \"tosoh\"\nby = \"pharmacia\"")), "leave `by` out"),
        (of_cycles(&["2011-2012"], &route("label = \"none\"")), "a route says what changes"),
        (
            of_cycles(&["2011-2012"], &route("insulin = \"tosoh\"").replace("other", "as_released")),
            "choose another name",
        ),
        (made_up(&route("insulin = \"tosoh\"").replace(INSULIN, "[sensitivity]\n")), "has no cycle"),
        (made_up("[sensitivity]\nindex = \"tyg\"\n"), "unknown index of this study"),
        (made_up("[sensitivity]\ngroups = [\"sex × obesity\"]\n"), "\"sex × obesity\" is a crossing"),
    ];
    for (text, expected) in cases {
        let message = parse(&text).expect_err(expected).to_string();
        assert!(message.contains(expected) && message.contains("test.toml:"), "{message}");
    }
}

/// NCHS, documentation of the 2015–2016 glucose file (`GLU_I`): after the backward equation 41.5 % of
/// non-pregnant adults of 18 or more without diagnosed diabetes have 100–125 mg/dL and 3.4 % at least 126.
#[test]
fn official_shares_come_out_of_a_route_and_exclusions_move_with_it() {
    let Some(data) = official_data() else { return };
    let text = of_cycles(
        &["2015-2016"],
        r#"
[cohort]
age = { from = 18 }
exclude = ["pregnant", "diagnosed_diabetes"]
[analysis]
indices = ["fasting_glucose"]
outcomes = ["raised_a1c"]
groups = ["sex"]
percentiles = [50, 90]
[[analysis.threshold]]
index = "fasting_glucose"
value = 100.0
[[analysis.threshold]]
index = "fasting_glucose"
value = 126.0
[sensitivity]
percentiles = [50, 90]
[[sensitivity.exclusions]]
name = "without_diabetes"
exclude = ["pregnant", "diagnosed_diabetes", "diabetes_by_fasting_glucose"]
[[sensitivity.route]]
name = "as_2013"
glucose = "roche_c501"
[resampling]
replicates = 100
[[define.index]]
name = "fasting_glucose"
label = "Glucose"
formula = "glucose_mg_dl"
unit = "mg/dL"
direction = "higher"
source = "test"
"#,
    );
    let results = pipeline::estimate(&parse(&text).unwrap(), &[data]).unwrap();
    let routes = table(&results, "assay_routes");
    let share = |route: &str, threshold: f64| {
        let row = routes.iter().find(|r| r.text("route") == route && r.real("threshold") == Some(threshold));
        row.unwrap().real("estimate").unwrap()
    };
    assert_close(share("as_2013", 100.0) - share("as_2013", 126.0), 41.5, PRINTED, "100 to 125 mg/dL");
    assert_close(share("as_2013", 126.0), 3.4, PRINTED, "126 mg/dL or more");
    released_equals_the_main_tables(&results);
    let people = |route: &str| {
        let of = |r: &Row| {
            r.text("route") == route
                && r.text("exclusions") == "without_diabetes"
                && r.text("kind") == "percentile"
        };
        table(&results, "choices").iter().find(of).unwrap().whole("n").unwrap()
    };
    assert!(people("as_2013") > people("as_released"), "fewer lie at 126 mg/dL or more by the other method");
}

/// Every estimate as released stands in a table of the whole study with the same twelve digits.
fn released_equals_the_main_tables(results: &Results) {
    let mut compared = 0;
    for row in table(results, "assay_routes").iter().filter(|r| r.text("route") == "as_released") {
        let (name, value) = match row.text("method") {
            "share_beyond" => ("threshold_shares", "share_beyond"),
            "percentile" => ("percentiles", "value"),
            "youden" => ("cutoffs", "cutoff"),
            _ => ("smoothed_cutoffs", "cutoff"),
        };
        let same = |other: &Row| {
            let texts = ["index", "population", "group", "outcome"];
            let reals = ["threshold", "percentile"];
            texts.iter().all(|c| !other.has(c) || other.text(c) == row.text(c))
                && (!other.has("rule") || other.text("rule") == "youden")
                && reals.iter().all(|c| row.real(c).is_none() || other.real(c) == row.real(c))
        };
        let other = table(results, name).iter().find(same).unwrap_or_else(|| panic!("{name}: {row:?}"));
        for (own, main) in [("estimate", value), ("lower", "lower"), ("upper", "upper")] {
            assert_eq!(row.real(own).map(full), other.real(main).map(full), "{name} {own}");
        }
        assert_eq!((row.whole("converted"), row.real("ratio")), (Some(0), None));
        compared += 1;
    }
    // (2 thresholds + 2 percentiles + rule + smoothed) × (everybody + 2 sexes)
    assert_eq!(compared, 18);
}

fn table<'a>(results: &'a Results, name: &str) -> &'a Table {
    results.tables.iter().find(|t| t.name == name).unwrap()
}

/// A study of the invented survey.
fn made_up(section: &str) -> String {
    format!(
        r#"
title = "made up"
[[source]]
survey = "table"
name = "Veldmark (invented)"
files = ["data-public/veldmark.csv"]
id = "person_id"
weight = "fasting_weight"
stratum = "stratum"
psu = "psu"
[source.columns]
glucose = {{ column = "glucose", unit = "mg/dL" }}
insulin = {{ column = "insulin", unit = "uU/mL" }}
a1c = {{ column = "a1c", unit = "%" }}
hdl = {{ column = "hdl", unit = "mg/dL" }}
bmi = {{ column = "bmi", unit = "kg/m2" }}
age = {{ column = "age", unit = "years" }}
sex = {{ column = "sex", codes = {{ 1 = "male", 2 = "female" }} }}
diagnosed_diabetes = {{ column = "diabetes_told", codes = {{ 1 = "yes", 2 = "no" }}, missing = ["9"] }}
[cohort]
age = {{ from = 20 }}
exclude = ["diagnosed_diabetes"]
[analysis]
indices = ["homa_ir"]
outcomes = ["raised_a1c", "low_hdl"]
groups = ["sex"]
percentiles = [75, 90]
rules = ["youden", {{ rule = "specificity_at_least", value = 0.8 }}]
[[analysis.reference]]
name = "lean"
without = ["bmi_25_or_more"]
[[analysis.threshold]]
index = "homa_ir"
value = 2.0
{section}
[resampling]
replicates = 100
"#
    )
}

/// Insulin said to be in pmol/L, so that a factor enters it.
fn by_factor() -> String {
    let route = "[sensitivity]\nindex = [\"homa_ir\", \"tyg\"]\n[[sensitivity.route]]\nname = \"other\"\n\
                 label = \"at 6.945\"\ninsulin_factor = 6.945\n";
    let insulin = "insulin = { column = \"insulin\", unit = \"uU/mL\" }";
    let pmol = "insulin = { column = \"insulin\", unit = \"pmol/L\", factor = 6.0, unit_checked = true }\n\
                triglycerides = { column = \"triglycerides\", unit = \"mg/dL\" }";
    made_up(route)
        .replace(insulin, pmol)
        .replace("indices = [\"homa_ir\"]", "indices = [\"homa_ir\", \"tyg\"]")
}

#[test]
fn a_unit_factor_is_no_assay_and_an_index_that_no_route_changes_is_left_out() {
    let study = parse(&by_factor()).unwrap();
    let results = pipeline::estimate(&study, &[]).unwrap();
    let routes = table(&results, "assay_routes");
    assert!(routes.iter().any(|row| row.text("index") == "homa_ir" && row.text("route") == "other"));
    assert!(routes.iter().all(|row| row.text("index") != "tyg"), "no route changes it");
    assert!(table(&results, "choices").iter().any(|row| row.text("index") == "tyg"));
    let labels = chart::labels(&study, "Veldmark (invented)");
    let charts = chart::draw_all(&results.tables, &labels, &Print::default()).unwrap();
    let captions: Vec<&str> = charts
        .iter()
        .filter(|chart| chart.kind == "assay_routes")
        .map(|chart| chart.caption.as_str())
        .collect();
    assert!(!captions.is_empty());
    for caption in captions {
        assert!(caption.contains("turned into µU/mL by another factor"), "{caption}");
        assert!(!caption.contains("agency") && !caption.contains("laboratory method"), "{caption}");
    }
}

const EVERYBODY_STAYS: &str =
    "[sensitivity]\n[[sensitivity.exclusions]]\nname = \"with_diabetes\"\nexclude = []\n";

#[test]
fn every_combination_equals_a_study_of_its_own() {
    let both = pipeline::estimate(&parse(&made_up(EVERYBODY_STAYS)).unwrap(), &[]).unwrap();
    let other = made_up("").replace("exclude = [\"diagnosed_diabetes\"]", "exclude = []");
    let alone = pipeline::estimate(&parse(&other).unwrap(), &[]).unwrap();
    assert!(alone.tables.iter().all(|table| table.name != "choices"), "nothing is added unasked");
    let mut compared = 0;
    for row in table(&both, "choices").iter() {
        let results = if row.text("exclusions") == "study" { &both } else { &alone };
        let (name, value, columns) = match row.text("kind") {
            "outcome" => ("cutoffs", "cutoff", ["population", "group", "rule", "outcome"]),
            _ => ("percentiles", "value", ["population", "group", "grouping", "index"]),
        };
        let same = |other: &Row| {
            columns.iter().all(|c| other.text(c) == row.text(c))
                && (name == "cutoffs" || other.real("percentile") == row.real("percentile"))
        };
        let other = table(results, name).iter().find(same).unwrap();
        for (own, main) in [("cutoff", value), ("lower", "lower"), ("upper", "upper")] {
            assert_eq!(row.real(own).map(full), other.real(main).map(full), "{name} {own}");
        }
        compared += 1;
    }
    // (2 rules × 2 outcomes + 2 percentiles × 2 populations) × 2 exclusion sets × 3 groups
    assert_eq!(compared, 48);
    ranges_are_those_of_the_choices(&both);
}

/// The range of each choice, found again in the table of all cutoffs.
fn ranges_are_those_of_the_choices(results: &Results) {
    let choices = table(results, "choices");
    let mut compared = 0;
    for range in table(results, "choice_ranges").iter() {
        let of_cutoff = |r: &Row| ["group", "kind"].iter().all(|c| r.text(c) == range.text(c));
        let base = choices.iter().find(|r| of_cutoff(r) && r.text("base") == "yes").unwrap();
        let changed = match range.text("choice") {
            "reference" => "population",
            choice => choice,
        };
        let may_differ = |column: &str| changed == "all" || changed == column;
        let kept = |r: &Row| {
            ["rule", "outcome", "population", "exclusions"]
                .iter()
                .all(|c| may_differ(c) || r.text(c) == base.text(c))
                && (may_differ("percentile") || r.real("percentile") == base.real("percentile"))
        };
        let cutoffs: Vec<f64> =
            choices.iter().filter(|r| of_cutoff(r) && kept(r)).filter_map(|r| r.real("cutoff")).collect();
        let low = cutoffs.iter().copied().fold(f64::INFINITY, f64::min);
        let high = cutoffs.iter().copied().fold(0.0, f64::max);
        assert_eq!(range.whole("shown"), Some(cutoffs.len() as i64), "{}", range.text("choice"));
        assert_eq!((range.real("smallest"), range.real("largest")), (Some(low), Some(high)));
        assert_eq!((range.real("ratio"), range.real("base")), (Some(high / low), base.real("cutoff")));
        compared += 1;
    }
    // (rule, outcome, exclusions, all; percentile, reference, exclusions, all) × 3 groups
    assert_eq!(compared, 24);
}

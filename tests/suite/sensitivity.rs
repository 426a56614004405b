//! One cutoff under other choices and assays: official figures, what is refused, and variants that equal fresh studies.

use std::path::Path;

use cutspan::analysis::Results;
use cutspan::chart::{self, Print};
use cutspan::pipeline;
use cutspan::study::{self, Study, StudyError};
use cutspan::table::Row;
use cutspan::table::number::full;

use crate::support::{assert_close, official_data, table};

/// Official shares are printed with one decimal.
const PRINTED: f64 = 0.05;

pub fn parse(text: &str) -> Result<Study, StudyError> {
    study::parse(text, "test.toml", Path::new(env!("CARGO_MANIFEST_DIR")))
}

pub fn of_cycles(cycles: &[&str], rest: &str) -> String {
    let source = |cycle: &&str| format!("[[source]]\nsurvey = \"nhanes\"\ncycle = \"{cycle}\"\n");
    format!("title = \"test\"\n{}{rest}", cycles.iter().map(source).collect::<String>())
}

const INSULIN: &str = "[analysis]\nindices = [\"insulin\", \"homa_ir\"]\n[sensitivity]\n";

pub fn route(lines: &str) -> String {
    format!("{INSULIN}[[sensitivity.route]]\nname = \"other\"\n{lines}\n")
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
    assert!(charts.iter().any(|chart| chart.kind == "choices"));
    for chart in charts.iter().filter(|chart| ["choices", "cutoff_ratios", "spread"].contains(&chart.kind)) {
        assert!(chart.caption.contains(" n = "), "{}: {}", chart.name, chart.caption);
    }
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

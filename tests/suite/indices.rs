//! Indices side by side on the people who have both, what acting on them would do, and laboratory limits.

use std::fs;
use std::path::Path;
use std::sync::OnceLock;

use cutspan::analysis::Results;
use cutspan::cohort::{self, Cohort};
use cutspan::study::{self, Study};
use cutspan::table::{Row, Table};
use cutspan::tally::{self, JointColumn, Tallies};
use cutspan::{pipeline, source};

use crate::support::{assert_close, official_data, table};

fn parse(text: &str) -> Study {
    study::parse(text, "test.toml", Path::new(".")).unwrap_or_else(|e| panic!("{e:#?}"))
}

const FIVE: &str = r#"
title = "test"
question = "test"
[[source]]
survey = "nhanes"
cycle = "2017-2020"
[cohort]
age = { from = 20 }
exclude = ["diagnosed_diabetes"]
[analysis]
indices = ["homa_ir", "tyg", "quicki", "firi", "insulin"]
outcomes = ["low_hdl"]
groups = ["sex", "sex × bmi_class"]
[[analysis.reference]]
name = "lean"
label = "BMI under 25"
without = ["bmi_25_or_more"]
[[analysis.threshold]]
index = "homa_ir"
value = 2.0
source = "test"
[resampling]
replicates = 60
seed = 7
"#;

/// The five indices, estimated once for all tests; `None` without official files.
pub fn five() -> Option<&'static Results> {
    static FOUND: OnceLock<Option<Results>> = OnceLock::new();
    let estimate = || Some(pipeline::estimate(&parse(FIVE), &[official_data()?]).unwrap());
    FOUND.get_or_init(estimate).as_ref()
}

fn of_pair<'a>(table: &'a Table, pair: (&'a str, &'a str)) -> impl Iterator<Item = Row<'a>> {
    table.iter().filter(move |r| (r.text("index"), r.text("other_index")) == pair)
}

/// HOMA-IR, QUICKI and FIRI are one-to-one functions of glucose × insulin (Rudvik and Månsson 2018, BMC Med
/// Res Methodol 18): their areas, and those of every replicate, are one number.
#[test]
fn twins_tie_exactly_and_stand_as_one() {
    let Some(results) = five() else { return };
    let comparison = table(results, "index_comparison");
    for twin in ["quicki", "firi"] {
        let mut seen = 0;
        for row in of_pair(comparison, ("homa_ir", twin)) {
            assert_eq!(row.real("auc"), row.real("other_auc"));
            assert_eq!((row.real("difference"), row.real("standard_error")), (Some(0.0), Some(0.0)));
            assert_eq!((row.real("p"), row.real("p_holm")), (None, None));
            assert!(row.text("conclusion").starts_with("twins"), "{}", row.text("conclusion"));
            seen += 1;
        }
        assert_eq!(seen, 3, "everybody, women and men; no crossings");
        assert!(comparison.iter().all(|r| r.text("index") != twin), "{twin} is not compared with others");
    }
    let which = table(results, "which_index");
    assert_eq!(which.rows.len(), 3);
    for row in which.iter() {
        assert_eq!(row.whole("compared"), Some(3), "HOMA-IR for its twins, TyG, insulin");
        assert!(row.text("index") != "quicki" && row.text("index") != "firi");
    }
}

#[test]
fn a_difference_is_that_of_its_areas_and_holm_never_lowers_a_p_value() {
    let Some(results) = five() else { return };
    let comparison = table(results, "index_comparison");
    let mut tested = 0;
    for row in comparison.iter().filter(|r| r.real("p").is_some()) {
        let [auc, other, difference, lower, upper, p, holm] =
            ["auc", "other_auc", "difference", "lower", "upper", "p", "p_holm"].map(|c| row.real(c).unwrap());
        assert_eq!(auc - other, difference);
        assert!(lower < difference && difference < upper && p <= holm && holm <= 1.0);
        tested += 1;
    }
    assert_eq!(tested, 3 * 3, "pairs of HOMA-IR, TyG and insulin in three groups");
    // Which people have all three, on a file whose triglycerides are sometimes missing, the pairs' n must say.
    let everybody = |pair| of_pair(comparison, pair).find(|r| r.text("group") == "everybody").unwrap();
    let (with_tyg, without) = (everybody(("homa_ir", "tyg")), everybody(("homa_ir", "insulin")));
    assert!(with_tyg.whole("n").unwrap() <= without.whole("n").unwrap());
}

/// Ten people; the ninth has no insulin, the tenth no triglycerides.
const TEN: &str = "id,insulin,tg,hdl
1,5,100,50
2,8,200,55
3,10,150,60
4,12,120,45
5,9,300,30
6,15,250,35
7,20,180,38
8,11,110,39
9,NA,400,70
10,30,NA,70
";

pub(crate) const SMALL: &str = r#"
title = "test"
question = "test"
unreliable = "flag"
[[source]]
survey = "table"
name = "ten"
files = ["ten.csv"]
id = "id"
missing = ["NA"]
[source.columns]
insulin = { column = "insulin", unit = "uU/mL" }
triglycerides = { column = "tg", unit = "mg/dL" }
hdl = { column = "hdl", unit = "mg/dL" }
[cohort]
[analysis]
indices = ["insulin", "triglycerides_alone"]
outcomes = ["hdl_below_40"]
groups = []
[[analysis.threshold]]
index = "insulin"
value = 10
source = "test"
[[analysis.threshold]]
index = "insulin"
value = 10
strict = true
source = "test"
[resampling]
replicates = 50
[[define.index]]
name = "triglycerides_alone"
label = "triglycerides"
formula = "triglycerides_mg_dl"
unit = "mg/dL"
direction = "higher"
source = "test"
[[define.outcome]]
name = "hdl_below_40"
label = "HDL below 40 mg/dL"
formula = "hdl_mg_dl < 40"
source = "test"
"#;

pub(crate) fn small() -> (tempfile::TempDir, Study) {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("ten.csv"), TEN).unwrap();
    let study = study::parse(SMALL, "small.toml", folder.path()).unwrap_or_else(|e| panic!("{e:#?}"));
    (folder, study)
}

/// Ratios of small whole numbers, a few roundings apart.
pub(crate) const BY_HAND: f64 = 1e-12;

/// Of nine insulin values (5, 8, 10, 12, 9, 15, 20, 11 and 30) the geometric mean is the ninth root of their product,
/// 4,276,800,000: 11.752339446412.
#[test]
fn a_geometric_mean_is_on_the_scale_of_its_index_whichever_side_is_resistant() {
    const LOWER: &str = "[[define.index]]\nname = \"twice\"\nlabel = \"twice insulin\"\nformula = \"2.0 * insulin_uu_ml\"\n\
        unit = \"uU/mL\"\ndirection = \"lower\"\nsource = \"test\"\n[[define.index]]\nname = \"less_nine\"\n\
        label = \"insulin less nine\"\nformula = \"insulin_uu_ml - 9.0\"\nunit = \"uU/mL\"\ndirection = \"lower\"\n\
        source = \"test\"\n[[define.outcome]]";
    let (folder, _) = small();
    let text = SMALL
        .replace("[\"insulin\", \"triglycerides_alone\"]", "[\"insulin\", \"twice\", \"less_nine\"]")
        .replacen("[[define.outcome]]", LOWER, 1);
    let study = study::parse(&text, "small.toml", folder.path()).unwrap_or_else(|e| panic!("{e:#?}"));
    let results = pipeline::estimate(&study, &[]).unwrap();
    let of = |name: &str, index: &str| {
        table(&results, name).iter().find(|row| row.text("index") == index).unwrap()
    };
    let (insulin, twice) = (of("geometric_means", "insulin"), of("geometric_means", "twice"));
    assert_close(insulin.real("value").unwrap(), 11.752_339_446_412, 1e-9, "by hand");
    for column in ["value", "lower", "upper", "standard_error"] {
        let (one, two) = (insulin.real(column).unwrap(), twice.real(column).unwrap());
        assert_close(two, 2.0 * one, 1e-9, column);
    }
    assert!(twice.real("lower") < twice.real("value") && twice.real("value") < twice.real("upper"));
    for index in ["insulin", "twice", "less_nine"] {
        let (mean, percentile) = (of("geometric_means", index), of("percentiles", index));
        assert_eq!(mean.whole("n"), Some(9), "{index}");
        assert_eq!(mean.whole("n"), percentile.whole("n"), "{index}");
        assert_eq!(mean.real("weighted_n"), percentile.real("weighted_n"), "{index}");
    }
    let below = of("geometric_means", "less_nine");
    assert_eq!((below.real("value"), below.text("withheld")), (None, "a value is not positive"));
}

#[test]
fn pairs_are_compared_on_the_people_who_have_both() {
    let (_folder, study) = small();
    let results = pipeline::estimate(&study, &[]).unwrap();
    let alone = |index: &str| {
        let row = table(&results, "auc").iter().find(|r| r.text("index") == index);
        row.and_then(|r| r.real("auc")).unwrap()
    };
    // Insulin: 13 of 4 × 4 pairs in the right order, 13 of 4 × 5 with the tenth; triglycerides 12.
    assert_close(alone("insulin"), 13.0 / 20.0, BY_HAND, "insulin");
    assert_close(alone("triglycerides_alone"), 12.0 / 20.0, BY_HAND, "triglycerides");
    let row = table(&results, "index_comparison").iter().next().unwrap();
    assert_eq!((row.whole("n_with"), row.whole("n_without")), (Some(4), Some(4)));
    assert_close(row.real("auc").unwrap(), 13.0 / 16.0, BY_HAND, "insulin");
    assert_close(row.real("other_auc").unwrap(), 12.0 / 16.0, BY_HAND, "triglycerides");
    // Differences of placements: -1/2, 0, 1/4, 1/2 with and 0, 1/2, 0, -1/4 without the outcome; their
    // variances over 4 each add to 9/128.
    assert_eq!(row.text("interval"), "delong_normal");
    assert_close(row.real("standard_error").unwrap(), (9.0_f64 / 128.0).sqrt(), BY_HAND, "DeLong");
    assert_eq!(row.text("conclusion"), "not distinguishable with these data");
}

/// Eight people in which insulin and triglycerides both part those with low HDL from the others, in other orders.
const PARTED: &str = "id,place,insulin,tg,hdl
1,1,5,120,50
2,2,8,110,55
3,3,10,100,60
4,4,9,150,45
5,5,22,300,30
6,6,15,350,35
7,7,20,280,38
8,8,31,310,39
";

#[test]
fn two_that_separate_completely_are_no_twins() {
    let (folder, _) = small();
    fs::write(folder.path().join("ten.csv"), PARTED).unwrap();
    for (design, kind) in [("", "people"), ("psu = \"place\"\n", "replicates")] {
        let text = SMALL.replace("missing = ", &format!("{design}missing = "));
        let study = study::parse(&text, "small.toml", folder.path()).unwrap_or_else(|e| panic!("{e:#?}"));
        let results = pipeline::estimate(&study, &[]).unwrap();
        let row = table(&results, "index_comparison").iter().next().unwrap();
        assert_eq!((row.real("auc"), row.real("other_auc")), (Some(1.0), Some(1.0)), "{kind}");
        assert_eq!(row.text("conclusion"), "not tested: the difference does not vary", "{kind}");
        assert_eq!(
            (row.real("difference"), row.real("standard_error"), row.real("p")),
            (Some(0.0), None, None)
        );
        let which = table(&results, "which_index").iter().next().unwrap();
        assert_eq!((which.text("index"), which.text("twins")), ("insulin", ""), "{kind}");
        assert_eq!(which.text("not_distinguishable"), "triglycerides_alone", "{kind}");
    }
}

#[test]
fn one_order_in_two_units_is_that_of_twins() {
    const TENFOLD: &str = "[[define.index]]\nname = \"tenfold\"\nlabel = \"tenfold insulin\"\n\
        formula = \"10.0 * insulin_uu_ml\"\nunit = \"uU/mL\"\ndirection = \"higher\"\nsource = \"test\"\n[[define.outcome]]";
    let (folder, _) = small();
    let text =
        SMALL.replace("\"triglycerides_alone\"]", "\"tenfold\"]").replacen("[[define.outcome]]", TENFOLD, 1);
    let study = study::parse(&text, "small.toml", folder.path()).unwrap_or_else(|e| panic!("{e:#?}"));
    let results = pipeline::estimate(&study, &[]).unwrap();
    let row = table(&results, "index_comparison").iter().next().unwrap();
    assert_eq!(row.text("conclusion"), "twins: both order people in the same way");
    assert_eq!((row.real("difference"), row.real("standard_error")), (Some(0.0), Some(0.0)));
}

/// A person without insulin, high in triglycerides and with the outcome, lifts triglycerides' own area past
/// insulin's; among the eight who have both, insulin is ahead.
#[test]
fn the_leading_index_is_found_among_the_people_who_have_both() {
    let (folder, _) = small();
    let file = folder.path().join("ten.csv");
    // Without the tenth insulin has 13 of 16 pairs in the right order; with the ninth and his like triglycerides have 12 and
    // 4 more for each.
    let more = (11..=20).map(|id| format!("{id},NA,400,30\n")).collect::<Vec<_>>().concat();
    fs::write(&file, TEN.replace("9,NA,400,70\n10,30,NA,70\n", &more)).unwrap();
    let study = study::parse(SMALL, "small.toml", folder.path()).unwrap_or_else(|e| panic!("{e:#?}"));
    let results = pipeline::estimate(&study, &[]).unwrap();
    let own = |index: &str| {
        let row = table(&results, "auc").iter().find(|row| row.text("index") == index);
        row.and_then(|row| row.real("auc")).unwrap()
    };
    assert_close(own("insulin"), 13.0 / 16.0, BY_HAND, "insulin");
    assert_close(own("triglycerides_alone"), 52.0 / 56.0, BY_HAND, "triglycerides");
    assert_eq!(table(&results, "which_index").iter().next().unwrap().text("index"), "insulin");
}

fn tallied(study: &Study, cohort: &Cohort) -> Tallies {
    let joints = tally::joints(study, cohort).unwrap();
    Tallies { joints, ..tally::collect(cohort).unwrap() }
}

/// Values so coarse that people of both pieces share rows.
const COARSE: &str = r#"
title = "test"
question = "test"
[[source]]
survey = "nhanes"
cycle = "2017-2020"
[cohort]
[analysis]
indices = ["coarse_insulin", "coarse_triglycerides", "coarse_twin"]
outcomes = ["low_hdl"]
groups = ["sex"]
[[define.index]]
name = "coarse_insulin"
label = "insulin in steps of 10"
formula = "insulin_uu_ml"
unit = "uU/mL"
direction = "higher"
resolution = 10.0
family = "coarse"
source = "test"
[[define.index]]
name = "coarse_triglycerides"
label = "triglycerides in steps of 100"
formula = "triglycerides_mg_dl"
unit = "mg/dL"
direction = "higher"
resolution = 100.0
source = "test"
[[define.index]]
name = "coarse_twin"
label = "less of insulin in steps of 10"
formula = "-1.0 * insulin_uu_ml"
unit = "uU/mL"
direction = "lower"
resolution = 10.0
family = "coarse"
source = "test"
"#;

#[test]
fn joint_tallies_of_pieces_merge_to_the_same_bytes() {
    let Some(data) = official_data() else { return };
    let study = parse(COARSE);
    let loaded = source::read_all(&study, &[data]).unwrap();
    let whole = cohort::build(&study, &loaded).unwrap();
    let at_once = tallied(&study, &whole);
    let pairs: Vec<&[JointColumn]> = at_once.joints.iter().map(|j| j.columns.as_slice()).collect();
    assert_eq!(pairs.len(), 2, "two representatives, and a twin with its own: {pairs:?}");
    let rows = whole.rows.height();
    let piece = |from: usize, to: usize| {
        let part = whole.rows.slice(from as i64, to - from);
        tallied(&study, &Cohort { rows: part, ..whole.clone() })
    };
    let (first, second) = (piece(0, rows / 3), piece(rows / 3, rows));
    let count = |tallies: &Tallies| -> usize { tallies.joints.iter().map(|j| j.cell.len()).sum() };
    assert!(count(&first) + count(&second) > count(&at_once) + 100, "pieces share rows");
    let bytes = |tallies: &Tallies| -> Vec<(String, Vec<u8>)> {
        let folder = tempfile::tempdir().unwrap();
        let names = tally::save(tallies, &study, folder.path()).unwrap();
        names.into_iter().map(|n| (n.clone(), fs::read(folder.path().join(n)).unwrap())).collect()
    };
    let want = bytes(&at_once);
    assert_eq!(want.iter().filter(|(name, _)| name.contains("joint")).count(), 2);
    for pieces in [[first.clone(), second.clone()], [second, first]] {
        assert!(bytes(&tally::merge(&pieces).unwrap()) == want);
    }
}

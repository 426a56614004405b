//! People whose count is left out: no table tells an estimate about them. Made-up tables, worked by hand.

use cutspan::table::small::{BESIDE, hide, leave_out_of_samples};
use cutspan::table::{RowBuilder, Table, schema};

const LIMIT: i64 = 10;
const CLASSES: [(&str, i64); 3] = [("low", 80), ("middle", 120), ("high", 94)];
/// Everybody, and those of a class: 6 are in none.
const GROUPS: [(&str, &str, i64); 4] =
    [("everybody", "everybody", 300), ("bmi", "low", 80), ("bmi", "middle", 120), ("bmi", "high", 94)];

fn open(name: &str) -> Table {
    Table::new(schema::shape(name).expect(name))
}

/// Of 300 people 6 have no BMI, so that the 80 of the smallest class are left out beside them.
fn sample(survey: &str) -> Table {
    let mut sample = open("sample");
    for (level, n) in CLASSES.into_iter().chain([("unknown", 6)]) {
        let row = sample.row().text("survey", survey).text("population", "cohort").text("variable", "bmi");
        let row = row.text("level", level).whole("n", Some(n)).text("unit", "%");
        row.real("value", Some(n as f64 / 3.0)).done().expect("a row");
    }
    sample
}

fn of_group<'t>(table: &'t mut Table, group: &str) -> RowBuilder<'t> {
    let grouping = if group == "everybody" { group } else { "bmi" };
    let row = table.row().text("survey", "s").text("population", "cohort").text("index", "homa_ir");
    row.text("grouping", grouping).text("group", group)
}

fn told(table: &Table, column: &str) -> Vec<bool> {
    table.iter().map(|row| row.real(column).is_some()).collect()
}

#[test]
fn a_group_that_the_sample_leaves_out_is_counted_in_no_table() {
    let mut index = open("which_index");
    for (group, n) in CLASSES {
        // The index that separates best is another one in each group.
        let row = index.row().text("survey", "s").text("population", "cohort").text("grouping", "bmi");
        let row = row.text("group", group).text("index", format!("best of {group}"));
        row.whole("n", Some(n)).whole("n_with", Some(n / 3)).done().expect("a row");
    }
    let mut tables = [index, sample("s")];
    hide(&mut tables, LIMIT);
    let counts = |table: &Table| table.iter().map(|row| row.whole("n")).collect::<Vec<_>>();
    assert_eq!(counts(&tables[1]), [None, Some(120), Some(94), None]);
    assert_eq!(counts(&tables[0]), [None, Some(120), Some(94)]);
    let low = tables[0].at(0).expect("a row");
    assert_eq!((low.whole("n_with"), low.text("index")), (None, ""), "nor which index is best there");
}

/// The mean and its standard error of the low and of the same people with a few more would tell those few.
#[test]
fn of_a_group_that_the_sample_leaves_out_no_table_tells_an_estimate() {
    let (mut means, mut percentiles, mut bins) =
        (open("geometric_means"), open("percentiles"), open("distributions"));
    for (_, group, n) in GROUPS {
        let row = of_group(&mut means, group).whole("n", Some(n)).whole("df", Some(n - 1));
        row.real("value", Some(2.0)).real("standard_error", Some(0.2)).done().expect("a row");
        let row = of_group(&mut percentiles, group).whole("n", Some(n)).real("percentile", Some(90.0));
        row.real("value", Some(4.0)).text("notices", "few degrees of freedom").done().expect("a row");
        of_group(&mut bins, group).real("from", Some(1.0)).real("share", Some(20.0)).done().expect("a row");
    }
    let mut tables = [sample("s"), means, percentiles, bins];
    hide(&mut tables, LIMIT);
    for column in ["value", "standard_error", "n", "df"] {
        assert_eq!(told(&tables[1], column), [true, false, true, true], "{column}");
    }
    assert_eq!(told(&tables[2], "value"), [true, false, true, true]);
    assert_eq!(told(&tables[2], "percentile"), [true; 4], "which one was asked");
    assert_eq!(told(&tables[3], "share")[..2], [true, false]);
    for table in &tables[1..3] {
        let why: Vec<&str> = table.iter().map(|row| row.text("withheld")).collect();
        assert_eq!(why, ["", BESIDE, "", ""]);
    }
    let low = tables[2].at(1).expect("a row");
    assert_eq!(low.text("notices"), format!("counts are {BESIDE}"), "no remark on what is not told");
}

#[test]
fn what_compares_such_a_group_with_others_is_left_out() {
    let (mut pairs, mut spread) = (open("cutoff_pairs"), open("heterogeneity"));
    let (mut cutoffs, mut points) = (open("cutoffs"), open("roc_points"));
    for (_, group, n) in GROUPS {
        let row = of_group(&mut cutoffs, group).text("outcome", "o").whole("n", Some(n));
        row.real("cutoff", Some(2.0)).done().expect("a row");
        let row = of_group(&mut points, group).text("outcome", "o").real("cutoff", Some(2.0));
        row.real("sensitivity", Some(0.5)).done().expect("a row");
    }
    for (group, other) in [("low", "middle"), ("middle", "high"), ("high", "low"), ("high", "everybody")] {
        let row = of_group(&mut pairs, group).text("outcome", "o").text("other_group", other);
        let row = row.real("cutoff", Some(2.0)).real("ratio", Some(1.1)).real("p", Some(0.3));
        row.text("conclusion", "not distinguishable").done().expect("a row");
    }
    for outcome in ["o", "another"] {
        let row = spread.row().text("survey", "s").text("index", "homa_ir").text("outcome", outcome);
        let row = row.text("grouping", "bmi").whole("groups", Some(3)).real("ratio", Some(1.5));
        row.done().expect("a row");
    }
    let mut tables = [sample("s"), cutoffs, points, pairs, spread];
    hide(&mut tables, LIMIT);
    assert_eq!(told(&tables[1], "cutoff"), [true, false, true, true]);
    let points: Vec<&str> = tables[2].iter().map(|row| row.text("group")).collect();
    assert_eq!(points, ["everybody", "middle", "high"]);
    for column in ["cutoff", "ratio", "p"] {
        assert_eq!(told(&tables[3], column), [false, true, false, true], "{column}");
    }
    assert_eq!(tables[3].at(0).map(|row| row.text("conclusion")), Some(""));
    // Against the other outcome the low have no cutoff that it could tell.
    assert_eq!(told(&tables[4], "ratio"), [false, true]);
    assert_eq!(told(&tables[4], "groups"), [false, true]);
}

/// Where people with a value are counted, a few may be in no class though the sample leaves nobody out.
#[test]
fn what_one_table_leaves_out_is_left_out_wherever_the_same_people_stand() {
    let (mut means, mut pairs) = (open("geometric_means"), open("curve_comparisons"));
    for (_, group, n) in GROUPS {
        of_group(&mut means, group).whole("n", Some(n)).real("value", Some(2.0)).done().expect("a row");
        of_group(&mut pairs, group).real("mean_difference", Some(0.1)).done().expect("a row");
    }
    let mut tables = [means, pairs];
    hide(&mut tables, LIMIT);
    assert_eq!(told(&tables[0], "value"), [true, false, true, true], "6 of 300 are in no class");
    assert_eq!(told(&tables[1], "mean_difference"), [true, false, true, true]);
}

#[test]
fn a_cutoff_derived_from_another_population_is_left_out_by_that_one() {
    let mut published = open("published_cutoffs");
    for group in ["low", "middle"] {
        let row = of_group(&mut published, group).text("derived_population", "lean").whole("n", Some(100));
        let row = row.real("share_beyond", Some(50.0)).real("derived", Some(2.0));
        row.real("ratio", Some(1.2)).done().expect("a row");
    }
    let mut sample = open("sample");
    for (level, n) in [("low", 20), ("middle", 40), ("high", 4)] {
        let row = sample.row().text("survey", "s").text("population", "lean").text("variable", "bmi");
        row.text("level", level).whole("n", Some(n)).done().expect("a row");
    }
    let mut tables = [published, sample];
    hide(&mut tables, LIMIT);
    assert_eq!(told(&tables[0], "share_beyond"), [true; 2]);
    assert_eq!(told(&tables[0], "derived"), [false, true]);
    assert_eq!(told(&tables[0], "ratio"), [false, true]);
}

#[test]
fn samples_side_by_side_tell_nothing_of_a_group_that_one_of_them_leaves_out() {
    let mut across = open("sample_comparison");
    for (_, group, n) in GROUPS {
        let row = of_group(&mut across, group).text("compared_with", "t").text("measure", "auc");
        let row = row.whole("n", Some(n)).whole("n_other", Some(n));
        row.real("value", Some(0.7)).real("other", Some(0.8)).done().expect("a row");
    }
    let (mut one, mut other, mut across) = (Vec::new(), vec![sample("t")], vec![across]);
    let left_out = leave_out_of_samples(&mut [&mut one, &mut other], &mut across, LIMIT);
    assert_eq!(left_out.len(), 2);
    assert_eq!(told(&across[0], "other"), [true, false, true, true]);
    assert_eq!(told(&across[0], "value"), [true, false, true, true]);
    assert!(left_out[0].counts == 0 && left_out[1].counts == 1, "{left_out:?}");
}

/// Of 405 people 400 have normal glucose, or all of them: the means of both would tell whose is not.
#[test]
fn a_population_that_lacks_few_of_the_cohort_tells_nothing() {
    for (normal, wanted) in [(400, false), (405, false), (395, true)] {
        let mut means = open("geometric_means");
        for (population, n) in [("cohort", 405), ("normal", normal), ("lean", 60)] {
            let row = means.row().text("survey", "s").text("population", population);
            let row = row.text("index", "homa_ir").text("grouping", "everybody").text("group", "everybody");
            row.whole("n", Some(n)).real("value", Some(2.0)).done().expect("a row");
        }
        let mut tables = [means];
        hide(&mut tables, LIMIT);
        assert_eq!(told(&tables[0], "value"), [true, wanted, true], "{normal}");
    }
}

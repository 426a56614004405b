//! Cutoffs in print laid over a run: the numbers of stated thresholds, who matches, what is converted and what is not.

use std::path::Path;
use std::process::Command;
use std::sync::OnceLock;

use cutspan::analysis::Results;
use cutspan::pipeline;
use cutspan::study::{self, Study, Threshold};
use cutspan::table::{Row, Table};

use crate::support::assert_close;

/// Sums in another order differ in their last bits.
const ROUNDING: f64 = 1e-9;

/// The demo with other indices, fewer replicates and no sections that this suite does not read.
fn demo(published: &str) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(root.join("pipelines/demo.toml")).unwrap();
    let (before, curves) = text.split_once("[analysis.curves]").unwrap();
    let (_, after) = curves.split_once("[resampling]").unwrap();
    format!("{before}[resampling]{after}")
        .replace("[\"homa_ir\", \"tyg\", \"mets_ir\"]", "[\"homa_ir\", \"tyg\", \"quicki\"]")
        .replace("groups = [", &format!("{published}groups = ["))
        .replace("replicates = 500", "replicates = 20")
}

fn parsed(text: &str) -> Study {
    study::parse(text, "demo.toml", &Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines")).unwrap()
}

/// The demo with every cutoff that has a number stated as a threshold of its own.
fn results() -> &'static Results {
    static RESULTS: OnceLock<Results> = OnceLock::new();
    RESULTS.get_or_init(|| {
        let mut study = Study { standardisation: None, ..parsed(&demo("")) };
        for (index, row) in study.indices.iter().enumerate() {
            for laid in study.published.laid_over(&row.row.name) {
                let Some(value) = laid.value() else { continue };
                let strict = laid.row.strict == Some(true);
                study.thresholds.push(Threshold { index, value, strict, source: laid.row.name.clone() });
            }
        }
        pipeline::estimate(&study, &[]).unwrap()
    })
}

fn table(name: &str) -> &'static Table {
    results().tables.iter().find(|table| table.name == name).unwrap()
}

fn laid(name: &str) -> Vec<Row<'static>> {
    table("published_cutoffs").iter().filter(|row| row.text("published") == name).collect()
}

#[track_caller]
fn assert_same(got: Option<f64>, want: Option<f64>, what: &str) {
    match (got, want) {
        (Some(got), Some(want)) => assert_close(got, want, ROUNDING, what),
        (got, want) => assert_eq!(got, want, "{what}"),
    }
}

fn of_group(row: &Row<'_>, other: &Row<'_>) -> bool {
    ["index", "strict", "grouping", "group"].iter().all(|column| row.text(column) == other.text(column))
        && row.real("threshold") == other.real("threshold")
}

#[test]
fn numbers_are_those_of_a_study_with_the_cutoff_as_its_threshold() {
    let shares: Vec<Row<'_>> =
        table("threshold_shares").iter().filter(|row| row.text("population") == "cohort").collect();
    let measures: Vec<Row<'_>> = table("threshold_accuracy").iter().collect();
    let (mut compared, mut shown, mut strict) = (0, 0, 0);
    for row in table("published_cutoffs").iter().filter(|row| row.real("threshold").is_some()) {
        let what = format!("{} in {}", row.text("published"), row.text("group"));
        let want = shares.iter().find(|want| of_group(want, &row)).unwrap();
        for (column, other) in [
            ("share_beyond", "share_beyond"),
            ("lower", "lower"),
            ("upper", "upper"),
            ("percentile", "percentile"),
        ] {
            assert_same(row.real(column), want.real(other), &what);
        }
        assert_eq!((row.whole("n"), row.whole("df")), (want.whole("n"), want.whole("df")), "{what}");
        assert_eq!(row.text("withheld"), want.text("withheld"), "{what}");
        for measure in ["sensitivity", "specificity"] {
            let same = |want: &&Row<'_>| {
                of_group(want, &row)
                    && want.text("measure") == measure
                    && want.text("outcome") == row.text("outcome")
            };
            let want = measures.iter().find(same).unwrap();
            assert_same(row.real(measure), want.real("value"), &what);
            assert_same(row.real(&format!("{measure}_lower")), want.real("lower"), &what);
            assert_same(row.real(&format!("{measure}_upper")), want.real("upper"), &what);
            assert_eq!(row.text(&format!("{measure}_withheld")), want.text("withheld"), "{what}");
        }
        compared += 1;
        shown += usize::from(row.real("sensitivity").is_some());
        strict += usize::from(row.text("strict") == "yes");
    }
    assert!(compared > 500 && shown > 300 && strict > 20, "{compared} {shown} {strict}");
}

#[test]
fn a_cutoff_matches_groups_of_its_sex_ages_and_bmi_and_no_others() {
    let said = |name: &str, group: &str| {
        laid(name).iter().find(|row| row.text("group") == group).map(|row| row.text("matches").to_owned())
    };
    let (matches, other) = (Some("matches".to_owned()), Some("other group".to_owned()));
    let men = "yun_2016_mets_atp_iii_male";
    assert_eq!(said(men, "male"), matches);
    assert_eq!((said(men, "female"), said(men, "everybody")), (other.clone(), other.clone()));
    // Crossings stand only where the cutoff is for them.
    assert_eq!((said(men, "male × 18.5-24.9"), said(men, "female × 18.5-24.9")), (matches.clone(), None));
    // 40 to 69 years of both sexes.
    let older = "kim_2018_diabetes";
    assert_eq!((said(older, "20-39"), said(older, "40-59")), (other.clone(), matches.clone()));
    assert_eq!(said(older, "everybody"), matches);
    // Without obesity: not a cutoff of everybody, nor of an age of any BMI.
    let no_obesity = "bonora_1998_p80";
    assert_eq!((said(no_obesity, "everybody"), said(no_obesity, "40-59")), (other.clone(), other.clone()));
    assert_eq!(
        (said(no_obesity, "25-29.9"), said(no_obesity, "30 and over")),
        (matches.clone(), other.clone())
    );
    // BMI below 25.
    let slim = "yamada_2011_limit";
    assert_eq!((said(slim, "18.5-24.9"), said(slim, "25-29.9")), (matches, other.clone()));
    assert_eq!(said(slim, "everybody"), other);
    // Children of 5 to 18 years in a cohort from 20 on; ancestry is never judged.
    let children = laid("kurtoglu_2010_pubertal_male");
    assert!(children.len() > 10 && children.iter().all(|row| row.text("matches") == "other group"));
    let ancestry: Vec<Row<'_>> =
        table("published_cutoffs").iter().filter(|row| row.text("grouping") == "ancestry").collect();
    assert!(ancestry.len() > 50 && ancestry.iter().all(|row| row.text("matches") == "other group"));
}

#[test]
fn another_form_is_converted_by_algebra_or_named_without_numbers() {
    let rows = laid("guerrero_romero_2010_tyg_clamp");
    // 2 × 4.68 − ln 2 = 9.36 − 0.693147 = 8.666853.
    assert!(rows.len() > 10);
    for row in &rows {
        assert_eq!(
            (row.text("index"), row.text("printed_as"), row.real("printed")),
            ("tyg", "tyg_half_log", Some(4.68))
        );
        assert_close(row.real("threshold").unwrap(), 8.666_853, 1e-6, "2 × 4.68 − ln 2");
        assert!(row.text("conversion").contains("ln 2"));
    }
    for (name, index, why) in [
        ("kangbuk_samsung_natural_log_quicki", "quicki", "natural logarithms"),
        ("geloneze_2009_homa2_p90", "homa_ir", "HOMA2-IR"),
    ] {
        let [row] = laid(name)[..] else { panic!("{name}: one row says it") };
        assert_eq!((row.text("index"), row.text("matches")), (index, "form differs"));
        assert!(row.text("withheld").contains(why), "{}", row.text("withheld"));
        for column in
            ["threshold", "share_beyond", "percentile", "sensitivity", "specificity", "derived", "ratio"]
        {
            assert_eq!(row.real(column), None, "{name}: {column}");
        }
    }
}

#[test]
fn the_derived_cutoff_is_the_one_of_the_same_rule() {
    let everybody = |name: &str| *laid(name).iter().find(|row| row.text("group") == "everybody").unwrap();
    let ascaso = everybody("ascaso_2001_p90");
    let p90 = table("percentiles").iter().find(|row| {
        row.text("index") == "homa_ir"
            && row.text("population") == "healthy"
            && row.text("group") == "everybody"
            && row.real("percentile") == Some(90.0)
    });
    let own = p90.unwrap().real("value").unwrap();
    assert_eq!(
        (ascaso.text("derived_rule"), ascaso.text("derived_population")),
        ("percentile_90", "healthy")
    );
    assert_eq!(ascaso.real("derived"), Some(own));
    assert_close(ascaso.real("ratio").unwrap(), 3.8 / own, ROUNDING, "in print over derived");
    let cutoff = |rule: &str, outcome: &str| {
        let same = |row: &Row<'_>| {
            row.text("index") == "homa_ir"
                && row.text("group") == "everybody"
                && row.text("rule") == rule
                && row.text("outcome") == outcome
        };
        table("cutoffs").iter().find(same).unwrap().real("cutoff")
    };
    let syndrome = "metabolic_syndrome_harmonized_2009";
    let japan = everybody("yamada_2012_mets");
    assert_eq!((japan.text("outcome"), japan.text("outcome_is")), (syndrome, "of the source"));
    assert_eq!(
        (japan.text("derived_rule"), japan.text("derived_rule_is")),
        ("closest_to_corner", "of the source")
    );
    assert_eq!(japan.real("derived"), cutoff("closest_to_corner", syndrome));
    // A rule that is not stated stands beside the study's first, and says so.
    let korea = everybody("lee_s_2006_mets");
    assert_eq!((korea.text("derived_rule"), korea.text("derived_rule_is")), ("youden", "first of the study"));
    // An outcome the study does not have: the first stands in, and says so.
    let clamp = everybody("kim_2018_diabetes");
    assert_eq!((clamp.text("outcome"), clamp.text("outcome_is")), ("insulin_resistant", "first"));
}

#[test]
fn a_study_lays_all_some_or_none_over_itself() {
    let laid = |text: &str| parsed(text).published.laid_over("homa_ir").len();
    let some = demo("published = [\"bonora_1998_p80\", \"yun_2016_mets_atp_iii_male\"]\n");
    assert!(laid(&demo("")) > 30);
    assert_eq!(laid(&demo("published = true\n")), laid(&demo("")));
    assert_eq!((laid(&demo("published = false\n")), laid(&some)), (0, 2));
    let study = parsed(&some);
    assert_eq!(parsed(&study.resolved_toml).published, study.published);
    assert!(study::explain(&study).contains("homa_ir: 2\n"), "{}", study::explain(&study));
    let slip =
        study::parse(&demo("published = [\"bonora_1998\"]\n"), "demo.toml", Path::new(".")).unwrap_err();
    let said = slip.to_string();
    let line = 1 + demo("published = \n").lines().position(|line| line.starts_with("published")).unwrap();
    assert!(said.starts_with(&format!("demo.toml:{line}:")), "{said}");
    assert!(said.contains("unknown cutoff in print") && said.contains("bonora_1998_p80"), "{said}");
}

#[test]
fn the_list_narrows_to_an_index_and_says_who_the_people_were() {
    let list = |args: &[&str]| {
        let out = Command::new(env!("CARGO_BIN_EXE_cutspan"))
            .args(["list", "published"])
            .args(args)
            .output()
            .unwrap();
        (out.status.code(), String::from_utf8(out.stdout).unwrap(), String::from_utf8(out.stderr).unwrap())
    };
    let (code, rows, _) = list(&["--index", "tyg", "--format", "csv"]);
    assert_eq!(code, Some(0));
    assert!(rows.lines().next().unwrap().contains("population"));
    assert!(rows.contains("tyg_half_log") && rows.contains("ln 2") && !rows.contains("homa_ir"), "{rows}");
    for (index, line) in
        [("homa_ir", "1.8 (HOMA2-IR, "), ("quicki", "0.145 (a QUICKI with natural logarithms")]
    {
        let (_, rows, _) = list(&["--index", index]);
        assert!(rows.lines().any(|row| row.starts_with(line)), "the form in the first line: {rows}");
    }
    let (code, _, said) = list(&["--index", "homa"]);
    assert_eq!(code, Some(2));
    assert!(said.contains("unknown index \"homa\"") && said.contains("homa_ir"), "{said}");
}

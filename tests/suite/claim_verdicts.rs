//! `cutspan claim`: verdicts on shares that are not printed, on one group alone and on nobody, and percentiles that run
//! against the values.
//! Sizes of groups, cutoffs and shares in the words are golden: our own output on the invented survey.

use super::claim::{joined, said, small_demo};

/// HOMA-IR 4 finds few of the lean who have the outcome: their sensitivity is too uncertain to print, not to judge.
const FEW_FOUND: [&str; 8] =
    ["--index", "homa_ir", "--at-least", "4", "--outcome", "insulin_resistant", "--group", "bmi_class"];

#[test]
fn a_share_that_is_not_printed_is_judged_by_its_interval_and_no_ratio_gives_it_away() {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path(), "");
    let asked = [&FEW_FOUND[..], &["--says", "sensitivity at least 50 %", "small.toml"]].concat();
    let json = said(folder.path(), &[&asked[..], &["--format", "json"]].concat());
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let rows: Vec<&serde_json::Value> =
        json["rows"].as_array().unwrap().iter().filter(|row| row["group"] == "18.5-24.9").collect();
    let one = |measure: &str, claimed: bool| {
        *rows.iter().find(|row| row["measure"] == measure && row["claim"].is_null() != claimed).unwrap()
    };
    let (estimate, verdict) = (one("sensitivity", false), one("sensitivity", true));
    assert_eq!(estimate["withheld"], "interval wider than 130 % of the share");
    assert!(["value", "lower", "upper"].iter().all(|column| estimate[column].is_null()), "{estimate}");
    assert_eq!(verdict["verdict"], "fails");
    assert!(verdict["value"].is_null() && verdict["lower"].is_null(), "{verdict}");
    let upper = verdict["upper"].as_f64().unwrap();
    assert!((10.0..50.0).contains(&upper), "{verdict}");
    for ratio in ["lr_positive", "lr_negative"] {
        let row = one(ratio, false);
        assert!(row["value"].is_null(), "{row}");
        assert_eq!(row["withheld"], "made of a sensitivity that cannot be relied on");
    }
    let text = joined(&said(folder.path(), &asked));
    let words = format!(
        "does NOT hold in all of them. It fails in 2 (18.5-24.9; 25-29.9), holds in 1 (30 and over), cannot be told in 1 \
         (under 18.5). Of these, 18.5-24.9 (up to {upper:.1} %) is judged by the interval alone, as the share itself is too \
         uncertain to print."
    );
    assert!(text.contains(&words), "{text}");
    assert!(text.contains(&format!("[b] up to {upper:.1} %: fails*")), "{text}");
    // Almost everybody without the outcome is below 4, and not all of them.
    assert!(text.contains("98.9 (96.9–99.7)") && text.contains("100 (86–100)"), "{text}");
}

#[test]
fn p_values_are_raised_by_the_number_of_groups_that_can_be_tested() {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path(), "");
    let asked =
        ["--index", "homa_ir", "--below", "2", "--group", "bmi_class", "--says", "share at most 60 %"];
    let of = |format: &str| said(folder.path(), &[&asked[..], &["--format", format, "small.toml"]].concat());
    let json: serde_json::Value = serde_json::from_str(&of("json")).unwrap();
    let is_group = |row: &&serde_json::Value| row["grouping"] == "bmi_class" && !row["claim"].is_null();
    let groups: Vec<&serde_json::Value> = json["rows"].as_array().unwrap().iter().filter(is_group).collect();
    let of_column = |column: &str| groups.iter().filter_map(|row| row[column].as_f64()).collect::<Vec<_>>();
    let (p, by_holm) = (of_column("p"), of_column("p_holm"));
    assert_eq!((groups.len(), p.len(), by_holm.len()), (4, 3, 3), "the share of one group is withheld");
    assert!(groups.iter().all(|row| row["family"] == 3), "{groups:?}");
    let smallest = |values: &[f64]| values.iter().copied().fold(1.0, f64::min);
    assert!((smallest(&by_holm) - 3.0 * smallest(&p)).abs() < 1e-12, "{p:?} {by_holm:?}");
    let text = joined(&of("text"));
    let words = "Of the 4 groups asked, 3 can be tested: the smallest p is raised by 3 (Holm).";
    assert_eq!(text.matches(words).count(), 2, "in words and below the table: {text}");
}

#[test]
fn a_percentile_of_an_index_that_runs_the_other_way_is_explained_first() {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path(), "");
    let of = |index: &str, value: &str| {
        let asked = ["--index", index, "--below", value, "--group", "sex", "--says", "percentile 39"];
        joined(&said(folder.path(), &[&asked[..], &["small.toml"]].concat()))
    };
    let text = of("quicki", "0.34");
    let words = "percentile 39 claims that 39 % of people lie above 0.34, and 61 % at or below it. Here 54.0 % of everybody lie \
                 above it, and 46.0 % at or below it.";
    assert!(text.contains(words), "{text}");
    assert!(text.find("CAUTION").unwrap() < text.find("of the study's people").unwrap(), "{text}");
    assert!(!of("homa_ir", "2").contains("CAUTION"));
}

#[test]
fn one_group_is_asked_and_judged_alone() {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path(), "");
    let of = |group: &str, format: &str| {
        let asked = ["--index", "homa_ir", "--below", "2", "--group", group, "--says", "share at most 60 %"];
        said(folder.path(), &[&asked[..], &["--format", format, "small.toml"]].concat())
    };
    let rows = |group: &str| {
        let json: serde_json::Value = serde_json::from_str(&of(group, "json")).unwrap();
        json["rows"].as_array().unwrap().clone()
    };
    let (alone, among) = (rows("women"), rows("sex"));
    let of_women = |rows: &[serde_json::Value], claimed: bool| {
        let is_it = |row: &&serde_json::Value| {
            row["group"] == "female" && row["measure"] == "share" && row["claim"].is_null() != claimed
        };
        rows.iter().filter(|row| row["population"] == "cohort").find(is_it).unwrap().clone()
    };
    assert_eq!(of_women(&alone, false), of_women(&among, false));
    assert!(alone.iter().all(|row| row["group"] != "male") && among.iter().any(|row| row["group"] == "male"));
    // One p value is raised by nobody else's.
    let judged = of_women(&alone, true);
    assert_eq!(judged["family"], 1);
    assert_eq!(judged["p_holm"], judged["p"]);
    let text = joined(&of("women", "text"));
    assert!(text.contains("asked of one group, “female”: HOLDS there."), "{text}");
    assert!(
        text.contains(
            "Of the study's people in “female” (sex; aged 20 and over; without known diabetes, fasting glucose in the diabetes range or pregnancy; n = \
             1050)"
        ),
        "{text}"
    );
    assert!(!text.contains("In no group"), "{text}");
}

#[test]
fn a_claim_about_a_share_of_nobody_is_judged() {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path(), "");
    let asked_at = |threshold: &str, says: &str| {
        let asked =
            ["--index", "homa_ir", "--above", threshold, "--group", "sex", "--says", says, "small.toml"];
        joined(&said(folder.path(), &asked))
    };
    let of = |says: &str| asked_at("900 HOMA-IR", says);
    // None of 1,050 women and none of 1,088 men: up to 0.4 %.
    let few = of("share at most 1 %");
    assert!(few.contains("HOLDS in all of them. Everybody taken together: holds."), "{few}");
    assert!(few.contains("separates nobody") && !few.contains("by group"), "{few}");
    assert!(of("more than half").contains("does NOT hold in all of them. It fails in 2."));
    assert!(of("percentile 50").contains("CANNOT TELL, because the threshold separates nobody."));
    // Unless it is said to be meant as it stands, a threshold beyond all values gets neither a verdict nor a line to cite.
    let bare = asked_at("900", "share at most 1 %");
    assert!(bare.contains("CANNOT TELL, because the threshold separates nobody."), "{bare}");
    assert!(bare.contains("write --above \"900 homa_ir\""), "{bare}");
    for absent in ["HOLDS", "does NOT", "To cite", "exploratory"] {
        assert!(!bare.contains(absent), "{absent}: {bare}");
    }
}

#[test]
fn a_threshold_that_only_another_form_explains_gets_no_verdict_and_the_form_is_named() {
    let folder = tempfile::tempdir().unwrap();
    // The demo of invented people, whose TyG runs from about 6 to 11.
    let of = |threshold: &str| {
        joined(&said(
            folder.path(),
            &["--index", "tyg", "--above", threshold, "--group", "sex", "--says", "1 in 3"],
        ))
    };
    let half = of("4.68");
    // 2 · 4.68 − ln 2 is 8.667.
    let words = "in the half-log form (tyg_half_log) it is 8.667 here: ask --above 8.667";
    assert!(half.contains(words) && half.contains("write --above \"4.68 tyg\""), "{half}");
    assert!(!half.contains("does NOT") && !half.contains("To cite"), "{half}");
    let meant = of("4.68 tyg");
    assert!(meant.contains("does NOT hold in all of them") && meant.contains("To cite"), "{meant}");
    assert!(!of("8.7").contains("half-log"));
}

#[test]
fn smoothed_cutoffs_stand_beside_counted_ones() {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path(), "");
    let asked = ["--index", "homa_ir", "--below", "2", "--outcome", "insulin_resistant", "--group", "sex"];
    let text = joined(&said(folder.path(), &[&asked[..], &["--says", "best cutoff", "small.toml"]].concat()));
    assert!(text.contains("outcome known best cutoff smoothed"), "{text}");
    assert!(text.contains("By sex, the smoothed best cutoffs run from 2.48 (2.32–2.69) in “male” to 2.51 (2.27–2.79) in “female”."), "{text}");
    let chart = [&asked[..], &["--says", "best cutoff", "--chart", "claim.svg", "small.toml"]].concat();
    said(folder.path(), &chart);
    let picture = std::fs::read_to_string(folder.path().join("claim.svg")).unwrap();
    assert!(picture.contains("the smoothed best cutoffs run from 2.48"), "{picture}");
}

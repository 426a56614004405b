//! `cutspan claim`: what the answer says, and what it does not say.
//! Sizes of groups, cutoffs and shares in the words are golden: our own output on the invented survey.

use std::fs;

use super::claim::{cited, claim, joined, said, small_demo, threshold};

#[test]
fn a_claim_about_the_other_side_is_warned_of_in_the_first_lines() {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path(), &threshold("homa_ir", 2.0, false));
    let outcome = ["--means", "insulin_resistant", "--group", "sex"];
    let of = |args: &[&str]| joined(&said(folder.path(), &[args, &outcome, &["small.toml"]].concat()));
    let sensitivity = ["--says", "sensitivity at least 50 %"];
    let cases: [(&[&str], &str); 4] = [
        (
            &["--index", "homa_ir", "--below", "2.5"],
            "values below 2.5; sensitivity counts people at or above 2.5, the resistant side. Did you mean --at-least 2.5?",
        ),
        (
            &["--index", "homa_ir", "--at-most", "2.5"],
            "values at or below 2.5; sensitivity counts people above 2.5, the resistant side. Did you mean --above 2.5?",
        ),
        (
            &["--index", "quicki", "--at-least", "0.33"],
            "values at or above 0.33; sensitivity counts people below 0.33, the resistant side. Did you mean --below 0.33?",
        ),
        (
            &["--index", "quicki", "--above", "0.33"],
            "values above 0.33; sensitivity counts people at or below 0.33, the resistant side. Did you mean --at-most 0.33?",
        ),
    ];
    for (args, words) in cases {
        let text = of(&[args, &sensitivity].concat());
        assert!(text.contains(&format!("CAUTION: your sentence speaks of {words}")), "{text}");
        assert!(text.find("CAUTION").unwrap() < text.find("of the study's people").unwrap(), "{text}");
    }
    let right = of(&[&["--index", "homa_ir", "--at-least", "2.5"][..], &sensitivity].concat());
    assert!(
        !right.contains("CAUTION: your") && right.contains("the sensitivity of HOMA-IR at or above 2.5"),
        "{right}"
    );
    let natural = of(&["--index", "homa_ir", "--below", "2.5", "--says", "npv at least 90 %"]);
    assert!(!natural.contains("CAUTION: your"), "{natural}");
    assert!(natural.contains("the negative predictive value of HOMA-IR below 2.5"), "{natural}");
}

#[test]
fn without_a_claim_there_is_no_verdict_and_the_answer_says_how_to_get_one() {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path(), &threshold("homa_ir", 2.0, false));
    let text = joined(&said(
        folder.path(),
        &["--index", "homa-ir", "--at-most", "2", "--means", "insulin_resistant", "small.toml"],
    ));
    assert!(text.starts_with("HOMA-IR at or below 2: who is there?"), "{text}");
    assert!(text.contains("No verdict, because nothing is claimed: "), "{text}");
    assert!(text.contains("HOMA-IR above 2: it finds") && text.contains("rightly leaves out"), "{text}");
    assert!(
        text.contains("The value with the same percentile in its group as 2 has in everybody runs"),
        "{text}"
    );
    assert!(!text.contains("hold in all of them") && !text.contains("p by Holm"), "{text}");
    assert!(text.contains("states HOMA-IR 2 as “at or above”; you asked “at or below”"), "{text}");
}

#[test]
fn without_a_place_the_demo_answers_and_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let text = said(folder.path(), &["--index", "tyg", "--above", "8.5", "--group", "sex"]);
    assert!(text.contains("INVENTED DATA") && text.contains("No study was named"), "{text}");
    // Beside a table the warning stands on the other stream, whoever was asked.
    small_demo(folder.path(), "");
    let args = ["--index", "homa_ir", "--below", "2", "--group", "sex", "--format", "csv", "small.toml"];
    let run = claim(folder.path(), &args);
    assert!(!String::from_utf8_lossy(&run.stdout).contains("INVENTED DATA"));
    assert!(String::from_utf8_lossy(&run.stderr).contains("INVENTED DATA"));
}

#[test]
fn a_hint_at_a_claim_names_the_stated_side_of_an_index_that_runs_the_other_way() {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path(), "");
    let of = |args: &[&str]| {
        joined(&said(
            folder.path(),
            &[&["--index", "quicki", "--group", "sex"], args, &["small.toml"]].concat(),
        ))
    };
    let fine = of(&["--at-least", "0.34"]);
    assert!(fine.contains("such as --outcome … --says \"npv at least 90 %\" (of those at or above 0.34, how many do not have it)"), "{fine}");
    let several = of(&["--at-least", "0.34", "--at-least", "0.36", "--below", "0.3"]);
    assert!(
        several.contains("(of those at or above 0.34, or at or above 0.36, how many do not have it), or --says \"sensitivity"),
        "{several}"
    );
    let resistant = of(&["--below", "0.34"]);
    assert!(resistant.contains("such as --outcome … --says \"sensitivity at least 80 %\" (of those who have it, how many are below 0.34)"), "{resistant}");
}

#[test]
fn one_in_so_many_means_about_and_is_said_to() {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path(), "");
    let of = |says: &str| {
        let args =
            ["--index", "homa_ir", "--below", "2", "--group", "everybody", "--says", says, "small.toml"];
        joined(&said(folder.path(), &args))
    };
    // Of everybody 49.4 % (46.6–52.3) are below 2.
    let third = of("1 in 3");
    let words = "Claim “about 33.3 % (± 5 percentage points) of people have HOMA-IR below 2”, everybody taken together: FAILS.";
    assert!(third.contains(words), "{third}");
    let half = of("one in two people");
    assert!(
        half.contains("Claim “about 50 % (± 5 percentage points)") && half.contains("together: HOLDS."),
        "{half}"
    );
    assert!(of("at least 1/3").contains("Claim “at least 33.3 % of people have HOMA-IR below 2”"));
}

#[test]
fn every_file_that_is_written_is_named() {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path(), "");
    let args = ["--index", "homa_ir", "--below", "2", "--at-least", "3", "--group", "sex"];
    let files = ["--chart", "multi.svg", "--out", "claim.csv", "small.toml"];
    let run = claim(folder.path(), &[&args[..], &files].concat());
    assert_eq!(run.status.code(), Some(0));
    let said = String::from_utf8(run.stderr).unwrap();
    for file in ["multi.svg", "multi-2.svg", "claim.csv", "claim.columns.csv"] {
        assert!(folder.path().join(file).exists(), "{file}");
        assert!(said.lines().any(|line| line == format!("{file}: written")), "{said}");
    }
}

#[test]
fn people_of_no_group_are_counted_below_the_first_table_only() {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path(), "");
    let args = ["--index", "homa_ir", "--below", "2", "--above", "3", "--group", "bmi_class,sex"];
    for format in ["text", "markdown"] {
        let text = joined(&said(folder.path(), &[&args[..], &["--format", format, "small.toml"]].concat()));
        let note =
            "In no group, because it is not known of them: 19 people (by body mass index, WHO classes).";
        assert_eq!(text.matches(note).count(), 1, "{text}");
        // Bands could be cut more finely.
        let plain = text.replace('\\', "");
        assert_eq!(plain.matches("obesity_class (for body mass index, WHO classes).").count(), 1, "{text}");
    }
}

#[test]
fn the_assay_and_the_line_to_cite_are_there_to_be_copied() {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path(), "");
    let args = ["--index", "homa_ir", "--below", "2", "--group", "sex", "small.toml"];
    let text = said(folder.path(), &args);
    assert!(text.contains("\n- Insulin assay: invented.\n"), "{text}");
    let json = said(folder.path(), &[&args[..], &["--format", "json"]].concat());
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["insulin_assay"], "invented");
    let hash = &json["study_sha256"].as_str().unwrap()[..12];
    let line = cited(&text);
    assert_eq!(json["citation"][0], line);
    assert!(
        line.starts_with("Veldmark (invented), n = 2138 (without: under 20 years, or age unknown; "),
        "{line}"
    );
    assert!(line.contains("); insulin assay: invented; study “"), "{line}");
    assert!(
        line.ends_with(&format!("computed with cutspan {}, study {hash}.", env!("CARGO_PKG_VERSION"))),
        "{line}"
    );
    let markdown = said(folder.path(), &[&args[..], &["--format", "markdown"]].concat());
    assert!(markdown.contains(&format!("\n\n{line}\n\n- The threshold ")), "{markdown}");
    // An index without insulin has no assay, and no caution about it.
    let tyg = said(folder.path(), &["--index", "tyg", "--below", "8.5", "--group", "sex"]);
    assert!(!tyg.contains("nsulin assay"), "{tyg}");
}

#[test]
fn several_claims_of_several_thresholds_are_said_to_be_crossed() {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path(), "");
    let one = ["--index", "homa_ir", "--below", "2", "--group", "sex", "--says", "share at most 60 %"];
    let of = |more: &[&str]| joined(&said(folder.path(), &[&one[..], more, &["small.toml"]].concat()));
    let words = "Each of the 2 claims is put to each of the 2 thresholds: 4 verdicts";
    let both = of(&["--at-least", "3", "--says", "percentile 50"]);
    assert!(both.find(words).unwrap() < both.find("of the study's people").unwrap(), "{both}");
    assert_eq!(both.matches(" Claim “").count(), 4, "{both}");
    let of_sides = ["--at-least", "3", "--means", "insulin_resistant", "--says", "below is fine", "--says"];
    let paired = of(&[&of_sides[..], &["above means you have it"]].concat());
    let said = "Claimed are: of below 2 the share of people, the negative predictive value; of at or above 3 the share of people, \
                the positive predictive value.";
    assert!(paired.contains(said) && !paired.contains("CAUTION: your sentence"), "{paired}");
    assert_eq!(paired.matches(" Claim “").count(), 4, "{paired}");
    assert!(!of(&["--says", "percentile 50"]).contains("is put to each"));
    assert!(!of(&["--at-least", "3"]).contains("is put to each"));
}

#[test]
fn a_threshold_beyond_all_values_gets_no_tables_and_no_verdict() {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path(), "");
    let base = [
        "--index",
        "homa_ir",
        "--group",
        "sex",
        "--outcome",
        "insulin_resistant",
        "--says",
        "npv at least 90 %",
    ];
    let beyond = [&base[..], &["--below", "0.01", "--at-most", "900"]].concat();
    let run = claim(folder.path(), &[&beyond[..], &["--chart", "claim.svg", "small.toml"]].concat());
    assert_eq!(run.status.code(), Some(0));
    assert!(
        String::from_utf8_lossy(&run.stderr)
            .contains("claim.svg: not drawn, because the threshold separates nobody")
    );
    assert!(!folder.path().join("claim.svg").exists());
    let text = joined(&String::from_utf8(run.stdout).unwrap());
    assert!(
        text.contains("HOMA-IR 0.01 lies below every value of the cohort (n = 2138), which run from"),
        "{text}"
    );
    assert!(text.contains("HOMA-IR 900 lies above every value of the cohort"), "{text}");
    assert_eq!(text.matches("CANNOT TELL, because the threshold separates nobody.").count(), 2, "{text}");
    for absent in
        ["by group", "NPV", "Intervals (in brackets)", "same percentile", "HOLDS", "does NOT", "CAUTION"]
    {
        assert!(!text.contains(absent), "{absent}: {text}");
    }
    let csv = said(folder.path(), &[&beyond[..], &["--format", "csv", "small.toml"]].concat());
    assert!(csv.lines().skip(1).all(|line| !line.contains(",holds") && !line.contains(",fails")), "{csv}");
    assert_eq!(csv.matches("cannot tell").count(), 2 * 4, "everybody, two sexes, all groups: {csv}");
    // A threshold among the values beside it is answered as ever, and drawn.
    let mixed =
        [&base[..], &["--below", "2", "--at-most", "900", "--chart", "claim.svg", "small.toml"]].concat();
    let text = joined(&said(folder.path(), &mixed));
    assert!(
        text.contains("HOMA-IR below 2, by group") && !text.contains("at or below 900, by group"),
        "{text}"
    );
    assert!(fs::read_to_string(folder.path().join("claim.svg")).unwrap().contains("HOMA-IR below 2"));
    assert!(!folder.path().join("claim-2.svg").exists());
}

#[test]
fn one_fact_has_one_answer_whichever_side_is_stated() {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path(), "");
    let of = |side: &str, says: &str| {
        let args =
            ["--index", "homa_ir", side, "2", "--group", "bmi_class", "--says", says, "--format", "json"];
        let json = said(folder.path(), &[&args[..], &["small.toml"]].concat());
        let json: serde_json::Value = serde_json::from_str(&json).unwrap();
        let rows = json["rows"].as_array().unwrap().iter();
        let claimed = rows.filter(|row| !row["claim"].is_null()).map(|row| {
            let group = row["group"].as_str().unwrap().to_owned();
            (group, row["verdict"].as_str().unwrap().to_owned())
        });
        claimed.collect::<Vec<_>>()
    };
    let below = of("--below", "share at least 50 %");
    assert_eq!(below, of("--at-least", "share at most 50 %"));
    // 92.5 % (75.7–99.0) are below 2: little for those, far too much for the 7.5 % of the others, and by only 6 degrees of
    // freedom, so that the interval alone decides nothing either.
    assert!(below.contains(&("under 18.5".to_owned(), "cannot tell".to_owned())), "{below:?}");
    assert!(below.iter().any(|(_, verdict)| verdict == "holds"), "{below:?}");
}

#[test]
fn predictive_values_stand_beside_how_common_the_outcome_is() {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path(), "");
    let args = ["--index", "homa_ir", "--at-least", "2", "--group", "sex", "--outcome", "insulin_resistant"];
    let text = joined(&said(folder.path(), &[&args[..], &["small.toml"]].concat()));
    assert!(text.contains("outcome known have it, % Se, % Sp, % PPV, % NPV, %"), "{text}");
    assert_eq!(text.matches("PPV and NPV follow how common the outcome is").count(), 1, "{text}");
    let says = ["--says", "npv at least 90 %"];
    let claimed = joined(&said(folder.path(), &[&args[..], &says, &["small.toml"]].concat()));
    assert!(claimed.contains("below 2 have it, % estimate verdict p p by Holm"), "{claimed}");
    let json = said(folder.path(), &[&args[..], &["--format", "json", "small.toml"]].concat());
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let all = |measure: &str| {
        let mut rows = json["rows"].as_array().unwrap().iter();
        let row = rows.find(|row| row["measure"] == measure && row["group"] == "everybody").unwrap();
        row["value"].as_f64().unwrap() / 100.0
    };
    // Bayes: PPV = Se π / (Se π + (1 − Sp) (1 − π)).
    let (se, sp, common) = (all("sensitivity"), all("specificity"), all("prevalence"));
    let ppv = se * common / (se * common + (1.0 - sp) * (1.0 - common));
    assert!((all("ppv") - ppv).abs() < 1e-6, "{ppv}");
}

#[test]
fn insulin_resistance_that_nobody_measured_is_said_to_be_so() {
    let folder = tempfile::tempdir().unwrap();
    let file = small_demo(folder.path(), "");
    let with = fs::read_to_string(&file).unwrap();
    let without = with.replace("\"insulin_resistant\"]", "\"metabolic_syndrome_harmonized_2009\"]");
    assert_ne!(with, without);
    fs::write(&file, without).unwrap();
    let of = |outcome: &str| {
        let run =
            claim(folder.path(), &["--index", "homa_ir", "--below", "2", "--outcome", outcome, "small.toml"]);
        assert_eq!(run.status.code(), Some(2));
        String::from_utf8(run.stderr).unwrap()
    };
    let words = "Insulin resistance itself was not measured in this survey";
    assert!(of("insulin_resistance").contains(words));
    assert!(!of("gout").contains(words));
}

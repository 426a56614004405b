//! `cutspan claim`: what the answer says, and what it does not say.

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
        assert!(text.find("CAUTION").unwrap() < text.find("of the whole cohort").unwrap(), "{text}");
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
    assert!(text.contains("No verdict: say what “fine” means"), "{text}");
    assert!(text.contains("HOMA-IR above 2: it finds") && text.contains("passes over"), "{text}");
    assert!(
        text.contains("The value with the same percentile in its group as 2 has in everybody runs"),
        "{text}"
    );
    assert!(!text.contains("FAILS") && !text.contains("p by Holm"), "{text}");
    assert!(text.contains("states HOMA-IR 2 as “at or above”; you asked “at or below”"), "{text}");
}

#[test]
fn without_a_place_the_demo_answers_and_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let text = said(folder.path(), &["--index", "tyg", "--above", "8.5", "--group", "sex"]);
    assert!(text.contains("INVENTED DATA") && text.contains("No study was named"), "{text}");
    let run =
        claim(folder.path(), &["--index", "tyg", "--above", "8.5", "--group", "sex", "--format", "csv"]);
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
    assert!(fine.contains("say what “fine” means, such as --outcome … --says \"npv at least 90 %\" (of those at or above 0.34, how many do not have it)"), "{fine}");
    let resistant = of(&["--below", "0.34"]);
    assert!(resistant.contains("say what it means to be below 0.34, such as --outcome … --says \"sensitivity at least 80 %\" (of those who have it, how many are below 0.34)"), "{resistant}");
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
    assert!(line.starts_with("Veldmark (invented), n = 2138; insulin assay: invented; study “"), "{line}");
    assert!(
        line.ends_with(&format!("computed with cutspan {}, study {hash}.", env!("CARGO_PKG_VERSION"))),
        "{line}"
    );
    let markdown = said(folder.path(), &[&args[..], &["--format", "markdown"]].concat());
    assert!(markdown.contains(&format!("\n\n{line}\n\n- Who: ")), "{markdown}");
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
    assert!(both.find(words).unwrap() < both.find("of the whole cohort").unwrap(), "{both}");
    assert_eq!(both.matches(" Claim “").count(), 4, "{both}");
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
    let beyond = [&base[..], &["--below", "0.01", "--at-least", "900"]].concat();
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
        ["by group", "NPV", "Intervals (in brackets)", "same percentile", "HOLDS", "FAILS", "CAUTION"]
    {
        assert!(!text.contains(absent), "{absent}: {text}");
    }
    let csv = said(folder.path(), &[&beyond[..], &["--format", "csv", "small.toml"]].concat());
    assert!(csv.lines().skip(1).all(|line| !line.contains(",holds") && !line.contains(",fails")), "{csv}");
    assert_eq!(csv.matches("cannot tell").count(), 2 * 4, "everybody, two sexes, all groups: {csv}");
    // A threshold among the values beside it is answered as ever, and drawn.
    let mixed =
        [&base[..], &["--below", "2", "--at-least", "900", "--chart", "claim.svg", "small.toml"]].concat();
    let text = joined(&said(folder.path(), &mixed));
    assert!(
        text.contains("HOMA-IR below 2, by group") && !text.contains("at or above 900, by group"),
        "{text}"
    );
    assert!(fs::read_to_string(folder.path().join("claim.svg")).unwrap().contains("HOMA-IR below 2"));
    assert!(!folder.path().join("claim-2.svg").exists());
}

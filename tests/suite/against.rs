//! `cutspan check --against`: finished runs made anew by the real program.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

const PEOPLE: &str = include_str!("../../data-public/own-table-example.csv");
const STUDY: &str = include_str!("../../pipelines/own-table.toml");

/// Exit code, and what was said on both streams.
fn cutspan(here: &Path, arguments: &[&str]) -> (i32, String) {
    let run = Command::new(env!("CARGO_BIN_EXE_cutspan"))
        .args(arguments)
        .current_dir(here)
        .env_remove("CUTSPAN_DATA")
        .output()
        .unwrap();
    let said = [run.stdout, run.stderr].map(|bytes| String::from_utf8(bytes).unwrap()).concat();
    (run.status.code().unwrap(), said)
}

/// One index and one grouping are enough.
fn study_with(seed: u64) -> String {
    let small = STUDY
        .replace(r#"["homa_ir", "tyg", "tg_hdl_mmol"]"#, r#"["homa_ir"]"#)
        .replace(r#"["sex", "age_18_45_65", "obesity"]"#, r#"["sex"]"#)
        .replace(r#"["two_of_four_findings", "homa_ir_beyond_2_5"]"#, r#"["two_of_four_findings"]"#);
    assert!(small.len() + 60 < STUDY.len());
    format!("{small}\n[resampling]\nreplicates = 20\nseed = {seed}\n")
}

/// A small study with its data in folders of their own, run into `out`.
fn ran(folder: &Path) -> PathBuf {
    fs::create_dir_all(folder.join("pipelines")).unwrap();
    fs::create_dir_all(folder.join("data-public")).unwrap();
    fs::write(folder.join("data-public/own-table-example.csv"), PEOPLE).unwrap();
    fs::write(folder.join("pipelines/own.toml"), study_with(7)).unwrap();
    let (code, said) = cutspan(folder, &["run", "pipelines/own.toml"]);
    assert_eq!(code, 0, "{said}");
    folder.join("out")
}

/// Replaces the first text in a file and gives back what stood there.
fn change(file: &Path, from: &str, to: &str) -> String {
    let before = fs::read_to_string(file).unwrap();
    assert!(before.contains(from), "{}", file.display());
    fs::write(file, before.replacen(from, to, 1)).unwrap();
    before
}

#[test]
fn a_run_made_anew_is_the_same_or_says_what_is_not() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let out = ran(here);
    let tables = fs::read_dir(out.join("tables")).unwrap().flatten();
    let csv = tables.filter(|entry| entry.path().extension().is_some_and(|e| e == "csv")).count();
    let check = |more: &[&str]| cutspan(here, &[&["check", "--against", "out"], more].concat());
    let same = (0, format!("all {csv} tables are the same, to the byte\n"));
    assert_eq!(check(&[]), same, "the saved study, its file found from the folder of the run");
    assert_eq!(check(&["pipelines/own.toml"]), same, "the study file itself");

    // One cell by hand: the first percentile of the first row.
    let file = out.join("tables/percentiles.csv");
    let text = fs::read_to_string(&file).unwrap();
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let value = reader.headers().unwrap().iter().position(|name| name == "value").unwrap();
    let number = reader.records().next().unwrap().unwrap()[value].to_owned();
    change(&file, &format!(",{number},"), ",1000,");
    let (code, said) = check(&[]);
    assert_eq!(code, 1, "{said}");
    let expected = [
        &format!("1 of {csv} tables differ"),
        "first: table percentiles, line 2 (",
        "index homa_ir",
        "percentile 50",
        &format!("value: 1000 then, {number} now (-"),
        "percentiles: 1 of ",
        "Study, seed, program version and input files are the same",
    ];
    for words in expected {
        assert!(said.contains(words), "{words}: {said}");
    }
    fs::remove_file(&file).unwrap();
    let (code, said) = check(&[]);
    assert!(code == 1 && said.contains("percentiles: made now, missing in the earlier run"), "{said}");
    fs::write(&file, text).unwrap();
    assert_eq!(check(&[]), same, "and back");
}

#[test]
fn another_seed_and_other_people_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let out = ran(here);
    fs::write(here.join("pipelines/other.toml"), study_with(8)).unwrap();
    let (code, said) = cutspan(here, &["check", "--against", "out", "pipelines/other.toml"]);
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("seed: 7 then, 8 now") && said.contains("study (sha256): "), "{said}");
    assert!(said.contains("seed = 7 then, seed = 8 now") && !said.contains("input "), "{said}");
    assert!(said.contains("estimates that do not rest on resampling: unchanged\n"), "{said}");
    let cutoffs = said.lines().find(|line| line.starts_with("  cutoffs: ")).expect("the table of cutoffs");
    assert!(
        cutoffs.contains(", estimates (optimism) by up to ") && cutoffs.ends_with("; no cutoff moved"),
        "{cutoffs}"
    );
    let resampled =
        said.lines().find(|line| line.contains("estimates that do (")).expect("a line of its own");
    assert!(resampled.contains(" changed, by "), "the optimism rests on the replicates: {resampled}");
    assert!(
        said.contains("% of the interval's width") && said.contains("newly excludes no difference: "),
        "{said}"
    );

    let more =
        study_with(7).replacen("[analysis]\n", "[analysis]\npercentiles = [33, 50, 75, 80, 90, 95]\n", 1);
    assert!(more.len() > study_with(7).len());
    fs::write(here.join("pipelines/more.toml"), more).unwrap();
    let (code, said) = cutspan(here, &["check", "--against", "out", "pipelines/more.toml"]);
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("percentiles: 0 rows only then, 3 only now"), "everybody, women, men: {said}");
    assert!(!said.contains("first: table percentiles"), "no percentile that both have differs: {said}");

    change(&out.join("study.toml"), "seed = 7", "seed = 8");
    let (code, said) = cutspan(here, &["check", "--against", "out"]);
    assert!(code == 1 && said.contains("study.toml: changed since the run was made"), "{said}");
    change(&out.join("study.toml"), "seed = 8", "seed = 7");

    // The file is gone, then elsewhere, then another.
    let file = here.join("data-public/own-table-example.csv");
    fs::create_dir(here.join("elsewhere")).unwrap();
    let moved = here.join("elsewhere/own-table-example.csv");
    fs::rename(&file, &moved).unwrap();
    let (code, said) = cutspan(here, &["check", "--against", "out"]);
    assert_eq!(code, 2, "{said}");
    assert!(said.contains("own-table-example.csv: the file of") && said.contains("--data"), "{said}");
    let (code, said) = cutspan(here, &["check", "--against", "out", "--data", "elsewhere"]);
    assert_eq!(code, 0, "{said}");
    let last = PEOPLE.trim_end().rfind('\n').unwrap();
    fs::write(&moved, &PEOPLE[..=last]).unwrap();
    let (code, said) = cutspan(here, &["check", "--against", "out", "--data", "elsewhere"]);
    assert!(code == 1 && said.contains("input own-table-example.csv of"), "{said}");
    // Of two files of that name the recorded one is read.
    fs::write(&file, PEOPLE).unwrap();
    let (code, said) = cutspan(here, &["check", "--against", "out", "--data", "elsewhere"]);
    assert_eq!(code, 0, "{said}");
}

#[test]
fn what_is_no_run_cannot_be_compared() {
    let folder = tempfile::tempdir().unwrap();
    let (code, said) = cutspan(folder.path(), &["check", "--against", "."]);
    assert!(code == 2 && said.contains("holds no run.json") && said.contains("cutspan run"), "{said}");
    let (code, said) = cutspan(folder.path(), &["check"]);
    assert!(code == 2 && said.contains("STUDY"), "{said}");
}

#[test]
fn several_samples_are_made_anew_together() {
    let folder = tempfile::tempdir().unwrap();
    let checkout = Path::new(env!("CARGO_MANIFEST_DIR"));
    let study = fs::read_to_string(checkout.join("pipelines/two-samples.toml")).unwrap();
    let lines = study.lines().filter(|line| !line.trim_start().starts_with("replicates ="));
    let few: Vec<&str> = lines
        .flat_map(|line| [Some(line), (line == "[resampling]").then_some("replicates = 20")])
        .flatten()
        .collect();
    let file = folder.path().join("two.toml");
    fs::write(&file, few.join("\n").replace("../data-public/", "")).unwrap();
    for name in ["veldmark.csv", "veldmark-second.csv"] {
        fs::copy(checkout.join("data-public").join(name), folder.path().join(name)).unwrap();
    }
    let (code, said) = cutspan(folder.path(), &["run", "two.toml", "--out", "deep/er/out"]);
    assert_eq!(code, 0, "{said}");
    let (code, said) = cutspan(folder.path(), &["check", "--against", "deep/er/out"]);
    assert!(code == 0 && said.contains("tables are the same, to the byte"), "{said}");
    let claim = ["claim", "--index", "homa_ir", "--below", "2", "deep/er/out"];
    let (code, said) = cutspan(folder.path(), &claim);
    assert!(code != 0 && said.contains("keeps 2 samples apart, and a question is put to one"), "{said}");
}

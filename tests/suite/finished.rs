//! Finished runs opened again: the same study and tallies, and a message for every way to fail.

use std::fs;
use std::path::{Path, PathBuf};

use cutspan::finished::{self, Origin};
use cutspan::pipeline::{self, Options};
use cutspan::study;

const PEOPLE: &str = include_str!("../../data-public/own-table-example.csv");
const STUDY: &str = include_str!("../../pipelines/own-table.toml");

const FEW: &str = "[resampling]\nreplicates = 20\n";

/// A small study beside its data, public or not.
fn study_file(folder: &Path, public: bool) -> PathBuf {
    fs::create_dir_all(folder.join("pipelines")).unwrap();
    fs::create_dir_all(folder.join("data-public")).unwrap();
    fs::write(folder.join("data-public/own-table-example.csv"), PEOPLE).unwrap();
    // One index, one grouping and one outcome are enough.
    let small = STUDY
        .replace(r#"["homa_ir", "tyg", "tg_hdl_mmol"]"#, r#"["homa_ir"]"#)
        .replace(r#"["sex", "age_18_45_65", "obesity"]"#, r#"["sex"]"#)
        .replace(r#"["two_of_four_findings", "homa_ir_beyond_2_5"]"#, r#"["two_of_four_findings"]"#);
    assert!(small.len() + 60 < STUDY.len());
    let lines: Vec<&str> = small.lines().filter(|line| !line.starts_with("public =")).collect();
    let file = folder.join("pipelines/own.toml");
    fs::write(&file, format!("public = {public}\n{}\n{FEW}", lines.join("\n"))).unwrap();
    file
}

/// The study, run into `out`.
fn run(folder: &Path, public: bool) -> PathBuf {
    let study = study::load(&study_file(folder, public)).unwrap();
    let out = folder.join("out");
    pipeline::run(&study, &Options { out: &out, data: Vec::new(), progress: &|_| {} }).unwrap();
    out
}

fn said(place: &Path) -> String {
    let error = finished::open(Some(place), &[]).unwrap_err();
    error.chain().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}

#[test]
fn a_finished_run_gives_back_what_its_study_file_would() {
    for public in [true, false] {
        let folder = tempfile::tempdir().unwrap();
        let out = run(folder.path(), public);
        assert_eq!(out.join("tally").exists(), public);
        let opened = finished::open(Some(&out.join("")), &[]).unwrap();
        let fresh = finished::open(Some(&folder.path().join("pipelines/own.toml")), &[]).unwrap();
        assert!(opened.tallies == fresh.tallies && !opened.tallies.frames.is_empty());
        assert_eq!(opened.study.thresholds, fresh.study.thresholds);
        assert_eq!(opened.study.thresholds.len(), 1);
        assert_eq!((&opened.study_sha256, &opened.version), (&fresh.study_sha256, &fresh.version));
        assert!(matches!(opened.origin, Origin::Run(_)) && matches!(fresh.origin, Origin::StudyFile(_)));
    }
}

#[test]
fn a_run_that_cannot_be_opened_says_why_and_what_to_do() {
    let folder = tempfile::tempdir().unwrap();
    let absent = said(&folder.path().join("nowhere"));
    assert!(absent.contains("nowhere: no such file or folder") && absent.contains("cutspan run"), "{absent}");
    let read_me = folder.path().join("README.md");
    fs::write(&read_me, "# A heading\n\nand words\n").unwrap();
    let neither = said(&read_me);
    assert!(neither.starts_with(&format!("{} is not a study file or a run's folder; ", read_me.display())));
    let slip = folder.path().join("slip.toml");
    fs::write(&slip, "title\n").unwrap();
    assert!(!said(&slip).contains("is not a study file"), "{}", said(&slip));
    let empty = said(folder.path());
    assert!(empty.contains("holds no run.json") && empty.contains("give the study file"), "{empty}");

    let out = run(folder.path(), true);
    let change = |name: &str, from: &str, to: &str| {
        let file = out.join(name);
        let before = fs::read_to_string(&file).unwrap();
        assert!(before.contains(from), "{name}");
        fs::write(&file, before.replacen(from, to, 1)).unwrap();
        let said = said(&out);
        fs::write(&file, before).unwrap();
        said
    };
    let edited = change("study.toml", "title = \"", "title = \"Another ");
    assert!(
        edited.contains("study.toml: its sha256 is") && edited.contains("run the study again"),
        "{edited}"
    );
    let format = change("run.json", "\"tally_format\": ", "\"tally_format\": 9");
    assert!(format.contains("tally format 9") && format.contains("run the study again"), "{format}");
    let record = change("run.json", "{", "");
    assert!(record.contains("not the record of a run"), "{record}");
    let cells = out.join("tally/cells.parquet");
    let design = out.join("tally/design.parquet");
    fs::copy(&cells, &design).unwrap();
    let changed = said(&out);
    assert!(changed.contains("design.parquet: its sha256 is"), "{changed}");
    fs::remove_dir_all(out.join("tally")).unwrap();
    let without = said(&out);
    assert!(without.contains("no tallies there") && without.contains("run the study again"), "{without}");
    assert!(finished::open(Some(&out), &[]).is_err());
}

#[test]
fn the_tallies_of_a_source_that_is_not_public_are_looked_for_beside_the_results() {
    let folder = tempfile::tempdir().unwrap();
    let out = run(folder.path(), false);
    fs::remove_dir_all(folder.path().join("out-private")).unwrap();
    let said = said(&out);
    assert!(said.contains("out-private/tally: no tallies there") && said.contains("not public"), "{said}");
}

#[test]
fn without_a_place_the_demo_of_invented_people_is_opened() {
    let opened = finished::open(None, &[]).unwrap();
    assert_eq!(opened.origin, Origin::Demo);
    assert!(opened.tallies.survey.contains("invented"));
}

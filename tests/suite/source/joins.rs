//! Tables with a column map in several files, and several sources: what is joined, pooled and refused.

use std::fs;

use cutspan::source::read_all;
use cutspan::study::Source;

use super::tables::{COHORT, cohort, cohort_with_lipids, read_texts, refused, study_in};
use super::{numbers, texts};

const LIPIDS: &str = "id,hdl\nb,45\na,50\nd,60\n";

#[test]
fn a_join_that_loses_people_is_refused_unless_allowed() {
    let mut source = cohort_with_lipids();
    let files = [("cohort.csv", COHORT), ("lipids.csv", LIPIDS)];
    let error = refused(&source, &files);
    assert!(error.contains("1 of") && error.contains("`c`") && error.contains("allow_unmatched"), "{error}");
    let more = format!("{LIPIDS}c,55\n");
    let error = refused(&source, &[files[0], ("lipids.csv", &more)]);
    assert!(error.contains("0 of") && error.contains("1 of the latter"), "{error}");
    source.allow_unmatched = true;
    let loaded = read_texts(&source, &files).unwrap();
    assert_eq!(texts(&loaded, "person").iter().flatten().collect::<Vec<_>>(), ["veldmark/a", "veldmark/b"]);
    assert_eq!(numbers(&loaded, "hdl_mg_dl").iter().collect::<Vec<_>>(), [Some(50.0), Some(45.0)]);
    let steps: Vec<(&str, usize)> = loaded.flow.iter().map(|l| (l.step.as_str(), l.people)).collect();
    assert_eq!(steps, [("in cohort.csv", 3), ("in lipids.csv too", 2)]);
}

#[test]
fn a_column_in_two_files_is_refused() {
    let text = "id,hdl,fpg\na,50,5\nb,45,5\nc,60,5\n";
    let error = refused(&cohort_with_lipids(), &[("cohort.csv", COHORT), ("lipids.csv", text)]);
    assert!(error.contains("`fpg` stands in") && error.contains("rename"), "{error}");
}

#[test]
fn sources_are_pooled_with_shares_and_all_columns() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("cohort.csv"), COHORT).unwrap();
    let mut other = cohort();
    "sundholm".clone_into(&mut other.name);
    (other.stratum, other.psu, other.weight_share) = (None, None, 0.5);
    let mut study = study_in(folder.path(), &cohort());
    study.sources.push(Source::Table(other));
    let loaded = read_all(&study, &[]).unwrap();
    assert_eq!(loaded.frame.height(), 6);
    assert_eq!(numbers(&loaded, "weight_interview").iter().flatten().sum::<f64>(), 3.5 + 3.5 * 0.5);
    assert_eq!(texts(&loaded, "stratum").get(0), Some("s1"));
    assert_eq!(texts(&loaded, "stratum").get(3), Some("sundholm"));
    assert_eq!(texts(&loaded, "psu").get(3), Some("sundholm/a"));
    for quantity in &study.quantities {
        assert!(quantity.columns().iter().all(|column| loaded.frame.column(column).is_ok()));
    }
    assert!(loaded.notices.iter().any(|n| n.kind == "no_design"));
    study.sources.push(study.sources[0].clone());
    let error = read_all(&study, &[]).unwrap_err().to_string();
    assert!(error.contains("`veldmark/a`"), "{error}");
    let Source::Table(second) = &mut study.sources[1] else { panic!("a table was added") };
    second.weight = None;
    study.sources.truncate(2);
    let error = read_all(&study, &[]).unwrap_err().to_string();
    assert!(error.contains("sundholm") && error.contains("no weights"), "{error}");
}

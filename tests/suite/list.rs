//! The lists of what a study may name.

use crate::study::cutspan;

#[test]
fn list_prints_every_registry_in_every_format() {
    for kind in [
        "indices",
        "outcomes",
        "exclusions",
        "groups",
        "rules",
        "waist-tables",
        "quantities",
        "surveys",
        "standards",
        "methods",
        "assays",
    ] {
        let text = cutspan(&["list", kind]);
        assert_eq!(text.status.code(), Some(0), "{kind}");
        let csv = String::from_utf8(cutspan(&["list", kind, "--format", "csv"]).stdout).unwrap();
        let mut reader = csv::Reader::from_reader(csv.as_bytes());
        let columns = reader.headers().unwrap().clone();
        let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        assert!(!rows.is_empty());
        let json = cutspan(&["list", kind, "--format", "json"]).stdout;
        let json: serde_json::Value = serde_json::from_slice(&json).unwrap();
        let objects = json.as_array().unwrap();
        assert_eq!(objects.len(), rows.len(), "{kind}");
        let text = String::from_utf8(text.stdout).unwrap();
        for (row, object) in rows.iter().zip(objects) {
            for (column, cell) in columns.iter().zip(row) {
                assert_eq!(object[column], cell, "{kind} {column}");
            }
            assert!(text.contains(row[1].split(' ').next().unwrap()), "{kind}: {}", &row[1]);
        }
    }
}

#[test]
fn every_name_that_a_study_takes_is_in_some_list() {
    let listed = |kind| String::from_utf8(cutspan(&["list", kind]).stdout).unwrap();
    let exclusions = listed("exclusions");
    for name in ["not_fasted_8_to_24_hours", "\nfasted_8_to_24_hours", "pregnant"] {
        assert!(exclusions.contains(name), "{name}\n{exclusions}");
    }
    let assays = listed("assays");
    for method in cutspan::definitions::crosswalk::methods() {
        assert!(assays.contains(&method.name) && assays.contains(&method.maker), "{assays}");
    }
}

#[test]
fn list_without_a_name_says_what_there_is() {
    let text = String::from_utf8(cutspan(&["list"]).stdout).unwrap();
    for name in ["indices", "outcomes", "waist-tables", "rules"] {
        assert!(text.contains(name), "{text}");
    }
    let wrong = cutspan(&["list", "indexes"]);
    assert_eq!(wrong.status.code(), Some(2));
}

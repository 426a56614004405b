//! Stata and SPSS files, read only by a program built with the feature `statistical-files`.

use std::path::Path;

use cutspan::source::{self, SourceError};
use cutspan::study;
use polars::prelude::DataFrame;

fn read(extension: &str) -> Result<DataFrame, SourceError> {
    let text = format!(
        r#"
title = "made up"
question = "Are the cells the same?"
[[source]]
survey = "table"
name = "made up"
files = ["people.{extension}"]
id = "id"
[source.columns]
age = {{ column = "age", unit = "years" }}
glucose = {{ column = "glucose", unit = "mg/dL" }}
insulin = {{ column = "insulin", unit = "uU/mL" }}
sex = {{ column = "sex", codes = {{ 1 = "male", 2 = "female" }} }}
[cohort]
[analysis]
indices = ["insulin"]
outcomes = []
groups = []
"#
    );
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/statistical_files");
    let study = study::parse(&text, "made-up.toml", &folder).unwrap();
    source::read_all(&study, &[]).map(|loaded| loaded.frame)
}

#[cfg(not(feature = "statistical-files"))]
#[test]
fn a_program_without_the_feature_says_how_to_get_it() {
    for extension in ["dta", "sav"] {
        let said = read(extension).unwrap_err().to_string();
        assert!(
            said.contains("--features statistical-files") && said.contains("save the table as CSV"),
            "{said}"
        );
    }
}

#[cfg(feature = "statistical-files")]
#[test]
fn cells_equal_those_another_tool_reads() {
    let expected = std::fs::read_to_string("tests/reference/statistical_files/expected.csv").unwrap();
    let mut compared = 0;
    for line in expected.lines().filter(|l| !l.starts_with('#')).skip(1) {
        let want: Vec<&str> = line.split(',').collect();
        let column = match want[2] {
            "age" => "age_years",
            "glucose" => "glucose_mg_dl",
            _ => "insulin_uu_ml",
        };
        let frame = read(want[0]).unwrap();
        let row: usize = want[1].parse().unwrap();
        let got = frame.column(column).unwrap().f64().unwrap().get(row - 1);
        assert_eq!(got, want[3].parse().ok(), "{line}");
        let sex = frame.column("sex").unwrap().str().unwrap().get(row - 1);
        assert_eq!(sex, Some(if [2, 3].contains(&row) { "female" } else { "male" }));
        compared += 1;
    }
    assert_eq!(compared, 24);
}

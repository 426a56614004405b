//! Cutoffs of one release of the national survey judged in another, by the study that comes with the program.

use std::fs;
use std::path::Path;

use cutspan::pipeline;
use cutspan::study;
use cutspan::table::Row;

use crate::expected::{Rows, optional};
use crate::support::{assert_close, official_data};

const STUDY: &str = "pipelines/nhanes-2013-and-2017-samples.toml";
/// Both programs print decimals.
const PRINTED: f64 = 1e-9;

/// Shares at a cutoff that is held fixed do not depend on the replicates: a few are enough. Only intervals of areas do,
/// which decide whether a group's cutoff is shown.
fn text() -> String {
    let text = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(STUDY)).unwrap();
    assert!(text.contains("replicates = 500"), "{STUDY}");
    text.replace("replicates = 500", "replicates = 100")
}

#[test]
fn cutoffs_of_one_release_do_in_another_what_r_says() {
    let Some(data) = official_data() else { return };
    let results =
        pipeline::estimate(&study::parse(&text(), STUDY, Path::new(".")).unwrap(), &[data]).unwrap();
    let transfer = results.tables.iter().find(|table| table.name == "transfer").unwrap();
    let cutoffs = results.tables.iter().find(|table| table.name == "cutoffs").unwrap();
    let names = ["survey", "judged_in", "index", "grouping", "group", "derived_from", "measure"];
    let (mut compared, mut withheld) = (0, 0);
    for want in Rows::read("survey_transfer", "expected.csv").iter() {
        let same = |row: &Row| {
            row.text("rule") == "youden"
                && row.text("cutoff_uncertainty") == "fixed"
                && names.iter().all(|name| row.text(name) == want[*name])
        };
        let Some(row) = transfer.iter().find(same) else {
            // A group's own cutoff that is withheld at home goes nowhere.
            let home = |row: &Row| {
                row.text("rule") == "youden"
                    && ["survey", "index", "grouping", "group"]
                        .iter()
                        .all(|name| row.text(name) == want[*name])
                    && !row.text("withheld").is_empty()
            };
            assert!(want["derived_from"] == "same group" && cutoffs.iter().any(|row| home(&row)), "{want:?}");
            withheld += 1;
            continue;
        };
        if !row.text("withheld").is_empty() {
            withheld += 1;
            continue;
        }
        for count in ["n", "df"] {
            if let Some(expected) = optional(want, count) {
                assert_eq!(row.whole(count), Some(expected as i64), "{count}: {want:?}");
            }
        }
        for column in ["cutoff", "value", "lower", "upper"] {
            if let Some(expected) = optional(want, column) {
                let got = row.real(column).unwrap_or_else(|| panic!("{column}: {want:?}"));
                assert_close(got, expected, PRINTED, &format!("{column}: {want:?}"));
            }
        }
        compared += 1;
    }
    assert!(compared >= 250 && withheld < 20, "{compared} compared, {withheld} withheld");
}

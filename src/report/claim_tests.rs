//! What the run's own tests say of the best cutoffs that a claim is about.

use super::claim::ClaimInput;
use super::moves::{LEADING, tested};
use crate::table::Row;

/// One sentence for each grouping asked for whose cutoffs the run has tested.
pub(super) fn cutoffs_differ(input: &ClaimInput<'_>) -> Vec<String> {
    let Some(tests) = input.tests else { return Vec::new() };
    let key = |row: &Row<'_>| ["index", "outcome", "grouping"].map(|column| row.text(column).to_owned());
    let mut asked: Vec<[String; 3]> = Vec::new();
    let claimed = input.table.iter().filter(|row| !row.text("claim").is_empty());
    for row in claimed.filter(|row| row.text("measure") == "best_cutoff") {
        if !asked.contains(&key(&row)) {
            asked.push(key(&row));
        }
    }
    let of_asked = |asked: &[String; 3]| {
        let test = tests.iter().find(|row| row.text("method") == LEADING && key(row) == *asked)?;
        let (verdict, numbers) = tested(&test)?;
        Some(format!(
            "The run's own test whether the smoothed best cutoffs differ between the groups of {}: {verdict} ({numbers}).",
            input.labels.grouping(test.text("grouping"))
        ))
    };
    asked.iter().filter_map(of_asked).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Labels;
    use crate::report::claim::tests::input;
    use crate::table::{Table, schema};

    #[test]
    fn a_claim_about_a_best_cutoff_is_told_the_runs_own_test() {
        let said = |measure: &str, conclusion: &str| {
            let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
            for grouping in ["everybody", "bmi", "bmi", "sex × bmi"] {
                let row = table.row().text("index", "homa_ir").text("outcome", "ir").text("claim", "c");
                row.text("grouping", grouping).text("measure", measure).done().expect("a row");
            }
            let mut tests = Table::new(schema::shape("heterogeneity").expect("the table of tests"));
            for (method, outcome, p) in
                [("empirical_youden", "ir", 0.5), (LEADING, "other", 0.4), (LEADING, "ir", 0.0004)]
            {
                let row =
                    tests.row().text("index", "homa_ir").text("outcome", outcome).text("grouping", "bmi");
                let row = row.text("method", method).real("f", Some(17.23)).real("df1", Some(2.0));
                let row = row.real("df2", Some(25.0)).real("p_holm", Some(p)).text("conclusion", conclusion);
                row.done().expect("a row");
            }
            let labels = Labels::default();
            cutoffs_differ(&ClaimInput { tests: Some(&tests), ..input(&table, &labels) })
        };
        assert_eq!(
            said("best_cutoff", "differ by more than noise"),
            [
                "The run's own test whether the smoothed best cutoffs differ between the groups of bmi: more than noise (F(2, 25) = \
              17.2, p below 0.001 by Holm over all such tests)."
            ]
        );
        let alike = said("best_cutoff", "not distinguishable with these data");
        assert!(alike[0].contains("of bmi: not distinguishable with these data (F(2, 25)"), "{alike:?}");
        assert_eq!(said("best_cutoff", ""), Vec::<String>::new());
        assert_eq!(said("share", "differ by more than noise"), Vec::<String>::new());
    }
}

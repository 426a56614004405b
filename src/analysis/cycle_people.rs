//! People of one cycle of a pooled study: its weights add up to its part of the average over the cycles, and not to them.

use crate::study::Study;
use crate::table::{Cell, Table};

/// The column of what weights add up to, and those that say of whom.
const PEOPLE: &str = "weighted_n";
const OF_WHOM: [&str; 2] = ["grouping", "variable"];

/// Takes out of a table the people that the weights of a cycle would stand for, in groupings that part the pooled sources.
pub(super) fn leave_out(study: &Study, table: &mut Table) {
    let (Some(people), Some(whom)) =
        (table.position(PEOPLE), OF_WHOM.iter().find_map(|name| table.position(name)))
    else {
        return;
    };
    let parts: Vec<Cell> = parting(study).iter().map(Cell::text).collect();
    for row in table.rows.iter_mut().filter(|row| parts.contains(&row[whom])) {
        row[people] = Cell::Missing;
    }
}

/// Names of the groupings, and of the variables, that part the pooled sources.
fn parting(study: &Study) -> Vec<String> {
    let name = |variable: &usize| study.variables[*variable].name.as_str();
    let groupings = study.groupings.iter().filter(|grouping| study.parts_sources(grouping));
    let groupings = groupings.map(|grouping| grouping.iter().map(name).collect::<Vec<_>>().join(" × "));
    let variables = (0..study.variables.len()).filter(|variable| study.parts_sources(&[*variable]));
    groupings.chain(variables.map(|variable| name(&variable).to_owned())).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::{Row, schema};

    #[test]
    fn a_cycle_of_a_pooled_study_has_no_people_of_the_population() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let mut study = crate::study::load(&root.join("nhanes-1999-2020-adults.toml")).expect("a study");
        let position = |name: &str| study.variables.iter().position(|v| v.name == name).expect("a variable");
        let (cycle, sex) = (position("cycle"), position("sex"));
        study.groupings.push(vec![sex, cycle]);
        let shown = |study: &Study| {
            let mut shares = Table::new(schema::shape("threshold_shares").expect("shares"));
            for grouping in ["everybody", "sex", "cycle", "sex × cycle"] {
                let row = shares.row().text("grouping", grouping).real(PEOPLE, Some(90e6));
                row.done().expect("a row");
            }
            leave_out(study, &mut shares);
            shares.iter().map(|row: Row<'_>| row.real(PEOPLE).is_some()).collect::<Vec<_>>()
        };
        assert_eq!(shown(&study), [true, true, false, false]);
        let mut sample = Table::new(schema::shape("sample").expect("the sample"));
        for variable in ["cycle", "sex"] {
            sample.row().text("variable", variable).real(PEOPLE, Some(90e6)).done().expect("a row");
        }
        leave_out(&study, &mut sample);
        assert_eq!(sample.iter().map(|row| row.real(PEOPLE)).collect::<Vec<_>>(), [None, Some(90e6)]);
        // A single release is weighted to all its people.
        study.sources.truncate(1);
        assert_eq!(shown(&study), [true; 4]);
    }
}

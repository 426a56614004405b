//! Names of charts, which are those of their files: no two alike.

use std::collections::BTreeSet;

use super::Drawing;

/// Numbers the second and every further drawing of a name: what tells populations or samples apart may be signs that stand
/// in no file's name, such as those of BMI <30 and BMI ≥30.
pub(super) fn apart(drawings: &mut [(&'static str, Drawing)]) {
    let mut taken: BTreeSet<String> = drawings.iter().map(|(_, drawing)| drawing.name.clone()).collect();
    let mut met: BTreeSet<String> = BTreeSet::new();
    for (_, drawing) in drawings {
        if met.insert(drawing.name.clone()) {
            continue;
        }
        let numbered = (2..).map(|number| format!("{}_{number}", drawing.name));
        if let Some(free) = numbered.into_iter().find(|name| taken.insert(name.clone())) {
            drawing.name = free;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::select::stem;
    use crate::chart::{Labels, Print, draw_all};
    use crate::table::{Table, schema};

    #[test]
    fn drawings_of_one_name_are_numbered_past_names_that_stand() {
        let named = |name: &str| ("roc", Drawing { name: name.to_owned(), ..Drawing::default() });
        assert_eq!(stem(&["roc", "BMI <30"]), stem(&["roc", "BMI ≥30"]));
        let mut drawings = ["a", "a_2", "a", "b", "a"].map(named);
        apart(&mut drawings);
        assert_eq!(drawings.map(|(_, drawing)| drawing.name), ["a", "a_2", "a_3", "b", "a_4"]);
    }

    #[test]
    fn charts_of_groups_that_differ_in_signs_alone_have_files_of_their_own() {
        let mut table = Table::new(schema::shape("percentiles").expect("a table"));
        for (population, value) in [("BMI <30", 2.0), ("BMI ≥30", 4.0)] {
            let row = table.row().text("index", "homa_ir").text("population", population);
            let row = row.text("grouping", "everybody").text("group", "everybody");
            row.real("percentile", Some(50.0)).real("value", Some(value)).done().expect("a row");
        }
        let print = Print { width_mm: 89.0, ..Print::default() };
        let charts = draw_all(&[table], &Labels::default(), &print).expect("charts");
        let [one, other] = charts.as_slice() else { panic!("two charts: {}", charts.len()) };
        assert_eq!(other.name, format!("{}_2", one.name));
        assert_ne!(one.picture, other.picture, "the narrow ones, too, are those of their people");
    }
}

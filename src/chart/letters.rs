//! Letters of charts for which the bundled font has no sign.

use std::collections::BTreeSet;

use super::scene::Mark;
use super::{Chart, font};

/// The letters of which a PNG or a PDF shows a box, in the order of their numbers.
#[must_use]
pub fn letters_without_sign(charts: &[Chart]) -> BTreeSet<char> {
    let marks = charts.iter().flat_map(|chart| &chart.picture.0.marks);
    let texts = marks.filter_map(|mark| match mark {
        Mark::Text { text, face, .. } => Some((text, face.bold)),
        _ => None,
    });
    let lacking = |(text, bold): (&String, bool)| -> Vec<char> {
        text.chars().filter(|letter| font::glyph(*letter, bold) == 0).collect()
    };
    texts.flat_map(lacking).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::{Labels, Print, draw_all};
    use crate::table::{Table, schema};

    #[test]
    fn letters_of_other_scripts_are_named_once_each() {
        let mut table = Table::new(schema::shape("percentiles").expect("a table"));
        for (grouping, group) in [("everybody", "everybody"), ("sex", "女性"), ("sex", "男性 µ ≥")] {
            let row = table.row().text("index", "homa_ir").text("population", "cohort");
            let row = row.text("grouping", grouping).text("group", group);
            row.real("percentile", Some(50.0)).real("value", Some(2.0)).done().expect("a row");
        }
        let charts = draw_all(&[table], &Labels::default(), &Print::default()).expect("charts");
        assert!(!charts.is_empty());
        let found: String = letters_without_sign(&charts).into_iter().collect();
        assert_eq!(found, "女性男");
    }
}

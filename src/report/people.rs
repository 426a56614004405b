//! How many people are on either side of the first threshold, and of how many that is not known.

use crate::chart::Labels;
use crate::table::estimate::of_people;
use crate::table::number::whole;
use crate::table::{Row, Table};

use super::glance::rows;
use super::sentence::short_of;

/// Follows the sentence on the share beyond the first threshold, with a space before it.
pub(super) fn sentence(tables: &[Table], labels: &Labels) -> String {
    let first = rows(tables, "threshold_shares")
        .find(|row| row.text("grouping") == "everybody" && row.text("population") == "cohort");
    // Of rounded counts neither side is known.
    let first = first.filter(|_| labels.fewest_shown.is_none());
    first.and_then(|row| stand_for(&row, labels)).unwrap_or_default()
}

/// Both sides in people, where the weights stand for them.
fn stand_for(row: &Row<'_>, labels: &Labels) -> Option<String> {
    let (share, all) =
        (row.shown("share_beyond")?, row.shown("weighted_n").filter(|_| labels.weights_are_people)?);
    let interval = row.shown("lower").zip(row.shown("upper"));
    let people = |share: f64| all * share / 100.0;
    let (beyond, its_ends) =
        of_people(people(share), interval.map(|(lower, upper)| (people(lower), people(upper))));
    let other = interval.map(|(lower, upper)| (people(100.0 - upper), people(100.0 - lower)));
    let (short, other_ends) = of_people(people(100.0 - share), other);
    Some(format!(
        " That is about {beyond}{its_ends} people of the survey’s population, and {short}{other_ends} {}.",
        short_of(labels, row.text("index"), row.text("strict") == "yes", row.real("threshold")?)
    ))
}

/// `; of 61 more HOMA-IR is not known`, behind the people of a cohort whose value is: why they are fewer than the cohort has.
pub(super) fn unknown(tables: &[Table], row: &Row<'_>, labels: &Labels) -> String {
    let index = labels.index_label(row.text("index"));
    let step = format!("with {index}");
    let mut steps = rows(tables, "participant_flow").filter(|of| of.text("step") == step);
    let counts = steps.next().and_then(|of| of.whole("people").zip(of.whole("left_out")));
    let counts = counts.filter(|_| labels.fewest_shown.is_none() && steps.next().is_none());
    match counts {
        Some((with, without)) if without > 0 && row.whole("n") == Some(with) => {
            format!("; of {} more {index} is not known", whole(without))
        }
        _ => String::new(),
    }
}

/// How many people a row rests on, in words.
pub(super) fn counted(row: &Row<'_>, column: &str) -> String {
    row.whole(column).map_or_else(|| "withheld".to_owned(), whole)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    fn said(labels: &Labels, left_out: i64) -> (String, String) {
        let [mut shares, mut flow] =
            ["threshold_shares", "participant_flow"].map(|name| Table::new(schema::shape(name).expect(name)));
        for (grouping, share) in [("sex", 10.0), ("everybody", 54.0)] {
            let row = shares.row().text("index", "homa_ir").text("population", "cohort").text("strict", "no");
            let row = row.text("grouping", grouping).real("threshold", Some(2.0)).whole("n", Some(2872));
            let row = row.real("weighted_n", Some(200e6)).real("share_beyond", Some(share));
            row.real("lower", Some(50.0)).real("upper", Some(57.5)).done().expect("a row");
        }
        for (step, people) in [("with quicki", 99), ("with homa_ir", 2872)] {
            let row = flow.row().text("step", step).whole("people", Some(people));
            row.whole("left_out", Some(left_out)).done().expect("a row");
        }
        let tables = [shares, flow];
        let row = rows(&tables, "threshold_shares").last().expect("everybody");
        (sentence(&tables, labels), unknown(&tables, &row, labels))
    }

    #[test]
    fn both_sides_are_told_in_people_and_of_how_many_neither_is_known() {
        let survey = Labels { weights_are_people: true, ..Labels::default() };
        // 54, 50 and 57.5 % of 200 million, and what is left of it.
        let both = " That is about 108\u{a0}million (100–115) people of the survey’s population, and 92.0\u{a0}million (85.0–100.0) \
                    below homa_ir 2.";
        let unknown = "; of 61 more homa_ir is not known";
        assert_eq!(said(&survey, 61), (both.to_owned(), unknown.to_owned()));
        assert_eq!(said(&Labels::default(), 61), (String::new(), unknown.to_owned()));
        let neither = (String::new(), String::new());
        assert_eq!(said(&Labels::default(), 0), neither);
        assert_eq!(said(&Labels { fewest_shown: Some(10), ..survey }, 61), neither);
    }
}

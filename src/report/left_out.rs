//! Whom the numbers of a run leave out though they were examined: said first, so that its shares are not read as everybody's.

use crate::chart::Labels;
use crate::table::number::{significant, whole};
use crate::table::schema::JOINED;
use crate::table::{Row, Table};

use super::finding::Finding;
use super::glance::rows;
use super::short::without_brackets;

/// How a step of the participant flow begins that leaves people out.
const LEAVING: &str = "after leaving out: ";
/// Stands in the reason by which a study keeps to its ages: of these its title speaks.
const AGES: &str = "age unknown";

/// Who is counted: whom of the people examined the numbers leave out.
pub(super) fn finding(tables: &[Table], labels: &Labels, sample: &str) -> Option<Finding> {
    sentence(tables, labels, sample).map(|text| Finding::told("Who is counted", text))
}

/// Who of the people examined is left out, and how many; of a sample by its name, which is empty where there is one alone.
fn sentence(tables: &[Table], labels: &Labels, sample: &str) -> Option<String> {
    let source = if sample.is_empty() { JOINED.to_owned() } else { format!("{sample}: {JOINED}") };
    let flow: Vec<Row<'_>> =
        rows(tables, "participant_flow").filter(|row| row.text("source") == source).collect();
    let leaves = |row: &Row<'_>| reason(row).is_some_and(|reason| !reason.contains(AGES));
    let first = flow.iter().position(leaves)?;
    let last = flow.iter().rposition(leaves)?;
    // Where nobody cannot be told from a few, every reason stands alike.
    let known = labels.fewest_shown.is_none();
    let reasons: Vec<String> = flow[first..=last]
        .iter()
        .filter(|row| !known || row.whole("left_out") != Some(0))
        .filter_map(|row| reason(row).map(without_brackets))
        .collect();
    if reasons.is_empty() {
        return None;
    }
    let reasons = reasons.join("; ");
    let whose = if sample.is_empty() { String::new() } else { format!("{sample}: ") };
    let people = |row: &Row<'_>| row.whole("people").filter(|_| known);
    let before = first.checked_sub(1).map(|before| &flow[before]);
    let counts = before.and_then(people).zip(people(&flow[last])).filter(|(of, left)| of > left);
    let Some((of, left)) = counts else {
        let any = if known { "" } else { ", where there are any," };
        return Some(format!("{whose}Left out{any} are: {reasons}. All numbers are of the others."));
    };
    let range = if before.is_some_and(|row| reason(row).is_some()) { " in this age range" } else { "" };
    let percent = significant(100.0 * (of - left) as f64 / of as f64, 2);
    let others = if last + 1 == flow.len() { format!("other {}", whole(left)) } else { "others".to_owned() };
    Some(format!(
        "{whose}Of {} people examined{range}, {} ({percent}\u{a0}%) are left out: {reasons}. All numbers are of the {others}.",
        whole(of),
        whole(of - left)
    ))
}

fn reason<'a>(row: &Row<'a>) -> Option<&'a str> {
    row.text("step").strip_prefix(LEAVING)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    const AGE: &str = "after leaving out: under 20 years, or age unknown";
    const PREGNANT: &str = "after leaving out: pregnant (test or own report)";
    const INSULIN: &str = "after leaving out: takes insulin";
    const DIABETES: &str = "after leaving out: told by a doctor of diabetes";

    fn said(steps: &[(&str, i64)], labels: &Labels) -> Option<String> {
        let mut flow = Table::new(schema::shape("participant_flow").expect("a table"));
        let mut before = None;
        for (step, people) in steps {
            let row = flow.row().text("source", JOINED).text("step", *step).whole("people", Some(*people));
            row.whole("left_out", Some(before.unwrap_or(*people) - people)).done().expect("a row");
            before = Some(*people);
        }
        sentence(&[flow], labels, "")
    }

    #[test]
    fn people_left_out_are_counted_among_those_of_the_ages() {
        let weighted = ("with a positive weight", 4476);
        let all = [weighted, (AGE, 3801), (PREGNANT, 3769), (INSULIN, 3769), (DIABETES, 2933)];
        // 868 / 3801 = 22.8 %.
        assert_eq!(
            said(&all, &Labels::default()).as_deref(),
            Some(
                "Of 3801 people examined in this age range, 868 (23\u{a0}%) are left out: pregnant; told by a doctor of diabetes. All \
                 numbers are of the other 2933."
            )
        );
        let without_ages = said(&[weighted, (DIABETES, 4028)], &Labels::default()).unwrap_or_default();
        assert!(without_ages.starts_with("Of 4476 people examined, 448 (10\u{a0}%)"), "{without_ages}");
        let ages_last = said(&[weighted, (DIABETES, 4028), (AGE, 3500)], &Labels::default());
        assert!(ages_last.is_some_and(|text| text.ends_with("of the others.")), "4028 are not the cohort");
        assert_eq!(said(&all[..2], &Labels::default()), None, "the ages alone are in the title");
        assert_eq!(said(&[weighted, (AGE, 3801), (INSULIN, 3801)], &Labels::default()), None);
    }

    #[test]
    fn of_people_who_may_not_be_counted_the_reasons_are_said() {
        let hidden = Labels { fewest_shown: Some(10), ..Labels::default() };
        let all =
            "Left out, where there are any, are: pregnant; takes insulin. All numbers are of the others.";
        for insulin in [290, 271] {
            let steps = [(AGE, 300), (PREGNANT, 290), (INSULIN, insulin)];
            assert_eq!(said(&steps, &hidden).as_deref(), Some(all), "nobody or 19");
        }
    }
}

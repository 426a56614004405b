//! Whom an answer leaves out: people whom the study excludes, and people who are in no group.

use crate::analysis::claim::LeftOut;
use crate::chart::Labels;
use crate::table::Row;
use crate::table::number::{fixed, significant, whole};

/// Who is not among the study's people, and how many that is, so that its shares are not read as those of everybody.
pub(super) fn not_counted(reasons: &[String], counted: Option<LeftOut>, labels: &Labels) -> Option<String> {
    let not_among = |reasons: &[String]| format!("Not among the study's people: {}.", reasons.join("; "));
    let Some(LeftOut { people, of, ages }) = counted.filter(|counted| counted.people > 0) else {
        return (!reasons.is_empty()).then(|| not_among(reasons));
    };
    let (by_age, others) = reasons.split_at(usize::from(ages));
    let lead = by_age.first().map(|_| format!("{} ", not_among(by_age))).unwrap_or_default();
    let [range, whom] =
        if ages { [" in this age range", "all people of these ages"] } else { ["", "all of them"] };
    Some(format!(
        "{lead}Of {} people examined{range}, {} ({} %) are left out: {}. The answer may differ for {whom}.",
        whole(of),
        whole(people),
        // Of rounded counts no more than whole per cent is known.
        match (labels.fewest_shown, 100.0 * people as f64 / of as f64) {
            (Some(_), percent) => fixed(percent, 0),
            (None, percent) => significant(percent, 2),
        },
        others.join("; ")
    ))
}

/// How many people of everybody are in no group of a grouping: why its groups do not add up.
pub(super) fn in_no_group(rows: &[Row<'_>], labels: &Labels) -> Option<String> {
    let everybody = rows.iter().find(|row| row.text("grouping") == "everybody")?.whole("n")?;
    // Nothing is known of a grouping in which a count is left out.
    let mut groupings: Vec<(&str, Option<i64>)> = Vec::new();
    for row in rows.iter().filter(|row| row.text("grouping") != "everybody") {
        let n = row.whole("n");
        match groupings.iter_mut().find(|(name, _)| *name == row.text("grouping")) {
            Some((_, people)) => *people = people.zip(n).map(|(people, n)| people + n),
            None => groupings.push((row.text("grouping"), n)),
        }
    }
    let mut by_count: Vec<(i64, Vec<&str>)> = Vec::new();
    let counted = groupings.into_iter().filter_map(|(name, people)| Some((name, everybody - people?)));
    // Of rounded counts the rest is rough, and one of few people may be of nobody.
    let least = labels.fewest_shown.unwrap_or(1);
    for (name, missing) in counted.filter(|(_, missing)| *missing >= least) {
        match by_count.iter_mut().find(|(count, _)| *count == missing) {
            Some((_, names)) => names.push(labels.grouping(name)),
            None => by_count.push((missing, vec![labels.grouping(name)])),
        }
    }
    let part = |(count, names): &(i64, Vec<&str>)| {
        let people = if *count == 1 { "person" } else { "people" };
        let about = if labels.fewest_shown.is_some() { "about " } else { "" };
        format!("{about}{} {people} (by {})", whole(*count), names.join("; by "))
    };
    let parts: Vec<String> = by_count.iter().map(part).collect();
    (!parts.is_empty())
        .then(|| format!("In no group, because it is not known of them: {}.", parts.join(", ")))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::{Table, schema};

    #[test]
    fn people_who_are_left_out_are_counted_where_that_may_be_shown() {
        let reasons = ["under 20 years, or age unknown", "pregnant", "diabetes"].map(str::to_owned);
        let said = |ages, people, from: usize| {
            not_counted(&reasons[from..], Some(LeftOut { people, of: 3801, ages }), &Labels::default())
                .expect("reasons")
        };
        // 868 / 3801 = 22.8 %.
        assert_eq!(
            said(true, 868, 0),
            "Not among the study's people: under 20 years, or age unknown. Of 3801 people examined in this age range, 868 (23 %) \
             are left out: pregnant; diabetes. The answer may differ for all people of these ages."
        );
        assert_eq!(
            said(false, 868, 1),
            "Of 3801 people examined, 868 (23 %) are left out: pregnant; diabetes. The answer may differ for all of them."
        );
        let uncounted = "Not among the study's people: under 20 years, or age unknown; pregnant; diabetes.";
        assert_eq!(said(true, 0, 0), uncounted);
        assert_eq!(not_counted(&reasons, None, &Labels::default()).as_deref(), Some(uncounted));
        assert_eq!(not_counted(&[], None, &Labels::default()), None);
    }

    #[test]
    fn people_of_no_group_are_counted_by_grouping() {
        let said_of = |counts: &[(&str, i64)], labels: &Labels| {
            let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
            for (grouping, n) in counts {
                table.row().text("grouping", *grouping).whole("n", Some(*n)).done().expect("a row");
            }
            in_no_group(&table.iter().collect::<Vec<_>>(), labels)
        };
        let said = |counts: &[(&str, i64)]| said_of(counts, &Labels::default());
        // 100 less 40 and 41; the crossing misses the same 19 people, the ages one, the sexes nobody.
        let all = [
            ("everybody", 100),
            ("sex", 60),
            ("sex", 40),
            ("bmi", 40),
            ("bmi", 41),
            ("sex × bmi", 81),
            ("age", 99),
        ];
        assert_eq!(
            said(&all).as_deref(),
            Some(
                "In no group, because it is not known of them: 19 people (by bmi; by sex × bmi), 1 person (by age)."
            )
        );
        assert_eq!(said(&all[..3]), None);
        let few = Labels { fewest_shown: Some(10), ..Labels::default() };
        assert_eq!(
            said_of(&all, &few).as_deref(),
            Some("In no group, because it is not known of them: about 19 people (by bmi; by sex × bmi).")
        );
    }
}

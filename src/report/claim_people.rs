//! Whom an answer leaves out: people whom the study excludes, and people who are in no group.

use super::claim::{ClaimInput, Stated};
use super::sentence::percent;
use crate::analysis::claim::LeftOut;
use crate::chart::Labels;
use crate::table::Row;
use crate::table::number::{fixed, significant, whole};

/// Percentage points by which groups must differ in how many are left out for that to be said.
const FAR_APART: f64 = 5.0;

/// Who is not among the study's people, and how many that is, so that its shares are not read as those of everybody.
pub(super) fn not_counted(input: &ClaimInput<'_>, index: &str) -> Option<String> {
    let reasons = input.left_out;
    let not_among = |reasons: &[String]| format!("Not among the study's people: {}.", reasons.join("; "));
    let Some(counted) = input.counted.filter(|counted| counted.people > 0) else {
        return (!reasons.is_empty()).then(|| not_among(reasons));
    };
    let LeftOut { people, of, ages, left_in, without_index } = counted;
    let (by_age, others) = reasons.split_at(usize::from(ages));
    let lead = by_age.first().map(|_| format!("{} ", not_among(by_age))).unwrap_or_default();
    let [range, whom] =
        if ages { [" in this age range", "all people of these ages"] } else { ["", "all of them"] };
    let unmeasured = if without_index > 0 {
        let label = input.labels.index_label(index);
        format!(" Of the other {}, {} have no {label}.", whole(left_in), whole(without_index))
    } else {
        String::new()
    };
    Some(format!(
        "{lead}Of {} people examined{range}, {} ({} %) are left out: {}.{unmeasured} The answer may differ for {whom}.",
        whole(of),
        whole(people),
        // Of rounded counts no more than whole per cent is known.
        match (input.labels.fewest_shown, 100.0 * people as f64 / of as f64) {
            (Some(_), percent) => fixed(percent, 0),
            (None, percent) => significant(percent, 2),
        },
        others.join("; ")
    ))
}

/// Per cent of a group's people whom the study leaves out, where that is known.
pub(super) fn left_out_percent(row: &Row<'_>) -> Option<f64> {
    let examined = row.real("examined").filter(|examined| *examined > 0.0)?;
    Some(100.0 * row.real("left_out")? / examined)
}

/// From which group fewest to which most are left out, in the grouping where that differs most; or that it is not known.
pub(super) fn left_out_of_groups(rows: &[Row<'_>], input: &ClaimInput<'_>) -> Option<String> {
    let groups: Vec<&Row<'_>> = rows.iter().filter(|row| row.text("grouping") != "everybody").collect();
    if groups.is_empty() || input.left_out.is_empty() {
        return None;
    }
    let known: Vec<(f64, &Row<'_>)> =
        groups.iter().filter_map(|row| Some((left_out_percent(row)?, *row))).collect();
    if known.is_empty() {
        return Some("How many of each group are left out is not known here.".to_owned());
    }
    let ends = |grouping: &str| {
        let of = || known.iter().filter(|(_, row)| row.text("grouping") == grouping);
        let low = of().min_by(|a, b| a.0.total_cmp(&b.0))?;
        Some((low, of().max_by(|a, b| a.0.total_cmp(&b.0))?))
    };
    let single = known.iter().map(|(_, row)| row.text("grouping")).filter(|name| !name.contains(" × "));
    let widest = single.filter_map(ends).max_by(|a, b| (a.1.0 - a.0.0).total_cmp(&(b.1.0 - b.0.0)));
    let (low, high) = widest.filter(|(low, high)| high.0 - low.0 >= FAR_APART)?;
    Some(format!(
        "By {}, {}\u{a0}% of “{}” are left out, and {}\u{a0}% of “{}”: the share of a group is that of those who remain.",
        input.labels.grouping(low.1.text("grouping")),
        fixed(low.0, 0),
        low.1.text("group"),
        fixed(high.0, 0),
        high.1.text("group")
    ))
}

/// A group that is asked alone of its grouping, which no comparison tells of.
pub(super) fn alone(stated: &Stated<'_>, what: &str, input: &ClaimInput<'_>) -> Vec<String> {
    let rows = stated.rows(input.table, "share");
    let without = input.without.map(|whom| format!("; without {whom}")).unwrap_or_default();
    // A group by age has ages of its own.
    let by_age = |grouping: &str| grouping.split(" × ").any(|variable| variable.starts_with("age"));
    let aged = |grouping: &str| {
        let ages = input.ages.filter(|_| !by_age(grouping));
        ages.map(|ages| format!("; {ages}")).unwrap_or_default()
    };
    let of = |grouping: &String| {
        let mut groups = rows.iter().filter(|row| row.text("grouping") == *grouping);
        let row = groups.next().filter(|_| groups.next().is_none())?;
        let n = row.whole("n").map_or_else(|| "not shown".to_owned(), whole);
        let left_out = left_out_percent(row).map(|of_group| {
            format!("; {}\u{a0}% of those of them who were examined are left out", fixed(of_group, 0))
        });
        Some(format!(
            "Of the study's people in “{}” ({}{}{without}; n = {n}), {} have {what}{}.",
            row.text("group"),
            input.labels.grouping(grouping),
            aged(grouping),
            percent((row.shown("value")?, row), input.labels.percent_places(1)),
            left_out.unwrap_or_default()
        ))
    };
    input.narrowed.iter().filter_map(of).collect()
}

/// How many people of everybody are in no group of a grouping: why its groups do not add up.
/// A grouping of which single groups are asked tells nothing of it.
pub(super) fn in_no_group(rows: &[Row<'_>], labels: &Labels, narrowed: &[String]) -> Option<String> {
    let everybody = rows.iter().find(|row| row.text("grouping") == "everybody")?.whole("n")?;
    // Nothing is known of a grouping in which a count is left out.
    let mut groupings: Vec<(&str, Option<i64>)> = Vec::new();
    let is_whole = |row: &&Row<'_>| narrowed.iter().all(|name| name != row.text("grouping"));
    for row in rows.iter().filter(|row| row.text("grouping") != "everybody").filter(is_whole) {
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
    use crate::report::claim::tests::input;
    use crate::table::{Table, schema};

    #[test]
    fn people_who_are_left_out_are_counted_where_that_may_be_shown() {
        let reasons = ["under 20 years, or age unknown", "pregnant", "diabetes"].map(str::to_owned);
        let (table, labels) =
            (Table::new(schema::shape("claim").expect("the table of claims")), Labels::default());
        let of = |left_out: &[String], counted: Option<LeftOut>| {
            not_counted(&ClaimInput { left_out, counted, ..input(&table, &labels) }, "homa_ir")
        };
        let said = |ages, people, from: usize| {
            let without_index = if ages { 0 } else { 61 };
            let counted = LeftOut { people, of: 3801, ages, left_in: 2933, without_index };
            of(&reasons[from..], Some(counted)).expect("reasons")
        };
        // 868 / 3801 = 22.8 %.
        assert_eq!(
            said(true, 868, 0),
            "Not among the study's people: under 20 years, or age unknown. Of 3801 people examined in this age range, 868 (23 %) \
             are left out: pregnant; diabetes. The answer may differ for all people of these ages."
        );
        assert_eq!(
            said(false, 868, 1),
            "Of 3801 people examined, 868 (23 %) are left out: pregnant; diabetes. Of the other 2933, 61 have no homa_ir. The answer \
             may differ for all of them."
        );
        let uncounted = "Not among the study's people: under 20 years, or age unknown; pregnant; diabetes.";
        assert_eq!(said(true, 0, 0), uncounted);
        assert_eq!(of(&reasons, None).as_deref(), Some(uncounted));
        assert_eq!(of(&[], None), None);
    }

    #[test]
    fn how_many_are_left_out_is_told_by_group_or_said_not_to_be_known() {
        type Counted = (&'static str, &'static str, Option<(i64, i64)>);
        let labels = Labels::default();
        let of = |counts: &[Counted], say: fn(&[Row<'_>], &ClaimInput<'_>) -> String| {
            let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
            for (grouping, group, counted) in counts {
                let row =
                    table.row().text("index", "homa_ir").real("threshold", Some(2.0)).text("side", "below");
                let row = row.text("population", "cohort").text("measure", "share").real("value", Some(40.0));
                let row = row.text("grouping", *grouping).text("group", *group).whole("n", Some(80));
                let row = row.whole("examined", counted.map(|(examined, _)| examined));
                row.whole("left_out", counted.map(|(_, left_out)| left_out)).done().expect("a row");
            }
            let (left_out, narrowed) = (["diabetes".to_owned()], ["age".to_owned()]);
            let input = ClaimInput { left_out: &left_out, narrowed: &narrowed, ..input(&table, &labels) };
            say(&table.iter().collect::<Vec<_>>(), &input)
        };
        let groups: fn(&[Row<'_>], &ClaimInput<'_>) -> String =
            |rows, input| left_out_of_groups(rows, input).unwrap_or_default();
        let all = ("everybody", "everybody", Some((400, 100)));
        let (young, old) = (("age", "young", Some((100, 8))), ("age", "old", Some((100, 41))));
        let (women, men) = (("sex", "women", Some((200, 20))), ("sex", "men", Some((200, 22))));
        assert_eq!(
            of(&[all, women, men, young, old], groups),
            "By age, 8\u{a0}% of “young” are left out, and 41\u{a0}% of “old”: the share of a group is that of those who remain."
        );
        assert_eq!(of(&[all, women, men], groups), "");
        let unknown = of(&[("everybody", "everybody", None), ("sex", "women", None)], groups);
        assert_eq!(unknown, "How many of each group are left out is not known here.");
        let one: fn(&[Row<'_>], &ClaimInput<'_>) -> String = |rows, input| {
            let stated = Stated::of(&rows[0]).expect("a threshold");
            alone(&stated, "HOMA-IR below 2", input).join("|")
        };
        assert_eq!(
            of(&[all, old], one),
            "Of the study's people in “old” (age; n = 80), 40.0\u{a0}% have HOMA-IR below 2; 41\u{a0}% of those of them who were \
             examined are left out."
        );
        assert_eq!(of(&[all, young, old], one), "");
    }

    #[test]
    fn people_of_no_group_are_counted_by_grouping() {
        let said_of = |counts: &[(&str, i64)], labels: &Labels| {
            let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
            for (grouping, n) in counts {
                table.row().text("grouping", *grouping).whole("n", Some(*n)).done().expect("a row");
            }
            in_no_group(&table.iter().collect::<Vec<_>>(), labels, &[])
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

//! What came of each claim, in sentences: for all groups together, then which groups say what.

use super::claim::{ClaimInput, Stated};
use super::claim_doubt::doubt;
use crate::table::Row;
use crate::table::estimate::share_alone;
use crate::table::number::significant;
use crate::table::schema::ALL_GROUPS;
use crate::table::verdicts::{by_interval_alone, could_be_chance, in_all, in_the_family, of_groups, tested};

/// More groups than this are counted and not named.
const MOST_NAMED: usize = 4;

/// Verdicts of groups in the order in which they are told.
const TOLD: [(&str, &str); 4] = [
    ("fails", "fails in"),
    ("undecided", "is undecided in"),
    ("holds", "holds in"),
    ("cannot tell", "cannot be told in"),
];

/// One sentence for each claim: for all groups, then which groups say what.
pub(super) fn verdicts(stated: &Stated<'_>, input: &ClaimInput<'_>) -> Vec<String> {
    stated.claims(input.table).into_iter().map(|claim| verdict(stated, claim, input)).collect()
}

fn verdict(stated: &Stated<'_>, claim: &str, input: &ClaimInput<'_>) -> String {
    let rows = stated.of_claim(input.table, claim);
    let one = |grouping: &str| rows.iter().find(|row| row.text("grouping") == grouping);
    if !stated.divides(input.table) && rows.iter().all(|row| row.text("verdict") == "cannot tell") {
        return format!("Claim “{claim}”: CANNOT TELL, because the threshold separates nobody.");
    }
    if stated.divides(input.table) && doubt(stated, input).is_some() {
        return format!(
            "Claim “{claim}”: NO VERDICT, because the threshold may be meant otherwise (see above)."
        );
    }
    let everybody = one("everybody").map_or_else(|| "cannot tell".to_owned(), of_everybody);
    let Some(all) = one(ALL_GROUPS) else {
        return format!("Claim “{claim}”, everybody taken together: {}.", everybody.to_uppercase());
    };
    let groups = of_groups(&rows);
    let remark = match all.text("notices") {
        "" => String::new(),
        notice => format!(" Note: {notice}."),
    };
    format!(
        "Claim “{claim}”, {}.{}{}{}{} Everybody taken together: {everybody}.{remark}",
        in_all(all.text("verdict"), &groups, input.confidence),
        which(all.text("verdict"), &groups, input),
        alone(&groups, input),
        tested(&groups).map(|words| format!(" {words}")).unwrap_or_default(),
        chance(&groups, input),
    )
}

/// The verdict on everybody; where their share is withheld, what it rests on.
fn of_everybody(row: &Row<'_>) -> String {
    let verdict = row.text("verdict");
    if !by_interval_alone(row) {
        return format!("{verdict}{}", near(row));
    }
    let ends = told_ends(row).map(|ends| format!(", {ends}")).unwrap_or_default();
    format!("{verdict} (by its interval{ends}; the share itself is too uncertain to print)")
}

/// Why a claim of about so much is undecided, and the like of a number near it may be as well.
fn near(row: &Row<'_>) -> String {
    let ends = |[from, to]: [&str; 2]| {
        Some(format!("{} to {}\u{a0}%", share_alone(row.real(from)?, 1), share_alone(row.real(to)?, 1)))
    };
    let undecided = row.text("verdict") == "undecided" && row.text("relation") == "about";
    match (ends(["lower", "upper"]), ends(["claimed_from", "claimed_to"])) {
        (Some(interval), Some(claimed)) if undecided => format!(
            " (the interval, {interval}, lies partly within the {claimed} claimed and partly outside, as it may for a number \
             near the one claimed, too)"
        ),
        _ => String::new(),
    }
}

/// ` It fails in 2 (under 18.5; 18.5-24.9), holds in 2 (…).`; nothing where it holds in all, or where one group is all.
fn which(all: &str, groups: &[Row<'_>], input: &ClaimInput<'_>) -> String {
    if all == "holds" || groups.len() == 1 {
        return String::new();
    }
    let lead = if all == "fails" { "It" } else { "By each group's own interval, it" };
    let of = |&(verdict, words): &(&str, &str)| {
        let found: Vec<Row<'_>> =
            groups.iter().filter(|row| row.text("verdict") == verdict).copied().collect();
        let named = if found.len() < groups.len() { named(&found, groups, input) } else { String::new() };
        (!found.is_empty()).then(|| format!("{words} {}{named}", found.len()))
    };
    let parts: Vec<String> = TOLD.iter().filter_map(of).collect();
    format!(" {lead} {}.", parts.join(", "))
}

/// The groups whose share is too uncertain to print, but whose interval decides.
fn alone(groups: &[Row<'_>], input: &ClaimInput<'_>) -> String {
    let found: Vec<Row<'_>> = groups.iter().filter(|row| by_interval_alone(row)).copied().collect();
    let verb = if found.len() == 1 { "is" } else { "are" };
    let why = format!("{verb} judged by the interval alone, as the share itself is too uncertain to print.");
    match found.len() {
        0 => String::new(),
        1 if groups.len() == 1 => format!(" It {why}"),
        1..=MOST_NAMED => {
            let names = names(&found, groups, input);
            let one = |(row, name): (&Row<'_>, String)| {
                told_ends(row).map_or_else(|| name.clone(), |ends| format!("{name} ({ends})"))
            };
            let told: Vec<String> = found.iter().zip(names).map(one).collect();
            format!(" Of these, {} {why}", told.join("; "))
        }
        many => format!(" Of these, {many} {why}"),
    }
}

/// `up to 7.1 %`: the ends of an interval that decide, when they are known.
pub(super) fn told_ends(row: &Row<'_>) -> Option<String> {
    let end = |column: &str| row.real(column).map(|share| share_alone(share, 1));
    match (end("lower"), end("upper")) {
        (Some(lower), Some(upper)) => Some(format!("{lower} to {upper}\u{a0}%")),
        (Some(lower), None) => Some(format!("from {lower}\u{a0}%")),
        (None, Some(upper)) => Some(format!("up to {upper}\u{a0}%")),
        (None, None) => None,
    }
}

/// Groups that fail or hold by themselves, but could do so by chance among so many.
fn chance(groups: &[Row<'_>], input: &ClaimInput<'_>) -> String {
    ["fails", "holds"].iter().filter_map(|verdict| by_chance(groups, verdict, input)).collect()
}

fn by_chance(groups: &[Row<'_>], verdict: &str, input: &ClaimInput<'_>) -> Option<String> {
    let all: Vec<Row<'_>> = groups.iter().filter(|row| row.text("verdict") == verdict).copied().collect();
    let found: Vec<Row<'_>> =
        all.iter().filter(|row| could_be_chance(row, input.confidence)).copied().collect();
    let smallest = found.iter().filter_map(|row| row.real("p_holm")).reduce(f64::min)?;
    let verb = verdict.trim_end_matches('s');
    let which = match (found.len(), all.len()) {
        (1, 1) => format!("The one that {verdict}"),
        (some, many) if some == many => format!("All {many} that {verb}"),
        (some, many) => format!("{some} of the {many} that {verb}{}", named(&found, groups, input)),
    };
    let whose = if found.len() == 1 { "its p" } else { "the smallest p of them" };
    let limit = 1.0 - input.confidence;
    Some(format!(
        " {which} could do so by chance, given {} groups tested: after Holm's correction {whose} is {}, and it takes at most {}.",
        in_the_family(groups),
        unlike(smallest, limit),
        significant(limit, 2)
    ))
}

/// A p in so many digits that it does not look like the limit that it misses.
fn unlike(p: f64, limit: f64) -> String {
    let limit = significant(limit, 2);
    (2..6)
        .map(|digits| significant(p, digits))
        .find(|text| *text != limit)
        .unwrap_or_else(|| "just above".to_owned())
}

/// ` (under 18.5; 18.5-24.9)`, or nothing for many.
fn named(found: &[Row<'_>], groups: &[Row<'_>], input: &ClaimInput<'_>) -> String {
    if (1..=MOST_NAMED).contains(&found.len()) {
        format!(" ({})", names(found, groups, input).join("; "))
    } else {
        String::new()
    }
}

/// Groups by name, and by grouping where there are several, whose groups may look alike.
fn names(found: &[Row<'_>], groups: &[Row<'_>], input: &ClaimInput<'_>) -> Vec<String> {
    let several = groups.iter().any(|row| row.text("grouping") != groups[0].text("grouping"));
    let mut named: Vec<String> = Vec::new();
    let mut last = "";
    for row in found {
        let grouping = row.text("grouping");
        let lead = if several && grouping != last {
            format!("{}: ", input.labels.grouping(grouping))
        } else {
            String::new()
        };
        named.push(format!("{lead}{}", row.text("group")));
        last = grouping;
    }
    named
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Labels;
    use crate::report::claim::tests::input;
    use crate::table::{Table, schema};

    /// Verdict, p by Holm, and of a withheld share the end that decides.
    type Group = (&'static str, Option<f64>, Option<f64>);

    fn said(all: &str, groups: &[Group]) -> String {
        let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
        let everybody = [("everybody", "everybody", ("holds", None, None))];
        let single = groups.iter().zip(["a", "b", "c", "d", "e"]).map(|(found, name)| ("sex", name, *found));
        for (grouping, group, (verdict, p, upper)) in
            everybody.into_iter().chain(single).chain([(ALL_GROUPS, ALL_GROUPS, (all, None, None))])
        {
            let row = table.row().text("index", "i").real("threshold", Some(2.0)).text("side", "below");
            let row = row.text("claim", "c").text("grouping", grouping).text("group", group);
            let row = row.text("verdict", verdict).real("p_holm", p).real("upper", upper);
            row.text("withheld", if upper.is_some() { "wide" } else { "" }).done().expect("a row");
        }
        let labels = Labels::default();
        let stated = Stated::of(&table.iter().next().expect("a row")).expect("a threshold");
        verdict(&stated, "c", &input(&table, &labels))
    }

    #[test]
    fn an_undecided_claim_of_about_so_much_says_why_another_may_be_undecided_too() {
        let said = |relation: &str| {
            let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
            let row = table.row().text("verdict", "undecided").text("relation", relation);
            let row = row.real("value", Some(42.3)).real("lower", Some(38.9)).real("upper", Some(45.7));
            row.real("claimed_from", Some(35.0)).real("claimed_to", Some(45.0)).done().expect("a row");
            of_everybody(&table.iter().next().expect("a row"))
        };
        assert_eq!(
            said("about"),
            "undecided (the interval, 38.9 to 45.7\u{a0}%, lies partly within the 35.0 to 45.0\u{a0}% claimed and partly \
             outside, as it may for a number near the one claimed, too)"
        );
        assert_eq!(said("at least"), "undecided");
    }

    #[test]
    fn the_groups_that_fail_hold_or_are_undecided_are_named() {
        let (holds, fails) = (("holds", Some(0.01), None), ("fails", Some(0.02), None));
        assert_eq!(
            said("fails", &[holds, fails, ("undecided", Some(0.4), None)]),
            "Claim “c”, asked of all 3 groups: does NOT hold in all of them. It fails in 1 (b), is undecided in 1 (c), holds in \
             1 (a). Everybody taken together: holds."
        );
        assert_eq!(
            said("holds", &[holds, holds]),
            "Claim “c”, asked of all 2 groups: HOLDS in all of them. Everybody taken together: holds."
        );
    }

    #[test]
    fn of_one_group_it_is_said_once_what_came_of_it() {
        let of = |verdict: &'static str| said(verdict, &[(verdict, Some(0.3), None)]);
        assert_eq!(
            of("undecided"),
            "Claim “c”, asked of one group, “a”: UNDECIDED there. Everybody taken together: holds."
        );
        let alone = said("holds", &[("holds", Some(0.01), Some(7.0))]);
        assert!(alone.contains("HOLDS there. It is judged by the interval alone"), "{alone}");
        assert_eq!(
            said("fails", &[("fails", Some(0.01), None)]),
            "Claim “c”, asked of one group, “a”: FAILS there. Everybody taken together: holds."
        );
    }

    #[test]
    fn what_a_group_says_by_itself_may_be_chance_among_many_whichever_it_is() {
        let sure = ("holds", Some(0.01), None);
        let maybe = |verdict| (verdict, Some(0.0504), None);
        let text = said("undecided", &[sure, maybe("holds"), ("fails", Some(0.088), None), maybe("fails")]);
        assert!(text.contains(
            "holds for sure only in 1 of 4. By each group's own interval, it fails in 2 (c; d), holds"
        ));
        let chance = "All 2 that fail could do so by chance, given 4 groups tested: after Holm's correction the smallest p of \
                      them is 0.0504, and it takes at most 0.05. 1 of the 2 that hold (b) could do so by chance, given 4 groups \
                      tested: after Holm's correction its p is 0.0504, and it takes at most 0.05.";
        assert!(text.contains(chance), "{text}");
        assert!(!said("fails", &[sure, ("fails", Some(0.05), None)]).contains("chance"));
    }

    #[test]
    fn a_verdict_by_the_interval_alone_says_so() {
        let text = said("holds", &[("holds", Some(0.01), None), ("holds", Some(0.01), Some(7.06))]);
        let words = "Of these, b (up to 7.1\u{a0}%) is judged by the interval alone, as the share itself is too uncertain to print.";
        assert!(text.contains(words), "{text}");
        let many = said("holds", &[("holds", Some(0.01), Some(7.0)); 5]);
        assert!(many.contains("Of these, 5 are judged by the interval alone"), "{many}");
    }
}

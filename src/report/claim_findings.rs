//! What came of each claim, in sentences, and what a claim must be warned of.

use super::claim::{ClaimInput, Stated, in_unit};
use crate::table::Row;
use crate::table::number::significant;
use crate::table::schema::ALL_GROUPS;

/// More groups than this are counted and not named.
const MOST_NAMED: usize = 4;

/// Measures that belong to one side of a threshold whichever is stated, and how they are said to.
const COUNTED: [(&str, &str); 4] = [
    ("sensitivity", "sensitivity counts people"),
    ("ppv", "the positive predictive value counts people"),
    ("specificity", "specificity is that of a sign"),
    ("npv", "the negative predictive value counts people"),
];

/// What ends an answer that no claim was put to; what it suggests is about the stated side.
pub(super) fn no_verdict(stated: &Stated<'_>, input: &ClaimInput<'_>) -> String {
    let outcome =
        if input.table.iter().any(|row| row.text("measure") == "npv") { "" } else { "--outcome … " };
    let side = format!("{} {}", stated.side, in_unit(input.labels, stated.index, stated.value));
    let (means, says) = if stated.is_beyond(input.labels) {
        let says = format!("sensitivity at least 80 %\" (of those who have it, how many are {side})");
        (format!("it means to be {side}"), says)
    } else {
        ("“fine” means".to_owned(), format!("npv at least 90 %\" (of those {side}, how many do not have it)"))
    };
    format!("No verdict: say what {means}, such as {outcome}--says \"{says}.")
}

/// Several claims of several thresholds: each is put to each, which a reader may not have meant.
pub(super) fn crossed(stated: &[Stated<'_>], input: &ClaimInput<'_>) -> Option<String> {
    let claims = stated.first().map_or(0, |first| first.claims(input.table).len());
    (stated.len() > 1 && claims > 1).then(|| {
        format!(
            "Each of the {claims} claims is put to each of the {} thresholds: {} verdicts, the threshold named in each. For a \
             claim about one threshold only, ask once for each.",
            stated.len(),
            claims * stated.len()
        )
    })
}

/// A claim about a measure of the side that the sentence does not speak of: natural for nobody but its author.
pub(super) fn wrong_side(stated: &Stated<'_>, input: &ClaimInput<'_>) -> Vec<String> {
    let at = in_unit(input.labels, stated.index, stated.value);
    let [beyond, short] = stated.sides(input.labels);
    let mut found: Vec<String> = Vec::new();
    for claim in stated.claims(input.table) {
        let rows = stated.of_claim(input.table, claim);
        let measure = rows.first().map_or("", |row| row.text("measure"));
        let Some((_, counts)) = COUNTED.iter().find(|(name, _)| *name == measure) else { continue };
        let (counted, which) =
            if measure == "npv" { (short, "less resistant") } else { (beyond, "resistant") };
        let said = format!(
            "CAUTION: your sentence speaks of values {} {at}; {counts} {counted} {at}, the {which} side. Did you mean {} {}?",
            stated.side,
            option(counted),
            significant(stated.value, 6)
        );
        if counted != stated.side && !found.contains(&said) {
            found.push(said);
        }
    }
    found
}

/// The option that states a side.
fn option(side: &str) -> &'static str {
    match side {
        "below" => "--below",
        "at or below" => "--at-most",
        "at or above" => "--at-least",
        _ => "--above",
    }
}

/// One sentence for each claim: for all groups, then which groups say what.
pub(super) fn verdicts(stated: &Stated<'_>, input: &ClaimInput<'_>) -> Vec<String> {
    stated.claims(input.table).into_iter().map(|claim| verdict(stated, claim, input)).collect()
}

fn verdict(stated: &Stated<'_>, claim: &str, input: &ClaimInput<'_>) -> String {
    let rows = stated.of_claim(input.table, claim);
    let one = |grouping: &str| rows.iter().find(|row| row.text("grouping") == grouping);
    if !stated.divides(input.table) {
        return format!("Claim “{claim}”: CANNOT TELL, because the threshold separates nobody.");
    }
    let everybody = one("everybody").map_or("cannot tell", |row| row.text("verdict"));
    let Some(all) = one(ALL_GROUPS) else {
        return format!("Claim “{claim}”, everybody taken together: {}.", everybody.to_uppercase());
    };
    let groups: Vec<Row<'_>> = rows
        .iter()
        .copied()
        .filter(|row| !["everybody", ALL_GROUPS].contains(&row.text("grouping")))
        .collect();
    let parts = [
        ("holds", "it holds in"),
        ("fails", "fails in"),
        ("undecided", "is undecided in"),
        ("cannot tell", "cannot be told in"),
    ];
    let parts: Vec<String> =
        parts.iter().filter_map(|(verdict, words)| part(&groups, (verdict, words), input)).collect();
    let singly = fail_singly(all, &groups, input.confidence);
    let remark = match all.text("notices") {
        "" => String::new(),
        notice => format!(" Note: {notice}."),
    };
    format!(
        "Claim “{claim}”, in every single one of {} groups: {}. By each group's own interval, {}.{singly} Everybody taken \
         together: {everybody}.{remark}",
        groups.len(),
        all.text("verdict").to_uppercase(),
        parts.join(", "),
    )
}

/// Why all groups are undecided though some fail by their own intervals.
fn fail_singly(all: &Row<'_>, groups: &[Row<'_>], confidence: f64) -> String {
    let failing = groups.iter().filter(|row| row.text("verdict") == "fails");
    let smallest = failing.filter_map(|row| row.real("p_holm")).reduce(f64::min);
    match smallest.filter(|_| all.text("verdict") == "undecided") {
        Some(p) => format!(
            " A group that fails by itself could do so by chance among so many: after Holm's correction the smallest p of them is \
             {}, and a verdict for all needs one below {}.",
            significant(p, 2),
            significant(1.0 - confidence, 2)
        ),
        None => String::new(),
    }
}

/// `fails in 2 (under 18.5; 18.5-24.9)`; by grouping where there are several, whose groups may look alike.
fn part(groups: &[Row<'_>], (verdict, words): (&str, &str), input: &ClaimInput<'_>) -> Option<String> {
    let found: Vec<&Row<'_>> = groups.iter().filter(|r| r.text("verdict") == verdict).collect();
    let several = groups.iter().any(|row| row.text("grouping") != groups[0].text("grouping"));
    let mut named: Vec<String> = Vec::new();
    let mut last = "";
    for row in &found {
        let grouping = row.text("grouping");
        let lead = if several && grouping != last {
            format!("{}: ", input.labels.grouping(grouping))
        } else {
            String::new()
        };
        named.push(format!("{lead}{}", row.text("group")));
        last = grouping;
    }
    let named = if (1..=MOST_NAMED).contains(&found.len()) && found.len() < groups.len() {
        format!(" ({})", named.join("; "))
    } else {
        String::new()
    };
    (!found.is_empty()).then(|| format!("{words} {}{named}", found.len()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::{Table, schema};

    #[test]
    fn a_group_that_fails_by_itself_is_not_enough_among_many() {
        let said = |all: &str| {
            let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
            for (grouping, verdict, p) in [
                (ALL_GROUPS, all, None),
                ("sex", "fails", Some(0.088)),
                ("sex", "fails", Some(0.2)),
                ("sex", "undecided", Some(0.01)),
            ] {
                let row = table.row().text("grouping", grouping).text("verdict", verdict).real("p_holm", p);
                row.done().expect("a row");
            }
            let rows: Vec<Row<'_>> = table.iter().collect();
            fail_singly(&rows[0], &rows[1..], 0.95)
        };
        assert!(
            said("undecided").contains("the smallest p of them is 0.088")
                && said("undecided").contains("below 0.05")
        );
        assert_eq!((said("fails"), said("holds")), (String::new(), String::new()));
    }
}

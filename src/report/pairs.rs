//! Which groups' cutoffs differ, and how much the method matters, in sentences.

use crate::chart::Labels;
use crate::table::number::{aligned, decimals, fixed};
use crate::table::schema::{ALONE, DIFFER};
use crate::table::{Row, Table};

use super::moves::LEADING;
use super::sentence::{places, times_as_high};

/// One sentence on pairs of groups and one on methods, about the index and outcome of the answer.
pub(super) fn sentences(tables: &[Table], labels: &Labels) -> Vec<String> {
    let table = |name: &str| tables.iter().find(|table| table.name == name);
    let asked = table("threshold_shares").and_then(|t| t.iter().next()).map(|row| row.text("index"));
    let about = |name: &str| -> Vec<Row<'_>> {
        let rows = || table(name).into_iter().flat_map(Table::iter);
        let of_index = |row: &Row<'_>| asked.is_none_or(|index| row.text("index") == index);
        let first = rows().find(|row| of_index(row) && !row.text("outcome").is_empty());
        let same = |row: &Row<'_>| {
            first.is_some_and(|f| ["index", "outcome"].iter().all(|c| f.text(c) == row.text(c)))
        };
        rows().filter(same).collect()
    };
    pairs(&about("cutoff_pairs"), labels)
        .into_iter()
        .chain(methods(&about("cutoff_methods"), labels))
        .collect()
}

/// A pair differs only where its groups together do: a pair picked from many is no finding of its own.
fn pairs(rows: &[Row<'_>], labels: &Labels) -> Option<String> {
    let between = |row: &&Row<'_>| {
        row.text("method") == LEADING
            && row.text("other_group") != "everybody"
            && !row.text("grouping").contains(" × ")
            && row.shown("p_holm").is_some()
    };
    let mut tested: Vec<&Row<'_>> = rows.iter().filter(between).collect();
    once(&mut tested);
    let first = tested.first()?;
    let (differing, alone): (Vec<&Row<'_>>, Vec<&Row<'_>>) = tested
        .iter()
        .copied()
        .filter(|row| [DIFFER, ALONE].contains(&row.text("conclusion")))
        .partition(|row| row.text("conclusion") == DIFFER);
    let what = format!(
        "Of {} pairs of groups by single variables that have smoothed cutoffs of {} for {}",
        tested.len(),
        labels.index_label(first.text("index")),
        labels.outcome(first.text("outcome"))
    );
    let far = |row: &Row<'_>| row.shown("ratio").map_or(0.0, |ratio| ratio.ln().abs());
    let widest = if differing.is_empty() { &alone } else { &differing };
    let Some(first) = widest.iter().max_by(|a, b| far(a).total_cmp(&far(b))) else {
        return Some(format!(
            "{what}, none differ by more than noise, which does not show that they are equal."
        ));
    };
    let apart = apart(first, labels)?;
    if differing.is_empty() {
        return Some(format!(
            "{what}, none differ by more than noise: {apart}, would when the pairs of that variable are taken alone, but the test \
             of all its groups together does not tell them apart."
        ));
    }
    let verb = if differing.len() == 1 { "differs" } else { "differ" };
    Some(format!(
        "{what}, {} {verb} by more than noise (p by Holm over the pairs of a variable whose groups together differ); the widest \
         apart are {apart}.",
        differing.len()
    ))
}

/// What a pair of the same people has alike, whatever two groupings call them.
const OF_PAIR: [&str; 4] = ["cutoff", "other_cutoff", "standard_error", "p"];

/// Two groupings may share groups under other names; pairs of one grouping are never the same.
fn once(pairs: &mut Vec<&Row<'_>>) {
    let mut seen: Vec<(String, [Option<f64>; 4])> = Vec::new();
    pairs.retain(|row| {
        let numbers = OF_PAIR.map(|column| row.shown(column));
        let grouping = row.text("grouping");
        let new = !seen.iter().any(|(of, known)| of != grouping && *known == numbers);
        seen.push((grouping.to_owned(), numbers));
        new
    });
}

/// `men and women by sex, 1.46 times as high (1.08–1.76)`.
fn apart(widest: &Row<'_>, labels: &Labels) -> Option<String> {
    // The higher over the lower, whichever way round the table has them.
    let ratio = widest.shown("ratio")?;
    let ends = widest.shown("ratio_lower").zip(widest.shown("ratio_upper"));
    let groups = (widest.text("group"), widest.text("other_group"));
    let ((high, low), ratio, ends) = if ratio >= 1.0 {
        (groups, ratio, ends)
    } else {
        ((groups.1, groups.0), 1.0 / ratio, ends.map(|(lower, upper)| (1.0 / upper, 1.0 / lower)))
    };
    let range = ends
        .map(|(lower, upper)| format!(" ({}–{})", aligned(lower, 2), aligned(upper, 2)))
        .unwrap_or_default();
    let by = labels.grouping(widest.text("grouping"));
    Some(format!("{high} and {low} by {by}, {}{range}", times_as_high(ratio)))
}

fn methods(rows: &[Row<'_>], labels: &Labels) -> Option<String> {
    let everybody: Vec<&Row<'_>> = rows
        .iter()
        .filter(|row| row.text("grouping") == "everybody" && row.shown("cutoff").is_some())
        .collect();
    let (first, others) = everybody.split_first()?;
    if others.is_empty() {
        return None;
    }
    let values: Vec<f64> = everybody.iter().filter_map(|row| row.shown("cutoff")).collect();
    let digits = decimals(&values, 3);
    let each: Vec<String> = everybody
        .iter()
        .filter_map(|row| {
            Some(format!("{} ({})", aligned(row.shown("cutoff")?, digits), labels.rule(row.text("method"))))
        })
        .collect();
    let flat = first.shown("flat_from").zip(first.shown("flat_to")).map(|(from, to)| {
        let digits = places(from).max(places(to)).min(4);
        format!(
            "; cutoffs from {} to {} count within 0.01 of the best",
            aligned(from.min(to), digits),
            aligned(from.max(to), digits)
        )
    });
    let honest = first.shown("youden").zip(first.shown("youden_corrected")).map(|(found, corrected)| {
        format!(
            ". Its Youden index of {} as counted becomes {} once choosing it on the same people is allowed for",
            fixed(found, 3),
            fixed(corrected, 3)
        )
    });
    Some(format!(
        "Everybody’s best cutoff of {} for {} by method: {}{}{}.",
        labels.index_label(first.text("index")),
        labels.outcome(first.text("outcome")),
        each.join(", "),
        flat.unwrap_or_default(),
        honest.unwrap_or_default(),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::{Table, schema};

    #[test]
    fn a_pair_that_two_groupings_share_counts_once_and_pairs_of_one_grouping_each() {
        let mut table = Table::new(schema::shape("cutoff_pairs").expect("a table"));
        for (grouping, other, p) in [
            ("bmi_class", "30 and over", 0.01),
            ("obesity", "BMI 30 and over", 0.01),
            ("obesity", "BMI under 25", 0.01),
            ("age", "60 and over", 0.4),
        ] {
            let row = table.row().text("grouping", grouping).text("other_group", other).real("p", Some(p));
            row.real("cutoff", Some(2.2)).real("other_cutoff", Some(3.7)).done().expect("a row");
        }
        let rows: Vec<Row<'_>> = table.iter().collect();
        let mut pairs: Vec<&Row<'_>> = rows.iter().collect();
        once(&mut pairs);
        let others: Vec<&str> = pairs.iter().map(|row| row.text("other_group")).collect();
        assert_eq!(others, ["30 and over", "60 and over"], "both of obesity have the numbers of bmi_class");
        let mut of_one: Vec<&Row<'_>> = rows[1..3].iter().collect();
        once(&mut of_one);
        assert_eq!(of_one.len(), 2);
    }
}

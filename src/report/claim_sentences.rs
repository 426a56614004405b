//! Sentences about a stated threshold: how many people are there, what it finds, what would mean the same.

use super::claim::{ClaimInput, Stated, in_unit};
use super::sentence::{Ends, ends, places, range, range_of_group, withheld};
use crate::chart::Labels;
use crate::table::Row;
use crate::table::number::{aligned, fixed, significant, whole};

/// Sentences about one threshold: everybody, then from whom to whom, one grouping a sentence, the widest first.
pub(super) fn about(stated: &Stated<'_>, input: &ClaimInput<'_>) -> Vec<String> {
    let rows = stated.rows(input.table, "share");
    let at = in_unit(input.labels, stated.index, stated.value);
    let what = format!("{} {} {at}", input.labels.index_label(stated.index), stated.side);
    let mut sentences = vec![everybody(&rows, &what, input)];
    if let Some(outside) = outside(stated, input, &at) {
        sentences.push(outside);
        return sentences;
    }
    sentences.extend(references(stated, &what, input));
    sentences.extend(spreads(&rows).iter().map(|ends| across(ends, input.labels)));
    sentences.extend(finds(stated, input, &at));
    sentences.extend(equivalent(stated, input, &at));
    sentences
}

/// The lowest and highest group of each grouping, the widest spread first; crossings only where nothing else is.
fn spreads<'a>(rows: &[Row<'a>]) -> Vec<Ends<'a>> {
    let mut groupings: Vec<(&str, Vec<Row<'a>>)> = Vec::new();
    for row in rows.iter().filter(|row| row.text("grouping") != "everybody") {
        match groupings.iter_mut().find(|(name, _)| *name == row.text("grouping")) {
            Some((_, groups)) => groups.push(*row),
            None => groupings.push((row.text("grouping"), vec![*row])),
        }
    }
    let single = |name: &str| !name.contains(" × ");
    if groupings.iter().any(|(name, _)| single(name)) {
        groupings.retain(|(name, _)| single(name));
    }
    let mut spread: Vec<Ends<'a>> =
        groupings.iter().filter_map(|(_, groups)| ends(groups, "value")).collect();
    spread.sort_by(|a, b| (b.high.0 - b.low.0).total_cmp(&(a.high.0 - a.low.0)));
    spread
}

/// What the threshold does with the outcome that is meant, for everybody.
fn finds(stated: &Stated<'_>, input: &ClaimInput<'_>, at: &str) -> Option<String> {
    let all =
        |measure| stated.rows(input.table, measure).into_iter().find(|r| r.text("grouping") == "everybody");
    let (found, passed) = (all("sensitivity")?, all("specificity")?);
    let [beyond, _] = stated.sides(input.labels);
    let outcome = input.labels.outcome(found.text("outcome"));
    let lead = format!("As a sign of {outcome}, {} {beyond} {at}:", input.labels.index_label(stated.index));
    Some(match (found.shown("value"), passed.shown("value")) {
        (Some(found_share), Some(passed_share)) => format!(
            "{lead} it finds {} %{} of the people with the outcome and passes over {} %{} of those without it.",
            fixed(found_share, 0),
            range(&found, 0),
            fixed(passed_share, 0),
            range(&passed, 0)
        ),
        (shown, _) => {
            let why = if shown.is_none() { found } else { passed };
            format!("{lead} what it finds is withheld: {}.", why.text("withheld"))
        }
    })
}

/// The values that mean in the groups what the threshold means in everybody, where it differs most.
fn equivalent(stated: &Stated<'_>, input: &ClaimInput<'_>, at: &str) -> Option<String> {
    let rows = stated.rows(input.table, "equivalent");
    let widest = spreads(&rows).into_iter().next()?;
    let places = places(widest.low.0).max(places(widest.high.0)).min(4);
    let end = |(value, row): &(f64, Row<'_>)| format!("{} ({})", aligned(*value, places), row.text("group"));
    Some(format!(
        "The value with the same percentile in its group as {at} has in everybody runs, by {}, from {} to {}.",
        input.labels.grouping(widest.low.1.text("grouping")),
        end(&widest.low),
        end(&widest.high)
    ))
}

fn everybody(rows: &[Row<'_>], what: &str, input: &ClaimInput<'_>) -> String {
    let Some(row) = rows.iter().find(|row| row.text("grouping") == "everybody") else {
        return format!("Nobody of the cohort can be judged by {what}.");
    };
    let survey = input.labels.survey(row.text("survey"));
    let n = row.whole("n").map(whole).unwrap_or_default();
    match row.shown("value") {
        Some(share) => format!(
            "In {survey}, {} %{} of the whole cohort (n = {n}) have {what}.",
            fixed(share, 1),
            range(row, 1)
        ),
        None => format!(
            "In {survey}, the share of the whole cohort (n = {n}) with {what} is withheld: {}.",
            row.text("withheld")
        ),
    }
}

/// The reference groups, whose people are as healthy as the study asks.
fn references(stated: &Stated<'_>, what: &str, input: &ClaimInput<'_>) -> Vec<String> {
    let of_reference = |row: &Row<'_>| {
        row.text("claim").is_empty()
            && row.text("population") != "cohort"
            && row.text("grouping") == "everybody"
            && row.text("measure") == "share"
            && Stated::of(row) == Some(*stated)
    };
    let sentence = |row: Row<'_>| {
        let n = row.whole("n").map(whole).unwrap_or_default();
        let who =
            format!("In the reference group “{}” (n = {n})", input.labels.population(row.text("population")));
        match row.shown("value") {
            Some(share) => format!("{who}, {} %{} have {what}.", fixed(share, 1), range(&row, 1)),
            None => format!("{who}, the share with {what} is withheld: {}.", row.text("withheld")),
        }
    };
    input.table.iter().filter(of_reference).map(sentence).collect()
}

fn across(ends: &Ends<'_>, labels: &Labels) -> String {
    format!(
        "By {}, it runs from {} %{} to {} %{}{}.",
        labels.grouping(ends.low.1.text("grouping")),
        fixed(ends.low.0, 1),
        range_of_group(&ends.low.1, 1),
        fixed(ends.high.0, 1),
        range_of_group(&ends.high.1, 1),
        withheld("share", ends.withheld),
    )
}

/// A threshold that lies beyond all values is answered, but said to be so.
fn outside(stated: &Stated<'_>, input: &ClaimInput<'_>, at: &str) -> Option<String> {
    let (low, high) = input.range?;
    if (low..=high).contains(&stated.value) {
        return None;
    }
    let side = if stated.value < low { "below" } else { "above" };
    Some(format!(
        "{at} lies {side} every value of the cohort, which run from {} to {}: the threshold separates nobody. Is its unit \
         the index's?",
        significant(low, 3),
        in_unit(input.labels, stated.index, significant(high, 3).parse().unwrap_or(high)),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::{Table, schema};

    #[test]
    fn a_reference_group_without_a_number_says_why() {
        let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
        let row = table.row().text("index", "homa_ir").real("threshold", Some(2.0)).text("side", "below");
        let row = row.text("population", "lean").text("grouping", "everybody").text("measure", "share");
        row.whole("n", Some(12)).text("withheld", "fewer than 30 people").done().expect("a row");
        let labels = Labels::default();
        let input = ClaimInput {
            table: &table,
            labels: &labels,
            range: None,
            invented: false,
            demo: false,
            rule: "",
            confidence: 0.95,
            replicates: 100,
            seed: 1,
            left_out: &[],
            source: "",
            study_title: "",
            study_sha256: "",
            version: "",
            asked: &[],
            remarks: &[],
        };
        let stated = Stated::of(&table.iter().next().expect("a row")).expect("a threshold");
        let want = "In the reference group “lean” (n = 12), the share with HOMA-IR below 2 is withheld: fewer than 30 people.";
        assert_eq!(references(&stated, "HOMA-IR below 2", &input), [want]);
    }
}

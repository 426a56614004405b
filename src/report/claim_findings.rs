//! What a claim must be warned of, and what to say where none was put.

use super::claim::{ClaimInput, Stated, in_unit};
use super::claim_doubt::in_doubt;
use crate::table::estimate::of_share;
use crate::table::number::significant;

/// Measures that belong to one side of a threshold whichever is stated, and how they are said to.
const COUNTED: [(&str, &str); 4] = [
    ("sensitivity", "sensitivity counts people"),
    ("ppv", "the positive predictive value counts people"),
    ("specificity", "specificity is that of a sign"),
    ("npv", "the negative predictive value counts people"),
];

/// Measures that a claim may be about, in words.
const MEASURES: [(&str, &str); 5] = [
    ("share", "the share of people"),
    ("share_beyond", "the share on the resistant side"),
    ("ppv", "the positive predictive value"),
    ("npv", "the negative predictive value"),
    ("best_cutoff", "the best cutoff"),
];

/// What ends an answer that no claim was put to; what it suggests is about the stated sides, for all thresholds on each.
pub(super) fn no_verdict(stated: &[Stated<'_>], input: &ClaimInput<'_>) -> Option<String> {
    let outcome =
        if input.table.iter().any(|row| row.text("measure") == "npv") { "" } else { "--outcome … " };
    let of_side = |beyond: bool| {
        let on_side = stated.iter().filter(|stated| stated.is_beyond(input.labels) == beyond);
        let sides: Vec<String> = on_side
            .map(|stated| format!("{} {}", stated.side, in_unit(input.labels, stated.index, stated.value)))
            .collect();
        let sides = (!sides.is_empty()).then(|| sides.join(", or "))?;
        Some(if beyond {
            format!("\"sensitivity at least 80 %\" (of those who have it, how many are {sides})")
        } else {
            format!("\"npv at least 90 %\" (of those {sides}, how many do not have it)")
        })
    };
    let says: Vec<String> = [false, true].into_iter().filter_map(of_side).collect();
    (!says.is_empty()).then(|| {
        format!(
            "No verdict, because nothing is claimed: --says puts a claim into numbers, such as {outcome}--says {}.",
            says.join(", or --says ")
        )
    })
}

/// Claims of several thresholds: to which each is put, where a reader may have meant it otherwise.
pub(super) fn crossed(stated: &[Stated<'_>], input: &ClaimInput<'_>) -> Option<String> {
    let put: Vec<usize> = stated.iter().map(|stated| stated.claims(input.table).len()).collect();
    let verdicts: usize = put.iter().sum();
    let measures: Vec<Vec<&str>> = stated.iter().map(|stated| claimed(stated, input)).collect();
    if stated.len() < 2 || verdicts == 0 {
        return None;
    }
    if measures.iter().any(|of| *of != measures[0]) {
        return Some(by_side(stated, &measures, input));
    }
    (put[0] > 1).then(|| {
        format!(
            "Each of the {} claims is put to each of the {} thresholds: {verdicts} verdicts, the threshold named in each. For a \
             claim about one threshold only, ask once for each.",
            put[0],
            stated.len(),
        )
    })
}

/// The measures about which something is claimed of a threshold, in order.
fn claimed<'a>(stated: &Stated<'a>, input: &ClaimInput<'a>) -> Vec<&'a str> {
    let of = |claim| stated.of_claim(input.table, claim).first().map(|row| row.text("measure"));
    stated.claims(input.table).into_iter().filter_map(of).collect()
}

/// Which claims are put to which threshold, where some are about the other side.
fn by_side(stated: &[Stated<'_>], measures: &[Vec<&str>], input: &ClaimInput<'_>) -> String {
    let named = |measure: &str| MEASURES.iter().find(|(name, _)| *name == measure).map(|(_, words)| *words);
    let of = |(stated, measures): (&Stated<'_>, &Vec<&str>)| {
        let side = format!("{} {}", stated.side, in_unit(input.labels, stated.index, stated.value));
        let mut words: Vec<String> = Vec::new();
        for measure in measures {
            let word = named(measure).map_or_else(|| measure.replace('_', " "), str::to_owned);
            if !words.contains(&word) {
                words.push(word);
            }
        }
        let words = if words.is_empty() { "nothing".to_owned() } else { words.join(", ") };
        format!("of {side} {words}")
    };
    let each: Vec<String> = stated.iter().zip(measures).map(of).collect();
    format!(
        "A claim about one side is put only to the thresholds of that side. Claimed are: {}. To put a claim to \
         another threshold, ask that one by itself.",
        each.join("; ")
    )
}

/// What to know of a threshold before its answer is read.
pub(super) fn warnings(stated: &Stated<'_>, input: &ClaimInput<'_>) -> Vec<String> {
    let doubt = in_doubt(stated, input).into_iter().collect();
    [doubt, wrong_side(stated, input), against_values(stated, input)].concat()
}

/// A claim about a measure of the side that the sentence does not speak of: natural for nobody but its author.
fn wrong_side(stated: &Stated<'_>, input: &ClaimInput<'_>) -> Vec<String> {
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
            side_option(counted),
            significant(stated.value, 6)
        );
        if counted != stated.side && !found.contains(&said) {
            found.push(said);
        }
    }
    found
}

/// The option of `claim` that states a side, as words of a table name it.
pub(super) fn side_option(side: &str) -> &'static str {
    match side {
        "below" => "--below",
        "at or below" => "--at-most",
        "at or above" => "--at-least",
        _ => "--above",
    }
}

/// Percentiles of an index of which a low value is the resistant one count people above the value: said before a claim about
/// one is read.
fn against_values(stated: &Stated<'_>, input: &ClaimInput<'_>) -> Vec<String> {
    if !input.labels.lower_is_resistant(stated.index) {
        return Vec::new();
    }
    let claimed = |claim: &&str| {
        let rows = stated.of_claim(input.table, claim);
        let row = rows.iter().find(|row| row.text("measure") == "percentile")?;
        Some(f64::midpoint(row.real("claimed_from")?, row.real("claimed_to")?))
    };
    let claims = stated.claims(input.table);
    claims.iter().filter_map(claimed).map(|percentile| runs_down(stated, percentile, input)).collect()
}

fn runs_down(stated: &Stated<'_>, percentile: f64, input: &ClaimInput<'_>) -> String {
    let label = input.labels.index_label(stated.index);
    let at = in_unit(input.labels, stated.index, stated.value);
    let (above, below) = (significant(percentile, 6), significant(100.0 - percentile, 6));
    let rows = stated.rows(input.table, "percentile");
    let everybody = rows.iter().find(|row| row.text("grouping") == "everybody");
    let here = everybody.and_then(|row| row.shown("value")).map(|share| {
        let of = |share: f64| of_share(share, None, input.labels.percent_places(1)).0;
        format!(
            " Here {} % of everybody lie above it, and {} % at or below it.",
            of(share),
            of(100.0 - share)
        )
    });
    format!(
        "CAUTION: percentiles of {label} are counted from the least resistant people, who have its highest values: percentile \
         {above} claims that {above} % of people lie above {at}, and {below} % at or below it.{} If your sentence means {above} % \
         at or below {at}, say percentile {below}.",
        here.unwrap_or_default()
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::{IndexLabel, Labels};
    use crate::report::claim::tests::input;
    use crate::table::{Table, schema};

    #[test]
    fn a_percentile_that_counts_people_above_the_value_is_warned_of() {
        let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
        for claim in ["", "QUICKI 0.34 is percentile 39 (± 5)"] {
            let row = table.row().text("index", "quicki").real("threshold", Some(0.34)).text("side", "below");
            let row = row.text("population", "cohort").text("grouping", "everybody").text("claim", claim);
            let row = row.text("measure", "percentile").real("value", Some(54.0));
            row.real("claimed_from", Some(34.0)).real("claimed_to", Some(44.0)).done().expect("a row");
        }
        let said = |lower_is_resistant: bool| {
            let label =
                IndexLabel { label: "QUICKI".to_owned(), lower_is_resistant, ..IndexLabel::default() };
            let labels = Labels { indices: [("quicki".to_owned(), label)].into(), ..Labels::default() };
            let stated = Stated::of(&table.iter().next().expect("a row")).expect("a threshold");
            against_values(&stated, &input(&table, &labels))
        };
        let [caution] = &*said(true) else { panic!("one caution") };
        for words in [
            "CAUTION: percentiles of QUICKI are counted from the least resistant people",
            "percentile 39 claims that 39 % of people lie above 0.34, and 61 % at or below it. Here 54.0 % of everybody lie \
             above it, and 46.0 % at or below it.",
            "say percentile 61.",
        ] {
            assert!(caution.contains(words), "{caution}");
        }
        assert_eq!(said(false), Vec::<String>::new());
    }
}

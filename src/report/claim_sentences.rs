//! Sentences about a stated threshold: how many people are there, what it finds, what would mean the same.

use super::claim::{ClaimInput, Stated, in_unit};
use super::claim_adjusted::adjusted;
use super::claim_doubt::beyond_all;
use super::claim_grids::places_of;
use super::claim_people::{alone, left_out_of_groups, not_counted};
use super::claim_predicts::predicts;
use super::ends::{Ends, certain_ends, ends, shares_run};
use super::sentence::percent;
use crate::chart::Labels;
use crate::table::Row;
use crate::table::estimate::{of_people, of_value};
use crate::table::number::whole;
use crate::table::reasons::explained;

/// Sentences about one threshold: everybody, then from whom to whom, one grouping a sentence, the widest first.
pub(super) fn about(stated: &Stated<'_>, input: &ClaimInput<'_>) -> Vec<String> {
    let rows = stated.rows(input.table, "share");
    let at = in_unit(input.labels, stated.index, stated.value);
    if !stated.divides(input.table) {
        return vec![one_sided(stated, &rows, input)];
    }
    let what = format!("{} {} {at}", input.labels.index_label(stated.index), stated.side);
    let mut sentences = vec![everybody(&rows, &what, input)];
    sentences.extend(population(&rows));
    sentences.extend(not_counted(input, stated.index));
    sentences.extend(left_out_of_groups(&rows, input));
    sentences.extend(references(stated, &what, input));
    sentences.extend(alone(stated, &what, input));
    sentences.extend(spreads(&rows, certain_ends).iter().map(|ends| across(ends, input.labels)));
    sentences.extend(adjusted(stated, input, &at));
    sentences.extend(predicts(stated, input, &at));
    sentences.extend(finds(stated, input, &at));
    sentences.extend(equivalent(stated, (&rows, &at), input));
    sentences
}

/// The lowest and highest group of each grouping, the widest spread first; crossings only where nothing else is.
pub(super) fn spreads<'a>(
    rows: &[Row<'a>],
    ends: impl Fn(&[Row<'a>], &str) -> Option<Ends<'a>>,
) -> Vec<Ends<'a>> {
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
            "{lead} it finds {} of the people with the outcome and rightly leaves out {} of those without it.",
            percent((found_share, &found), 0),
            percent((passed_share, &passed), 0)
        ),
        (shown, _) => {
            let why = if shown.is_none() { found } else { passed };
            format!("{lead} what it finds is withheld: {}.", explained(why.text("withheld")))
        }
    })
}

/// The values that mean in the groups what the threshold means in everybody, where it differs most: all that are printed, as
/// in the table; not where the share of everybody is nothing or all.
fn equivalent(
    stated: &Stated<'_>,
    (shares, at): (&[Row<'_>], &str),
    input: &ClaimInput<'_>,
) -> Option<String> {
    let everybody = shares.iter().find(|row| row.text("grouping") == "everybody")?.shown("value")?;
    if everybody <= 0.0 || everybody >= 100.0 {
        return None;
    }
    let rows = stated.rows(input.table, "equivalent");
    let widest = spreads(&rows, ends).into_iter().next()?;
    let places = places_of(&rows, input.labels);
    let end = |(value, row): &(f64, Row<'_>)| {
        let (value, interval) = of_value(*value, row.shown("lower").zip(row.shown("upper")), places);
        format!("{value}{interval} in “{}”", row.text("group"))
    };
    Some(format!(
        "The value with the same percentile in its group as {at} has in everybody runs, by {}, from {} to {}.",
        input.labels.grouping(widest.low.1.text("grouping")),
        end(&widest.low),
        end(&widest.high)
    ))
}

/// ` aged 20 and over without known diabetes`: what the first sentence must say of the study's people, as it is quoted alone.
fn whom(input: &ClaimInput<'_>) -> String {
    let aged = input.ages.map(|ages| format!(" {ages}")).unwrap_or_default();
    let without = input.without.map(|whom| format!(" without {whom}")).unwrap_or_default();
    aged + &without
}

fn everybody(rows: &[Row<'_>], what: &str, input: &ClaimInput<'_>) -> String {
    let Some(row) = rows.iter().find(|row| row.text("grouping") == "everybody") else {
        return format!("Nobody of the cohort can be judged by {what}.");
    };
    let survey = input.labels.survey(row.text("survey"));
    let n = row.whole("n").map_or_else(|| "not shown".to_owned(), whole);
    match row.shown("value") {
        Some(share) => {
            let whom = whom(input);
            let share = percent((share, row), input.labels.percent_places(1));
            format!("In {survey}, {share} of the study's people{whom} (n = {n}) have {what}.")
        }
        None => format!(
            "In {survey}, the share of the study's people{} (n = {n}) with {what} is withheld: {}.",
            whom(input),
            explained(row.text("withheld"))
        ),
    }
}

/// How many people of the survey's population a share stands for, where its weights tell.
fn population(rows: &[Row<'_>]) -> Option<String> {
    let row = rows.iter().find(|row| row.text("grouping") == "everybody")?;
    let number = row.real("population_number")?;
    let (number, ends) = of_people(number, row.real("population_lower").zip(row.real("population_upper")));
    Some(format!(
        "That is about {number}{ends} people of the survey's population: the share and its interval, times what the weights of \
         the counted people add up to."
    ))
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
        let n = row.whole("n").map_or_else(|| "not shown".to_owned(), whole);
        let who =
            format!("In the reference group “{}” (n = {n})", input.labels.population(row.text("population")));
        match row.shown("value") {
            Some(share) => {
                let share = percent((share, &row), input.labels.percent_places(1));
                format!("{who}, {share} have {what}.")
            }
            None => format!("{who}, the share with {what} is withheld: {}.", explained(row.text("withheld"))),
        }
    };
    input.table.iter().filter(of_reference).map(sentence).collect()
}

fn across(ends: &Ends<'_>, labels: &Labels) -> String {
    let overlap = if overlap(ends) { "; these two intervals overlap" } else { "" };
    format!("By {}, it {}{overlap}.", labels.grouping(ends.low.1.text("grouping")), shares_run(ends, labels))
}

/// Whether the interval of the lowest group reaches that of the highest.
fn overlap(ends: &Ends<'_>) -> bool {
    ends.low.1.shown("upper").zip(ends.high.1.shown("lower")).is_some_and(|(upper, lower)| upper >= lower)
}

/// A threshold that lies beyond all values: this, and nothing else.
fn one_sided(stated: &Stated<'_>, rows: &[Row<'_>], input: &ClaimInput<'_>) -> String {
    let n = rows.first().and_then(|row| row.whole("n")).unwrap_or_default();
    let survey = rows.first().map_or("", |row| input.labels.survey(row.text("survey")));
    match input.range {
        Some((low, high)) if !(low..=high).contains(&stated.value) => {
            beyond_all((stated, n), (survey, (low, high)), input)
        }
        _ => format!(
            "In {survey}, everybody of the cohort (n = {}) is on one side of {} {}: the threshold separates nobody.",
            whole(n),
            input.labels.index_label(stated.index),
            in_unit(input.labels, stated.index, stated.value)
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::claim::tests::input;
    use crate::table::{Table, schema};

    fn table() -> Table {
        Table::new(schema::shape("claim").expect("the table of claims"))
    }

    /// What is said of the first threshold of a table.
    fn said<T>(table: &Table, say: impl Fn(&Stated<'_>, &ClaimInput<'_>) -> T) -> T {
        let labels = Labels::default();
        let stated = Stated::of(&table.iter().next().expect("a row")).expect("a threshold");
        say(&stated, &input(table, &labels))
    }

    #[test]
    fn the_first_sentence_says_of_what_ages_the_people_are() {
        let table = groups(50.0);
        let labels = Labels::default();
        let stated = Stated::of(&table.iter().next().expect("a row")).expect("a threshold");
        let of = |ages| ClaimInput { ages, without: Some("known diabetes"), ..input(&table, &labels) };
        let aged = about(&stated, &of(Some("aged 20 and over"))).swap_remove(0);
        let whom = "50.0\u{a0}% (49.9–50.1) of the study's people aged 20 and over without known diabetes (n = not shown) have";
        assert!(aged.contains(whom), "{aged}");
        assert!(about(&stated, &of(None))[0].contains("people without known diabetes"));
    }

    #[test]
    fn a_reference_group_without_a_number_says_why() {
        let mut table = table();
        let row = table.row().text("index", "homa_ir").real("threshold", Some(2.0)).text("side", "below");
        let row = row.text("population", "lean").text("grouping", "everybody").text("measure", "share");
        row.whole("n", Some(12)).text("withheld", "fewer than 30 people").done().expect("a row");
        let want = "In the reference group “lean” (n = 12), the share with HOMA-IR below 2 is withheld: fewer than 30 people.";
        assert_eq!(said(&table, |s, input| references(s, "HOMA-IR below 2", input)), [want]);
    }

    /// Shares and equivalents of four groups: one without an interval of its share, one without one of its equivalent.
    fn groups(everybody: f64) -> Table {
        let mut table = table();
        let rows = [
            ("everybody", everybody, true, 2.0, true),
            ("thin", 90.0, false, 1.0, true),
            ("lean", 70.0, true, 1.5, true),
            ("heavy", 40.0, true, 2.5, true),
            ("heaviest", 20.0, true, 3.5, false),
        ];
        for (group, share, share_has, equivalent, equivalent_has) in rows {
            let both = [("share", share, share_has), ("equivalent", equivalent, equivalent_has)];
            for (measure, value, has_interval) in both {
                let row = table.row().text("index", "homa_ir").real("threshold", Some(2.0));
                let grouping = if group == "everybody" { group } else { "bmi" };
                let row = row.text("side", "below").text("population", "cohort").text("grouping", grouping);
                let row = row.text("group", group).text("measure", measure).real("value", Some(value));
                let end = |by: f64| has_interval.then_some(value + by);
                row.real("lower", end(-0.1)).real("upper", end(0.1)).done().expect("a row");
            }
        }
        table
    }

    #[test]
    fn headlines_agree_with_the_table_and_compare_shares_only_with_intervals() {
        let all = said(&groups(50.0), about);
        let by: Vec<&String> = all.iter().filter(|sentence| sentence.starts_with("By bmi")).collect();
        let shares = "By bmi, it runs from 20.0\u{a0}% (19.9–20.1) in “heaviest” to 70.0\u{a0}% (69.9–70.1) in “lean”; \
                      the share of one group is withheld.";
        assert_eq!(by, [shares]);
        // From 1.0 (thin), although its share has no interval, to 3.5 (heaviest), which has none itself: the table prints both.
        let last = all.last().expect("a sentence");
        assert!(
            last.ends_with("runs, by bmi, from 1.00 (0.90–1.10) in “thin” to 3.50 in “heaviest”."),
            "{last}"
        );
    }

    #[test]
    fn nothing_means_the_same_where_nobody_or_everybody_is_there() {
        let said_of = |everybody: f64| said(&groups(everybody), about).join(" ").contains("same percentile");
        assert_eq!([0.0, 0.1, 99.9, 100.0].map(said_of), [false, true, true, false]);
    }

    #[test]
    fn intervals_that_overlap_are_said_to() {
        let said = |low: f64, high: f64| {
            let mut table = table();
            for (group, value) in [("young", low), ("old", high)] {
                let row = table.row().text("grouping", "age").text("group", group).real("value", Some(value));
                row.real("lower", Some(value - 5.0)).real("upper", Some(value + 5.0)).done().expect("a row");
            }
            let ends = certain_ends(&table.iter().collect::<Vec<_>>(), "value").expect("two groups");
            across(&ends, &Labels::default())
        };
        assert!(said(43.8, 47.0).ends_with("in “old”; these two intervals overlap."), "{}", said(43.8, 47.0));
        assert!(!said(30.0, 47.0).contains("overlap"));
    }

    #[test]
    fn a_share_is_told_in_people_where_the_weights_stand_for_them() {
        let said = |number: Option<f64>, ends: [f64; 2]| {
            let mut table = table();
            let row = table.row().text("grouping", "everybody").real("population_number", number);
            let ends = ends.map(|end| number.map(|_| end));
            let row = row.real("population_lower", ends[0]).real("population_upper", ends[1]);
            row.done().expect("a row");
            population(&table.iter().collect::<Vec<_>>())
        };
        let millions = said(Some(90_712_345.0), [84_123_456.0, 97_456_789.0]).expect("people");
        assert!(millions.starts_with("That is about 90.7\u{a0}million (84.1–97.5) people"), "{millions}");
        let whole = said(Some(44_000_000.0), [39_110_000.0, 49_000_000.0]).expect("people");
        assert!(whole.contains("about 44.0\u{a0}million (39.1–49.0) people"), "{whole}");
        let few = said(Some(41_230.0), [30_111.0, 52_222.0]).expect("people");
        assert!(few.starts_with("That is about 41.2\u{a0}thousand (30.1–52.2) people"), "{few}");
        assert_eq!(said(None, [0.0; 2]), None);
    }
}

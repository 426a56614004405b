//! Who was counted and how many have each outcome, in sentences: the first paragraph of the results.

use crate::chart::Labels;
use crate::table::number::{fixed, significant, whole};
use crate::table::{Row, Table};

use super::methods::{filled, listed};
use super::percentiles::says_yes_or_no;
use super::samples;
use super::sentence::{capital, places, range};

/// One group of sentences for each sample.
pub(super) fn people(tables: &[Table], labels: &Labels) -> Vec<String> {
    let Some(sample) = filled(tables, "sample") else { return Vec::new() };
    let surveys = samples::surveys(std::slice::from_ref(sample));
    surveys.iter().flat_map(|survey| of_survey(tables, sample, (survey, surveys.len() > 1), labels)).collect()
}

fn of_survey(
    tables: &[Table],
    sample: &Table,
    (survey, several): (&str, bool),
    labels: &Labels,
) -> Vec<String> {
    let whose = if several { format!("{survey}: ") } else { String::new() };
    let rows: Vec<Row<'_>> = sample
        .iter()
        .filter(|row| row.text("population") == "cohort" && row.text("survey") == survey)
        .collect();
    let mut sentences = Vec::new();
    sentences.extend(counted(&rows, labels).map(|text| format!("{whose}{text}")));
    sentences.extend(shares(&rows, labels).map(|text| format!("{whose}{text}")));
    sentences.extend(medians(tables, &rows, labels).map(|text| format!("{whose}{text}")));
    let prevalence = filled(tables, "outcome_prevalence").into_iter().flat_map(Table::iter);
    let everybody = prevalence.filter(|row| {
        row.text("survey") == survey
            && row.text("grouping") == "everybody"
            && row.text("population") == "cohort"
    });
    sentences.extend(everybody.filter_map(|row| outcome(&row, labels)).map(|text| format!("{whose}{text}")));
    sentences
}

/// Variables that split people, each with the rows of its levels.
fn variables<'a>(rows: &[Row<'a>]) -> Vec<Vec<Row<'a>>> {
    let mut found: Vec<Vec<Row<'a>>> = Vec::new();
    for row in rows.iter().filter(|row| row.text("unit") == "%") {
        match found.iter_mut().find(|levels| levels[0].text("variable") == row.text("variable")) {
            Some(levels) => levels.push(*row),
            None => found.push(vec![*row]),
        }
    }
    found
}

/// Variables that count everybody: none of their levels is withheld.
fn counting<'a>(rows: &[Row<'a>]) -> impl Iterator<Item = Vec<Row<'a>>> {
    variables(rows).into_iter().filter(|levels| levels.iter().all(|row| row.whole("n").is_some()))
}

/// People of a cohort by the rows of the table of who is in it.
pub(super) fn cohort(rows: &[Row<'_>]) -> Option<i64> {
    Some(counting(rows).next()?.iter().filter_map(|row| row.whole("n")).sum())
}

/// How many people the cohort stands for, where weights stand for people; else that they were weighted, when they were.
fn counted(rows: &[Row<'_>], labels: &Labels) -> Option<String> {
    // A cycle of a pooled study has no people of the population.
    let weighed = |levels: &Vec<Row<'_>>| levels.iter().any(|row| row.real("weighted_n").is_some());
    let first = counting(rows).find(weighed)?;
    let people: i64 = first.iter().filter_map(|row| row.whole("n")).sum();
    let weighted: f64 = first.iter().filter_map(|row| row.real("weighted_n")).sum();
    if (weighted - people as f64).abs() < 0.5 {
        return None;
    }
    let people = whole(people);
    if !labels.weights_are_people {
        return Some(format!("The cohort has {people} people; all shares are weighted."));
    }
    let many = if weighted >= 1e6 {
        format!("{} million", significant(weighted / 1e6, 3))
    } else {
        whole(weighted.round() as i64)
    };
    Some(format!(
        "The {people} people of the cohort stand for {many} of the survey’s target population; all shares are weighted."
    ))
}

/// `By sex: 52.1 % female and 47.9 % male; …`.
fn shares(rows: &[Row<'_>], labels: &Labels) -> Option<String> {
    let each: Vec<String> = variables(rows)
        .iter()
        .filter_map(|levels| {
            let one = |row: &Row<'_>| {
                let share = fixed(row.shown("value")?, labels.percent_places(1));
                Some(format!("{share} % {}", row.text("level")))
            };
            let parts: Vec<String> = levels.iter().filter_map(one).collect();
            if parts.is_empty() {
                return None;
            }
            Some(format!("by {}, {}", labels.grouping(levels[0].text("variable")), listed(&parts)))
        })
        .collect();
    (!each.is_empty()).then(|| format!("{}.", capital(&each.join("; "))))
}

/// Of indices that say more than yes or no.
fn medians(tables: &[Table], rows: &[Row<'_>], labels: &Labels) -> Option<String> {
    let one = |row: &Row<'_>| {
        let value = row.shown("value")?;
        let digits = places(value).min(4);
        let index = labels.index_with_unit(row.text("variable"));
        Some(format!("{index}, {}{}", fixed(value, digits), range(row, digits)))
    };
    let told = |row: &&Row<'_>| {
        row.text("level") == "median" && !says_yes_or_no(tables, labels, row.text("variable"))
    };
    let each: Vec<String> = rows.iter().filter(told).filter_map(one).collect();
    (!each.is_empty()).then(|| format!("Medians are: {}.", each.join("; ")))
}

/// `38.7 % (35.8–41.6) have metabolic syndrome (1152 of 2812 people; unknown for 121).`
fn outcome(row: &Row<'_>, labels: &Labels) -> Option<String> {
    let count = |column: &str| row.whole(column).map(whole);
    let places = labels.percent_places(1);
    let unknown = match row.whole("n_unknown") {
        None | Some(0) => String::new(),
        Some(people) => format!("; unknown for {}", whole(people)),
    };
    Some(format!(
        "{} %{} have the outcome “{}” ({} of {} people{unknown}).",
        fixed(row.shown("prevalence")?, places),
        range(row, places),
        labels.outcome(row.text("outcome")),
        count("n_with")?,
        count("n")?,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    #[test]
    fn weights_that_stand_for_no_people_are_not_told_as_people() {
        let mut sample = Table::new(schema::shape("sample").expect("a table"));
        for (level, n, weighted) in [("female", 300, 320.5), ("male", 257, 272.5)] {
            let row = sample.row().text("survey", "s").text("population", "cohort").text("variable", "sex");
            let row = row.text("level", level).text("unit", "%").whole("n", Some(n));
            row.real("weighted_n", Some(weighted)).done().expect("a row");
        }
        let first = |labels: &Labels| people(std::slice::from_ref(&sample), labels).swap_remove(0);
        assert_eq!(first(&Labels::default()), "The cohort has 557 people; all shares are weighted.");
        let survey = Labels { weights_are_people: true, ..Labels::default() };
        assert!(first(&survey).starts_with("The 557 people of the cohort stand for 593 of the survey’s"));
    }
}

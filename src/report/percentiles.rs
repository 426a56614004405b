//! Percentiles as cutoffs, in sentences: of the reference groups where the study has some, else of the cohort.

use crate::chart::Labels;
use crate::table::number::{fixed, significant, whole};
use crate::table::{Row, Table};

use super::answer::widest_grouping;
use super::ends::{Ends, ends, withheld};
use super::finding::Finding;
use super::methods::{filled, listed};
use super::moves;
use super::samples;
use super::sentence::{places, range, range_of_group};
use super::strip::{Number, Scale, Strip, across, outer};

/// The percentiles of one index among the same people.
struct Asked<'a> {
    survey: &'a str,
    rows: Vec<Row<'a>>,
}

/// The highest percentile of the first index, for a run that has no other cutoff to lead with.
pub(super) fn lead(tables: &[Table], labels: &Labels) -> Vec<Finding> {
    let all = asked(tables, labels);
    let Some(index) = all.first().map(|one| one.rows[0].text("index")) else { return Vec::new() };
    let first = all.iter().filter(|one| one.rows[0].text("index") == index);
    first.filter_map(|one| finding(one, tables, labels)).collect()
}

fn finding(asked: &Asked<'_>, tables: &[Table], labels: &Labels) -> Option<Finding> {
    let text = sentence(asked, tables, labels)?;
    let row = highest(asked)?;
    let number = |row: &Row<'_>| {
        let value = row.shown("value")?;
        let digits = places(value).min(4);
        Number::of(row, "value", 1.0, fixed(value, digits) + &range(row, digits))
    };
    let title = format!("{} percentile of {}", percentile(&row)?, labels.index_with_unit(row.text("index")));
    let groups = outer_groups(asked, &row, tables);
    let title = across(title, groups.as_ref(), labels);
    let strip = Strip::new(Scale::Own, vec![(title, outer(Some(row), groups.as_ref(), number))]);
    Some(Finding { heading: "Where the percentile lies", text, command: None, strip })
}

/// Every index: its highest percentile with the groups, then the others.
pub(super) fn sentences(tables: &[Table], labels: &Labels) -> Vec<String> {
    let all = asked(tables, labels);
    all.iter().flat_map(|one| sentence(one, tables, labels).into_iter().chain(others(one))).collect()
}

/// By survey, index and group of people. Of an index that only says yes or no a percentile tells nothing.
fn asked<'a>(tables: &'a [Table], labels: &'a Labels) -> Vec<Asked<'a>> {
    let Some(table) = filled(tables, "percentiles") else { return Vec::new() };
    let surveys = samples::surveys(std::slice::from_ref(table));
    let several = surveys.len() > 1;
    let has_references = table.iter().any(|row| row.text("population") != "cohort");
    let wanted = |row: &Row<'_>| {
        (row.text("population") != "cohort") == has_references
            && !says_yes_or_no(tables, labels, row.text("index"))
    };
    let mut all: Vec<Asked<'a>> = Vec::new();
    for row in table.iter().filter(wanted) {
        let same = |one: &&mut Asked<'a>| {
            ["survey", "index", "population"].iter().all(|c| one.rows[0].text(c) == row.text(c))
        };
        if let Some(one) = all.iter_mut().find(same) {
            one.rows.push(row);
        } else {
            let name = row.text("survey");
            let survey = if several { name } else { labels.survey(name) };
            all.push(Asked { survey, rows: vec![row] });
        }
    }
    all
}

/// Whether an index takes only 1 and 0, by its label or by its percentiles.
pub(super) fn says_yes_or_no(tables: &[Table], labels: &Labels, index: &str) -> bool {
    let rows = filled(tables, "percentiles").into_iter().flat_map(Table::iter);
    let mut values =
        rows.filter(|row| row.text("index") == index).filter_map(|row| row.shown("value")).peekable();
    let by_value = values.peek().is_some() && values.all(|value| [0.0, 1.0].contains(&value));
    by_value || labels.index_label(index).ends_with("(1 or 0)")
}

/// Everybody's percentiles, from the lowest.
fn everybody<'a>(asked: &Asked<'a>) -> Vec<Row<'a>> {
    let mut rows: Vec<Row<'a>> =
        asked.rows.iter().copied().filter(|row| row.text("grouping") == "everybody").collect();
    let percentile = |row: &Row<'_>| row.real("percentile").unwrap_or_default();
    rows.sort_by(|a, b| percentile(a).total_cmp(&percentile(b)));
    rows
}

/// The highest percentile that is printed, else the highest.
fn highest<'a>(asked: &Asked<'a>) -> Option<Row<'a>> {
    let rows = everybody(asked);
    rows.iter().rfind(|row| row.shown("value").is_some()).or(rows.last()).copied()
}

fn sentence(asked: &Asked<'_>, tables: &[Table], labels: &Labels) -> Option<String> {
    let row = highest(asked)?;
    let index = row.text("index");
    let order = if labels.lower_is_resistant(index) { ", in the order of resistance," } else { "" };
    let what = format!(
        "In {}, the {} percentile of {}{order} among {}",
        asked.survey,
        percentile(&row)?,
        labels.index_with_unit(index),
        people(row.text("population"), labels),
    );
    let Some(value) = row.shown("value") else {
        return Some(format!("{what} is withheld: {}.", row.text("withheld")));
    };
    let digits = places(value).min(4);
    let count = row.whole("n").map(|n| format!(", n = {}", whole(n))).unwrap_or_default();
    let across = groups(asked, &row, tables, labels).unwrap_or_default();
    Some(format!("{what} is {}{}{count}{across}.", fixed(value, digits), range(&row, digits)))
}

/// The whole cohort, or a reference group by its label, which may be a list of conditions.
fn people(population: &str, labels: &Labels) -> String {
    let label = labels.population(population);
    if population == "cohort" { label.to_owned() } else { format!("the reference group “{label}”") }
}

/// The lowest and the highest group of the same percentile.
fn outer_groups<'a>(asked: &Asked<'a>, of: &Row<'_>, tables: &[Table]) -> Option<Ends<'a>> {
    let same = asked.rows.iter().copied().filter(|row| row.real("percentile") == of.real("percentile"));
    ends(&widest_grouping(same, "value", &moves::only_adjusting(tables)), "value")
}

/// `; by sex it runs from … to …`.
fn groups(asked: &Asked<'_>, of: &Row<'_>, tables: &[Table], labels: &Labels) -> Option<String> {
    let ends = outer_groups(asked, of, tables)?;
    let digits = places(ends.low.0).max(places(ends.high.0)).min(4);
    Some(format!(
        "; by {} it runs from {}{} to {}{}{}",
        labels.grouping(ends.low.1.text("grouping")),
        fixed(ends.low.0, digits),
        range_of_group(&ends.low.1, digits),
        fixed(ends.high.0, digits),
        range_of_group(&ends.high.1, digits),
        withheld("percentile", ends.withheld),
    ))
}

/// The printed percentiles of the same people besides the highest.
fn others(asked: &Asked<'_>) -> Option<String> {
    let highest = highest(asked)?.real("percentile");
    let one = |row: &Row<'_>| {
        let value = row.shown("value")?;
        let digits = places(value).min(4);
        Some((percentile(row)?, fixed(value, digits) + &range(row, digits)))
    };
    let rows = everybody(asked);
    let printed = rows.iter().filter(|row| row.real("percentile") != highest).filter_map(one);
    let said: Vec<String> = printed
        .enumerate()
        .map(|(position, (which, value))| {
            if position == 0 {
                format!("{which} percentile is {value}")
            } else {
                format!("the {which} {value}")
            }
        })
        .collect();
    (!said.is_empty()).then(|| format!("In the same people, the {}.", listed(&said)))
}

/// `97.5th`.
fn percentile(row: &Row<'_>) -> Option<String> {
    Some(ordinal(&significant(row.real("percentile")?, 6)))
}

/// `1st`, `12th`, `97.5th`, of a number below 100.
pub(super) fn ordinal(number: &str) -> String {
    let ending = match number.as_bytes() {
        figures if figures.contains(&b'.') => "th",
        [b'1', _] => "th",
        [.., b'1'] => "st",
        [.., b'2'] => "nd",
        [.., b'3'] => "rd",
        _ => "th",
    };
    format!("{number}{ending}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    type Told<'a> = (&'a str, &'a str, &'a str, f64, f64);

    /// Percentiles of one index: population, grouping, group, percentile and value.
    fn tables(rows: &[Told<'_>]) -> Vec<Table> {
        let mut table = Table::new(schema::shape("percentiles").unwrap());
        for (population, grouping, group, percentile, value) in rows {
            table
                .row()
                .text("survey", "Place")
                .text("index", "homa_ir")
                .text("population", *population)
                .text("grouping", *grouping)
                .text("group", *group)
                .whole("n", Some(790))
                .real("percentile", Some(*percentile))
                .real("value", Some(*value))
                .real("lower", Some(value - 0.2))
                .real("upper", Some(value + 0.2))
                .done()
                .unwrap();
        }
        vec![table]
    }

    fn told(tables: &[Table]) -> Vec<String> {
        lead(tables, &Labels::default()).into_iter().map(Finding::into_text).collect()
    }

    #[test]
    fn the_highest_percentile_of_the_reference_group_leads_and_the_others_follow() {
        let tables = tables(&[
            ("cohort", "everybody", "everybody", 75.0, 2.95),
            ("healthy", "everybody", "everybody", 50.0, 1.25),
            ("healthy", "everybody", "everybody", 75.0, 1.95),
            ("healthy", "sex", "male", 75.0, 2.15),
            ("healthy", "sex", "female", 75.0, 1.85),
        ]);
        let first = "In Place, the 75th percentile of homa_ir among the reference group “healthy” is 1.95 (1.75–2.15), n = 790; by sex it runs \
                     from 1.85 (1.65–2.05) in “female” to 2.15 (1.95–2.35) in “male”.";
        assert_eq!(told(&tables), [first]);
        let other = "In the same people, the 50th percentile is 1.25 (1.05–1.45).";
        assert_eq!(sentences(&tables, &Labels::default()), [first, other]);
    }

    #[test]
    fn an_index_of_yes_or_no_has_no_percentile_to_tell() {
        let all = ("cohort", "everybody", "everybody");
        let tables = tables(&[(all.0, all.1, all.2, 50.0, 0.0), (all.0, all.1, all.2, 75.0, 1.0)]);
        assert!(says_yes_or_no(&tables, &Labels::default(), "homa_ir"));
        assert_eq!(sentences(&tables, &Labels::default()), Vec::<String>::new());
    }

    #[test]
    fn without_reference_groups_the_cohort_is_told_of() {
        let tables = tables(&[("cohort", "everybody", "everybody", 97.5, 5.95)]);
        let said = told(&tables);
        assert_eq!(
            said,
            [
                "In Place, the 97.5th percentile of homa_ir among the whole cohort is 5.95 (5.75–6.15), n = 790."
            ]
        );
        assert!(!says_yes_or_no(&tables, &Labels::default(), "homa_ir"));
        assert_eq!(told(&[]), Vec::<String>::new());
    }
}

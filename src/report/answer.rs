//! The answer in two sentences, put together from the tables, and a line for every further threshold.

use serde::Serialize;

use crate::chart::Labels;
use crate::table::number::{fixed, whole};
use crate::table::{Row, Table, directions};

use super::adjusted_shares;
use super::curves;
use super::ends::{Ends, ends, outside, shares_run, withheld};
use super::glance::rows;
use super::indices;
use super::left_out;
use super::methods::{filled, listed};
use super::moves;
use super::people;
use super::percentiles;
use super::samples;
use super::sensitivity;
use super::sentence::{beyond, percent, places, range, range_of_group, shorten_repeats};
use super::spared;

#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub(super) struct Answer {
    /// Who is left out, how many are beyond the first threshold, after adjusting too, where the cutoff lies, and how far
    /// choices move it.
    pub lead: Vec<String>,
    /// How to ask whether the first threshold is rightly called fine, and after which paragraph of the lead.
    #[serde(skip)]
    pub verdict: Option<(usize, String)>,
    /// What else is to be said of these: whom the next threshold finds, and how far groups move the smoothed cutoff.
    pub more: Vec<String>,
    /// One sentence for each index: how far its cutoff moves and whether that is more than noise.
    pub moves: Vec<String>,
    /// What the same cutoffs are by other assays, and how shares change over releases.
    pub assays: Vec<String>,
    /// Cutoffs in print laid over the run.
    pub print: Vec<String>,
    /// One sentence for each outcome: which index separates best, and for whom.
    pub which: Vec<String>,
    /// One sentence for each further threshold.
    pub further: Vec<String>,
    /// One sentence for each grouping whose cutoffs are compared on equal terms.
    pub comparisons: Vec<String>,
}

/// The answer of a study. Where no threshold is judged and no cutoff derived, a percentile leads.
pub(super) fn answer(tables: &[Table], labels: &Labels) -> Answer {
    let mut answer = besides_percentiles(tables, labels);
    if let Some((place, verdict)) = answer.verdict.take() {
        answer.lead[place].push_str(&verdict);
    }
    if filled(tables, "threshold_shares").or_else(|| filled(tables, "cutoffs")).is_none() {
        let percentiles = percentiles::lead(tables, labels);
        if answer.lead.is_empty() && !percentiles.is_empty() {
            answer.lead.extend(left_out::sentence(tables, labels, ""));
        }
        let first = answer.lead.len();
        answer.lead.splice(first..first, percentiles);
    }
    answer
}

/// The same without percentiles: that of its one sample, or of each of its samples.
pub(super) fn besides_percentiles(tables: &[Table], labels: &Labels) -> Answer {
    match &samples::surveys(tables)[..] {
        several @ [_, _, ..] => samples::answers(several, tables, labels),
        _ => answer_of_one(tables, labels),
    }
}

pub(super) fn answer_of_one(tables: &[Table], labels: &Labels) -> Answer {
    let table = |name: &str| tables.iter().find(|table| table.name == name);
    let adjusting = moves::only_adjusting(tables);
    let Shares { lead: shares, verdict, mut more, further } = shares(tables, labels, &adjusting);
    let first_index =
        table("threshold_shares").and_then(|table| table.iter().next()).map(|row| row.text("index"));
    let cutoff = table("cutoffs").and_then(|table| cutoff((tables, table), first_index, labels, &adjusting));
    let mut moves = moves::sentences(tables, labels);
    let leading = if moves.is_empty() { None } else { Some(moves.remove(0)) };
    moves.extend(super::pairs::sentences(tables, labels));
    moves.extend(curves::sentences(tables, labels));
    let mut assays = sensitivity::sentences(tables, labels);
    assays.extend(super::trend::sentences(tables, labels));
    let print = super::published::sentences(tables, labels);
    let which = indices::sentences(tables, labels);
    let comparisons = super::standardized::sentences(tables, labels);
    more.extend(leading);
    let mut lead: Vec<String> =
        shares.into_iter().chain(cutoff).chain(sensitivity::lead(tables, labels)).collect();
    let left_out = left_out::sentence(tables, labels, "").filter(|_| !lead.is_empty());
    let verdict = verdict.map(|verdict| (usize::from(left_out.is_some()), verdict));
    lead.splice(0..0, left_out);
    let mut answer = Answer { lead, verdict, more, moves, assays, print, which, further, comparisons };
    let Answer { lead, verdict: _, more, moves, assays, print, which, further, comparisons } = &mut answer;
    let texts = [lead, more, moves, assays, print, which, further, comparisons].into_iter().flatten();
    shorten_repeats(texts, &labels.outcomes.values().map(String::as_str).collect::<Vec<_>>());
    answer
}

/// Sentences on shares.
struct Shares {
    /// What thresholds promise, and how many are beyond them, after adjusting too.
    lead: Vec<String>,
    /// How to ask for a verdict on the first of these sentences.
    verdict: Option<String>,
    /// Whom the next threshold finds.
    more: Vec<String>,
    /// One for each further threshold.
    further: Vec<String>,
}

fn shares(tables: &[Table], labels: &Labels, adjusting: &[&str]) -> Shares {
    let mut all = thresholds(tables, labels, adjusting).into_iter();
    let first = all.next().map(|first| first + &people::sentence(tables, labels) + &others(tables, labels));
    let promised = spared::promises(tables, labels, adjusting);
    let adjusted = adjusted_shares::sentences(tables, labels);
    let lead = promised.lead.into_iter().chain(first).chain(adjusted).collect();
    let more = promised.more.into_iter().collect();
    Shares { lead, verdict: promised.verdict, more, further: all.collect() }
}

/// Everybody's share beyond each threshold, about the cohort.
fn of_everybody(tables: &[Table]) -> impl Iterator<Item = Row<'_>> {
    rows(tables, "threshold_shares")
        .filter(|row| row.text("grouping") == "everybody" && row.text("population") == "cohort")
}

/// A sentence for each threshold, about the cohort.
fn thresholds(tables: &[Table], labels: &Labels, adjusting: &[&str]) -> Vec<String> {
    let key =
        |row: &Row<'_>| (row.text("index").to_owned(), row.real("threshold"), row.text("strict").to_owned());
    let one = |(place, row): (usize, Row<'_>)| {
        let others = rows(tables, "threshold_shares")
            .filter(|other| key(other) == key(&row) && other.text("population") == "cohort");
        let unknown = if place == 0 { people::unknown(tables, &row, labels) } else { String::new() };
        let of = format!("{} (n\u{a0}=\u{a0}{}{unknown})", labels.population("cohort"), people(&row, "n"));
        threshold(&row, &of, &widest_grouping(others, "share_beyond", adjusting), labels)
    };
    of_everybody(tables).enumerate().filter_map(one).collect()
}

/// How many are beyond the other thresholds: of these the question speaks as well.
fn others(tables: &[Table], labels: &Labels) -> String {
    let one = |row: Row<'_>| {
        let what = beyond(labels, row.text("index"), row.text("strict") == "yes", row.real("threshold")?);
        Some(match row.shown("share_beyond") {
            Some(share) => format!("{} are {what}", percent((share, &row), labels.percent_places(1))),
            None => format!("the share {what} is withheld ({})", row.text("withheld")),
        })
    };
    let each: Vec<String> = of_everybody(tables).skip(1).filter_map(one).collect();
    if each.is_empty() { String::new() } else { format!(" Of the cohort, {}.", listed(&each)) }
}

fn threshold(row: &Row<'_>, of: &str, groups: &[Row<'_>], labels: &Labels) -> Option<String> {
    let index = row.text("index");
    let what = beyond(labels, index, row.text("strict") == "yes", row.real("threshold")?);
    let survey = labels.survey(row.text("survey"));
    let Some(share) = row.shown("share_beyond") else {
        return Some(format!("In {survey}, the share of {of} {what} is withheld: {}.", row.text("withheld")));
    };
    let across = |ends| across_shares(share, &ends, labels);
    let across = ends(groups, "share_beyond").map(across).unwrap_or_default();
    Some(format!(
        "In {survey}, {} of {of} are {what}{across}.",
        percent((share, row), labels.percent_places(1))
    ))
}

fn across_shares(everybody: f64, ends: &Ends<'_>, labels: &Labels) -> String {
    let (by, outside) = (labels.grouping(ends.low.1.text("grouping")), outside(everybody, ends));
    format!("; across {by} this {}{outside}", shares_run(ends, labels))
}

/// The sentence about the first rule's cutoff of the first threshold's index.
fn cutoff(
    (tables, table): (&[Table], &Table),
    index: Option<&str>,
    labels: &Labels,
    adjusting: &[&str],
) -> Option<String> {
    let row = table
        .iter()
        .filter(|row| row.text("grouping") == "everybody")
        .find(|row| index.is_none_or(|index| row.text("index") == index))?;
    let same = ["index", "outcome", "population", "rule"];
    let others =
        table.iter().filter(|other| same.iter().all(|column| other.text(column) == row.text(column)));
    let groups = widest_grouping(others, "cutoff", adjusting);
    let what = cutoff_of(&row, labels);
    let across = ends(&groups, "cutoff");
    let outside = across
        .is_some_and(|ends| row.shown("cutoff").is_some_and(|all| all < ends.low.0 || all > ends.high.0));
    let outside = if outside {
        " Everybody’s lies outside the groups’: it is chosen anew among all people at once, and is no mean of theirs."
    } else {
        ""
    };
    let between = across.map(|ends| between(&ends, labels));
    let opposite = directions::sentence(&groups, rows(tables, "smoothed_cutoffs"));
    Some(match (row.shown("cutoff"), between) {
        (Some(value), between) => {
            let single = format!("{}{}", fixed(value, places(value)), range(&row, places(value)));
            let groups = between.map(|text| format!(" and lies between {text}")).unwrap_or_default();
            format!("{what} is {single} for everybody{groups}.{outside}{opposite}")
        }
        (None, Some(text)) => {
            format!(
                "{what} is withheld for everybody ({}); it lies between {text}.{opposite}",
                row.text("withheld")
            )
        }
        (None, None) => format!("{what} is withheld: {}.", row.text("withheld")),
    })
}

/// Which cutoff it is: rule, outcome, reference, survey and n.
fn cutoff_of(row: &Row<'_>, labels: &Labels) -> String {
    let both = if row.whole("n").is_some() { " with index and outcome known" } else { "" };
    let with = match row.whole("n_with") {
        Some(with) => format!("{} with the outcome", whole(with)),
        None => "how many with the outcome is withheld".to_owned(),
    };
    format!(
        "In {}, the best cutoff of {} for {} by the rule “{}” in {} (n = {}{both}, {with}, compared with people without it)",
        labels.survey(row.text("survey")),
        labels.index_with_unit(row.text("index")),
        labels.outcome(row.text("outcome")),
        labels.rule(row.text("rule")),
        labels.population(row.text("population")),
        people(row, "n"),
    )
}

fn between(ends: &Ends<'_>, labels: &Labels) -> String {
    let places = places(ends.low.0).max(places(ends.high.0)).min(4);
    format!(
        "{}{} and {}{} across {}{}",
        fixed(ends.low.0, places),
        range_of_group(&ends.low.1, places),
        fixed(ends.high.0, places),
        range_of_group(&ends.high.1, places),
        labels.grouping(ends.low.1.text("grouping")),
        withheld("cutoff", ends.withheld),
    )
}

/// The rows of the grouping across which the printed estimates lie furthest apart, of those that the study does not merely
/// adjust for.
pub(super) fn widest_grouping<'a>(
    rows: impl Iterator<Item = Row<'a>>,
    column: &str,
    adjusting: &[&str],
) -> Vec<Row<'a>> {
    let split =
        |row: &Row<'a>| row.text("grouping") != "everybody" && !adjusting.contains(&row.text("grouping"));
    let mut groupings: Vec<(&str, Vec<Row<'a>>)> = Vec::new();
    for row in rows.filter(split) {
        match groupings.iter_mut().find(|(name, _)| *name == row.text("grouping")) {
            Some((_, groups)) => groups.push(row),
            None => groupings.push((row.text("grouping"), vec![row])),
        }
    }
    let width = |groups: &[Row<'a>]| ends(groups, column).map_or(-1.0, |ends| ends.high.0 - ends.low.0);
    let widest = groupings.into_iter().max_by(|a, b| width(&a.1).total_cmp(&width(&b.1)));
    widest.map(|(_, groups)| groups).unwrap_or_default()
}

fn people(row: &Row<'_>, column: &str) -> String {
    row.whole(column).map_or_else(|| "withheld".to_owned(), whole)
}

//! The answer, put together from the tables: the findings that lead, and what more is to be said.

use serde::Serialize;

use crate::chart::Labels;
use crate::table::{Row, Table};

use super::adjusted_shares;
use super::best_cutoff;
use super::beyond;
use super::curves;
use super::ends::ends;
use super::finding::Finding;
use super::indices;
use super::left_out;
use super::methods::filled;
use super::moves;
use super::percentiles;
use super::samples;
use super::sensitivity;
use super::sentence::shorten_repeats;
use super::spared;

#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub(super) struct Answer {
    /// Who is left out, how many are beyond the first threshold, after adjusting too, where the cutoff lies, and how far
    /// choices move it.
    pub lead: Vec<Finding>,
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
    if filled(tables, "threshold_shares").or_else(|| filled(tables, "cutoffs")).is_none() {
        let percentiles = percentiles::lead(tables, labels);
        if answer.lead.is_empty() && !percentiles.is_empty() {
            answer.lead.extend(left_out::finding(tables, labels, ""));
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
    let promised = spared::promises(tables, labels, &adjusting);
    let (beyond, further) = beyond::findings(tables, labels, &adjusting);
    let adjusted = adjusted_shares::findings(tables, labels);
    let first_index =
        table("threshold_shares").and_then(|table| table.iter().next()).map(|row| row.text("index"));
    let cutoff = table("cutoffs")
        .and_then(|table| best_cutoff::finding((tables, table), first_index, labels, &adjusting));
    let mut moves = moves::sentences(tables, labels);
    let leading = if moves.is_empty() { None } else { Some(moves.remove(0)) };
    moves.extend(super::pairs::sentences(tables, labels));
    moves.extend(curves::sentences(tables, labels));
    let mut assays = sensitivity::sentences(tables, labels);
    assays.extend(super::trend::sentences(tables, labels));
    let print = super::published::sentences(tables, labels);
    let which = indices::sentences(tables, labels);
    let comparisons = super::standardized::sentences(tables, labels);
    let more = promised.more.into_iter().chain(leading).collect();
    let shares = promised.lead.into_iter().chain(beyond).chain(adjusted);
    let mut lead: Vec<Finding> = shares.chain(cutoff).chain(sensitivity::lead(tables, labels)).collect();
    let left_out = left_out::finding(tables, labels, "").filter(|_| !lead.is_empty());
    lead.splice(0..0, left_out);
    let mut answer = Answer { lead, more, moves, assays, print, which, further, comparisons };
    let Answer { lead, more, moves, assays, print, which, further, comparisons } = &mut answer;
    let rest = [more, moves, assays, print, which, further, comparisons].into_iter().flatten();
    let texts = lead.iter_mut().map(|finding| &mut finding.text).chain(rest);
    shorten_repeats(texts, &labels.outcomes.values().map(String::as_str).collect::<Vec<_>>());
    answer
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

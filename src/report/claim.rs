//! A threshold in words: the answer first, then tables by group, verdicts, cautions and how to cite it.

use serde::Serialize;

use super::claim_grids::{Grid, grids};
use super::sentence::{Ends, ends, range, range_of_group, withheld};
use crate::chart::Labels;
use crate::table::number::{fixed, significant, whole};
use crate::table::schema::ALL_GROUPS;
use crate::table::{Row, Table};

/// What the words are made from.
#[derive(Debug, Clone, Copy)]
pub struct ClaimInput<'a> {
    /// The table `claim`.
    pub table: &'a Table,
    pub labels: &'a Labels,
    /// Lowest and highest value of the cohort, when they may be shown.
    pub range: Option<(f64, f64)>,
    /// Whether the people are made up.
    pub invented: bool,
    /// Whether no study was named, so that the demo answers.
    pub demo: bool,
    /// Label of the rule behind the best cutoff.
    pub rule: &'a str,
    pub confidence: f64,
    pub replicates: usize,
    pub seed: u64,
    /// Who is left out of the cohort, in order.
    pub left_out: &'a [String],
    pub study_title: &'a str,
    pub study_sha256: &'a str,
    pub version: &'a str,
    /// Remarks on this index and outcome, such as a shared ingredient.
    pub remarks: &'a [String],
}

/// The answer, before it is written as text or Markdown.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ClaimPage {
    pub title: String,
    pub warning: Option<String>,
    pub answer: Vec<String>,
    pub grids: Vec<Grid>,
    pub method: Vec<String>,
    pub cautions: Vec<String>,
    pub citation: Vec<String>,
}

/// Where groups are by ancestry.
const ANCESTRY: &str = "Ancestry is what people answered in a survey: a survey category and not biology, and it explains nothing by itself.";

/// What a reader of one threshold must keep in mind.
const CAUTIONS: &[&str] = &[
    "Not a diagnosis: a value on either side of a threshold is a reason to talk to a licensed clinician, not a finding. Local guidance and that clinician's judgement come first.",
    "Insulin assays are not interchangeable: the same blood gives other numbers on another instrument.",
    ANCESTRY,
    "One measurement varies from day to day; a value near a threshold can fall on either side of it tomorrow.",
];

/// The page of a claim.
#[must_use]
pub fn claim_page(input: &ClaimInput<'_>) -> ClaimPage {
    let stated = stated(input.table);
    let title = stated.first().map_or_else(String::new, |first| {
        let sides: Vec<String> = stated
            .iter()
            .map(|s| format!("{} {}", s.side, in_unit(input.labels, s.index, s.value)))
            .collect();
        format!("{} {}: for whom does it hold?", input.labels.index_label(first.index), sides.join(", "))
    });
    let of_threshold =
        |s: &Stated<'_>| about(s, input).into_iter().chain(verdicts(s, input)).collect::<Vec<_>>();
    let answer = stated.iter().flat_map(of_threshold).collect();
    ClaimPage {
        title,
        warning: warning(input),
        answer,
        grids: grids(input.table, &stated, input.labels, input.rule),
        method: method(input),
        cautions: cautions(input),
        citation: citation(input),
    }
}

fn warning(input: &ClaimInput<'_>) -> Option<String> {
    let why = if input.demo { " No study was named, so the embedded demo answers." } else { "" };
    input.invented.then(|| format!("INVENTED DATA: these people do not exist; quote nothing from here.{why}"))
}

/// A threshold as the sentence states it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stated<'a> {
    pub index: &'a str,
    pub value: f64,
    pub side: &'a str,
    pub strict: bool,
}

impl<'a> Stated<'a> {
    fn of(row: &Row<'a>) -> Option<Self> {
        Some(Self {
            index: row.text("index"),
            value: row.real("threshold")?,
            side: row.text("side"),
            strict: row.text("strict") == "yes",
        })
    }

    /// The rows of one measure in the cohort that only estimate.
    pub fn rows(&self, table: &'a Table, measure: &str) -> Vec<Row<'a>> {
        table
            .iter()
            .filter(|row| row.text("claim").is_empty() && row.text("population") == "cohort")
            .filter(|row| row.text("measure") == measure && Stated::of(row) == Some(*self))
            .collect()
    }
}

/// A value with the unit of its index.
pub(super) fn in_unit(labels: &Labels, index: &str, value: f64) -> String {
    let number = significant(value, 6).replace('-', "\u{2212}");
    match labels.indices.get(index) {
        Some(label) if label.unit != "1" && !label.unit.is_empty() => format!("{number} {}", label.unit),
        _ => number,
    }
}

fn stated(table: &Table) -> Vec<Stated<'_>> {
    let mut found: Vec<Stated<'_>> = Vec::new();
    for stated in table.iter().filter_map(|row| Stated::of(&row)) {
        if !found.contains(&stated) {
            found.push(stated);
        }
    }
    found
}

/// Sentences about one threshold: everybody, then from whom to whom, one grouping a sentence, the widest first.
fn about(stated: &Stated<'_>, input: &ClaimInput<'_>) -> Vec<String> {
    let rows = stated.rows(input.table, "share");
    let at = in_unit(input.labels, stated.index, stated.value);
    let what = format!("{} {} {at}", input.labels.index_label(stated.index), stated.side);
    let mut sentences = vec![everybody(&rows, &what, input)];
    if let Some(outside) = outside(stated, input, &at) {
        sentences.push(outside);
        return sentences;
    }
    sentences.extend(references(stated, &what, input));
    let mut groupings: Vec<(&str, Vec<Row<'_>>)> = Vec::new();
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
    let mut spread: Vec<Ends<'_>> =
        groupings.iter().filter_map(|(_, groups)| ends(groups, "value")).collect();
    spread.sort_by(|a, b| (b.high.0 - b.low.0).total_cmp(&(a.high.0 - a.low.0)));
    sentences.extend(spread.iter().map(|ends| across(ends, input.labels)));
    sentences
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
        Some(format!(
            "In the reference group “{}” (n = {}), {} %{} have {what}.",
            input.labels.population(row.text("population")),
            row.whole("n").map(whole)?,
            fixed(row.shown("value")?, 1),
            range(&row, 1)
        ))
    };
    input.table.iter().filter(of_reference).filter_map(sentence).collect()
}

fn across(ends: &Ends<'_>, labels: &Labels) -> String {
    format!(
        "By {}, it runs from {} %{} to {} %{}{}.",
        labels.grouping(ends.low.1.text("grouping")),
        fixed(ends.low.0, 1),
        range_of_group(&ends.low.1, 1),
        fixed(ends.high.0, 1),
        range_of_group(&ends.high.1, 1),
        withheld(ends.withheld),
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

/// One sentence for each claim: for all groups, then which groups say what.
fn verdicts(stated: &Stated<'_>, input: &ClaimInput<'_>) -> Vec<String> {
    let all =
        input.table.iter().filter(|row| row.text("group") == ALL_GROUPS && Stated::of(row) == Some(*stated));
    all.map(|row| verdict(&row, input.table)).collect()
}

fn verdict(all: &Row<'_>, table: &Table) -> String {
    let claim = all.text("claim");
    let groups: Vec<Row<'_>> = table
        .iter()
        .filter(|row| {
            row.text("claim") == claim && !["everybody", ALL_GROUPS].contains(&row.text("grouping"))
        })
        .collect();
    let with = |verdict: &str| -> Vec<&str> {
        groups.iter().filter(|r| r.text("verdict") == verdict).map(|r| r.text("group")).collect()
    };
    let part = |verdict: &str, words: &str| {
        let found = with(verdict);
        let named = if (1..=4).contains(&found.len()) && found.len() < groups.len() {
            format!(" ({})", found.join("; "))
        } else {
            String::new()
        };
        (!found.is_empty()).then(|| format!("{words} {}{named}", found.len()))
    };
    let parts = [
        part("holds", "it holds in"),
        part("fails", "fails in"),
        part("undecided", "is undecided in"),
        part("cannot tell", "cannot be told in"),
    ];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    let everybody = table
        .iter()
        .find(|row| row.text("claim") == claim && row.text("grouping") == "everybody")
        .map(|row| format!(" For everybody together: {}.", row.text("verdict")))
        .unwrap_or_default();
    let remark = match all.text("notices") {
        "" => String::new(),
        notice => format!(" Note: {notice}."),
    };
    format!(
        "Claim “{claim}”, for all {} groups: {}. By each group's own interval, {}.{everybody}{remark}",
        groups.len(),
        all.text("verdict").to_uppercase(),
        parts.join(", "),
    )
}

/// Remarks of the run, then what always holds.
fn cautions(input: &ClaimInput<'_>) -> Vec<String> {
    let ancestry = input.labels.groupings.keys().any(|name| name.contains("ancestry"));
    let always = CAUTIONS.iter().filter(|caution| ancestry || **caution != ANCESTRY);
    input.remarks.iter().cloned().chain(always.map(|caution| (*caution).to_owned())).collect()
}

fn method(input: &ClaimInput<'_>) -> Vec<String> {
    let percent = significant(100.0 * input.confidence, 4);
    let drawn = input.labels.design.drawn;
    let mut lines = vec![format!(
        "Intervals cover {percent} %: shares by Korn–Graubard, the others from {} replicates of {drawn}.",
        input.replicates
    )];
    if input.table.iter().any(|row| !row.text("claim").is_empty()) {
        lines.push(format!(
            "Verdict of a group: holds when its whole {percent} % interval satisfies the claim, fails when the whole interval \
             violates it, else undecided; cannot tell when the estimate is withheld. For all groups: each interval is turned \
             into a test and its p value adjusted over the groups (Holm 1979); one failing group is enough to fail, and to \
             hold every group must."
        ));
    }
    lines
}

fn left_out(reasons: &[String]) -> String {
    if reasons.is_empty() { String::new() } else { format!(", without: {}", reasons.join("; ")) }
}

fn citation(input: &ClaimInput<'_>) -> Vec<String> {
    let first = input.table.iter().find(|row| row.text("grouping") == "everybody");
    let (survey, frame, n) = first.map_or(("", "", String::new()), |row| {
        (
            input.labels.survey(row.text("survey")),
            row.text("frame"),
            row.whole("n").map(whole).unwrap_or_default(),
        )
    });
    let rule = input.table.iter().any(|row| row.text("measure") == "best_cutoff");
    let rule = if rule { format!(" Best cutoff by the rule “{}”.", input.rule) } else { String::new() };
    let frame =
        if frame == "sample" { String::new() } else { format!(", {} sample", frame.replace('_', " ")) };
    let asked = input.table.iter().any(|row| row.text("stated") == "tool");
    let asked =
        if asked { " A threshold here was not in the study: asked afterwards, exploratory." } else { "" };
    vec![
        format!("Data: {survey}{frame}, n = {n}.{rule}{asked}"),
        format!("Who: the cohort of the study{}.", left_out(input.left_out)),
        format!("Study: “{}”, sha256 {}.", input.study_title, input.study_sha256),
        format!("Made with cutspan {}, {} replicates, seed {}.", input.version, input.replicates, input.seed),
    ]
}

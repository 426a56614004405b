//! The numbers behind the page's movable threshold, packed into the page.
//!
//! They are those of `threshold_grid.csv`, in percent, each rounded to a hundredth that the page writes as it would
//! write the file's number, as JSON that is compressed (gzip) and written in letters (base64), so that a page with eight
//! indices stays small enough to be sent by mail. Shares change little from threshold to threshold, and so do the
//! widths of their intervals: steps from one to the next are written. Thresholds and cutoffs are not rounded.

use std::io::Write;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use flate2::Compression;
use flate2::write::GzEncoder;
use serde::{Serialize, Serializer};

use crate::chart::Labels;
use crate::definitions::answer::unit_in_print;
use crate::table::number::fixed;
use crate::table::{Row, Table};

/// Parts of a percentage point that a share on the page is rounded to.
const PARTS: f64 = 100.0;
/// Decimals with which the page writes a share.
const WRITTEN: [usize; 2] = [0, 1];

/// What the page's template needs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct Explorer {
    /// The packed numbers.
    data: String,
    /// Whether the study has crossings of variables that the grid leaves out.
    crossings_left_out: bool,
    /// What the intervals know of the design.
    intervals: &'static str,
}

/// The packed grid, when the run has one.
pub(super) fn explorer(tables: &[Table], labels: &Labels) -> Option<Explorer> {
    let table = |name: &str| tables.iter().find(|table| table.name == name);
    let grid = table("threshold_grid").filter(|grid| !grid.rows.is_empty())?;
    // Each sample has a grid of its own.
    let mut surveys: Vec<&str> = grid.iter().map(|row| row.text("survey")).collect();
    surveys.dedup();
    let samples: Vec<Packed> = surveys
        .iter()
        .map(|survey| Packed::of_sample(survey, grid, [table("cutoffs"), table("threshold_shares")], labels))
        .collect();
    let crossed = |table: &Table| table.iter().any(|row| row.text("grouping").contains(" × "));
    let crossings_left_out = table("cutoffs").is_some_and(crossed) && !crossed(grid);
    let intervals = labels.design.intervals;
    Some(Explorer { data: letters(&samples, labels.percent_places(1)), crossings_left_out, intervals })
}

/// A name and what it is called.
type Named = (String, String);

#[derive(Debug, Default, Serialize)]
struct Packed {
    survey: String,
    rule: String,
    groupings: Vec<Named>,
    /// Position of the grouping, and the group's name.
    groups: Vec<(usize, String)>,
    outcomes: Vec<Named>,
    reasons: Vec<String>,
    indices: Vec<Index>,
}

#[derive(Debug, Default, Serialize)]
struct Index {
    name: String,
    label: String,
    /// As print writes it, empty for a pure number; and as the tables have it.
    unit: String,
    unit_of_file: String,
    /// Whether lower values mean more resistance.
    lower: bool,
    /// Thresholds, ascending.
    at: Vec<f64>,
    /// Thresholds that the study states.
    tested: Vec<f64>,
    /// People of each group, where they may be printed.
    n: Vec<Option<i64>>,
    beyond: Vec<Series>,
    outcomes: Vec<Against>,
}

/// What is judged against one outcome, group by group.
#[derive(Debug, Default, Serialize)]
struct Against {
    /// Whether the outcome counts a part of the index.
    built_in: bool,
    with: Vec<Option<i64>>,
    without: Vec<Option<i64>>,
    cutoff: Vec<Option<f64>>,
    cutoff_lower: Vec<Option<f64>>,
    cutoff_upper: Vec<Option<f64>>,
    /// Positions of the reasons of groups without a cutoff.
    cutoff_reason: Vec<Option<usize>>,
    sensitivity: Vec<Series>,
    specificity: Vec<Series>,
    /// Share reclassified when the threshold replaces the cutoff.
    moved: Vec<Series>,
    /// Which way, a letter for each threshold.
    way: Vec<String>,
}

/// What is known at each threshold: shares, how far the interval reaches below and above them, and the
/// positions of the reasons why there are none. Each list but the last is written in steps, in hundredths;
/// the last only where something is withheld.
#[derive(Debug, Default, Serialize)]
struct Series(Steps, Steps, Steps, #[serde(skip_serializing_if = "all_none")] Vec<Option<usize>>);

fn all_none(reasons: &[Option<usize>]) -> bool {
    reasons.iter().all(Option::is_none)
}

/// Whole numbers, each written less the one before that is known.
#[derive(Debug, Default)]
struct Steps(Vec<Option<i64>>);

impl Serialize for Steps {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut before = 0;
        serializer.collect_seq(self.0.iter().map(|known| {
            known.map(|value| {
                let step = value - before;
                before = value;
                step
            })
        }))
    }
}

/// A share at one threshold: in hundredths of a percentage point, or why there is none.
#[derive(Debug, Clone, Copy)]
struct Shown {
    value: Option<i64>,
    lower: Option<i64>,
    upper: Option<i64>,
    reason: Option<usize>,
}

/// The hundredths nearest to a share among those that are written as the share itself: 17.4518 becomes 17.46, because
/// 17.45 would be written 17.4 and not 17.5. Half a last decimal is avoided: some write it up and some down.
fn hundredths(share: f64) -> i64 {
    let near = (share * PARTS).round() as i64;
    let written = |value: f64| WRITTEN.map(|places| fixed(value, places));
    let same = |candidate: &i64| {
        let half = candidate % 10 == 5 || candidate % 100 == 50;
        !half && written(*candidate as f64 / PARTS) == written(share)
    };
    [near, near + 1, near - 1].into_iter().find(same).unwrap_or(near)
}

/// Columns of a share: value, lower end, upper end, reason; and what turns it into percent.
type Share = ([&'static str; 4], f64);

const BEYOND: Share = (["share_beyond", "share_lower", "share_upper", "share_withheld"], 1.0);
const SENSITIVITY: Share =
    (["sensitivity", "sensitivity_lower", "sensitivity_upper", "sensitivity_withheld"], 100.0);
const SPECIFICITY: Share =
    (["specificity", "specificity_lower", "specificity_upper", "specificity_withheld"], 100.0);
const MOVED: Share =
    (["reclassified", "reclassified_lower", "reclassified_upper", "reclassified_withheld"], 1.0);

impl Packed {
    /// The numbers of one sample, with the intervals of its cutoffs and the thresholds that the study states.
    fn of_sample(
        survey: &str,
        grid: &Table,
        [cutoffs, shares]: [Option<&Table>; 2],
        labels: &Labels,
    ) -> Self {
        let own = |row: &Row<'_>| row.text("survey") == survey;
        let mut packed = Self::default();
        for row in grid.iter().filter(own) {
            packed.take(&row, labels);
        }
        for row in cutoffs.into_iter().flat_map(Table::iter).filter(own) {
            packed.take_cutoff(&row);
        }
        let everybody = |row: &Row<'_>| own(row) && row.text("grouping") == "everybody";
        for row in shares.into_iter().flat_map(Table::iter).filter(everybody) {
            packed.take_tested(&row);
        }
        packed
    }

    /// Adds a row. Rows come index by index, outcome by outcome, group by group, threshold by threshold.
    fn take(&mut self, row: &Row<'_>, labels: &Labels) {
        let grouping =
            place(&mut self.groupings, row.text("grouping"), |name| labels.grouping(name).to_owned());
        let key = (grouping, row.text("group").to_owned());
        let group = self.groups.iter().position(|known| *known == key).unwrap_or_else(|| {
            self.groups.push(key);
            self.groups.len() - 1
        });
        let outcome = place(&mut self.outcomes, row.text("outcome"), |name| labels.outcome(name).to_owned());
        labels.survey(row.text("survey")).clone_into(&mut self.survey);
        row.text("rule").clone_into(&mut self.rule);
        let index = self.index(row, labels);
        let threshold = row.real("threshold").unwrap_or_default();
        if (outcome, group) == (0, 0) {
            self.indices[index].at.push(threshold);
        }
        if outcome == 0 {
            let beyond = self.share(row, BEYOND);
            let index = &mut self.indices[index];
            grow(&mut index.n, group, row.whole("n"));
            push(&mut index.beyond, group, beyond);
        }
        let shares = [SENSITIVITY, SPECIFICITY, MOVED].map(|share| self.share(row, share));
        let against = self.indices[index].against(outcome);
        against.built_in = labels.counts_part_of(row.text("index"), row.text("outcome"));
        against.take(row, group, shares);
    }

    fn index(&mut self, row: &Row<'_>, labels: &Labels) -> usize {
        let name = row.text("index");
        self.indices.iter().position(|known| known.name == name).unwrap_or_else(|| {
            self.indices.push(Index {
                name: name.to_owned(),
                label: labels.index_label(name).to_owned(),
                unit: if row.text("unit") == "1" { String::new() } else { unit_in_print(row.text("unit")) },
                unit_of_file: row.text("unit").to_owned(),
                lower: labels.lower_is_resistant(name),
                ..Index::default()
            });
            self.indices.len() - 1
        })
    }

    /// Share and interval, or the reason why there is none.
    fn share(&mut self, row: &Row<'_>, ([value, lower, upper, withheld], percent): Share) -> Shown {
        let parts = |column: &str| row.real(column).map(|value| hundredths(value * percent));
        let reason = row.text(withheld);
        if reason.is_empty() {
            return Shown { value: parts(value), lower: parts(lower), upper: parts(upper), reason: None };
        }
        Shown { value: None, lower: None, upper: None, reason: Some(self.reason(reason)) }
    }

    /// The position of a reason, which is added when new.
    fn reason(&mut self, reason: &str) -> usize {
        self.reasons.iter().position(|known| known == reason).unwrap_or_else(|| {
            self.reasons.push(reason.to_owned());
            self.reasons.len() - 1
        })
    }

    /// The interval of a group's cutoff, or why it has none.
    fn take_cutoff(&mut self, row: &Row<'_>) {
        if row.text("rule") != self.rule {
            return;
        }
        let withheld = row.text("withheld");
        let reason = (!withheld.is_empty()).then(|| self.reason(withheld));
        let index = self.indices.iter_mut().find(|index| index.name == row.text("index"));
        let outcome = self.outcomes.iter().position(|(name, _)| name == row.text("outcome"));
        let group = self.groups.iter().position(|(grouping, name)| {
            self.groupings[*grouping].0 == row.text("grouping") && name == row.text("group")
        });
        let (Some(index), Some(outcome), Some(group)) = (index, outcome, group) else { return };
        let against = index.against(outcome);
        grow(&mut against.cutoff_lower, group, row.shown("lower"));
        grow(&mut against.cutoff_upper, group, row.shown("upper"));
        grow(&mut against.cutoff_reason, group, reason);
    }

    fn take_tested(&mut self, row: &Row<'_>) {
        let index = self.indices.iter_mut().find(|index| index.name == row.text("index"));
        if let (Some(index), Some(threshold)) = (index, row.real("threshold"))
            && !index.tested.contains(&threshold)
        {
            index.tested.push(threshold);
        }
    }
}

/// All samples, and the decimals of a percentage, as compressed JSON in letters.
fn letters(samples: &[Packed], percent_places: usize) -> String {
    let json =
        serde_json::to_vec(&serde_json::json!({ "samples": samples, "percent_places": percent_places }))
            .expect("names and finite numbers are JSON");
    let mut gzip = GzEncoder::new(Vec::new(), Compression::best());
    gzip.write_all(&json).expect("memory takes every byte");
    STANDARD.encode(gzip.finish().expect("memory takes every byte"))
}

impl Index {
    fn against(&mut self, outcome: usize) -> &mut Against {
        while self.outcomes.len() <= outcome {
            self.outcomes.push(Against::default());
        }
        &mut self.outcomes[outcome]
    }
}

impl Against {
    fn take(&mut self, row: &Row<'_>, group: usize, [with, without, moved]: [Shown; 3]) {
        grow(&mut self.with, group, row.whole("n_with"));
        grow(&mut self.without, group, row.whole("n_without"));
        grow(&mut self.cutoff, group, row.real("cutoff"));
        push(&mut self.sensitivity, group, with);
        push(&mut self.specificity, group, without);
        push(&mut self.moved, group, moved);
        if self.way.len() <= group {
            self.way.resize(group + 1, String::new());
        }
        self.way[group].push(way(row.text("moved")));
    }
}

/// Which way people are reclassified, as a letter. The page does not compare threshold and cutoff, of which it may know rounded
/// values only.
fn way(moved: &str) -> char {
    match moved {
        "newly_beyond" => 'n',
        "no_longer_beyond" => 'l',
        "nobody" => '=',
        _ => '-',
    }
}

/// The position of a name, which is added with its label when new.
fn place(known: &mut Vec<Named>, name: &str, label: impl Fn(&str) -> String) -> usize {
    known.iter().position(|(other, _)| other == name).unwrap_or_else(|| {
        known.push((name.to_owned(), label(name)));
        known.len() - 1
    })
}

/// Sets a group's number, which its further rows repeat; groups before it that have none yet are left empty.
fn grow<T>(list: &mut Vec<Option<T>>, group: usize, value: Option<T>) {
    if list.len() <= group {
        list.resize_with(group + 1, || None);
    }
    list[group] = value;
}

fn push(list: &mut Vec<Series>, group: usize, shown: Shown) {
    if list.len() <= group {
        list.resize_with(group + 1, Series::default);
    }
    let Series(values, below, above, reasons) = &mut list[group];
    let reach = |from: Option<i64>, to: Option<i64>| Some(to? - from?);
    values.0.push(shown.value);
    below.0.push(reach(shown.lower, shown.value));
    above.0.push(reach(shown.value, shown.upper));
    reasons.push(shown.reason);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_is_rounded_once() {
        assert_eq!([17.4518, 23.6, 30.612_345, 100.0].map(hundredths), [1746, 2360, 3061, 10_000]);
        // 12.4996 is written 12, and 12.5 would be written 13 by some.
        assert_eq!((hundredths(12.4996), hundredths(12.25)), (1249, 1224));
    }

    #[test]
    fn a_group_that_comes_before_those_above_it_has_a_place_of_its_own() {
        let mut numbers = Vec::new();
        grow(&mut numbers, 2, Some(7));
        grow(&mut numbers, 0, Some(5));
        assert_eq!(numbers, [Some(5), None, Some(7)]);
        let mut lists = Vec::new();
        push(&mut lists, 1, Shown { value: Some(3), lower: None, upper: None, reason: None });
        let known: Vec<usize> = lists.iter().map(|Series(values, ..)| values.0.len()).collect();
        assert_eq!(known, [0, 1]);
    }

    #[test]
    fn a_unit_is_written_as_in_print() {
        let mut table = Table::new(crate::table::schema::shape("threshold_grid").expect("a table"));
        table.row().text("index", "insulin").text("unit", "uU/mL").done().expect("a row");
        let mut grid = Packed::default();
        let index = table.iter().next().map(|row| grid.index(&row, &Labels::default()));
        assert_eq!(index.map(|index| grid.indices[index].unit.as_str()), Some("µU/mL"));
    }
}

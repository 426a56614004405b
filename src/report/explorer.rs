//! The numbers behind the page's movable threshold, packed into the page.
//!
//! They are those of `threshold_grid.csv`, in percent, each rounded to four significant digits, as JSON
//! that is compressed (gzip) and written in letters (base64), so that a page with eight indices stays
//! small enough to be sent by mail. Thresholds and cutoffs are not rounded.

use std::io::Write;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use flate2::Compression;
use flate2::write::GzEncoder;
use serde::{Serialize, Serializer};

use crate::chart::Labels;
use crate::table::number::significant;
use crate::table::{Row, Table};

/// Significant digits of a share on the page.
pub const DIGITS: usize = 4;

/// What the page's template needs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct Explorer {
    /// The packed numbers.
    data: String,
    /// Whether the study has crossings of variables that the grid leaves out.
    crossings_left_out: bool,
    /// Whether the study states a threshold.
    tested: bool,
    /// What the intervals know of the design.
    intervals: &'static str,
}

/// The packed grid, when the run has one.
pub(super) fn explorer(tables: &[Table], labels: &Labels) -> Option<Explorer> {
    let table = |name: &str| tables.iter().find(|table| table.name == name);
    let grid = table("threshold_grid").filter(|grid| !grid.rows.is_empty())?;
    let mut packed = Packed::default();
    for row in grid.iter() {
        packed.take(&row, labels);
    }
    if let Some(cutoffs) = table("cutoffs") {
        packed.take_cutoff_intervals(cutoffs);
    }
    if let Some(shares) = table("threshold_shares") {
        packed.take_tested(shares);
    }
    let crossed = |table: &Table| table.iter().any(|row| row.text("grouping").contains(" × "));
    let crossings_left_out = table("cutoffs").is_some_and(crossed) && !crossed(grid);
    let tested = packed.indices.iter().any(|index| !index.tested.is_empty());
    let intervals = labels.design.intervals;
    Some(Explorer { data: packed.letters(), crossings_left_out, tested, intervals })
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
    unit: String,
    /// Whether lower values mean more resistance.
    lower: bool,
    /// Thresholds, ascending.
    at: Vec<f64>,
    /// Thresholds that the study states.
    tested: Vec<f64>,
    /// People of each group.
    n: Vec<i64>,
    beyond: Vec<Series>,
    outcomes: Vec<Against>,
}

/// What is judged against one outcome, group by group.
#[derive(Debug, Default, Serialize)]
struct Against {
    with: Vec<i64>,
    without: Vec<i64>,
    cutoff: Vec<Option<f64>>,
    cutoff_lower: Vec<Option<f64>>,
    cutoff_upper: Vec<Option<f64>>,
    sensitivity: Vec<Series>,
    specificity: Vec<Series>,
    /// Share reclassified; people newly beyond where the threshold is less resistant than the cutoff.
    moved: Vec<Series>,
}

/// Value, lower and upper end at each threshold. A withheld value is −1 less the position of its reason.
#[derive(Debug, Default, Serialize)]
struct Series(Vec<Short>, Vec<Option<Short>>, Vec<Option<Short>>);

/// A number rounded to [`DIGITS`]; whole numbers are written without a decimal point.
#[derive(Debug, Clone, Copy)]
struct Short(f64);

impl Serialize for Short {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let short = significant(self.0, DIGITS).parse().unwrap_or(self.0);
        if short.fract() == 0.0 {
            serializer.serialize_i64(short as i64)
        } else {
            serializer.serialize_f64(short)
        }
    }
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
        labels.rule(row.text("rule")).clone_into(&mut self.rule);
        let index = self.index(row, labels);
        let threshold = row.real("threshold").unwrap_or_default();
        if (outcome, group) == (0, 0) {
            self.indices[index].at.push(threshold);
        }
        if outcome == 0 {
            let beyond = self.share(row, BEYOND);
            let index = &mut self.indices[index];
            grow(&mut index.n, group, row.whole("n").unwrap_or_default());
            push(&mut index.beyond, group, beyond);
        }
        let shares = [SENSITIVITY, SPECIFICITY, MOVED].map(|share| self.share(row, share));
        self.indices[index].against(outcome).take(row, group, shares);
    }

    fn index(&mut self, row: &Row<'_>, labels: &Labels) -> usize {
        let name = row.text("index");
        self.indices.iter().position(|known| known.name == name).unwrap_or_else(|| {
            self.indices.push(Index {
                name: name.to_owned(),
                label: labels.index_label(name).to_owned(),
                unit: if row.text("unit") == "1" { String::new() } else { row.text("unit").to_owned() },
                lower: labels.lower_is_resistant(name),
                ..Index::default()
            });
            self.indices.len() - 1
        })
    }

    /// Value, or the code of the reason why there is none, and the interval.
    fn share(
        &mut self,
        row: &Row<'_>,
        ([value, lower, upper, withheld], percent): Share,
    ) -> [Option<Short>; 3] {
        let short = |column: &str| row.real(column).map(|value| Short(value * percent));
        let reason = row.text(withheld);
        if reason.is_empty() {
            return [short(value), short(lower), short(upper)];
        }
        let position = self.reasons.iter().position(|known| known == reason).unwrap_or_else(|| {
            self.reasons.push(reason.to_owned());
            self.reasons.len() - 1
        });
        [Some(Short(-1.0 - position as f64)), None, None]
    }

    fn take_cutoff_intervals(&mut self, cutoffs: &Table) {
        for row in cutoffs.iter() {
            let index = self.indices.iter_mut().find(|index| index.name == row.text("index"));
            let outcome = self.outcomes.iter().position(|(name, _)| name == row.text("outcome"));
            let group = self.groups.iter().position(|(grouping, name)| {
                self.groupings[*grouping].0 == row.text("grouping") && name == row.text("group")
            });
            let (Some(index), Some(outcome), Some(group)) = (index, outcome, group) else { continue };
            let against = index.against(outcome);
            // The study's first rule comes first.
            if against.cutoff_lower.len() == group {
                against.cutoff_lower.push(row.shown("lower"));
                against.cutoff_upper.push(row.shown("upper"));
            }
        }
    }

    fn take_tested(&mut self, shares: &Table) {
        for row in shares.iter().filter(|row| row.text("grouping") == "everybody") {
            let index = self.indices.iter_mut().find(|index| index.name == row.text("index"));
            if let (Some(index), Some(threshold)) = (index, row.real("threshold"))
                && !index.tested.contains(&threshold)
            {
                index.tested.push(threshold);
            }
        }
    }

    fn letters(&self) -> String {
        let json = serde_json::to_vec(self).expect("names and finite numbers are JSON");
        let mut gzip = GzEncoder::new(Vec::new(), Compression::best());
        gzip.write_all(&json).expect("memory takes every byte");
        STANDARD.encode(gzip.finish().expect("memory takes every byte"))
    }
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
    fn take(&mut self, row: &Row<'_>, group: usize, [with, without, moved]: [[Option<Short>; 3]; 3]) {
        grow(&mut self.with, group, row.whole("n_with").unwrap_or_default());
        grow(&mut self.without, group, row.whole("n_without").unwrap_or_default());
        grow(&mut self.cutoff, group, row.real("cutoff"));
        push(&mut self.sensitivity, group, with);
        push(&mut self.specificity, group, without);
        push(&mut self.moved, group, moved);
    }
}

/// The position of a name, which is added with its label when new.
fn place(known: &mut Vec<Named>, name: &str, label: impl Fn(&str) -> String) -> usize {
    known.iter().position(|(other, _)| other == name).unwrap_or_else(|| {
        known.push((name.to_owned(), label(name)));
        known.len() - 1
    })
}

/// Adds a group's number once; its further rows repeat it.
fn grow<T>(list: &mut Vec<T>, group: usize, value: T) {
    if list.len() == group {
        list.push(value);
    }
}

fn push(list: &mut Vec<Series>, group: usize, [value, lower, upper]: [Option<Short>; 3]) {
    if list.len() <= group {
        list.push(Series::default());
    }
    let series = &mut list[group];
    series.0.push(value.unwrap_or(Short(-1.0)));
    series.1.push(lower);
    series.2.push(upper);
}

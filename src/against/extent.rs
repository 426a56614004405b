//! How much a difference between two runs matters: estimates, what rests on resampling, conclusions.

use std::fmt;

use super::sort::{Scale, Sort};
use crate::table::number::significant;

/// What differs, by how much it matters.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Extent {
    /// Estimates that rest on no resampling, that both runs print and that are not the same.
    pub estimates: usize,
    /// Changes of them.
    estimates_by: Vec<f64>,
    /// Numbers printed then and not now, and the other way round.
    pub newly_withheld: usize,
    pub newly_printed: usize,
    /// Estimates that rest on resampling, and changes of them.
    pub resampled: usize,
    resampled_by: Vec<f64>,
    /// Ends of intervals, and changes of them as shares of the interval's width.
    pub ends: usize,
    ends_by: Vec<f64>,
    pub conclusions: usize,
    /// Rows with an interval that leaves out no difference now and did not then, and the other way round.
    pub newly_apart: usize,
    pub no_longer_apart: usize,
    /// Counts of the people studied that are not the same.
    people: usize,
    /// Other counts that are not the same.
    counts: usize,
    /// The largest change of an estimate, whether it rests on resampling or not, and its column.
    most: Most,
    /// The same of a count; and of an estimate that was 0 or nearly so, of which no share can be taken: in its own unit.
    most_of_counts: Most,
    most_from_zero: Most,
    /// Cutoffs that are not the same.
    cutoffs: usize,
}

/// The largest change and its column.
#[derive(Debug, Clone, Default, PartialEq)]
struct Most(Option<(f64, String)>);

impl Most {
    fn take(&mut self, by: Option<f64>, column: &str) {
        if let Some(by) = by
            && self.0.as_ref().is_none_or(|(most, _)| by > *most)
        {
            self.0 = Some((by, column.to_owned()));
        }
    }

    fn add(&mut self, other: &Self) {
        if let Some((by, column)) = &other.0 {
            self.take(Some(*by), column);
        }
    }

    fn get(&self) -> Option<(f64, &str)> {
        self.0.as_ref().map(|(by, column)| (*by, column.as_str()))
    }
}

/// A number of less than this share of what it became was nearly 0.
const NEARLY_ZERO: f64 = 1e-3;

/// The column of the tables of cutoffs that holds them.
pub(super) const CUTOFF: &str = "cutoff";

/// A cell that differs.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cell<'a> {
    pub table: &'a str,
    pub column: &'a str,
    pub before: &'a str,
    pub after: &'a str,
    /// Against what a change is measured.
    pub scale: Option<Scale>,
}

impl Cell<'_> {
    fn numbers(&self) -> Option<(f64, f64)> {
        Some((self.before.parse().ok()?, self.after.parse().ok()?))
    }

    /// (after − before) / scale of two numbers; none where the scale is a number that was nearly 0.
    pub fn relative(&self) -> Option<f64> {
        let (before, after) = self.numbers()?;
        let scale =
            self.scale.filter(|scale| !scale.named.is_empty() || scale.size >= NEARLY_ZERO * after.abs())?;
        Some((after - before) / scale.size)
    }

    /// after − before, where before was nearly 0, so that no share of it can be taken.
    fn risen_from_zero(&self) -> Option<f64> {
        let (before, after) = self.numbers()?;
        let nearly = before.abs() < NEARLY_ZERO * after.abs();
        (nearly && self.relative().is_none()).then_some(after - before)
    }

    /// Whether a number is printed in one run only.
    fn in_one(&self) -> bool {
        self.before.is_empty() || self.after.is_empty()
    }
}

impl Extent {
    /// Counts a cell that differs.
    pub(super) fn take(&mut self, cell: Cell<'_>) {
        let by = cell.relative().map(f64::abs);
        let sort = Sort::of(cell.table, cell.column);
        self.cutoffs += usize::from(cell.column == CUTOFF);
        if matches!(sort, Sort::Resampled | Sort::Estimate) {
            self.most.take(by, cell.column);
            self.most_from_zero.take(cell.risen_from_zero().map(f64::abs), cell.column);
        }
        match sort {
            Sort::Reason | Sort::Remark | Sort::Test => {}
            Sort::Conclusion => self.conclusions += 1,
            Sort::End => {
                self.ends += 1;
                self.ends_by.extend(by);
            }
            _ if cell.in_one() => {
                self.newly_withheld += usize::from(cell.after.is_empty());
                self.newly_printed += usize::from(cell.before.is_empty());
            }
            Sort::Resampled => {
                self.resampled += 1;
                self.resampled_by.extend(by);
            }
            Sort::People => self.people += 1,
            Sort::Count => {
                self.counts += 1;
                self.most_of_counts.take(by, cell.column);
            }
            Sort::Estimate => {
                self.estimates += 1;
                self.estimates_by.extend(by);
            }
        }
    }

    /// Counts a row by whether its intervals came to leave out no difference, or ceased to.
    pub(super) fn take_apart(&mut self, (newly, no_longer): (bool, bool)) {
        self.newly_apart += usize::from(newly);
        self.no_longer_apart += usize::from(no_longer);
    }

    pub(super) fn add(&mut self, other: &Self) {
        self.estimates += other.estimates;
        self.estimates_by.extend(&other.estimates_by);
        self.newly_withheld += other.newly_withheld;
        self.newly_printed += other.newly_printed;
        self.resampled += other.resampled;
        self.resampled_by.extend(&other.resampled_by);
        self.ends += other.ends;
        self.ends_by.extend(&other.ends_by);
        self.conclusions += other.conclusions;
        self.newly_apart += other.newly_apart;
        self.no_longer_apart += other.no_longer_apart;
        self.people += other.people;
        self.cutoffs += other.cutoffs;
        self.counts += other.counts;
        self.most.add(&other.most);
        self.most_of_counts.add(&other.most_of_counts);
        self.most_from_zero.add(&other.most_from_zero);
    }

    /// The largest changes: of estimates, where none of these changed of counts, each with its column.
    pub(super) fn most(&self) -> Option<String> {
        let share =
            |what: &str, (by, column): (f64, &str)| format!("{what} ({column}) by up to {} %", percent(by));
        let estimates = self.most.get().map(|most| share("estimates", most));
        let from_zero = self.most_from_zero.get().map(|(by, column)| {
            format!("estimates ({column}) that were about 0 by up to {}", significant(by, 2))
        });
        match (estimates, from_zero) {
            (Some(estimates), Some(from_zero)) => Some(format!("{estimates}, {from_zero}")),
            (None, None) => self.most_of_counts.get().map(|most| share("counts", most)),
            (one, other) => one.or(other),
        }
    }

    /// Whether every cutoff is the same, or none is there.
    pub(super) fn no_cutoff_moved(&self) -> bool {
        self.cutoffs == 0
    }

    /// How the estimates changed: among other people the largest change may be any, and half of them say more.
    fn estimates(&self) -> String {
        let by = match (self.people > 0, median(&self.estimates_by), largest(&self.estimates_by)) {
            (true, Some(median), _) => format!(", by {} % in the median", percent(median)),
            (false, _, Some(largest)) => format!(", by up to {} %", percent(largest)),
            _ => String::new(),
        };
        changed(self.estimates, &by)
    }

    /// How what rests on resampling changed, where the people are the same.
    fn by_resampling(&self, count: usize, by: &[f64], of: &str) -> String {
        let by = match (self.people > 0, median(by), largest(by)) {
            (false, Some(median), Some(largest)) => {
                format!(", by {} % in the median and up to {} %{of}", percent(median), percent(largest))
            }
            _ => String::new(),
        };
        changed(count, &by)
    }

    /// What changed of the conclusions.
    fn concluded(&self) -> String {
        format!(
            "{}; rows with an interval that newly excludes no difference: {}, that newly includes it: {}",
            changed(self.conclusions, ""),
            self.newly_apart,
            self.no_longer_apart
        )
    }
}

/// So many changed, and by how much.
fn changed(count: usize, by: &str) -> String {
    if count == 0 { "unchanged".to_owned() } else { format!("{count} changed{by}") }
}

fn largest(changes: &[f64]) -> Option<f64> {
    changes.iter().copied().max_by(f64::total_cmp)
}

/// The middle one of the changes.
fn median(changes: &[f64]) -> Option<f64> {
    let mut sorted = changes.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted.get(sorted.len() / 2).copied()
}

/// A share in per cent.
fn percent(share: f64) -> String {
    significant(100.0 * share, 2)
}

impl fmt::Display for Extent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.people > 0 {
            writeln!(f, "  the people differ")?;
        }
        let resampled = self.by_resampling(self.resampled, &self.resampled_by, "");
        let ends = self.by_resampling(self.ends, &self.ends_by, " of the interval's width");
        writeln!(f, "  estimates that do not rest on resampling: {}", self.estimates())?;
        writeln!(f, "  estimates that do (corrected for optimism, spread between groups …): {resampled}")?;
        writeln!(f, "  ends of intervals: {ends}")?;
        if self.counts > 0 {
            writeln!(f, "  counts: {}", changed(self.counts, ""))?;
        }
        if self.newly_withheld + self.newly_printed > 0 {
            writeln!(
                f,
                "  numbers newly withheld: {}, newly printed: {}",
                self.newly_withheld, self.newly_printed
            )?;
        }
        writeln!(f, "  conclusions: {}", self.concluded())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cell(column: &'static str, before: &'static str, after: &'static str) -> Cell<'static> {
        let scale = before.parse().ok().map(|size| Scale { size, named: "" });
        Cell { table: "percentiles", column, before, after, scale }
    }

    #[test]
    fn another_seed_moves_what_rests_on_resampling_and_nothing_else() {
        let mut extent = Extent::default();
        let width = Some(Scale { size: 0.5, named: " of the interval's width" });
        extent.take(Cell { scale: width, ..cell("lower", "2", "1.96") });
        extent.take(cell("p_holm", "0.1", "0.19"));
        extent.take(cell("youden_corrected", "0.4", "0.41"));
        extent.take_apart((true, false));
        assert_eq!(extent.most().as_deref(), Some("estimates (youden_corrected) by up to 2.5 %"));
        assert!(extent.no_cutoff_moved());
        let said = extent.to_string();
        for words in [
            "estimates that do not rest on resampling: unchanged\n",
            "spread between groups …): 1 changed, by 2.5 % in the median and up to 2.5 %\n",
            "ends of intervals: 1 changed, by 8 % in the median and up to 8 % of the interval's width\n",
            "conclusions: unchanged; rows with an interval that newly excludes no difference: 1, that newly includes it: 0\n",
        ] {
            assert!(said.contains(words), "{words}: {said}");
        }
        extent.take(cell("cutoff", "2", "2.2"));
        extent.take(cell("conclusion", "one", "other"));
        let said = extent.to_string();
        assert!(said.contains("not rest on resampling: 1 changed, by up to 10 %\n"), "{said}");
        assert!(said.contains("conclusions: 1 changed;"), "{said}");
        assert_eq!(extent.most().as_deref(), Some("estimates (cutoff) by up to 10 %"));
        assert!(!extent.no_cutoff_moved());
    }

    #[test]
    fn what_is_newly_withheld_or_printed_is_no_change_of_an_estimate() {
        let mut extent = Extent::default();
        extent.take(cell("cutoff", "2", ""));
        extent.take(cell("spread", "3", ""));
        extent.take(cell("n", "", "40"));
        let said = extent.to_string();
        assert!(said.contains("resampling: unchanged\n") && said.contains("…): unchanged\n"), "{said}");
        assert!(said.contains("numbers newly withheld: 2, newly printed: 1\n"), "{said}");
    }

    #[test]
    fn among_other_people_the_middle_change_is_said() {
        let mut extent = Extent::default();
        extent.take(cell("n", "900", "450"));
        for after in ["1.01", "1.02", "600"] {
            extent.take(cell("value", "1", after));
        }
        let said = extent.to_string();
        assert!(said.starts_with("  the people differ\n"), "{said}");
        assert!(said.contains("resampling: 3 changed, by 2 % in the median\n"), "{said}");
        assert_eq!(extent.most().as_deref(), Some("estimates (value) by up to 60000 %"));
        let elsewhere = Cell { table: "cutoff_accuracy", ..cell("n", "90", "80") };
        let mut extent = Extent::default();
        extent.take(elsewhere);
        let said = extent.to_string();
        assert!(said.contains("resampling: unchanged\n") && said.contains("counts: 1 changed\n"), "{said}");
        assert_eq!(extent.most().as_deref(), Some("counts (n) by up to 11 %"), "a count beyond a cutoff");
    }

    #[test]
    fn of_what_was_nearly_zero_no_share_is_taken() {
        let mut extent = Extent::default();
        let cutoff = Cell { table: "net_benefit", ..cell("cutoff", "1e-27", "0.34") };
        assert_eq!(cutoff.relative(), None);
        extent.take(cutoff);
        extent.take(Cell { scale: None, ..cell("value", "0", "0.2") });
        assert_eq!(extent.most().as_deref(), Some("estimates (cutoff) that were about 0 by up to 0.34"));
        extent.take(cell("value", "2", "2.1"));
        let both = "estimates (value) by up to 5 %, estimates (cutoff) that were about 0 by up to 0.34";
        assert_eq!(extent.most().as_deref(), Some(both));
    }
}

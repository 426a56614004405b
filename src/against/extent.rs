//! How much a difference between two runs matters: estimates, what rests on resampling, conclusions.

use std::fmt;

use crate::table::number::significant;

/// Columns that rest on replicates besides the ends of intervals.
const RESAMPLED: [&str; 22] = [
    "f",
    "p",
    "p_holm",
    "z",
    "spread",
    "optimism",
    "youden_corrected",
    "youden_external",
    "ratio_under_equality",
    "variance_remaining",
    "standard_error",
    "other_standard_error",
    "difference_standard_error",
    "replicates",
    "replicates_failed",
    "replicates_asked",
    "df",
    "df1",
    "df2",
    "departure_p",
    "width",
    "width_error",
];
/// Columns that conclude something, or say why nothing is printed.
const CONCLUDING: [&str; 10] = [
    "conclusion",
    "verdict",
    "held",
    "why_not",
    "advice",
    "withheld",
    "not_distinguishable",
    "lower_indices",
    "share_withheld",
    "reclassified_withheld",
];
/// Remarks, which conclude nothing.
const REMARKS: [&str; 3] = ["notices", "interval", "message"];

/// Whether a column concludes, explains or remarks.
pub(super) fn concludes_or_remarks(column: &str) -> bool {
    CONCLUDING.contains(&column) || column.ends_with("_withheld") || REMARKS.contains(&column)
}

/// Tables whose counts are those of the people studied, and the columns that hold them: elsewhere a count may move with a cutoff.
const OF_PEOPLE: [&str; 4] = ["participant_flow", "sample", "percentiles", "auc"];
const COUNTS: [&str; 5] = ["people", "n", "n_with", "n_without", "weighted_n"];

/// What differs, by how much it matters.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Extent {
    /// Estimates that both runs print and that are not the same.
    pub estimates: usize,
    /// Estimates printed then and not now, and the other way round.
    pub newly_withheld: usize,
    pub newly_printed: usize,
    /// Changes of estimates as shares of them.
    estimates_by: Vec<f64>,
    pub intervals: usize,
    /// Largest change of an end of an interval as a share of it.
    pub intervals_by: f64,
    pub conclusions: usize,
    /// Counts of the people studied that are not the same.
    people: usize,
}

/// A cell that differs.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cell<'a> {
    pub table: &'a str,
    pub column: &'a str,
    pub before: &'a str,
    pub after: &'a str,
}

impl Cell<'_> {
    /// (after − before) / before of two numbers.
    pub fn relative(&self) -> Option<f64> {
        let (before, after): (f64, f64) = (self.before.parse().ok()?, self.after.parse().ok()?);
        (before != 0.0).then(|| (after - before) / before)
    }

    /// An end of an interval, or what else rests on replicates.
    fn is_end(&self) -> bool {
        ["lower", "upper"].iter().any(|end| self.column.split('_').any(|part| part == *end))
    }

    fn counts_people(&self) -> bool {
        OF_PEOPLE.contains(&self.table) && COUNTS.contains(&self.column)
    }
}

impl Extent {
    /// Counts a cell that differs.
    pub(super) fn take(&mut self, cell: Cell<'_>) {
        let Cell { column, before, after, .. } = cell;
        let by = cell.relative().map(f64::abs);
        if CONCLUDING.contains(&column) || column.ends_with("_withheld") {
            self.conclusions += 1;
        } else if REMARKS.contains(&column) {
            // Nothing rests on it.
        } else if cell.is_end() {
            self.intervals += 1;
            self.intervals_by = self.intervals_by.max(by.unwrap_or(0.0));
        } else if RESAMPLED.contains(&column) {
            self.intervals += 1;
        } else if after.is_empty() {
            self.newly_withheld += 1;
        } else if before.is_empty() {
            self.newly_printed += 1;
        } else if cell.counts_people() {
            self.people += 1;
        } else {
            self.estimates += 1;
            self.estimates_by.extend(by);
        }
    }

    pub(super) fn add(&mut self, other: &Self) {
        self.estimates += other.estimates;
        self.newly_withheld += other.newly_withheld;
        self.newly_printed += other.newly_printed;
        self.estimates_by.extend(&other.estimates_by);
        self.intervals += other.intervals;
        self.intervals_by = self.intervals_by.max(other.intervals_by);
        self.conclusions += other.conclusions;
        self.people += other.people;
    }

    /// The largest change of an estimate as a share of it; `None` when none changed.
    pub(super) fn largest(&self) -> Option<f64> {
        self.estimates_by.iter().copied().max_by(f64::total_cmp)
    }

    /// The middle one of the changes.
    fn median(&self) -> Option<f64> {
        let mut sorted = self.estimates_by.clone();
        sorted.sort_by(f64::total_cmp);
        sorted.get(sorted.len() / 2).copied()
    }

    /// How the estimates changed: among other people the largest change may be any, and half of them say more.
    fn estimates(&self) -> String {
        let people = if self.people > 0 { "the people differ; " } else { "" };
        let by = match (self.people > 0, self.median(), self.largest()) {
            (true, Some(median), _) => format!(", by {} % in the median", percent(median)),
            (false, _, Some(largest)) => format!(", by up to {} %", percent(largest)),
            _ => String::new(),
        };
        match self.estimates {
            0 => format!("{people}no estimate changed"),
            count => format!("{people}{count} estimates changed{by}"),
        }
    }
}

/// A share in per cent.
pub(super) fn percent(share: f64) -> String {
    significant(100.0 * share, 2)
}

impl fmt::Display for Extent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.estimates())?;
        if self.newly_withheld + self.newly_printed > 0 {
            write!(f, "; {} newly withheld, {} newly printed", self.newly_withheld, self.newly_printed)?;
        }
        match (self.intervals, self.people) {
            (0, _) => {}
            (_, 0) => write!(
                f,
                "; intervals and tests did, ends of intervals by up to {} %",
                percent(self.intervals_by)
            )?,
            _ => write!(f, "; intervals and tests did")?,
        }
        match self.conclusions {
            0 => write!(f, "; no conclusion changed"),
            count => write!(f, "; {count} conclusions or reasons to withhold changed"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cell(column: &'static str, before: &'static str, after: &'static str) -> Cell<'static> {
        Cell { table: "percentiles", column, before, after }
    }

    #[test]
    fn another_seed_moves_intervals_and_nothing_else() {
        let mut extent = Extent::default();
        extent.take(cell("lower", "2", "1.96"));
        extent.take(cell("ratio_upper_t", "2", "2.07"));
        extent.take(cell("p_holm", "0.1", "0.19"));
        let said = extent.to_string();
        assert!(said.starts_with("no estimate changed; intervals") && said.contains("up to 3.5 %"), "{said}");
        assert!(said.ends_with("no conclusion changed"), "{said}");
        extent.take(cell("cutoff", "2", "2.2"));
        extent.take(cell("conclusion", "one", "other"));
        let said = extent.to_string();
        assert!(
            said.starts_with("1 estimates changed, by up to 10 %") && said.contains("1 conclusions"),
            "{said}"
        );
    }

    #[test]
    fn what_is_newly_withheld_or_printed_is_no_change_of_an_estimate() {
        let mut extent = Extent::default();
        extent.take(cell("cutoff", "2", ""));
        extent.take(cell("cutoff", "3", ""));
        extent.take(cell("n", "", "40"));
        let said = extent.to_string();
        assert!(said.starts_with("no estimate changed; 2 newly withheld, 1 newly printed;"), "{said}");
    }

    #[test]
    fn among_other_people_the_middle_change_is_said() {
        let mut extent = Extent::default();
        extent.take(cell("n", "900", "450"));
        for after in ["1.01", "1.02", "600"] {
            extent.take(cell("value", "1", after));
        }
        let said = extent.to_string();
        assert!(said.starts_with("the people differ; 3 estimates changed, by 2 % in the median;"), "{said}");
        assert_eq!(extent.largest(), Some(599.0));
        let elsewhere = Cell { table: "cutoff_accuracy", ..cell("n", "90", "80") };
        let mut extent = Extent::default();
        extent.take(elsewhere);
        assert!(extent.to_string().starts_with("1 estimates changed"), "a count beyond a cutoff");
    }
}

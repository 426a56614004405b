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

/// What differs, by how much it matters.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Extent {
    pub estimates: usize,
    /// Largest change of an estimate as a share of it.
    pub estimates_by: f64,
    pub intervals: usize,
    /// Largest change of an end of an interval as a share of it.
    pub intervals_by: f64,
    pub conclusions: usize,
}

impl Extent {
    /// Counts a cell that differs; `relative` when both are numbers.
    pub(super) fn take(&mut self, column: &str, relative: Option<f64>) {
        let by = relative.unwrap_or(0.0).abs();
        let is_end = ["lower", "upper"].iter().any(|end| column.split('_').any(|part| part == *end));
        if CONCLUDING.contains(&column) || column.ends_with("_withheld") {
            self.conclusions += 1;
        } else if REMARKS.contains(&column) {
            // Nothing rests on it.
        } else if is_end {
            self.intervals += 1;
            self.intervals_by = self.intervals_by.max(by);
        } else if RESAMPLED.contains(&column) {
            self.intervals += 1;
        } else {
            self.estimates += 1;
            self.estimates_by = self.estimates_by.max(by);
        }
    }

    pub(super) fn add(&mut self, other: &Self) {
        self.estimates += other.estimates;
        self.estimates_by = self.estimates_by.max(other.estimates_by);
        self.intervals += other.intervals;
        self.intervals_by = self.intervals_by.max(other.intervals_by);
        self.conclusions += other.conclusions;
    }
}

impl fmt::Display for Extent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let by = |share: f64| significant(100.0 * share, 2);
        match self.estimates {
            0 => write!(f, "no estimate changed")?,
            count => write!(f, "{count} estimates changed, by up to {} %", by(self.estimates_by))?,
        }
        if self.intervals > 0 {
            write!(f, "; intervals and tests did, ends of intervals by up to {} %", by(self.intervals_by))?;
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

    #[test]
    fn another_seed_moves_intervals_and_nothing_else() {
        let mut extent = Extent::default();
        extent.take("lower", Some(-0.02));
        extent.take("ratio_upper_t", Some(0.035));
        extent.take("p_holm", Some(0.9));
        let said = extent.to_string();
        assert!(said.starts_with("no estimate changed; intervals") && said.contains("up to 3.5 %"), "{said}");
        assert!(said.ends_with("no conclusion changed"), "{said}");
        extent.take("cutoff", Some(0.1));
        extent.take("conclusion", None);
        let said = extent.to_string();
        assert!(
            said.starts_with("1 estimates changed, by up to 10 %") && said.contains("1 conclusions"),
            "{said}"
        );
    }
}

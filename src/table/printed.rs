//! Which interval a row prints, and why it prints none.

use super::Row;

/// Begins the notice that says why an estimate has no interval.
const NONE: &str = "no interval: ";
/// Ends the notice that counts the replicates of an estimate that failed, where they were too many for one.
const SO_NONE: &str = " replicates failed, so no interval";
/// The same of any estimate: each counts its own.
const TOO_MANY: &str = "too many replicates failed";

impl<'a> Row<'a> {
    /// The kind of the row's interval, where it prints one.
    #[must_use]
    pub fn printed_interval(&self) -> Option<&'a str> {
        let known = |column: &str| self.has(column) && self.real(column).is_some();
        let ends = !self.has("lower") || known("lower") || known("upper");
        let kind = if self.has("interval") { self.text("interval") } else { "" };
        (!kind.is_empty() && ends && !self.is_withheld()).then_some(kind)
    }

    fn is_withheld(&self) -> bool {
        self.has("withheld") && !self.text("withheld").is_empty()
    }

    /// Why the row prints no interval beside its estimate, as its notices say; of a withheld one nothing is asked.
    #[must_use]
    pub fn why_no_interval(&self) -> Option<&'a str> {
        let notices = if self.has("notices") { self.text("notices") } else { "" };
        if self.is_withheld() {
            return None;
        }
        let failed = |notice: &str| notice.ends_with(SO_NONE).then_some(TOO_MANY);
        notices.split("; ").find_map(|notice| notice.strip_prefix(NONE).or_else(|| failed(notice)))
    }
}

#[cfg(test)]
mod tests {
    use crate::table::{Table, schema};

    #[test]
    fn a_kind_without_ends_is_no_interval() {
        let mut table = Table::new(schema::shape("cutoffs").expect("a table"));
        let lead = |table: &mut Table, lower: Option<f64>, notices: &str, withheld: &str| {
            let row = table.row().text("interval", "replicates_t").real("lower", lower).real("upper", lower);
            row.text("notices", notices).text("withheld", withheld).done().expect("a row");
        };
        lead(&mut table, Some(1.0), "", "");
        lead(&mut table, None, "only 3 degrees of freedom; no interval: the jackknife", "");
        lead(&mut table, Some(1.0), "", "fewer than 30 people");
        lead(&mut table, None, "130 of 500 replicates failed, so no interval", "");
        lead(
            &mut table,
            None,
            "130 of 500 replicates failed, so no interval",
            "the interval of the AUC includes 0.5",
        );
        lead(&mut table, None, "130 of 500 replicates failed; the complement may be unreliable", "");
        let kinds: Vec<Option<&str>> = table.iter().map(|row| row.printed_interval()).collect();
        assert_eq!(kinds, [Some("replicates_t"), None, None, None, None, None]);
        let why: Vec<Option<&str>> = table.iter().map(|row| row.why_no_interval()).collect();
        assert_eq!(why, [None, Some("the jackknife"), None, Some("too many replicates failed"), None, None]);
    }
}

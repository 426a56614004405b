//! Which interval a row prints, and why it prints none.

use super::Row;

/// Begins the notice that says why an estimate has no interval.
const NONE: &str = "no interval: ";

impl<'a> Row<'a> {
    /// The kind of the row's interval, where it prints one.
    #[must_use]
    pub fn printed_interval(&self) -> Option<&'a str> {
        let known = |column: &str| self.has(column) && self.real(column).is_some();
        let ends = !self.has("lower") || known("lower") || known("upper");
        let withheld = self.has("withheld") && !self.text("withheld").is_empty();
        let kind = if self.has("interval") { self.text("interval") } else { "" };
        (!kind.is_empty() && ends && !withheld).then_some(kind)
    }

    /// Why the row prints no interval, as its notices say.
    #[must_use]
    pub fn why_no_interval(&self) -> Option<&'a str> {
        let notices = if self.has("notices") { self.text("notices") } else { "" };
        notices.split("; ").find_map(|notice| notice.strip_prefix(NONE))
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
        let kinds: Vec<Option<&str>> = table.iter().map(|row| row.printed_interval()).collect();
        assert_eq!(kinds, [Some("replicates_t"), None, None]);
        let why: Vec<Option<&str>> = table.iter().map(|row| row.why_no_interval()).collect();
        assert_eq!(why, [None, Some("the jackknife"), None]);
    }
}

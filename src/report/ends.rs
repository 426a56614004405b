//! The lowest and highest of several groups, and what is said of those that stand at neither end.

use super::sentence::percent;
use crate::chart::Labels;
use crate::stats::proportion::ALL_OR_NONE;
use crate::table::Row;
use crate::table::number::{fixed, whole};

/// The lowest and highest printed estimates of a set of rows.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ends<'a> {
    pub low: (f64, Row<'a>),
    pub high: (f64, Row<'a>),
    /// Rows whose estimate is withheld.
    pub withheld: usize,
    /// The only such row.
    alone: Option<Row<'a>>,
    /// Of rows of which nobody or everybody has what is counted, how many there are, and the first.
    uniform: (usize, Option<Row<'a>>),
}

/// The ends of a column over rows; `None` with fewer than two printed estimates.
pub(super) fn ends<'a>(rows: &[Row<'a>], column: &str) -> Option<Ends<'a>> {
    let mut shown: Vec<(f64, Row<'a>)> =
        rows.iter().filter_map(|row| Some((row.shown(column)?, *row))).collect();
    shown.sort_by(|a, b| a.0.total_cmp(&b.0));
    if shown.len() < 2 {
        return None;
    }
    let alone = lone(rows, |row| row.shown(column).is_none());
    let withheld = rows.len() - shown.len();
    Some(Ends { low: shown[0], high: shown[shown.len() - 1], withheld, alone, uniform: (0, None) })
}

/// The ends of a column over those rows whose estimate is printed with an interval that counts the survey's sampling: where
/// nobody or everybody has what is counted nothing tells it, and few people would stand at an end for that alone.
pub(super) fn certain_ends<'a>(rows: &[Row<'a>], column: &str) -> Option<Ends<'a>> {
    let (printed, not_printed): (Vec<Row<'a>>, Vec<Row<'a>>) = rows.iter().partition(|row| has_interval(row));
    let (uniform, certain): (Vec<Row<'a>>, Vec<Row<'a>>) = printed.into_iter().partition(is_uniform);
    let alone = lone(&not_printed, |_| true);
    let uniform = (uniform.len(), uniform.first().copied());
    ends(&certain, column).map(|ends| Ends { withheld: not_printed.len(), alone, uniform, ..ends })
}

/// Whether nobody or everybody of a row has what is counted.
pub(super) fn is_uniform(row: &Row<'_>) -> bool {
    row.text("notices").contains(ALL_OR_NONE)
}

/// The only row of which something holds.
fn lone<'a>(rows: &[Row<'a>], holds: impl Fn(&Row<'a>) -> bool) -> Option<Row<'a>> {
    let mut found = rows.iter().copied().filter(|row| holds(row));
    found.next().filter(|_| found.next().is_none())
}

/// Whether a row's interval is printed.
pub(super) fn has_interval(row: &Row<'_>) -> bool {
    row.shown("lower").is_some() && row.shown("upper").is_some()
}

/// `runs from 23.0 % (19.8–26.5) in “30 and over” to …`, and of how many groups the share is withheld.
pub(super) fn shares_run(ends: &Ends<'_>, labels: &Labels) -> String {
    let places = labels.percent_places(1);
    let end = |(share, row): &(f64, Row<'_>)| {
        format!("{} in “{}”", percent((*share, row), places), row.text("group"))
    };
    let apart = format!("{}{}", withheld_shares(ends, labels), all_or_none(ends));
    format!("runs from {} to {}{apart}", end(&ends.low), end(&ends.high))
}

/// `; in “under 18.5” (n = 41) it is 100 %, …`: groups that stand at no end, because nothing tells how certain that is.
pub(super) fn all_or_none(ends: &Ends<'_>) -> String {
    const WHY: &str = "which is not ranked, as the survey's sampling cannot be counted in it";
    match ends.uniform {
        (1, Some(row)) => {
            let n = row.whole("n").map(|n| format!(" (n = {})", whole(n))).unwrap_or_default();
            let share = row.shown("value").map(|share| fixed(share, 0)).unwrap_or_default();
            format!("; in “{}”{n} it is {share}\u{a0}%, {WHY}", row.text("group"))
        }
        (0, _) | (_, None) => String::new(),
        (several, _) => format!("; in {several} groups it is 0 or 100\u{a0}%, {WHY}"),
    }
}

/// Of how many groups the share is withheld. Where people may not be shown in small counts, a group of many may be
/// withheld for a few elsewhere: it is named, with the reason.
fn withheld_shares(ends: &Ends<'_>, labels: &Labels) -> String {
    match ends.alone.filter(|row| labels.fewest_shown.is_some() && !row.text("withheld").is_empty()) {
        Some(row) => {
            format!("; the share of “{}” is withheld: {}", row.text("group"), row.text("withheld"))
        }
        None => withheld("share", ends.withheld),
    }
}

/// Why everybody's share lies outside those of the groups that are printed, where others are withheld.
pub(super) fn outside(everybody: f64, ends: &Ends<'_>) -> &'static str {
    if ends.withheld > 0 && (everybody < ends.low.0 || everybody > ends.high.0) {
        "; everybody’s lies outside these: the groups shown leave some people out"
    } else {
        ""
    }
}

/// `; the share of one group is withheld` or nothing.
pub(super) fn withheld(what: &str, count: usize) -> String {
    match count {
        0 => String::new(),
        1 => format!("; the {what} of one group is withheld"),
        _ => format!("; the {what}s of {count} groups are withheld"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 56 %, from 53 to 59 %, in one group; 61 % in another; and a third that is withheld.
    #[test]
    fn of_people_who_may_not_be_shown_shares_are_written_as_they_are_known() {
        let mut table = crate::table::Table::new(crate::table::schema::shape("claim").expect("a table"));
        for (group, share) in [("a", Some(56.0)), ("b", Some(61.0)), ("c", None)] {
            let row = table.row().text("group", group).real("value", share);
            let row = row.real("lower", share.map(|s| s - 3.0)).real("upper", share.map(|s| s + 3.0));
            row.text("withheld", share.map_or("few", |_| "")).done().expect("a row");
        }
        let rows: Vec<Row<'_>> = table.iter().collect();
        let across = ends(&rows, "value").expect("two shares");
        let private = Labels { fewest_shown: Some(10), ..Labels::default() };
        let said = |labels: &Labels| shares_run(&across, labels);
        let end = "; the share of “c” is withheld: few";
        let coarse = "runs from 56\u{a0}% (53–59) in “a” to 61\u{a0}% (58–64) in “b”";
        assert_eq!(said(&private), format!("{coarse}{end}"));
        assert!(said(&Labels::default()).starts_with("runs from 56.0\u{a0}% (53.0–59.0)"));
        assert!(outside(60.0, &across).is_empty());
        assert!(
            outside(55.0, &across).contains("leave some people out") && !outside(62.0, &across).is_empty()
        );
    }

    #[test]
    fn a_share_of_all_or_none_stands_at_no_end_of_a_range() {
        let mut table = crate::table::Table::new(crate::table::schema::shape("claim").expect("a table"));
        for (group, share, notice) in [
            ("thin", 100.0, "nobody or everybody has the event"),
            ("lean", 90.5, ""),
            ("large", 36.0, "the complement may be unreliable"),
        ] {
            let row = table.row().text("group", group).real("value", Some(share)).whole("n", Some(41));
            let row = row.real("lower", Some(share - 4.0)).real("upper", Some(share));
            row.text("notices", notice).done().expect("a row");
        }
        let rows: Vec<Row<'_>> = table.iter().collect();
        let across = certain_ends(&rows, "value").expect("two shares");
        assert_eq!((across.high.1.text("group"), across.withheld), ("lean", 0));
        let said = shares_run(&across, &Labels::default());
        assert!(
            said.ends_with(
                "in “lean”; in “thin” (n = 41) it is 100\u{a0}%, which is not ranked, as the survey's sampling cannot be counted in it"
            ),
            "{said}"
        );
        assert!(certain_ends(&rows[..2], "value").is_none(), "one share alone runs to no other");
    }
}

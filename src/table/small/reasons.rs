//! Why numbers are not printed, in words that do not tell nobody from a few.

use super::silent::is_reason;
use super::{empty, reason};
use crate::table::{Cell, Table};

/// How a reason begins that holds of nobody, or of everybody, alone.
const OF_NOBODY: [&str; 3] = ["nobody ", "everybody has ", "everybody with"];
/// Names the kind of an interval, which a row about nobody may not have.
const INTERVAL: &str = "interval";

/// Says of a row about few people only that they are few, and of any other nothing that holds of nobody alone.
pub(super) fn say_few(table: &mut Table, row: usize, of_few: bool, limit: i64) {
    for at in (0..table.columns.len()).filter(|at| is_reason(table.columns[*at].name)) {
        if let Cell::Text(said) = &table.rows[row][at] {
            table.rows[row][at] = Cell::text(if of_few { reason(limit) } else { as_few(said, limit) });
        }
    }
    if of_few {
        empty(table, row, INTERVAL);
    }
}

/// Reasons in which nobody is written as a few are; what they are of stands before a colon.
fn as_few(reasons: &str, limit: i64) -> String {
    let part = |part: &str| {
        let (of, said) = part.rsplit_once(": ").unwrap_or(("", part));
        let of_nobody = |one: &str| OF_NOBODY.iter().any(|start| one.starts_with(start));
        let mut words: Vec<String> =
            said.split(", ").map(|one| if of_nobody(one) { reason(limit) } else { one.to_owned() }).collect();
        words.dedup();
        let said = words.join(", ");
        if of.is_empty() { said } else { format!("{of}: {said}") }
    };
    let mut parts: Vec<String> = reasons.split("; ").map(part).collect();
    parts.dedup();
    parts.join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nobody_reads_as_a_few_and_other_reasons_stay() {
        let cases = [
            ("nobody with or without the outcome", "fewer than 10 people"),
            ("fewer than 10 people; nobody to judge it by", "fewer than 10 people"),
            ("men × old: nobody in the group, no cutoff", "men × old: fewer than 10 people, no cutoff"),
            ("everybody with the outcome is beyond it", "fewer than 10 people"),
            ("everybody: fewer than 30 people", "everybody: fewer than 30 people"),
            ("the interval of the AUC includes 0.5", "the interval of the AUC includes 0.5"),
        ];
        for (reasons, wanted) in cases {
            assert_eq!(as_few(reasons, 10), wanted);
        }
    }
}

//! The fifths of the people beside a curve: which of them have no mark, and why.

use crate::table::Row;
use crate::table::number::fixed;

use super::select::{Bundle, bundles, group_label, stated_text};

/// More withheld estimates than this are counted, not named.
const MOST_NAMED: usize = 6;

/// `Marks withheld: female at BMI 21 (fewer than 30 people with the outcome).`; `None` where all are there.
pub(super) fn unmarked(rows: &[Row<'_>], over: &str) -> Option<String> {
    let withheld = rows.iter().copied().filter(|row| !row.text("withheld").is_empty());
    let each = bundles(withheld, &["withheld"]).into_iter().map(|reason| {
        let groups = bundles(reason.rows.iter().copied(), &["group"]);
        let named: Vec<String> = groups.iter().map(|group| fifths_of(group, over)).collect();
        let few = reason.rows.len() <= MOST_NAMED;
        let which =
            if few { named.join(" and ") } else { format!("{} of {}", reason.rows.len(), rows.len()) };
        format!("{which} ({})", reason.key[0])
    });
    let each: Vec<String> = each.collect();
    (!each.is_empty()).then(|| format!("Marks withheld: {}.", each.join("; ")))
}

/// `female at BMI 21`, of a percentile `female P90 at BMI 21`.
fn fifths_of(group: &Bundle<'_>, over: &str) -> String {
    let fifth = |row: &Row<'_>| {
        let percentile = row.real("percentile").map(|p| format!(" P{}", stated_text(p)));
        let at = row.real("x").map(|x| format!(" at {} {}", word(over), fixed(x, 0)));
        percentile.unwrap_or_default() + &at.unwrap_or_default()
    };
    let fifths: Vec<String> = group.rows.iter().map(fifth).collect();
    format!("{}{}", group_label(&group.rows[0]), fifths.join(","))
}

/// What curves run over, in words.
pub(super) fn word(over: &str) -> &str {
    if over == "bmi" { "BMI" } else { over }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::Table;
    use crate::table::schema;

    #[test]
    fn fifths_without_a_mark_are_named_with_the_reason() {
        let mut table = Table::new(schema::shape("curve_checks").expect("a table"));
        let few = "fewer than 30 people with the outcome";
        for (group, x, why) in [("female", 21.1, few), ("female", 24.0, ""), ("male", 20.7, few)] {
            let row = table.row().text("grouping", "sex").text("group", group).text("withheld", why);
            row.real("x", Some(x)).real("value", Some(2.0)).done().expect("a row");
        }
        let rows: Vec<Row<'_>> = table.iter().collect();
        let said = format!("Marks withheld: female at BMI 21 and male at BMI 21 ({few}).");
        assert_eq!(unmarked(&rows, "bmi"), Some(said));
        assert_eq!(unmarked(&rows[1..2], "bmi"), None);
        let many: Vec<Row<'_>> = std::iter::repeat_n(rows[0], MOST_NAMED + 1).collect();
        assert_eq!(unmarked(&many, "age"), Some(format!("Marks withheld: 7 of 7 ({few}).")));
    }
}

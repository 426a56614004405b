//! What a reader of the run should know before quoting a number.

use super::context::Context;
use super::differences;
use crate::notice::Notice;
use crate::study::remarks;
use crate::table::number::significant;
use crate::table::small::LeftOut;
use crate::table::{Table, small};

/// Degrees of freedom below which variances of a whole frame are themselves unsure (NCHS guidance: 12).
const FEW_FRAME_DF: f64 = 12.0;

pub fn all(context: &Context, tables: &[Table]) -> Vec<Notice> {
    let mut notices = remarks(context.study);
    notices.extend(degrees_of_freedom(context));
    notices.extend(comparisons(tables, context.study.confidence));
    notices.extend(index_comparisons(tables));
    notices
}

fn degrees_of_freedom(context: &Context) -> Vec<Notice> {
    let few = |frame: &usize| context.frames[*frame].design.frame_df() < FEW_FRAME_DF;
    let degrees = |frame: usize| match context.study.fewest_shown() {
        Some(_) => "few degrees of freedom".to_owned(),
        None => format!("{} degrees of freedom", context.frames[frame].design.frame_df()),
    };
    let notice = |frame: usize| {
        Notice::caution(
            "few_degrees_of_freedom",
            format!("frame {}", context.frame_name(frame)),
            format!("the design has {}; intervals are wide and unsure below {FEW_FRAME_DF}", degrees(frame)),
        )
    };
    (0..context.frames.len()).filter(few).map(notice).collect()
}

/// How many rows are withheld, in one notice for all tables.
#[must_use]
pub fn withheld_notice(tables: &[Table]) -> Option<Notice> {
    let of = |table: &Table| {
        let withheld = || table.iter().filter(|row| !row.text("withheld").is_empty()).count();
        table.position("withheld").map_or(0, |_| withheld())
    };
    let counts: Vec<(&Table, usize)> = tables.iter().map(|table| (table, of(table))).collect();
    let all: usize = counts.iter().map(|(_, count)| count).sum();
    let each: Vec<String> = counts
        .iter()
        .filter(|(_, count)| *count > 0)
        .map(|(table, count)| format!("{} ({count} of {})", table.name, table.rows.len()))
        .collect();
    (all > 0).then(|| {
        let message = format!("{all} rows are withheld, and each says why: {}", each.join(", "));
        Notice::note("withheld", "estimates too unsure to be printed", message)
    })
}

/// What was left out of the tables because it would show how few people something holds for, and how the rest is rounded.
#[must_use]
pub fn left_out_notice(left_out: LeftOut, limit: i64) -> Notice {
    let LeftOut { counts, beside, shares } = left_out;
    let said = |number: usize, one: &str, many: &str| match number {
        0 => None,
        1 => Some(format!("1 {one}")),
        number => Some(format!("{number} {many}")),
    };
    let counts = said(
        counts,
        &format!("count of fewer than {limit} people"),
        &format!("counts of fewer than {limit} people"),
    );
    let worked_out = "from which such a count could be worked out by subtracting";
    let beside = said(beside, &format!("other count, {worked_out}"), &format!("other counts, {worked_out}"));
    let stands = "for so few, or for a count that is left empty";
    let shares = said(shares, &format!("share that stands {stands}"), &format!("shares that stand {stands}"));
    let parts: Vec<String> = [counts, beside, shares].into_iter().flatten().collect();
    let empty = if parts.is_empty() {
        String::new()
    } else {
        format!("left empty: {}. Of the rest, ", parts.join("; "))
    };
    // A second count is often one of many people.
    let advice = if left_out.beside == 0 {
        ""
    } else {
        ". A class of many may be empty because few are in none, or in the one beside it: merge classes, leave out the grouping, \
         or leave people without that value out of the file"
    };
    let message = format!(
        "{empty}{}{advice}. Of people whose count is left out these tables tell no estimate either. Groups of different groupings are not \
         compared with each other, nor anything with what is known from elsewhere: look once more before you publish",
        small::rounding(limit)
    );
    Notice::note("small_counts", "people who may not be shown in small counts", message)
}

/// How many comparisons a reader could pick from.
fn comparisons(tables: &[Table], confidence: f64) -> Option<Notice> {
    let percent = |share: f64| significant(100.0 * share, 6);
    let made = differences::made(tables.iter().find(|t| t.name == "cutoff_differences")?);
    (made > 0).then(|| {
        Notice::note(
            "comparisons",
            "differences between cutoffs",
            format!(
                "{made} comparisons with everybody's cutoff were made without adjustment; of 100 such {} % intervals about {} miss \
                 their targets by chance",
                percent(confidence),
                percent(1.0 - confidence)
            ),
        )
    })
}

/// Adjustment stays within one question: one outcome in one group.
fn index_comparisons(tables: &[Table]) -> Option<Notice> {
    let table = tables.iter().find(|t| t.name == "index_comparison")?;
    let made = table.iter().filter(|row| row.real("p_holm").is_some()).count();
    (made > 0).then(|| {
        Notice::note(
            "comparisons",
            "differences between indices",
            format!(
                "{made} pairs of indices were compared; p values are adjusted over the pairs of one outcome and group, \
                 not over groups and outcomes"
            ),
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    #[test]
    fn how_many_intervals_miss_follows_from_the_confidence_of_the_study() {
        let mut table = Table::new(schema::shape("cutoff_differences").expect("a table"));
        table.row().text("group", "men").real("difference", Some(0.4)).done().expect("a row");
        let said = |confidence| comparisons(std::slice::from_ref(&table), confidence).expect("one").message;
        assert!(said(0.95).contains("of 100 such 95 % intervals about 5 miss"), "{}", said(0.95));
        assert!(said(0.9).contains("of 100 such 90 % intervals about 10 miss"), "{}", said(0.9));
    }

    #[test]
    fn only_what_was_left_out_is_counted() {
        let said = |counts, beside, shares| left_out_notice(LeftOut { counts, beside, shares }, 10).message;
        assert!(said(0, 0, 0).starts_with(&small::rounding(10)), "{}", said(0, 0, 0));
        let shares = said(0, 0, 2);
        assert!(shares.starts_with("left empty: 2 shares that stand for so few, or for a count"), "{shares}");
        let all = said(1, 3, 1);
        assert!(
            all.starts_with("left empty: 1 count of fewer than 10 people; 3 other counts, from"),
            "{all}"
        );
        assert!(all.contains("merge classes") && !shares.contains("merge classes"), "{all}");
    }
}

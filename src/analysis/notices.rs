//! What a reader of the run should know before quoting a number.

use super::context::Context;
use crate::notice::Notice;
use crate::study::remarks;
use crate::table::Table;

/// Degrees of freedom below which variances of a whole frame are themselves unsure (NCHS guidance: 12).
const FEW_FRAME_DF: f64 = 12.0;

pub fn all(context: &Context, tables: &[Table]) -> Vec<Notice> {
    let mut notices = remarks(context.study);
    notices.extend(degrees_of_freedom(context));
    notices.extend(withheld(tables));
    notices.extend(comparisons(tables));
    notices.extend(index_comparisons(tables));
    notices
}

fn degrees_of_freedom(context: &Context) -> Vec<Notice> {
    let few = |frame: &usize| context.frames[*frame].design.frame_df() < FEW_FRAME_DF;
    let notice = |frame: usize| {
        Notice::caution(
            "few_degrees_of_freedom",
            format!("frame {}", context.frame_name(frame)),
            format!(
                "the design has {} degrees of freedom; intervals are wide and unsure below {FEW_FRAME_DF}",
                context.frames[frame].design.frame_df()
            ),
        )
    };
    (0..context.frames.len()).filter(few).map(notice).collect()
}

fn withheld(tables: &[Table]) -> Vec<Notice> {
    tables
        .iter()
        .filter(|t| t.position("withheld").is_some() && !t.rows.is_empty())
        .filter_map(|table| {
            let withheld = table.iter().filter(|row| !row.text("withheld").is_empty()).count();
            (withheld > 0).then(|| {
                Notice::note(
                    "withheld",
                    format!("table {}", table.name),
                    format!("{withheld} of {} rows are withheld; each says why", table.rows.len()),
                )
            })
        })
        .collect()
}

/// How many comparisons a reader could pick from.
fn comparisons(tables: &[Table]) -> Option<Notice> {
    let made = tables.iter().find(|t| t.name == "cutoff_differences")?.rows.len();
    (made > 0).then(|| {
        Notice::note(
            "comparisons",
            "differences between cutoffs",
            format!(
                "{made} comparisons with everybody's cutoff were made without adjustment; about one in twenty \
                 95 % intervals misses its target by chance"
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

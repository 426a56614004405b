//! Sections of a first study file that stand in it as comments, ready to be switched on.

use std::fmt::Write as _;

use super::crossed;
use super::draft::{line, quoted};
use super::draft_own::examples;
use super::draft_plan::Plan;

/// Sections that are often wanted, as comments.
pub(super) fn further(text: &mut String, plan: &Plan<'_>) {
    let groups = &plan.groups;
    if let (Some(age), Some(of)) = (
        groups.iter().find(|name| name.starts_with("age_")),
        groups.iter().find(|name| !name.starts_with("age_") && crossed(name).len() == 1),
    ) {
        let _ = write!(
            text,
            "\n# ---- Groups compared as if they had the same ages; without this section the program adds a comparison.\n\n\
             # [analysis.standardize]\n# of = [{}]\n# to = [[{}]]\n",
            quoted(of),
            quoted(age)
        );
    }
    other_choices(text, plan);
    text.push_str("\n# ---- How charts are printed.\n\n# [output]\n");
    line(text, "# width_mm = 174", "on paper; 85 for one column of a journal");
    line(text, "# formats = [\"svg\", \"png\"]", "pdf too");
    line(text, "# dpi = 300", "as journals ask of a PNG");
    stated_number(text, plan);
    examples(text);
}

/// How far a cutoff moves under other choices.
fn other_choices(text: &mut String, plan: &Plan<'_>) {
    text.push_str(
        "\n# ---- How far a cutoff moves under other rules, outcomes, percentiles and exclusions.\n\n",
    );
    text.push_str("# [sensitivity]\n");
    line(text, &format!("# index = {}", quoted(&plan.indices[0])), "");
    if let Some(group) = plan.groups.iter().find(|name| crossed(name).len() == 1) {
        line(
            text,
            &format!("# groups = [{}]", quoted(group)),
            "groups above, besides everybody; none crossed",
        );
    }
    line(text, "# percentiles = [75, 90, 95]", "the first is the base, as of rules and outcomes");
    if let [first, _, ..] = plan.exclude.as_slice() {
        line(text, "# [[sensitivity.exclusions]]", "in place of the exclusions of the cohort");
        text.push_str("# name = \"fewer_left_out\"\n");
        line(text, &format!("# exclude = [{}]", quoted(first)), "");
    }
}

/// A number printed elsewhere.
fn stated_number(text: &mut String, plan: &Plan<'_>) {
    text.push_str(
        "\n# ---- A number printed elsewhere, compared with what the run finds; exit code 1 when it does not hold.\n\n",
    );
    text.push_str("# [[check]]\n");
    line(text, "# table = \"percentiles\"", "a table of results, by the name of its file");
    let place = "population = \"cohort\", group = \"everybody\", percentile = 50";
    let row = format!("# where = {{ index = {}, {place} }}", quoted(&plan.indices[0]));
    line(text, &row, "enough to pick one row");
    text.push_str("# column = \"value\"\n");
    line(text, "# expected = 2.0", "as printed");
    line(text, "# within = 0.05", "or relative = 0.05, or between = [1.9, 2.1]");
    line(text, "# source = \"…\"", "where it is printed");
}

/// What the files of the cycles cannot give.
pub(super) fn unreleased(text: &mut String, plan: &Plan<'_>) {
    let missing = plan.unreleased.join(", ");
    if !plan.left_out.is_empty() {
        let _ = writeln!(
            text,
            "# Left out, because {missing} is not among the released files: {}.",
            plan.left_out.join(", ")
        );
    }
    if !plan.kept.is_empty() {
        let _ = writeln!(
            text,
            "# check this: {missing} is not among the released files, and these read it: {}.",
            plan.kept.join(", ")
        );
    }
}

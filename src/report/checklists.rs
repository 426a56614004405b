//! What two reporting guidelines ask, in words of our own, and where this run answers it.
//!
//! From memory of Bossuyt et al. 2015, BMJ 351:h5527 (STARD) and von Elm et al. 2007, Lancet
//! 370:1453–1457 (STROBE), without their numbers.

use crate::table::Table;

use super::methods::filled;

/// Something that is asked, the parts of a run that may answer it, and what stays open.
struct Asked {
    what: &'static str,
    /// Names of tables, or files with an ending; the text if no table of them has rows.
    answers: &'static [&'static str],
    /// What the authors must say besides; empty when nothing is known to be missing.
    open: &'static str,
}

const fn asked(what: &'static str, answers: &'static [&'static str], open: &'static str) -> Asked {
    Asked { what, answers, open }
}

const STARD: &[Asked] = &[
    asked("title or abstract names a study of accuracy and a measure of it", &[], ""),
    asked("structured abstract", &[], ""),
    asked("background, and what the index is meant to be used for", &[], ""),
    asked("objectives and hypotheses", &["study.toml"], "why they are asked"),
    asked("whether index and outcome were measured before the question was put", &[], ""),
    asked("who was eligible", &["methods.md", "study.toml", "participant_flow"], ""),
    asked("how, where and when people were found", &[], ""),
    asked("whether people were a consecutive, random or convenience series", &[], ""),
    asked("the index in enough detail to repeat it", &["methods.md", "study.toml"], "assays and instruments"),
    asked("the outcome in enough detail to repeat it", &["methods.md", "study.toml"], "why this outcome"),
    asked(
        "which cutoffs were stated beforehand and which were found in the data",
        &["cutoffs", "threshold_accuracy"],
        "that what the study states was stated before the data were seen",
    ),
    asked("who knew what when measuring", &[], ""),
    asked("how accuracy was estimated and compared", &["methods.md"], ""),
    asked("how unclear answers of index and outcome were handled", &["methods.md", "auc"], ""),
    asked("how missing values were handled", &["methods.md", "participant_flow"], ""),
    asked(
        "whether accuracy varies between groups, and which groups were chosen beforehand",
        &["auc", "cutoffs", "heterogeneity"],
        "which groups were chosen before the data were seen",
    ),
    asked("intended number of people, and why", &[], ""),
    asked("flow of people", &["participant_flow"], ""),
    asked("who they are", &["methods.md", "sample"], ""),
    asked("how severe the outcome is, and what else those without it have", &[], ""),
    asked("time between index and outcome, and what happened in it", &[], ""),
    asked(
        "index against outcome, counted across",
        &["threshold_accuracy", "cutoff_accuracy"],
        "the four counts themselves, if wanted",
    ),
    asked("accuracy with intervals", &["auc", "cutoff_accuracy", "threshold_accuracy"], ""),
    asked("harm done by measuring", &[], ""),
    asked(
        "limits: bias, uncertainty, for whom it holds",
        &["methods.md", "notices"],
        "what the data cannot show",
    ),
    asked("what it means for practice", &[], ""),
    asked("registration, protocol, funding", &[], ""),
];

const STROBE: &[Asked] = &[
    asked("title or abstract names the design", &[], ""),
    asked("background and reasons", &[], ""),
    asked("objectives", &["study.toml"], "why they are asked"),
    asked("design, early in the paper", &[], ""),
    asked("setting, places and dates", &[], ""),
    asked(
        "who was eligible and how people were chosen",
        &["methods.md", "participant_flow"],
        "how people were invited",
    ),
    asked("every variable, with its definition", &["methods.md", "study.toml"], ""),
    asked("how each was measured", &["assay_route_steps"], "assays, instruments and questions"),
    asked("what was done against bias", &[], ""),
    asked("how the number of people came about", &[], ""),
    asked("how numbers were grouped, and why", &["methods.md", "study.toml"], "why these groups"),
    asked("statistical methods, groups, missing values, sampling design", &["methods.md"], ""),
    asked(
        "adjustment for what differs between groups",
        &["standardised_cutoffs", "decomposition"],
        "what else may differ",
    ),
    asked("other choices tried", &["choice_ranges", "assay_routes"], ""),
    asked("people at each stage, and why they left", &["participant_flow"], ""),
    asked("who they are, and how many values are missing", &["sample", "participant_flow"], ""),
    asked("how many have the outcome", &["methods.md", "outcome_prevalence"], ""),
    asked("estimates with intervals", &["percentiles", "cutoffs", "threshold_shares"], ""),
    asked("other analyses", &["cutoff_differences", "heterogeneity", "index_comparison"], ""),
    asked("main results against the objectives", &["methods.md"], "what they mean"),
    asked("limits", &["methods.md", "notices"], "what the data cannot show"),
    asked("cautious interpretation, and for whom it holds", &[], ""),
    asked("funding", &[], ""),
];

/// The checklists as tables; that of accuracy only when accuracy was estimated.
pub(super) fn checklists(tables: &[Table]) -> String {
    let intro = "## What reporting guidelines ask\n\nFrom memory of the guidelines, in other words than theirs and without their \
                 numbers: check against the guidelines themselves before handing in a manuscript.\n";
    let mut text = intro.to_owned();
    if filled(tables, "auc").is_some() {
        text.push_str(&checklist(
            "Studies of accuracy (STARD, Bossuyt et al. 2015, BMJ 351:h5527)",
            STARD,
            tables,
        ));
    }
    text.push_str(&checklist(
        "Observational studies (STROBE, von Elm et al. 2007, Lancet 370:1453–1457)",
        STROBE,
        tables,
    ));
    text
}

fn checklist(title: &str, list: &[Asked], tables: &[Table]) -> String {
    let rows: Vec<String> = list.iter().map(|asked| row(asked, tables)).collect();
    format!("\n### {title}\n\n| asked for | where it stands |\n|---|---|\n{}", rows.concat())
}

fn row(asked: &Asked, tables: &[Table]) -> String {
    let files: Vec<String> = asked.answers.iter().filter_map(|name| file(name, tables)).collect();
    let stands = match (files.is_empty(), asked.open) {
        (true, _) => "**[authors]**".to_owned(),
        (false, "") => files.join(", "),
        (false, open) => format!("{}; **[authors: {open}]**", files.join(", ")),
    };
    format!("| {} | {stands} |\n", asked.what)
}

/// The file of an answer that this run has.
fn file(name: &str, tables: &[Table]) -> Option<String> {
    if name == "methods.md" {
        return Some("the text above".to_owned());
    }
    if name.contains('.') {
        return Some(name.to_owned());
    }
    filled(tables, name).map(|table| format!("tables/{}.csv", table.name))
}

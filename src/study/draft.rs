//! A first study file, written with a comment on every section, from a few choices.

use std::fmt::Write as _;

use super::births::age_by_hand;
use super::draft_further::{further, unreleased};
use super::draft_own::{self, OwnNames};
use super::draft_plan::{FINDINGS_NAME, Plan};
use super::guess::{Guessed, Map};
use crate::definitions::quantity::quantity;

/// Stands where a column was not found.
pub(super) const UNKNOWN_COLUMN: &str = "NAME OF YOUR COLUMN";
/// Column at which comments beside a line begin.
const COMMENT_AT: usize = 72;

/// The choices behind a first study file.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    pub title: String,
    pub source: DraftSource,
    /// `None`: those that the source can give.
    pub indices: Option<Vec<String>>,
    pub outcomes: Option<Vec<String>>,
    pub groups: Option<Vec<String>>,
    /// Index and value.
    pub threshold: Option<(String, f64)>,
}

/// Where the data of a first study come from.
#[derive(Debug, Clone, PartialEq)]
pub enum DraftSource {
    Survey {
        survey: String,
        cycles: Vec<String>,
    },
    Table {
        name: String,
        file: String,
        map: Map,
    },
    /// A table beside cycles of a known survey: two samples, compared and never pooled.
    Beside {
        name: String,
        file: String,
        map: Map,
        survey: String,
        cycles: Vec<String>,
    },
}

impl DraftSource {
    /// The table, when there is one: its name, its file, what its columns mean.
    pub(super) fn table(&self) -> Option<(&str, &str, &Map)> {
        match self {
            Self::Survey { .. } => None,
            Self::Table { name, file, map } | Self::Beside { name, file, map, .. } => Some((name, file, map)),
        }
    }

    /// What may be asked for of the table, besides built-in rows.
    #[must_use]
    pub fn own_names(&self) -> OwnNames {
        OwnNames::of(self)
    }
}

impl Draft {
    /// The text of the study file.
    #[must_use]
    pub fn text(&self) -> String {
        let plan = Plan::new(self);
        let mut text = String::new();
        head(&mut text, self);
        let samples = matches!(self.source, DraftSource::Beside { .. });
        if let Some((name, file, map)) = self.source.table() {
            table(&mut text, (name, file, samples), map, &plan);
        }
        if let DraftSource::Survey { survey, cycles } | DraftSource::Beside { survey, cycles, .. } =
            &self.source
        {
            known_survey(&mut text, survey, cycles, samples);
        }
        cohort(&mut text, &plan);
        analysis(&mut text, &plan);
        let map = self.source.table().map(|(_, _, map)| map);
        certainty(&mut text, map.is_some_and(|map| map.replicate_weights.is_some()));
        further(&mut text, &plan);
        findings(&mut text, &plan.findings);
        draft_own::rows(&mut text, &plan.own, &plan.outcomes);
        text
    }
}

/// A line with a comment beside it.
pub(super) fn line(text: &mut String, code: &str, comment: &str) {
    let gap = COMMENT_AT.saturating_sub(code.chars().count()).max(2);
    text.push_str(code);
    if !comment.is_empty() {
        text.push_str(&" ".repeat(gap));
        text.push_str("# ");
        text.push_str(comment);
    }
    text.push('\n');
}

/// A TOML text.
pub(super) fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

pub(super) fn list(names: &[String]) -> String {
    format!("[{}]", names.iter().map(|name| quoted(name)).collect::<Vec<_>>().join(", "))
}

fn head(text: &mut String, draft: &Draft) {
    text.push_str("#:schema ./cutspan.schema.json\n");
    text.push_str(
        "# The line above lets an editor complete keys and names: cutspan schema > cutspan.schema.json\n",
    );
    text.push_str("# Say what this study asks: cutspan check on this file. Run it: cutspan run.\n\n");
    line(text, &format!("title = {}", quoted(&draft.title)), "");
    let question = draft.threshold.as_ref().map_or_else(
        || "For whom does one cutoff hold: how far do the cutoffs of the groups differ?".to_owned(),
        |(index, value)| format!("For whom does the threshold {value} of {index} hold?"),
    );
    line(text, &format!("question = {}", quoted(&question)), "");
}

fn known_survey(text: &mut String, survey: &str, cycles: &[String], is_sample: bool) {
    text.push_str(
        "\n# ---- Where the data come from: official files, given with --data FOLDER or named here.\n\n",
    );
    // In TOML a key of the study stands before its first section.
    if !is_sample {
        line(text, "# data = [\"../data\"]", "relative to this file");
    }
    for cycle in cycles {
        text.push_str("\n[[source]]\n");
        line(text, &format!("survey = {}", quoted(survey)), "cutspan list surveys prints the cycles");
        line(
            text,
            &format!("cycle = {}", quoted(cycle)),
            "several sources are pooled by the official fractions",
        );
        if is_sample {
            line(
                text,
                &format!("sample = {}", quoted(survey)),
                "sources of one sample are pooled, samples compared",
            );
        }
    }
}

fn table(text: &mut String, (name, file, is_sample): (&str, &str, bool), map: &Map, plan: &Plan<'_>) {
    line(text, "public = false", "people's records: small cells are withheld; true for open data");
    line(text, "# minimum_cell = 10", "with public = false: fewer people than this are withheld");
    text.push_str(
        "\n# ---- Where the data come from: a table, one row per person, and what its columns mean.\n\n",
    );
    text.push_str("[[source]]\nsurvey = \"table\"\n");
    line(
        text,
        &format!("name = {}", quoted(name)),
        "check this: what these people are called, as in \"In …, the best cutoff\"",
    );
    if map.invented {
        line(text, "invented = true", "its rows say so: everything made of it says so too");
    }
    if is_sample {
        line(text, "sample = \"own\"", "samples are compared, never pooled");
        line(text, &format!("label = {}", quoted(name)), "what the sample is called in tables and titles");
    }
    line(text, &format!("files = [{}]", quoted(file)), "relative to this file; several are joined by id");
    line(text, &format!("id = {}", quoted(&map.id)), "check this: the column that tells people apart");
    if let Some(separator) = map.separator {
        line(text, &format!("separator = {}", quoted(&separator.to_string())), "what parts the columns");
    }
    if map.decimal_comma {
        line(text, "decimal = \",\"", "what decimals follow in the table; in this file they follow a point");
    }
    if map.windows_1252 {
        line(text, "encoding = \"windows-1252\"", "check this: one byte a letter, no UTF-8");
    }
    line(text, "missing = [\"NA\", \".\"]", "texts that mean missing, besides an empty cell");
    let design = [
        ("weight", &map.weight, "check this: how many people a person stands for, and no body's weight"),
        ("stratum", &map.stratum, "check this"),
        ("psu", &map.psu, "check this"),
    ];
    for (key, column, check) in design {
        match column {
            Some(column) => line(text, &format!("{key} = {}", quoted(column)), check),
            None => line(
                text,
                &format!("# {key} = \"…\""),
                "no such column was found; leave it out if there is none",
            ),
        }
    }
    if let Some((beginning, count)) = &map.replicate_weights {
        line(
            text,
            &format!("# replicate_weights = {}", quoted(&format!("{beginning}*"))),
            &format!(
                "check this: {count} columns that look so; they go with weight, in place of stratum and psu"
            ),
        );
    }
    text.push_str("\n# quantity = column, with its unit or codes (cutspan list quantities). Guesses: check every line.\n");
    text.push_str("[source.columns]\n");
    for guessed in &map.columns {
        line(text, &column(guessed), &format!("check this: {}", guessed.why));
    }
    draft_own::columns(text, &plan.own);
    if let Some(birth) = &map.birth {
        let _ = writeln!(text, "# check this: {}", age_by_hand(Some(birth)).replace(['\n', '\r'], " "));
    }
    for name in &plan.absent {
        let unit = quantity(name).and_then(|quantity| quantity.units.first());
        let unit = unit.map_or_else(String::new, |unit| format!(", unit = {}", quoted(&unit.unit)));
        let code = format!("{name} = {{ column = {}{unit} }}", quoted(UNKNOWN_COLUMN));
        line(text, &code, "not found in the header, and needed below: name it, or leave that out");
    }
    let is_own = |column: &&String| plan.own.iter().any(|own| own.few.column == **column);
    let unused: Vec<&str> = map.unused.iter().filter(|column| !is_own(column)).map(String::as_str).collect();
    if !unused.is_empty() {
        let _ = writeln!(text, "# not used: {}", unused.join(", ").replace(['\n', '\r'], " "));
    }
}

fn column(guessed: &Guessed) -> String {
    let mut code = format!("{} = {{ column = {}", guessed.quantity, quoted(&guessed.column));
    if let Some(unit) = &guessed.unit {
        let _ = write!(code, ", unit = {}", quoted(unit));
    }
    if let Some(factor) = guessed.factor {
        let _ = write!(code, ", factor = {factor:.2}");
    }
    let pair = |(raw, label): &(String, String)| format!("{} = {}", quoted(raw), quoted(label));
    if !guessed.codes.is_empty() {
        let codes: Vec<String> = guessed.codes.iter().map(pair).collect();
        let _ = write!(code, ", codes = {{ {} }}", codes.join(", "));
    }
    if guessed.below {
        code.push_str(", below_detection = \"<\"");
    }
    if !guessed.missing.is_empty() {
        let _ = write!(code, ", missing = {}", list(&guessed.missing));
    }
    code + " }"
}

fn cohort(text: &mut String, plan: &Plan<'_>) {
    text.push_str("\n# ---- Who is studied: an age range, then exclusions in this order; an unknown answer stays in.\n\n");
    text.push_str("[cohort]\n");
    if plan.age && !plan.groups.iter().any(|group| group.contains("age_adolescents")) {
        line(text, "age = { from = 20 }", "years; { from = 20, below = 80 } ends the range too");
    }
    line(text, &format!("exclude = {}", list(&plan.exclude)), "cutspan list exclusions");
    if plan.exclude.iter().any(|name| name == "diabetes_by_fasting_glucose") {
        let told = if plan.exclude.iter().any(|name| name == "diagnosed_diabetes") {
            "a diagnosis or a fasting glucose"
        } else {
            "a fasting glucose alone"
        };
        let _ = writeln!(
            text,
            "# Diabetes is told by {told}: add \"diabetes_by_a1c\" or \"glucose_drug\" where the data know them."
        );
    }
}

fn analysis(text: &mut String, plan: &Plan<'_>) {
    text.push_str("\n# ---- What is computed, for everybody and in every group.\n\n[analysis]\n");
    line(text, &format!("indices = {}", list(&plan.indices)), "cutspan list indices");
    unreleased(text, plan);
    if !plan.unasked.is_empty() {
        let _ = writeln!(
            text,
            "# Without treatment, because the table says nothing of {}: nobody could be known not to have the outcome.",
            plan.unasked.join(", ")
        );
    }
    line(
        text,
        &format!("outcomes = {}", list(&plan.outcomes)),
        "what cutoffs tell apart: cutspan list outcomes",
    );
    draft_own::offered_outcomes(text, &plan.own, &plan.outcomes);
    line(
        text,
        "waist_table = \"united_states\"",
        "check this: waist limits of which population (cutspan list waist-tables)",
    );
    line(
        text,
        &format!("groups = {}", list(&plan.groups)),
        "cutspan list groups; \"sex × obesity\" crosses two (*, x too)",
    );
    draft_own::offered_groups(text, &plan.own, &plan.groups);
    line(text, "percentiles = [50, 75, 90, 95]", "");
    text.push_str("rules = [\"youden\", { rule = \"sensitivity_at_least\", value = 0.8 }]");
    text.push_str("   # how a cutoff is picked: cutspan list rules\n");
    if !plan.reference.is_empty() {
        text.push_str("\n# Healthy people, for percentiles and limits: those of the cohort known to have none of these.\n");
        text.push_str("[[analysis.reference]]\nname = \"healthy\"\n");
        line(text, &format!("without = {}", list(&plan.reference)), "");
    }
    match &plan.draft.threshold {
        Some((index, value)) => {
            text.push_str("\n# One threshold, judged in every group: how many people are beyond it, and what it finds.\n");
            text.push_str("[[analysis.threshold]]\n");
            line(text, &format!("index = {}", quoted(index)), "");
            line(text, &format!("value = {value:?}"), "in the unit of the index");
            line(text, "source = \"as quoted\"", "who says so");
        }
        None => text.push_str(
            "\n# [[analysis.threshold]] with index, value and source judges one threshold in every group.\n",
        ),
    }
}

fn certainty(text: &mut String, has_replicate_weights: bool) {
    text.push_str("\n# ---- How sure it is: whole sampling units are drawn anew; the same seed gives the same numbers.\n\n");
    text.push_str("[resampling]\nkind = \"bootstrap\"\n");
    line(text, "replicates = 500", "200 for a first look, 1000 for print");
    text.push_str("seed = 1\n");
    if has_replicate_weights {
        text.push_str(
            "# With replicate_weights: kind = \"supplied\" without `replicates`, and type = \"…\" as their maker says (brr, fay, jk1 …).\n",
        );
    }
}

/// An outcome that counts what was measured.
fn findings(text: &mut String, items: &[String]) {
    if items.is_empty() {
        return;
    }
    text.push_str("\n# ---- Rows of the study's own. The table says nothing of treatment, so what was measured is counted.\n\n");
    text.push_str("[[define.outcome]]\n");
    line(text, &format!("name = {}", quoted(FINDINGS_NAME)), "");
    line(
        text,
        &format!("label = {}", quoted(&format!("two of: {}", items.join(", ").replace('_', " ")))),
        "",
    );
    line(text, &format!("items = {}", list(items)), "cutspan list outcomes");
    line(text, "at_least = 2", "");
    line(text, "source = \"this study\"", "who defines it so");
}

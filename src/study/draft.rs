//! A first study file, written with a comment on every section, from a few choices.

use std::fmt::Write as _;

use super::guess::{Guessed, Map};
use crate::definitions::quantity::quantity;
use crate::definitions::{Definitions, Index, waist_tables};

/// Stands where a column was not found.
const UNKNOWN_COLUMN: &str = "NAME OF YOUR COLUMN";
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
    Survey { survey: String, cycles: Vec<String> },
    Table { name: String, file: String, map: Map },
}

/// What is in the study, worked out from the choices.
struct Plan<'d> {
    draft: &'d Draft,
    definitions: Definitions,
    indices: Vec<String>,
    outcomes: Vec<String>,
    groups: Vec<String>,
    exclude: Vec<String>,
    /// Items of an outcome of the study's own, when it has one.
    findings: Vec<String>,
    /// Whether the ages are known.
    age: bool,
    reference: Vec<String>,
    /// Quantities that something asked for reads and no column was found for.
    absent: Vec<String>,
}

impl Draft {
    /// The text of the study file.
    #[must_use]
    pub fn text(&self) -> String {
        let plan = Plan::new(self);
        let mut text = String::new();
        head(&mut text, self);
        match &self.source {
            DraftSource::Survey { survey, cycles } => known_survey(&mut text, survey, cycles),
            DraftSource::Table { name, file, map } => table(&mut text, (name, file), map, &plan.absent),
        }
        cohort(&mut text, &plan);
        analysis(&mut text, &plan);
        certainty(&mut text);
        findings(&mut text, &plan.findings);
        text
    }
}

const USUAL_INDICES: [&str; 3] = ["homa_ir", "tyg", "tg_hdl"];
const USUAL_OUTCOMES: [&str; 2] = ["metabolic_syndrome_harmonized_2009_without_glucose", "raised_a1c"];
const USUAL_GROUPS: [&str; 3] = ["sex", "age_20_40_60", "bmi_class"];
const USUAL_EXCLUSIONS: [&str; 3] = ["pregnant", "diagnosed_diabetes", "diabetes_by_fasting_glucose"];
const USUAL_REFERENCE: [&str; 3] = ["bmi_25_or_more", "raised_fasting_glucose", "raised_a1c"];
/// What can be counted where nothing is known of treatment; the syndrome would stay unknown for most people.
const FINDINGS: [&str; 4] = ["large_waist", "high_triglycerides", "low_hdl", "raised_blood_pressure"];
const FINDINGS_NAME: &str = "two_findings";

impl<'d> Plan<'d> {
    fn new(draft: &'d Draft) -> Self {
        let definitions = Definitions::built_in(&waist_tables()[0]);
        let mut plan = Self {
            draft,
            definitions,
            indices: Vec::new(),
            outcomes: Vec::new(),
            groups: Vec::new(),
            exclude: Vec::new(),
            findings: Vec::new(),
            age: false,
            reference: Vec::new(),
            absent: Vec::new(),
        };
        plan.age = plan.has("age");
        let able = |names: &[&str], plan: &Self| -> Vec<String> {
            let fits = |name: &&&str| plan.reads(name).iter().all(|quantity| plan.has(quantity));
            names.iter().filter(fits).map(|name| (*name).to_owned()).collect()
        };
        plan.indices = draft.indices.clone().unwrap_or_else(|| able(&USUAL_INDICES, &plan));
        if plan.indices.is_empty() {
            plan.indices = vec![USUAL_INDICES[0].to_owned()];
        }
        if let Some((index, _)) = draft.threshold.as_ref().filter(|(index, _)| !plan.indices.contains(index))
        {
            plan.indices.push(index.clone());
        }
        plan.outcomes = draft.outcomes.clone().unwrap_or_else(|| able(&USUAL_OUTCOMES, &plan));
        plan.findings = able(&FINDINGS, &plan);
        let counted = draft.outcomes.is_none() && !plan.outcomes.contains(&USUAL_OUTCOMES[0].to_owned());
        if counted && plan.findings.len() > 2 {
            plan.outcomes.insert(0, FINDINGS_NAME.to_owned());
        } else {
            plan.findings.clear();
        }
        plan.groups = draft.groups.clone().unwrap_or_else(|| able(&USUAL_GROUPS, &plan));
        plan.exclude = able(&USUAL_EXCLUSIONS, &plan);
        plan.reference = able(&USUAL_REFERENCE, &plan);
        plan.absent = plan.absent();
        plan
    }

    /// Whether the source has a quantity; a known survey has all.
    fn has(&self, quantity: &str) -> bool {
        match &self.draft.source {
            DraftSource::Survey { .. } => true,
            DraftSource::Table { map, .. } => map.columns.iter().any(|column| column.quantity == quantity),
        }
    }

    /// Quantities behind an index, an outcome, an exclusion or a group.
    fn reads(&self, name: &str) -> Vec<String> {
        let all = &self.definitions;
        let index = all.indices.iter().find(|row| row.name == name).map(Index::sql);
        let outcome =
            || all.outcomes.iter().find(|row| row.name == name).and_then(|row| all.outcome_sql(row).ok());
        let exclusion = || all.exclusions.iter().find(|row| row.name == name).map(|row| row.formula.clone());
        let group = || {
            let row = all.groups.iter().find(|row| row.name == name)?;
            row.column.clone().or_else(|| row.formula.as_ref().map(|formula| all.with_waist_limits(formula)))
        };
        let sql = index.or_else(outcome).or_else(exclusion).or_else(group).unwrap_or_default();
        all.ingredients(name, &sql).unwrap_or_default()
    }

    /// What was asked for and cannot be computed from the columns that were found.
    fn absent(&self) -> Vec<String> {
        let crossed = self.groups.iter().flat_map(|group| group.split(['×', '*']).map(str::trim));
        let whole = self.indices.iter().map(String::as_str).chain(crossed).map(|name| self.reads(name));
        let none = |name: &&String| {
            let reads = self.reads(name);
            let asked = |quantity: &&String| *quantity != "sex" && *quantity != "age";
            !reads.iter().filter(asked).any(|quantity| self.has(quantity))
        };
        let named = self.outcomes.iter().filter(|name| *name != FINDINGS_NAME);
        let outcomes = named.filter(none).map(|name| self.reads(name));
        let mut absent: Vec<String> = Vec::new();
        for quantity in whole.chain(outcomes).flatten() {
            if !self.has(&quantity) && !absent.contains(&quantity) && is_asked(&quantity) {
                absent.push(quantity);
            }
        }
        absent
    }
}

/// Survey and cycle are known of every source without a column.
fn is_asked(name: &str) -> bool {
    quantity(name).is_some()
}

/// A line with a comment beside it.
fn line(text: &mut String, code: &str, comment: &str) {
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
fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

fn list(names: &[String]) -> String {
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

fn known_survey(text: &mut String, survey: &str, cycles: &[String]) {
    text.push_str(
        "\n# ---- Where the data come from: official files, given with --data FOLDER or named here.\n\n",
    );
    line(text, "# data = [\"../data\"]", "relative to this file");
    for cycle in cycles {
        text.push_str("\n[[source]]\n");
        line(text, &format!("survey = {}", quoted(survey)), "cutspan list surveys prints the cycles");
        line(
            text,
            &format!("cycle = {}", quoted(cycle)),
            "several sources are pooled by the official fractions",
        );
    }
}

fn table(text: &mut String, (name, file): (&str, &str), map: &Map, absent: &[String]) {
    line(text, "public = false", "people's records: small cells are withheld; true for open data");
    text.push_str(
        "\n# ---- Where the data come from: a table, one row per person, and what its columns mean.\n\n",
    );
    text.push_str("[[source]]\nsurvey = \"table\"\n");
    line(text, &format!("name = {}", quoted(name)), "stands in every table and title");
    line(text, &format!("files = [{}]", quoted(file)), "relative to this file; several are joined by id");
    line(text, &format!("id = {}", quoted(&map.id)), "check this: the column that tells people apart");
    line(text, "missing = [\"NA\", \".\"]", "texts that mean missing, besides an empty cell");
    let design = [("weight", &map.weight), ("stratum", &map.stratum), ("psu", &map.psu)];
    for (key, column) in design {
        match column {
            Some(column) => line(text, &format!("{key} = {}", quoted(column)), "check this"),
            None => line(
                text,
                &format!("# {key} = \"…\""),
                "no such column was found; leave it out if there is none",
            ),
        }
    }
    text.push_str("\n# quantity = column, with its unit or codes (cutspan list quantities). Guesses: check every line.\n");
    text.push_str("[source.columns]\n");
    for guessed in &map.columns {
        line(text, &column(guessed), &format!("check this: {}", guessed.why));
    }
    for name in absent {
        let unit = quantity(name).and_then(|quantity| quantity.units.first());
        let unit = unit.map_or_else(String::new, |unit| format!(", unit = {}", quoted(&unit.unit)));
        let code = format!("{name} = {{ column = {}{unit} }}", quoted(UNKNOWN_COLUMN));
        line(text, &code, "not found in the header, and needed below: name it, or leave that out");
    }
    if !map.unused.is_empty() {
        let _ = writeln!(text, "# not used: {}", map.unused.join(", ").replace(['\n', '\r'], " "));
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
}

fn analysis(text: &mut String, plan: &Plan<'_>) {
    text.push_str("\n# ---- What is computed, for everybody and in every group.\n\n[analysis]\n");
    line(text, &format!("indices = {}", list(&plan.indices)), "cutspan list indices");
    line(
        text,
        &format!("outcomes = {}", list(&plan.outcomes)),
        "what cutoffs tell apart: cutspan list outcomes",
    );
    line(
        text,
        "waist_table = \"united_states\"",
        "waist limits of which population: cutspan list waist-tables",
    );
    line(
        text,
        &format!("groups = {}", list(&plan.groups)),
        "cutspan list groups; \"sex × bmi_class\" crosses two",
    );
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

fn certainty(text: &mut String) {
    text.push_str("\n# ---- How sure it is: whole sampling units are drawn anew; the same seed gives the same numbers.\n\n");
    text.push_str("[resampling]\nkind = \"bootstrap\"\n");
    line(text, "replicates = 500", "200 for a first look, 1000 for print");
    text.push_str("seed = 1\n");
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

//! What goes into a first study: of what was asked for, and of what the data can give.

use super::crossed;
use super::draft::{Draft, DraftSource};
use super::draft_own::{OwnColumn, own_columns};
use super::guess::Guessed;
use super::treatment::{Untreated, untreated};
use crate::definitions::quantity::quantity;
use crate::definitions::survey::survey as known_survey;
use crate::definitions::{Definitions, Index, waist_tables};

/// What is in the study, worked out from the choices.
pub(super) struct Plan<'d> {
    pub draft: &'d Draft,
    definitions: Definitions,
    pub indices: Vec<String>,
    pub outcomes: Vec<String>,
    pub groups: Vec<String>,
    /// Columns of the table of which rows are made.
    pub own: Vec<OwnColumn>,
    pub exclude: Vec<String>,
    /// Items of an outcome of the study's own, when it has one.
    pub findings: Vec<String>,
    /// Whether the ages are known.
    pub age: bool,
    pub reference: Vec<String>,
    /// Quantities that something asked for reads and no column was found for.
    pub absent: Vec<String>,
    /// Treatments that an outcome would count and no column tells.
    pub unasked: Vec<String>,
    /// Usual indices and outcomes that are left out, because a cycle did not release what they read.
    pub left_out: Vec<String>,
    /// Those asked for all the same.
    pub kept: Vec<String>,
    /// What the cycles did not release of all that these read.
    pub unreleased: Vec<String>,
}

const USUAL_INDICES: [&str; 3] = ["homa_ir", "tyg", "tg_hdl"];
const USUAL_OUTCOMES: [&str; 2] = [SYNDROME, "raised_a1c"];
const SYNDROME: &str = "metabolic_syndrome_harmonized_2009_without_glucose";
/// Three classes of body mass: a class below 18.5 holds few people, and where groups are compared on equal terms they
/// would carry the weight of all.
const USUAL_GROUPS: [&str; 3] = ["sex", "age_20_40_60", "obesity"];
const USUAL_EXCLUSIONS: [&str; 3] = ["pregnant", "diagnosed_diabetes", "diabetes_by_fasting_glucose"];
const USUAL_REFERENCE: [&str; 3] = ["bmi_25_or_more", "raised_fasting_glucose", "raised_a1c"];
/// What can be counted where nothing is known of treatment; the syndrome would stay unknown for most people.
const FINDINGS: [&str; 4] = ["large_waist", "high_triglycerides", "low_hdl", "raised_blood_pressure"];
pub(super) const FINDINGS_NAME: &str = "two_findings";

impl<'d> Plan<'d> {
    pub fn new(draft: &'d Draft) -> Self {
        let definitions = Definitions::built_in(&waist_tables()[0]);
        let groups = draft.groups.iter().flatten().flat_map(|name| crossed(name));
        let asked: Vec<&str> = groups.chain(draft.outcomes.iter().flatten().map(String::as_str)).collect();
        let mut plan = Self {
            draft,
            definitions,
            indices: Vec::new(),
            outcomes: Vec::new(),
            groups: Vec::new(),
            own: own_columns(&draft.source, &asked),
            exclude: Vec::new(),
            findings: Vec::new(),
            age: false,
            reference: Vec::new(),
            absent: Vec::new(),
            unasked: Vec::new(),
            left_out: Vec::new(),
            kept: Vec::new(),
            unreleased: Vec::new(),
        };
        plan.age = plan.has("age");
        let able = |names: &[&str], plan: &Self| -> Vec<String> {
            let fits = |name: &&&str| plan.reads(name).iter().all(|quantity| plan.has(quantity));
            names.iter().filter(fits).map(|name| (*name).to_owned()).collect()
        };
        let released = |names: &[&str], plan: &Self| -> Vec<String> {
            able(names, plan).into_iter().filter(|name| plan.not_released(name).is_empty()).collect()
        };
        plan.indices = draft.indices.clone().unwrap_or_else(|| released(&USUAL_INDICES, &plan));
        if plan.indices.is_empty() {
            plan.indices = vec![USUAL_INDICES[0].to_owned()];
        }
        if let Some((index, _)) = draft.threshold.as_ref().filter(|(index, _)| !plan.indices.contains(index))
        {
            plan.indices.push(index.clone());
        }
        plan.outcomes = draft.outcomes.clone().unwrap_or_else(|| released(&USUAL_OUTCOMES, &plan));
        plan.findings = able(&FINDINGS, &plan);
        let untreated = format!("{SYNDROME}_without_treatment");
        if draft.outcomes.is_none() && !plan.outcomes.iter().any(|name| name == SYNDROME) {
            plan.outcomes.splice(0..0, released(&[untreated.as_str()], &plan));
        }
        plan.measured_alone();
        let counted = draft.source.table().is_some()
            && draft.outcomes.is_none()
            && !plan.outcomes.iter().any(|name| name.starts_with(SYNDROME));
        if counted && plan.findings.len() > 2 {
            plan.outcomes.insert(0, FINDINGS_NAME.to_owned());
        } else {
            plan.findings.clear();
        }
        plan.groups = draft.groups.clone().unwrap_or_else(|| able(&USUAL_GROUPS, &plan));
        // What the survey beside the table knows leaves its people out; in the table the answer is unknown.
        let beside = matches!(draft.source, DraftSource::Beside { .. });
        plan.exclude = if beside {
            USUAL_EXCLUSIONS.map(str::to_owned).to_vec()
        } else {
            able(&USUAL_EXCLUSIONS, &plan)
        };
        plan.reference = able(&USUAL_REFERENCE, &plan);
        plan.absent = plan.absent();
        plan.tell_unreleased();
        plan
    }

    /// Notes what the cycles did not release, and what is left out or kept in spite of it.
    fn tell_unreleased(&mut self) {
        let lacks = |name: &&str| !self.not_released(name).is_empty();
        let usual_indices = USUAL_INDICES.iter().filter(|_| self.draft.indices.is_none());
        let usual_outcomes = USUAL_OUTCOMES.iter().filter(|_| self.draft.outcomes.is_none());
        let usual = usual_indices.chain(usual_outcomes).copied().filter(lacks);
        let asked = || self.indices.iter().chain(&self.outcomes).map(String::as_str);
        let left_out: Vec<String> =
            usual.filter(|name| !asked().any(|other| other == *name)).map(str::to_owned).collect();
        let kept: Vec<String> = asked().filter(lacks).map(str::to_owned).collect();
        let mut unreleased: Vec<String> =
            left_out.iter().chain(&kept).flat_map(|name| self.not_released(name)).collect();
        unreleased.sort_unstable();
        unreleased.dedup();
        (self.left_out, self.kept, self.unreleased) = (left_out, kept, unreleased);
    }

    /// Quantities behind an index or outcome that a cycle of the study did not release.
    fn not_released(&self, name: &str) -> Vec<String> {
        let (DraftSource::Survey { survey, cycles } | DraftSource::Beside { survey, cycles, .. }) =
            &self.draft.source
        else {
            return Vec::new();
        };
        let Some(survey) = known_survey(survey) else { return Vec::new() };
        let lacks = |quantity: &String| {
            let cycles = cycles.iter().filter_map(|cycle| survey.cycle(cycle).ok());
            cycles.into_iter().any(|cycle| survey.why_absent(cycle, quantity).is_some())
        };
        self.reads(name).into_iter().filter(lacks).collect()
    }

    /// Takes outcomes that count treatments without a column by what is measured alone.
    fn measured_alone(&mut self) {
        for position in 0..self.outcomes.len() {
            let row = self.definitions.outcomes.iter().find(|row| row.name == self.outcomes[position]);
            let has = |quantity: &str| self.has(quantity);
            let found = row.and_then(|row| untreated(row, &self.definitions, &has).ok().flatten());
            if let Some(Untreated { absent, instead }) = found {
                self.unasked.extend(absent);
                self.outcomes[position] = instead;
            }
        }
        self.unasked.sort_unstable();
        self.unasked.dedup();
    }

    /// Whether a table has values of a quantity; of a known survey see [`Self::not_released`].
    fn has(&self, quantity: &str) -> bool {
        self.any_column(|column| column.quantity == quantity && !column.empty)
    }

    /// Whether some column of the table fits; always so without a table.
    fn any_column(&self, fits: impl Fn(&Guessed) -> bool) -> bool {
        self.draft.source.table().is_none_or(|(_, _, map)| map.columns.iter().any(fits))
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
        let crossed = self.groups.iter().flat_map(|group| crossed(group));
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
            let found = self.any_column(|column| column.quantity == quantity);
            if !found && !absent.contains(&quantity) && is_asked(&quantity) {
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

//! Several samples of a study: what each gives, joined, and what only all of them together give.

use super::context::Context;
use super::roc::Curve;
use super::smoothed::Smoothed;
use super::{AnalysisError, Results, sample_comparison, transfer};
use crate::notice::Notice;
use crate::table::schema::{EACH_INDEX, JOINED};
use crate::table::{Cell, Table};

/// Everything derived from one sample.
#[derive(Debug)]
pub struct Derived<'a> {
    pub context: Context<'a>,
    pub curves: Vec<Curve>,
    pub smoothed: Vec<Smoothed>,
    pub results: Results,
}

impl Derived<'_> {
    /// Tables and notices beside those at hand.
    pub fn add(&mut self, further: Results) {
        self.results.tables.extend(further.tables);
        self.results.notices.extend(further.notices);
    }

    /// The smoothed cutoff of the same index, outcome and group as a curve of another study on the same people.
    pub(super) fn smoothed(&self, context: &Context, curve: &Curve) -> Option<&Smoothed> {
        let wanted = names(context, curve);
        let position = self.curves.iter().position(|own| names(&self.context, own) == wanted)?;
        self.smoothed.get(position)
    }

    /// What the sample is called in the tables.
    #[must_use]
    pub fn label(&self) -> &str {
        &self.context.tallies.survey
    }
}

/// Index, outcome, grouping and group of a curve.
fn names<'c>(context: &'c Context, curve: &Curve) -> [&'c str; 4] {
    let (study, group) = (context.study, &context.groups[curve.group]);
    let (index, outcome) = (&study.indices[curve.index].row, &study.outcomes[curve.outcome].row);
    [&index.name, &outcome.name, &group.grouping_name, &group.name]
}

/// The tables that set samples side by side; none for a single sample.
pub fn across(samples: &[Derived]) -> Result<Vec<Table>, AnalysisError> {
    if samples.len() < 2 {
        return Ok(Vec::new());
    }
    same_groupings(samples)?;
    Ok(vec![sample_comparison::table(samples)?, transfer::table(samples)?])
}

/// A grouping without a single group in some sample cannot be compared.
fn same_groupings(samples: &[Derived]) -> Result<(), AnalysisError> {
    for sample in samples {
        for (position, variables) in sample.context.study.groupings.iter().enumerate() {
            if !sample.context.groups.iter().any(|group| group.grouping == Some(position)) {
                let names = variables.iter().map(|&v| sample.context.study.variables[v].name.as_str());
                let grouping = names.collect::<Vec<_>>().join(" × ");
                return Err(AnalysisError::Grouping { grouping, sample: sample.label().to_owned() });
            }
        }
    }
    Ok(())
}

/// The tables of all samples, one below the other. `samples` holds the label and the tables of each.
#[must_use]
pub fn join(samples: Vec<(String, Vec<Table>)>, across: Vec<Table>) -> Vec<Table> {
    let several = samples.len() > 1;
    let mut joined: Vec<Table> = Vec::new();
    for (label, tables) in samples {
        for mut table in tables {
            if several && table.name == "participant_flow" {
                name_sources(&mut table, &label);
            }
            match joined.iter_mut().find(|known| known.name == table.name) {
                Some(known) => known.rows.extend(table.rows),
                None => joined.push(table),
            }
        }
    }
    joined.extend(across);
    joined
}

/// The participant flow has no column for the survey: the steps over a joined cohort say whose it is.
fn name_sources(flow: &mut Table, label: &str) {
    let Some(position) = flow.position("source") else { return };
    for row in &mut flow.rows {
        if let Cell::Text(source) = &mut row[position]
            && (source == JOINED || source == EACH_INDEX)
        {
            *source = format!("{label}: {source}");
        }
    }
}

/// The notices of all samples: once where every sample has it, else with the sample's label.
#[must_use]
pub fn join_notices(samples: &[(String, Vec<Notice>)]) -> Vec<Notice> {
    let mut joined: Vec<Notice> = Vec::new();
    for (label, notices) in samples {
        for notice in notices {
            if samples.iter().all(|(_, all)| all.contains(notice)) {
                if !joined.contains(notice) {
                    joined.push(notice.clone());
                }
            } else if notice.about.contains(label.as_str()) {
                joined.push(notice.clone());
            } else {
                joined.push(Notice { about: format!("{label}: {}", notice.about), ..notice.clone() });
            }
        }
    }
    joined
}

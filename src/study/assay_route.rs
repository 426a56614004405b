//! Assay routes: the same people as another laboratory method would have measured them.

use serde::{Deserialize, Serialize};

use super::error::{StudyError, Text};
use super::file::At;
use super::{Source, Study};
use crate::definitions::chain::{Chain, chains, names, wanted};
use crate::definitions::crosswalk::{Released, released};
use crate::definitions::quantity;

/// The quantities that official equations convert.
const CONVERTED: [&str; 2] = ["insulin", "glucose"];

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RouteFile {
    pub name: At<String>,
    pub label: Option<String>,
    /// Method that insulin is converted to.
    pub insulin: Option<At<String>>,
    /// Method that glucose is converted to.
    pub glucose: Option<At<String>>,
    /// Method that the chain of equations passes where it can.
    pub by: Option<At<String>>,
    /// pmol/L in one uU/mL, by which insulin in pmol/L is read.
    pub insulin_factor: Option<At<f64>>,
    /// What is done to each cycle; written by the program.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub steps: Vec<String>,
}

/// How the measured columns of the people are changed.
#[derive(Debug, Clone, PartialEq)]
pub struct Route {
    pub name: String,
    pub label: String,
    /// One for each cycle and converted quantity.
    pub conversions: Vec<Conversion>,
    /// pmol/L in one uU/mL, by which insulin in pmol/L is read.
    pub insulin_factor: Option<f64>,
}

/// What happens to a quantity in a cycle.
#[derive(Debug, Clone, PartialEq)]
pub struct Conversion {
    pub cycle: String,
    pub quantity: String,
    pub chain: Chain,
    /// Why nothing is done, or what else could have been.
    pub note: String,
}

impl Route {
    /// The route that changes nothing.
    #[must_use]
    pub fn as_released() -> Self {
        Self {
            name: "as_released".to_owned(),
            label: "as released".to_owned(),
            conversions: Vec::new(),
            insulin_factor: None,
        }
    }

    /// The quantities that the route converts by equations.
    #[must_use]
    pub fn quantities(&self) -> Vec<&str> {
        let converts = |q: &&str| self.conversions.iter().any(|c| c.quantity == **q);
        CONVERTED.into_iter().filter(converts).collect()
    }

    /// The quantities whose values the route changes, by equations or by another unit factor.
    #[must_use]
    pub fn changes(&self) -> Vec<&str> {
        self.quantities().into_iter().chain(self.insulin_factor.map(|_| "insulin")).collect()
    }

    /// What is done to each cycle, in words.
    #[must_use]
    pub fn steps(&self) -> Vec<String> {
        let factor = self.insulin_factor.map(|factor| {
            format!("insulin: in uU/mL from the pmol/L of the source, {factor} pmol/L in one uU/mL")
        });
        factor.into_iter().chain(self.conversions.iter().map(Conversion::words)).collect()
    }
}

impl Conversion {
    fn words(&self) -> String {
        let Self { cycle, quantity, chain, note } = self;
        let note = if note.is_empty() { String::new() } else { format!("; {note}") };
        if chain.steps.is_empty() {
            return format!("{quantity} {cycle}: {} as released{note}", chain.from.label);
        }
        format!("{quantity} {cycle}: {}: {} ({}){note}", chain.path(), chain.equations(), chain.sources())
    }
}

/// The route as checked against the sources of a study.
pub(super) fn route(written: &At<RouteFile>, study: &Study, text: Text<'_>) -> Result<Route, StudyError> {
    let file = written.get_ref();
    let name = file.name.get_ref().clone();
    let label = file.label.clone().unwrap_or_else(|| name.replace('_', " "));
    if let Some(factor) = &file.insulin_factor {
        if file.insulin.is_some() {
            let problem = "insulin and insulin_factor in one route: the equations hold for uU/mL as released; make two routes of it";
            return Err(text.problem(factor.span(), problem));
        }
        check_factor(factor, study, text)?;
    }
    let mut conversions = Vec::new();
    for (quantity, method) in CONVERTED.into_iter().zip([&file.insulin, &file.glucose]) {
        if let Some(method) = method {
            conversions.extend(convert(quantity, method, file.by.as_ref(), (study, text))?);
        }
    }
    if conversions.is_empty() && file.insulin_factor.is_none() {
        let problem = "a route says what changes: insulin or glucose = a method, or insulin_factor = 6.945";
        return Err(text.problem(written.span(), problem));
    }
    if let Some(by) = &file.by
        && !conversions.iter().any(|c| c.chain.meets(by.get_ref()))
    {
        let problem = format!("no chain of this route can pass {}: leave `by` out", by.get_ref());
        return Err(text.problem(by.span(), problem));
    }
    Ok(Route { name, label, conversions, insulin_factor: file.insulin_factor.as_ref().map(|f| *f.get_ref()) })
}

/// A factor of the two in print, and insulin in pmol/L to apply it to.
fn check_factor(factor: &At<f64>, study: &Study, text: Text<'_>) -> Result<(), StudyError> {
    let choices: Vec<f64> = quantity::quantity("insulin")
        .iter()
        .flat_map(|q| &q.units)
        .flat_map(|unit| unit.choices.iter().copied())
        .collect();
    if !choices.contains(factor.get_ref()) {
        let printed: Vec<String> = choices.iter().map(f64::to_string).collect();
        let problem = format!("insulin_factor must be {}, found {}", printed.join(" or "), factor.get_ref());
        return Err(text.problem(factor.span(), problem));
    }
    for source in &study.sources {
        let Source::Table(table) = source else { continue };
        let column = table.columns.iter().find(|column| column.quantity == "insulin");
        if column.and_then(|c| c.unit.as_deref()) != Some("pmol/L") {
            let problem = format!(
                "the table \"{}\" reports no insulin in pmol/L: no factor enters its values",
                table.name
            );
            return Err(text.problem(factor.span(), problem));
        }
    }
    Ok(())
}

/// The chain of every cycle of the study to a method.
fn convert(
    quantity: &str,
    method: &At<String>,
    by: Option<&At<String>>,
    (study, text): (&Study, Text<'_>),
) -> Result<Vec<Conversion>, StudyError> {
    let ends = wanted(quantity, method.get_ref());
    if ends.is_empty() {
        return Err(text.unknown("laboratory method", method, names(quantity)));
    }
    let mut conversions = Vec::new();
    for source in &study.sources {
        let row = released_row(source, quantity).map_err(|problem| text.problem(method.span(), problem))?;
        let all = chains(row, quantity, &ends);
        let passing = |chain: &&Chain| by.is_some_and(|by| chain.meets(by.get_ref()));
        let Some(chain) = all.iter().find(passing).or(all.first()) else {
            let problem = format!(
                "no official equation leads from the {quantity} of {} ({}) to {}: choose another method, or leave the cycle out",
                row.cycle,
                row.method(quantity),
                method.get_ref()
            );
            return Err(text.problem(method.span(), problem));
        };
        let note = note(row, quantity, (chain, &all));
        let (cycle, quantity) = (row.cycle.clone(), quantity.to_owned());
        conversions.push(Conversion { cycle, quantity, chain: chain.clone(), note });
    }
    if conversions.iter().all(|c| c.chain.steps.is_empty()) {
        let problem = format!(
            "nothing is converted: {}",
            conversions.iter().map(Conversion::words).collect::<Vec<_>>().join("; ")
        );
        return Err(text.problem(method.span(), problem));
    }
    Ok(conversions)
}

/// What the cycle of a source holds as released.
fn released_row(source: &Source, quantity: &str) -> Result<&'static Released, String> {
    let known = || released().iter().map(|row| row.cycle.as_str()).collect::<Vec<_>>().join(", ");
    match source {
        Source::Survey { cycle, .. } => {
            released().iter().find(|row| row.cycle == *cycle).ok_or_else(|| {
                format!(
                    "the method of {quantity} in {cycle} is not known here, so nothing can be converted; known cycles: {}",
                    known()
                )
            })
        }
        Source::Table(table) => Err(format!(
            "the table \"{}\" has no cycle that says by which method {quantity} was measured; equations are known for the \
             national survey's {}",
            table.name,
            known()
        )),
    }
}

fn note(row: &Released, quantity: &str, (taken, all): (&Chain, &[Chain])) -> String {
    if taken.steps.is_empty() {
        return if quantity == "insulin" { row.insulin_note.clone() } else { String::new() };
    }
    let others: Vec<String> = all.iter().filter(|chain| *chain != taken).map(Chain::path).collect();
    let already = if quantity == "insulin" && !row.insulin_note.is_empty() {
        vec![row.insulin_note.clone()]
    } else {
        Vec::new()
    };
    let other = match others.as_slice() {
        [] => Vec::new(),
        several => vec![format!("another published way: {}", several.join(", or "))],
    };
    already.into_iter().chain(other).collect::<Vec<_>>().join("; ")
}

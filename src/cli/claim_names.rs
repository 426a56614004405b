//! Names of a run that a command line gives: found, or an error that lists the known ones.

use anyhow::{Result, bail};

use crate::definitions::nearest;
use crate::study::Study;

/// Position of an index of the run; its only one when none is named.
pub fn index(study: &Study, name: Option<&str>) -> Result<usize> {
    let known = || study.indices.iter().map(|index| index.row.name.as_str());
    let Some(name) = name else {
        if study.indices.len() == 1 {
            return Ok(0);
        }
        bail!(
            "which index is meant? Name it with --index; this run has {}",
            known().collect::<Vec<_>>().join(", ")
        );
    };
    match known().position(|known| known == name) {
        Some(position) => Ok(position),
        None => bail!("this run has no index \"{name}\". {}", nearest::hint(name, known())),
    }
}

/// Position of an outcome of the run.
pub fn outcome(study: &Study, name: &str) -> Result<usize> {
    let known = || study.outcomes.iter().map(|outcome| outcome.row.name.as_str());
    match known().position(|known| known == name) {
        Some(position) => Ok(position),
        None if study.outcomes.is_empty() => {
            bail!(
                "this run has no outcome, so none can be meant: leave --outcome out, or run a study with outcomes"
            )
        }
        None => bail!("this run has no outcome \"{name}\". {}", nearest::hint(name, known())),
    }
}

/// Position of a grouping of the run; the variables of a crossing are joined by `×`, `*` or `x`.
pub fn grouping(study: &Study, name: &str) -> Result<usize> {
    let names: Vec<String> = study
        .groupings
        .iter()
        .map(|g| g.iter().map(|&v| study.variables[v].name.as_str()).collect::<Vec<_>>().join(" × "))
        .collect();
    let wanted = variables(name);
    match names.iter().position(|known| variables(known) == wanted) {
        Some(position) => Ok(position),
        None if names.is_empty() => {
            bail!("this run has no groups: leave --group out, or run a study with groups")
        }
        None => bail!(
            "this run has no grouping \"{}\". {}",
            name.trim(),
            nearest::hint(name.trim(), names.iter().map(String::as_str))
        ),
    }
}

/// The variables of a crossing, in alphabetical order.
fn variables(name: &str) -> Vec<String> {
    let joined = name.replace(['*', '×'], " x ");
    let mut variables: Vec<String> = joined.split(" x ").map(|v| v.trim().to_owned()).collect();
    variables.sort_unstable();
    variables
}

//! A crossing of the run as `--group` names it by its variables, or where its answer is when the run has none such.

use anyhow::{Result, bail};

use super::claim_names::{ambiguous, quoted, squeezed};
use crate::definitions::aliases::meant;
use crate::study::{Study, Variable};

/// The crossing of the run whose variables these words begin or mean.
pub(super) fn crossing(
    study: &Study,
    known: &[(String, String)],
    (name, words): (&str, &[String]),
) -> Result<usize> {
    let crossings: Vec<usize> = (0..known.len()).filter(|&at| study.groupings[at].len() > 1).collect();
    if crossings.is_empty() {
        bail!(
            "this run crosses no groupings, so it has no \"{name}\": name the crossing in the study file, such as \
             groups = [\"sex × bmi_class\"], and run that again"
        );
    }
    let fits: Vec<usize> = crossings
        .iter()
        .copied()
        .filter(|&at| {
            let variables: Vec<&Variable> =
                study.groupings[at].iter().map(|&v| &study.variables[v]).collect();
            variables.len() == words.len()
                && words.iter().all(|word| variables.iter().any(|variable| is_meant(variable, word)))
                && variables.iter().all(|variable| words.iter().any(|word| is_meant(variable, word)))
        })
        .collect();
    match fits.as_slice() {
        [one] => Ok(*one),
        [] => {
            let has: Vec<&str> = crossings.iter().map(|&at| known[at].0.as_str()).collect();
            bail!(
                "this run has no crossing \"{name}\". It has {} (× may be written x or *){}",
                quoted(&has),
                adjusted_instead(study, known, words).unwrap_or_default()
            )
        }
        several => Err(ambiguous(name, several, known)),
    }
}

/// Where the run has adjusted one of the crossed variables for the others, which answers much of what a crossing is asked for.
fn adjusted_instead(study: &Study, known: &[(String, String)], words: &[String]) -> Option<String> {
    let standardisation = study.standardisation.as_ref()?;
    let means = |variables: &[usize], word: &String| {
        variables.iter().any(|&variable| is_meant(&study.variables[variable], word))
    };
    let compared = standardisation.of.iter().find(|&&grouping| {
        let variables = &study.groupings[grouping];
        let others: Vec<&String> = words.iter().filter(|word| !means(variables, word)).collect();
        let adjusts = |to: &Vec<usize>| others.iter().all(|word| means(to, word));
        others.len() < words.len() && standardisation.to.iter().any(adjusts)
    })?;
    let name = &known[*compared].0;
    Some(format!(
        ". Shares by {name} after adjusting are in its table standardised_values and, at the thresholds of the study, in the answer \
         with --group {name}"
    ))
}

/// Whether a word is the beginning of a variable's name or label, or an everyday word for it.
fn is_meant(variable: &Variable, word: &str) -> bool {
    let word_of = squeezed(word);
    [&variable.name, &variable.label].iter().any(|known| squeezed(known).starts_with(&word_of))
        || meant(word).contains(&variable.name.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::claim_groupings::{known, variables};

    #[test]
    fn a_crossing_that_the_run_lacks_points_to_shares_that_it_has_adjusted() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let study = crate::study::load(&root.join("nhanes-2017-2020-adults.toml")).expect("a study");
        let said =
            |name: &str| adjusted_instead(&study, &known(&study), &variables(name)).unwrap_or_default();
        assert!(
            said("ancestry × obesity").starts_with(". Shares by ancestry after adjusting"),
            "{}",
            said("ancestry × obesity")
        );
        assert_eq!(said("age × obesity"), "");
    }
}

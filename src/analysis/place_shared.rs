//! What an index and the outcome that it is held against have in common.

use crate::study::{Study, StudyIndex, shared_ingredients};

/// What an index has in common with the first outcome: measurements, or else treatment for them.
pub(super) fn shared(study: &Study, index: &StudyIndex) -> Vec<String> {
    let Some(outcome) = study.outcomes.first() else { return Vec::new() };
    let (measured, treated): (Vec<String>, Vec<String>) =
        shared_ingredients(index, outcome).into_iter().partition(|name| index.ingredients.contains(name));
    let names = if measured.is_empty() { treated } else { measured };
    names.iter().map(|name| name.replace('_', " ")).collect()
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::study;

    #[test]
    fn a_syndrome_counts_what_an_index_of_lipids_is_made_of() {
        let pipelines = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let study = study::load(&pipelines.join("nhanes-2017-2020-adults.toml")).expect("a study");
        let of = |name: &str| {
            let index = study.indices.iter().find(|index| index.row.name == name).expect("an index");
            let mut shared = shared(&study, index);
            shared.sort();
            shared
        };
        assert_eq!(of("homa_ir"), ["glucose"]);
        assert_eq!(of("tyg"), ["glucose", "triglycerides"]);
        assert_eq!(of("tg_hdl"), ["hdl", "triglycerides"]);
    }
}

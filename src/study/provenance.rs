//! Where a study's data come from, in words: who collected them, where they are, how insulin was measured, how to cite them.

use super::{Source, Study};
use crate::definitions::survey::survey;

/// More releases than this are told by the first, the last and their number.
const MOST_RELEASES: usize = 3;

const INSULIN: &str = "insulin";

/// In place of an assay that a study does not name.
pub const NOT_STATED: &str = "not stated in the study";

/// Letters of a hash that name a study in print.
const SHORT_HASH: usize = 12;

/// Who collected the data and of which years: `National … Survey (NHANES), NCHS/CDC, 2017–2020`.
#[must_use]
pub fn source(study: &Study) -> String {
    let mut named: Vec<(String, Vec<String>)> = Vec::new();
    for source in &study.sources {
        let (title, years) = match source {
            Source::Survey { survey: name, cycle, .. } => {
                let title = survey(name).map_or_else(|| name.clone(), |survey| survey.title.clone());
                (title, Some(cycle.replace('-', "–")))
            }
            Source::Table(table) => (table.name.clone(), None),
        };
        match named.iter_mut().find(|(known, _)| *known == title) {
            Some((_, all)) => all.extend(years),
            None => named.push((title, years.into_iter().collect())),
        }
    }
    let one = |(title, years): &(String, Vec<String>)| match &*releases(years) {
        "" => title.clone(),
        years => format!("{title}, {years}"),
    };
    named.iter().map(one).collect::<Vec<_>>().join("; ")
}

fn releases(years: &[String]) -> String {
    match years {
        [first, .., last] if years.len() > MOST_RELEASES => {
            format!("{first} to {last} ({} releases)", years.len())
        }
        _ => years.join(", "),
    }
}

/// Which files of a known survey were read, and where the agency has them. When they were fetched is not known; a
/// release does not change.
#[must_use]
pub fn address(study: &Study) -> Option<String> {
    let place = |source: &Source| match source {
        Source::Survey { survey: name, .. } => survey(name).map(|survey| &*survey.address),
        Source::Table(_) => None,
    };
    let mut places: Vec<&str> = study.sources.iter().filter_map(place).collect();
    let of = if places.len() == 1 { "this release" } else { "these releases" };
    places.dedup();
    (!places.is_empty()).then(|| format!("public data files of {of}: {}", places.join(", ")))
}

/// One line with which to cite a run: whose data and where they are, who is left out, how insulin was measured, which study.
#[must_use]
pub fn citation(study: &Study, version: &str, sha256: &str) -> String {
    let left_out: Vec<&str> = study.exclusions.iter().map(|exclusion| exclusion.label.as_str()).collect();
    let left_out =
        if left_out.is_empty() { String::new() } else { format!("; without: {}", left_out.join("; ")) };
    format!(
        "{}{}{left_out}{}; study “{}”; computed with cutspan {version}, study {}.",
        source(study),
        address(study).map(|address| format!(" ({address})")).unwrap_or_default(),
        insulin_assays(study).map(|assay| format!("; insulin assay: {assay}")).unwrap_or_default(),
        study.title,
        short_hash(sha256),
    )
}

/// The beginning of a hash, enough to find its study.
#[must_use]
pub fn short_hash(sha256: &str) -> &str {
    sha256.get(..SHORT_HASH).unwrap_or(sha256)
}

/// The insulin assays behind a study, when one of its indices contains insulin.
#[must_use]
pub fn insulin_assays(study: &Study) -> Option<String> {
    (0..study.indices.len()).find_map(|index| insulin_assay(study, index))
}

/// The insulin assays behind an index that contains insulin, with the releases of each where there are several.
#[must_use]
pub fn insulin_assay(study: &Study, index: usize) -> Option<String> {
    if !study.indices[index].ingredients.iter().any(|ingredient| ingredient == INSULIN) {
        return None;
    }
    let mut found: Vec<(String, Vec<String>)> = Vec::new();
    for source in &study.sources {
        let (assay, release) = assay_of(source);
        match found.iter_mut().find(|(known, _)| *known == assay) {
            Some((_, releases)) => releases.push(release),
            None => found.push((assay, vec![release])),
        }
    }
    if let [(assay, _)] = found.as_slice() {
        return Some(assay.clone());
    }
    let one = |(assay, years): &(String, Vec<String>)| format!("{assay} ({})", releases(years));
    Some(found.iter().map(one).collect::<Vec<_>>().join("; "))
}

fn assay_of(source: &Source) -> (String, String) {
    match source {
        Source::Survey { survey: name, cycle, .. } => {
            let row = survey(name).and_then(|survey| survey.cycle(cycle).ok());
            (row.map(|row| row.insulin_assay.clone()).unwrap_or_default(), cycle.replace('-', "–"))
        }
        Source::Table(table) => {
            let insulin = table.columns.iter().find(|column| column.quantity == INSULIN);
            let stated = insulin.and_then(|column| column.assay.clone());
            (stated.unwrap_or_else(|| NOT_STATED.to_owned()), table.name.clone())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study;

    #[test]
    fn a_source_names_agency_survey_and_years() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let of = |file: &str| source(&study::load(&root.join(file)).expect("a study"));
        let nhanes = "National Health and Nutrition Examination Survey (NHANES), NCHS/CDC";
        assert_eq!(of("nhanes-2017-2020-adults.toml"), format!("{nhanes}, 2017–2020"));
        assert_eq!(
            of("nhanes-1999-2020-adults.toml"),
            format!("{nhanes}, 1999–2000 to 2017–2020 (10 releases)")
        );
        assert_eq!(of("demo.toml"), "Veldmark (invented)");
    }

    #[test]
    fn assays_are_named_by_release_for_an_index_that_contains_insulin() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let load = |file: &str| study::load(&root.join(file)).expect("a study");
        let one = load("nhanes-2017-2020-adults.toml");
        assert_eq!(insulin_assay(&one, 0).as_deref(), Some("Tosoh AIA-900, Missouri"));
        let tyg = one.indices.iter().position(|index| index.row.name == "tyg").expect("an index");
        assert_eq!(insulin_assay(&one, tyg), None);
        let all = insulin_assay(&load("nhanes-1999-2020-adults.toml"), 0).expect("assays");
        assert!(all.starts_with("Pharmacia radioimmunoassay, Missouri (1999–2000, 2001–2002); "), "{all}");
        assert!(all.contains("Mercodia ELISA, Minnesota (2005–2006, 2007–2008, 2009–2010); "), "{all}");
        assert_eq!(insulin_assay(&load("demo.toml"), 0).as_deref(), Some("invented"));
        assert_eq!(insulin_assay(&load("own-table.toml"), 0).as_deref(), Some("not stated in the study"));
    }

    #[test]
    fn the_address_is_the_agencys_and_a_table_has_none() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let of = |file: &str| address(&study::load(&root.join(file)).expect("a study"));
        let one = of("nhanes-2017-2020-adults.toml").expect("an address");
        assert!(
            one.starts_with("public data files of this release: https://") && one.contains("cdc.gov"),
            "{one}"
        );
        assert!(of("nhanes-1999-2020-adults.toml").expect("an address").contains("these releases"));
        assert_eq!(of("demo.toml"), None);
    }

    #[test]
    fn one_line_cites_a_run_and_says_who_was_counted() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let study = study::load(&root.join("nhanes-2017-2020-adults.toml")).expect("a study");
        let line = citation(&study, "9", "0123456789abcdef");
        assert!(line.contains("NCHS/CDC, 2017–2020 (public data files of this release: https://"), "{line}");
        assert!(line.contains("; without: ") && line.contains("pregnant"), "{line}");
        assert!(line.contains("; insulin assay: Tosoh AIA-900, Missouri; study “"), "{line}");
        assert!(line.ends_with("computed with cutspan 9, study 0123456789ab."), "{line}");
    }
}

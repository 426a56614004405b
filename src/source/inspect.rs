//! A look at what a study would read: own tables from end to end, official files by whether they are there.

use std::path::PathBuf;

use super::error::Problems;
use super::{Loaded, SourceError, all_folders, mention, name, survey, table};
use crate::definitions::survey::survey as known_survey;
use crate::notice::Notice;
use crate::study::{Source, Study};

/// What is where a study says its data are.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Inspected {
    /// A line for each source that is there.
    pub found: Vec<String>,
    /// People of each source, in the study's order; `None` of official files, which are not read.
    pub people: Vec<Option<usize>>,
    /// A line for each source whose official files are not at hand, with the command that gets them.
    pub absent: Vec<String>,
    /// What is to be said of the values, or of their absence.
    pub notices: Vec<Notice>,
}

/// Looks at every source of a study. Everything that is wrong with its own tables is told in one error; their remarks
/// name single values, for whoever holds the table.
pub fn inspect(study: &Study, folders: &[PathBuf]) -> Result<Inspected, SourceError> {
    let needs = mention::needs(study);
    let folders = all_folders(study, folders);
    let mut problems = Problems::default();
    let mut seen = Inspected::default();
    for source in &study.sources {
        match source {
            Source::Table(own) => {
                let loaded = table::read(own, study, &folders, None);
                if let Some(loaded) = problems.keep(loaded) {
                    seen.people.push(Some(loaded.frame.height()));
                    seen.found.extend(files(&own.name, &loaded));
                    seen.notices.extend(loaded.notices);
                }
            }
            Source::Survey { survey: survey_name, cycle, .. } => {
                let known = known_survey(survey_name)
                    .ok_or_else(|| SourceError::source(survey_name, "no such survey is known"))?;
                let cycle = known.cycle(cycle).map_err(|e| SourceError::source(survey_name, e))?;
                let four_years = cycle.partner_in(&survey::pooled_cycles(study, survey_name)).is_some();
                let quantities = &study.quantities;
                let request = survey::Request { survey: known, cycle, quantities, needs: &needs, four_years };
                seen.people.push(None);
                seen.notices.extend(survey::absent_quantities(&request));
                match survey::absent_files(&request, &folders) {
                    Some(words) => seen.absent.push(format!("{}: {words}", name(source))),
                    None => seen.found.push(format!("{}: its official files are there", name(source))),
                }
            }
        }
    }
    problems.finish()?;
    Ok(seen)
}

/// A line for each file of a table.
fn files(name: &str, loaded: &Loaded) -> Vec<String> {
    let one = |file: &super::FileRecord| {
        format!(
            "{name}: {}, {} rows; {} of its {} columns are used",
            file.name, file.rows, file.columns_read, file.columns
        )
    };
    loaded.files.iter().map(one).collect()
}

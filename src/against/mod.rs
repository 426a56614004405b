//! A finished run made anew and compared with what it left behind: table by table, cell by cell.

mod extent;
mod main_cutoff;
mod record;
mod rows;
mod sort;
mod tables;
mod words;

use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use tempfile::TempDir;

use crate::finished;
use crate::output::RESOLVED;
use crate::pipeline::{self, Options};
use crate::study::{self, Source, Study};
use crate::table::digest::sha256;

pub use extent::Extent;
pub use record::RunRecord;
pub use sort::Scale;
pub use tables::{Difference, TableChange};

/// What came of making a run anew.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// Tables that are the same to the byte.
    pub same: usize,
    pub changed: Vec<TableChange>,
    /// How the cutoff that the answer leads with changed.
    pub main_cutoff: Option<String>,
    /// What differs between the two runs besides their results: study, seed, version, inputs.
    pub circumstances: Vec<String>,
}

impl Comparison {
    #[must_use]
    pub fn is_equal(&self) -> bool {
        self.changed.is_empty()
    }
}

/// Runs the study of a finished run again, in a temporary folder, and compares every table.
///
/// Without a study of its own, the one saved in `out` is run. Its relative paths started where the study file lay,
/// which the run does not know: a file is looked for in `data`, then from `out`, from the folder around it and from here, and one
/// with the recorded sha256 is preferred.
pub fn rerun(
    out: &Path,
    own: Option<&Path>,
    data: &[PathBuf],
    progress: &dyn Fn(&str),
) -> Result<Comparison> {
    let before = record::read(out)?;
    let (_checkout, study) = study(out, own, data, &before)?;
    let aside = tempfile::tempdir().context("no temporary folder to run the study in")?;
    let again = aside.path().join("out");
    pipeline::run(&study, &Options { out: &again, data: data.to_vec(), progress }).context(
        "the study cannot be run again; name the folder of its files with --data, or give the study file too",
    )?;
    let after = record::read(&again)?;
    let (then, now) = (out.join("tables"), again.join("tables"));
    let (same, changed) = tables::compare(&then, &now)?;
    let main_cutoff = main_cutoff::change(&then, &now, &study);
    let mut circumstances = record::differences(&before, &after);
    circumstances.extend(edited(out, &before)?);
    circumstances.extend(words::first_line_that_differs(out, &again)?);
    Ok(Comparison { same, changed, main_cutoff, circumstances })
}

/// The study to run, and the temporary folder that the demo's is laid out in.
fn study(
    out: &Path,
    own: Option<&Path>,
    data: &[PathBuf],
    before: &RunRecord,
) -> Result<(Option<TempDir>, Study)> {
    if let Some(file) = own {
        return Ok((None, study::load(file)?));
    }
    let mut saved = study::load(&out.join(RESOLVED))
        .with_context(|| format!("{}: the study saved in the run cannot be read", out.display()))?;
    let (checkout, demo) = finished::demo_study()?;
    if saved.resolved_toml == demo.resolved_toml {
        return Ok((Some(checkout), demo));
    }
    place_files(&mut saved, out, data, before)?;
    Ok((None, saved))
}

/// Puts every file of a table where it is found, and every folder of the study where it may be meant.
fn place_files(study: &mut Study, out: &Path, data: &[PathBuf], before: &RunRecord) -> Result<()> {
    let around = out.canonicalize().ok().and_then(|out| out.parent().map(Path::to_owned));
    let here = std::env::current_dir().context("the current folder is not known")?;
    let starts = [Some(out.to_owned()), around, Some(here.clone())];
    let bases: Vec<PathBuf> = data.iter().cloned().chain(starts.into_iter().flatten()).collect();
    let folders =
        study.data_folders.iter().flat_map(|folder| bases.iter().map(move |base| base.join(folder)));
    study.data_folders = folders.filter(|folder| folder.is_dir()).map(|folder| here.join(folder)).collect();
    for source in &mut study.sources {
        let Source::Table(table) = source else { continue };
        for file in &mut table.files {
            let found = place(file, &bases, data, &before.sha256_of(&table.name, file));
            let found = found.with_context(|| words::not_found(file, &table.name, &bases))?;
            // A path that starts at the root stays what it is when it is joined to a folder.
            *file = here.join(found);
        }
    }
    Ok(())
}

/// Where a file is: below a base as the study names it, or by its bare name in a folder of data.
fn place(file: &Path, bases: &[PathBuf], data: &[PathBuf], sha256s: &[&str]) -> Option<PathBuf> {
    let named = bases.iter().map(|base| base.join(file));
    let bare = data.iter().filter_map(|folder| Some(folder.join(file.file_name()?)));
    let there: Vec<PathBuf> = named.chain(bare).filter(|path| path.is_file()).collect();
    let recorded = |path: &&PathBuf| {
        there.len() > 1 && std::fs::read(path).is_ok_and(|bytes| sha256s.contains(&sha256(&bytes).as_str()))
    };
    there.iter().find(recorded).or(there.first()).cloned()
}

/// Whether the saved study was changed after the run.
fn edited(out: &Path, before: &RunRecord) -> Result<Option<String>> {
    let file = out.join(RESOLVED);
    let text = std::fs::read(&file).with_context(|| format!("{}: cannot be read", file.display()))?;
    let changed = sha256(&text) != before.study_sha256;
    Ok(changed.then(|| {
        format!("{}: changed since the run was made, its sha256 is not the recorded one", file.display())
    }))
}

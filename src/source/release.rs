//! The files of one release of a survey: found, read, and lined up with the people of the demographics file.

use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};

use polars::prelude::Float64Chunked;

use super::delimited::Form;
use super::raw::RawTable;
use super::{FileRecord, SourceError, file};
use crate::definitions::survey::{Cycle, Survey};

/// Role of the file with one row per person of the survey.
pub(super) const DEMOGRAPHICS: &str = "demographics";

/// Extensions of the official file and of conversions that keep its variable names, best first.
const EXTENSIONS: &[&str] = &["xpt", "parquet", "csv.gz", "csv"];

/// Where the files of a cycle may lie.
#[derive(Debug)]
pub(super) struct Shelves {
    survey: String,
    cycle: String,
    folders: Vec<PathBuf>,
    /// As they were given.
    given: Vec<PathBuf>,
}

impl Shelves {
    /// `<folder>/<survey>/<cycle>`, `<folder>/<cycle>` and `<folder>` itself, for every folder in turn.
    pub fn new(survey: &str, cycle: &str, folders: &[PathBuf]) -> Self {
        let places = |folder: &PathBuf| [folder.join(survey).join(cycle), folder.join(cycle), folder.clone()];
        let (survey, cycle, given) = (survey.to_owned(), cycle.to_owned(), folders.to_vec());
        Self { survey, cycle, folders: folders.iter().flat_map(places).collect(), given }
    }

    /// The file of this official name, whatever the case of its name and extension.
    pub fn find(&self, stem: &str) -> Option<PathBuf> {
        self.folders.iter().find_map(|folder| {
            let entries: Vec<PathBuf> = folder.read_dir().ok()?.flatten().map(|e| e.path()).collect();
            EXTENSIONS.iter().find_map(|extension| {
                let name = format!("{stem}.{extension}").to_lowercase();
                entries.iter().filter(|p| lower_name(p) == name).min().cloned()
            })
        })
    }

    /// Words for files that are needed and not there.
    pub fn missing(&self, stems: &[&str]) -> String {
        let (survey, cycle) = (&self.survey, &self.cycle);
        let given: Vec<String> = self.given.iter().map(|f| f.display().to_string()).collect();
        let tried = if given.is_empty() {
            "no folder was given".to_owned()
        } else {
            format!("looked in {} (and in {survey}/{cycle} and {cycle} there)", given.join(", "))
        };
        let what = if stems.len() == 1 { "official file" } else { "official files" };
        format!(
            "the study needs the {what} {}.XPT (.csv, .csv.gz and .parquet with the same variable names are read too); \
             {tried}; get them with `cutspan data get {cycle} --to FOLDER` and name that FOLDER with --data",
            stems.join(".XPT, ")
        )
    }
}

fn lower_name(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().to_lowercase()
}

/// The people of a release and its files, in the order of the demographics file.
#[derive(Debug)]
pub(super) struct Release {
    pub people: Vec<String>,
    /// Official name → file.
    files: BTreeMap<String, ReleaseFile>,
    /// Role → official name.
    stems: BTreeMap<String, String>,
}

#[derive(Debug)]
struct ReleaseFile {
    table: RawTable,
    /// Row of each person in the file.
    row_of: Vec<Option<u32>>,
}

/// One variable for every person of the release.
#[derive(Debug)]
pub(super) struct Variable<'a> {
    pub cells: Vec<Option<f64>>,
    name: &'a str,
    file: &'a ReleaseFile,
}

impl Variable<'_> {
    /// An error about the cell of a person who has one.
    pub fn error(&self, person: usize, expected: &str) -> SourceError {
        let found = self.cells[person].map_or_else(String::new, |x| x.to_string());
        let row = self.file.row_of[person].unwrap_or_default() as usize;
        self.file.table.cell_error(row, self.name, &found, expected)
    }
}

impl Release {
    /// Starts a release with its demographics file.
    pub fn start(
        survey: &Survey,
        cycle: &Cycle,
        path: &Path,
        wanted: &[&str],
    ) -> Result<(Self, FileRecord), SourceError> {
        let source = format!("{} {}", survey.label, cycle.name);
        let (table, record) = file::read(path, &source, Some(wanted), Form::default())?;
        let ids = table.numbers(&survey.person, &[])?;
        let people = person_ids(&table, &survey.person, &ids)?;
        let row_of = (0..table.rows as u32).map(Some).collect();
        let mut release = Self { people, files: BTreeMap::new(), stems: cycle.files.clone() };
        release.rows(&table, &survey.person)?;
        release.files.insert(cycle.files[DEMOGRAPHICS].clone(), ReleaseFile { table, row_of });
        Ok((release, record))
    }

    /// Adds a file. A person twice in it, or without a row in the demographics file, is an error.
    pub fn add(&mut self, stem: &str, person: &str, table: RawTable) -> Result<(), SourceError> {
        let row_of = self.rows(&table, person)?;
        self.files.insert(stem.to_owned(), ReleaseFile { table, row_of });
        Ok(())
    }

    fn rows(&self, table: &RawTable, person: &str) -> Result<Vec<Option<u32>>, SourceError> {
        let ids = person_ids(table, person, &table.numbers(person, &[])?)?;
        let place: HashMap<&str, usize> =
            self.people.iter().enumerate().map(|(i, id)| (id.as_str(), i)).collect();
        let mut row_of: Vec<Option<u32>> = vec![None; self.people.len()];
        for (row, id) in ids.iter().enumerate() {
            let Some(at) = place.get(id.as_str()) else {
                return Err(table.cell_error(row, person, id, "a person of the demographics file"));
            };
            if let Some(first) = row_of[*at] {
                let expected =
                    format!("every person once; this one stands in {} too", table.place(first as usize));
                return Err(table.cell_error(row, person, id, &expected));
            }
            row_of[*at] = Some(row as u32);
        }
        Ok(row_of)
    }

    /// Whether the file of this role was read.
    pub fn has(&self, role: &str) -> bool {
        self.stems.get(role).is_some_and(|stem| self.files.contains_key(stem))
    }

    /// For each person, whether the file of this role has a row.
    pub fn present(&self, role: &str) -> Vec<bool> {
        let file = self.stems.get(role).and_then(|stem| self.files.get(stem));
        file.map_or_else(
            || vec![false; self.people.len()],
            |f| f.row_of.iter().map(Option::is_some).collect(),
        )
    }

    /// A variable of the file of this role, or of the demographics file.
    pub fn variable<'a>(&'a self, role: &str, name: &'a str) -> Result<Variable<'a>, SourceError> {
        let of = |role: &str| self.stems.get(role).and_then(|stem| self.files.get(stem));
        let own = of(role).or_else(|| of(DEMOGRAPHICS));
        let own = own.ok_or_else(|| SourceError::source(role, "the file of this role was not read"))?;
        let file = match of(DEMOGRAPHICS) {
            Some(demographics) if !own.table.has(name) && demographics.table.has(name) => demographics,
            _ => own,
        };
        let numbers = file.table.numbers(name, &[])?;
        Ok(Variable { cells: align(&numbers, &file.row_of), name, file })
    }
}

fn align(numbers: &Float64Chunked, row_of: &[Option<u32>]) -> Vec<Option<f64>> {
    let cells: Vec<Option<f64>> = numbers.iter().collect();
    row_of.iter().map(|row| row.and_then(|r| cells[r as usize])).collect()
}

/// Ids as whole numbers in text.
fn person_ids(table: &RawTable, column: &str, ids: &Float64Chunked) -> Result<Vec<String>, SourceError> {
    let whole = |(row, id): (usize, Option<f64>)| match id {
        Some(x) if x.fract() == 0.0 => Ok(x.to_string()),
        Some(x) => Err(table.cell_error(row, column, &x.to_string(), "a whole number")),
        None => Err(table.cell_error(row, column, "", "a person's number")),
    };
    ids.iter().enumerate().map(whole).collect()
}

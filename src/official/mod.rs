//! Official survey files: which there are, whether those at hand are whole, and how to get the others.

mod get;
mod verify;

use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use serde::Deserialize;

use crate::definitions::survey::survey;

pub use get::{GetError, Got, get};
pub use verify::{State, verify};

static CATALOGUE: LazyLock<Catalogue> = LazyLock::new(|| {
    let mut catalogue: Catalogue = toml::from_str(include_str!("../../data-public/catalogue.toml"))
        .expect("the embedded catalogue is valid");
    catalogue.complete();
    catalogue
});

/// Official files: those with known size and sha256, and the others that the survey's definition reads.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Catalogue {
    pub survey: String,
    pub label: String,
    pub agency: String,
    pub licence: String,
    /// What the path of every file is put behind.
    pub address: String,
    pub address_standing: String,
    #[serde(rename = "file")]
    pub files: Vec<Entry>,
}

#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct Entry {
    pub cycle: String,
    /// Official name without extension.
    pub name: String,
    pub path: String,
    /// `None` where only its name is known, so that nothing vouches for what is downloaded.
    #[serde(flatten)]
    pub known: Option<Known>,
}

/// What an official file is recognised by.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct Known {
    pub bytes: u64,
    pub sha256: String,
}

/// The embedded catalogue.
#[must_use]
pub fn catalogue() -> &'static Catalogue {
    &CATALOGUE
}

impl Catalogue {
    /// Adds the files that the survey's definition reads and the catalogue does not list, by the pattern of the others' paths,
    /// and puts all in the order of cycles and names.
    fn complete(&mut self) {
        let Some(survey) = survey(&self.survey) else { return };
        for cycle in &survey.cycles {
            let year = cycle.name.get(..4).unwrap_or(&cycle.name);
            for name in cycle.files.values() {
                if !self.files.iter().any(|file| file.name == *name) {
                    let path = format!("{year}/DataFiles/{name}.xpt");
                    self.files.push(Entry {
                        cycle: cycle.name.clone(),
                        name: name.clone(),
                        path,
                        known: None,
                    });
                }
            }
        }
        self.files.sort_by(|a, b| (&a.cycle, &a.name).cmp(&(&b.cycle, &b.name)));
    }

    /// Cycles in the order of the catalogue.
    #[must_use]
    pub fn cycles(&self) -> Vec<&str> {
        let mut cycles: Vec<&str> = self.files.iter().map(|file| file.cycle.as_str()).collect();
        cycles.dedup();
        cycles
    }

    /// Files of one cycle.
    pub fn of_cycle<'a>(&'a self, cycle: &'a str) -> impl Iterator<Item = &'a Entry> {
        self.files.iter().filter(move |file| file.cycle == cycle)
    }
}

/// Where `get` puts a file below a folder of data: `<survey>/<cycle>/<name>.xpt`, where a run looks first.
#[must_use]
pub fn place(entry: &Entry, survey: &str, folder: &Path) -> PathBuf {
    folder.join(survey).join(&entry.cycle).join(format!("{}.xpt", entry.name))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_file_is_described_once_and_whole() {
        let catalogue = catalogue();
        let mut names: Vec<&str> = catalogue.files.iter().map(|file| file.name.as_str()).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), catalogue.files.len());
        assert!(catalogue.files.iter().filter(|file| file.known.is_some()).count() > 80);
        let mut cycles = catalogue.cycles();
        cycles.sort_unstable();
        cycles.dedup();
        let survey = survey(&catalogue.survey).expect("a known survey");
        assert_eq!(catalogue.address, survey.address);
        assert_eq!(cycles.len(), catalogue.cycles().len(), "the files of a cycle stand together");
        for file in &catalogue.files {
            let is_hash = |text: &str| text.len() == 64 && text.bytes().all(|b| b.is_ascii_hexdigit());
            let whole = |known: &Known| is_hash(&known.sha256) && known.bytes.is_multiple_of(80);
            assert!(file.known.as_ref().is_none_or(whole), "{}: records of 80 bytes", file.name);
            assert!(file.path.ends_with(&format!("/{}.xpt", file.name)), "{}", file.path);
        }
    }
}

//! Another study for a person whom this one does not include by age, among the study files at hand.

use std::fs;
use std::path::{Path, PathBuf};

use crate::definitions::answer::{Answer, Given};
use crate::finished::Origin;

/// Folder of study files, from where the program is run.
const STUDIES: &str = "pipelines";
/// More than this many are no help.
const MOST: usize = 3;

/// What a study file says of its people and itself.
struct Stated {
    title: String,
    from: f64,
    below: f64,
}

/// A sentence that names studies at hand whose stated ages hold the person's, who is too young or too old for this one.
pub(super) fn elsewhere(origin: &Origin, answers: &[Answer], outside: &[String]) -> Option<String> {
    outside.iter().find(|reason| reason.contains(" years"))?;
    let age = answers.iter().find(|answer| answer.quantity == "age")?;
    let Given::Number { value: age, .. } = age.given else { return None };
    let mut files: Vec<(PathBuf, Stated)> =
        folders(origin).iter().flat_map(|folder| studies(folder)).collect();
    files
        .retain(|(_, stated)| stated.from <= age && age < stated.below && !stated.title.contains("invented"));
    files.truncate(MOST);
    let words: Vec<String> =
        files.iter().map(|(file, stated)| format!("{} ({})", file.display(), stated.title)).collect();
    (!words.is_empty()).then(|| format!("A study that states this age: {}", words.join("; ")))
}

fn folders(origin: &Origin) -> Vec<PathBuf> {
    let beside = match origin {
        Origin::StudyFile(file) => file.parent().map(Path::to_owned),
        Origin::Run(_) | Origin::Demo => None,
    };
    let mut folders: Vec<PathBuf> = beside.into_iter().collect();
    if folders.iter().all(|folder| !folder.ends_with(STUDIES)) {
        folders.push(PathBuf::from(STUDIES));
    }
    folders
}

/// The study files of a folder in the order of their names; what cannot be read is passed over.
fn studies(folder: &Path) -> Vec<(PathBuf, Stated)> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.path()).collect();
    files.retain(|file| file.extension().is_some_and(|ending| ending == "toml"));
    files.sort();
    files
        .into_iter()
        .filter_map(|file| Some((stated(&fs::read_to_string(&file).ok()?)?, file)))
        .map(|(s, f)| (f, s))
        .collect()
}

fn stated(text: &str) -> Option<Stated> {
    let study: toml::Table = text.parse().ok()?;
    let age = study.get("cohort")?.get("age")?;
    let number =
        |key: &str| age.get(key).and_then(|v| v.as_float().or_else(|| v.as_integer().map(|i| i as f64)));
    Some(Stated {
        title: study.get("title")?.as_str()?.to_owned(),
        from: number("from").unwrap_or(0.0),
        below: number("below").or_else(|| number("to").map(|last| last + 1.0)).unwrap_or(f64::INFINITY),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_study_states_its_ages() {
        let of = |age: &str| stated(&format!("title = \"t\"\n[cohort]\nage = {{ {age} }}\n"));
        let teens = of("from = 12, below = 20").expect("ages");
        assert_eq!((teens.from, teens.below), (12.0, 20.0));
        assert_eq!(of("from = 20").expect("ages").below, f64::INFINITY);
        assert!(stated("title = \"t\"\n").is_none());
    }
}

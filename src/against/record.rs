//! What `run.json` says of a run, and how two runs differ in it.

use std::fs;
use std::path::Path;

use anyhow::{Context, Result, bail};
use serde::Deserialize;

use crate::output::RECORD;

/// Digits of a sha256 that tell two files apart for a reader.
const SHOWN: usize = 12;

/// The part of the record that decides the tables.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct RunRecord {
    pub version: String,
    pub study_sha256: String,
    pub seed: u64,
    pub replicates: usize,
    pub inputs: Vec<InputRecord>,
}

#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct InputRecord {
    pub name: String,
    pub source: String,
    pub sha256: String,
}

impl RunRecord {
    /// The recorded sha256 of the files of a source that have the name of this file.
    pub(super) fn sha256_of(&self, source: &str, file: &Path) -> Vec<&str> {
        let name = file.file_name().unwrap_or_default().to_string_lossy();
        let is_it = |input: &&InputRecord| input.source == source && input.name == name;
        self.inputs.iter().filter(is_it).map(|input| input.sha256.as_str()).collect()
    }
}

/// Reads the record of a finished run.
pub(super) fn read(out: &Path) -> Result<RunRecord> {
    let file = out.join(RECORD);
    if !file.is_file() {
        bail!(
            "{}: not a finished run, it holds no {RECORD}; give the output folder of a finished `cutspan run`",
            out.display()
        );
    }
    let text = fs::read_to_string(&file).with_context(|| format!("{}: cannot be read", file.display()))?;
    serde_json::from_str(&text)
        .with_context(|| format!("{}: not the record of a run; run the study again", file.display()))
}

/// What two records disagree on, a sentence each.
pub(super) fn differences(before: &RunRecord, after: &RunRecord) -> Vec<String> {
    let mut said = Vec::new();
    let mut pair = |what: &str, before: String, after: String| {
        if before != after {
            said.push(format!("{what}: {before} then, {after} now"));
        }
    };
    pair("program version", before.version.clone(), after.version.clone());
    pair("seed", before.seed.to_string(), after.seed.to_string());
    pair("replicates", replicates(before.replicates), replicates(after.replicates));
    pair("study (sha256)", short(&before.study_sha256), short(&after.study_sha256));
    said.extend(inputs(&before.inputs, &after.inputs));
    said
}

/// Only those of a bootstrap are drawn as often as is asked.
fn replicates(asked: usize) -> String {
    if asked == 0 { "as many as the design or the data give".to_owned() } else { asked.to_string() }
}

/// Input files that are not the same in both.
fn inputs(before: &[InputRecord], after: &[InputRecord]) -> Vec<String> {
    let same_file = |a: &InputRecord, b: &InputRecord| a.name == b.name && a.source == b.source;
    let mut said = Vec::new();
    for old in before.iter().filter(|old| !after.contains(old)) {
        let named = format!("input {} of {}", old.name, old.source);
        said.push(match after.iter().find(|new| same_file(old, new)) {
            Some(new) => format!("{named}: sha256 {} then, {} now", short(&old.sha256), short(&new.sha256)),
            None => format!("{named}: read then, not now"),
        });
    }
    let new = after.iter().filter(|new| !before.iter().any(|old| same_file(old, new)));
    said.extend(new.map(|new| format!("input {} of {}: read now, not then", new.name, new.source)));
    said
}

fn short(sha256: &str) -> String {
    sha256.chars().take(SHOWN).collect::<String>() + "…"
}

#[cfg(test)]
mod tests {
    use super::*;

    fn record(seed: u64, inputs: &[(&str, &str)]) -> RunRecord {
        let input = |(name, sha256): &(&str, &str)| InputRecord {
            name: (*name).to_owned(),
            source: "people".to_owned(),
            sha256: (*sha256).to_owned(),
        };
        RunRecord {
            version: "1".to_owned(),
            study_sha256: "aa".to_owned(),
            seed,
            replicates: 20,
            inputs: inputs.iter().map(input).collect(),
        }
    }

    #[test]
    fn each_thing_that_differs_is_said_once() {
        let before = record(1, &[("a.csv", "11"), ("b.csv", "22")]);
        assert!(differences(&before, &before).is_empty());
        let after = record(2, &[("a.csv", "33"), ("c.csv", "22")]);
        assert_eq!(
            differences(&before, &after),
            [
                "seed: 1 then, 2 now",
                "input a.csv of people: sha256 11… then, 33… now",
                "input b.csv of people: read then, not now",
                "input c.csv of people: read now, not then",
            ]
        );
        let jackknife = RunRecord { replicates: 0, ..before.clone() };
        let said = differences(&before, &jackknife);
        assert_eq!(said, ["replicates: 20 then, as many as the design or the data give now"]);
    }
}

//! `run.json`: what ran, on which files, with which seed, and how long it took.

use std::collections::BTreeSet;

use serde::Serialize;

use crate::notice::{Notice, Weight};
use crate::source::FileRecord;

/// The record of a run. Timings make it the one file that differs between equal runs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Record {
    pub program: &'static str,
    pub version: &'static str,
    pub tally_format: u32,
    pub title: String,
    pub study_sha256: String,
    pub seed: u64,
    pub replicates: usize,
    pub rows_read: usize,
    pub inputs: Vec<Input>,
    pub notices: Vec<NoticeEntry>,
    /// What the run made, besides this record: everything else in its folder is left alone by the next.
    pub files: BTreeSet<String>,
    /// Seconds per stage.
    pub seconds: Vec<(String, f64)>,
}

/// An input file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Input {
    pub name: String,
    pub source: String,
    pub bytes: u64,
    pub sha256: String,
    pub rows: usize,
}

impl From<&FileRecord> for Input {
    fn from(file: &FileRecord) -> Self {
        Self {
            name: file.name.clone(),
            source: file.source.clone(),
            bytes: file.bytes,
            sha256: file.sha256.clone(),
            rows: file.rows,
        }
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct NoticeEntry {
    pub weight: &'static str,
    pub kind: &'static str,
    pub about: String,
    pub message: String,
}

impl From<&Notice> for NoticeEntry {
    fn from(notice: &Notice) -> Self {
        Self {
            weight: match notice.weight {
                Weight::Note => "note",
                Weight::Caution => "caution",
            },
            kind: notice.kind,
            about: notice.about.clone(),
            message: notice.message.clone(),
        }
    }
}

//! Reading: transport files against another reader, made-up extracts of the survey's files, tables with a
//! column map, and the official files against their codebooks.

mod codebooks;
mod details;
mod encodings;
mod extracts;
mod forms;
mod joins;
mod labels;
mod official;
mod parquet;
mod tables;

use std::collections::BTreeMap;
use std::path::PathBuf;

use cutspan::definitions::quantity::quantities;
use cutspan::definitions::{Exclusion, Standing};
use cutspan::source::Loaded;
use cutspan::study::{LonelyPsu, ReplicateKind, Resampling, Source, Study, Unsaid, Withhold};
use polars::prelude::{BooleanChunked, Float64Chunked, StringChunked};

/// A study that reads these sources and speaks of the quantities in `formula`.
fn study(sources: Vec<Source>, formula: &str) -> Study {
    let exclusion = Exclusion {
        name: "test".to_owned(),
        label: "test".to_owned(),
        formula: formula.to_owned(),
        unknown_excludes: false,
        source: "test".to_owned(),
        standing: Standing::Study,
        note: String::new(),
    };
    Study {
        title: String::new(),
        question: String::new(),
        folder: PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures"),
        data_folders: Vec::new(),
        quantities: quantities().to_vec(),
        sources,
        samples: Vec::new(),
        exclusions: vec![exclusion],
        indices: Vec::new(),
        outcomes: Vec::new(),
        references: Vec::new(),
        variables: Vec::new(),
        groupings: Vec::new(),
        percentiles: Vec::new(),
        rules: Vec::new(),
        thresholds: Vec::new(),
        curves: None,
        sensitivity: None,
        mixture: None,
        published: cutspan::study::StudyPublished::default(),
        output: cutspan::study::StudyOutput {
            width_mm: 174.0,
            dpi: 300.0,
            formats: vec![cutspan::study::Format::Svg],
        },
        standardisation: None,
        checks: Vec::new(),
        resampling: Resampling {
            kind: ReplicateKind::Bootstrap,
            replicates: 1,
            seed: 1,
            fay: 0.0,
            design: cutspan::study::Design::Survey,
            supplied: None,
        },
        confidence: 0.95,
        lonely_psu: LonelyPsu::Fail,
        withhold: Withhold::Flag,
        public: true,
        unsaid: Unsaid::default(),
        minimum_cell: 10,
        resolved_toml: String::new(),
    }
}

fn cycle(name: &str, weight_share: f64) -> Source {
    Source::Survey { survey: "nhanes".to_owned(), cycle: name.to_owned(), weight_share }
}

fn numbers<'a>(loaded: &'a Loaded, column: &str) -> &'a Float64Chunked {
    loaded.frame.column(column).unwrap().f64().unwrap()
}

fn yes_no<'a>(loaded: &'a Loaded, column: &str) -> &'a BooleanChunked {
    loaded.frame.column(column).unwrap().bool().unwrap()
}

fn texts<'a>(loaded: &'a Loaded, column: &str) -> &'a StringChunked {
    loaded.frame.column(column).unwrap().str().unwrap()
}

fn counts(column: &StringChunked) -> BTreeMap<&str, usize> {
    let mut counts = BTreeMap::new();
    for label in column.iter().flatten() {
        *counts.entry(label).or_insert(0) += 1;
    }
    counts
}

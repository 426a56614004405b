//! Everything a run leaves behind, file by file.

use std::path::Path;

use anyhow::Result;
use rayon::prelude::*;

use super::record::Input;
use super::{METHODS, PAGE, PROGRAM, RECORD, Record, Staging, foreign};
use crate::chart::{self, Chart, Labels, Print};
use crate::notice::Notice;
use crate::report::{self, CaptionInput, DesignFacts, Drawn, InputFile, MethodsInput, PageInput, PaperText};
use crate::source::{FileRecord, Loaded};
use crate::study::{Format, ReplicateKind, Study, provenance};
use crate::table::digest::sha256;
use crate::table::package::{self, Package};
use crate::table::{Cell, Table, schema, small};
use crate::tally::{self, FORMAT, FrameTally, Tallies};

pub const VERSION: &str = env!("CARGO_PKG_VERSION");
/// The study as resolved, beside the results.
pub const RESOLVED: &str = "study.toml";

/// The parts of a run that are written.
#[derive(Debug)]
pub struct Leavings<'a> {
    pub study: &'a Study,
    pub samples: &'a [SampleLeavings<'a>],
    pub tables: &'a [Table],
    pub notices: &'a [Notice],
    pub charts: &'a [Chart],
    pub labels: &'a Labels,
}

/// The parts of a run that each sample has of its own.
#[derive(Debug)]
pub struct SampleLeavings<'a> {
    /// Folder of its tallies inside that of the run; empty when the study is one sample.
    pub folder: String,
    pub loaded: &'a Loaded,
    pub tallies: &'a Tallies,
}

impl Leavings<'_> {
    /// Tables, charts, tallies, the resolved study and the report.
    pub fn write(&self, staging: &Staging) -> Result<()> {
        let sources: Vec<String> = self.samples.iter().map(|s| s.tallies.survey.clone()).collect();
        let description = self.description();
        let described = Package {
            title: &self.study.title,
            description: &description,
            version: VERSION,
            sources: &sources,
        };
        let tables = || package::write(described, self.tables, staging.path()).map_err(Into::into);
        let (charts, others) =
            rayon::join(|| self.write_charts(staging), || rayon::join(tables, || self.write_texts(staging)));
        charts.and(others.0).and(others.1)
    }

    /// The study's question, and how the numbers of people are rounded who may not be shown in small counts.
    fn description(&self) -> String {
        let rounded = self.study.fewest_shown().map(|limit| {
            format!(
                "Counts of fewer than {limit} people are left empty, with what would tell them; {}.",
                small::rounding(limit)
            )
        });
        let question = Some(self.study.question.clone()).filter(|question| !question.is_empty());
        question.into_iter().chain(rounded).collect::<Vec<_>>().join(" ")
    }

    /// Tallies, the resolved study, the methods and the page.
    fn write_texts(&self, staging: &Staging) -> Result<()> {
        for sample in self.samples {
            let name = Path::new("tally").join(&sample.folder);
            tally::save(sample.tallies, self.study, &staging.private_folder(&name)?)?;
        }
        staging.write(RESOLVED, &self.study.resolved_toml)?;
        let (designs, inputs) = (self.designs(), self.inputs());
        let input = self.methods_input(&designs, &inputs);
        let paper = report::paper_text(&input);
        staging.write(METHODS, report::methods(&input, &paper))?;
        staging.write(PAGE, self.page(&inputs, &paper)?)?;
        Ok(())
    }

    fn write_charts(&self, staging: &Staging) -> Result<()> {
        staging.folder(Path::new("charts"))?;
        let print = chart::print(self.study);
        self.charts.par_iter().try_for_each(|chart| self.write_chart(chart, &print, staging))?;
        let captions = CaptionInput {
            study: self.study,
            charts: self.charts,
            tables: self.tables,
            labels: self.labels,
            formats: &self.formats(),
            print,
        };
        staging.write("charts/captions.md", report::captions(&captions))?;
        Ok(())
    }

    fn write_chart(&self, chart: &Chart, print: &Print, staging: &Staging) -> Result<()> {
        for format in &self.study.output.formats {
            let bytes = match format {
                Format::Svg => chart.svg_file(print)?.into_bytes(),
                Format::Png => chart.png(print)?,
                Format::Pdf => chart.pdf(print)?,
            };
            staging.write(&format!("charts/{}.{}", chart.name, format.name()), bytes)?;
        }
        Ok(())
    }

    fn formats(&self) -> Vec<&'static str> {
        self.study.output.formats.iter().map(|format| format.name()).collect()
    }

    fn inputs(&self) -> Vec<InputFile> {
        let input = |f: &FileRecord| InputFile {
            path: f.name.clone(),
            sha256: f.sha256.clone(),
            rows: self.told_rows(f.rows) as u64,
        };
        self.files().map(input).collect()
    }

    /// Rows of a file as they may be told: of people who may not be shown in small counts, like any other count of them.
    fn told_rows(&self, rows: usize) -> usize {
        self.study.fewest_shown().map_or(rows, |limit| small::rounded(rows as i64, limit) as usize)
    }

    /// How the people of each frame of each sample were drawn.
    fn designs(&self) -> Vec<DesignFacts> {
        let supplied = self.study.resampling.kind == ReplicateKind::Supplied;
        let of_sample = |sample: &SampleLeavings<'_>| {
            let frames = sample.tallies.frames.iter().map(|frame| design(frame, sample.tallies, supplied));
            frames.collect::<Vec<_>>()
        };
        self.samples.iter().flat_map(of_sample).collect()
    }

    fn methods_input<'b>(&'b self, designs: &'b [DesignFacts], inputs: &'b [InputFile]) -> MethodsInput<'b> {
        MethodsInput {
            study: self.study,
            tables: self.tables,
            labels: self.labels,
            inputs,
            designs,
            version: VERSION,
        }
    }

    fn page(&self, inputs: &[InputFile], paper: &PaperText) -> Result<String> {
        let definitions = report::definitions(self.study);
        Ok(report::page(&PageInput {
            title: &self.study.title,
            question: &self.study.question,
            invented: &self.study.invented(),
            tables: self.tables,
            charts: self.charts,
            definitions: &definitions,
            notices: self.notices,
            inputs,
            version: VERSION,
            seed: self.study.resampling.seed,
            command: "cutspan run study.toml",
            study_toml: &self.study.resolved_toml,
            labels: self.labels,
            formats: &self.formats(),
            citation: &provenance::citation(
                self.study,
                VERSION,
                &sha256(self.study.resolved_toml.as_bytes()),
            ),
            paper,
        })?)
    }

    fn files(&self) -> impl Iterator<Item = &FileRecord> {
        self.samples.iter().flat_map(|sample| &sample.loaded.files)
    }

    /// The record, written last: a folder without one is not a finished run.
    pub fn write_record(&self, staging: &Staging, seconds: Vec<(String, f64)>) -> Result<()> {
        let record = Record {
            program: PROGRAM,
            version: VERSION,
            tally_format: FORMAT,
            title: self.study.title.clone(),
            study_sha256: sha256(self.study.resolved_toml.as_bytes()),
            seed: self.study.resampling.seed,
            replicates: self.study.resampling.replicates,
            rows_read: self.told_rows(self.files().map(|f| f.rows).sum()),
            inputs: self.files().map(|f| Input { rows: self.told_rows(f.rows), ..f.into() }).collect(),
            notices: self.notices.iter().map(Into::into).collect(),
            files: foreign::files(staging.path())?,
            seconds,
        };
        staging.write(RECORD, serde_json::to_string_pretty(&record)? + "\n")?;
        Ok(())
    }
}

/// The table of notices.
pub fn notice_table(notices: &[Notice]) -> Result<Table> {
    let shape = schema::shape("notices").expect("the schema has a table of notices");
    let mut table = Table::new(shape);
    for notice in notices {
        let weight = match notice.weight {
            crate::notice::Weight::Note => "note",
            crate::notice::Weight::Caution => "caution",
        };
        table.push(vec![
            Cell::text(weight),
            Cell::text(notice.kind),
            Cell::text(&*notice.about),
            Cell::text(&*notice.message),
        ])?;
    }
    Ok(table)
}

fn design(frame: &FrameTally, tallies: &Tallies, supplied: bool) -> DesignFacts {
    let units = || frame.design.units.iter().filter(|unit| unit.people > 0);
    let mut strata: Vec<&str> = units().map(|unit| unit.stratum.as_str()).collect();
    strata.dedup();
    let drawn = match (supplied, tallies.has_design) {
        (true, _) => Drawn::SuppliedReplicates(units().map(|unit| unit.factors.len()).max().unwrap_or(0)),
        (false, true) => Drawn::Clusters { strata: strata.len(), psus: units().count() },
        (false, false) => Drawn::People { units: units().count() },
    };
    let name = if frame.frame.sole { String::new() } else { frame.frame.name().to_owned() };
    DesignFacts {
        survey: tallies.survey.clone(),
        frame: name,
        people: units().map(|unit| unit.people).sum(),
        drawn,
    }
}

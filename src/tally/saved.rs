//! Tallies as Parquet files beside the results, so that later questions need no survey files.

use std::fs;
use std::io::{self, Cursor};
use std::path::{Path, PathBuf};

use polars::prelude::*;
use polars_io::SerReader;
use polars_io::parquet::read::ParquetReader;
use polars_io::parquet::write::ParquetWriter;
use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::{FrameTally, JointColumn, JointTally, Tallies, Tally};
use crate::cohort::{CellPlan, DesignTable, Frame, Unit};
use crate::study::Study;
use crate::table::digest::sha256;

/// Version of the saved form; a reader refuses another.
pub const FORMAT: u32 = 1;
const MANIFEST: &str = "manifest.json";
const DESIGN: &str = "design.parquet";

/// Why tallies could not be saved or read back.
#[derive(Debug, Error)]
pub enum SavedError {
    #[error("{file}: cannot be read or written")]
    File {
        file: PathBuf,
        #[source]
        cause: io::Error,
    },
    #[error("{file}: not a table of tallies")]
    Table {
        file: PathBuf,
        #[source]
        cause: PolarsError,
    },
    #[error("{file}: not a list of tallies")]
    Manifest {
        file: PathBuf,
        #[source]
        cause: serde_json::Error,
    },
    #[error(
        "{file}: format {found}, this program reads format {FORMAT}; run the study again with this version"
    )]
    Format { file: PathBuf, found: u32 },
    #[error(
        "{file}: its sha256 is {found}, the run wrote {expected}; the file was changed, run the study again"
    )]
    Changed { file: PathBuf, found: String, expected: String },
    #[error(
        "{folder}: its tallies belong to another study than the study.toml beside them; run the study again"
    )]
    OtherStudy { folder: PathBuf },
}

/// What stands beside the Parquet files: how to read them, and what they must be.
#[derive(Debug, Serialize, Deserialize)]
struct Manifest {
    format: u32,
    study_sha256: String,
    survey: String,
    has_design: bool,
    plan: CellPlan,
    frames: Vec<Frame>,
    frame_of: Vec<Vec<usize>>,
    /// Frame and columns of each joint tally.
    #[serde(default)]
    joints: Vec<(usize, Vec<JointColumn>)>,
    files: Vec<Written>,
}

#[derive(Debug, Serialize, Deserialize)]
struct Written {
    name: String,
    sha256: String,
}

/// Writes `<frame>_<index>.parquet`, `<frame>_people.parquet`, `design.parquet`, `cells.parquet` and
/// `manifest.json`; answers with the names of the files.
pub fn save(tallies: &Tallies, study: &Study, folder: &Path) -> Result<Vec<String>, SavedError> {
    let mut files = Vec::new();
    let mut put = |name: String, frame: PolarsResult<DataFrame>| -> Result<(), SavedError> {
        let file = folder.join(&name);
        let bytes =
            frame.and_then(parquet).map_err(|cause| SavedError::Table { file: file.clone(), cause })?;
        fs::write(&file, &bytes).map_err(|cause| SavedError::File { file, cause })?;
        files.push(Written { name, sha256: sha256(&bytes) });
        Ok(())
    };
    put(DESIGN.to_owned(), design(&tallies.frames))?;
    put("cells.parquet".to_owned(), cells(tallies))?;
    for frame in &tallies.frames {
        put(people_file(&frame.frame), table(&frame.people))?;
        for (index, tally) in study.indices.iter().zip(&frame.indices) {
            if !tally.is_empty() {
                put(index_file(&frame.frame, &index.row.name), table(tally))?;
            }
        }
    }
    for joint in &tallies.joints {
        put(joint_file(&tallies.frames[joint.frame].frame, &joint.columns), joint_table(joint))?;
    }
    let mut names: Vec<String> = files.iter().map(|f| f.name.clone()).collect();
    write_manifest(tallies, study, files, folder)?;
    names.push(MANIFEST.to_owned());
    Ok(names)
}

fn write_manifest(
    tallies: &Tallies,
    study: &Study,
    files: Vec<Written>,
    folder: &Path,
) -> Result<(), SavedError> {
    let manifest = Manifest {
        format: FORMAT,
        study_sha256: sha256(study.resolved_toml.as_bytes()),
        survey: tallies.survey.clone(),
        has_design: tallies.has_design,
        plan: tallies.plan.clone(),
        frames: tallies.frames.iter().map(|f| f.frame.clone()).collect(),
        frame_of: tallies.frame_of.clone(),
        joints: tallies.joints.iter().map(|j| (j.frame, j.columns.clone())).collect(),
        files,
    };
    let file = folder.join(MANIFEST);
    let text = serde_json::to_string_pretty(&manifest)
        .map_err(|cause| SavedError::Manifest { file: file.clone(), cause })?;
    fs::write(&file, text + "\n").map_err(|cause| SavedError::File { file, cause })
}

/// Names of the files that `save` wrote into a folder, by the list among them; none where there is no list.
#[must_use]
pub fn saved_files(folder: &Path) -> Vec<String> {
    #[derive(Deserialize)]
    struct Listed {
        files: Vec<Written>,
    }
    let Ok(text) = fs::read(folder.join(MANIFEST)) else { return Vec::new() };
    let Ok(Listed { files }) = serde_json::from_slice(&text) else { return Vec::new() };
    files.into_iter().map(|file| file.name).chain([MANIFEST.to_owned()]).collect()
}

/// Reads tallies back, after checking the format, the study and every file's sha256.
pub fn load(study: &Study, folder: &Path) -> Result<Tallies, SavedError> {
    let file = folder.join(MANIFEST);
    let text = fs::read_to_string(&file).map_err(|cause| SavedError::File { file: file.clone(), cause })?;
    let manifest: Manifest =
        serde_json::from_str(&text).map_err(|cause| SavedError::Manifest { file: file.clone(), cause })?;
    if manifest.format != FORMAT {
        return Err(SavedError::Format { file, found: manifest.format });
    }
    if manifest.study_sha256 != sha256(study.resolved_toml.as_bytes()) {
        return Err(SavedError::OtherStudy { folder: folder.to_owned() });
    }
    let reader = Reader { folder, manifest: &manifest };
    let designs = reader.read(DESIGN)?;
    let frame = |frame: &Frame| {
        let indices = study.indices.iter().map(|i| reader.tally(&index_file(frame, &i.row.name)));
        Ok(FrameTally {
            frame: frame.clone(),
            design: read_design(&designs, frame).map_err(|cause| reader.broken(DESIGN, cause))?,
            people: reader.tally(&people_file(frame))?,
            indices: indices.collect::<Result<_, _>>()?,
        })
    };
    let joints = manifest.joints.iter().map(|(frame, columns)| reader.joint(*frame, columns));
    Ok(Tallies {
        joints: joints.collect::<Result<_, _>>()?,
        frames: manifest.frames.iter().map(frame).collect::<Result<_, SavedError>>()?,
        survey: manifest.survey,
        plan: manifest.plan,
        frame_of: manifest.frame_of,
        has_design: manifest.has_design,
    })
}

struct Reader<'a> {
    folder: &'a Path,
    manifest: &'a Manifest,
}

impl Reader<'_> {
    fn broken(&self, name: &str, cause: PolarsError) -> SavedError {
        SavedError::Table { file: self.folder.join(name), cause }
    }

    fn read(&self, name: &str) -> Result<DataFrame, SavedError> {
        let file = self.folder.join(name);
        let bytes = fs::read(&file).map_err(|cause| SavedError::File { file: file.clone(), cause })?;
        let found = sha256(&bytes);
        let written = self.manifest.files.iter().find(|f| f.name == name);
        match written {
            Some(w) if w.sha256 == found => {}
            other => {
                let expected = other.map_or("nothing".to_owned(), |w| w.sha256.clone());
                return Err(SavedError::Changed { file, found, expected });
            }
        }
        ParquetReader::new(Cursor::new(bytes)).finish().map_err(|cause| SavedError::Table { file, cause })
    }

    fn joint(&self, frame: usize, columns: &[JointColumn]) -> Result<JointTally, SavedError> {
        let name = joint_file(&self.manifest.frames[frame], columns);
        let rows = self.read(&name)?;
        let keys = |column: &JointColumn| -> PolarsResult<Vec<i64>> {
            Ok(rows.column(&column.name())?.i64()?.iter().flatten().collect())
        };
        let read = || Ok((columns.iter().map(keys).collect::<Result<_, _>>()?, read_tally(&rows)?));
        let (keys, sums) = read().map_err(|cause| self.broken(&name, cause))?;
        Ok(JointTally::new(frame, columns.to_vec(), keys, sums))
    }

    /// A tally, empty when the run wrote none of that name.
    fn tally(&self, name: &str) -> Result<Tally, SavedError> {
        if self.manifest.files.iter().all(|f| f.name != name) {
            return Ok(Tally::default());
        }
        read_tally(&self.read(name)?).map_err(|cause| self.broken(name, cause))
    }
}

fn joint_file(frame: &Frame, columns: &[JointColumn]) -> String {
    let names: Vec<String> = columns.iter().map(|c| c.name()).collect();
    format!("{}_joint_{}.parquet", frame.name(), names.join("_"))
}

/// A joint tally as a tally of its sums, with one column more for each of its values.
fn joint_table(joint: &JointTally) -> PolarsResult<DataFrame> {
    let mut rows = table(&joint.sums())?;
    for (column, keys) in joint.columns.iter().zip(&joint.keys) {
        rows.with_column(Column::new(column.name().into(), keys))?;
    }
    Ok(rows)
}

fn people_file(frame: &Frame) -> String {
    format!("{}_people.parquet", frame.name())
}

fn index_file(frame: &Frame, index: &str) -> String {
    format!("{}_{index}.parquet", frame.name())
}

fn parquet(mut frame: DataFrame) -> PolarsResult<Vec<u8>> {
    let mut bytes = Vec::new();
    ParquetWriter::new(&mut bytes).with_compression(ParquetCompression::Zstd(None)).finish(&mut frame)?;
    Ok(bytes)
}

fn table(tally: &Tally) -> PolarsResult<DataFrame> {
    df!(
        "key" => &tally.key,
        "cell" => &tally.cell,
        "flags" => &tally.flags,
        "outcomes" => &tally.outcomes,
        "unit" => &tally.unit,
        "people" => &tally.people,
        "weight" => &tally.weight,
        "weight_squared" => &tally.weight_squared,
    )
}

fn read_tally(rows: &DataFrame) -> PolarsResult<Tally> {
    let signed =
        |name: &str| -> PolarsResult<Vec<i64>> { Ok(rows.column(name)?.i64()?.iter().flatten().collect()) };
    let bits =
        |name: &str| -> PolarsResult<Vec<u64>> { Ok(rows.column(name)?.u64()?.iter().flatten().collect()) };
    let small =
        |name: &str| -> PolarsResult<Vec<u32>> { Ok(rows.column(name)?.u32()?.iter().flatten().collect()) };
    Ok(Tally {
        key: signed("key")?,
        cell: signed("cell")?,
        flags: bits("flags")?,
        outcomes: bits("outcomes")?,
        unit: small("unit")?,
        people: small("people")?,
        weight: signed("weight")?,
        weight_squared: signed("weight_squared")?,
    })
}

fn design(frames: &[FrameTally]) -> PolarsResult<DataFrame> {
    let rows: Vec<(&str, usize, &Unit)> = frames
        .iter()
        .flat_map(|f| f.design.units.iter().enumerate().map(move |(i, u)| (f.frame.name(), i, u)))
        .collect();
    let mut table = df!(
        "frame" => rows.iter().map(|r| r.0).collect::<Vec<_>>(),
        "unit" => rows.iter().map(|r| r.1 as u32).collect::<Vec<_>>(),
        "stratum" => rows.iter().map(|r| r.2.stratum.as_str()).collect::<Vec<_>>(),
        "psu" => rows.iter().map(|r| r.2.psu.as_str()).collect::<Vec<_>>(),
        "people" => rows.iter().map(|r| r.2.people).collect::<Vec<_>>(),
        "weight" => rows.iter().map(|r| r.2.weight).collect::<Vec<_>>(),
    )?;
    for replicate in 0..rows.first().map_or(0, |r| r.2.factors.len()) {
        let factors: Vec<i64> = rows.iter().map(|r| r.2.factors[replicate]).collect();
        table.with_column(Column::new(factor_column(replicate).into(), factors))?;
    }
    Ok(table)
}

/// The column of a unit's factors in one replicate, when replicate weights came with the data.
fn factor_column(replicate: usize) -> String {
    format!("factor_{}", replicate + 1)
}

fn read_design(designs: &DataFrame, frame: &Frame) -> PolarsResult<DesignTable> {
    let text = |name: &str| designs.column(name)?.str();
    let (frames, strata, psus) = (text("frame")?, text("stratum")?, text("psu")?);
    let (people, weights) = (designs.column("people")?.u64()?, designs.column("weight")?.i64()?);
    let named = (0..).map(factor_column).map_while(|name| designs.column(&name).ok());
    let factors = named.map(|column| column.i64()).collect::<PolarsResult<Vec<_>>>()?;
    let unit = |i: usize| Unit {
        stratum: strata.get(i).unwrap_or_default().to_owned(),
        psu: psus.get(i).unwrap_or_default().to_owned(),
        people: people.get(i).unwrap_or_default(),
        weight: weights.get(i).unwrap_or_default(),
        factors: factors.iter().map(|column| column.get(i).unwrap_or_default()).collect(),
    };
    let own = (0..designs.height()).filter(|&i| frames.get(i) == Some(frame.name()));
    Ok(DesignTable { units: own.map(unit).collect() })
}

/// Every cell that occurs, with the atom of each axis.
fn cells(tallies: &Tallies) -> PolarsResult<DataFrame> {
    let mut cells: Vec<i64> = tallies.frames.iter().flat_map(|f| f.people.cell.iter().copied()).collect();
    cells.sort_unstable();
    cells.dedup();
    let mut columns = vec![Column::new("cell".into(), &cells)];
    for (position, axis) in tallies.plan.axes.iter().enumerate() {
        let labels: Vec<Option<&str>> = cells
            .iter()
            .map(|&c| axis.atoms.get(usize::from(tallies.plan.atoms_of(c)[position])).map(String::as_str))
            .collect();
        columns.push(Column::new(axis.name.as_str().into(), labels));
    }
    DataFrame::new(cells.len(), columns)
}

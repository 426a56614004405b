//! Tallies as Parquet files beside the results, so that later questions need no survey files.

use std::fs::File;
use std::path::Path;

use polars::prelude::*;
use polars_io::parquet::write::ParquetWriter;

use super::{FrameTally, Tallies, Tally};
use crate::cohort::CohortError;
use crate::study::Study;

/// Version of the saved form; a reader refuses another.
pub const FORMAT: u32 = 1;

/// Writes `<frame>_<index>.parquet`, `<frame>_people.parquet`, `design.parquet` and `cells.parquet`.
pub fn save(tallies: &Tallies, study: &Study, folder: &Path) -> Result<Vec<String>, CohortError> {
    let mut written = Vec::new();
    let mut put = |name: String, frame: DataFrame| -> Result<(), CohortError> {
        write(&folder.join(&name), frame)?;
        written.push(name);
        Ok(())
    };
    put("design.parquet".to_owned(), design(&tallies.frames)?)?;
    put("cells.parquet".to_owned(), cells(tallies)?)?;
    for frame in &tallies.frames {
        let name = frame.frame.name();
        put(format!("{name}_people.parquet"), table(&frame.people)?)?;
        for (index, tally) in study.indices.iter().zip(&frame.indices) {
            if !tally.is_empty() {
                put(format!("{name}_{}.parquet", index.row.name), table(tally)?)?;
            }
        }
    }
    Ok(written)
}

fn write(path: &Path, mut frame: DataFrame) -> Result<(), CohortError> {
    let file = File::create(path).map_err(PolarsError::from)?;
    ParquetWriter::new(file).with_compression(ParquetCompression::Zstd(None)).finish(&mut frame)?;
    Ok(())
}

fn table(tally: &Tally) -> Result<DataFrame, CohortError> {
    Ok(df!(
        "key" => &tally.key,
        "cell" => &tally.cell,
        "flags" => &tally.flags,
        "outcomes" => &tally.outcomes,
        "unit" => &tally.unit,
        "people" => &tally.people,
        "weight" => &tally.weight,
        "weight_squared" => &tally.weight_squared,
    )?)
}

fn design(frames: &[FrameTally]) -> Result<DataFrame, CohortError> {
    let rows: Vec<_> = frames
        .iter()
        .flat_map(|f| f.design.units.iter().enumerate().map(move |u| (f.frame.name(), u)))
        .collect();
    Ok(df!(
        "format" => vec![FORMAT; rows.len()],
        "frame" => rows.iter().map(|(f, _)| *f).collect::<Vec<_>>(),
        "unit" => rows.iter().map(|(_, (i, _))| *i as u32).collect::<Vec<_>>(),
        "stratum" => rows.iter().map(|(_, (_, u))| u.stratum.as_str()).collect::<Vec<_>>(),
        "psu" => rows.iter().map(|(_, (_, u))| u.psu.as_str()).collect::<Vec<_>>(),
        "people" => rows.iter().map(|(_, (_, u))| u.people).collect::<Vec<_>>(),
        "weight" => rows.iter().map(|(_, (_, u))| u.weight).collect::<Vec<_>>(),
    )?)
}

/// Every cell that occurs, with the atom of each axis.
fn cells(tallies: &Tallies) -> Result<DataFrame, CohortError> {
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
    Ok(DataFrame::new(cells.len(), columns)?)
}

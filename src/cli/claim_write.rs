//! Where a claim's answer goes: format by the ending of its file, pictures, columns of a table.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use clap::ValueEnum;

use super::say::{say, tell};
use crate::chart::{self, Chart, Imprint, Labels, Print};
use crate::output::{RECORD, RESOLVED};
use crate::report::{self, ClaimPage};
use crate::table::{Kind, Table, csv};

/// How an answer is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    Text,
    Markdown,
    Csv,
    Json,
}

/// Endings of files, and the format that each stands for.
const ENDINGS: [(&str, Format); 6] = [
    ("txt", Format::Text),
    ("text", Format::Text),
    ("md", Format::Markdown),
    ("markdown", Format::Markdown),
    ("csv", Format::Csv),
    ("json", Format::Json),
];

/// A format and a file, or the screen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    format: Format,
    file: Option<PathBuf>,
}

/// The format that is asked for, which the file's ending must not contradict.
pub fn place(format: Option<Format>, out: Option<&Path>) -> Result<Place> {
    let Some(file) = out else { return Ok(Place { format: format.unwrap_or(Format::Text), file: None }) };
    let ending = ending(file);
    let by_ending = ENDINGS.iter().find(|(known, _)| *known == ending).map(|(_, format)| *format);
    let format = match (format, by_ending) {
        (Some(asked), Some(meant)) if asked != meant => bail!(
            "{}: a file with this ending holds {}, but --format asks for {}; change one of them",
            file.display(),
            named(meant),
            named(asked)
        ),
        (Some(asked), _) => asked,
        (None, Some(meant)) => meant,
        (None, None) => {
            bail!("{}: end the file's name with .txt, .md, .csv or .json, or say --format", file.display())
        }
    };
    may_be_written(file)?;
    Ok(Place { format, file: Some(file.to_owned()) })
}

/// A file goes into a folder that is there, and not into that of a run.
fn may_be_written(file: &Path) -> Result<()> {
    has_folder(file)?;
    outside_of_runs(file)
}

/// A finished run stays as it was written.
fn outside_of_runs(file: &Path) -> Result<()> {
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let folder = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
    let is_run = |folder: &&Path| folder.join(RECORD).is_file() && folder.join(RESOLVED).is_file();
    let Some(run) = folder.ancestors().find(is_run) else { return Ok(()) };
    bail!(
        "{}: this is in the folder of a finished run, which stays as the run wrote it; write it beside that folder: {}",
        file.display(),
        run.with_file_name(file.file_name().unwrap_or_default()).display()
    )
}

/// A file is written into a folder that is there; none is made for a slip of the pen.
fn has_folder(file: &Path) -> Result<()> {
    match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() && !folder.is_dir() => bail!(
            "{}: there is no folder {}; make it first (mkdir -p {}) or name another place",
            file.display(),
            folder.display(),
            folder.display()
        ),
        _ => Ok(()),
    }
}

fn named(format: Format) -> &'static str {
    match format {
        Format::Text => "text",
        Format::Markdown => "markdown",
        Format::Csv => "csv",
        Format::Json => "json",
    }
}

fn ending(file: &Path) -> String {
    file.extension().and_then(|e| e.to_str()).unwrap_or_default().to_lowercase()
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Picture {
    Svg,
    Png,
}

/// The kind of picture that a file's ending asks for.
pub fn picture(file: &Path) -> Result<Picture> {
    let picture = match &*ending(file) {
        "svg" => Picture::Svg,
        "png" => Picture::Png,
        _ => bail!("{}: a chart is written as .svg or .png; end the file's name so", file.display()),
    };
    may_be_written(file)?;
    Ok(picture)
}

/// Draws what there is to draw; a threshold that separates nobody has no picture.
pub fn draw(
    file: &Path,
    picture: Picture,
    (table, labels): (&Table, &Labels),
    imprint: &Imprint,
) -> Result<()> {
    let charts = chart::draw_claim(table, labels, imprint)?;
    if charts.is_empty() {
        tell(format!("{}: not drawn, because the threshold separates nobody", file.display()));
    }
    save(file, picture, &charts)
}

/// Writes charts into a file, and those after the first into files numbered after it.
pub fn save(file: &Path, picture: Picture, charts: &[Chart]) -> Result<()> {
    for (position, chart) in charts.iter().enumerate() {
        let file = numbered(file, position);
        let bytes = match picture {
            Picture::Svg => chart.svg_for_screen()?.into_bytes(),
            Picture::Png => chart.png(&Print::default())?,
        };
        written(&file, bytes)?;
    }
    Ok(())
}

/// Writes a file and says so.
fn written(file: &Path, bytes: impl AsRef<[u8]>) -> Result<()> {
    fs::write(file, bytes).with_context(|| cannot_write(file))?;
    tell(format_args!("{}: written", file.display()));
    Ok(())
}

/// `claim.svg`, `claim-2.svg`, `claim-3.svg`.
pub fn numbered(file: &Path, position: usize) -> PathBuf {
    if position == 0 {
        return file.to_owned();
    }
    let stem = file.file_stem().unwrap_or_default().to_string_lossy();
    let ending = file.extension().unwrap_or_default().to_string_lossy();
    file.with_file_name(format!("{stem}-{}.{ending}", position + 1))
}

fn cannot_write(file: &Path) -> String {
    format!("{}: cannot be written; choose another place", file.display())
}

/// Writes the answer; beside a table in a file, what its columns are.
pub fn write(place: &Place, page: &ClaimPage, table: &Table, withheld_references: bool) -> Result<()> {
    let kept = if withheld_references { table.clone() } else { without_withheld_references(table) };
    let text = match place.format {
        Format::Text => report::claim_text(page),
        Format::Markdown => report::claim_markdown(page),
        Format::Csv => csv::to_text(&kept),
        Format::Json => report::claim_json(page, &kept)?,
    };
    match &place.file {
        Some(file) => written(file, text)?,
        None => say(text)?,
    }
    if let (Some(file), Format::Csv) = (&place.file, place.format) {
        written(&file.with_extension("columns.csv"), columns(&kept))?;
    }
    if place.format == Format::Csv || place.file.is_some() {
        warn(page);
    }
    Ok(())
}

/// Reference groups are often too small by group: rows without a number say little and are many.
fn without_withheld_references(table: &Table) -> Table {
    let empty = |row: &crate::table::Row<'_>| {
        row.text("population") != "cohort"
            && !row.text("population").is_empty()
            && !row.text("withheld").is_empty()
    };
    let keep = table.iter().zip(&table.rows).filter(|(row, _)| !empty(row)).map(|(_, cells)| cells.clone());
    Table { rows: keep.collect(), ..table.clone() }
}

/// Every column of a table with its kind, unit and meaning.
fn columns(table: &Table) -> String {
    let quoted = |text: &str| format!("\"{}\"", text.replace('"', "\"\""));
    table.columns.iter().fold("column,kind,unit,meaning\n".to_owned(), |mut text, column| {
        let kind = match column.kind {
            Kind::Text => "text",
            Kind::Integer => "integer",
            Kind::Real => "number",
        };
        let _ = writeln!(text, "{},{kind},{},{}", column.name, quoted(column.unit), quoted(column.meaning));
        text
    })
}

/// Numbers without words say on the side that their people are made up, and how the question was understood.
fn warn(page: &ClaimPage) {
    for line in page.warning.iter().chain(&page.understood).chain(&page.first) {
        tell(line);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ending_decides_and_must_not_be_contradicted() {
        let of = |format, file: &str| place(format, Some(Path::new(file))).map(|place| place.format);
        assert_eq!(of(None, "a.csv").expect("known"), Format::Csv);
        assert_eq!(of(None, "a.MD").expect("known"), Format::Markdown);
        assert_eq!(of(Some(Format::Json), "a.json").expect("agree"), Format::Json);
        assert_eq!(of(Some(Format::Csv), "a.dat").expect("asked for"), Format::Csv);
        let said = of(Some(Format::Markdown), "a.csv").expect_err("conflict").to_string();
        assert!(said.contains("holds csv, but --format asks for markdown"), "{said}");
        assert!(of(None, "a.html").is_err());
    }

    #[test]
    fn nothing_is_written_into_the_folder_of_a_run() {
        let folder = tempfile::tempdir().expect("a folder");
        let run = folder.path().join("out");
        fs::create_dir_all(run.join("charts")).expect("folders");
        let picture = |file: PathBuf| picture(&file);
        // Any folder may hold a run.json; that of a run holds its study as well.
        fs::write(run.join(RECORD), "{}").expect("a record");
        assert!(place(None, Some(&run.join("claim.md"))).is_ok());
        fs::write(run.join(RESOLVED), "").expect("a study");
        let said = place(None, Some(&run.join("claim.md"))).expect_err("a run").to_string();
        assert!(said.contains("folder of a finished run") && said.ends_with("claim.md"), "{said}");
        assert!(!said.ends_with("out/claim.md"), "{said}");
        assert!(picture(run.join("charts/claim.svg")).is_err());
        assert_eq!(picture(folder.path().join("claim.svg")).expect("beside it"), Picture::Svg);
    }
}

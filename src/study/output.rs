//! How large charts are printed and in which kinds of files: `[output]`.

use serde::{Deserialize, Serialize};

use super::error::{StudyError, Text};
use super::file::At;

/// Two columns of a journal's page.
const WIDTH_MM: f64 = 174.0;
/// Sharp on a screen and quickly written; a journal asks for 300 or more, or takes the PDF.
const DPI: f64 = 150.0;
/// Widths that a page, a slide or a poster may have.
const WIDTHS_MM: [f64; 2] = [40.0, 600.0];
const DPIS: [f64; 2] = [72.0, 1200.0];
/// A wider picture of pixels takes more memory than a run.
const MOST_PIXELS: f64 = 6000.0;
const MM_PER_INCH: f64 = 25.4;

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OutputFile {
    #[serde(default = "width")]
    pub width_mm: At<f64>,
    #[serde(default = "formats")]
    pub formats: At<Vec<At<String>>>,
    #[serde(default = "dpi")]
    pub dpi: At<f64>,
}

/// Size and files of the charts of a study.
#[derive(Debug, Clone, PartialEq)]
pub struct StudyOutput {
    /// Width of every chart on paper; its height follows.
    pub width_mm: f64,
    /// Pixels an inch of a PNG.
    pub dpi: f64,
    /// Kinds of files, in the order of the study, each once.
    pub formats: Vec<Format>,
}

/// A kind of file a chart is written as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    Svg,
    Png,
    Pdf,
}

impl Format {
    pub const ALL: [Self; 3] = [Self::Svg, Self::Png, Self::Pdf];

    /// Its name in a study, which is the ending of its files.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Svg => "svg",
            Self::Png => "png",
            Self::Pdf => "pdf",
        }
    }
}

impl Default for OutputFile {
    fn default() -> Self {
        Self { width_mm: width(), formats: formats(), dpi: dpi() }
    }
}

fn width() -> At<f64> {
    At::new(0..0, WIDTH_MM)
}

fn dpi() -> At<f64> {
    At::new(0..0, DPI)
}

fn formats() -> At<Vec<At<String>>> {
    At::new(0..0, ["svg", "png"].map(|name| At::new(0..0, name.to_owned())).to_vec())
}

/// Checks numbers and names of the section.
pub(super) fn output(file: &OutputFile, text: Text<'_>) -> Result<StudyOutput, StudyError> {
    let (width_mm, dpi) = (*file.width_mm.get_ref(), *file.dpi.get_ref());
    within("width_mm", &file.width_mm, WIDTHS_MM, text)?;
    within("dpi", &file.dpi, DPIS, text)?;
    let pixels = width_mm / MM_PER_INCH * dpi;
    if pixels > MOST_PIXELS {
        let most = (MOST_PIXELS / (width_mm / MM_PER_INCH)).floor();
        let problem = format!(
            "{width_mm} mm at {dpi} dpi are {pixels:.0} pixels across, and at most {MOST_PIXELS} are drawn: use dpi = \
             {most} or less, or the PDF, which has no pixels"
        );
        return Err(text.problem(file.dpi.span(), problem));
    }
    if file.formats.get_ref().is_empty() {
        let problem = "formats is empty: name at least one of \"svg\", \"png\" and \"pdf\"";
        return Err(text.problem(file.formats.span(), problem));
    }
    super::check::distinct(file.formats.get_ref(), text)?;
    let formats = file.formats.get_ref().iter().map(|name| format(name, text)).collect::<Result<_, _>>()?;
    Ok(StudyOutput { width_mm, dpi, formats })
}

fn within(name: &str, value: &At<f64>, [least, most]: [f64; 2], text: Text<'_>) -> Result<(), StudyError> {
    let found = *value.get_ref();
    if (least..=most).contains(&found) {
        return Ok(());
    }
    Err(text.problem(value.span(), format!("{name} must lie between {least} and {most}, found {found}")))
}

fn format(name: &At<String>, text: Text<'_>) -> Result<Format, StudyError> {
    let found = Format::ALL.into_iter().find(|format| format.name() == name.get_ref());
    found.ok_or_else(|| text.unknown("kind of chart file", name, Format::ALL.map(Format::name)))
}

/// For a study in words.
pub(super) fn in_words(output: &StudyOutput) -> String {
    let names: Vec<&str> = output.formats.iter().map(|format| format.name()).collect();
    let pixels = if output.formats.contains(&Format::Png) {
        format!("; PNG at {} dpi", output.dpi)
    } else {
        String::new()
    };
    format!("{} mm wide, as {}{pixels}", output.width_mm, names.join(", "))
}

//! Charts, drawn from the result tables alone, so that a chart cannot disagree with a file.
//!
//! A chart is a scene of plain marks in page pixels; `paint` puts a scene on the SVG or the bitmap
//! canvas. Adding a chart is one function from tables to drawings and one row in `KINDS`.

mod assay_routes;
mod choices;
mod claim;
mod curves;
mod cutoffs;
mod distribution;
mod flow;
mod font;
mod forest;
mod heat;
mod indices;
mod labels;
mod methods;
mod net_benefit;
mod of_study;
mod paint;
mod palette;
mod pdf;
mod pdf_font;
mod percentiles;
mod print;
mod published;
mod ratios;
mod roc;
mod sample;
mod samples;
mod scale;
mod scene;
mod section;
mod select;
mod sheet;
mod spread;
mod standardized;
mod trend;

use rayon::prelude::*;

use crate::table::Table;

pub use claim::draw_claim;
pub use font::{FAMILY, REGULAR, SEMIBOLD};
pub use labels::{DesignWords, IndexLabel, Labels};
pub use of_study::{design_words, labels, print};
pub use palette::{DARK, Swap};
pub use print::{Picture, Print, SmallPrint, small_print};

/// A finished chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// File stem.
    pub name: String,
    /// Which row of the list of charts it came from.
    pub kind: &'static str,
    /// Label of the sample it shows; empty when the study is one sample, or for samples side by side.
    pub sample: String,
    /// Name of the index it shows; empty for charts of the whole study.
    pub index: String,
    pub title: String,
    /// What is shown, for whom, by which rule, reference and outcome, in which unit, for how many.
    pub caption: String,
    /// As the page shows it, sized in its pixels.
    pub svg: String,
    /// What is painted when it is printed.
    pub picture: Picture,
}

/// Why a chart could not be drawn.
#[derive(Debug, thiserror::Error)]
pub enum ChartError {
    #[error("the font that comes with the program cannot be read")]
    Font,
    #[error("chart {chart}: cannot draw: {reason}")]
    Draw { chart: String, reason: String },
    #[error("chart {chart}: cannot encode the PNG")]
    Png { chart: String, source: png::EncodingError },
    #[error("chart {chart}: cannot pack the PDF")]
    Pdf { chart: String, source: std::io::Error },
}

/// A chart before it is painted.
#[derive(Debug, Clone, PartialEq, Default)]
struct Drawing {
    name: String,
    index: String,
    title: String,
    caption: String,
    scene: scene::Scene,
}

/// One kind of chart: its name and the function that draws all charts of the kind.
struct Kind {
    name: &'static str,
    draw: fn(&Source<'_>) -> Vec<Drawing>,
}

/// All kinds of charts, in the order in which the report shows them.
const KINDS: &[Kind] = &[
    Kind { name: "flow", draw: flow::draw },
    Kind { name: "cutoffs", draw: cutoffs::draw },
    Kind { name: "choices", draw: choices::draw },
    Kind { name: "assay_routes", draw: assay_routes::draw },
    Kind { name: "trend", draw: trend::draw },
    Kind { name: "cutoff_ratios", draw: ratios::draw },
    Kind { name: "cutoff_methods", draw: methods::draw },
    Kind { name: "standardized", draw: standardized::draw },
    Kind { name: "published", draw: published::draw },
    Kind { name: "heat", draw: heat::draw },
    Kind { name: "distribution", draw: distribution::draw },
    Kind { name: "percentiles", draw: percentiles::draw },
    Kind { name: "percentile_curves", draw: curves::draw_percentiles },
    Kind { name: "cutoff_curves", draw: curves::draw_cutoffs },
    Kind { name: "roc", draw: roc::draw },
    Kind { name: "roc_groups", draw: roc::draw_groups },
    Kind { name: "net_benefit", draw: net_benefit::draw },
    Kind { name: "indices", draw: indices::draw },
    Kind { name: "spread", draw: spread::draw },
    Kind { name: "samples", draw: samples::draw },
];

/// What charts are drawn from.
struct Source<'a> {
    tables: &'a [Table],
    labels: &'a Labels,
}

impl Source<'_> {
    /// The table with this name, when the run has one.
    fn table(&self, name: &str) -> Option<&Table> {
        self.tables.iter().find(|table| table.name == name)
    }
}

/// Draws every chart the tables allow. Tables that are absent or empty give no chart.
pub fn draw_all(tables: &[Table], labels: &Labels) -> Result<Vec<Chart>, ChartError> {
    let drawings = drawings(tables, labels)?;
    drawings.into_par_iter().map(|(kind, drawing)| finish(kind, drawing)).collect()
}

/// Draws the charts of one sample among several: its label stands above every title and its name, as
/// it stands in names of files, before every file name.
pub fn draw_sample(tables: &[Table], labels: &Labels, name: &str) -> Result<Vec<Chart>, ChartError> {
    let of_sample = |(kind, drawing)| {
        let chart = finish(kind, sample::titled(drawing, &labels.survey, name))?;
        Ok(Chart { sample: labels.survey.clone(), ..chart })
    };
    drawings(tables, labels)?.into_par_iter().map(of_sample).collect()
}

fn drawings(tables: &[Table], labels: &Labels) -> Result<Vec<(&'static str, Drawing)>, ChartError> {
    font::check()?;
    let source = Source { tables, labels };
    Ok(KINDS
        .iter()
        .flat_map(|kind| (kind.draw)(&source).into_iter().map(|drawing| (kind.name, drawing)))
        .collect())
}

fn finish(kind: &'static str, drawing: Drawing) -> Result<Chart, ChartError> {
    let svg = paint::svg(&drawing.scene, &drawing.name, &drawing.title)?;
    let Drawing { name, index, title, caption, scene } = drawing;
    Ok(Chart { name, kind, sample: String::new(), index, title, caption, svg, picture: Picture(scene) })
}

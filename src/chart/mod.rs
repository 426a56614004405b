//! Charts, drawn from the result tables alone, so that a chart cannot disagree with a file.
//!
//! A chart is a scene of plain marks in page pixels; `paint` puts a scene on the SVG or the bitmap
//! canvas. Adding a chart is one function from tables to drawings and one row in `KINDS`.

mod assay_routes;
mod choices;
mod claim;
mod claim_marks;
mod claim_panel;
mod curve_fifths;
mod curve_frame;
mod curves;
mod cutoffs;
mod distribution;
mod flow;
mod font;
mod forest;
mod forest_row;
mod heat;
mod indices;
mod labels;
mod letters;
mod methods;
mod names;
mod net_benefit;
mod of_study;
mod paint;
mod palette;
mod pdf;
mod pdf_font;
mod percentiles;
mod place;
mod print;
mod published;
mod ratios;
mod roc;
mod roc_choices;
mod roc_square;
mod sample;
mod samples;
mod scale;
mod scene;
mod section;
mod select;
mod sheet;
mod spread;
mod standardized;
mod transfer;
mod trend;
mod widths;

use rayon::prelude::*;

use crate::table::Table;

pub use claim::{Imprint, draw_claim};
pub use font::{FAMILY, REGULAR, SEMIBOLD};
pub use labels::{Confidence, DesignWords, IndexLabel, Labels, other_side};
pub use letters::letters_without_sign;
pub use of_study::{design_words, labels, print};
pub use palette::{DARK, Swap};
pub use place::{PictureCutoff, PictureGroup, PictureSecond, PlacePicture, draw_place};
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
    /// Name of that sample as it stands in names of files.
    pub sample_stem: String,
    /// Name of the index it shows; empty for charts of the whole study.
    pub index: String,
    pub title: String,
    /// What is shown, for whom, by which rule, reference and outcome, in which unit, for how many.
    pub caption: String,
    /// As the page shows it, which carries the font: sized in its pixels.
    pub svg: String,
    /// What is painted when it is printed: as on the page, or laid out anew for narrow paper.
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
    Kind { name: "transfer", draw: transfer::draw },
];

/// The kinds in their order; cutoffs in print come last where the study derives none to set beside them.
fn kinds(tables: &[Table]) -> Vec<&'static Kind> {
    let derives = tables.iter().any(|table| table.name == "cutoffs" && !table.rows.is_empty());
    let mut kinds: Vec<&'static Kind> = KINDS.iter().collect();
    kinds.sort_by_key(|kind| !derives && kind.name == "published");
    kinds
}

/// What charts are drawn from.
struct Source<'a> {
    tables: &'a [Table],
    labels: &'a Labels,
    /// Of the sheet, in page pixels. Charts that cannot be laid out anew keep to [`sheet::WIDTH`].
    width: f64,
}

impl Source<'_> {
    /// The table with this name, when the run has one.
    fn table(&self, name: &str) -> Option<&Table> {
        self.tables.iter().find(|table| table.name == name)
    }
}

/// Draws every chart the tables allow, for the page and for a print. Tables that are absent or empty give
/// no chart.
pub fn draw_all(tables: &[Table], labels: &Labels, print: &Print) -> Result<Vec<Chart>, ChartError> {
    finished(tables, labels, print, &|drawing| drawing)
}

/// Draws the charts of one sample among several: its label stands above every title and its name, as
/// it stands in names of files, before every file name.
pub fn draw_sample(
    tables: &[Table],
    labels: &Labels,
    (name, print): (&str, &Print),
) -> Result<Vec<Chart>, ChartError> {
    let mut charts =
        finished(tables, labels, print, &|drawing| sample::titled(drawing, &labels.survey, name))?;
    for chart in &mut charts {
        chart.sample.clone_from(&labels.survey);
        name.clone_into(&mut chart.sample_stem);
    }
    Ok(charts)
}

/// Drawings at the page's width, and once more for narrow paper.
fn finished(
    tables: &[Table],
    labels: &Labels,
    print: &Print,
    titled: &(dyn Fn(Drawing) -> Drawing + Sync),
) -> Result<Vec<Chart>, ChartError> {
    font::check()?;
    let drawn = |width: f64| -> Vec<(&'static str, Drawing)> {
        let source = Source { tables, labels, width };
        let of_kind =
            |kind: &'static Kind| (kind.draw)(&source).into_iter().map(|one| (kind.name, titled(one)));
        let mut all: Vec<(&'static str, Drawing)> = kinds(tables).into_iter().flat_map(of_kind).collect();
        names::apart(&mut all);
        all
    };
    let narrow = print.sheet();
    let printed = if narrow < sheet::WIDTH { drawn(narrow) } else { Vec::new() };
    let wide = drawn(sheet::WIDTH);
    wide.into_par_iter()
        .map(|(kind, drawing)| {
            let own = printed.iter().find(|(_, other)| other.name == drawing.name);
            finish(kind, drawing, own.map(|(_, other)| other.scene.clone()))
        })
        .collect()
}

fn finish(kind: &'static str, drawing: Drawing, printed: Option<scene::Scene>) -> Result<Chart, ChartError> {
    let svg = paint::svg(&drawing.scene, &drawing.name, &drawing.title)?;
    let Drawing { name, index, title, caption, scene } = drawing;
    let picture = Picture(printed.unwrap_or(scene));
    let (sample, sample_stem) = (String::new(), String::new());
    Ok(Chart { name, kind, sample, sample_stem, index, title, caption, svg, picture })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    #[test]
    fn cutoffs_in_print_stand_after_what_a_study_without_cutoffs_finds() {
        let place = |tables: &[Table], name: &str| kinds(tables).iter().position(|kind| kind.name == name);
        let mut cutoffs = Table::new(schema::shape("cutoffs").unwrap());
        assert!(place(std::slice::from_ref(&cutoffs), "published") > place(&[], "percentiles"));
        cutoffs.row().text("index", "homa_ir").done().unwrap();
        let with = [cutoffs];
        assert!(place(&with, "published") < place(&with, "percentiles"));
        assert_eq!(kinds(&with).len(), KINDS.len());
    }
}

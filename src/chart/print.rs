//! A chart at its size on paper: how wide it is, how small its smallest text gets, and its files.

use super::scene::{Mark, Scene};
use super::sheet::{SMALL, WIDTH};
use super::{Chart, ChartError, paint, pdf, widths};

const MM_PER_INCH: f64 = 25.4;
const POINTS_PER_INCH: f64 = 72.0;
/// Journals ask for no smaller letters.
const LEAST_POINTS: f64 = 6.0;

/// Size at which the smallest text of a chart is set on narrow paper.
const SMALL_POINTS: f64 = 6.5;
/// Page pixels below which rows, numbers and an axis no longer find room beside each other.
const NARROWEST: f64 = 400.0;

/// How a chart is printed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Print {
    /// Width on paper; the height follows from the chart.
    pub width_mm: f64,
    /// Of a PNG.
    pub pixels_per_inch: f64,
}

/// What a chart shows, before it is painted.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Picture(pub(super) Scene);

/// Charts whose smallest text is too small to read at a print's width.
#[derive(Debug, Clone, PartialEq)]
pub struct SmallPrint {
    /// File stems.
    pub charts: Vec<String>,
    /// Size of the smallest text of them all.
    pub points: f64,
    /// The size that none of their texts should be below.
    pub least_points: f64,
    /// From this width on all their texts are large enough.
    pub width_mm: f64,
}

impl Default for Print {
    /// Two columns of a journal's page, as fine as journals ask for.
    fn default() -> Self {
        Self { width_mm: 174.0, pixels_per_inch: 300.0 }
    }
}

impl Print {
    /// Width in page pixels of a chart laid out for this print: fewer on narrow paper, so that its
    /// smallest text is no smaller than [`SMALL_POINTS`].
    pub(super) fn sheet(&self) -> f64 {
        let points = self.width_mm / MM_PER_INCH * POINTS_PER_INCH;
        (points * SMALL / SMALL_POINTS).round().clamp(NARROWEST, WIDTH)
    }

    pub(super) fn page_pixels_per_inch(&self, scene: &Scene) -> f64 {
        scene.width / (self.width_mm / MM_PER_INCH)
    }

    pub(super) fn points_per_page_pixel(&self, scene: &Scene) -> f64 {
        POINTS_PER_INCH / self.page_pixels_per_inch(scene)
    }

    pub(super) fn pixels_per_metre(&self) -> u32 {
        (self.pixels_per_inch / MM_PER_INCH * 1000.0).round() as u32
    }
}

impl Chart {
    /// The SVG file, sized in millimetres.
    pub fn svg_file(&self, print: &Print) -> Result<String, ChartError> {
        let Scene { width, height, .. } = self.picture.0;
        let high = (height * print.width_mm / width * 1000.0).round() / 1000.0;
        let page = format!("width=\"{width}\" height=\"{height}\"");
        let paper = format!("width=\"{}mm\" height=\"{high}mm\"", print.width_mm);
        Ok(self.svg_for_screen()?.replacen(&page, &paper, 1))
    }

    /// The SVG file, sized in page pixels.
    pub fn svg_for_screen(&self) -> Result<String, ChartError> {
        let svg = paint::svg(&self.picture.0, &self.name, &self.title)?;
        Ok(widths::state(&svg, &self.picture.0))
    }

    /// The PNG file, which says how many of its pixels stand in a metre.
    pub fn png(&self, print: &Print) -> Result<Vec<u8>, ChartError> {
        paint::png(&self.picture.0, &self.name, print)
    }

    /// The PDF file: one page of the chart's size, lines as lines and its fonts inside it.
    pub fn pdf(&self, print: &Print) -> Result<Vec<u8>, ChartError> {
        pdf::file(&self.picture.0, &self.title, print)
            .map_err(|source| ChartError::Pdf { chart: self.name.clone(), source })
    }
}

/// The charts that would print letters too small to read; `None` when all can be read.
#[must_use]
pub fn small_print(charts: &[Chart], print: &Print) -> Option<SmallPrint> {
    let smallest = charts.iter().filter_map(|chart| Some((chart, smallest_text(&chart.picture.0)?)));
    let small: Vec<(&Chart, f64)> = smallest
        .map(|(chart, pixels)| (chart, pixels * print.points_per_page_pixel(&chart.picture.0)))
        .filter(|(_, points)| *points < LEAST_POINTS)
        .collect();
    let points = small.iter().map(|(_, points)| *points).min_by(f64::total_cmp)?;
    Some(SmallPrint {
        charts: small.iter().map(|(chart, _)| chart.name.clone()).collect(),
        points,
        least_points: LEAST_POINTS,
        width_mm: (print.width_mm * LEAST_POINTS / points).ceil(),
    })
}

fn smallest_text(scene: &Scene) -> Option<f64> {
    let size = |mark: &Mark| match mark {
        Mark::Text { face, .. } => Some(face.size),
        _ => None,
    };
    scene.marks.iter().filter_map(size).min_by(f64::total_cmp)
}

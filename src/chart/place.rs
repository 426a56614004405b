//! One person's value among groups: the middle half of each group, each group's cutoff with its interval, and the value,
//! or those of two dates, through all of them.

use super::forest::{self, Forest, ForestRow, Guide, Whisker};
use super::palette::{ESTIMATE, EVERYBODY, SOFT, THRESHOLD};
use super::scene::{Dash, Shape, Stroke};
use super::section::Section;
use super::sheet::{Swatch, WIDTH};
use super::{Chart, ChartError, Drawing, finish, font};

/// The mark of the cutoff that fits, of another form than those of the others.
const FITTING: Shape = Shape::Square;

/// What the picture of one index shows, in the words and numbers of the answer.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacePicture {
    pub index: String,
    /// Index with its unit: the axis.
    pub axis: String,
    pub title: String,
    pub notes: Vec<String>,
    pub value: f64,
    /// Value as written in the key.
    pub value_text: String,
    /// The same person at a second date.
    pub second: Option<PictureSecond>,
    /// Where 95 of 100 measurements of the same person would lie.
    pub span: Option<(f64, f64)>,
    pub groups: Vec<PictureGroup>,
    pub cutoffs_heading: String,
    pub cutoffs: Vec<PictureCutoff>,
}

/// A value at a second date.
#[derive(Debug, Clone, PartialEq)]
pub struct PictureSecond {
    pub value: f64,
    /// When and what, as written in the key.
    pub text: String,
}

/// The middle half of a group.
#[derive(Debug, Clone, PartialEq)]
pub struct PictureGroup {
    pub label: String,
    pub median: Option<f64>,
    pub quarters: Option<(f64, f64)>,
    /// Percentile of the value in the group.
    pub percentile: String,
    /// The same of the second value.
    pub second: String,
}

/// The cutoff of a group.
#[derive(Debug, Clone, PartialEq)]
pub struct PictureCutoff {
    pub label: String,
    pub everybody: bool,
    /// Whether it is the one by which the answer goes, which the label says.
    pub fits: bool,
    pub cutoff: Option<f64>,
    pub interval: Option<(f64, f64)>,
    pub smoothed: Option<f64>,
    pub verdict: String,
    /// The same of the second value.
    pub second: String,
    pub withheld: String,
}

/// Draws where a value lies.
pub fn draw_place(picture: &PlacePicture) -> Result<Chart, ChartError> {
    font::check()?;
    let sections = vec![
        Section {
            heading: "Half of each group lies on the line".to_owned(),
            rows: picture.groups.iter().map(group).collect(),
        },
        Section {
            heading: picture.cutoffs_heading.clone(),
            rows: picture.cutoffs.iter().map(cutoff).collect(),
        },
    ];
    let stroke = Stroke::dashed(THRESHOLD, 2.0, Dash::Long);
    let mut guides = vec![Guide { value: picture.value, band: picture.span, stroke }];
    guides.extend(picture.second.as_ref().map(|second| Guide {
        value: second.value,
        band: None,
        stroke: later(stroke),
    }));
    let axis_values = axis_values(&sections, &guides);
    let forest = Forest {
        width: WIDTH,
        title: picture.title.clone(),
        notes: picture.notes.clone(),
        axis: picture.axis.clone(),
        key: key(picture, stroke),
        guides,
        columns: columns(picture),
        sections,
    };
    let drawing = Drawing {
        name: format!("place-{}", picture.index),
        index: picture.index.clone(),
        title: picture.title.clone(),
        caption: picture.title.clone(),
        scene: forest::draw(&forest, &axis_values),
    };
    finish("place", drawing, None)
}

/// An axis on which the whole of every band is seen.
fn axis_values(sections: &[Section<ForestRow>], guides: &[Guide]) -> Vec<f64> {
    let bands = guides.iter().filter_map(|guide| guide.band).flat_map(|(lower, upper)| [lower, upper]);
    forest::axis_values(sections, guides).into_iter().chain(bands).collect()
}

fn group(group: &PictureGroup) -> ForestRow {
    let whisker = group.median.map(|value| Whisker {
        value,
        interval: group.quarters,
        shape: Shape::Square,
        hollow: false,
        colour: SOFT,
    });
    ForestRow {
        label: group.label.clone(),
        withheld: whisker.is_none().then(|| "too few people".to_owned()),
        whiskers: whisker.into_iter().collect(),
        side: vec![group.percentile.clone(), group.second.clone()],
    }
}

fn cutoff(cutoff: &PictureCutoff) -> ForestRow {
    let (colour, shape) = match (cutoff.everybody, cutoff.fits) {
        (true, _) => (EVERYBODY, Shape::Diamond),
        (false, true) => (ESTIMATE, FITTING),
        (false, false) => (ESTIMATE, Shape::Circle),
    };
    let best =
        cutoff.cutoff.map(|value| Whisker { value, interval: cutoff.interval, shape, hollow: false, colour });
    let smoothed =
        cutoff.smoothed.map(|value| Whisker { value, interval: None, shape, hollow: true, colour });
    ForestRow {
        label: cutoff.label.clone(),
        withheld: best.is_none().then(|| cutoff.withheld.clone()),
        whiskers: best.into_iter().chain(smoothed).collect(),
        side: vec![cutoff.verdict.clone(), cutoff.second.clone()],
    }
}

fn key(picture: &PlacePicture, stroke: Stroke) -> Vec<(Swatch, String)> {
    let mut key = vec![(Swatch::Line(stroke), format!("this person: {}", picture.value_text))];
    key.extend(picture.second.as_ref().map(|second| (Swatch::Line(later(stroke)), second.text.clone())));
    key.extend([
        (Swatch::Dot(Shape::Square, Stroke::solid(SOFT, 2.0)), "median, middle half".to_owned()),
        (Swatch::Dot(Shape::Circle, Stroke::solid(ESTIMATE, 2.0)), "cutoff of a group".to_owned()),
        (Swatch::Dot(Shape::Diamond, Stroke::solid(EVERYBODY, 1.5)), "cutoff of everybody".to_owned()),
    ]);
    let fits = picture.cutoffs.iter().any(|cutoff| cutoff.fits && !cutoff.everybody);
    let swatch = || Swatch::Dot(FITTING, Stroke::solid(ESTIMATE, 2.0));
    key.extend(fits.then(|| (swatch(), "cutoff that fits".to_owned())));
    key
}

/// The line of a second date: dotted, and thicker, so that it needs no colour to be told from the first.
fn later(first: Stroke) -> Stroke {
    Stroke::dashed(first.colour, 3.0, Dash::Dot)
}

/// Headings of the columns at the side.
fn columns(picture: &PlacePicture) -> Vec<String> {
    let words = "less resistant, of 100;\nthe usual value is";
    match &picture.second {
        None => vec![words.to_owned()],
        Some(_) => vec![format!("first date:\n{words}"), "second date:\nof 100;\nusual value".to_owned()],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_axis_holds_the_whole_band() {
        let stroke = Stroke::dashed(THRESHOLD, 2.0, Dash::Long);
        let guide = |band| Guide { value: 2.4, band, stroke };
        let ends = |band| {
            let values = axis_values(&[], &[guide(band)]);
            let low = values.iter().copied().fold(f64::INFINITY, f64::min);
            (low, values.iter().copied().fold(f64::NEG_INFINITY, f64::max))
        };
        assert_eq!(ends(None), (2.4, 2.4));
        assert_eq!(ends(Some((1.5, 3.8))), (1.5, 3.8));
    }
}

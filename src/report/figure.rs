//! Charts as figures of the page, by index.

use serde::Serialize;

use crate::chart::{Chart, Labels};

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct Figure {
    pub name: String,
    pub caption: String,
    pub svg: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct IndexFigures {
    pub id: String,
    pub label: String,
    pub figures: Vec<Figure>,
}

/// The kind of charts that show several indices side by side.
const SIDE_BY_SIDE: &str = "indices";

/// All indices side by side, then the figures of each, in the order in which the indices first appear.
pub(super) fn by_index(charts: &[Chart], labels: &Labels) -> Vec<IndexFigures> {
    let together: Vec<Figure> =
        charts.iter().filter(|chart| chart.kind == SIDE_BY_SIDE).map(figure).collect();
    let mut groups: Vec<IndexFigures> = Vec::new();
    if !together.is_empty() {
        let (id, label) = ("side-by-side".to_owned(), "Indices side by side".to_owned());
        groups.push(IndexFigures { id, label, figures: together });
    }
    for chart in charts.iter().filter(|chart| !chart.index.is_empty()) {
        let (id, label) = place(chart, labels);
        match groups.iter_mut().find(|group| group.id == id) {
            Some(group) => group.figures.push(figure(chart)),
            None => groups.push(IndexFigures { id, label, figures: vec![figure(chart)] }),
        }
    }
    groups
}

/// Where the figures of an index stand on the page, by themselves for each sample.
fn place(chart: &Chart, labels: &Labels) -> (String, String) {
    let index = labels.index_with_unit(&chart.index);
    if chart.sample.is_empty() {
        return (format!("index-{}", chart.index), index);
    }
    let letters = |c: char| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' };
    let sample: String = chart.sample.chars().map(letters).collect();
    (format!("index-{}-{sample}", chart.index), format!("{}: {index}", chart.sample))
}

/// The figures that belong to no index.
pub(super) fn of_study(charts: &[Chart]) -> Vec<Figure> {
    let of_study = |chart: &&Chart| chart.index.is_empty() && chart.kind != SIDE_BY_SIDE;
    charts.iter().filter(of_study).map(figure).collect()
}

fn figure(chart: &Chart) -> Figure {
    // The name space is for SVG files; within a page it is known.
    let svg = chart.svg.replacen(" xmlns=\"http://www.w3.org/2000/svg\"", "", 1);
    Figure { name: chart.name.clone(), caption: chart.caption.clone(), svg }
}

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

/// The figures of each index, in the order in which the indices first appear.
pub(super) fn by_index(charts: &[Chart], labels: &Labels) -> Vec<IndexFigures> {
    let mut groups: Vec<IndexFigures> = Vec::new();
    for chart in charts.iter().filter(|chart| !chart.index.is_empty()) {
        let id = format!("index-{}", chart.index);
        match groups.iter_mut().find(|group| group.id == id) {
            Some(group) => group.figures.push(figure(chart)),
            None => groups.push(IndexFigures {
                id,
                label: labels.index_with_unit(&chart.index),
                figures: vec![figure(chart)],
            }),
        }
    }
    groups
}

/// The figures that belong to no index.
pub(super) fn of_study(charts: &[Chart]) -> Vec<Figure> {
    charts.iter().filter(|chart| chart.index.is_empty()).map(figure).collect()
}

fn figure(chart: &Chart) -> Figure {
    // The name space is for SVG files; within a page it is known.
    let svg = chart.svg.replacen(" xmlns=\"http://www.w3.org/2000/svg\"", "", 1);
    Figure { name: chart.name.clone(), caption: chart.caption.clone(), svg }
}

//! Charts as figures of the page, by index. A page that would grow too large to be sent shows the first
//! chart of each kind and links the rest.

use serde::Serialize;

use crate::chart::{Chart, Labels};

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct Figure {
    pub name: String,
    pub title: String,
    pub caption: String,
    pub svg: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct IndexFigures {
    pub id: String,
    pub label: String,
    pub figures: Vec<Figure>,
    /// Charts that are only linked.
    pub files: Vec<ChartFile>,
}

/// A chart that stands beside the page.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct ChartFile {
    pub name: String,
    pub title: String,
}

/// Bytes of drawings within the page, from which on charts are linked.
const MOST_BYTES: usize = 500_000;

/// The kinds of charts that show several indices side by side.
const SIDE_BY_SIDE: [&str; 2] = ["indices", "spread"];
const SIDE_BY_SIDE_ID: &str = "side-by-side";

/// The figures of the index that the study asks about, then indices side by side, then those of each other index in the order
/// in which they first appear.
pub(super) fn by_index(charts: &[Chart], asked: Option<&str>, labels: &Labels) -> Vec<IndexFigures> {
    let together = charts.iter().filter(|chart| SIDE_BY_SIDE.contains(&chart.kind));
    let single = charts.iter().filter(|chart| !chart.index.is_empty());
    let listed: Vec<&Chart> = together.chain(single).collect();
    let within = within(&listed);
    let mut groups: Vec<IndexFigures> = Vec::new();
    for (chart, within) in listed.into_iter().zip(within) {
        let (id, label) = heading(chart, labels);
        let position = groups.iter().position(|group| group.id == id).unwrap_or_else(|| {
            groups.push(IndexFigures { id, label, figures: Vec::new(), files: Vec::new() });
            groups.len() - 1
        });
        if within {
            groups[position].figures.push(figure(chart));
        } else {
            let (name, title) = (chart.name.clone(), chart.title.clone());
            groups[position].files.push(ChartFile { name, title });
        }
    }
    let own = asked.map(|index| format!("index-{index}"));
    let first = |group: &IndexFigures| match &own {
        // A sample's name may follow that of the index.
        Some(own) => group.id == *own || group.id.starts_with(&format!("{own}-")),
        None => group.id != SIDE_BY_SIDE_ID,
    };
    if let Some(position) = groups.iter().position(first) {
        groups[..=position].rotate_right(1);
    }
    groups
}

fn heading(chart: &Chart, labels: &Labels) -> (String, String) {
    if SIDE_BY_SIDE.contains(&chart.kind) {
        return (SIDE_BY_SIDE_ID.to_owned(), "Indices side by side".to_owned());
    }
    let index = labels.index_with_unit(&chart.index);
    if chart.sample.is_empty() {
        return (format!("index-{}", chart.index), index);
    }
    // Labels may differ in signs alone, which no id has; names of files tell samples apart.
    (format!("index-{}-{}", chart.index, chart.sample_stem), format!("{}: {index}", chart.sample))
}

/// Which charts stand within the page: round by round the first of every kind and index, then the
/// second and so on, until the next would be too much.
fn within(charts: &[&Chart]) -> Vec<bool> {
    let round = |position: usize| {
        let chart = charts[position];
        charts[..position].iter().filter(|c| (c.kind, &c.index) == (chart.kind, &chart.index)).count()
    };
    let mut order: Vec<usize> = (0..charts.len()).collect();
    order.sort_by_key(|&position| (round(position), position));
    let mut within = vec![false; charts.len()];
    let mut bytes = 0;
    for position in order {
        bytes += charts[position].svg.len();
        within[position] = bytes <= MOST_BYTES;
    }
    within
}

/// The figures that belong to no index.
pub(super) fn of_study(charts: &[Chart]) -> Vec<Figure> {
    let of_study = |chart: &&Chart| chart.index.is_empty() && !SIDE_BY_SIDE.contains(&chart.kind);
    charts.iter().filter(of_study).map(figure).collect()
}

fn figure(chart: &Chart) -> Figure {
    // The name space is for SVG files; within a page it is known.
    let svg = chart.svg.replacen(" xmlns=\"http://www.w3.org/2000/svg\"", "", 1);
    Figure { name: chart.name.clone(), title: chart.title.clone(), caption: chart.caption.clone(), svg }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Picture;

    fn chart(sample: &str, stem: &str) -> Chart {
        Chart {
            name: format!("{stem}_roc"),
            kind: "roc",
            sample: sample.to_owned(),
            sample_stem: stem.to_owned(),
            index: "homa_ir".to_owned(),
            title: String::new(),
            caption: String::new(),
            svg: String::new(),
            picture: Picture::default(),
        }
    }

    #[test]
    fn samples_whose_labels_differ_in_signs_alone_have_headings_of_their_own() {
        let charts = [chart("BMI <30", "lean"), chart("BMI ≥30", "other")];
        let groups = by_index(&charts, Some("homa_ir"), &Labels::default());
        let ids: Vec<&str> = groups.iter().map(|group| group.id.as_str()).collect();
        assert_eq!(ids, ["index-homa_ir-lean", "index-homa_ir-other"]);
        assert!(groups[1].label.starts_with("BMI ≥30: "), "{}", groups[1].label);
    }
}

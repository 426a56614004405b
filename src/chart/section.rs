//! Rows under headings, cut into charts that are not too long.

/// Rows of groups on one chart; what is longer is continued on another.
const MOST_ROWS: usize = 45;
/// A section may start on a new chart rather than be cut, when the chart it leaves has at least this many rows.
const ENOUGH_ROWS: usize = 15;

/// Rows under one heading: the groups of one grouping.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Section<R> {
    pub heading: String,
    pub rows: Vec<R>,
}

/// The charts that hold the sections: the whole title and the file name's end of each, and what is on it.
pub(super) fn parts<R: Clone>(title: &str, sections: Vec<Section<R>>) -> Vec<(Part, Vec<Section<R>>)> {
    let parts = cut(sections);
    let count = parts.len();
    let titled = |(position, sections)| {
        let Part { title: which, stem } = part(position, count);
        (Part { title: format!("{title}{which}"), stem }, sections)
    };
    parts.into_iter().enumerate().map(titled).collect()
}

/// Cuts sections so that no chart holds more than [`MOST_ROWS`] rows.
pub(super) fn cut<R: Clone>(sections: Vec<Section<R>>) -> Vec<Vec<Section<R>>> {
    let mut parts: Vec<Vec<Section<R>>> = vec![Vec::new()];
    let mut used = 0;
    for section in sections {
        if section.rows.len() <= MOST_ROWS && used >= ENOUGH_ROWS && used + section.rows.len() > MOST_ROWS {
            parts.push(Vec::new());
            used = 0;
        }
        let (mut rest, mut heading) = (&section.rows[..], section.heading.clone());
        while !rest.is_empty() {
            if used == MOST_ROWS {
                parts.push(Vec::new());
                used = 0;
            }
            let (rows, later) = rest.split_at(rest.len().min(MOST_ROWS - used));
            used += rows.len();
            let last = parts.len() - 1;
            parts[last].push(Section { heading, rows: rows.to_vec() });
            (rest, heading) = (later, format!("{}, continued", section.heading));
        }
    }
    parts
}

/// What tells the parts of a chart apart in title and file name; empty for a chart in one part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Part {
    pub title: String,
    pub stem: String,
}

pub(super) fn part(position: usize, count: usize) -> Part {
    if count == 1 {
        return Part { title: String::new(), stem: String::new() };
    }
    Part { title: format!(" (part {} of {count})", position + 1), stem: (position + 1).to_string() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_kept_once_and_no_part_is_too_long() {
        let section = |heading: &str, rows: std::ops::Range<i32>| Section {
            heading: heading.to_owned(),
            rows: rows.collect(),
        };
        let cut =
            cut(vec![section("", 0..1), section("a", 1..61), section("b", 61..91), section("c", 91..94)]);
        let rows: Vec<i32> = cut.iter().flatten().flat_map(|section| section.rows.clone()).collect();
        assert_eq!(rows, (0..94).collect::<Vec<i32>>());
        let lengths: Vec<usize> =
            cut.iter().map(|part| part.iter().map(|section| section.rows.len()).sum()).collect();
        assert_eq!(lengths, [45, 16, 33]);
        assert_eq!(cut[1][0].heading, "a, continued");
    }
}

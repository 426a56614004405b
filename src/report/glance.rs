//! The first screen's table: for each index and each grouping of the study, how far the share beyond the threshold and the best
//! cutoff move, whether the cutoffs differ by more than noise, and what is left after adjusting.

use serde::Serialize;

use crate::chart::{Chart, Labels};
use crate::table::number::{aligned, fixed, p_is};
use crate::table::schema::DIFFER;
use crate::table::{Row, Table, directions, range};

use super::ends::{ends, withheld};
use super::moves::LEADING;
use super::samples;
use super::sentence::{beyond, places, range_of_group, short_label};

/// One part for each index.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct Glance {
    /// What the rows are about.
    pub caption: String,
    pub parts: Vec<GlancePart>,
}

/// One index: a row for each grouping.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct GlancePart {
    /// `HOMA-IR, for metabolic syndrome`.
    pub heading: String,
    /// Where its charts stand on the page; empty where it has none.
    pub link: String,
    pub rows: Vec<GlanceRow>,
}

/// The groups of one variable or crossing, from the lowest to the highest.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct GlanceRow {
    pub variable: String,
    pub share: String,
    pub cutoff: String,
    pub noise: String,
    pub adjusted: String,
}

/// `None` without groups, or when several samples stand side by side.
pub(super) fn glance(tables: &[Table], charts: &[Chart], labels: &Labels) -> Option<Glance> {
    if samples::surveys(tables).len() > 1 {
        return None;
    }
    let table = |name: &str| tables.iter().find(|table| table.name == name && !table.rows.is_empty());
    let mut indices: Vec<&str> = Vec::new();
    for row in
        ["threshold_shares", "smoothed_cutoffs"].iter().filter_map(|name| table(name)).flat_map(Table::iter)
    {
        if !indices.contains(&row.text("index")) {
            indices.push(row.text("index"));
        }
    }
    let part = |index: &&str| {
        let rows = Rows::of(tables, index).each(labels);
        let charted = charts.iter().any(|chart| chart.index == **index && chart.sample.is_empty());
        (!rows.is_empty()).then(|| GlancePart {
            heading: heading(tables, index, labels),
            link: if charted { format!("#index-{index}") } else { String::new() },
            rows,
        })
    };
    let parts: Vec<GlancePart> = indices.iter().filter_map(part).collect();
    (!parts.is_empty()).then(|| Glance {
        caption: "By index and group, from the lowest to the highest group, intervals in brackets. Smoothed cutoffs are steadier than the \
             counted ones of the sentences above, and compared in their place; those that are adjusted are of the people who can \
             be, so that they differ a little from the smoothed ones beside them."
            .to_owned(),
        parts,
    })
}

/// The index, and the outcome that its cutoffs are for.
fn heading(tables: &[Table], index: &str, labels: &Labels) -> String {
    let mut cutoffs = rows(tables, "smoothed_cutoffs");
    let outcome = cutoffs.find(|row| row.text("index") == index).map(|row| row.text("outcome"));
    let against = outcome.map(|name| format!("; cutoffs for {}", short_label(labels.outcome(name))));
    format!("{}{}", labels.index_with_unit(index), against.unwrap_or_default())
}

/// The rows about one index, its first threshold and its first outcome.
struct Rows<'a> {
    shares: Vec<Row<'a>>,
    cutoffs: Vec<Row<'a>>,
    /// Cutoffs of the same as counted, by every rule.
    counted: Vec<Row<'a>>,
    tests: Vec<Row<'a>>,
    /// How far the adjusted cutoffs lie apart, and the cutoffs themselves.
    ranges: Vec<Row<'a>>,
    adjusted: Vec<Row<'a>>,
    /// Why nothing is adjusted, when nothing is.
    unadjusted: bool,
}

impl<'a> Rows<'a> {
    fn of(tables: &'a [Table], index: &str) -> Self {
        let rows = |name: &'static str| rows(tables, name);
        let first = rows("threshold_shares").find(|row| row.text("index") == index);
        let same = |row: &Row<'_>| {
            first.is_some_and(|first| {
                let texts = ["index", "strict", "population"];
                texts.iter().all(|column| row.text(column) == first.text(column))
                    && row.real("threshold") == first.real("threshold")
            })
        };
        let outcome =
            rows("smoothed_cutoffs").find(|row| row.text("index") == index).map(|row| row.text("outcome"));
        let leading = |name: &'static str| -> Vec<Row<'a>> {
            let wanted = |row: &Row<'_>| row.text("index") == index && row.text("method") == LEADING;
            rows(name).filter(wanted).filter(|row| Some(row.text("outcome")) == outcome).collect()
        };
        Self {
            shares: rows("threshold_shares").filter(same).collect(),
            cutoffs: leading("smoothed_cutoffs"),
            counted: rows("cutoffs")
                .filter(|row| row.text("index") == index && Some(row.text("outcome")) == outcome)
                .collect(),
            tests: leading("heterogeneity"),
            ranges: leading("decomposition"),
            adjusted: leading("standardised_cutoffs"),
            unadjusted: rows("decomposition").next().is_none(),
        }
    }

    fn each(&self, labels: &Labels) -> Vec<GlanceRow> {
        let mut groupings: Vec<&str> = Vec::new();
        for row in self.shares.iter().chain(&self.cutoffs).filter(|row| row.text("grouping") != "everybody") {
            if !groupings.contains(&row.text("grouping")) {
                groupings.push(row.text("grouping"));
            }
        }
        groupings.into_iter().map(|name| self.row(name, labels)).collect()
    }

    fn row(&self, grouping: &str, labels: &Labels) -> GlanceRow {
        GlanceRow {
            variable: labels.grouping(grouping).to_owned(),
            share: self.share(grouping, labels),
            cutoff: if self.cutoffs.is_empty() {
                "the study has no outcome".to_owned()
            } else {
                let span = span(&self.cutoffs, grouping, "cutoff", |value| places(value).min(4));
                let said = span.map_or_else(|why| why, |Span { ends, withheld }| ends + &withheld);
                format!("{said}{}", self.direction(grouping))
            },
            noise: self.noise(grouping),
            adjusted: self.adjusted(grouping),
        }
    }

    fn share(&self, grouping: &str, labels: &Labels) -> String {
        let Some((first, threshold)) =
            self.shares.first().and_then(|row| Some((row, row.real("threshold")?)))
        else {
            return "no threshold asked".to_owned();
        };
        let what = beyond(labels, first.text("index"), first.text("strict") == "yes", threshold);
        match span(&self.shares, grouping, "share_beyond", |_| labels.percent_places(1)) {
            Ok(Span { ends, withheld }) => format!("{ends} {what}{withheld}"),
            Err(why) => why,
        }
    }

    /// Where the cutoffs as counted have the outermost groups the other way round.
    fn direction(&self, grouping: &str) -> String {
        let of = |row: &&Row<'a>| row.text("grouping") == grouping && row.text("rule") == directions::RULE;
        let counted: Vec<Row<'a>> = self.counted.iter().filter(of).copied().collect();
        let opposite = directions::opposite(&counted, self.cutoffs.iter().copied());
        opposite.map_or_else(String::new, |(low, high)| {
            format!("; as counted “{high}” is above “{low}”, so that no direction can be said")
        })
    }

    fn noise(&self, grouping: &str) -> String {
        if grouping.contains(" × ") {
            return "crossings are tested pair by pair only".to_owned();
        }
        let Some(test) = self.tests.iter().find(|row| row.text("grouping") == grouping) else {
            return "not tested: no cutoffs to compare".to_owned();
        };
        let Some(p) = test.shown("p_holm") else { return format!("not tested: {}", test.text("withheld")) };
        let verdict = match test.text("conclusion") {
            DIFFER => "yes",
            _ => "best cutoffs not distinguishable",
        };
        format!("{verdict} (p by Holm {})", p_is(p))
    }

    /// `1.53 as they are, 1.48 after adjusting for age, …`: largest over smallest on the same people.
    fn adjusted(&self, grouping: &str) -> String {
        let of: Vec<&Row<'_>> = self.ranges.iter().filter(|row| row.text("grouping") == grouping).collect();
        let ratio = |row: &&Row<'_>| {
            let ratio = aligned(row.shown("ratio")?, 2);
            Some(match row.text("adjustment") {
                "none" => format!("{ratio} as they are"),
                _ => format!("{ratio} after adjusting for {}", row.text("adjusted_for")),
            })
        };
        let ratios: Vec<String> = of.iter().filter_map(ratio).collect();
        let left_out = of.first().and_then(|row| range::left_out(row, self.adjusted.iter().copied()));
        let left_out = left_out.map(|words| format!("; {words}")).unwrap_or_default();
        match (ratios.is_empty(), of.first().map(|row| row.text("withheld"))) {
            (false, _) => ratios.join(", ") + &left_out,
            (true, Some(why)) => format!("withheld: {why}"),
            (true, None) if self.unadjusted => "not computed: needs an age group and a BMI group".to_owned(),
            (true, None) => "not adjusted for anything".to_owned(),
        }
    }
}

/// The rows of the tables of a name.
pub(super) fn rows<'a>(tables: &'a [Table], name: &'static str) -> impl Iterator<Item = Row<'a>> {
    tables.iter().filter(move |table| table.name == name).flat_map(Table::iter)
}

/// The lowest and the highest group, and of how many nothing is shown.
struct Span {
    ends: String,
    withheld: String,
}

/// `23.6 % (17.5–30.6) in “under 25” to 84.1 % (81.2–86.7) in “30 and over”`, or why there is nothing to set side by side.
fn span(
    rows: &[Row<'_>],
    grouping: &str,
    column: &str,
    digits: impl Fn(f64) -> usize,
) -> Result<Span, String> {
    let of: Vec<Row<'_>> = rows.iter().copied().filter(|row| row.text("grouping") == grouping).collect();
    let Some(ends) = ends(&of, column) else {
        return Err(lone(&of, column));
    };
    let digits = digits(ends.low.0).max(digits(ends.high.0));
    let (unit, what) = if column == "share_beyond" { ("\u{a0}%", "share") } else { ("", "cutoff") };
    let end = |(value, row): &(f64, Row<'_>)| {
        format!("{}{unit}{}", fixed(*value, digits), range_of_group(row, digits))
    };
    let withheld = withheld(what, ends.withheld);
    Ok(Span { ends: format!("{} to {}", end(&ends.low), end(&ends.high)), withheld })
}

/// Of groups of whom one at most is shown: why the others are not.
fn lone(rows: &[Row<'_>], column: &str) -> String {
    let mut reasons: Vec<&str> = rows.iter().map(|row| row.text("withheld")).collect();
    reasons.retain(|why| !why.is_empty());
    reasons.sort_unstable();
    reasons.dedup();
    let shown = rows.iter().find(|row| row.shown(column).is_some());
    match (shown, reasons.is_empty()) {
        (_, true) => "fewer than two groups".to_owned(),
        (None, _) => format!("withheld: {}", reasons.join("; ")),
        (Some(row), _) => {
            format!("“{}” alone is shown; the others are withheld: {}", row.text("group"), reasons.join("; "))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Labels;

    #[test]
    fn no_threshold_no_table() {
        assert_eq!(glance(&[], &[], &Labels::default()), None);
    }

    #[test]
    fn shares_of_which_one_is_shown_are_not_called_few() {
        let mut table = Table::new(crate::table::schema::shape("threshold_shares").expect("a table"));
        for (group, share, why) in
            [("Hill", None, "fewer than 10 people"), ("Moor", None, "too wide"), ("Town", Some(54.0), "")]
        {
            let row = table.row().text("grouping", "site").text("group", group);
            row.real("share_beyond", share).text("withheld", why).done().expect("a row");
        }
        let rows: Vec<Row<'_>> = table.iter().collect();
        let said = |rows: &[Row<'_>]| {
            span(rows, "site", "share_beyond", |_| 0).map(|Span { ends, withheld }| (ends, withheld))
        };
        let lone = "“Town” alone is shown; the others are withheld: fewer than 10 people; too wide";
        assert_eq!(said(&rows), Err(lone.to_owned()));
        assert_eq!(said(&rows[..2]), Err("withheld: fewer than 10 people; too wide".to_owned()));
        assert_eq!(said(&rows[2..]), Err("fewer than two groups".to_owned()));
        let mut two = table.clone();
        let row = two.row().text("grouping", "site").text("group", "Vale").real("share_beyond", Some(61.0));
        row.done().expect("a row");
        let ends = "54\u{a0}% in “Town” to 61\u{a0}% in “Vale”".to_owned();
        let withheld = "; the shares of 2 groups are withheld".to_owned();
        assert_eq!(said(&two.iter().collect::<Vec<_>>()), Ok((ends, withheld)));
    }

    #[test]
    fn cutoffs_are_what_is_not_told_apart_and_p_names_its_method() {
        let shape = crate::table::schema::shape("heterogeneity").expect("a table of tests");
        let mut table = Table::new(shape);
        let row = table
            .row()
            .text("grouping", "ancestry")
            .text("conclusion", "not distinguishable with these data");
        row.real("p_holm", Some(1.0)).done().expect("a row");
        let none = Vec::new;
        let tests = table.iter().collect();
        let rows = Rows {
            shares: none(),
            cutoffs: none(),
            counted: none(),
            tests,
            ranges: none(),
            adjusted: none(),
            unadjusted: false,
        };
        let said = rows.noise("ancestry");
        assert!(said.starts_with("best cutoffs not distinguishable (p by Holm"), "{said}");
    }

    #[test]
    fn ratios_of_adjusted_cutoffs_name_the_groups_that_they_leave_out() {
        let shape = |name: &str| Table::new(crate::table::schema::shape(name).expect("a table"));
        let (mut ranges, mut adjusted) = (shape("decomposition"), shape("standardised_cutoffs"));
        let row = ranges.row().text("grouping", "ancestry").text("adjustment", "none");
        row.whole("groups_left_out", Some(1)).real("ratio", Some(1.01)).done().expect("a row");
        let row = adjusted.row().text("grouping", "ancestry").text("group", "Orvane");
        row.text("withheld", "fewer than 30 people").done().expect("a row");
        let none = Vec::new;
        let rows = Rows {
            shares: none(),
            cutoffs: none(),
            counted: none(),
            tests: none(),
            ranges: ranges.iter().collect(),
            adjusted: adjusted.iter().collect(),
            unadjusted: false,
        };
        let said = rows.adjusted("ancestry");
        assert_eq!(said, "1.01 as they are; Orvane left out, for want of one of these cutoffs");
    }
}

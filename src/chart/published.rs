//! Cutoffs in print beside the run's own, and the percentile each sits at among its people.

use crate::table::number::{aligned, fixed, whole};
use crate::table::{Row, Table};

use super::forest::{self, Forest, ForestRow, Guide, Whisker};
use super::palette::{ESTIMATE, EVERYBODY as EVERYBODY_COLOUR, THRESHOLD};
use super::scene::{Dash, Shape, Stroke};
use super::section::{self, Section};
use super::select::{
    Bundle, EVERYBODY, bundles, capital, decimals, group_label, index_title, interval_text, order,
    stated_text, stem,
};
use super::sheet::Swatch;
use super::{Drawing, Labels, Source};

/// Significant digits of a cutoff that was converted.
const DIGITS: usize = 4;

/// One chart for each index that cutoffs in print speak of.
pub(super) fn draw(source: &Source<'_>) -> Vec<Drawing> {
    let Some(table) = source.table("published_cutoffs") else { return Vec::new() };
    let everybody = table.iter().filter(|row| row.text("grouping") == EVERYBODY);
    bundles(everybody, &["survey", "index"])
        .iter()
        .filter(|bundle| bundle.rows.iter().any(|row| row.real("threshold").is_some()))
        .flat_map(|bundle| draw_one(bundle, source))
        .collect()
}

/// The run's cutoffs of an index by the study's first outcome and rule.
fn own<'a>(cutoffs: Option<&'a Table>, index: &str) -> Vec<Row<'a>> {
    let of_index = || cutoffs.into_iter().flat_map(Table::iter).filter(|row| row.text("index") == index);
    let Some(first) = of_index().next() else { return Vec::new() };
    let same = ["survey", "outcome", "rule", "population"];
    let single = |row: &Row<'_>| !row.text("grouping").contains(" × ");
    of_index().filter(|row| same.iter().all(|c| row.text(c) == first.text(c)) && single(row)).collect()
}

fn draw_one(bundle: &Bundle<'_>, source: &Source<'_>) -> Vec<Drawing> {
    let labels = source.labels;
    let [survey, index] = bundle.key[..] else { return Vec::new() };
    let own = own(source.table("cutoffs"), index);
    let sections = sections(bundle, &own, labels);
    let guides: Vec<Guide> =
        own.iter().filter(|row| row.text("grouping") == EVERYBODY).filter_map(guide).collect();
    let axis_values = forest::axis_values(&sections, &guides);
    let title = format!("{}: cutoffs in print and among these people", index_title(index, labels));
    section::parts(&title, sections)
        .into_iter()
        .map(|(part, sections)| {
            let forest = Forest {
                width: source.width,
                title: part.title.clone(),
                notes: notes(index, &own, labels),
                axis: labels.index_with_unit(index),
                key: key(bundle, !guides.is_empty()),
                guides: guides.clone(),
                columns: ["cutoff", "n behind\nit", "sits at\npercentile"].map(str::to_owned).to_vec(),
                sections,
            };
            Drawing {
                name: stem(&["published", index, &part.stem]),
                index: index.to_owned(),
                caption: caption((survey, index), bundle, &own, labels),
                title: part.title,
                scene: forest::draw(&forest, &axis_values),
            }
        })
        .collect()
}

/// Everybody's own cutoff as a line through all rows, with its interval as a band.
fn guide(row: &Row<'_>) -> Option<Guide> {
    Some(Guide {
        value: row.shown("cutoff")?,
        band: row.shown("lower").zip(row.shown("upper")),
        stroke: Stroke::dashed(EVERYBODY_COLOUR, 1.5, Dash::Long),
    })
}

fn key(bundle: &Bundle<'_>, guide: bool) -> Vec<(Swatch, String)> {
    let diamond = |text: &str| (Swatch::Dot(Shape::Diamond, Stroke::solid(THRESHOLD, 0.0)), text.to_owned());
    let mut entries = vec![diamond("in print")];
    if bundle.rows.iter().any(|row| row.text("matches") == "other group") {
        let ring = Swatch::Ring(Shape::Diamond, Stroke::solid(THRESHOLD, 0.0));
        entries.push((ring, "in print, for another sex, age or BMI".to_owned()));
    }
    entries.push((Swatch::Dot(Shape::Circle, Stroke::solid(ESTIMATE, 2.0)), "these people".to_owned()));
    if guide {
        let line = Swatch::Line(Stroke::dashed(EVERYBODY_COLOUR, 1.5, Dash::Long));
        entries.push((line, "everybody’s cutoff and its interval".to_owned()));
    }
    entries
}

fn sections(bundle: &Bundle<'_>, own: &[Row<'_>], labels: &Labels) -> Vec<Section<ForestRow>> {
    let mut printed: Vec<Row<'_>> =
        bundle.rows.iter().copied().filter(|row| row.real("threshold").is_some()).collect();
    printed.sort_by(|a, b| a.real("threshold").unwrap_or(0.0).total_cmp(&b.real("threshold").unwrap_or(0.0)));
    let mut sections =
        vec![Section { heading: "In print".to_owned(), rows: printed.iter().map(in_print).collect() }];
    let decimals = decimals(own.iter().copied(), "cutoff");
    for grouping in bundles(own.iter().copied(), &["grouping"]) {
        let name = grouping.key[0];
        let heading = if name == EVERYBODY { String::new() } else { format!(": {}", labels.grouping(name)) };
        let rows = grouping.rows.iter().map(|row| derived(row, decimals)).collect();
        sections.push(Section { heading: format!("These people{heading}"), rows });
    }
    sections
}

fn in_print(row: &Row<'_>) -> ForestRow {
    let value = row.real("threshold").unwrap_or_default();
    let whisker = Whisker {
        value,
        interval: None,
        shape: Shape::Diamond,
        hollow: row.text("matches") == "other group",
        colour: THRESHOLD,
    };
    let sex = match row.text("published_sex") {
        "male" => ", men",
        "female" => ", women",
        _ => "",
    };
    let country = row.text("country").split(" (").next().unwrap_or_default();
    let percentile = row.real("percentile").map_or_else(|| "withheld".to_owned(), |p| fixed(p, 0));
    ForestRow {
        label: format!("{country}{sex}: {} ({})", rule(row), first_author(row.text("source"))),
        whiskers: vec![whisker],
        side: vec![printed_text(row), row.whole("published_n").map(whole).unwrap_or_default(), percentile],
        withheld: None,
    }
}

/// The value as printed, or in the index's form with a mark that it was converted.
fn printed_text(row: &Row<'_>) -> String {
    let value = row.real("threshold").unwrap_or_default();
    if row.text("conversion").is_empty() {
        stated_text(value)
    } else {
        format!("{}*", crate::table::number::significant(value, DIGITS))
    }
}

fn rule(row: &Row<'_>) -> String {
    match row.text("published_rule") {
        "ROC, rule not stated" => "ROC".to_owned(),
        rule => rule.replace(" of a reference group", " of reference"),
    }
}

fn first_author(source: &str) -> &str {
    source.split(',').next().unwrap_or(source)
}

fn derived(row: &Row<'_>, decimals: usize) -> ForestRow {
    let interval = row.shown("lower").zip(row.shown("upper"));
    let whisker = |value| Whisker { value, interval, shape: Shape::Circle, hollow: false, colour: ESTIMATE };
    let withheld = row.shown("cutoff").is_none().then(|| row.text("withheld").to_owned());
    let text = row.shown("cutoff").map_or_else(String::new, |value| aligned(value, decimals));
    ForestRow {
        label: group_label(row),
        whiskers: row.shown("cutoff").map(whisker).into_iter().collect(),
        side: vec![text, row.whole("n").map(whole).unwrap_or_default(), String::new()],
        withheld,
    }
}

fn notes(index: &str, own: &[Row<'_>], labels: &Labels) -> Vec<String> {
    let ours = own.first().map_or_else(String::new, |row| {
        format!(
            " These people: best cutoff for {} by the rule “{}”. {}",
            labels.outcome(row.text("outcome")),
            labels.rule(row.text("rule")),
            forest::legend(own)
        )
    });
    vec![format!(
        "In print: each for its own people, rule and assay; assays of insulin are not interchangeable. The percentile is \
         the one among everybody here. {}{ours}",
        order(index, labels)
    )]
}

fn caption((survey, index): (&str, &str), bundle: &Bundle<'_>, own: &[Row<'_>], labels: &Labels) -> String {
    let everybody = own.iter().find(|row| row.text("grouping") == EVERYBODY);
    let places = decimals(own.iter().copied(), "cutoff");
    let cutoff = everybody.map_or_else(String::new, |row| match row.shown("cutoff") {
        Some(_) => format!(" Everybody’s own cutoff: {}.", interval_text(row, "cutoff", places)),
        None => format!(" Everybody’s own cutoff is withheld: {}.", row.text("withheld")),
    });
    let mut conversions: Vec<&str> =
        bundle.rows.iter().map(|row| row.text("conversion")).filter(|words| !words.is_empty()).collect();
    conversions.dedup();
    let converted = if conversions.is_empty() {
        String::new()
    } else {
        format!(" * written in this form by exact algebra: {}.", conversions.join("; "))
    };
    let other = bundle.rows.iter().filter(|row| row.text("matches") == "form differs").count();
    let other = if other == 0 {
        String::new()
    } else {
        format!(
            " {other} in print of another form or unit stand in the table published_cutoffs, without numbers."
        )
    };
    format!(
        "{}: cutoffs in print by value, with the percentile at which each sits among {} of {}.{cutoff}{converted}{other} \
         What differs between two of them may be population, rule, outcome or assay.",
        capital(&labels.index_with_unit(index)),
        labels.population("cohort"),
        labels.survey(survey),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::IndexLabel;
    use crate::table::schema;

    fn own(cutoff: Option<f64>, why: &str) -> Table {
        let mut table = Table::new(schema::shape("cutoffs").expect("a table"));
        let row = table.row().text("grouping", EVERYBODY).text("group", EVERYBODY).real("cutoff", cutoff);
        let row = row.real("lower", Some(0.331)).real("upper", Some(0.348)).text("withheld", why);
        row.done().expect("a row");
        table
    }

    #[test]
    fn the_caption_has_the_decimals_of_the_chart_and_says_what_is_withheld() {
        let bundle = Bundle { key: vec!["survey", "quicki"], rows: Vec::new() };
        let said = |table: &Table| {
            let own: Vec<Row<'_>> = table.iter().collect();
            caption(("survey", "quicki"), &bundle, &own, &Labels::default())
        };
        let shown = said(&own(Some(0.339), ""));
        assert!(shown.contains(" Everybody’s own cutoff: 0.339 (0.331–0.348)."), "{shown}");
        let withheld = said(&own(None, "fewer than 30 people"));
        assert!(
            withheld.contains(" Everybody’s own cutoff is withheld: fewer than 30 people."),
            "{withheld}"
        );
    }

    #[test]
    fn the_percentile_says_which_way_it_counts() {
        let mut labels = Labels::default();
        let said = notes("quicki", &[], &labels);
        assert!(said[0].ends_with("Percentiles count towards higher, more resistant values."), "{said:?}");
        let lower = IndexLabel { lower_is_resistant: true, ..Default::default() };
        labels.indices.insert("quicki".to_owned(), lower);
        let said = notes("quicki", &[], &labels);
        assert!(said[0].ends_with("Percentiles count towards lower, more resistant values."), "{said:?}");
    }
}

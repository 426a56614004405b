//! A threshold that a sentence states: one panel for each claim about it, without claims one of the share.

use crate::table::schema::ONE_SIDED;
use crate::table::{Row, Table};

use super::claim_panel::{Panel, panels};
use super::palette::THRESHOLD;
use super::sample::lowered;
use super::scene::{Face, Scene};
use super::select::{stated_text, stem};
use super::sheet::{self, MARGIN, NOTE, WIDTH};
use super::{Chart, ChartError, Drawing, Labels, finish, font, other_side};

/// What stands on a picture besides its numbers.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Imprint {
    /// Above everything, large: that the people are invented.
    pub warning: Option<String>,
    pub cautions: Vec<String>,
    /// Of the intervals, as a share.
    pub confidence: f64,
    /// Below everything: who is in no group, whose data, who was counted, by which program and study.
    pub below: Vec<String>,
}

/// A threshold and the side that a sentence states.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stated<'a> {
    pub survey: &'a str,
    pub index: &'a str,
    pub value: f64,
    pub side: &'a str,
}

impl<'a> Stated<'a> {
    pub(super) fn of(row: &Row<'a>) -> Option<Self> {
        Some(Self {
            survey: row.text("survey"),
            index: row.text("index"),
            value: row.real("threshold")?,
            side: row.text("side"),
        })
    }

    /// The more resistant side of it, or the other.
    pub(super) fn side(&self, resistant: bool, labels: &Labels) -> &'a str {
        let high = self.side.ends_with("above");
        if (high != labels.lower_is_resistant(self.index)) == resistant {
            return self.side;
        }
        other_side(self.side)
    }

    /// `HOMA-IR below 2`, with the unit of the index.
    pub(super) fn words(&self, labels: &Labels) -> String {
        format!("{} {} {}", labels.index_label(self.index), self.side, self.at(labels))
    }

    /// The value with the unit of its index.
    pub(super) fn at(&self, labels: &Labels) -> String {
        let at = labels.index_at(self.index, &stated_text(self.value));
        at.trim_start_matches(labels.index_label(self.index)).trim().to_owned()
    }
}

/// One picture for each stated threshold (more, when the groups are many); none for one that separates nobody.
pub fn draw_claim(table: &Table, labels: &Labels, imprint: &Imprint) -> Result<Vec<Chart>, ChartError> {
    font::check()?;
    let mut stated: Vec<Stated<'_>> = Vec::new();
    let estimated = |row: &Row<'_>| row.text("withheld") != ONE_SIDED && row.text("claim").is_empty();
    for found in table.iter().filter(estimated).filter_map(|row| Stated::of(&row)) {
        if !stated.contains(&found) {
            stated.push(found);
        }
    }
    let drawings = stated.iter().flat_map(|stated| draw_one(table, stated, (labels, imprint)));
    drawings.map(|drawing| finish("claim", drawing, None)).collect()
}

/// The panels below each other; where the groups are many, their first parts on one picture, then their second.
fn draw_one(table: &Table, stated: &Stated<'_>, (labels, imprint): (&Labels, &Imprint)) -> Vec<Drawing> {
    let panels = panels(table, stated, (labels, imprint.confidence));
    let drawn: Vec<Vec<(String, Scene)>> = panels.iter().map(Panel::draw).collect();
    let parts = drawn.first().map_or(0, Vec::len);
    let at = labels.index_at(stated.index, &stated_text(stated.value));
    let what = stated.words(labels);
    let claims: Vec<String> = panels.iter().filter_map(Panel::claim_in_words).collect();
    let drawn_by_group = format!("{what}, by group. Data: {}.", labels.survey(stated.survey));
    let caption: Vec<String> = claims.into_iter().chain([drawn_by_group]).collect();
    let one = |part: usize| {
        let scenes: Vec<Scene> =
            drawn.iter().filter_map(|panel| panel.get(part)).map(|(_, scene)| scene.clone()).collect();
        let number = if parts > 1 { (part + 1).to_string() } else { String::new() };
        Drawing {
            name: stem(&["claim", &at, stated.side, &number]),
            index: stated.index.to_owned(),
            caption: caption.join(" "),
            title: drawn[0][part].0.clone(),
            scene: framed(stacked(scenes), imprint),
        }
    };
    (0..parts).map(one).collect()
}

fn stacked(scenes: Vec<Scene>) -> Scene {
    let mut whole = Scene { width: WIDTH, ..Scene::default() };
    for scene in scenes {
        let scene = lowered(scene, whole.height);
        whole.height = scene.height;
        whole.marks.extend(scene.marks);
    }
    whole
}

/// Warning and cautions above, the small print below.
fn framed(scene: Scene, imprint: &Imprint) -> Scene {
    const BANNER: Face = Face::new(22.0, THRESHOLD).bold();
    const CAUTION: Face = Face::new(14.0, THRESHOLD).bold();
    let room = WIDTH - 2.0 * MARGIN;
    let mut head = Scene { width: WIDTH, ..Scene::default() };
    let mut y = MARGIN + 10.0;
    if let Some(line) = &imprint.warning {
        y = sheet::paragraph(&mut head, (MARGIN, y + 8.0), line, (room, BANNER));
    }
    for line in &imprint.cautions {
        y = sheet::paragraph(&mut head, (MARGIN, y), line, (room, CAUTION));
    }
    let mut whole = lowered(scene, y - MARGIN - 10.0);
    whole.marks.splice(0..0, head.marks);
    let mut y = whole.height;
    for line in &imprint.below {
        y = sheet::paragraph(&mut whole, (MARGIN, y), line, (room, NOTE)) + 3.0;
    }
    sheet::close(whole, y - NOTE.size)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::IndexLabel;
    use crate::table::schema::{self, ALL_GROUPS};

    /// A share and two claims about one threshold, in everybody, two groups and all groups together.
    fn table(claims: bool) -> Table {
        let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
        let rows =
            [("", "share", 40.0, ""), ("c1", "share", 40.0, "holds"), ("c2", "sensitivity", 70.0, "fails")];
        for (claim, measure, value, verdict) in rows.into_iter().filter(|row| claims || row.0.is_empty()) {
            let groups = ["everybody", "men", "women", ALL_GROUPS].into_iter();
            for group in groups.filter(|group| *group != ALL_GROUPS || !claim.is_empty()) {
                let grouping = if group.ends_with("men") { "sex" } else { group };
                let row =
                    table.row().text("survey", "s").text("index", "homa_ir").real("threshold", Some(2.0));
                let row = row.text("side", "below").text("population", "cohort").text("grouping", grouping);
                let row = row.text("group", group).text("measure", measure).text("value_unit", "%");
                let row = row.text("claim", claim).text("verdict", verdict).real("value", Some(value));
                let row = row.text("relation", if claim.is_empty() { "" } else { "more than" });
                row.real("claimed_from", (!claim.is_empty()).then_some(80.0)).done().expect("a row");
            }
        }
        table
    }

    fn drawn(table: &Table) -> Vec<Chart> {
        let label = IndexLabel { label: "HOMA-IR".to_owned(), unit: "1".to_owned(), ..IndexLabel::default() };
        let labels = Labels { indices: [("homa_ir".to_owned(), label)].into(), ..Labels::default() };
        let imprint = Imprint {
            warning: Some("INVENTED DATA".to_owned()),
            confidence: 0.9,
            below: vec!["Data: s.".to_owned()],
            ..Imprint::default()
        };
        draw_claim(table, &labels, &imprint).expect("charts")
    }

    fn svg(claims: bool) -> String {
        let charts = drawn(&table(claims));
        assert_eq!(charts.len(), 1);
        charts[0].svg.clone()
    }

    #[test]
    fn every_claim_has_a_panel_of_its_own_quantity() {
        let both = svg(true);
        assert!(both.contains("Claim: c1, asked of all 2 groups: HOLDS in all of them."), "{both}");
        let caption = &drawn(&table(true))[0].caption;
        assert!(
            caption.starts_with("Claim: c1, asked of all 2 groups: HOLDS in all of them. Claim: c2, "),
            "{caption}"
        );
        assert!(
            both.find("Claim: c1")
                .zip(both.find("share of people"))
                .is_some_and(|(claim, drawn)| claim < drawn)
        );
        assert!(both.contains("Claim: c2, asked of all 2 groups: does NOT hold in all of them."), "{both}");
        assert!(both.contains("sensitivity, %") && both.contains("claimed: more than 80 %"), "{both}");
        assert!(both.contains("INVENTED DATA") && both.contains("Data: s."), "{both}");
        assert!(
            both.contains("HOMA-IR at or above 2: sensitivity") && both.contains("Lines: 90 % interval"),
            "{both}"
        );
        assert!(
            both.contains("Sensitivity: of the people with the outcome, how many are at or above 2."),
            "{both}"
        );
        let share = svg(false);
        assert!(share.contains("share with HOMA-IR below 2, %") && !share.contains("claimed"), "{share}");
    }

    #[test]
    fn what_is_withheld_is_said_plainly_and_a_one_sided_threshold_is_not_drawn() {
        let with = |reason: &str| {
            let mut table = table(false);
            let (withheld, value) =
                (table.position("withheld").expect("a column"), table.position("value").expect("a column"));
            for row in &mut table.rows {
                row[withheld] = crate::table::Cell::text(reason);
                row[value] = crate::table::Cell::Missing;
            }
            drawn(&table)
        };
        let charts = with("effective number of people below 30");
        assert!(charts[0].svg.contains("too few people for this survey"), "{}", charts[0].svg);
        assert!(!charts[0].svg.contains("effective number"));
        assert!(with(ONE_SIDED).is_empty());
    }

    #[test]
    fn a_column_of_people_names_the_side_that_they_are_on() {
        let labels = Labels::default();
        let of = |side: &'static str, resistant: bool| {
            Stated { survey: "s", index: "homa_ir", value: 2.0, side }.side(resistant, &labels)
        };
        let label =
            IndexLabel { label: "Insulin".to_owned(), unit: "µU/mL".to_owned(), ..IndexLabel::default() };
        let with_unit = Labels { indices: [("insulin".to_owned(), label)].into(), ..Labels::default() };
        let insulin = Stated { survey: "s", index: "insulin", value: 10.0, side: "above" };
        assert_eq!(insulin.at(&with_unit), "10 µU/mL");
        assert_eq!(insulin.words(&with_unit), "Insulin above 10 µU/mL");
        assert_eq!([of("below", true), of("below", false)], ["at or above", "below"]);
        assert_eq!([of("above", true), of("above", false)], ["above", "at or below"]);
        assert_eq!([of("at or below", true), of("at or above", false)], ["above", "below"]);
    }
}

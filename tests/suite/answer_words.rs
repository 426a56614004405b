//! Sentences and cells of the first screen, from made-up tables: which row is taken, and in which words it is said.

use cutspan::table::{Cell, RowBuilder, Table, schema};

use crate::report::{page_of, words};
use crate::small_results;

const OUTCOME: &str = "metabolic_syndrome";
const OTHER: &str = "raised_a1c";
const LEADING: &str = "kernel_smoothed_youden";
const DIFFER: &str = "differ by more than noise";
const ALIKE: &str = "not distinguishable with these data";

fn open(name: &str) -> Table {
    Table::new(schema::shape(name).unwrap())
}

fn lead<'a>(table: &'a mut Table, outcome: &str, grouping: &str) -> RowBuilder<'a> {
    let row =
        table.row().text("survey", small_results::SURVEY).text("index", "homa_ir").text("outcome", outcome);
    row.text("grouping", grouping).text("method", LEADING)
}

/// A test of all groups of a variable: outcome, variable, spread and F, conclusion and p.
type Tested<'a> = (&'a str, &'a str, (f64, f64), (&'a str, f64));

fn tests(rows: &[Tested<'_>]) -> Table {
    let mut table = open("heterogeneity");
    for (outcome, grouping, (spread, f), (conclusion, p)) in rows {
        let row = lead(&mut table, outcome, grouping).real("spread", Some(*spread)).real("f", Some(*f));
        let row = row.real("df1", Some(1.0)).real("df2", Some(30.0)).real("ratio", Some(1.45));
        row.real("p_holm", Some(*p)).text("conclusion", *conclusion).done().unwrap();
    }
    table
}

/// Two groups of each variable, for either outcome, the second with the higher cutoff.
fn smoothed(groupings: &[&str]) -> Table {
    let mut table = open("smoothed_cutoffs");
    for outcome in [OUTCOME, OTHER] {
        for grouping in groupings {
            for (group, cutoff) in [("first", 2.0), ("second", 2.9)] {
                let row = lead(&mut table, outcome, grouping).text("population", "cohort");
                row.text("group", group).real("cutoff", Some(cutoff)).done().unwrap();
            }
        }
    }
    table
}

fn said(further: Vec<Table>) -> String {
    let tables: Vec<Table> = small_results::tables().into_iter().chain(further).collect();
    words(&page_of(&tables))
}

/// The variable across which the page says that the smoothed cutoff moves.
fn across(tested: &[Tested<'_>]) -> Vec<String> {
    let page = said(vec![tests(tested), smoothed(&["sex", "age_band"])]);
    let sentences = page.split(": across ").skip(1);
    sentences
        .filter_map(|rest| Some(rest.split_once(" the smoothed best cutoff runs from ")?.0.to_owned()))
        .filter(|name| name.len() < 30)
        .collect()
}

#[test]
fn the_variable_that_spreads_cutoffs_most_is_told_about_the_first_outcome() {
    let sex = (OUTCOME, "sex", (1.2, 4.0), (DIFFER, 0.01));
    assert_eq!(across(&[sex, (OUTCOME, "age_band", (1.5, 3.0), (DIFFER, 0.01))]), ["age"]);
    assert_eq!(
        across(&[sex, (OUTCOME, "age_band", (1.2, 9.0), (DIFFER, 0.01))]),
        ["age"],
        "F where spreads are equal"
    );
    assert_eq!(
        across(&[
            (OUTCOME, "sex", (1.2, 9.0), (DIFFER, 0.01)),
            (OUTCOME, "age_band", (1.1, 4.0), (ALIKE, 0.2))
        ]),
        ["sex"]
    );
    assert_eq!(
        across(&[sex, (OTHER, "age_band", (1.9, 9.0), (DIFFER, 0.01))]),
        ["sex"],
        "another outcome leads nothing"
    );
    assert!(across(&[(OUTCOME, "sex", (1.2, 4.0), ("", 0.01))]).is_empty(), "no conclusion, no sentence");
}

#[test]
fn the_verdict_and_its_p_are_said_beside_the_ends() {
    let page = |conclusion: &str, p: f64| {
        said(vec![tests(&[(OUTCOME, "sex", (1.2, 4.0), (conclusion, p))]), smoothed(&["sex", "age_band"])])
    };
    let differ = page(DIFFER, 0.0005);
    let sentence = "runs from 2.00 in “first” to 2.90 in “second”, 1.45 times as high; more than noise (F(1, 30) = 4.00, p \
                    &lt; 0.001 by Holm over all such tests).";
    assert!(differ.contains(sentence), "{differ}");
    let alike = page(ALIKE, 0.25);
    assert!(
        alike.contains("; not distinguishable with these data (F(1, 30) = 4.00, p = 0.25 by Holm"),
        "{alike}"
    );
}

/// The first table of the first screen.
fn glance(tables: &[Table]) -> String {
    let page = words(&page_of(tables));
    let (_, rest) = page.split_once("class=\"scroll glance\"").expect("a first screen's table");
    rest.split("</table>").next().unwrap().to_owned()
}

/// The made-up results less the rows of some tables.
fn without(names: &[&str]) -> Vec<Table> {
    small_results::tables().into_iter().filter(|table| !names.contains(&table.name)).collect()
}

#[test]
fn every_cell_of_the_first_screen_says_what_is_there_or_why_nothing_is() {
    let bare = glance(&small_results::tables());
    assert!(
        bare.contains("the study has no outcome") && bare.contains("not tested: no cutoffs to compare"),
        "{bare}"
    );
    assert!(bare.contains("crossings are tested pair by pair only"), "{bare}");
    assert!(bare.contains("not computed: needs an age group and a BMI group"), "{bare}");
    assert!(bare.contains("\u{a0}%") && !bare.contains("everybody"), "{bare}");
    let mut tables = without(&["threshold_shares"]);
    tables.push(smoothed(&["sex", "age_band", "sex × ancestry"]));
    let mut tested = tests(&[
        (OUTCOME, "sex", (1.2, 4.0), (DIFFER, 0.01)),
        (OTHER, "age_band", (1.2, 4.0), (DIFFER, 0.01)),
    ]);
    let why = tested.position("withheld").unwrap();
    tested.rows[0][why] = Cell::text("too few replicates");
    tables.push(tested);
    let text = glance(&tables);
    assert!(text.contains("no threshold asked") && text.contains("not tested: too few replicates"), "{text}");
    assert!(
        text.contains("not tested: no cutoffs to compare"),
        "the test of another outcome is not taken: {text}"
    );
    assert!(text.contains("2.00 in “first” to 2.90 in “second”"), "{text}");
    tables.pop();
    tables.push(tests(&[
        (OUTCOME, "sex", (1.2, 4.0), (DIFFER, 0.01)),
        (OUTCOME, "age_band", (1.1, 1.0), (ALIKE, 0.4)),
    ]));
    let text = glance(&tables);
    assert!(
        text.contains("yes (p by Holm = 0.01") && text.contains("not distinguishable (p by Holm = 0.4"),
        "{text}"
    );
    let lonely = tables.iter_mut().find(|table| table.name == "smoothed_cutoffs").unwrap();
    lonely.rows.truncate(1);
    assert!(glance(&tables).contains("fewer than two groups"));
}

/// What is left of the range by one variable: the adjustment, what it adjusts for, and the part left.
fn ranges(grouping: &str, rows: &[(&str, &str, f64)]) -> Table {
    let mut table = open("decomposition");
    for (adjustment, words, left) in rows {
        let row =
            lead(&mut table, OUTCOME, grouping).text("adjustment", *adjustment).text("adjusted_for", *words);
        let row = row.real("smallest", Some(2.0)).real("largest", Some(2.9)).real("ratio", Some(1.45));
        let row = row.real("ratio_under_equality", Some(1.2)).real("log_range_remaining", Some(*left));
        row.text("stated", "tool").done().unwrap();
    }
    table
}

fn set(table: &mut Table, column: &str, cell: &Cell) {
    let at = table.position(column).unwrap();
    table.rows.iter_mut().for_each(|row| row[at] = cell.clone());
}

const ADJUSTED: [(&str, &str, f64); 3] =
    [("none", "nothing", 100.0), ("age_band", "age", 82.0), ("bmi_class", "body mass", 115.0)];

#[test]
fn each_adjustment_is_said_once_and_what_it_takes_or_adds() {
    let page = said(vec![ranges("sex", &ADJUSTED)]);
    for part in [
        "After adjusting for age the smoothed best cutoffs of HOMA-IR for",
        "by sex run from 2.00 to 2.90 (as they are, among the same people: 2.00 to 2.90); after adjusting for body mass from 2.00 to 2.90.",
        "adjusting for age takes 18 %, adjusting for body mass adds 15 %.",
        "the largest is 1.45 times the smallest; equal groups would show about 1.20 by chance alone.",
    ] {
        assert!(page.contains(part), "{part}\n{page}");
    }
    assert!(!page.contains("are left out, for want of people"), "{page}");
    let mut lost = ranges("sex", &ADJUSTED);
    set(&mut lost, "lost_share", &Cell::Real(3.25));
    assert!(
        said(vec![lost]).contains("3.2 % of the standard are left out, for want of people in some group.")
    );
    let mut withheld = ranges("sex", &ADJUSTED);
    set(&mut withheld, "withheld", &Cell::text("fewer than two groups"));
    let page = said(vec![withheld]);
    assert!(page.contains("lie apart after adjusting is withheld: fewer than two groups."), "{page}");
    let page =
        said(vec![ranges("ancestry", &ADJUSTED), tests(&[(OUTCOME, "sex", (1.2, 4.0), (ALIKE, 0.4))])]);
    assert!(
        page.contains("by ancestry (invented groups) run from")
            && !page.contains("itself is not more than noise")
    );
}

#[test]
fn the_first_screen_says_ratios_as_they_are_and_adjusted() {
    let tables = |ranges: Table| -> Vec<Table> {
        small_results::tables().into_iter().chain([smoothed(&["sex", "age_band"]), ranges]).collect()
    };
    let text = glance(&tables(ranges("sex", &ADJUSTED)));
    assert!(
        text.contains("1.45 as they are, 1.45 after adjusting for age, 1.45 after adjusting for body mass"),
        "{text}"
    );
    assert!(text.contains("not adjusted for anything") && !text.contains("not computed"), "{text}");
    let mut withheld = ranges("sex", &ADJUSTED);
    set(&mut withheld, "withheld", &Cell::text("too few people"));
    assert!(glance(&tables(withheld)).contains("withheld: too few people"));
}

#[test]
fn everybodys_cutoff_may_lie_beyond_either_end_or_be_withheld_alone() {
    let page = |change: &dyn Fn(&mut Vec<Cell>, &Table)| {
        let mut tables = small_results::tables();
        let cutoffs = tables.iter_mut().find(|table| table.name == "cutoffs").unwrap();
        let (shape, group) = (cutoffs.clone(), cutoffs.position("group").unwrap());
        let everybody = |row: &&mut Vec<Cell>| matches!(&row[group], Cell::Text(name) if name == "everybody");
        cutoffs.rows.iter_mut().filter(everybody).for_each(|row| change(row, &shape));
        words(&page_of(&tables))
    };
    let high = page(&|row, shape| row[shape.position("cutoff").unwrap()] = Cell::Real(50.0));
    assert!(high.contains("Everybody’s lies outside the groups’"));
    let alone = page(&|row, shape| row[shape.position("withheld").unwrap()] = Cell::text("too few people"));
    assert!(alone.contains("is withheld for everybody (too few people); it lies between "), "{alone}");
}

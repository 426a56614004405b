//! People who may not be shown in small counts: every table of a run, and what could be worked out.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use cutspan::pipeline::{self, Options};
use cutspan::study;
use cutspan::table::number::significant;
use cutspan::table::schema::{Precision, SHARE_MEASURES, shares_of, tables};
use cutspan::table::{Cell, Kind, Row, Table, csv, schema, small};

const LIMIT: i64 = 10;
const PEOPLE: &str = include_str!("../../data-public/own-table-example.csv");
const STUDY: &str = include_str!("../../pipelines/own-table.toml");
/// People of the table that take part; few enough that many counts are small.
const ROWS: usize = 230;

/// A private run of a small clinic, some of whose people have no BMI, made once.
pub fn private_run() -> &'static Path {
    static RUN: OnceLock<(tempfile::TempDir, PathBuf)> = OnceLock::new();
    let (_, out) = RUN.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let out = run(folder.path());
        (folder, out)
    });
    out
}

/// Writes the study of that clinic and its table.
pub fn write_study(folder: &Path) {
    let without_bmi = |(row, line): (usize, &str)| {
        let mut cells: Vec<&str> = line.split(',').collect();
        if (1..=ROWS).contains(&row) && row % 37 == 0 {
            cells[3] = "NA";
        }
        cells.join(",")
    };
    let people: Vec<String> = PEOPLE.lines().take(ROWS + 1).enumerate().map(without_bmi).collect();
    fs::write(folder.join("people.csv"), people.join("\n")).unwrap();
    let study = STUDY
        .replace("# public = false", "public = false\n#")
        .replace("../data-public/own-table-example.csv", "people.csv")
        .replace("\"age_18_45_65\", \"obesity\"]", "\"age_18_45_65\", \"obesity\", \"sex × obesity\"]");
    fs::write(folder.join("study.toml"), format!("{study}\n[resampling]\nreplicates = 60\n")).unwrap();
}

fn run(folder: &Path) -> PathBuf {
    write_study(folder);
    let study = study::load(&folder.join("study.toml")).unwrap();
    assert!(!study.public);
    let out = folder.join("out");
    let made = pipeline::run(&study, &Options { out: &out, data: Vec::new(), progress: &|_| {} }).unwrap();
    assert_eq!(made.private, Some(folder.join("out-private")));
    out
}

pub fn is_small(count: i64) -> bool {
    (1..LIMIT).contains(&count)
}

/// The tables of the run, from its CSV files, read once.
pub fn files() -> &'static [Table] {
    static TABLES: OnceLock<Vec<Table>> = OnceLock::new();
    let file = |shape: &cutspan::table::Shape| private_run().join(format!("tables/{}.csv", shape.name));
    let there = || tables().filter(|shape| file(shape).is_file());
    TABLES.get_or_init(|| there().map(|shape| csv::read(shape, &file(&shape)).unwrap()).collect())
}

/// The tables of the same people before anything is rounded: of a public run, with small counts left out.
pub fn exact() -> &'static [Table] {
    static TABLES: OnceLock<Vec<Table>> = OnceLock::new();
    TABLES.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        write_study(folder.path());
        let study = study::load(&folder.path().join("study.toml")).unwrap();
        let public = study::Study { public: true, ..study };
        let mut tables = pipeline::estimate(&public, &[]).unwrap().tables;
        small::hide(&mut tables, LIMIT);
        tables
    })
}

/// Every count of people in a table: row, column and count.
fn counts(table: &Table) -> Vec<(usize, &'static str, i64)> {
    let columns: Vec<_> = (0..table.columns.len())
        .filter(|at| table.columns[*at].kind == Kind::Integer && table.columns[*at].unit == "people")
        .collect();
    let mut found = Vec::new();
    for (row, cells) in table.rows.iter().enumerate() {
        for &at in &columns {
            if let Cell::Integer(count) = cells[at] {
                found.push((row, table.columns[at].name, count));
            }
        }
    }
    found
}

#[test]
fn no_table_holds_a_small_count_or_a_share_of_so_few() {
    let (mut seen, mut shares) = (0, 0);
    for table in exact() {
        for (row, column, count) in counts(table) {
            seen += 1;
            assert!(!is_small(count), "{} row {row}: {column} = {count}", table.name);
        }
        for share in shares_of(table.name).filter(|share| !share.of.is_empty()) {
            for row in table.iter() {
                let by = if table.name == "assay_routes" { "method" } else { "measure" };
                if row.has(by) && !SHARE_MEASURES.contains(&row.text(by)) {
                    continue;
                }
                let Some((value, people)) = row.real(share.column).zip(row.real(share.of)) else { continue };
                let percent = schema::shape(table.name)
                    .unwrap()
                    .columns
                    .iter()
                    .any(|c| c.name == share.column && c.unit == "%");
                let count = (value / if percent || table.name == "standardised_values" { 100.0 } else { 1.0 }
                    * people)
                    .round() as i64;
                shares += 1;
                let what = format!("{}: {} = {value} of {people}", table.name, share.column);
                assert!(!is_small(count) && !is_small(people as i64 - count), "{what}");
            }
        }
    }
    assert!(seen > 2000 && shares > 500, "{seen} {shares}");
}

/// Whether a number is written with so many significant digits.
fn has_digits(value: f64, digits: usize) -> bool {
    significant(value, digits) == significant(value, 12)
}

#[test]
fn every_number_of_a_private_run_is_rounded() {
    let mut seen = 0;
    for table in files() {
        for column in table.columns {
            let Some(precision) = schema::precision(table.name, column) else { continue };
            for row in table.iter() {
                let Some(value) = row.real(column.name) else { continue };
                let what = format!("{}.{}: {value}", table.name, column.name);
                seen += 1;
                match precision {
                    Precision::People => assert!(value % 5.0 == 0.0, "{what}"),
                    // In tables whose rows say what they hold a value may stand in a column of shares.
                    Precision::Share(everybody) => {
                        let parts = value * 100.0 / everybody;
                        let whole = (parts - parts.round()).abs() < 1e-9;
                        assert!(
                            whole || (row.has("measure") || row.has("level")) && has_digits(value, 3),
                            "{what}"
                        );
                    }
                    Precision::AtMost(digits) | Precision::Digits(digits) => {
                        let stated = table.name == "net_benefit" && column.name == "cutoff";
                        assert!(stated || has_digits(value, digits), "{what}");
                    }
                    Precision::Stated => {}
                }
            }
        }
        for (row, column, count) in counts(table) {
            assert!(!is_small(count), "{} row {row}: {column} = {count}", table.name);
        }
    }
    assert!(seen > 10_000, "{seen}");
}

/// Rows about the same, whatever their group.
fn about(row: &Row<'_>) -> String {
    let names = [
        "survey",
        "frame",
        "index",
        "outcome",
        "population",
        "rule",
        "measure",
        "method",
        "kind",
        "item",
        "exclusions",
        "route",
        "adjustment",
        "over",
        "strategy",
        "limit",
        "cutoff_uncertainty",
        "same",
    ];
    names.iter().filter(|name| row.has(name)).map(|name| row.text(name)).collect::<Vec<_>>().join("|")
}

#[test]
fn no_count_left_out_can_be_worked_out_from_the_other_groups() {
    let mut checked = 0;
    for table in exact().iter().filter(|t| t.position("grouping").is_some() && t.position("group").is_some())
    {
        for column in table.columns.iter().filter(|c| c.kind == Kind::Integer && c.unit == "people") {
            // The groups of each grouping, once for each thing that a row is about.
            let mut groups: BTreeMap<(String, &str), BTreeMap<&str, Option<i64>>> = BTreeMap::new();
            for row in table.iter() {
                let of = groups.entry((about(&row), row.text("grouping"))).or_default();
                of.entry(row.text("group")).or_insert(row.whole(column.name));
            }
            for ((about, grouping), of) in &groups {
                let whole =
                    groups.get(&(about.clone(), "everybody")).and_then(|all| *all.get("everybody")?);
                let (Some(whole), true) = (whole, *grouping != "everybody") else { continue };
                let hidden = of.values().filter(|count| count.is_none()).count();
                let left = whole - of.values().flatten().sum::<i64>();
                checked += 1;
                let what =
                    format!("{} {}: {about} by {grouping}: {of:?} of {whole}", table.name, column.name);
                // Some have no BMI and are in no group, as many as may not be shown: together with them one may stand alone.
                let some_in_none = grouping.contains("obesity");
                // Of a group without a row nothing is told, so that a group beside it stands for itself.
                assert!(
                    hidden != 1 || left == 0 || some_in_none || of.len() == 1,
                    "one count is left out alone in {what}"
                );
                assert!(hidden > 0 || !is_small(left), "so few are in no group in {what}");
            }
        }
    }
    assert!(checked > 300, "{checked}");
}

#[test]
fn within_a_row_no_part_can_be_worked_out() {
    let mut hidden = 0;
    for table in exact() {
        for row in table.iter().filter(|row| row.has("n") && row.has("n_with") && row.has("n_without")) {
            let [n, with, without] = ["n", "n_with", "n_without"].map(|name| row.whole(name));
            hidden += usize::from(with.is_none());
            assert!(
                n.is_some() || (with.is_none() && without.is_none()),
                "{}: {with:?} {without:?}",
                table.name
            );
            assert_eq!(with.is_some(), without.is_some(), "{}: {n:?} {with:?} {without:?}", table.name);
            assert!(n.is_some() || row.whole("df").is_none(), "{}: degrees of freedom tell n", table.name);
        }
    }
    assert!(hidden > 20, "{hidden}");
}

#[test]
fn the_participant_flow_shows_no_step_of_few_people() {
    let flow = exact().iter().find(|table| table.name == "participant_flow").unwrap();
    let mut withheld = 0;
    let mut last: BTreeMap<&str, i64> = BTreeMap::new();
    for row in flow.iter() {
        withheld += usize::from(!row.text("withheld").is_empty());
        let Some(people) = row.whole("people").filter(|_| row.text("source") != "each index") else {
            continue;
        };
        if let Some(before) = last.insert(row.text("source"), people) {
            assert!(!is_small(before - people), "{}: {before} to {people}", row.text("step"));
        }
    }
    assert!(withheld > 0, "the example has steps of few people");
}

/// A table of outcomes with one row for each group: n, with and without.
fn prevalence(rows: &[(&str, &str, [i64; 3])]) -> Table {
    let mut table = Table::new(schema::shape("outcome_prevalence").unwrap());
    for (grouping, group, [n, with, without]) in rows {
        let row = table.row().text("survey", "s").text("outcome", "o").text("population", "cohort");
        row.text("grouping", *grouping)
            .text("group", *group)
            .whole("n", Some(*n))
            .whole("n_with", Some(*with))
            .whole("n_without", Some(*without))
            .whole("df", Some(*n - 1))
            .real("weighted_n", Some(*n as f64))
            .real("prevalence", Some(100.0 * *with as f64 / *n as f64))
            .done()
            .unwrap();
    }
    table
}

#[test]
fn a_second_group_goes_where_one_alone_could_be_worked_out() {
    let rows = [
        ("everybody", "everybody", [120, 54, 66]),
        ("sex", "women", [40, 4, 36]),
        ("sex", "men", [80, 50, 30]),
        ("age", "young", [30, 14, 16]),
        ("age", "middle", [50, 20, 30]),
        ("age", "old", [40, 20, 20]),
    ];
    let mut tables = [prevalence(&rows)];
    let left_out = small::hide(&mut tables, LIMIT);
    let row = |group: &str| tables[0].iter().find(|row| row.text("group") == group).unwrap();
    // 4 women; then the men, for 54 − 50 = 4; and those without, for n less those without is those with.
    assert_eq!((row("women").whole("n_with"), row("men").whole("n_with")), (None, None));
    assert_eq!((row("women").whole("n_without"), row("men").whole("n_without")), (None, None));
    assert_eq!((row("women").whole("n"), row("men").whole("n")), (Some(40), Some(80)));
    assert_eq!((row("women").real("prevalence"), row("men").real("prevalence")), (None, None));
    assert!(row("women").text("withheld").contains("fewer than 10 people"));
    // Nobody is few among the men, and they are told so.
    assert_eq!(row("men").text("notices"), format!("counts are {}", small::BESIDE));
    assert_eq!(row("men").text("withheld"), small::BESIDE);
    assert!(row("women").text("notices").contains("fewer than 10 people are left out"));
    // The ages hide nobody, and everybody stays.
    assert_eq!(row("young").whole("n_with"), Some(14));
    assert_eq!(
        (row("everybody").whole("n_with"), row("everybody").real("prevalence")),
        (Some(54), Some(45.0))
    );
    assert_eq!((left_out.counts, left_out.beside), (1, 3));
}

#[test]
fn people_in_no_group_count_as_a_group_of_their_own() {
    let rows = [
        ("everybody", "everybody", [120, 54, 66]),
        ("bmi", "slim", [34, 12, 22]),
        ("bmi", "heavy", [80, 40, 40]),
    ];
    let mut tables = [prevalence(&rows)];
    small::hide(&mut tables, LIMIT);
    let slim = tables[0].iter().find(|row| row.text("group") == "slim").unwrap();
    // 120 − 34 − 80 = 6 people without a BMI.
    assert_eq!((slim.whole("n"), slim.whole("df"), slim.real("weighted_n")), (None, None, None));
}

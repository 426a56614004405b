//! Kinds of replicates: half-samples, and weights that come with the data, against R and against each other.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use cutspan::analysis::{self, Results};
use cutspan::cohort;
use cutspan::pipeline;
use cutspan::source;
use cutspan::study::{self, Study, StudyError};
use cutspan::tally::{self, Tallies};

use crate::expected::{Expected, Row, Rows, number};
use crate::support::assert_close;

pub const FOLDER: &str = "supplied_replicates";
/// Factors are kept to 2⁻⁴⁰ and tables to twelve digits.
const KEPT: f64 = 1e-9;

/// A study of one case: `y` as a score, the event as an answer, the domain as the men.
pub fn study_text(case: &str, resampling: &str) -> String {
    format!(
        r#"
title = "replicate weights"
unreliable = "flag"
[[source]]
survey = "table"
name = "schools"
files = ["{case}.csv"]
id = "id"
weight = "w"
replicate_weights = "rw_*"
[source.columns]
score = {{ column = "y", unit = "points" }}
pregnant = {{ column = "event", codes = {{ "1" = "yes", "0" = "no" }} }}
sex = {{ column = "domain", codes = {{ "1" = "male", "0" = "female" }} }}
[analysis]
indices = ["score"]
outcomes = ["event"]
groups = ["sex"]
rules = ["youden"]
percentiles = [25, 50, 90]
[resampling]
kind = "supplied"
{resampling}
[[define.quantity]]
name = "score"
label = "score"
kind = "number"
subsample = "interview"
unit = [{{ unit = "points", suffix = "points", factor = 1.0, source = "test" }}]
[[define.index]]
name = "score"
label = "score"
formula = "score_points"
unit = "points"
direction = "higher"
source = "test"
[[define.outcome]]
name = "event"
label = "event"
formula = "pregnant"
source = "test"
"#
    )
}

/// The people of a case as a file with an id, and the columns of its replicates.
pub fn table_of(case: &str) -> String {
    let frame = Rows::read(FOLDER, "input.csv").only("case", case);
    let names: Vec<String> = (1..=40).map(|r| format!("rw_{r}")).collect();
    let filled: Vec<&String> =
        names.iter().filter(|name| frame.iter().all(|row| !row[*name].is_empty())).collect();
    let columns: Vec<&str> =
        ["y", "w", "event", "domain"].into_iter().chain(filled.iter().map(|n| n.as_str())).collect();
    let mut text = format!("id,{}\n", columns.join(","));
    for (id, row) in frame.iter().enumerate() {
        let cells: Vec<&str> = columns.iter().map(|column| row[*column].as_str()).collect();
        writeln!(text, "{id},{}", cells.join(",")).unwrap();
    }
    text
}

pub fn parse(text: &str, folder: &Path) -> Result<Study, StudyError> {
    study::parse(text, "test.toml", folder)
}

fn tallies(text: &str, table: &str) -> (Study, Tallies) {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("jk1.csv"), table).unwrap();
    let study = parse(text, folder.path()).unwrap();
    let cohort = cohort::build(&study, &source::read_all(&study, &[]).unwrap()).unwrap();
    let tallies =
        Tallies { joints: tally::joints(&study, &cohort).unwrap(), ..tally::collect(&cohort).unwrap() };
    (study, tallies)
}

/// A number of the first row of a table that is about this group.
fn printed(results: &Results, table: &str, group: &str, column: &str, percentile: Option<f64>) -> f64 {
    let rows = results.tables.iter().find(|t| t.name == table).unwrap();
    let mut rows = rows.iter().filter(|row| {
        row.text("population") == "cohort"
            && row.text("group") == group
            && (percentile.is_none() || row.real("percentile") == percentile)
    });
    let row = rows.next().unwrap_or_else(|| panic!("{table}: no row of {group}"));
    row.real(column).unwrap_or_else(|| panic!("{table}, {group}: no {column}"))
}

#[test]
fn a_study_on_supplied_replicates_prints_what_r_prints() {
    let expected = Expected::read(FOLDER);
    let scales = |case: &str| {
        let of_case = expected.rows.only("case", case);
        let row = of_case.iter().next().unwrap().clone();
        row["scales"].split_whitespace().collect::<Vec<_>>().join(", ")
    };
    let kinds = [
        ("jk1", "type = \"jk1\"".to_owned()),
        ("jkn", format!("type = \"jkn\"\nscales = [{}]", scales("jkn"))),
        ("adjusted_bootstrap", "scale = 0.025".to_owned()),
    ];
    for (case, resampling) in kinds {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join(format!("{case}.csv")), table_of(case)).unwrap();
        let study = parse(&study_text(case, &resampling), folder.path()).unwrap();
        let results = pipeline::estimate(&study, &[]).unwrap();
        let mut compared = 0;
        for row in expected.rows.only("case", case).iter() {
            let group = if row["domain"] == "all" { "everybody" } else { "male" };
            let mut check = |table: &str, column: &str, of: &str, percentile: Option<f64>| {
                compared += 1;
                let want = number(row, of);
                let got = printed(&results, table, group, column, percentile);
                assert_close(got, want, KEPT * want.abs(), &format!("{case}, {table}, {group}, {column}"));
            };
            match row["statistic"].as_str() {
                "quantile_logit" => {
                    let percentile = Some(100.0 * number(row, "p"));
                    for column in ["value", "lower", "upper"] {
                        check("percentiles", column, column, percentile);
                    }
                }
                "geometric_mean" => {
                    for column in ["value", "lower", "upper"] {
                        check("geometric_means", column, column, None);
                    }
                }
                "auc" => {
                    check("auc", "auc", "value", None);
                    check("auc", "standard_error", "se", None);
                }
                // Not printed by this study.
                "mean" | "ratio" | "share" | "quantile" => {}
                other => panic!("statistic {other}"),
            }
        }
        // Of everybody and of the men: three percentiles and the geometric mean with two ends, area and its error.
        assert_eq!(compared, 2 * (3 * 3 + 3 + 2), "{case}");
    }
}

/// A jackknife that the program makes and the same one handed over as weights are one analysis.
#[test]
fn replicates_from_the_design_and_from_the_data_agree() {
    let frame = Rows::read(FOLDER, "input.csv").only("case", "jk1");
    // The district is what the first replicate that leaves a person out says.
    let district = |row: &Row| (1..=15).find(|r| number(row, &format!("rw_{r}")) == 0.0).unwrap();
    let mut table = "id,y,w,event,domain,st,psu\n".to_owned();
    for (id, row) in frame.iter().enumerate() {
        writeln!(
            table,
            "{id},{},{},{},{},1,{}",
            row["y"],
            row["w"],
            row["event"],
            row["domain"],
            district(row)
        )
        .unwrap();
    }
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("jk1.csv"), table).unwrap();
    let text = study_text("jk1", "").replace("kind = \"supplied\"", "kind = \"jackknife\"");
    let text = text.replace("replicate_weights = \"rw_*\"", "stratum = \"st\"\npsu = \"psu\"");
    let made = pipeline::estimate(&parse(&text, folder.path()).unwrap(), &[]).unwrap();
    fs::write(folder.path().join("jk1.csv"), table_of("jk1")).unwrap();
    let study = parse(&study_text("jk1", "type = \"jk1\""), folder.path()).unwrap();
    let given = pipeline::estimate(&study, &[]).unwrap();
    for group in ["everybody", "male"] {
        for column in ["auc", "standard_error", "lower", "upper"] {
            let got = [&given, &made].map(|results| printed(results, "auc", group, column, None));
            assert_close(got[0], got[1], KEPT, column);
        }
    }
}

/// Cutoffs move in jumps: no interval from a jackknife, t from half-samples, the central share from a bootstrap.
#[test]
fn intervals_of_cutoffs_follow_the_kind_of_replicates() {
    let kinds = [
        ("jk1", "type = \"jk1\"", "replicates_t", false),
        ("adjusted_bootstrap", "type = \"bootstrap\"", "replicates_percentile", true),
        ("adjusted_bootstrap", "type = \"fay\"\nfay = 0.5", "replicates_t", true),
        ("adjusted_bootstrap", "type = \"bootstrap\"\nscale = 0.03", "replicates_t", true),
    ];
    for (case, resampling, kind, has_interval) in kinds {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join(format!("{case}.csv")), table_of(case)).unwrap();
        let study = parse(&study_text(case, resampling), folder.path()).unwrap();
        let results = pipeline::estimate(&study, &[]).unwrap();
        let cutoffs = results.tables.iter().find(|t| t.name == "cutoffs").unwrap();
        let row = cutoffs.iter().next().unwrap();
        assert_eq!(row.text("interval"), kind, "{resampling}");
        for column in ["lower", "upper", "lower_t", "upper_t"] {
            assert_eq!(row.real(column).is_some(), has_interval, "{resampling}: {column}");
        }
        assert_eq!(row.text("notices").contains("jackknife"), !has_interval, "{}", row.text("notices"));
        assert_eq!(row.real("optimism").is_some(), kind == "replicates_percentile", "{resampling}");
    }
}

#[test]
fn pieces_and_saved_tallies_keep_the_replicates() {
    let text = study_text("jk1", "type = \"jk1\"");
    let whole_table = table_of("jk1");
    let (study, whole) = tallies(&text, &whole_table);
    assert_eq!(whole.frames[0].design.units.len(), 15, "one unit for each district");
    let (header, rows) = whole_table.split_once('\n').unwrap();
    let rows: Vec<&str> = rows.lines().collect();
    let piece = |rows: &[&str]| tallies(&text, &format!("{header}\n{}\n", rows.join("\n"))).1;
    let with_scale = |mut piece: Tallies| {
        // A piece has its own total; the scale of integer weights is the study's.
        assert_eq!(piece.frames[0].frame.subsample, whole.frames[0].frame.subsample);
        piece.survey.clone_from(&whole.survey);
        piece
    };
    // Halves by turns, so that most districts stand in both.
    let odd: Vec<&str> = rows.iter().copied().skip(1).step_by(2).collect();
    let even: Vec<&str> = rows.iter().copied().step_by(2).collect();
    let pieces = [with_scale(piece(&odd)), with_scale(piece(&even))];
    let forward = tally::merge(&pieces);
    let backward = tally::merge(&[pieces[1].clone(), pieces[0].clone()]);
    assert_eq!(forward, backward);
    let merged = forward.expect("pieces of one study");
    let of = |t: &Tallies| analysis::estimate(&study, t, &[]).unwrap().results;
    let (one, other) = (of(&whole), of(&merged));
    for column in ["auc", "lower", "upper"] {
        let got = [&one, &other].map(|results| printed(results, "auc", "everybody", column, None));
        assert_close(got[1], got[0], KEPT, column);
    }
    let folder = tempfile::tempdir().unwrap();
    tally::save(&whole, &study, folder.path()).unwrap();
    assert_eq!(tally::load(&study, folder.path()).unwrap(), whole);
}

#[test]
fn slips_are_told_where_they_stand() {
    let text = study_text("jk1", "type = \"jk1\"");
    let refused = |from: &str, to: &str, words: &str| {
        assert!(text.contains(from), "{from}");
        let error = parse(&text.replace(from, to), Path::new(".")).expect_err(words).to_string();
        assert!(error.starts_with("test.toml:") && error.contains(words), "{error}");
    };
    refused("type = \"jk1\"", "", "type = one of \"brr\"");
    refused("type = \"jk1\"", "type = \"jk3\"", "unknown type of replicate weights \"jk3\"");
    refused("type = \"jk1\"", "type = \"jkn\"", "needs scales");
    refused("type = \"jk1\"", "type = \"brr\"\nscale = 0.1", "leave it out, or leave out the type");
    refused(
        "type = \"jk1\"",
        "type = \"jk1\"\nscale = 0.05",
        "the scale of type \"jk1\" is known: leave it out",
    );
    refused("type = \"jk1\"", "type = \"jkn\"\nscales = [0.5, 0.5]\nscale = 0.05", "leave `scale` out");
    refused("type = \"jk1\"", "type = \"fay\"", "fay = 0.3");
    refused("type = \"jk1\"", "type = \"fay\"\nfay = 1.0", "below 1");
    refused("type = \"jk1\"", "type = \"jk1\"\nfay = 0.3", "belongs to");
    refused("type = \"jk1\"", "type = \"jk1\"\nreplicates = 15", "leave replicates out");
    refused("type = \"jk1\"", "scale = -1.0", "above 0");
    refused("type = \"jk1\"", "scales = [0.0, 0.0]", "not all 0");
    refused("kind = \"supplied\"\ntype = \"jk1\"", "kind = \"bootstrap\"", "set kind = \"supplied\"");
    refused("\"rw_*\"", "\"rw_\"", "a star");
    refused("\"rw_*\"", "[\"rw_1\", \"rw_1\"]", "each named once");
    refused("weight = \"w\"\n", "", "name its column under `weight`");
    refused("weight = \"w\"\n", "weight = \"w\"\npsu = \"p\"\n", "leave out stratum and psu");
    let plain = text.replace("replicate_weights = \"rw_*\"\n", "");
    let error = parse(&plain, Path::new(".")).expect_err("no weights").to_string();
    assert!(error.contains("no source has replicate weights"), "{error}");
    let brr = plain.replace("kind = \"supplied\"\ntype = \"jk1\"", "kind = \"brr\"");
    let error = parse(&brr, Path::new(".")).expect_err("no strata").to_string();
    assert!(error.contains("strata of two PSUs"), "{error}");
}

#[test]
fn a_resolved_study_says_the_same_again() {
    for resampling in ["type = \"fay\"\nfay = 0.5", "scales = [0.5, 0.5]\ndegrees_of_freedom = 11"] {
        let study = parse(&study_text("jk1", resampling), Path::new(".")).unwrap();
        let again = parse(&study.resolved_toml, Path::new(".")).unwrap();
        assert_eq!(again.resampling, study.resampling);
        assert_eq!(again.resolved_toml, study.resolved_toml);
        let listed = study_text("jk1", resampling).replace("\"rw_*\"", "[\"rw_1\", \"rw_2\"]");
        let listed = parse(&listed, Path::new(".")).unwrap();
        assert_eq!(parse(&listed.resolved_toml, Path::new(".")).unwrap().sources, listed.sources);
    }
}

#[test]
fn wrong_weights_stop_the_run_in_words() {
    let run = |table: &str, resampling: &str| {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("jk1.csv"), table).unwrap();
        let study = parse(&study_text("jk1", resampling), folder.path()).unwrap();
        pipeline::estimate(&study, &[]).map_err(|e| format!("{e:#}"))
    };
    let table = table_of("jk1");
    let error = run(&table, "scales = [1.0, 2.0]").expect_err("two scales");
    assert!(error.contains("2 scales") && error.contains("15 replicate weights"), "{error}");
    let error = run(&table.replace("rw_", "r"), "type = \"jk1\"").expect_err("no such columns");
    assert!(error.contains("0 columns begin with `rw_`"), "{error}");
    let mut lines: Vec<String> = table.lines().map(str::to_owned).collect();
    let last = lines[3].rfind(',').unwrap();
    lines[3].truncate(last + 1);
    let error = run(&lines.join("\n"), "type = \"jk1\"").expect_err("an empty cell");
    assert!(
        error.contains("line 4") && error.contains("rw_15") && error.contains("replicate weight"),
        "{error}"
    );
}

/// Strata of two and of three units: which one, and how many.
#[test]
fn half_samples_need_two_units_in_every_stratum() {
    let frame = Rows::read(FOLDER, "input.csv").only("case", "jk1");
    let table = |units: usize| {
        let mut table = "id,y,w,event,domain,st,psu\n".to_owned();
        for (id, row) in frame.iter().enumerate() {
            let stratum = id % 20;
            let psu = id / 20 % if stratum == 7 { units } else { 2 };
            let cells = ["y", "w", "event", "domain"].map(|name| row[name].clone()).join(",");
            writeln!(table, "{id},{cells},s{stratum},{psu}").unwrap();
        }
        table
    };
    let run = |units: usize, kind: &str| {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("jk1.csv"), table(units)).unwrap();
        let text = study_text("jk1", "").replace("kind = \"supplied\"", kind);
        let text = text.replace("replicate_weights = \"rw_*\"", "stratum = \"st\"\npsu = \"psu\"");
        pipeline::estimate(&parse(&text, folder.path()).unwrap(), &[]).map_err(|e| format!("{e:#}"))
    };
    let error = run(3, "kind = \"brr\"").expect_err("a stratum of three");
    assert!(error.contains("stratum schools/s7 has 3 PSUs"), "{error}");
    let full = run(2, "kind = \"brr\"").unwrap();
    let fay = run(2, "kind = \"fay\"\nfay = 0.3").unwrap();
    let se = |results: &Results| printed(results, "auc", "everybody", "standard_error", None);
    // Nearly linear, so nearly the same, and yet another set of replicates.
    assert!((se(&full) / se(&fay) - 1.0).abs() < 0.05 && se(&full) != se(&fay), "{} {}", se(&full), se(&fay));
    assert_eq!(printed(&full, "percentiles", "everybody", "df", Some(50.0)), 20.0);
}

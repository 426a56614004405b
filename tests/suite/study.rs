//! Study files: what is filled in, what a study means, and a message for every slip.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use cutspan::definitions::{Standing, Subsample};
use cutspan::stats::rule::Rule;
use cutspan::study::{
    Source, Split, Study, StudyError, explain, explain_read, load, parse, remarks, shared_ingredients,
};
use cutspan::table::Cell;

const SMALL: &str = include_str!("../fixtures/study/small.toml");

/// The small study, changed.
fn changed(from: &str, to: &str) -> Result<Study, StudyError> {
    assert!(SMALL.contains(from), "{from} is not in the study");
    parse(&SMALL.replacen(from, to, 1), "small.toml", Path::new("studies"))
}

fn small() -> Study {
    parse(SMALL, "small.toml", Path::new("studies")).unwrap()
}

fn pipelines() -> Vec<Study> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
    let mut files: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|file| file.is_file())
        .collect();
    files.sort();
    assert!(files.len() >= 6, "{files:?}");
    files.iter().map(|file| load(file).unwrap_or_else(|error| panic!("{error}"))).collect()
}

#[test]
fn the_resolved_study_reads_back_as_the_same_study() {
    for study in pipelines().into_iter().chain([small()]) {
        let again = parse(&study.resolved_toml, "study.toml", &study.folder).unwrap();
        assert_eq!(again, study);
    }
}

#[test]
fn what_is_left_out_gets_its_default() {
    let study = changed("rules = [\"youden\", { rule = \"sensitivity_at_least\", value = 0.8 }, { rule = \"lowest_cost\", prevalence = 0.3, miss_to_false_alarm = 2 }]\n", "").unwrap();
    let names: Vec<&str> = study.rules.iter().map(|rule| rule.name.as_str()).collect();
    let usual = [
        "youden",
        "closest_to_corner",
        "largest_product",
        "smallest_difference",
        "sensitivity_at_least_0.80",
        "specificity_at_least_0.80",
    ];
    assert_eq!(names, usual);
    assert_eq!(study.percentiles, [0.5, 0.75, 0.8, 0.9, 0.95]);
    assert_eq!((study.confidence, study.public, study.minimum_cell), (0.95, true, 10));
    for default in ["waist_table = \"united_states\"", "kind = \"bootstrap\"", "share = 1.0"] {
        assert!(study.resolved_toml.contains(default), "{default} is not written out");
    }
    assert_eq!(changed("replicates = 200\n", "").unwrap().resampling.replicates, 500);
}

#[test]
fn people_are_left_out_in_order_and_requirements_need_an_answer() {
    let study = small();
    let steps: Vec<(&str, bool)> =
        study.exclusions.iter().map(|step| (step.name.as_str(), step.unknown_excludes)).collect();
    let expected = [
        ("outside_age_range", true),
        ("not_fasted_8_to_24_hours", true),
        ("pregnant", false),
        ("diagnosed_diabetes", false),
        ("diabetes_by_fasting_glucose", false),
    ];
    assert_eq!(steps, expected);
    assert_eq!(study.exclusions[0].formula, "age_years < 20.0");
    assert!(
        study.exclusions[4].formula.contains("glucose_reported_mmol_l >= 7.0"),
        "an outcome's own condition"
    );
    let both = changed("{ from = 20 }", "{ from = 12, below = 20 }").unwrap();
    assert_eq!(both.exclusions[0].formula, "age_years < 12.0 OR age_years >= 20.0");
    let one_left = SMALL.replacen("\"diagnosed_diabetes\", ", "", 1);
    let text = one_left.replacen("\"fasted_8_to_24_hours\"", "\"diagnosed_diabetes\"", 1);
    let required = parse(&text, "small.toml", Path::new("studies")).unwrap();
    assert_eq!(required.exclusions[1].formula, "NOT (diagnosed_diabetes)");
    assert!(required.exclusions[1].unknown_excludes);
}

#[test]
fn a_reference_group_needs_known_answers() {
    let study = small();
    assert_eq!(study.references[0].name, "healthy");
    let without: Vec<&str> = study.references[0].without.iter().map(|row| row.name.as_str()).collect();
    assert_eq!(
        without,
        ["bmi_25_or_more", "metabolic_syndrome_harmonized_2009", "prediabetes_by_fasting_glucose"]
    );
    assert!(study.references[0].without.iter().all(|row| row.unknown_excludes));
}

#[test]
fn groups_are_crossings_of_variables_and_age_bands_fit_the_age_range() {
    let study = small();
    let names: Vec<&str> = study.variables.iter().map(|variable| variable.name.as_str()).collect();
    assert_eq!(names, ["sex", "age_20_40_60", "bmi_class", "ancestry"]);
    assert_eq!(study.groupings, [vec![0], vec![1], vec![2], vec![3], vec![0, 2]]);
    let bands = |study: &Study| match &study.variables[1].split {
        Split::Bands { column, cuts, labels } => (column.clone(), cuts.clone(), labels.clone()),
        Split::Levels { .. } => panic!("age is cut"),
    };
    let (column, cuts, labels) = bands(&study);
    assert_eq!((column.as_str(), cuts), ("age_years", vec![40.0, 60.0]));
    assert_eq!(labels, ["20-39", "40-59", "60 and over"]);
    let (_, cuts, labels) = bands(&changed("{ from = 20 }", "{ from = 18, below = 40 }").unwrap());
    assert_eq!(cuts, [20.0]);
    assert_eq!(labels, ["under 20", "20-39"], "people of 18 and 19 keep their band");
    let star = changed("sex × bmi_class", "sex * bmi_class").unwrap();
    assert_eq!(star.groupings, study.groupings);
}

#[test]
fn rules_carry_their_parameters() {
    let study = small();
    assert_eq!(study.rules[1].rule, Rule::SensitivityAtLeast(0.8));
    assert_eq!(study.rules[2].rule, Rule::LowestCost { prevalence: 0.3, miss_to_false_alarm: 2.0 });
}

#[test]
fn ingredients_and_samples_follow_from_the_formulas() {
    let study = small();
    assert_eq!(study.indices[0].ingredients, ["glucose", "insulin"]);
    assert_eq!(study.indices[0].subsample, Subsample::Fasting);
    let [full, without, own] = study.outcomes.as_slice() else { panic!("three outcomes") };
    assert!(full.ingredients.contains(&"glucose_drug".to_owned()));
    assert_eq!(shared_ingredients(&study.indices[0], full), ["glucose", "glucose_drug"]);
    assert_eq!(shared_ingredients(&study.indices[0], without), [] as [&str; 0]);
    assert_eq!(shared_ingredients(&study.indices[1], without), ["lipid_drug", "triglycerides"]);
    assert_eq!(own.ingredients, ["glucose", "insulin"]);
    assert_eq!(own.row.standing, Standing::Study);
    assert_eq!(
        own.sql,
        "FLOOR((glucose_mg_dl * insulin_uu_ml / 405.0) * 1000000000.0 + 0.5) >= 2500000000.0"
    );
    let kinds: Vec<&str> = remarks(&study).iter().map(|notice| notice.kind).collect();
    for kind in ["shared_ingredient", "same_family", "unmapped_quantity"] {
        assert!(kinds.contains(&kind), "{kinds:?}");
    }
}

#[test]
fn a_table_is_mapped_column_by_column() {
    let study = small();
    let [Source::Table(table)] = study.sources.as_slice() else { panic!("one table") };
    let column = |quantity: &str| table.columns.iter().find(|column| column.quantity == quantity).unwrap();
    assert_eq!(column("insulin").unit.as_deref(), Some("pmol/L"));
    assert_eq!(column("insulin").factor, Some(6.0));
    assert_eq!(column("bmi").unit.as_deref(), Some("kg/m²"), "spelt as the row spells it");
    assert_eq!(
        column("sex").codes,
        [("1".to_owned(), "male".to_owned()), ("2".to_owned(), "female".to_owned())]
    );
    assert_eq!(table.missing, ["NA", "."]);
}

/// Cycles of the national survey; shares by the official fractions.
#[test]
fn pooled_cycles_get_their_official_shares() {
    let cycles = |names: &[&str], share: &str| {
        let source = |name: &&str| format!("[[source]]\nsurvey = \"nhanes\"\ncycle = \"{name}\"\n{share}\n");
        let sources: Vec<String> = names.iter().map(source).collect();
        let sources = sources.concat();
        let text = format!("title = \"pooled\"\n{sources}[analysis]\nindices = [\"homa_ir\"]\n");
        parse(&text, "pooled.toml", Path::new("."))
    };
    let shares = |study: Study| -> Vec<f64> {
        let share = |source: &Source| match source {
            Source::Survey { weight_share, .. } => *weight_share,
            Source::Table(table) => table.weight_share,
        };
        study.sources.iter().map(share).collect()
    };
    let published = shares(cycles(&["2015-2016", "2017-2020"], "").unwrap());
    assert_eq!(published, [2.0 / 5.2, 3.2 / 5.2]);
    // The four-year weights of 1999-2002 count once: 4/6 + 2/6.
    let with_pair = cycles(&["1999-2000", "2001-2002", "2003-2004"], "").unwrap();
    assert_eq!(parse(&with_pair.resolved_toml, "study.toml", Path::new(".")).unwrap(), with_pair);
    let wrong = cycles(&["2015-2016", "2017-2020"], "share = 0.6").unwrap_err().to_string();
    assert!(wrong.contains("sum to 1, found 1.2"), "{wrong}");
    let overlap = cycles(&["2017-2018", "2017-2020"], "").unwrap_err().to_string();
    assert!(overlap.starts_with("pooled.toml:6:1:") && overlap.contains("same people"), "{overlap}");
}

#[test]
fn the_demo_in_words() {
    let demo = pipelines().into_iter().find(|study| study.title.contains("Veldmark")).unwrap();
    insta::assert_snapshot!(explain(&demo));
}

#[test]
fn people_that_were_counted_are_not_guessed() {
    let one = "[[source]]\nsurvey = \"table\"\nname = \"a\"\nfiles = [\"a.csv\"]\nid = \"id\"\nshare = 0.5\n[source.columns]\n\
               glucose = { column = \"g\", unit = \"mg/dL\" }\ninsulin = { column = \"i\", unit = \"uU/mL\" }\n";
    let other = one.replace("\"a\"", "\"b\"");
    let text = format!("title = \"t\"\n{one}{other}[analysis]\nindices = [\"homa_ir\"]\n");
    let study = parse(&text, "t.toml", Path::new(".")).unwrap();
    let said = |people: &[Option<usize>]| explain_read(&study, people);
    let both = said(&[Some(600), Some(50)]);
    assert!(both.contains("(650 people: 650 rows)") && !both.contains("if each source"), "{both}");
    let one = said(&[Some(600), None]);
    assert!(one.contains("(3600 people: 3600 rows)") && one.contains("if each source not counted"), "{one}");
    assert!(said(&[]).contains("(6000 people: 6000 rows)") && said(&[]).contains("if each source has"));
    assert!(
        said(&[Some(200_000_000), Some(50)]).contains("time: a quarter of an hour or so"),
        "as many take long"
    );
}

#[test]
fn what_a_study_does_not_ask_is_not_counted() {
    let text = "title = \"t\"\n[[source]]\nsurvey = \"table\"\nname = \"a\"\nfiles = [\"a.csv\"]\nid = \"id\"\n[source.columns]\n\
                glucose = { column = \"g\", unit = \"mg/dL\" }\ninsulin = { column = \"i\", unit = \"uU/mL\" }\n\
                [analysis]\nindices = [\"homa_ir\"]\n[sensitivity]\n";
    let said = explain(&parse(text, "t.toml", Path::new(".")).unwrap());
    assert!(said.contains("\n  1 group, in the cohort\n  1 index\n"), "{said}");
    assert!(
        said.contains("cutoffs of homa_ir under 4 percentiles, 1 exclusion set, 1 assay route\n"),
        "{said}"
    );
}

pub(crate) fn cutspan(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_cutspan")).args(arguments).output().unwrap()
}

/// What `cutspan check` says to the small study with one slip in it.
fn slip(from: &str, to: &str) -> String {
    assert!(SMALL.contains(from), "{from} is not in the study");
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("slip.toml");
    fs::write(&path, SMALL.replacen(from, to, 1)).unwrap();
    let output = cutspan(&["check", path.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2), "{to}");
    assert!(output.stdout.is_empty(), "{to}");
    let said = String::from_utf8(output.stderr).unwrap();
    said.replace(folder.path().to_str().unwrap(), "FOLDER")
}

#[test]
fn every_slip_gets_a_message_that_says_where_and_what_to_do() {
    let two_cycles = "survey = \"nhanes\"\ncycle = \"2017-2018\"\n\n[[source]]\nsurvey = \"nhanes\"\ncycle = \"2017-2020\"\n\n[[source]]\n";
    let slips = [
        ("unknown key", "title =", "titel ="),
        ("unknown key in a section", "exclude =", "exclud ="),
        ("wrong syntax", "age = { from = 20 }", "age = { from = 20"),
        ("wrong kind of value", "title = \"Cutoffs in Veldmark adults\"", "title = 5"),
        ("misspelt index", "\"homa_ir\", \"tyg\"", "\"homa-ir\", \"tyg\""),
        ("unknown outcome", "\"metabolic_syndrome_harmonized_2009\",", "\"metabolic_syndrom_2009\","),
        ("unknown exclusion", "exclude = [\"pregnant\"", "exclude = [\"pregnent\""),
        ("unknown group", "\"ancestry\", \"sex", "\"ethnicity\", \"sex"),
        ("unknown group in a crossing", "sex × bmi_class", "sex × bmi"),
        ("unknown rule", "rules = [\"youden\"", "rules = [\"yuden\""),
        (
            "rule without its parameter",
            "{ rule = \"sensitivity_at_least\", value = 0.8 }",
            "\"sensitivity_at_least\"",
        ),
        ("rule out of range", "value = 0.8", "value = 80"),
        ("unknown quantity", "glucose = {", "glucos = {"),
        ("bad unit", "unit = \"mmol/L\"", "unit = \"mol/L\""),
        ("no unit", "{ column = \"FPG\", unit = \"mmol/L\" }", "{ column = \"FPG\" }"),
        ("insulin without its factor", ", factor = 6.00", ""),
        ("insulin with another factor", "factor = 6.00", "factor = 7.00"),
        ("label of no use", "\"2\" = \"female\"", "\"2\" = \"woman\""),
        ("empty indices", "indices = [\"homa_ir\", \"tyg\", \"quicki\"]", "indices = []"),
        ("index named twice", "\"tyg\", \"quicki\"", "\"tyg\", \"tyg\""),
        ("negative confidence", "question =", "confidence = -0.95\nquestion ="),
        ("confidence in percent", "question =", "confidence = 95\nquestion ="),
        ("overlapping cycles", "survey = \"table\"", &format!("{two_cycles}survey = \"table\"")),
        ("unknown cycle", "survey = \"table\"", "survey = \"nhanes\"\ncycle = \"2018\""),
        ("unknown survey", "survey = \"table\"", "survey = \"nhains\""),
        (
            "several sources without shares",
            "[[source]]",
            "[[source]]\nsurvey = \"nhanes\"\ncycle = \"2017-2018\"\n\n[[source]]",
        ),
        (
            "threshold of another index",
            "[[analysis.threshold]]\nindex = \"homa_ir\"",
            "[[analysis.threshold]]\nindex = \"firi\"",
        ),
        ("ages the wrong way round", "{ from = 20 }", "{ from = 80, below = 20 }"),
        ("column that is not there", "bmi = { column = \"bmi\", unit = \"kg/m2\" }\n", ""),
        (
            "exclusion that the table cannot answer",
            "pregnant = { column = \"preg\", codes = { \"1\" = \"yes\", \"2\" = \"no\" } }\n",
            "",
        ),
        ("stratum without psu", "psu = \"psu\"\n", ""),
        ("unknown waist table", "groups =", "waist_table = \"united_kingdom\"\ngroups ="),
        ("percentiles out of order", "groups =", "percentiles = [90, 50]\ngroups ="),
        ("too few replicates", "replicates = 200", "replicates = 1"),
        ("unknown kind of replicates", "replicates = 200", "kind = \"bootstrp\""),
        (
            "own outcome with a wrong column",
            "index = \"homa_ir\"\nvalue = 2.5",
            "formula = \"insulin_uU_ml >= 12.0\"",
        ),
        ("own outcome with wrong SQL", "index = \"homa_ir\"\nvalue = 2.5", "formula = \"insulin_uu_ml >= \""),
        ("own outcome of a built-in name", "name = \"homa_ir_beyond_2_5\"", "name = \"raised_a1c\""),
        ("own outcome without a source", "value = 2.5\nsource = \"often quoted\"", "value = 2.5"),
    ];
    let said = slips.map(|(name, from, to)| format!("# {name}\n{}", slip(from, to)));
    insta::assert_snapshot!(said.join("\n"));
}

#[test]
fn check_says_what_a_study_asks_and_a_missing_file_is_named() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines/demo.toml");
    let output = cutspan(&["check", demo.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0));
    let said = String::from_utf8(output.stdout).unwrap();
    let next = said.strip_prefix(&explain_read(&load(&demo).unwrap(), &[Some(5947)])).unwrap();
    let (files, next) = next.split_once("\nNext").unwrap();
    assert!(files.contains("veldmark.csv, 5947 rows; 24 of its 27 "), "{files}");
    let next = format!("Next{next}");
    let lines: Vec<&str> = next.trim().lines().map(str::trim).collect();
    assert_eq!(lines.len(), 3, "{next}");
    assert!(
        lines[0] == "Next" && lines[1].starts_with("cutspan run ") && lines[1].ends_with("--out out"),
        "{next}"
    );
    assert!(lines[2].starts_with("cutspan claim --index homa_ir --below 2 out"), "{next}");
    let output = cutspan(&["check", "no-such-study.toml"]);
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8(output.stderr).unwrap();
    let beginning = "error: cannot read the study file no-such-study.toml; give the path of one, or write";
    assert!(said.starts_with(beginning) && said.contains("\n  because: "), "{said}");
}

#[test]
fn check_can_write_a_study_out() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines/demo.toml");
    let output = cutspan(&["check", "--resolved", demo.to_str().unwrap()]);
    assert_eq!(String::from_utf8(output.stdout).unwrap(), load(&demo).unwrap().resolved_toml);
}

/// The example of a table of one's own is large enough to give cutoffs.
#[test]
fn the_example_table_gives_cutoffs() {
    let mut own = pipelines().into_iter().find(|study| study.title.contains("own table")).unwrap();
    own.resampling.replicates = 100;
    let results = cutspan::pipeline::estimate(&own, &[]).unwrap();
    let cutoffs = results.tables.iter().find(|table| table.name == "cutoffs").unwrap();
    let withheld = cutoffs.columns.iter().position(|column| column.name == "withheld").unwrap();
    let printed = cutoffs.rows.iter().filter(|row| row[withheld] == Cell::Missing).count();
    assert!(printed * 2 > cutoffs.rows.len(), "{printed} of {}", cutoffs.rows.len());
}

#[test]
fn replicates_built_from_the_design_are_not_the_first_choice_for_cutoffs() {
    let said = |kind: &str| explain(&changed("replicates = 200", &format!("kind = \"{kind}\"")).unwrap());
    for kind in ["jackknife", "brr"] {
        assert!(said(kind).contains("For cutoffs the bootstrap is preferred"), "{}", said(kind));
    }
    assert!(said("jackknife").contains("smooth functions of the weights"));
    assert!(!said("brr").contains("smooth functions"), "half-samples judge jumps too");
    assert!(!explain(&small()).contains("the bootstrap is preferred"));
}

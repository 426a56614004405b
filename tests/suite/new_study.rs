//! `cutspan new`: whatever is chosen, the file passes `cutspan check`; guesses at a table are shown as guesses.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use cutspan::definitions::{groups, indices, outcomes, survey};
use cutspan::study::{Draft, DraftSource, Invented, Map, Seen, Source, guess, load, parse};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

pub(crate) fn cutspan(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_cutspan"))
        .args(arguments)
        .current_dir(folder)
        .env_remove("CUTSPAN_DATA")
        .stdin(std::process::Stdio::null())
        .output()
        .unwrap()
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

fn survey_of(cycle: &str) -> DraftSource {
    DraftSource::Survey { survey: "nhanes".to_owned(), cycles: vec![cycle.to_owned()] }
}

fn table_of(map: Map) -> DraftSource {
    DraftSource::Table { name: "clinic".to_owned(), file: "clinic.csv".to_owned(), map }
}

fn passes(draft: &Draft) {
    let text = draft.text();
    if let Err(error) = parse(&text, "new.toml", Path::new(".")) {
        panic!("{error}\n{text}");
    }
    let uncommented = text.lines().filter(|line| line.starts_with('[') || line.starts_with("# ----"));
    assert!(uncommented.count() >= 6, "a comment on every section:\n{text}");
}

/// Columns of a table with everything, with nothing, and with what a clinic has.
fn maps() -> [Map; 3] {
    let column = |name: &str| Seen { name: name.to_owned(), ..Seen::default() };
    let all = cutspan::definitions::quantity::quantities().iter().map(|quantity| column(&quantity.name));
    let clinic = ["id", "sex", "age", "FPG", "INS", "BMI"].map(column);
    [
        guess(&[column("id"), column("stratum"), column("psu")].into_iter().chain(all).collect::<Vec<_>>()),
        guess(&[column("x"), column("y")]),
        guess(&clinic),
    ]
}

#[test]
fn every_choice_that_is_offered_passes_the_check() {
    let plain = |source: DraftSource| Draft {
        title: "A first study".to_owned(),
        source,
        indices: None,
        outcomes: None,
        groups: None,
        threshold: None,
    };
    for cycle in survey::cycles("nhanes").unwrap() {
        passes(&plain(survey_of(&cycle)));
    }
    for map in maps() {
        passes(&plain(table_of(map)));
    }
    let sources = [survey_of("2017-2020")].into_iter().chain(maps().map(table_of));
    let one = |name: &str| Some(vec![name.to_owned()]);
    for source in sources {
        for row in indices() {
            let threshold = Some((row.name.clone(), 2.0));
            passes(&Draft { indices: one(&row.name), threshold, ..plain(source.clone()) });
        }
        for row in outcomes() {
            passes(&Draft { outcomes: one(&row.name), groups: Some(Vec::new()), ..plain(source.clone()) });
        }
        for (position, row) in groups().iter().enumerate() {
            let crossed = if position % 2 == 0 && row.name != "sex" {
                format!("sex × {}", row.name)
            } else {
                row.name.clone()
            };
            let outcomes = Some(Vec::new());
            passes(&Draft { groups: one(&crossed), outcomes, ..plain(source.clone()) });
        }
    }
}

/// Nobody of 2021-2023 has triglycerides: no file of them was released.
#[test]
fn what_a_cycle_did_not_release_is_left_out_and_said() {
    let syndrome = "metabolic_syndrome_harmonized_2009_without_glucose";
    let text = |cycles: &[&str], indices: Option<&str>| {
        let cycles = cycles.iter().map(|cycle| (*cycle).to_owned()).collect();
        let draft = Draft {
            title: "A first study".to_owned(),
            source: DraftSource::Survey { survey: "nhanes".to_owned(), cycles },
            indices: indices.map(|name| vec![name.to_owned()]),
            outcomes: None,
            groups: None,
            threshold: None,
        };
        passes(&draft);
        draft.text()
    };
    for cycles in [&["2021-2023"][..], &["2017-2018", "2021-2023"]] {
        let said = text(cycles, None);
        assert!(said.contains("indices = [\"homa_ir\"] "), "{said}");
        assert!(said.contains("outcomes = [\"raised_a1c\"] "), "{said}");
        let left_out = "# Left out, because triglycerides is not among the released files: tyg, tg_hdl,";
        assert!(said.contains(&format!("{left_out} {syndrome}.")), "{said}");
    }
    let asked = text(&["2021-2023"], Some("tyg"));
    assert!(asked.contains("indices = [\"tyg\"] "), "{asked}");
    assert!(
        asked
            .contains("# check this: triglycerides is not among the released files, and these read it: tyg.")
    );
    for cycle in survey::cycles("nhanes").unwrap().iter().filter(|cycle| *cycle != "2021-2023") {
        let said = text(&[cycle.as_str()], None);
        assert!(said.contains("[\"homa_ir\", \"tyg\", \"tg_hdl\"]") && said.contains(syndrome), "{said}");
        assert!(!said.contains("not among the released files"), "{said}");
    }
}

/// hand: pipelines/own-table.toml maps the same table; its author looked at every column.
#[test]
fn the_guesses_at_the_example_tables_are_those_of_their_authors() {
    for (table, study, beyond) in [
        ("data-public/own-table-example.csv", "pipelines/own-table.toml", &[][..]),
        ("data-public/veldmark.csv", "pipelines/demo.toml", &["insulin_resistant"][..]),
    ] {
        let map = guess(&cutspan::source::peek(&root().join(table)).unwrap().columns);
        let written = load(&root().join(study)).unwrap();
        let [Source::Table(own)] = written.sources.as_slice() else { panic!("one table") };
        assert_eq!((&map.id, &map.weight, &map.psu), (&own.id, &own.weight, &own.psu));
        for column in own.columns.iter().filter(|column| !beyond.contains(&column.quantity.as_str())) {
            let found = map.columns.iter().find(|guessed| guessed.quantity == column.quantity);
            let found = found.unwrap_or_else(|| panic!("{} is not found in {table}", column.quantity));
            assert_eq!((&found.column, &found.unit), (&column.column, &column.unit), "{table}");
            assert_eq!(found.factor, column.factor, "{}", column.quantity);
            let sorted = |mut codes: Vec<(String, String)>| {
                codes.sort();
                codes
            };
            assert_eq!(sorted(found.codes.clone()), sorted(column.codes.clone()), "{}", column.quantity);
        }
    }
}

#[test]
fn a_unit_is_guessed_from_the_middle_value_and_said_to_be_a_guess() {
    let glucose = |middle: f64| {
        let seen = Seen { name: "glucose".to_owned(), middle: Some(middle), ..Seen::default() };
        let map = guess(&[seen]);
        (map.columns[0].unit.clone().unwrap(), map.columns[0].why.clone())
    };
    assert_eq!(glucose(5.4).0, "mmol/L");
    assert_eq!(glucose(97.0), ("mg/dL".to_owned(), "unit guessed from its middle value, 97".to_owned()));
}

#[test]
fn german_names_of_columns_are_understood() {
    let seen = |name: &&str| Seen { name: (*name).to_owned(), ..Seen::default() };
    let meant = |names: &[&str]| {
        let map = guess(&names.iter().map(seen).collect::<Vec<_>>());
        let mut found: Vec<(String, String)> =
            map.columns.into_iter().map(|guessed| (guessed.column, guessed.quantity)).collect();
        found.sort();
        (map.id, found)
    };
    for (column, quantity) in [
        ("Nüchternglukose", "glucose"),
        ("nuechternglukose", "glucose"),
        ("Nuechternglukose_mg_dl", "glucose"),
        ("Glukose (nüchtern)", "glucose"),
        ("NÜCHTERNINSULIN", "insulin"),
        ("Triglyzeride", "triglycerides"),
        ("Triglyceride", "triglycerides"),
        ("Bauchumfang", "waist"),
        ("Taillenumfang_cm", "waist"),
        ("Geschlecht", "sex"),
        ("Alter", "age"),
        ("Grösse", "height"),
        ("Größe", "height"),
        ("Körpergewicht", "body_weight"),
        ("Gewicht", "body_weight"),
    ] {
        let (_, found) = meant(&["ID", column]);
        assert_eq!(found, [(column.to_owned(), quantity.to_owned())], "{column}");
    }
    // A site is nobody's number and no quantity, wherever it stands.
    assert_eq!(meant(&["Zentrum", "Fall"]), ("Fall".to_owned(), Vec::new()));
    let coded = Seen { values: ["männlich", "weiblich"].map(str::to_owned).to_vec(), ..seen(&"Geschlecht") };
    let codes = &guess(&[seen(&"ID"), coded]).columns[0].codes;
    let want = [("männlich", "male"), ("weiblich", "female")];
    assert_eq!(*codes, want.map(|(code, label)| (code.to_owned(), label.to_owned())));
}

/// Letters and figures of `%` are none, and every name ends with none.
#[test]
fn the_unit_of_a_column_whose_name_has_none_comes_from_its_middle_value() {
    let unit = |name: &str, middle: f64| {
        let named = |name: &str, middle| Seen { name: name.to_owned(), middle, ..Seen::default() };
        let found = guess(&[named("ID", None), named(name, Some(middle))]).columns[0].clone();
        (found.unit.unwrap_or_default(), found.why)
    };
    let guessed =
        |unit: &str, middle: &str| (unit.to_owned(), format!("unit guessed from its middle value, {middle}"));
    assert_eq!(unit("A1C", 36.0), guessed("mmol/mol", "36"));
    assert_eq!(unit("A1C", 5.4), guessed("%", "5.4"));
}

#[test]
fn the_written_file_is_checked_run_and_never_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    fs::create_dir(folder.join("studies")).unwrap();
    fs::copy(root().join("data-public/own-table-example.csv"), folder.join("own.csv")).unwrap();
    let new = ["new", "studies/own.toml", "--table", "own.csv", "--threshold", "homa_ir=2.5"];
    let output = cutspan(folder, &new);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let file = folder.join("studies/own.toml");
    let text = fs::read_to_string(&file).unwrap();
    for part in
        ["#:schema ", "files = [\"../own.csv\"]", "check this: unit from the column's name", "value = 2.5"]
    {
        assert!(text.contains(part), "{part}\n{text}");
    }
    assert_eq!(cutspan(folder, &["check", "studies/own.toml"]).status.code(), Some(0));
    let mut study = load(&file).unwrap();
    study.resampling.replicates = 20;
    let results = cutspan::pipeline::estimate(&study, &[]).unwrap();
    assert!(results.tables.iter().any(|table| table.name == "cutoffs" && !table.rows.is_empty()));

    let again = cutspan(folder, &new);
    assert_eq!(again.status.code(), Some(2));
    assert!(said(&again).contains("is there already and is left alone"), "{}", said(&again));
    assert_eq!(fs::read_to_string(&file).unwrap(), text);
}

#[test]
fn a_table_whose_rows_say_invented_becomes_a_study_that_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let veldmark = fs::read_to_string(root().join("data-public/veldmark.csv")).unwrap();
    let text = written(folder.path(), &veldmark, &[]);
    for part in ["\ninvented = true ", "\nname = \"clinic (invented)\" ", "resistance, clinic (invented)\"\n"]
    {
        assert!(text.contains(part), "{part}\n{text}");
    }
    let study = parse(&text, "s.toml", folder.path()).unwrap();
    assert_eq!(study.invented(), Invented::Everybody);
    let text = written(folder.path(), CLINIC, &[]);
    assert!(!text.contains("invented"), "{text}");
    assert!(!parse(&text, "s.toml", folder.path()).unwrap().has_invented());
}

/// What a clinic's table is, in the words of its first study.
pub(crate) fn written(folder: &Path, table: &str, options: &[&str]) -> String {
    fs::write(folder.join("clinic.csv"), table).unwrap();
    let arguments: Vec<&str> =
        ["new", "s.toml", "--table", "clinic.csv"].iter().chain(options).copied().collect();
    let output = cutspan(folder, &arguments);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let check = cutspan(folder, &["check", "s.toml"]);
    assert_eq!(check.status.code(), Some(0), "{}", said(&check));
    let text = fs::read_to_string(folder.join("s.toml")).unwrap();
    fs::remove_file(folder.join("s.toml")).unwrap();
    text
}

pub(crate) const CLINIC: &str = "id,sex,age,FPG,INS,TG,HDL,waist,SBP,DBP,BMI\n\
    1,M,40,5.4,60,1.2,1.3,98,128,80,27.1\n2,F,50,5.9,<12,1.9,1.1,92,131,84,31.0\n3,M,61,5.1,44,0.9,1.6,88,119,72,24.3\n";

#[test]
fn semicolons_decimal_commas_and_limits_are_recognised() {
    let folder = tempfile::tempdir().unwrap();
    let plain = written(folder.path(), CLINIC, &[]);
    assert!(!plain.contains("separator =") && !plain.contains("decimal ="), "{plain}");
    let limit = "insulin = { column = \"INS\", unit = \"pmol/L\", factor = 6.00, below_detection = \"<\" }";
    assert!(plain.contains(limit), "{plain}");
    let german = CLINIC.replace(',', ";").replace('.', ",");
    let text = written(folder.path(), &german, &[]);
    assert!(text.contains("separator = \";\"") && text.contains("decimal = \",\""), "{text}");
    assert!(text.contains("unit = \"mmol/L\"") && text.contains(limit), "{text}");
    let tabs = CLINIC.replace(',', "\t").replace('.', ",");
    let text = written(folder.path(), &tabs, &[]);
    assert!(
        !text.contains("separator =") && text.contains("decimal = \",\"") && text.contains("mmol/L"),
        "{text}"
    );
}

#[test]
fn an_empty_column_is_told_and_nothing_is_proposed_that_needs_it() {
    let folder = tempfile::tempdir().unwrap();
    let blank = |cells: &[(&str, &str)]| {
        cells.iter().fold(CLINIC.to_owned(), |table, (from, to)| table.replacen(from, to, 1))
    };
    let insulin = blank(&[("5.4,60,", "5.4,,"), ("5.9,<12,", "5.9,,"), ("5.1,44,", "5.1,,")]);
    let hdl = blank(&[("1.2,1.3,", "1.2,,"), ("1.9,1.1,", "1.9,,"), ("0.9,1.6,", "0.9,,")]);
    for (table, column, indices, left_out) in [
        (insulin, "insulin", "indices = [\"tyg\", \"tg_hdl\"]", "homa_ir"),
        (hdl, "hdl", "indices = [\"homa_ir\", \"tyg\"]", "metabolic_syndrome"),
    ] {
        // The check inside passes, so nothing that was proposed needs the column.
        let text = written(folder.path(), &table, &[]);
        let line = text.lines().find(|line| line.starts_with(&format!("{column} = "))).unwrap();
        assert!(line.contains("check this: the column is empty in every row that was read"), "{line}");
        assert!(text.contains(indices) && !text.contains("NOT known"), "{text}");
        assert!(!text.contains(left_out) && !text.contains("NAME OF YOUR COLUMN"), "{text}");
    }
}

/// People of a clinic whose diabetes is told in words, one of which stands for no answer.
const TOLD: &str = "id,sex,age,FPG,Insulin (µU/ml),Diabetes,RR systolisch,Metformin\n\
    1,m,40,5.4,10,nein,128,nein\n2,w,50,5.9,12,ja,131,ja\n3,m,61,5.1,7,k.A.,119,nein\n";

#[test]
fn words_for_yes_and_no_are_coded_and_others_wait_for_the_reader() {
    let folder = tempfile::tempdir().unwrap();
    let known = TOLD.replace("k.A.", "nein");
    let text = written(folder.path(), &known, &["--outcome", "none"]);
    assert!(
        text.contains("column = \"Diabetes\", codes = { \"ja\" = \"yes\", \"nein\" = \"no\" } }"),
        "{text}"
    );
    assert!(text.contains("insulin = { column = \"Insulin (µU/ml)\", unit = \"uU/mL\" }"), "{text}");
    assert!(text.contains("systolic = { column = \"RR systolisch\", unit = \"mm Hg\" }"), "{text}");
    assert!(text.contains("glucose_drug = { column = \"Metformin\"") && text.contains("one drug"), "{text}");

    fs::write(folder.path().join("clinic.csv"), TOLD).unwrap();
    let new = cutspan(folder.path(), &["new", "s.toml", "--table", "clinic.csv", "--outcome", "none"]);
    assert_eq!(new.status.code(), Some(0), "{}", said(&new));
    let text = fs::read_to_string(folder.path().join("s.toml")).unwrap();
    assert!(text.contains("NOT what \"k.A.\" stand for") && !text.contains("missing = [\"k.A.\"]"), "{text}");
    let check = cutspan(folder.path(), &["check", "s.toml"]);
    assert_eq!(check.status.code(), Some(2), "nobody has said what k.A. means");
    assert!(said(&check).contains("`k.A.`") && said(&check).contains("line 4"), "{}", said(&check));
}

#[test]
fn a_2_beside_a_0_is_not_taken_for_a_no() {
    let seen = |values: &[&str]| {
        let values = values.iter().map(|value| (*value).to_owned()).collect();
        guess(&[Seen { name: "Diabetes".to_owned(), values, ..Seen::default() }])
    };
    let codes = |map: &Map| map.columns[0].codes.len();
    assert_eq!(codes(&seen(&["1", "2"])), 2);
    let three = seen(&["0", "1", "2"]);
    assert_eq!((codes(&three), three.columns[0].uncoded.clone()), (2, vec!["2".to_owned()]));
}

#[test]
fn numbered_weights_are_proposed_as_replicate_weights() {
    let folder = tempfile::tempdir().unwrap();
    let wide = |line: &str, cell: &dyn Fn(usize) -> String| {
        let more: Vec<String> = (1..=12).map(cell).collect();
        format!("{line},{}", more.join(","))
    };
    let lines = CLINIC.lines().enumerate().map(|(at, line)| match at {
        0 => wide(line, &|r| format!("rw_{r}")),
        _ => wide(line, &|r| r.to_string()),
    });
    let table = lines.collect::<Vec<_>>().join("\n") + "\n";
    let text = written(folder.path(), &table, &[]);
    assert!(text.contains("# replicate_weights = \"rw_*\"") && text.contains("12 columns"), "{text}");
    assert!(text.contains("kind = \"supplied\"") && !text.contains("# not used: rw_1"), "{text}");
}

#[test]
fn an_outcome_that_counts_treatment_is_taken_without_it_where_none_is_known() {
    let folder = tempfile::tempdir().unwrap();
    let name = "metabolic_syndrome_harmonized_2009";
    let text = written(folder.path(), CLINIC, &["--outcome", name]);
    assert!(text.contains(&format!("outcomes = [\"{name}_without_treatment\"]")), "{text}");
    assert!(text.contains("nothing of blood_pressure_drug, glucose_drug, lipid_drug"), "{text}");
    let text = written(folder.path(), CLINIC, &[]);
    assert!(text.contains(&format!("\"{name}_without_glucose_without_treatment\"")), "{text}");
    assert!(text.contains("groups = [\"sex\", \"age_20_40_60\", \"obesity\"]"), "{text}");
    for part in ["# minimum_cell", "# [output]", "# [analysis.standardize]", "check this: waist limits"] {
        assert!(text.contains(part), "{part}\n{text}");
    }
}

#[test]
fn a_table_and_a_cycle_make_two_samples() {
    let folder = tempfile::tempdir().unwrap();
    let text = written(folder.path(), CLINIC, &["--cycle", "2017-2020", "--group", "sex x obesity"]);
    for part in ["sample = \"own\"", "sample = \"nhanes\"", "cycle = \"2017-2020\"", "\"pregnant\""] {
        assert!(text.contains(part), "{part}\n{text}");
    }
    // Every section as a comment can be switched on.
    let switched = text.replace("# [output]", "[output]").replace("# width_mm", "width_mm");
    assert_eq!(parse(&switched, "s.toml", folder.path()).unwrap().output.width_mm, 174.0);
}

#[test]
fn other_choices_and_a_stated_number_can_be_switched_on() {
    let folder = tempfile::tempdir().unwrap();
    // What the survey knows of people leaves out more of them than the table can.
    for (options, sets) in [(&[][..], 1), (&["--cycle", "2017-2020"], 2)] {
        let text = written(folder.path(), CLINIC, options);
        let mut on = false;
        let switched = |line: &str| {
            on = (on || line == "# [sensitivity]" || line == "# [[check]]") && !line.is_empty();
            if on { line.trim_start_matches("# ") } else { line }.to_owned()
        };
        let switched = text.lines().map(switched).collect::<Vec<_>>().join("\n");
        let study = parse(&switched, "s.toml", folder.path()).unwrap();
        let section = study.sensitivity.expect("other choices");
        assert_eq!((section.indices.len(), section.groupings.len(), study.checks.len()), (1, 1, 1));
        assert_eq!(section.exclusions.len(), sets, "{text}");
    }
}

#[test]
fn a_wrong_choice_writes_nothing_and_says_what_to_do() {
    let folder = tempfile::tempdir().unwrap();
    for (options, wanted) in [
        (&["--cycle", "2018"][..], "unknown cycle \"2018\". "),
        (&["--cycle", "2017-2018,2017-2020"], "hold the same people"),
        (&["--cycle", "2017-2020", "--index", "homair"], "Did you mean \"homa_ir\"?"),
        (&["--cycle", "2017-2020", "--group", "sex * bmi"], "Did you mean \"bmi_class\"?"),
        (&["--cycle", "2017-2020", "--group", "sex & bmi"], "two are crossed with ×, * or x"),
        (&["--cycle", "2017-2020", "--threshold", "homa_ir=2,5"], "write the decimals after a point: 2.5"),
        (&["--cycle", "2017-2020", "--threshold", "2.5"], "expected INDEX=VALUE"),
        (&["--table", "absent.csv"], "absent.csv: no such file; give a CSV"),
        (&["--table", "."], ".: a folder, not a table"),
        (&[], "say where the data come from: --cycle"),
    ] {
        let arguments: Vec<&str> = ["new", "s.toml"].iter().chain(options).copied().collect();
        let output = cutspan(folder.path(), &arguments);
        assert_eq!(output.status.code(), Some(2), "{options:?}");
        assert!(said(&output).contains(wanted), "{options:?}: {}", said(&output));
        assert!(!folder.path().join("s.toml").exists(), "{options:?}");
    }
}

//! What the columns of a table are taken for in its first study file.

use std::fs;

use cutspan::study::{Map, Seen, Source, guess, load};

use crate::new_study::{CLINIC, cutspan, root, said, written};

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

/// A weight of a survey has a mean of 1 or counts people by the thousand; nobody's body weighs so.
#[test]
fn a_weight_of_a_survey_is_told_from_that_of_a_body() {
    let named = |name: &str, middle| Seen { name: name.to_owned(), middle, ..Seen::default() };
    let of = |name: &str, middle: f64| {
        let map = guess(&[named("ID", None), named(name, Some(middle))]);
        (map.weight.is_some(), map.columns.iter().any(|guessed| guessed.quantity == "body_weight"))
    };
    for (name, middle) in [
        ("Gewicht", 1.02),
        ("weight", 0.97),
        ("weight", 18_000.0),
        ("weight_final", 1.1),
        ("w", 1.0),
        ("wt", 1.0),
        ("Gewichtung", 60.0),
        ("fasting_weight", 70.0),
    ] {
        assert_eq!(of(name, middle), (true, false), "{name} {middle}");
    }
    for (name, middle) in
        [("Gewicht", 81.0), ("weight", 176.0), ("wt", 80.0), ("Körpergewicht", 78.0), ("Gewicht (kg)", 78.0)]
    {
        assert_eq!(of(name, middle), (false, true), "{name} {middle}");
    }
    for (name, middle) in [("birth_weight", 3400.0), ("weight_change", 1.2), ("w", 80.0)] {
        assert_eq!(of(name, middle), (false, false), "{name} {middle}");
    }
}

/// People whose age is not told, but when they were born and seen.
const BORN: &str = "id,Geburtsdatum,Visite,FPG,INS\n1,1970-05-03,2024-02-01,5.4,60\n2,03.11.1962,2024-02-08,5.9,72\n\
    3,1981-01-30,2024-03-01,5.1,44\n";

#[test]
fn a_date_of_birth_asks_for_an_age() {
    let folder = tempfile::tempdir().unwrap();
    let text = written(folder.path(), BORN, &[]);
    let wanted = "# check this: an age is read in years: add a column of ages to the table, the whole years from Geburtsdatum to \
                  Visite, and map it";
    assert!(text.contains(wanted), "{text}");
    assert!(
        text.contains("# not used: Geburtsdatum, Visite") && !text.contains("visite ="),
        "days part nobody: {text}"
    );
    fs::write(folder.path().join("born.toml"), text).unwrap();
    let check = cutspan(folder.path(), &["check", "born.toml"]);
    let told = String::from_utf8(check.stdout).unwrap();
    assert!(told.contains("nobody's age is known; an age is read in years"), "{told}");
    // With an age beside it nothing is to be said.
    let aged = BORN.replace("id,", "id,age,").replace("1,1970", "1,53,1970").replace("2,03.", "2,61,03.");
    let text = written(folder.path(), &aged.replace("3,1981", "3,43,1981"), &[]);
    assert!(!text.contains("an age is read in years"), "{text}");
}

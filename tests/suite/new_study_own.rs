//! Rows of a study's own in the file that `cutspan new` writes: columns of few texts as groups, and examples.

use cutspan::study::parse;

use crate::new_study::{CLINIC, cutspan, said, written};

/// A clinic whose people come from three regions.
fn of_regions() -> String {
    let lines = CLINIC.lines().enumerate().map(|(at, line)| match at {
        0 => format!("{line},Region,Note"),
        _ => format!("{line},{},{at}", ["north", "south", "NA"][at - 1]),
    });
    lines.collect::<Vec<_>>().join("\n") + "\n"
}

#[test]
fn a_column_of_few_texts_becomes_a_group_that_can_be_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let text = written(folder.path(), &of_regions(), &[]);
    for part in [
        "region = { column = \"Region\" }",
        "# Columns of the table that can split people too: add \"region\" to groups.",
        "[[define.quantity]]\nname = \"region\"\nlabel = \"Region\"\nkind = \"category\"",
        "# seen: north, south\n",
        "# not used: Note\n",
    ] {
        assert!(text.contains(part), "{part}\n{text}");
    }
    let asked = written(folder.path(), &of_regions(), &["--group", "sex,sex x region"]);
    assert!(asked.contains("groups = [\"sex\", \"sex x region\"]") && !asked.contains("too: add"), "{asked}");
    let study = parse(&asked, "s.toml", folder.path()).unwrap();
    assert_eq!(
        study.variables.iter().map(|variable| variable.name.as_str()).collect::<Vec<_>>(),
        ["sex", "region"]
    );
}

/// Of the clinic's people one column tells who has something in figures, another in words.
fn of_answers() -> String {
    let lines = CLINIC.lines().enumerate().map(|(at, line)| match at {
        0 => format!("{line},Fatty Liver,Raucher"),
        _ => format!("{line},{}", ["1,ja", "0,nein", "9,ja"][at - 1]),
    });
    lines.collect::<Vec<_>>().join("\n") + "\n"
}

#[test]
fn a_column_of_yes_and_no_is_ready_to_be_an_outcome() {
    let folder = tempfile::tempdir().unwrap();
    let text = written(folder.path(), &of_answers(), &[]);
    let row =
        "[[define.outcome]]\nname = \"fatty_liver\"\nlabel = \"Fatty Liver\"\nformula = \"fatty_liver\"";
    for part in [
        "fatty_liver = { column = \"Fatty Liver\", codes = { \"0\" = \"no\", \"1\" = \"yes\" }, missing = [\"9\"] }",
        "raucher = { column = \"Raucher\" }",
        "[[define.quantity]]\nname = \"fatty_liver\"\nlabel = \"Fatty Liver\"\nkind = \"yes_no\"",
        "switch on [[define.outcome]] of \"fatty_liver\", \"raucher\" at the end",
        &row.replace('\n', "\n# ").replacen("[[", "\n# [[", 1),
    ] {
        assert!(text.contains(part), "{part}\n{text}");
    }
    // By its name in the table, or in the study.
    for name in ["Fatty Liver", "fatty_liver"] {
        let asked = written(folder.path(), &of_answers(), &["--outcome", name]);
        assert!(asked.contains(&format!("\n{row}")) && !asked.contains("of \"fatty_liver\""), "{asked}");
        let study = parse(&asked, "s.toml", folder.path()).unwrap();
        assert_eq!(study.outcomes[0].row.name, "fatty_liver");
    }
    let crossed = written(folder.path(), &of_regions(), &["--group", "sex x Region"]);
    assert!(crossed.contains("groups = [\"sex × region\"]"), "{crossed}");
}

#[test]
fn a_column_of_which_no_outcome_can_be_made_is_told() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("clinic.csv"), of_regions()).unwrap();
    let of = |options: [&str; 2]| {
        let output =
            cutspan(folder.path(), &[&["new", "s.toml", "--table", "clinic.csv"][..], &options].concat());
        assert_eq!(output.status.code(), Some(2));
        said(&output)
    };
    let told = of(["--outcome", "Region"]);
    assert!(told.contains("\"Region\" is a column of the table, but holds no yes and no"), "{told}");
    let told = of(["--group", "Note"]);
    assert!(told.contains("\"Note\" is a column of the table, but does not hold 2 to 8 texts"), "{told}");
}

#[test]
fn a_table_of_an_older_program_is_read_and_its_encoding_stated() {
    let folder = tempfile::tempdir().unwrap();
    let western: Vec<u8> = of_regions().replace("north", "Köln").chars().map(|c| c as u8).collect();
    assert!(String::from_utf8(western.clone()).is_err());
    std::fs::write(folder.path().join("west.csv"), western).unwrap();
    let run = |arguments: &[&str]| {
        let output = cutspan(folder.path(), arguments);
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    };
    run(&["new", "west.toml", "--table", "west.csv", "--group", "region"]);
    let text = std::fs::read_to_string(folder.path().join("west.toml")).unwrap();
    assert!(text.contains("encoding = \"windows-1252\"") && text.contains("# seen: Köln, south"), "{text}");
    run(&["check", "west.toml"]);
}

#[test]
fn the_piece_that_a_group_of_ones_own_lacks_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let whole = written(folder.path(), &of_regions(), &["--group", "region"]);
    let said = |text: &str| parse(text, "s.toml", folder.path()).unwrap_err().to_string();
    let (before, after) = whole.split_once("[[define.group]]\nname = \"region\"").unwrap();
    let no_group = format!("{before}{}", after.split_once("source = \"this study\"\n").unwrap().1);
    let lacking = said(&no_group);
    assert!(
        lacking.contains("\"region\" is a quantity; to split people by it add [[define.group]]"),
        "{lacking}"
    );
    assert!(lacking.contains("column = \"region\" and source"), "{lacking}");
    let no_quantity = whole.split_once("[[define.quantity]]").unwrap().0;
    let lacking = said(&no_quantity.replace("groups = [\"region\"]", "groups = [\"sex\"]"));
    assert!(
        lacking.contains("unknown quantity \"region\"") && lacking.contains("[[define.quantity]] with name"),
        "{lacking}"
    );
}

#[test]
fn the_examples_of_rows_of_ones_own_can_be_switched_on() {
    let folder = tempfile::tempdir().unwrap();
    let text = written(folder.path(), CLINIC, &[]);
    let mut on = false;
    let switched = |line: &str| {
        on = (on || line.starts_with("# [[define.")) && !line.is_empty();
        if on { line.trim_start_matches("# ") } else { line }.to_owned()
    };
    let switched = text.lines().map(switched).collect::<Vec<_>>().join("\n");
    let named = switched
        .replace("indices = [", "indices = [\"insulin_by_waist\", ")
        .replace("outcomes = [", "outcomes = [\"insulin_from_15\", ")
        .replace("groups = [\"sex\"", "groups = [\"age_at_50\", \"sex\"");
    let study = parse(&named, "s.toml", folder.path()).unwrap();
    assert_eq!(study.indices[0].row.name, "insulin_by_waist");
    assert_eq!(study.outcomes[0].row.name, "insulin_from_15");
    assert_eq!(study.variables[0].name, "age_at_50");
}

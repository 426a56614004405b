//! The schema of a study file: accepts what the reader accepts, has the reader's keys, and refuses a slip.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use cutspan::study::{parse, schema};
use serde_json::Value;

/// What a value breaks, by its place in the file. Knows the part of JSON Schema that is used here.
fn breaks(whole: &Value, schema: &Value, value: &Value, place: &str) -> Vec<String> {
    if let Some(name) = schema["$ref"].as_str() {
        let definition = whole.pointer(name.trim_start_matches('#')).unwrap_or_else(|| panic!("{name}"));
        return breaks(whole, definition, value, place);
    }
    if let Some(choices) = schema["anyOf"].as_array() {
        let fits = choices.iter().any(|choice| breaks(whole, choice, value, place).is_empty());
        return if fits { Vec::new() } else { vec![format!("{place}: none of the forms fits {value}")] };
    }
    let mut found = Vec::new();
    if schema["enum"].as_array().is_some_and(|names| !names.contains(value)) {
        found.push(format!("{place}: {value} is not among the known names"));
    }
    if !is_of_type(&schema["type"], value) {
        found.push(format!("{place}: {value} is not of type {}", schema["type"]));
    }
    if let (Some(least), Some(number)) = (schema["minimum"].as_f64(), value.as_f64())
        && number < least
    {
        found.push(format!("{place}: {number} is below {least}"));
    }
    for (position, item) in value.as_array().into_iter().flatten().enumerate() {
        found.extend(breaks(whole, &schema["items"], item, &format!("{place}[{position}]")));
    }
    let Some(object) = value.as_object() else { return found };
    for name in schema["required"].as_array().into_iter().flatten().filter_map(Value::as_str) {
        if !object.contains_key(name) {
            found.push(format!("{place}: {name} is missing"));
        }
    }
    for (name, others) in schema["dependentRequired"].as_object().into_iter().flatten() {
        let needed = others.as_array().into_iter().flatten().filter_map(Value::as_str);
        for other in needed.filter(|other| object.contains_key(name) && !object.contains_key(*other)) {
            found.push(format!("{place}: {name} needs {other}"));
        }
    }
    for (name, inner) in object {
        let place = format!("{place}.{name}");
        match (schema["properties"].get(name), &schema["additionalProperties"]) {
            (Some(own), _) => found.extend(breaks(whole, own, inner, &place)),
            (None, Value::Bool(false)) => found.push(format!("{place}: no such key")),
            (None, others) => found.extend(breaks(whole, others, inner, &place)),
        }
    }
    found
}

fn is_of_type(wanted: &Value, value: &Value) -> bool {
    let is = |name: &str| match name {
        "string" => value.is_string(),
        "number" => value.is_number(),
        "integer" => value.is_i64() || value.is_u64(),
        "boolean" => value.is_boolean(),
        "array" => value.is_array(),
        "object" => value.is_object(),
        other => panic!("{other} is not checked here"),
    };
    match wanted {
        Value::Null => true,
        Value::Array(several) => several.iter().filter_map(Value::as_str).any(is),
        one => one.as_str().is_some_and(is),
    }
}

fn judged(text: &str) -> Vec<String> {
    let value: Value = toml::from_str(text).unwrap();
    breaks(&schema(), &schema(), &value, "")
}

fn study_files() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folders = ["pipelines", "pipelines/published", "tests/fixtures/study"];
    let entries = folders.iter().flat_map(|folder| fs::read_dir(root.join(folder)).unwrap());
    let files = entries.map(|entry| entry.unwrap().path());
    let mut files: Vec<_> = files.filter(|path| path.extension().is_some_and(|e| e == "toml")).collect();
    files.sort();
    files
}

#[test]
fn every_study_that_comes_with_the_program_fits_the_schema_as_written_and_as_resolved() {
    let files = study_files();
    assert!(files.len() >= 20, "{files:?}");
    for file in files {
        let text = fs::read_to_string(&file).unwrap();
        assert_eq!(judged(&text), [] as [String; 0], "{}", file.display());
        let study = parse(&text, "study.toml", file.parent().unwrap()).unwrap();
        assert_eq!(judged(&study.resolved_toml), [] as [String; 0], "{} resolved", file.display());
    }
}

#[test]
fn a_slip_breaks_the_schema() {
    let good = include_str!("../fixtures/study/small.toml");
    for (from, to, said) in [
        ("title =", "titel =", ".titel: no such key"),
        ("exclude =", "exclud =", ".cohort.exclud: no such key"),
        ("survey = \"table\"", "survey = \"tabel\"", "not among the known names"),
        ("replicates = 200", "replicates = \"200\"", "is not of type"),
        (
            "{ rule = \"sensitivity_at_least\", value",
            "{ rule = \"sensitivity_at_least\", valu",
            "none of the forms",
        ),
        ("column = \"FPG\"", "colum = \"FPG\"", ".colum: no such key"),
        ("replicates = 200", "replicates = -200", "below 0"),
    ] {
        assert!(good.contains(from), "{from}");
        let found = judged(&good.replacen(from, to, 1));
        assert!(found.iter().any(|line| line.contains(said)), "{to}: {found:?}");
    }
}

/// The keys that the reader names when it meets one it does not know.
fn keys_of_the_reader(text: &str) -> BTreeSet<String> {
    let said = parse(text, "study.toml", Path::new(".")).unwrap_err().to_string();
    assert!(said.contains("unknown key `zz`"), "{text}: {said}");
    // Slips of other sections follow on lines of their own.
    let expected =
        said.lines().next().unwrap().split_once(", expected ").unwrap().1.split(". Did you").next().unwrap();
    expected.split('`').skip(1).step_by(2).map(str::to_owned).collect()
}

/// What the checker asks for besides, the schema asks for too.
#[test]
fn cuts_need_labels_and_an_index_a_value_in_schema_and_checker() {
    let good = include_str!("../fixtures/study/small.toml");
    let group = "\n[[define.group]]\nname = \"g\"\nlabel = \"g\"\ncolumn = \"age_years\"\nsource = \"s\"\ncuts = [50, 65]\n";
    let text = format!("{good}{group}");
    assert!(judged(&text).iter().any(|line| line.ends_with("cuts needs labels")), "{:?}", judged(&text));
    let error = parse(&text, "study.toml", Path::new(".")).unwrap_err();
    let said = format!("{:#}", anyhow::Error::from(error));
    assert!(
        said.contains("labels = [\"under 50\", \"50 to under 65\", \"65 and over\"]; labels holds 0"),
        "{said}"
    );
    let full = format!("{text}labels = [\"a\", \"b\", \"c\"]\n");
    assert!(
        judged(&full).is_empty() && parse(&full, "study.toml", Path::new(".")).is_ok(),
        "{:?}",
        judged(&full)
    );
    let half = good.replacen("value = 2.5\nsource = \"often quoted\"", "source = \"often quoted\"", 1);
    assert!(
        half != good && judged(&half).iter().any(|line| line.ends_with("index needs value")),
        "{:?}",
        judged(&half)
    );
}

#[test]
fn the_schema_has_the_keys_of_the_reader() {
    let sections = [
        ("", "zz = 1"),
        ("source", "[[source]]\nzz = 1"),
        ("column", "[[source]]\n[source.columns]\nglucose = { zz = 1 }"),
        ("cohort", "[cohort]\nzz = 1"),
        ("age", "[cohort]\nage = { zz = 1 }"),
        ("analysis", "[analysis]\nzz = 1"),
        ("reference", "[[analysis.reference]]\nzz = 1"),
        ("threshold", "[[analysis.threshold]]\nzz = 1"),
        ("curves", "[analysis.curves]\nzz = 1"),
        ("output", "[output]\nzz = 1"),
        ("mixture", "[analysis.mixture]\nzz = 1"),
        ("standardize", "[analysis.standardize]\nzz = 1"),
        ("sensitivity", "[sensitivity]\nzz = 1"),
        ("sensitivity_exclusions", "[[sensitivity.exclusions]]\nzz = 1"),
        ("route", "[[sensitivity.route]]\nzz = 1"),
        ("rule", "[analysis]\nrules = [{ zz = 1 }]"),
        ("resampling", "[resampling]\nzz = 1"),
        ("check", "[[check]]\nzz = 1"),
        ("other_row", "[[check]]\ngreater_than = { zz = 1 }"),
        ("define", "[define]\nzz = 1"),
        ("define_quantity", "[[define.quantity]]\nzz = 1"),
        ("unit", "[[define.quantity]]\nunit = [{ zz = 1 }]"),
        ("define_index", "[[define.index]]\nzz = 1"),
        ("worked", "[[define.index]]\nworked = [{ zz = 1 }]"),
        ("define_outcome", "[[define.outcome]]\nzz = 1"),
        ("define_exclusion", "[[define.exclusion]]\nzz = 1"),
        ("define_group", "[[define.group]]\nzz = 1"),
    ];
    let schema = schema();
    assert_eq!(schema["$defs"].as_object().unwrap().len() + 1, sections.len());
    for (name, text) in sections {
        let own = if name.is_empty() { &schema } else { &schema["$defs"][name] };
        let properties = own["properties"].as_object().unwrap_or_else(|| panic!("no section {name}"));
        let keys: BTreeSet<String> = properties.keys().cloned().collect();
        assert_eq!(keys, keys_of_the_reader(text), "{name}");
        for (key, property) in properties {
            assert!(property["description"].as_str().is_some_and(|what| what.len() > 3), "{name}.{key}");
        }
    }
}

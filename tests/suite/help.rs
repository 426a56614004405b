//! Help: every example in it is run, and what it promises is there.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use crate::end_to_end::{demo_run, few_replicates};

/// The example that the others build on: another suite has run it as it stands.
const DEMO: &str = "cutspan demo";
const VERBS: [&str; 13] = [
    "demo",
    "new",
    "run",
    "check",
    "claim",
    "place",
    "plan",
    "data",
    "list",
    "invent",
    "schema",
    "completions",
    "man",
];

/// Runs a line as a shell would, with the program on the path, in a folder with the project's files.
fn shell(folder: &Path, line: &str) -> Output {
    let program = Path::new(env!("CARGO_BIN_EXE_cutspan")).parent().unwrap();
    let path = format!("{}:{}", program.display(), std::env::var("PATH").unwrap_or_default());
    Command::new("sh")
        .args(["-c", line])
        .current_dir(folder)
        .env("PATH", path)
        .env("COLUMNS", "200")
        .env_remove("CUTSPAN_DATA")
        .output()
        .unwrap()
}

fn help(folder: &Path, verb: &str) -> String {
    let output = shell(folder, &format!("cutspan {verb} --help"));
    assert_eq!(output.status.code(), Some(0), "{verb}");
    String::from_utf8(output.stdout).unwrap()
}

/// Lines of a help text that begin with the program's name, with what continues them. A remark beside a line
/// stands three blanks or more away.
fn examples(help: &str) -> Vec<String> {
    let parts: Vec<&str> = help.split("\\\n").map(str::trim_start).collect();
    let joined = parts.join(" ");
    let lines = joined.lines().map(str::trim).filter(|line| line.starts_with("cutspan "));
    let commands = lines.map(|line| line.split("   ").next().unwrap_or_default().to_owned());
    commands.filter(|line| !line.contains("VERB")).collect()
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let target = to.join(path.file_name().unwrap());
        if path.is_dir() {
            copy(&path, &target);
        } else {
            fs::copy(&path, target).unwrap();
        }
    }
}

/// Replaces the run of the demo by one with few replicates, which is soon made anew.
fn shorten(folder: &Path) {
    fs::write(folder.join("pipelines/demo.toml"), few_replicates()).unwrap();
    let run = shell(folder, "cutspan run pipelines/demo.toml --out out");
    assert_eq!(run.status.code(), Some(0), "{}", String::from_utf8_lossy(&run.stderr));
}

/// Values of the named columns in all tables of a run.
fn words(run: &Path, wanted: &[&str]) -> BTreeSet<String> {
    let mut all = BTreeSet::new();
    for entry in fs::read_dir(run.join("tables")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|extension| extension != "csv") {
            continue;
        }
        let mut reader = csv::Reader::from_path(&path).unwrap();
        let columns = reader.headers().unwrap().clone();
        let places: Vec<usize> = (0..columns.len()).filter(|&c| wanted.contains(&&columns[c])).collect();
        for record in reader.records().map(Result::unwrap) {
            all.extend(places.iter().map(|&place| record[place].to_owned()));
        }
    }
    all
}

/// `script` gives the program a terminal on its error and input, while its answer goes into a file.
#[cfg(unix)]
#[test]
fn an_answer_in_a_file_is_the_same_whatever_terminal_it_was_asked_for_in() {
    let folder = tempfile::tempdir().unwrap();
    let answer = |columns: u16| {
        let command = format!(
            "stty cols {columns} rows 30 && '{}' list rules > rules.txt",
            env!("CARGO_BIN_EXE_cutspan")
        );
        let mut script = Command::new("script");
        script.args(["-qec", &command, "/dev/null"]).current_dir(folder.path()).stdin(Stdio::null());
        let ran = script.output().is_ok_and(|output| output.status.success());
        ran.then(|| fs::read_to_string(folder.path().join("rules.txt")).unwrap())
    };
    let (Some(narrow), Some(broad)) = (answer(50), answer(400)) else {
        eprintln!("skipped: no `script` that gives a terminal");
        return;
    };
    assert!(narrow.contains("youden"), "{narrow}");
    assert_eq!(narrow, broad);
}

/// One folder for all of it, because the examples build on each other: `demo` makes the run that `claim` and
/// `place` are asked about.
#[test]
fn every_example_in_the_help_runs_as_it_stands() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for name in ["pipelines", "data-public"] {
        copy(&root.join(name), &folder.join(name));
    }
    let (mut run, mut short) = (BTreeSet::new(), false);
    let texts = VERBS.map(|verb| (verb, help(folder, verb)));
    for (verb, text) in [("", help(folder, ""))].iter().chain(&texts) {
        let lines = examples(text);
        assert!(lines.len() >= 2, "{verb} has {} examples", lines.len());
        for line in lines {
            // Official files are not at hand; what is not there cannot be shown.
            let official =
                ["pipelines/nhanes", "data verify", "data get"].iter().any(|part| line.contains(part));
            if official || !run.insert(line.clone()) {
                continue;
            }
            if line == DEMO {
                copy(&demo_run().join("out"), &folder.join("out"));
                continue;
            }
            if line.contains("--against") && !short {
                shorten(folder);
                short = true;
            }
            let output = shell(folder, &line);
            let said = String::from_utf8_lossy(&output.stderr).into_owned();
            assert_eq!(output.status.code(), Some(0), "{line}\n{said}");
        }
    }
    assert!(run.len() >= 25 && run.contains(DEMO) && short, "{run:#?}");
    every_word_of_a_table_is_explained(folder);
    the_pages_of_the_manual_are_complete(folder);
}

fn every_word_of_a_table_is_explained(folder: &Path) {
    let listed = |kind: &str| {
        let text = shell(folder, &format!("cutspan list {kind} --format csv")).stdout;
        let mut reader = csv::Reader::from_reader(text.as_slice());
        reader.records().map(|record| record.unwrap()[0].to_owned()).collect::<Vec<_>>()
    };
    let (methods, rules) = (listed("methods"), listed("rules"));
    let used = words(&folder.join("out"), &["method", "interval"]);
    assert!(used.len() > 8, "{used:?}");
    for word in used.iter().filter(|word| !word.is_empty()) {
        let known = methods.contains(word)
            || rules.iter().any(|rule| word.starts_with(rule.as_str()))
            || word.strip_prefix("percentile_").is_some_and(|number| number.parse::<f64>().is_ok());
        assert!(known, "{word} is not in cutspan list methods");
    }
}

fn the_pages_of_the_manual_are_complete(folder: &Path) {
    for verb in VERBS {
        let page = fs::read_to_string(folder.join(format!("man/cutspan-{verb}.1"))).unwrap();
        assert!(page.contains(".SH SYNOPSIS") && page.contains("exit codes"), "{verb}");
    }
    assert!(folder.join("man/cutspan.1").exists());
}

#[test]
fn long_help_says_what_comes_out_and_that_of_the_program_units_and_exit_codes() {
    let here = Path::new(".");
    for verb in VERBS {
        let text = help(here, verb);
        assert!(text.contains("Output: ") && text.contains("Units and exit codes: cutspan --help"), "{verb}");
        assert!(!text.contains("Exit codes: 0 done;") && !text.contains("Units: a column"), "{verb}");
    }
    let program = help(here, "");
    assert!(program.contains("Exit codes: 0 done;") && program.contains("Units: a column"), "{program}");
    let listed = program.split("Commands:").nth(1).unwrap().split("Options:").next().unwrap();
    let words: Vec<&str> = listed.lines().filter_map(|line| line.split_whitespace().next()).collect();
    for word in words.iter().filter(|word| line_is_verb(listed, word) && **word != "help") {
        assert!(VERBS.contains(word), "{word} has no help test");
    }
    for verb in VERBS {
        assert!(words.contains(&verb), "{verb} is not in {listed}");
    }
}

/// Verbs stand two blanks in; their text further.
fn line_is_verb(listed: &str, word: &str) -> bool {
    listed.lines().any(|line| line.starts_with(&format!("  {word} ")))
}

#[test]
fn completions_are_written_for_every_shell() {
    for shell_name in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let text = shell(Path::new("."), &format!("cutspan completions {shell_name}")).stdout;
        let text = String::from_utf8(text).unwrap();
        assert!(text.contains("check") && text.contains("resolved"), "{shell_name}");
        // The generators for the other two know no values of options.
        if ["bash", "zsh", "fish"].contains(&shell_name) {
            assert!(text.contains("homa_ir") && text.contains("raised_a1c"), "{shell_name} completes names");
        }
    }
}

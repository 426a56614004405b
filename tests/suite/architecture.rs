//! The one-way rule, what estimators, drawings and the page may see, and the study files that come with the program.

use std::fs;
use std::path::{Path, PathBuf};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files.extend(rust_files(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            files.push(path);
        }
    }
    files
}

fn files_of(module: &str) -> Vec<PathBuf> {
    let src = root().join("src");
    let single = src.join(format!("{module}.rs"));
    if single.exists() { vec![single] } else { rust_files(&src.join(module)) }
}

fn modules_in_flow_order() -> Vec<String> {
    let lib = fs::read_to_string(root().join("src/lib.rs")).unwrap();
    let name = |line: &str| Some(line.strip_prefix("pub mod ")?.strip_suffix(';')?.to_owned());
    lib.lines().filter_map(name).collect()
}

#[test]
fn no_module_uses_one_declared_below_it() {
    let order = modules_in_flow_order();
    assert_eq!(order.first().map(String::as_str), Some("stats"));
    assert_eq!(order.last().map(String::as_str), Some("cli"));
    for (rank, module) in order.iter().enumerate() {
        for file in files_of(module) {
            let text = fs::read_to_string(&file).unwrap();
            assert!(!text.contains("super::super"), "{}", file.display());
            assert!(!text.contains("use crate::{"), "{}: one `use` line a module", file.display());
            for later in &order[rank + 1..] {
                for used in [format!("crate::{later}::"), format!("crate::{later};")] {
                    assert!(
                        !text.contains(&used),
                        "{} uses `{later}`, which comes later in the flow",
                        file.display()
                    );
                }
            }
        }
    }
}

#[test]
fn estimators_import_nothing_of_ours_and_pictures_see_tables_only() {
    // The page sees what is placed, claimed and asked as well, and never a source, a person or a sum over people.
    let of_the_page = ["analysis", "chart", "definitions", "notice", "report", "stats", "study", "table"];
    let allowed: [(&str, &[&str]); 3] =
        [("stats", &["stats"]), ("chart", &["table", "chart", "stats"]), ("report", &of_the_page)];
    for (module, may) in allowed {
        let mut seen = 0;
        for file in files_of(module) {
            // What turns a study's names into labels stands apart from what draws.
            if file.ends_with("of_study.rs") {
                continue;
            }
            for rest in fs::read_to_string(&file).unwrap().split("crate::").skip(1) {
                let used = rest.split(|c: char| !(c.is_alphanumeric() || c == '_')).next().unwrap();
                assert!(may.contains(&used), "{} uses `{used}`", file.display());
                seen += 1;
            }
        }
        assert!(seen > 10, "{module}: {seen}");
    }
}

#[test]
fn every_study_file_that_comes_with_the_program_can_be_read() {
    let mut read = 0;
    for entry in fs::read_dir(root().join("pipelines")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|e| e == "toml") {
            let study = cutspan::study::load(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
            assert!(!study.indices.is_empty());
            read += 1;
        }
    }
    assert!(read >= 6, "{read}");
}

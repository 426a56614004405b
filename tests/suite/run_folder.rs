//! A run by the real program whose answer cannot be heard, or whose folder holds somebody's files.

use std::fs::{self, File};
use std::path::Path;
use std::process::{Command, Output, Stdio};

use super::wrong_input::{STUDY, TABLE};

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("people.csv"), TABLE).unwrap();
    fs::write(folder.path().join("study.toml"), STUDY).unwrap();
    folder
}

fn cutspan(folder: &Path, arguments: &[&str], stdout: Stdio) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_cutspan"));
    command.args(arguments).current_dir(folder).env_remove("CUTSPAN_DATA");
    command.stdout(stdout).output().unwrap()
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// A pipe that nobody reads.
fn closed() -> Stdio {
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    writer.into()
}

#[test]
fn a_run_that_nobody_listens_to_ends_as_if_somebody_did() {
    let folder = folder();
    let here = folder.path();
    let run = cutspan(here, &["run", "study.toml"], closed());
    assert_eq!(run.status.code(), Some(0), "{}", said(&run));
    assert!(said(&run).contains("more notices stand in the report"), "{}", said(&run));
    assert!(here.join("out/run.json").is_file());
    for quiet in [&["list", "indices"][..], &["schema"], &["check", "study.toml"], &["man", "--out", "man"]] {
        let output = cutspan(here, quiet, closed());
        assert_eq!((output.status.code(), said(&output).as_str()), (Some(0), ""), "{quiet:?}");
    }
    // The exit code stays that of the command: here a table was changed.
    let file = here.join("out/tables/participant_flow.csv");
    let text = fs::read_to_string(&file).unwrap();
    fs::write(&file, text.replacen("12", "13", 1)).unwrap();
    let output = cutspan(here, &["check", "--against", "out"], closed());
    assert_eq!(output.status.code(), Some(1), "{}", said(&output));
}

#[cfg(target_os = "linux")]
#[test]
fn an_answer_that_cannot_be_written_is_an_error_and_the_result_is_made() {
    let folder = folder();
    let here = folder.path();
    let full = || Stdio::from(File::options().write(true).open("/dev/full").unwrap());
    let run = cutspan(here, &["run", "study.toml"], full());
    assert_eq!(run.status.code(), Some(2), "{}", said(&run));
    assert!(said(&run).contains("cannot be written to standard output"), "{}", said(&run));
    assert!(said(&run).contains("more notices stand in the report") && !said(&run).contains("panicked"));
    assert!(here.join("out/run.json").is_file());
    assert_eq!(cutspan(here, &["list", "rules"], full()).status.code(), Some(2));
}

#[test]
fn a_new_run_deletes_no_file_that_the_earlier_one_did_not_make() {
    let folder = folder();
    let here = folder.path();
    let run = || cutspan(here, &["run", "study.toml"], Stdio::null());
    assert_eq!(run().status.code(), Some(0));
    assert_eq!(run().status.code(), Some(0), "its own files are replaced");
    fs::write(here.join("out/notes.txt"), "mine").unwrap();
    fs::write(here.join("out/charts/mine.png"), "mine").unwrap();
    let refused = run();
    assert_eq!(refused.status.code(), Some(2));
    let told = said(&refused);
    assert!(told.contains("did not make charts/mine.png, notes.txt, which a new run would delete"), "{told}");
    assert!(told.contains("choose another folder with --out"), "{told}");
    assert_eq!(fs::read_to_string(here.join("out/notes.txt")).unwrap(), "mine");
    fs::remove_file(here.join("out/notes.txt")).unwrap();
    fs::remove_file(here.join("out/charts/mine.png")).unwrap();
    assert_eq!(run().status.code(), Some(0));
}

/// `.` has no name of its own, and everything in it is replaced with it.
#[test]
fn a_run_into_the_folder_in_which_it_is_called_leaves_what_is_private_beside_it() {
    let folder = folder();
    let here = folder.path();
    fs::write(here.join("study.toml"), format!("public = false\n{STUDY}")).unwrap();
    let results = here.join("results");
    fs::create_dir(&results).unwrap();
    for time in ["into an empty folder", "in place of the first"] {
        let run = cutspan(&results, &["run", "../study.toml", "--out", "."], Stdio::piped());
        assert_eq!(run.status.code(), Some(0), "{time}: {}", said(&run));
        assert!(results.join("run.json").is_file() && here.join("results-private/tally").is_dir(), "{time}");
        let mut names: Vec<_> = fs::read_dir(here).unwrap().map(|entry| entry.unwrap().file_name()).collect();
        names.sort();
        assert_eq!(names, ["people.csv", "results", "results-private", "study.toml"], "{time}");
        #[cfg(target_os = "linux")]
        assert!(said(&run).contains("type cd . to see the new one"), "{}", said(&run));
    }
}

#[test]
fn a_folder_with_a_record_of_something_else_is_left_alone_before_anything_is_computed() {
    let folder = folder();
    let here = folder.path();
    fs::create_dir_all(here.join("proj/tables")).unwrap();
    fs::write(here.join("proj/run.json"), "{\"model\":\"x\"}").unwrap();
    fs::write(here.join("proj/tables/mine.csv"), "mine").unwrap();
    fs::remove_file(here.join("people.csv")).unwrap();
    let run = cutspan(here, &["run", "study.toml", "--out", "proj"], Stdio::null());
    assert_eq!(run.status.code(), Some(2));
    assert!(said(&run).contains("proj exists and is not the result of an earlier run"), "{}", said(&run));
    assert!(here.join("proj/tables/mine.csv").exists());
}

/// Ctrl-C, as a terminal sends it.
#[cfg(target_os = "linux")]
#[test]
fn a_run_that_is_stopped_leaves_nothing_and_says_so() {
    let folder = folder();
    let here = folder.path();
    let mut command = Command::new(env!("CARGO_BIN_EXE_cutspan"));
    command.args(["demo", "--out", "out"]).current_dir(here).stdout(Stdio::null()).stderr(Stdio::piped());
    let run = command.spawn().unwrap();
    let hidden = || {
        let entries = fs::read_dir(here).unwrap();
        entries.filter(|entry| entry.as_ref().unwrap().file_name().to_string_lossy().starts_with('.')).count()
    };
    while hidden() == 0 {
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
    // The folder gets its lock right after it is made.
    std::thread::sleep(std::time::Duration::from_millis(100));
    let kill = Command::new("kill").args(["-INT", &run.id().to_string()]).status().unwrap();
    assert!(kill.success());
    let run = run.wait_with_output().unwrap();
    assert_eq!(run.status.code(), None, "as a signal ends a program: {}", said(&run));
    assert!(
        said(&run).contains("stopped before the run was complete: out is as it was before"),
        "{}",
        said(&run)
    );
    assert_eq!(hidden(), 0);
    assert!(!here.join("out").exists());
}

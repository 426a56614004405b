//! Another study for a person whom this one does not include by age, among the study files at hand, and how it is asked.

use std::fs;
use std::path::{Path, PathBuf};

use super::shell::quoted;
use crate::definitions::answer::{Answer, Given};
use crate::finished::{Opened, Origin};
use crate::study::{Source, is_invented};

/// Folder of study files, from where the program is run.
const STUDIES: &str = "pipelines";
/// More than this many are no help.
const MOST: usize = 3;

/// Study files of the national survey that come with the program, named from where its source is.
const OF_NATIONAL_SURVEY: [(&str, &str); 2] = [
    (
        "pipelines/nhanes-2017-2020-adolescents.toml",
        include_str!("../../pipelines/nhanes-2017-2020-adolescents.toml"),
    ),
    ("pipelines/nhanes-2017-2020-adults.toml", include_str!("../../pipelines/nhanes-2017-2020-adults.toml")),
];

/// What a study file says of its people and itself.
struct Stated {
    title: String,
    from: f64,
    below: f64,
    /// Releases of a known survey that it reads, whose files must be got first.
    cycles: Vec<String>,
    /// Whether some of its people are made up.
    invented: bool,
}

/// Folder into which the official files are got.
const FILES: &str = "files";

/// Lines that name studies at hand whose stated ages hold the person's, who is too young or too old for this one, and
/// the commands that put the same options to the first.
pub(super) fn elsewhere(
    opened: &Opened,
    answers: &[Answer],
    (outside, typed): (&[String], &[(&str, String)]),
) -> Vec<String> {
    let Some(age) = age_outside(answers, outside) else { return Vec::new() };
    let (files, from) = of_age(opened, age);
    let Some((file, stated)) = files.first() else { return Vec::new() };
    let mut lines =
        vec![format!("A study that states this age: {}. To put the person to it{from}:", listed(&files))];
    lines.extend(commands(file, stated, typed));
    lines
}

/// Names studies at hand of some of the ages from the first number of years to below the second, the highest of them first.
pub(super) fn studies_of_ages(opened: &Opened, (from, below): (f64, f64)) -> Option<String> {
    let highest = below.min(OLDEST) - 1.0;
    let ages =
        std::iter::successors(Some(highest), |age| Some(age - 1.0)).take_while(|age| *age >= from.max(0.0));
    let (files, place) = ages.map(|age| of_age(opened, age)).find(|(files, _)| !files.is_empty())?;
    Some(format!("A study of such ages: {}{place}; run it, and ask that run", listed(&files)))
}

/// Nobody of more years is looked for.
const OLDEST: f64 = 120.0;

/// Study files at hand whose ages hold this one, else those of the national survey; and what is to be said of where these are.
fn of_age(opened: &Opened, age: f64) -> (Vec<(PathBuf, Stated)>, &'static str) {
    let files = at_hand(&opened.origin, age);
    let national = opened.study.sources.iter().any(|source| matches!(source, Source::Survey { .. }));
    if files.is_empty() && national {
        return (built_in(age), ", in the folder of the program's source");
    }
    (files, "")
}

fn listed(files: &[(PathBuf, Stated)]) -> String {
    let of = |(file, stated): &(PathBuf, Stated)| format!("{} ({})", file.display(), stated.title);
    files.iter().map(of).collect::<Vec<_>>().join("; ")
}

/// What to type: get the files, run the study, put the person to it.
fn commands(file: &Path, stated: &Stated, typed: &[(&str, String)]) -> Vec<String> {
    let mut commands: Vec<String> =
        stated.cycles.iter().map(|cycle| format!("cutspan data get {cycle} --to {FILES}")).collect();
    let data = if stated.cycles.is_empty() { String::new() } else { format!(" --data {FILES}") };
    let out = file.file_stem().unwrap_or_default().to_string_lossy();
    let out = quoted(&format!("out-{out}"));
    commands.push(format!("cutspan run {}{data} --out {out}", quoted(&file.to_string_lossy())));
    let options = typed.iter().map(|(flag, value)| format!("{flag} {}", quoted(value)));
    let words: Vec<String> = [format!("cutspan place {out}")].into_iter().chain(options).collect();
    commands.push(words.join(" "));
    commands
}

/// The person's age, where it is outside the study's.
fn age_outside(answers: &[Answer], outside: &[String]) -> Option<f64> {
    outside.iter().find(|reason| reason.contains(" years"))?;
    let age = answers.iter().find(|answer| answer.quantity == "age")?;
    if let Given::Number { value, .. } = age.given { Some(value) } else { None }
}

/// Study files at hand whose ages hold this one.
fn at_hand(origin: &Origin, age: f64) -> Vec<(PathBuf, Stated)> {
    let mut files: Vec<(PathBuf, Stated)> =
        folders(origin).iter().flat_map(|folder| studies(folder)).collect();
    files.retain(|(_, stated)| stated.holds(age) && !stated.invented);
    files.truncate(MOST);
    files
}

/// Study files of the national survey whose ages hold this one, by their names.
fn built_in(age: f64) -> Vec<(PathBuf, Stated)> {
    let files = OF_NATIONAL_SURVEY.iter();
    let read = files.filter_map(|(file, text)| Some((PathBuf::from(file), stated(text)?)));
    read.filter(|(_, stated)| stated.holds(age)).collect()
}

impl Stated {
    fn holds(&self, age: f64) -> bool {
        self.from <= age && age < self.below
    }
}

fn folders(origin: &Origin) -> Vec<PathBuf> {
    let beside = match origin {
        Origin::StudyFile(file) => file.parent().map(Path::to_owned),
        Origin::Run(_) | Origin::Demo => None,
    };
    let mut folders: Vec<PathBuf> = beside.into_iter().collect();
    if folders.iter().all(|folder| !folder.ends_with(STUDIES)) {
        folders.push(PathBuf::from(STUDIES));
    }
    folders
}

/// The study files of a folder in the order of their names; what cannot be read is passed over.
fn studies(folder: &Path) -> Vec<(PathBuf, Stated)> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.path()).collect();
    files.retain(|file| file.extension().is_some_and(|ending| ending == "toml"));
    files.sort();
    files
        .into_iter()
        .filter_map(|file| Some((stated(&fs::read_to_string(&file).ok()?)?, file)))
        .map(|(s, f)| (f, s))
        .collect()
}

fn stated(text: &str) -> Option<Stated> {
    let study: toml::Table = text.parse().ok()?;
    let age = study.get("cohort")?.get("age")?;
    let number =
        |key: &str| age.get(key).and_then(|v| v.as_float().or_else(|| v.as_integer().map(|i| i as f64)));
    Some(Stated {
        title: study.get("title")?.as_str()?.to_owned(),
        from: number("from").unwrap_or(0.0),
        below: number("below").unwrap_or(f64::INFINITY),
        cycles: cycles(&study),
        invented: sources(&study).any(of_invented),
    })
}

/// The releases that its sources name.
fn cycles(study: &toml::Table) -> Vec<String> {
    sources(study).filter_map(|source| Some(source.get("cycle")?.as_str()?.to_owned())).collect()
}

fn sources(study: &toml::Table) -> impl Iterator<Item = &toml::Value> {
    study.get("source").and_then(toml::Value::as_array).into_iter().flatten()
}

fn of_invented(source: &toml::Value) -> bool {
    let name = source.get("name").and_then(toml::Value::as_str);
    is_invented(source.get("invented").and_then(toml::Value::as_bool), name.unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_commands_can_be_typed_as_they_stand() {
        let study = "title = \"t\"\n[[source]]\ncycle = \"2017-2020\"\n[cohort]\nage = { from = 12 }\n";
        let typed = [("--glucose", "101 mg/dL".to_owned()), ("--age", "15".to_owned())];
        let said = commands(Path::new("pipelines/teens.toml"), &stated(study).expect("ages"), &typed);
        assert_eq!(
            said,
            [
                "cutspan data get 2017-2020 --to files",
                "cutspan run pipelines/teens.toml --data files --out out-teens",
                "cutspan place out-teens --glucose '101 mg/dL' --age 15",
            ]
        );
    }

    #[test]
    fn the_national_survey_has_a_study_for_the_young_and_one_for_adults() {
        let names = |age: f64| -> Vec<String> {
            built_in(age).iter().map(|(file, _)| file.display().to_string()).collect()
        };
        assert_eq!(names(16.0), ["pipelines/nhanes-2017-2020-adolescents.toml"]);
        assert_eq!(names(47.0), ["pipelines/nhanes-2017-2020-adults.toml"]);
        assert!(names(5.0).is_empty());
        let (file, stated) = built_in(16.0).swap_remove(0);
        let said = commands(&file, &stated, &[]);
        assert_eq!(said[0], "cutspan data get 2017-2020 --to files");
    }

    #[test]
    fn a_study_is_named_for_people_of_ages_that_another_leaves_out() {
        let opened = crate::finished::open(None, &[]).expect("the demo");
        let of = |ages| studies_of_ages(&opened, ages).unwrap_or_default();
        for ages in [(13.0, 20.0), (f64::NEG_INFINITY, 18.0)] {
            let said = of(ages);
            assert!(
                said.starts_with("A study of such ages: pipelines/nhanes-2017-2020-adolescents.toml ("),
                "{said}"
            );
            assert!(said.ends_with("; run it, and ask that run"), "{said}");
        }
        assert_eq!(of((0.0, 4.0)), "");
    }

    #[test]
    fn a_study_states_its_ages() {
        let of = |age: &str| stated(&format!("title = \"t\"\n[cohort]\nage = {{ {age} }}\n"));
        let teens = of("from = 12, below = 20").expect("ages");
        assert_eq!((teens.from, teens.below), (12.0, 20.0));
        assert_eq!(of("from = 20").expect("ages").below, f64::INFINITY);
        assert!(stated("title = \"t\"\n").is_none());
        let invented = |source: &str| {
            let text = format!(
                "title = \"a reinvented clinic\"\n[[source]]\n{source}\n[cohort]\nage = {{ from = 12 }}\n"
            );
            stated(&text).expect("ages").invented
        };
        assert!(invented("name = \"v (invented)\"") && invented("name = \"v\"\ninvented = true"));
        assert!(!invented("name = \"reinvented clinic\""), "its title and name have the letters alone");
    }
}

//! `cutspan new`: a first study file, from a few options or a few questions.

use std::io::{self, IsTerminal, Write};
use std::path::{Component, Path, PathBuf};

use anyhow::{Context, Result, bail};
use clap::Args;

use super::questions::{Questions, names, threshold};
use super::say::say;
use crate::definitions::survey;
use crate::source;
use crate::study::{self, Draft, DraftSource, Map, guess};

/// Write a first study file with a comment on every section; an existing file is never overwritten.
///
/// Say where the data come from: a cycle of a known survey, or a table of one's own, whose header is read and
/// whose columns are guessed; both together make a study of two samples. On a terminal, what is left out is asked.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  cutspan new study.toml --cycle 2017-2020
  cutspan invent --people 900 --out invented && cutspan new clinic.toml --table invented/veldmark.csv --threshold homa_ir=2.5
  cutspan new beside.toml --table invented/veldmark.csv --cycle 2017-2020      two samples, compared
  cutspan new girls.toml --cycle 2015-2016,2017-2020 --index homa_ir,tyg --outcome raised_a1c --group sex,ancestry

Output: the study file, ready for cutspan check; its path is printed. What was guessed is marked \"check this\".")]
pub struct NewArgs {
    /// The file to write
    #[arg(value_name = "STUDY", default_value = "study.toml")]
    study: PathBuf,
    /// Cycles of a known survey, with commas (cutspan list surveys)
    #[arg(long, value_name = "CYCLES", value_delimiter = ',')]
    cycle: Vec<String>,
    /// The survey the cycles belong to
    #[arg(long, value_name = "NAME", default_value = survey::SURVEYS[0])]
    survey: String,
    /// A table of one's own (CSV, TSV, Parquet, SAS transport), one row per person
    #[arg(long, value_name = "FILE")]
    table: Option<PathBuf>,
    /// Indices, with commas (cutspan list indices); without it those that the data can give
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    index: Vec<String>,
    /// Outcomes, with commas (cutspan list outcomes, or a column of the table that holds yes and no); the word none for none
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    outcome: Vec<String>,
    /// Groups, with commas (cutspan list groups, or a column of the table with 2 to 8 texts); the word none for none. Two are crossed with ×, * or x: "sex x obesity"
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    group: Vec<String>,
    /// A threshold to judge in every group, such as `homa_ir=2`
    #[arg(long, value_name = "INDEX=VALUE")]
    threshold: Option<String>,
    /// Title of the study
    #[arg(long, value_name = "TEXT")]
    title: Option<String>,
}

pub fn run(args: &NewArgs) -> Result<()> {
    free(&args.study)?;
    let asks = args.cycle.is_empty() && args.table.is_none();
    if asks && !io::stdin().is_terminal() {
        bail!(
            "say where the data come from: --cycle 2017-2020 for the national survey, or --table FILE for a table of \
             your own; on a terminal the same is asked"
        );
    }
    let draft = if asks {
        let (input, output) = (io::stdin().lock(), io::stdout().lock());
        asked(&args.study, &mut Questions { input, output })?
    } else {
        from_options(args)?
    };
    write(&args.study, &draft)
}

/// A file that is there is left alone, before anything is asked.
fn free(study: &Path) -> Result<()> {
    if study.exists() {
        bail!("{}: is there already and is left alone; give another name", study.display());
    }
    Ok(())
}

fn from_options(args: &NewArgs) -> Result<Draft> {
    let (survey, cycles) = (args.survey.clone(), args.cycle.clone());
    let source = match args.table.as_deref().map(|file| table(&args.study, file)).transpose()? {
        Some(DraftSource::Table { name, file, map }) if !cycles.is_empty() => {
            DraftSource::Beside { name, file, map, survey, cycles }
        }
        Some(table) => table,
        None => DraftSource::Survey { survey, cycles },
    };
    let own = source.own_names();
    let given = |written: &[String], what| match written {
        [] => Ok(None),
        [none] if none == "none" => Ok(Some(Vec::new())),
        some => names(&some.join(","), what, &own).map(Some),
    };
    let draft = Draft {
        title: args.title.clone().unwrap_or_else(|| title(&source)),
        source,
        indices: given(&args.index, "index")?,
        outcomes: given(&args.outcome, "outcome")?,
        groups: given(&args.group, "group")?,
        threshold: args.threshold.as_deref().map(threshold).transpose()?,
    };
    Ok(draft)
}

/// The same by questions; an empty answer takes what is offered.
fn asked<I: io::BufRead, O: Write>(study: &Path, questions: &mut Questions<I, O>) -> Result<Draft> {
    let cycles = survey::cycles(survey::SURVEYS[0]).unwrap_or_default();
    questions.say("An empty answer takes what stands in brackets. Everything can be changed in the file.")?;
    let source =
        questions.ask("Where are the data? Path of a table, or a survey cycle", "2017-2020", |answer| {
            let listed: Vec<String> = answer.split(',').map(|cycle| cycle.trim().to_owned()).collect();
            if listed.iter().all(|cycle| cycles.contains(cycle)) {
                return Ok(DraftSource::Survey { survey: survey::SURVEYS[0].to_owned(), cycles: listed });
            }
            table(study, Path::new(answer))
        })?;
    let usual = "those that the data can give";
    let own = source.own_names();
    let mut choose = |question: &str, what| {
        questions.ask(question, usual, |answer| match answer {
            _ if answer == usual => Ok(None),
            "none" => Ok(Some(Vec::new())),
            some => names(some, what, &own).map(Some),
        })
    };
    let indices = choose("Indices, with commas (cutspan list indices)", "index")?;
    let outcomes = choose("Outcomes, with commas, or none (cutspan list outcomes)", "outcome")?;
    let groups = choose("Groups, with commas, or none (cutspan list groups)", "group")?;
    let threshold = questions.ask("Threshold to judge in every group, or none", "homa_ir=2", |answer| {
        if answer == "none" { Ok(None) } else { threshold(answer).map(Some) }
    })?;
    Ok(Draft { title: title(&source), source, indices, outcomes, groups, threshold })
}

fn title(source: &DraftSource) -> String {
    match source {
        DraftSource::Survey { survey, cycles } => {
            let label = survey::survey(survey).map_or(survey.as_str(), |known| known.label.as_str());
            format!("Cutoffs for insulin resistance, {label} {}", cycles.join(" and "))
        }
        DraftSource::Table { name, .. } => format!("Cutoffs for insulin resistance, {name}"),
        DraftSource::Beside { name, survey, cycles, .. } => {
            let label = survey::survey(survey).map_or(survey.as_str(), |known| known.label.as_str());
            format!("Cutoffs for insulin resistance, {name} beside {label} {}", cycles.join(" and "))
        }
    }
}

/// A table whose columns are guessed by their names and first values.
fn table(study: &Path, file: &Path) -> Result<DraftSource> {
    if !file.is_file() {
        let what = if file.is_dir() { "a folder, not a table" } else { "no such file" };
        bail!(
            "{}: {what}; give a CSV, TSV, Parquet or SAS transport file, or a cycle such as 2017-2020 (cutspan list surveys)",
            file.display()
        );
    }
    let peek = source::peek(file)?;
    let map = guess(&peek.columns);
    let map = Map {
        separator: peek.separator,
        decimal_comma: peek.decimal_comma,
        windows_1252: peek.windows_1252,
        ..map
    };
    let name = called(file, map.invented);
    let file = relative(study, file)?;
    Ok(DraftSource::Table { name, file, map })
}

/// What the people of a table are called as long as nobody says better: as in "In people.csv (own table), the best cutoff".
fn called(file: &Path, invented: bool) -> String {
    let name = |part: Option<&std::ffi::OsStr>| part.unwrap_or_default().to_string_lossy().into_owned();
    if invented {
        let stem = name(file.file_stem());
        return study::named_invented(stem.trim_end_matches(".csv").trim_end_matches(".tsv"));
    }
    format!("{} (own table)", name(file.file_name()))
}

/// The path of a file as the study file states it: from the study's own folder.
fn relative(study: &Path, file: &Path) -> Result<String> {
    let folder = study.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if !folder.is_dir() {
        bail!("{}: there is no folder {}; make it first", study.display(), folder.display());
    }
    let absolute =
        |path: &Path| path.canonicalize().with_context(|| format!("{} cannot be found", path.display()));
    let (from, to) = (absolute(folder)?, absolute(file)?);
    let shared = from.components().zip(to.components()).take_while(|(a, b)| a == b).count();
    let up = from.components().skip(shared).map(|_| Component::ParentDir);
    let way: PathBuf = up.chain(to.components().skip(shared)).collect();
    Ok(way.to_string_lossy().replace('\\', "/"))
}

/// Writes the file, after the same checks as `cutspan check` makes.
fn write(study: &Path, draft: &Draft) -> Result<()> {
    let text = draft.text();
    let folder = study.parent().unwrap_or(Path::new("."));
    let checked = study::parse(&text, &study.display().to_string(), folder);
    checked.context("what was asked for does not make a study; nothing was written")?;
    let file = std::fs::OpenOptions::new().write(true).create_new(true).open(study);
    let written = file.and_then(|mut file| file.write_all(text.as_bytes()));
    written.with_context(|| format!("{} cannot be written", study.display()))?;
    let study = study.display();
    say(format!("{study}\nNext: look for \"check this\" in it, then cutspan check {study}\n"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn questions_lead_to_a_study_and_a_wrong_answer_is_asked_again() {
        let answers = "2017-2020\nhoma-ir\nhoma_ir,tyg\n\nnone\nhoma_ir=2,5\nhoma_ir=2.5\n";
        let mut questions = Questions { input: answers.as_bytes(), output: Vec::new() };
        let draft = asked(Path::new("study.toml"), &mut questions).unwrap();
        assert_eq!(draft.indices, Some(vec!["homa_ir".to_owned(), "tyg".to_owned()]));
        assert_eq!((draft.outcomes.clone(), draft.groups.clone()), (None, Some(Vec::new())));
        assert_eq!(draft.threshold, Some(("homa_ir".to_owned(), 2.5)));
        let said = String::from_utf8(questions.output).unwrap();
        assert!(said.contains("Did you mean \"homa_ir\"?") && said.contains("after a point: 2.5"), "{said}");
        assert!(study::parse(&draft.text(), "study.toml", Path::new(".")).is_ok());
    }

    #[test]
    fn questions_end_when_there_are_no_more_answers() {
        let mut questions = Questions { input: "2018\n".as_bytes(), output: Vec::new() };
        let error = asked(Path::new("study.toml"), &mut questions).unwrap_err();
        assert!(error.to_string().contains("no answer"), "{error}");
    }
}

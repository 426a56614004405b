//! `cutspan place`: where one person's values stand.

use std::path::{Path, PathBuf};

use anyhow::{Result, anyhow, bail};
use clap::{Args, ValueEnum};
use serde_json::json;

use super::claim_names::index_told;
use super::claim_source::table_of_run;
use super::claim_write::picture;
use super::person::{FLAGS, Values, read, stated};
use super::place_drawn::Drawing;
use super::place_elsewhere::elsewhere;
use super::place_group::grouping;
use super::place_label::known_level;
use super::place_number::{insulin_factor, share, taken_in_full, unused};
use super::place_urgent::urgent_lines;
use super::say::{columns, say, tell};
use super::second::{factor_in, second};
use crate::analysis::{self, Person, Placed};
use crate::chart;
use crate::definitions::Quantity;
use crate::definitions::answer::Answer;
use crate::finished::{self, Opened};
use crate::output::VERSION;
use crate::report::{
    NOT_TO_BE_SHARED, PlaceCitation, PlaceInput, place_json, place_lines, place_markdown, place_text,
};

/// Width of the text when the terminal does not say.
const USUAL_WIDTH: usize = 110;
/// No line is broken earlier, however narrow the terminal is.
const LEAST_WIDTH: usize = 60;
/// Asks for the embedded survey of invented people.
const DEMO: &str = "demo";
/// The table of a run that holds its tests between groups.
const TESTS: &str = "heterogeneity";

/// Where one person's values stand: percentiles, thresholds and cutoffs in the person's groups.
///
/// Values are written with their unit (5.6mmol/L); a value without one is refused, not guessed. `unknown`
/// is the same as leaving a value out. Nothing is stored. This is not a diagnosis.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  cutspan place out --glucose 101mg/dL --insulin 9.8uIU/mL \\
    --sex female --age 47 --bmi 31 --fasting-hours 10 --pregnant no \\
    --diabetes no --insulin-treated no --glucose-drug no --assay Tosoh
  cutspan place out --glucose 5.6mmol/L --insulin 59pmol/L \\
    --insulin-factor 6.00 --sex male --age 52
  cutspan place demo --glucose 101mg/dL --insulin 9.8uU/mL \\
    --second \"glucose=96mg/dL,insulin=7uU/mL,months=6\"

Output: on standard output, which cutoff fits the person, on which side of it
the values lie, and where they stand among the people of the study; without a
value, the cutoffs of the groups that the person belongs to. It is not a
diagnosis.")]
pub struct PersonArgs {
    /// Output folder of a finished run, a study file, or the word demo (invented people)
    #[arg(value_name = "OUT_OR_STUDY")]
    from: PathBuf,
    #[command(flatten)]
    values: Values,
    /// Any other quantity of the study, as NAME=VALUE (cutspan list quantities); may be given several times
    #[arg(long = "value", value_name = "NAME=VALUE")]
    others: Vec<String>,
    /// pmol/L of insulin in 1 uU/mL, where insulin is given in pmol/L: 6.00, 6.945 or unknown
    #[arg(long, value_name = "FACTOR", allow_negative_numbers = true)]
    insulin_factor: Option<String>,
    /// Insulin assay, as the laboratory calls it, or unknown
    #[arg(long, value_name = "NAME")]
    assay: Option<String>,
    /// The same person later: "glucose=…,insulin=…,months=6"; also weeks=8 or days=10, any option's name, assay=… and
    /// insulin-factor=…; the age is counted on
    #[arg(long, value_name = "VALUES")]
    second: Option<String>,
    /// Compare within this grouping of the study alone: "sex × obesity", or a group as printed or in everyday words (obese women); without it within each of the
    /// smallest groups
    #[arg(long, value_name = "GROUPING")]
    group: Option<String>,
    /// How much the index varies within one person from day to day, in percent, in place of the built-in one
    #[arg(long, value_name = "PERCENT", allow_negative_numbers = true)]
    within_person_cv: Option<String>,
    /// How much the index varies by assay, in percent, in place of the built-in one
    #[arg(long, value_name = "PERCENT", allow_negative_numbers = true)]
    analytical_cv: Option<String>,
    /// Indices of the study to show, by name, with commas; without it all, and of those that say the same one
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    index: Vec<String>,
    /// List every index, group, rule, outcome and published cutoff, with an explanation of every column
    #[arg(long)]
    all: bool,
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Also draw where the value lies into this file (.svg or .png): of the first index, or of those named with --index
    #[arg(long, value_name = "FILE")]
    chart: Option<PathBuf>,
    /// Folder that holds the official files of a known survey, for a study file
    #[arg(long, value_name = "FOLDER", env = "CUTSPAN_DATA")]
    data: Vec<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    Text,
    Markdown,
    Json,
}

pub fn run(args: &PersonArgs) -> Result<()> {
    let picture = args.chart.as_deref().map(picture).transpose()?;
    let from = if args.from == Path::new(DEMO) && !args.from.exists() { None } else { Some(&*args.from) };
    let opened = finished::open(from, &args.data)?;
    let placed = placed(args, &opened);
    let (person, placed) = placed.or_else(|error| act_first(args, &opened).and(Err(error)))?;
    let labels = chart::labels(&opened.study, &opened.tallies.survey);
    let citation = PlaceCitation {
        survey: opened.tallies.survey.clone(),
        title: opened.study.title.clone(),
        study_sha256: opened.study_sha256.clone(),
        version: VERSION.to_owned(),
    };
    let given = understood(&opened.study.quantities, &person.answers);
    let elsewhere = elsewhere(&opened, &person.answers, (&placed.standing.outside, &typed(args)));
    let input = PlaceInput {
        elsewhere: &elsewhere,
        placed: &placed,
        labels: &labels,
        given: &given,
        citation: &citation,
        flags: &FLAGS,
        all: args.all,
        asked: !args.index.is_empty(),
    };
    let text = match args.format {
        Format::Text => place_text(&input, width()),
        Format::Markdown => place_markdown(&input),
        Format::Json => format!("{}\n", serde_json::to_string_pretty(&place_json(&input))?),
    };
    let chart = args.chart.as_deref().zip(picture);
    let drawing = chart.map(|chart| Drawing::new(&input, chart, args.index.len().max(1)));
    // Before the answer: a picture of that name is of somebody else.
    drawing.iter().filter_map(Drawing::lacking).for_each(tell);
    say(text)?;
    rounded_factors(args).iter().chain(&unused_factors(args, &person)).for_each(tell);
    not_to_be_shared(&opened);
    // What comes before any index is said although there is none.
    if let Some(nothing) = placed.nothing() {
        return Err(nothing.into());
    }
    drawing.map_or(Ok(()), |drawing| drawing.save())
}

/// The person as typed, beside the people of the study.
fn placed(args: &PersonArgs, opened: &Opened) -> Result<(Person, Placed)> {
    let person = person(args, opened)?;
    let tests = table_of_run(&opened.origin, TESTS);
    let placed = analysis::place_by((&opened.study, &opened.tallies), tests.as_ref(), &person)?;
    Ok((person, placed))
}

/// What must be acted on first, of what can be read, where the rest stops the answer.
fn act_first(args: &PersonArgs, opened: &Opened) -> Result<()> {
    let factor = insulin_factor(args.insulin_factor.as_deref()).ok().and_then(|factor| factor.0);
    let others = args.others.iter().filter_map(|other| other.split_once('='));
    let others = others.map(|(name, value)| (name.trim().to_owned(), value.to_owned()));
    let written: Vec<(String, String)> = args.values.written().into_iter().chain(others).collect();
    let lines = urgent_lines(&opened.study, &written, (args.second.as_deref(), factor))?;
    if lines.is_empty() {
        return Ok(());
    }
    say(match args.format {
        Format::Text => place_lines(lines, Some(width())),
        Format::Markdown => place_lines(lines, None),
        Format::Json => format!("{}\n", serde_json::to_string_pretty(&json!({ "cautions": lines }))?),
    })
}

/// What is said of factors of insulin, of either date, that were typed rounded.
fn rounded_factors(args: &PersonArgs) -> Vec<String> {
    let then = args.second.as_deref().and_then(factor_in);
    args.insulin_factor.iter().chain(&then).filter_map(|factor| taken_in_full(factor)).collect()
}

/// What is said of factors of insulin, of either date, of which no value makes use. That of the first is that of the second
/// too, unless it has its own.
fn unused_factors(args: &PersonArgs, person: &Person) -> Vec<String> {
    let then = person.second.as_ref().map_or(&[][..], |again| &again.answers);
    let own = args.second.as_deref().and_then(factor_in).and_then(|factor| stated(&factor));
    let first = args.insulin_factor.as_deref().and_then(stated);
    let of_first: &[&[Answer]] = if own.is_some() { &[&person.answers] } else { &[&person.answers, then] };
    let first = first.and_then(|factor| unused(&format!("--insulin-factor {factor}"), of_first));
    let own = own.and_then(|factor| unused(&format!("--second insulin-factor={factor}"), &[then]));
    first.into_iter().chain(own).collect()
}

/// Said beside the answer, too, as it may go into a file.
fn not_to_be_shared(opened: &Opened) {
    if opened.study.fewest_shown().is_some() {
        tell(NOT_TO_BE_SHARED);
    }
}

fn width() -> usize {
    columns().map_or(USUAL_WIDTH, |width| width.max(LEAST_WIDTH))
}

/// Everything that was typed about the person, read by the quantities of the study.
fn person(args: &PersonArgs, opened: &Opened) -> Result<Person> {
    args.values.meant()?;
    let mut written = args.values.written();
    for other in &args.others {
        let (name, value) =
            other.split_once('=').ok_or_else(|| anyhow!("--value {other}: write it as NAME=VALUE"))?;
        written.push((name.trim().to_owned(), value.to_owned()));
    }
    let factor = insulin_factor(args.insulin_factor.as_deref())?;
    let mut answers = read(&opened.study.quantities, &written, factor.0)?;
    if let Some(answer) = answers.iter().find(|a| a.quantity == "pregnant").cloned() {
        // Surveys ask for it twice, by test and by report; a person's answer is both.
        if answers.iter().all(|a| a.quantity != "pregnant_reported") {
            answers.push(Answer { quantity: "pregnant_reported".to_owned(), ..answer });
        }
    }
    for answer in &mut answers {
        known_level(opened, answer)?;
    }
    let second = args.second.as_deref().map(|text| second(text, &opened.study.quantities, factor));
    let mut second = second.transpose()?;
    for answer in second.iter_mut().flat_map(|again| &mut again.answers) {
        known_level(opened, answer)?;
        unchanged(answer, &answers)?;
    }
    let group = args.group.as_deref().and_then(stated);
    let grouping = group.map(|group| grouping(&group, opened, &answers)).transpose()?;
    Ok(Person {
        answers,
        second,
        assay: args.assay.as_deref().and_then(stated),
        factor_unknown: factor.1,
        indices: args.index.iter().map(|name| index_told(opened, Some(name))).collect::<Result<_>>()?,
        grouping,
        within_person: share("--within-person-cv", args.within_person_cv.as_deref())?,
        analytical: share("--analytical-cv", args.analytical_cv.as_deref())?,
    })
}

/// What was typed about the person, as options for another study.
fn typed(args: &PersonArgs) -> Vec<(&'static str, String)> {
    let flag = |name: &str| FLAGS.iter().find(|(known, _)| *known == name).map(|(_, flag)| *flag);
    let written = args.values.written().into_iter();
    let mut typed: Vec<_> = written.filter_map(|(name, value)| Some((flag(&name)?, value))).collect();
    typed.extend(args.others.iter().map(|other| ("--value", other.clone())));
    let more =
        [("--insulin-factor", &args.insulin_factor), ("--assay", &args.assay), ("--second", &args.second)];
    typed.extend(more.into_iter().filter_map(|(flag, value)| Some((flag, value.clone()?))));
    typed
}

/// A person's sex and ancestry are the same at both dates.
fn unchanged(later: &Answer, first: &[Answer]) -> Result<()> {
    let other = first.iter().find(|a| a.quantity == later.quantity && a.given != later.given);
    if other.is_some() && ["sex", "ancestry", "ancestry_detailed"].contains(&later.quantity.as_str()) {
        bail!("--second: {} differs between the two dates; leave it out of --second", later.quantity);
    }
    Ok(())
}

/// The answers in words, by the quantities' names.
fn understood(quantities: &[Quantity], answers: &[Answer]) -> Vec<(String, String)> {
    let stated = answers.iter().filter(|answer| answer.quantity != "pregnant_reported");
    stated
        .filter_map(|answer| {
            let quantity = quantities.iter().find(|q| q.name == answer.quantity)?;
            Some((quantity.name.replace('_', " "), answer.in_words(quantity)))
        })
        .collect()
}

//! `cutspan claim`: a sentence with a threshold, tested in every group of a run.

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use clap::{Args, ValueEnum};

use super::claim_names::{grouping, index, outcome};
use super::number;
use crate::analysis::claim::{Answer, CUTOFF_WITHIN, Form, Question, Side, Stated, answer};
use crate::chart::{self, Labels, Print};
use crate::finished::{self, Opened, Origin};
use crate::report::{self, ClaimInput, ClaimPage};
use crate::study::{Study, shared_ingredients};
use crate::table::csv;

/// Test a sentence with a threshold: for whom does it hold?
///
/// Give the threshold as the sentence does (below 2, at least 2.5). The answer says how many people of
/// each group are on that side, where the threshold sits among them, how well it finds an outcome, and
/// whether what is claimed of it holds. It needs the folder of a finished run, and no survey files.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  \"HOMA-IR below 2 is fine\":
    cutspan claim --index homa_ir --below 2 out
  \"2.5 or more means metabolic syndrome\", by BMI and ancestry:
    cutspan claim --index homa_ir --at-least 2.5 --outcome metabolic_syndrome_harmonized_2009 \\
        --group bmi_class,ancestry out
  \"at most a quarter of people are at 3 or above, and it finds 8 in 10\":
    cutspan claim --index homa_ir --at-least 3 --outcome metabolic_syndrome_harmonized_2009 \\
        --says \"share at most 25 %\" --says \"sensitivity at least 80 %\" out
  a page and a picture to hand on:
    cutspan claim --index homa_ir --below 2 --format markdown --out claim.md --chart claim.svg out

What --says understands:
  \"share at most 25 %\", \"share at least 60 %\"       people on the side that the sentence states
  \"share beyond at most 10 %\"                       people on the resistant side, whichever is stated
  \"percentile 75\", \"percentile 75 within 5\"         where the threshold sits among the group
  \"sensitivity at least 80 %\"                       also specificity, ppv, npv; needs --outcome
  \"best cutoff\", \"best cutoff within 10 %\"          the group's own cutoff; needs --outcome

Output: a verdict for every group with the numbers behind it, a paragraph that can be cited, and cautions.")]
pub struct ClaimArgs {
    /// Output folder of a finished run, or a study file (.toml); without it the demo of invented people
    run: Option<PathBuf>,
    /// Index the threshold belongs to (cutspan list indices); may be left out when the run has only one
    #[arg(long, value_name = "NAME")]
    index: Option<String>,
    /// The sentence speaks of values below this; may be given several times, as the next three
    #[arg(long, value_name = "NUMBER", value_parser = number, allow_negative_numbers = true)]
    below: Vec<f64>,
    /// The sentence speaks of values at or below this
    #[arg(long, value_name = "NUMBER", value_parser = number, allow_negative_numbers = true)]
    at_most: Vec<f64>,
    /// The sentence speaks of values at or above this
    #[arg(long, value_name = "NUMBER", value_parser = number, allow_negative_numbers = true)]
    at_least: Vec<f64>,
    /// The sentence speaks of values above this
    #[arg(long, value_name = "NUMBER", value_parser = number, allow_negative_numbers = true)]
    above: Vec<f64>,
    /// Outcome that the sentence means, by its name in the run
    #[arg(long, visible_alias = "means", value_name = "NAME")]
    outcome: Option<String>,
    /// Groups to compare, by name in the run, with commas; all of the run's without it
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    group: Vec<String>,
    /// What is claimed of the threshold; may be given several times
    #[arg(long, value_name = "CLAIM")]
    says: Vec<String>,
    /// How the answer is written; csv and json hold every number in full
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Also draw the share by group, with verdicts, into this file (.svg or .png)
    #[arg(long, value_name = "FILE")]
    chart: Option<PathBuf>,
    /// File for the answer, in place of the screen
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Folder that holds the official files, when a study file is given; may be given several times
    #[arg(long, value_name = "FOLDER", env = "CUTSPAN_DATA")]
    data: Vec<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    Text,
    Markdown,
    Csv,
    Json,
}

pub fn run(args: &ClaimArgs) -> Result<()> {
    let stated = stated(args)?;
    let forms = args.says.iter().map(|claim| Form::parse(claim)).collect::<Result<Vec<_>, _>>()?;
    let picture = args.chart.as_deref().map(picture).transpose()?;
    let opened = finished::open(args.run.as_deref(), &args.data)?;
    let question = question(args, (stated, forms), &opened.study)?;
    let answer = answer(&opened.study, &opened.tallies, &question)?;
    let labels = chart::labels(&opened.study, &opened.tallies.survey);
    let page = page(&opened, &question, &answer, &labels);
    if let (Some(file), Some(picture)) = (&args.chart, picture) {
        draw(file, picture, &answer, &labels)?;
    }
    write(args, &page, &answer)
}

/// The thresholds in the order of the options.
fn stated(args: &ClaimArgs) -> Result<Vec<Stated>> {
    let sides = [
        (Side::Below, &args.below),
        (Side::AtMost, &args.at_most),
        (Side::AtLeast, &args.at_least),
        (Side::Above, &args.above),
    ];
    let mut stated: Vec<Stated> = Vec::new();
    for (side, values) in sides {
        for value in values.iter().map(|&value| Stated { side, value }) {
            if !stated.contains(&value) {
                stated.push(value);
            }
        }
    }
    if stated.is_empty() {
        bail!("no threshold: give one as the sentence does, such as --below 2 or --at-least 2.5");
    }
    Ok(stated)
}

fn question(args: &ClaimArgs, (stated, forms): (Vec<Stated>, Vec<Form>), study: &Study) -> Result<Question> {
    let index = index(study, args.index.as_deref())?;
    let outcome = args.outcome.as_deref().map(|name| outcome(study, name)).transpose()?;
    let groupings = if args.group.is_empty() {
        (0..study.groupings.len()).collect()
    } else {
        args.group.iter().map(|name| grouping(study, name)).collect::<Result<Vec<_>>>()?
    };
    if let (None, Some(form)) = (outcome, forms.iter().find(|form| form.needs_outcome())) {
        let known: Vec<&str> = study.outcomes.iter().map(|o| o.row.name.as_str()).collect();
        bail!(
            "a claim about the {} needs an outcome: name it with --outcome. Known: {}",
            form.measure().replace('_', " "),
            known.join(", ")
        );
    }
    let usual = outcome.map(|_| Form::BestCutoff { within: CUTOFF_WITHIN });
    let forms = if forms.is_empty() { usual.into_iter().collect() } else { forms };
    Ok(Question { index, stated, outcome, groupings, forms })
}

fn page(opened: &Opened, question: &Question, answer: &Answer, labels: &Labels) -> ClaimPage {
    let study = &opened.study;
    report::claim_page(&ClaimInput {
        table: &answer.table,
        labels,
        range: answer.range,
        // A survey of invented people says so in its name.
        invented: opened.tallies.survey.contains("invented"),
        demo: opened.origin == Origin::Demo,
        rule: study.rules.first().map_or("", |rule| &rule.label),
        confidence: study.confidence,
        replicates: study.resampling.replicates,
        seed: study.resampling.seed,
        left_out: &study.exclusions.iter().map(|e| e.label.clone()).collect::<Vec<_>>(),
        study_title: &study.title,
        study_sha256: &opened.study_sha256,
        version: &opened.version,
        remarks: &remarks(study, question),
    })
}

/// An outcome that contains an ingredient of the index agrees with it by construction.
fn remarks(study: &Study, question: &Question) -> Vec<String> {
    let Some(outcome) = question.outcome else { return Vec::new() };
    let (index, outcome) = (&study.indices[question.index], &study.outcomes[outcome]);
    let shared = shared_ingredients(index, outcome);
    let text = format!(
        "The outcome, {}, counts {}: measured in {}, or treatment for what is; part of their agreement is built in.",
        outcome.row.label,
        shared.join(", ").replace('_', " "),
        index.row.label
    );
    (!shared.is_empty()).then_some(text).into_iter().collect()
}

/// The form of a picture, by the ending of its file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Picture {
    Svg,
    Png,
}

/// The form that the ending of a file asks for.
pub(super) fn picture(file: &Path) -> Result<Picture> {
    let ending = file.extension().and_then(|e| e.to_str()).unwrap_or_default().to_lowercase();
    match ending.as_str() {
        "svg" => Ok(Picture::Svg),
        "png" => Ok(Picture::Png),
        _ => bail!("{}: a chart is written as .svg or .png; end the file's name so", file.display()),
    }
}

fn draw(file: &Path, picture: Picture, answer: &Answer, labels: &Labels) -> Result<()> {
    save(file, picture, &chart::draw_claim(&answer.table, labels)?)
}

/// Writes charts into a file, and those after the first into files numbered after it.
pub(super) fn save(file: &Path, picture: Picture, charts: &[chart::Chart]) -> Result<()> {
    for (position, chart) in charts.iter().enumerate() {
        let file = numbered(file, position);
        let bytes = match picture {
            Picture::Svg => chart.svg.clone().into_bytes(),
            Picture::Png => chart.png(&Print::default())?,
        };
        fs::write(&file, bytes).with_context(|| cannot_write(&file))?;
    }
    Ok(())
}

/// `claim.svg`, `claim-2.svg`, `claim-3.svg`.
fn numbered(file: &Path, position: usize) -> PathBuf {
    if position == 0 {
        return file.to_owned();
    }
    let stem = file.file_stem().unwrap_or_default().to_string_lossy();
    let ending = file.extension().unwrap_or_default().to_string_lossy();
    file.with_file_name(format!("{stem}-{}.{ending}", position + 1))
}

fn cannot_write(file: &Path) -> String {
    format!("{}: cannot be written; choose another place", file.display())
}

fn write(args: &ClaimArgs, page: &ClaimPage, answer: &Answer) -> Result<()> {
    let text = match args.format {
        Format::Text => report::claim_text(page),
        Format::Markdown => report::claim_markdown(page),
        Format::Csv => csv::to_text(&answer.table),
        Format::Json => report::claim_json(page, &answer.table)?,
    };
    match &args.out {
        Some(file) => fs::write(file, text).with_context(|| cannot_write(file))?,
        None => io::stdout().lock().write_all(text.as_bytes())?,
    }
    if args.format == Format::Csv || args.out.is_some() {
        warn(page);
    }
    Ok(())
}

/// Numbers without words say on the side that their people are made up.
#[expect(clippy::print_stderr, reason = "the command line speaks here")]
fn warn(page: &ClaimPage) {
    if let Some(warning) = &page.warning {
        eprintln!("{warning}");
    }
}

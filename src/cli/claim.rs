//! `cutspan claim`: a sentence with a threshold, tested in every group of a run.

use std::path::PathBuf;

use anyhow::{Result, bail};
use clap::Args;

use super::claim_groupings::{Asked, groupings};
use super::claim_groups::{joined, narrowed, not_asked, one_per_variable};
use super::claim_names::{index, outcome, taken};
use super::claim_says::{forms, not_a_sentence, outcome_named};
use super::claim_source::{ages, asked, left_out, main_exclusions, remarks, small_counts, table_of_run};
use super::claim_threshold::{Typed, in_unit_of, typed};
use super::claim_write::{Format, draw, picture, place, write};
use crate::analysis::claim::{Answer, Question, Side, Stated, answer};
use crate::chart::{self, Labels};
use crate::finished::{self, Opened, Origin};
use crate::report::{self, ClaimInput, ClaimPage};
use crate::study::provenance::{address, insulin_assay, source};
use crate::table::number::significant;

/// Test a sentence with a threshold: for whom does it hold?
///
/// Give the threshold as the sentence does (below 2, at least 2.5). The answer says how many people of
/// each group are on that side, where the threshold sits among them and, with --outcome, how well it finds
/// an outcome. With --says, which puts the sentence into numbers, it also says in which groups that holds, fails
/// or is undecided; without --says there is no verdict. It needs the folder of a finished run, and no survey files.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  \"HOMA-IR below 2 is fine\", first of all how many people that is:
    cutspan claim --index homa_ir --below 2 out
  \"2 or more finds most people with the syndrome\", by BMI and ancestry:
    cutspan claim --index homa_ir --at-least 2 --outcome metabolic_syndrome_harmonized_2009 \\
        --says \"finds most people\" --group bmi_class,ancestry out
  \"at most a quarter of people are at 3 or above, and it finds 8 in 10\":
    cutspan claim --index homa_ir --at-least 3 --outcome metabolic_syndrome_harmonized_2009 \\
        --says \"share at most 25 %\" --says \"sensitivity at least 80 %\" out
  a page and a picture to hand on:
    cutspan claim --index homa_ir --below 2 --out claim.md --chart claim.svg out

From words to --says:
  \"finds most people who have it\"       sensitivity more than 50 %
  \"below is fine\", \"below is safe\"     npv at least 90 %   (of those below, so many do not have it)
  \"above means you have it\"            ppv at least 50 %   (of those above, so many have it)
  \"spares those who do not have it\"    specificity at least 80 %
  \"misses at most 20 %\"                sensitivity at least 80 %
These words are understood, and so is an outcome behind them: \"finds most people with NAME\",
in place of --outcome.

What --says understands (also more than, over, less than, under, up to):
  \"share at most 25 %\", \"share at least 60 %\"       people on the side that the sentence states
  \"share about 33 %\", \"1 in 3\", \"42 %\"              the same, give or take 5 percentage points
  \"most people\", \"between 40 and 45 %\"              more than 50 %; from 40 to 45 %
  \"at least 1 in 3\", \"more than half\"               1 in 3 is 33.3 %; \"a third\" is about as much
  \"share beyond at most 10 %\"                       people on the resistant side, whichever is stated
  \"percentile 75\", \"percentile 75 within 5\"         where the threshold sits among the group
  \"sensitivity at least 80 %\"                       also specificity, ppv, npv; needs --outcome
  \"best cutoff\", \"best cutoff within 10 %\"          at most 10 % of everybody lie between the group's own
                                                    cutoff and the threshold; needs --outcome

Output: what is known in words, tables by group, with --says a verdict for every group, cautions, a line to cite.")]
pub struct ClaimArgs {
    /// Output folder of a finished run, or a study file (.toml); without it the demo of invented people
    run: Option<PathBuf>,
    /// What else stands there: a sentence, which is refused with a hint
    #[arg(hide = true)]
    more: Vec<String>,
    /// Index the threshold belongs to (cutspan list indices); may be left out when the run has only one
    #[arg(long, value_name = "NAME")]
    index: Option<String>,
    /// The sentence speaks of values below this (2, or with the index's unit 10uU/mL, or its name "8.5 tyg"); may be given
    /// several times, as the next three
    #[arg(long, visible_alias = "under", value_name = "NUMBER", value_parser = typed, allow_negative_numbers = true)]
    below: Vec<Typed>,
    /// The sentence speaks of values at or below this
    #[arg(long, value_name = "NUMBER", value_parser = typed, allow_negative_numbers = true)]
    at_most: Vec<Typed>,
    /// The sentence speaks of values at or above this
    #[arg(long, value_name = "NUMBER", value_parser = typed, allow_negative_numbers = true)]
    at_least: Vec<Typed>,
    /// The sentence speaks of values above this
    #[arg(long, visible_alias = "over", value_name = "NUMBER", value_parser = typed, allow_negative_numbers = true)]
    above: Vec<Typed>,
    /// Outcome that the sentence means, by its name in the run
    #[arg(long, visible_alias = "means", value_name = "NAME")]
    outcome: Option<String>,
    /// Groups to compare, by their names in the run, with commas: a grouping or a part of its name (bmi), one group alone
    /// (women, bmi=obese, "women over 60"), or everybody for none. Without it: of each variable its finest grouping
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    group: Vec<String>,
    /// What is claimed of the threshold; may be given several times
    #[arg(long, value_name = "CLAIM")]
    says: Vec<String>,
    /// How the answer is written; csv and json hold every number in full [default: by the ending of --out, else text]
    #[arg(long, value_enum)]
    format: Option<Format>,
    /// Also draw what is claimed by group (without --says the share) into this file (.svg or .png)
    #[arg(long, value_name = "FILE")]
    chart: Option<PathBuf>,
    /// File for the answer, in place of the screen: .txt, .md, .csv or .json; beside a .csv its columns are described
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// In csv and json also the rows of reference groups whose number is withheld
    #[arg(long)]
    withheld_references: bool,
    /// Folder that holds the official files, when a study file is given; may be given several times
    #[arg(long, value_name = "FOLDER", env = "CUTSPAN_DATA")]
    data: Vec<PathBuf>,
}

pub fn run(args: &ClaimArgs) -> Result<()> {
    not_a_sentence(args.run.as_deref(), &args.more)?;
    let stated = stated(args)?;
    let picture = args.chart.as_deref().map(picture).transpose()?;
    let place = place(args.format, args.out.as_deref())?;
    let opened = finished::open(args.run.as_deref(), &args.data)?;
    let (question, understood) = question(args, stated, &opened)?;
    let answer = answer(&opened.study, &opened.tallies, &question)?;
    possible(&question, &answer, &opened)?;
    let labels = chart::labels(&opened.study, &opened.tallies.survey);
    let page = page((&opened, args, &understood), &question, &answer, &labels);
    if let (Some(file), Some(picture)) = (&args.chart, picture) {
        draw(file, picture, (&answer.table, &labels), &imprint(&opened, &page, &question))?;
    }
    write(&place, &page, &answer.table, args.withheld_references)
}

/// The thresholds in the order of the options.
fn stated(args: &ClaimArgs) -> Result<Vec<(Stated, Typed)>> {
    let sides = [
        (Side::Below, &args.below),
        (Side::AtMost, &args.at_most),
        (Side::AtLeast, &args.at_least),
        (Side::Above, &args.above),
    ];
    let mut stated: Vec<(Stated, Typed)> = Vec::new();
    for (side, values) in sides {
        for typed in values {
            let threshold = Stated { side, value: typed.value };
            match stated.iter_mut().find(|(known, _)| *known == threshold) {
                Some((_, known)) if known.is_bare() => *known = typed.clone(),
                Some(_) => {}
                None => stated.push((threshold, typed.clone())),
            }
        }
    }
    if stated.is_empty() {
        bail!("no threshold: give one as the sentence does, such as --below 2 or --at-least 2.5");
    }
    Ok(stated)
}

/// The question, and what words in it were taken to mean.
fn question(
    args: &ClaimArgs,
    stated: Vec<(Stated, Typed)>,
    opened: &Opened,
) -> Result<(Question, Vec<String>)> {
    let index = index(opened, args.index.as_deref())?;
    let row = &opened.study.indices[index].row;
    let index_meant = args.index.as_deref().and_then(|name| taken(name, (&row.name, &row.label)));
    let meant = stated.iter().map(|(threshold, typed)| in_unit_of(row, threshold, typed));
    let meant = meant.collect::<Result<Vec<bool>>>()?;
    let stated = stated.into_iter().map(|(threshold, _)| threshold).collect();
    let outcome = match args.outcome.as_deref() {
        Some(name) => Some((outcome(opened, name)?, name.to_owned())),
        None => outcome_named(&args.says, &opened.study)?,
    };
    let outcome_meant = outcome.as_ref().and_then(|(outcome, name)| {
        let row = &opened.study.outcomes[*outcome].row;
        taken(name, (&row.name, &row.label))
    });
    let outcome = outcome.map(|(outcome, _)| outcome);
    let forms = forms(&args.says, &opened.study, outcome)?;
    let Asked { groupings, only, understood } = if args.group.is_empty() {
        let groupings = one_per_variable(&opened.study).0;
        Asked { groupings, only: Vec::new(), understood: Vec::new() }
    } else {
        groupings(opened, &args.group)?
    };
    if let (None, Some(form)) = (outcome, forms.iter().find(|form| form.needs_outcome())) {
        let known: Vec<&str> = opened.study.outcomes.iter().map(|o| o.row.name.as_str()).collect();
        bail!(
            "a claim about the {} needs an outcome: name it with --outcome. Known: {}",
            form.measure().replace('_', " "),
            known.join(", ")
        );
    }
    let understood = index_meant.into_iter().chain(outcome_meant).chain(understood).collect();
    Ok((Question { index, stated, meant, outcome, groupings, only, forms }, understood))
}

/// An index that is above 0 in everybody has no threshold at or below 0.
fn possible(question: &Question, answer: &Answer, opened: &Opened) -> Result<()> {
    let label = &opened.study.indices[question.index].row.label;
    match question.stated.iter().find(|stated| answer.all_positive && stated.value <= 0.0) {
        Some(stated) => bail!(
            "{label} is above 0 in everybody, so {} cannot be a threshold of it: check the sign, and whether it is a threshold \
             of {label} or of its logarithm",
            significant(stated.value, 6)
        ),
        None => Ok(()),
    }
}

fn page(
    (opened, args, understood): (&Opened, &ClaimArgs, &[String]),
    question: &Question,
    answer: &Answer,
    labels: &Labels,
) -> ClaimPage {
    let study = &opened.study;
    report::claim_page(&ClaimInput {
        table: &answer.table,
        labels,
        range: answer.range,
        tests: table_of_run(&opened.origin, "heterogeneity").as_ref(),
        adjusted: table_of_run(&opened.origin, "standardised_values").as_ref(),
        invented: &study.invented(),
        demo: opened.origin == Origin::Demo,
        rule: study.rules.first().map_or("", |rule| &rule.label),
        confidence: study.confidence,
        replicates: study.resampling.replicates,
        seed: study.resampling.seed,
        understood,
        ages: ages(study).as_deref(),
        left_out: &left_out(study, answer).iter().map(|e| e.label.clone()).collect::<Vec<_>>(),
        without: main_exclusions(&left_out(study, answer)).as_deref(),
        counted: answer.left_out,
        doubts: &answer.doubts,
        narrowed: &narrowed(study, question),
        source: &source(study),
        address: address(study).as_deref(),
        insulin: insulin_assay(study, question.index).as_deref(),
        finer: joined(study, question).as_deref(),
        not_asked: not_asked(study, args.group.is_empty()).as_deref(),
        study_title: &study.title,
        study_sha256: &opened.study_sha256,
        version: &opened.version,
        asked: &asked(study, question, &answer.doubts),
        remarks: &small_counts(study).into_iter().chain(remarks(study, question)).collect::<Vec<_>>(),
    })
}

/// Of the citation, what stands on a picture: the line to cite.
const CITED: usize = 1;

/// What stands on a picture besides the numbers.
fn imprint(opened: &Opened, page: &ClaimPage, question: &Question) -> chart::Imprint {
    chart::Imprint {
        warning: report::invented_data(&opened.study.invented()),
        cautions: page.first.clone(),
        confidence: opened.study.confidence,
        below: [
            &page.understood[..],
            &remarks(&opened.study, question),
            &page.cutoff_tests,
            page.in_no_group.as_slice(),
            &page.citation[..CITED.min(page.citation.len())],
        ]
        .concat(),
    }
}

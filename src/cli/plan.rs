//! `cutspan plan`: how wide intervals will be, before anybody is measured.

use std::path::{Path, PathBuf};

use anyhow::{Result, bail, ensure};
use clap::{Args, ValueEnum};

use super::claim_names::{index_told, outcome_told};
use super::plan_print::{json, text};
use super::plan_size::{fill, wanted};
use super::say::say;
use crate::analysis::plan::{Assumed, Distribution, Known, known, table};
use crate::finished;
use crate::stats::plan::log_sd;
use crate::study::written_as_shares;
use crate::table::{csv, number};

/// Digits of a number in the text.
const DIGITS: usize = 3;
/// More people than there are.
const MOST_PEOPLE: u64 = 10_000_000_000;
/// A factor that differs from 1 by less than this is not worth saying.
const EQUAL: f64 = 0.005;

/// Before collecting data: how wide will intervals be with so many people with and without the outcome?
///
/// Shares, sensitivity and specificity by exact binomial intervals on the effective number of people; percentiles by Woodruff's
/// interval; the area under the ROC curve by its exact variance (Bamber 1975), and Youden cutoffs by simulation, both of two
/// normal classes of equal spread with that area. What is assumed comes from the options, or from a finished run.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  cutspan plan --with 100 --without 300 --auc 0.8
  cutspan plan --with 50,100,200 --without 400 --auc 0.75 --cv 0.6 --design-effect 1.5
  cutspan plan --width 0.1 --prevalence 0.3 --auc 0.8        how many people for an interval so wide?
  cutspan plan --with 80 --without 240 --from out --index homa_ir --outcome metabolic_syndrome_harmonized_2009
  cutspan plan --with 100 --without 300 --sensitivity 0.7,0.8,0.9 --format csv > plan.csv

Output: one row for each number of people and each estimate, with the interval to expect and its width.")]
pub struct PlanArgs {
    /// Numbers of people with the outcome, with commas
    #[arg(long, value_name = "N", value_delimiter = ',')]
    pub(super) with: Vec<u64>,
    /// Numbers of people without it, with commas; each is combined with each
    #[arg(long, value_name = "N", value_delimiter = ',')]
    pub(super) without: Vec<u64>,
    /// Ask how many people make the interval of the area no wider than this, upper less lower end
    #[arg(long, value_name = "WIDTH")]
    pub(super) width: Option<f64>,
    /// With --width: expected share of people with the outcome; in its place one of --with and --without
    #[arg(long, value_name = "SHARE", requires = "width")]
    pub(super) prevalence: Option<f64>,
    /// Expected area under the ROC curve, between 0.5 and 1
    #[arg(long, value_name = "AREA")]
    auc: Option<f64>,
    /// Expected sensitivities, between 0 and 1
    #[arg(long, value_name = "SHARE", value_delimiter = ',', default_value = "0.8")]
    sensitivity: Vec<f64>,
    /// Expected specificities, between 0 and 1
    #[arg(long, value_name = "SHARE", value_delimiter = ',', default_value = "0.8")]
    specificity: Vec<f64>,
    /// Percentiles of everybody's values, between 0 and 100
    #[arg(long, value_name = "PERCENT", value_delimiter = ',', default_value = "50,75,90,95")]
    percentile: Vec<f64>,
    /// Coefficient of variation of the index among everybody (0.5 for 50 %), taken as log-normal; with --auc, as log-normal in
    /// each class of the outcome
    #[arg(long, value_name = "CV", conflicts_with = "from")]
    cv: Option<f64>,
    /// Variance under the design over that of as many people drawn singly [default: 1, or that of the run]
    #[arg(long, value_name = "NUMBER")]
    design_effect: Option<f64>,
    /// Degrees of freedom: sampling units less strata [default: people less one, or those of the run]
    #[arg(long, value_name = "NUMBER")]
    df: Option<f64>,
    /// Take area, distribution and design effect from this finished run (or study file)
    #[arg(long, value_name = "OUT")]
    from: Option<PathBuf>,
    /// Index of that run; may be left out when it has only one
    #[arg(long, value_name = "NAME", requires = "from")]
    index: Option<String>,
    /// Outcome of that run
    #[arg(long, value_name = "NAME", requires = "from")]
    outcome: Option<String>,
    /// Share of intervals that should cover the truth
    #[arg(long, value_name = "SHARE", default_value_t = 0.95)]
    confidence: f64,
    /// Simulations behind the interval of a cutoff
    #[arg(long, value_name = "N", default_value_t = 400)]
    simulations: usize,
    /// Seed of the simulations
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    seed: u64,
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Folder that holds the official files, when a study file is given; may be given several times
    #[arg(long, value_name = "FOLDER", env = "CUTSPAN_DATA")]
    data: Vec<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    Text,
    Csv,
    Json,
}

pub fn run(args: &PlanArgs) -> Result<()> {
    check(args)?;
    let wanted = wanted(args)?;
    let run = args.from.as_deref().map(|place| lent(args, place)).transpose()?;
    let mut assumed = assumed(args, run.as_ref().map(|(_, known)| known));
    let answer = wanted.map(|wanted| fill(&mut assumed, wanted)).transpose()?;
    let table = table(&assumed)?;
    let remarks = remarks(args, &assumed, run.as_ref().map(|(run, known)| (run.as_str(), known)));
    let remarks: Vec<String> = answer.into_iter().chain(remarks).collect();
    let text = match args.format {
        Format::Text => text(&table, &remarks),
        Format::Csv => csv::to_text(&table),
        Format::Json => json(&table, &remarks)?,
    };
    say(text)
}

/// The survey of a run, and what it knows.
fn lent(args: &PlanArgs, place: &Path) -> Result<(String, Known)> {
    let opened = finished::open(Some(place), &args.data)?;
    let index = index_told(&opened, args.index.as_deref())?;
    let outcome = args.outcome.as_deref().map(|name| outcome_told(&opened, name)).transpose()?;
    Ok((opened.tallies.survey.clone(), known(&opened.study, &opened.tallies, (index, outcome))?))
}

/// Numbers that the estimators do not judge themselves, or not in the words of the options.
fn check(args: &PlanArgs) -> Result<()> {
    let shares = [("--sensitivity", &args.sensitivity), ("--specificity", &args.specificity)];
    for (option, values) in shares {
        if let Some(value) = values.iter().find(|v| !(**v > 0.0 && **v < 1.0)) {
            bail!("{option} is a share between 0 and 1, such as 0.8, got {value}");
        }
    }
    if let Some(value) = args.percentile.iter().find(|v| !(**v > 0.0 && **v < 100.0)) {
        bail!("--percentile lies between 0 and 100, such as 95, got {value}");
    }
    if let Some(problem) = written_as_shares(&args.percentile) {
        bail!("--percentile: {problem}");
    }
    if let Some(auc) = args.auc.filter(|auc| !(*auc > 0.5 && *auc < 1.0)) {
        bail!("--auc lies between 0.5 (no use) and 1 (no error), such as 0.8, got {auc}");
    }
    if let Some(cv) = args.cv.filter(|cv| !(*cv > 0.0 && cv.is_finite())) {
        bail!("--cv is a number above 0, such as 0.5 for 50 %, got {cv}");
    }
    if let Some(people) = args.with.iter().chain(&args.without).find(|n| !(2..=MOST_PEOPLE).contains(*n)) {
        bail!(
            "--with and --without are numbers of people, at least 2 and at most {MOST_PEOPLE}, got {people}"
        );
    }
    ensure!(args.simulations >= 100, "--simulations is at least 100, got {}", args.simulations);
    Ok(())
}

/// Options first, then what the run knows, then nothing.
fn assumed(args: &PlanArgs, known: Option<&Known>) -> Assumed {
    let distribution = match known {
        Some(known) => known.distribution.clone(),
        None => args.cv.map(|cv| Distribution::LogNormal { log_sd: log_sd(cv), within: None, sign: 1.0 }),
    };
    let design_effect = args.design_effect.or(known.and_then(|k| k.design_effect)).unwrap_or(1.0);
    let effect_auc = args.design_effect.or(known.and_then(|k| k.design_effect_auc));
    Assumed {
        with: args.with.clone(),
        without: args.without.clone(),
        sensitivities: args.sensitivity.clone(),
        specificities: args.specificity.clone(),
        auc: args.auc.or(known.and_then(|k| k.auc)),
        percentiles: args.percentile.iter().map(|percent| percent / 100.0).collect(),
        distribution,
        design_effect,
        design_effect_auc: effect_auc.unwrap_or(design_effect),
        area_shape: known.and_then(|k| k.area_shape).unwrap_or(1.0),
        df: args.df.or(known.and_then(|k| k.df)),
        confidence: args.confidence,
        simulations: args.simulations,
        seed: args.seed,
    }
}

/// What the numbers rest on.
fn remarks(args: &PlanArgs, assumed: &Assumed, run: Option<(&str, &Known)>) -> Vec<String> {
    let confidence = number::significant(100.0 * assumed.confidence, 4);
    let mut said = vec![format!("Assumed: {confidence} % intervals; {}.", design(args, assumed, run))];
    if assumed.auc.is_some() {
        said.push(area(assumed));
        said.push(format!(
            "Cutoffs: {} simulations of two normal classes of equal spread, seed {}; ± is the Monte-Carlo standard error of \
             the width. The empirical cutoff narrows only as n^(-1/3).",
            assumed.simulations, assumed.seed
        ));
    } else {
        let lacks = if run.is_some() { "--outcome (or --auc)" } else { "--auc (or --from with --outcome)" };
        said.push(format!("No {lacks}: no area and no cutoffs."));
    }
    if assumed.distribution.is_none() {
        said.push("How the index is spread is not known. A percentile is therefore given by the share of people below it.".to_owned());
        if assumed.auc.is_some() {
            said.push(
                "A cutoff is given by how far it may land from the true one (0), in standard deviations (SD) of the index among \
                 people with, or without, the outcome: −0.3 is three tenths of an SD too low. Add --cv (0.6 if the SD is \
                 60 % of the mean) to see both as multiples of the true value."
                    .to_owned(),
            );
        }
    }
    if assumed.df.is_none() && assumed.design_effect > 1.0 {
        said.push("No --df: with few sampling units intervals will be wider than these.".to_owned());
    }
    said.push(
        "The intervals are those of estimates that come out as expected; chance moves them.".to_owned(),
    );
    said
}

/// The model behind the interval of the area.
fn area(assumed: &Assumed) -> String {
    let shape = if (assumed.area_shape - 1.0).abs() < EQUAL {
        String::new()
    } else {
        format!(
            ", times {} because the values of the run are not spread like that",
            number::significant(assumed.area_shape, DIGITS)
        )
    };
    format!(
        "Area under the ROC curve: t on the logit with the exact variance for two normal classes of equal spread \
         (Bamber 1975){shape}."
    )
}

/// The design effects of what is planned and the degrees of freedom, and where they come from.
fn design(args: &PlanArgs, assumed: &Assumed, run: Option<(&str, &Known)>) -> String {
    let of = |effect: f64| number::significant(effect, DIGITS);
    let lacks_outcome = run.is_some() && args.outcome.is_none() && args.design_effect.is_none();
    let area = match assumed.auc {
        None => String::new(),
        Some(_) if lacks_outcome => {
            ", and for want of --outcome the same for the area and cutoffs".to_owned()
        }
        Some(_) => format!(", {} for the area and cutoffs", of(assumed.design_effect_auc)),
    };
    let df = assumed.df.map_or(String::new(), |df| format!("; {} degrees of freedom", of(df)));
    let effects = format!("design effect {} for shares and percentiles{area}{df}", of(assumed.design_effect));
    match run {
        Some((run, known)) if !known.has_design && args.design_effect.is_none() => {
            format!(
                "people drawn singly (design effect 1), as in {run}; area and spread taken from it where no option says otherwise"
            )
        }
        Some((run, _)) => format!("{effects}; taken from {run} where no option says otherwise"),
        None if args.design_effect.is_none() => "people drawn singly (design effect 1)".to_owned(),
        None => effects,
    }
}

//! The command line: a verb is a file of this folder, with its arguments and its handler. Only `cli` prints.

mod check;
mod claim;
mod claim_alike;
mod claim_bands;
mod claim_crossed;
mod claim_crossing;
mod claim_groupings;
mod claim_groups;
mod claim_names;
mod claim_not_here;
mod claim_one_group;
mod claim_parts;
mod claim_says;
mod claim_source;
mod claim_threshold;
mod claim_understood;
mod claim_unknown;
mod claim_write;
mod completions;
mod data;
mod demo;
mod help;
mod invent;
mod list;
mod list_assays;
mod list_methods;
mod list_published;
mod list_rows;
mod man;
mod new;
mod person;
mod place;
mod place_drawn;
mod place_elsewhere;
mod place_group;
mod place_label;
mod place_number;
mod place_urgent;
mod plan;
mod plan_print;
mod plan_size;
mod questions;
mod run;
mod say;
mod schema;
mod second;
mod shell;
#[cfg(unix)]
mod stopped;
mod unasked;
mod unexpected;

use std::process::ExitCode;

use clap::{FromArgMatches, Parser, Subcommand};

use help::command;
use say::tell;
use unexpected::explained;

/// For whom does an insulin-resistance threshold hold?
///
/// From survey data to cutoffs by group, with intervals that respect the survey's design, tables,
/// charts and a report. A study file states everything; the same file gives the same numbers.
#[derive(Debug, Parser)]
#[command(name = "cutspan", version, after_help = EXAMPLES)]
struct Cli {
    #[command(subcommand)]
    verb: Verb,
}

const EXAMPLES: &str = "\
Examples:
  cutspan demo                                   run an invented survey, anywhere
  cutspan new study.toml --cycle 2017-2020       write a first study file, with comments
  cutspan check pipelines/own-table.toml         read a study file and say what it asks
  cutspan run pipelines/own-table.toml --out results
  cutspan claim --index homa_ir --below 2 out    a sentence's threshold in every group of the demo's run
  cutspan list indices                           the indices a study can name

cutspan VERB --help says what a verb takes, with examples.";

#[derive(Debug, Subcommand)]
enum Verb {
    /// Write a first study file, with a comment on every section
    New(new::NewArgs),
    /// Run a study: from its files to tables, charts and a report
    Run(run::RunArgs),
    /// Read a study file and say what it asks, or run a finished study again and compare
    Check(check::CheckArgs),
    /// Test a sentence with a threshold: for whom does it hold?
    Claim(Box<claim::ClaimArgs>),
    /// Where one person's values stand among a study's people
    Place(Box<place::PersonArgs>),
    /// Before collecting data: how wide will intervals be with so many people?
    Plan(Box<plan::PlanArgs>),
    /// Official survey files: list, verify, get
    Data(data::DataArgs),
    /// Print the indices, outcomes and other rows that a study can name
    List(list::ListArgs),
    /// Run the embedded study of an invented survey
    Demo(demo::DemoArgs),
    /// Make the invented survey anew
    Invent(invent::InventArgs),
    /// Print the form of a study file, for editors
    Schema(schema::SchemaArgs),
    /// Print completions for a shell
    Completions(completions::CompletionsArgs),
    /// Write manual pages
    Man(man::ManArgs),
}

/// Exit code of a finished run in which a stated check failed.
const NOT_ALL_HOLD: u8 = 1;
/// Exit code of a verb that could not run.
const COULD_NOT_RUN: u8 = 2;

/// Reads the command line, runs the verb and says how it went.
#[must_use]
pub fn main() -> ExitCode {
    let given = command().try_get_matches().unwrap_or_else(|error| explained(error).exit());
    // What the command has matched it can also fill in.
    let cli = Cli::from_arg_matches(&given).unwrap_or_else(|error| error.exit());
    let done = match cli.verb {
        Verb::New(args) => new::run(&args),
        Verb::Run(args) => run::run(&args),
        Verb::Check(args) => check::run(&args),
        Verb::Claim(args) => claim::run(&args),
        Verb::Place(args) => place::run(&args),
        Verb::Plan(args) => plan::run(&args),
        Verb::Data(args) => data::run(&args),
        Verb::List(args) => list::run(&args),
        Verb::Demo(args) => demo::run(&args),
        Verb::Invent(args) => invent::run(&args),
        Verb::Schema(_) => schema::run(),
        Verb::Completions(args) => completions::run(&args),
        Verb::Man(args) => man::run(&args),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) if error.is::<run::NotAllHold>() => ExitCode::from(NOT_ALL_HOLD),
        Err(error) => {
            report(&error);
            ExitCode::from(COULD_NOT_RUN)
        }
    }
}

/// A threshold as it is typed.
fn number(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(number) if number.is_finite() => Ok(number),
        Err(_) if text.contains(',') => {
            Err(format!("write the decimals after a point: {}", text.replace(',', ".")))
        }
        _ => Err("a threshold is a number, such as 2 or 2.5".to_owned()),
    }
}

/// An error as a chain of causes, one a line.
fn report(error: &anyhow::Error) {
    tell(format!("error: {error}"));
    for cause in error.chain().skip(1) {
        tell(format!("  because: {cause}"));
    }
}

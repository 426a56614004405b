//! `cutspan demo`: the embedded study on the embedded invented survey, anywhere.

use anyhow::Result;
use clap::Args;

use super::run::{PlaceArgs, perform};
use crate::finished;

/// Run the embedded study of an invented survey: no files and no network are needed.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  cutspan demo                                   results go to the folder out
  cutspan demo --out demo-results --threads 1

Output: a folder with index.html (the report), tables, charts and the study; sentences that answer the question on
standard output, cautions on standard error. Region, survey and people are invented.")]
pub struct DemoArgs {
    #[command(flatten)]
    pub place: PlaceArgs,
}

pub fn run(args: &DemoArgs) -> Result<()> {
    let (_checkout, study) = finished::demo_study()?;
    perform(&study, &args.place, &[])
}

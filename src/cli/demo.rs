//! `cutspan demo`: the embedded study on the embedded invented survey, anywhere.

use anyhow::Result;
use clap::Args;

use super::run::{PlaceArgs, perform};
use crate::finished;

#[derive(Debug, Args)]
pub struct DemoArgs {
    #[command(flatten)]
    pub place: PlaceArgs,
}

pub fn run(args: &DemoArgs) -> Result<()> {
    let (_checkout, study) = finished::demo_study()?;
    perform(&study, &args.place, &[])
}

//! `cutspan demo`: the embedded study on the embedded invented survey, anywhere.

use std::fs;

use anyhow::{Context, Result};
use clap::Args;

use super::run::{PlaceArgs, perform};
use crate::study;

const STUDY: &str = include_str!("../../pipelines/demo.toml");
const SURVEY: &[u8] = include_bytes!("../../data-public/veldmark.csv");

#[derive(Debug, Args)]
pub struct DemoArgs {
    #[command(flatten)]
    pub place: PlaceArgs,
}

pub fn run(args: &DemoArgs) -> Result<()> {
    let checkout = tempfile::tempdir().context("no temporary folder for the embedded files")?;
    let pipelines = checkout.path().join("pipelines");
    let data = checkout.path().join("data-public");
    for folder in [&pipelines, &data] {
        fs::create_dir(folder).context("the embedded files cannot be laid out")?;
    }
    let study_file = pipelines.join("demo.toml");
    fs::write(&study_file, STUDY).context("the embedded study cannot be laid out")?;
    fs::write(data.join("veldmark.csv"), SURVEY).context("the embedded survey cannot be laid out")?;
    perform(&study::load(&study_file)?, &args.place, &[])
}

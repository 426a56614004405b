//! `cutspan invent`: make the invented survey and its truth anew.

use std::path::PathBuf;

use super::say::say;
use crate::invented;

/// Make the invented survey of Veldmark and the true numbers behind it.
///
/// Region, survey, ancestry groups and people are made up. The same seed and number of people
/// give the same files everywhere.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  cutspan invent --out invented                  the files that come with the program, anew
  cutspan invent --seed 7 --people 2000 --out invented-7

Output: veldmark.csv (one row per invented person) and veldmark-truth.csv (the true cutoffs); their paths are printed.")]
pub struct InventArgs {
    /// Seed of the random numbers; the files that come with the program have the default.
    #[arg(long, default_value_t = invented::USUAL_SEED)]
    seed: u64,
    /// About how many people to draw.
    #[arg(long, default_value_t = invented::USUAL_PEOPLE)]
    people: usize,
    /// Folder to write veldmark.csv and veldmark-truth.csv into; files of these names are replaced.
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
}

/// Writes the two files and says where they are.
pub fn run(args: &InventArgs) -> anyhow::Result<()> {
    invented::write(&args.out, args.seed, args.people)?;
    for name in [invented::SURVEY_FILE, invented::TRUTH_FILE] {
        say(format!("{}\n", args.out.join(name).display()))?;
    }
    Ok(())
}

//! `cutspan schema`: the form of a study file, for editors.

use anyhow::Result;
use clap::Args;

use super::say::say;
use crate::study;

/// Print the form of a study file as a JSON Schema, so that an editor completes keys and names.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  cutspan schema > cutspan.schema.json           beside the study file; its first line then reads
                                                 #:schema ./cutspan.schema.json (cutspan new writes that line)
  cutspan schema | head -20                      a look at it

Output: JSON Schema, draft 2020-12, on standard output: every key with a description, and every known name.")]
pub struct SchemaArgs {}

pub fn run() -> Result<()> {
    say(serde_json::to_string_pretty(&study::schema())? + "\n")
}

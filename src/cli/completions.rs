//! `cutspan completions`: what a shell needs to complete verbs, options and names.

use std::io::{self, Write};

use anyhow::Result;
use clap::Args;
use clap_complete::Shell;

/// Print completions for a shell: verbs, options and the values they take.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  cutspan completions bash > cutspan.bash        then: source cutspan.bash, or copy it where the shell looks
  cutspan completions zsh > _cutspan             into a folder of $fpath
  cutspan completions fish > cutspan.fish        into ~/.config/fish/completions

Output: a script for the shell, on standard output.")]
pub struct CompletionsArgs {
    /// The shell
    shell: Shell,
}

pub fn run(args: &CompletionsArgs) -> Result<()> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut super::command(), "cutspan", &mut script);
    io::stdout().lock().write_all(&script)?;
    Ok(())
}

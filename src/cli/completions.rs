//! `cutspan completions`: what a shell needs to complete verbs, options and names.

use anyhow::Result;
use clap::builder::PossibleValuesParser;
use clap::{Args, Command};
use clap_complete::Shell;

use super::say::say;
use crate::definitions::{groups, indices, outcomes};

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
    let mut command = super::command().mut_subcommands(with_names);
    clap_complete::generate(args.shell, &mut command, "cutspan", &mut script);
    say(script)
}

/// A verb whose options that take names offer the built-in ones. A study may define more, so that the program itself
/// does not refuse others here.
fn with_names(verb: Command) -> Command {
    let names: [(&str, Vec<&'static str>); 3] = [
        ("index", indices().iter().map(|row| row.name.as_str()).collect()),
        ("outcome", outcomes().iter().map(|row| row.name.as_str()).collect()),
        ("group", groups().iter().map(|row| row.name.as_str()).collect()),
    ];
    names.into_iter().fold(verb, |verb, (option, known)| {
        if verb.get_arguments().any(|argument| argument.get_id() == option) {
            verb.mut_arg(option, |argument| argument.value_parser(PossibleValuesParser::new(known)))
        } else {
            verb
        }
    })
}

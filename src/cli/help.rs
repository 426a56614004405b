//! What the long help of every verb ends with.

use clap::{Command, CommandFactory};

/// Verbs to which values with units are given, or which compute with them.
const WITH_UNITS: [&str; 5] = ["run", "check", "claim", "place", "new"];

const UNITS: &str = "\
Units: a column of a table and a value of a person carry their unit: mg/dL or mmol/L (glucose, triglycerides,
HDL), uU/mL or pmol/L (insulin; pmol/L needs a factor, 6.00 or 6.945, because both are in print), % or mmol/mol
(A1c), kg/m2, cm, mm Hg, years, hours. uIU/mL and mU/L are other names of uU/mL. Decimals follow a point.
A limit is compared in the unit that was reported. cutspan list quantities prints every quantity with its units.";

const EXIT_CODES: &str = "\
Exit codes: 0 done; 1 done, but a check that the study states does not hold, a run made anew differs, or a file is
damaged; 2 could not run, and nothing was written: the message says where, what was found, what was expected and what to do.";

/// The command line with its long help: `--help` says more than `-h`.
pub(super) fn command() -> Command {
    let program = super::Cli::command();
    let long = longer(&program, true);
    program.after_long_help(long).mut_subcommands(|verb| {
        let units = WITH_UNITS.contains(&verb.get_name());
        let long = longer(&verb, units);
        verb.after_long_help(long)
    })
}

/// The examples, then units where they matter, then exit codes.
fn longer(command: &Command, units: bool) -> String {
    let examples = command.get_after_help().map(ToString::to_string).unwrap_or_default();
    let units = if units { format!("{UNITS}\n\n") } else { String::new() };
    format!("{examples}\n\n{units}{EXIT_CODES}")
}

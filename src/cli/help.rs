//! Help as it is shown: paragraphs that fit the screen, and what concerns all verbs in one place.

use clap::builder::Resettable;
use clap::{Arg, Command, CommandFactory};

const UNITS: &str = "\
Units: a column of a table and a value of a person carry their unit: mg/dL or mmol/L (glucose, triglycerides,
HDL), uU/mL or pmol/L (insulin; pmol/L needs a factor, 6.00 or 6.945, because both are in print), % or mmol/mol
(A1c), kg/m2, cm, mm Hg, years, hours. uIU/mL and mU/L are other names of uU/mL. Decimals follow a point, unless a
study says otherwise of its table. A limit is compared in the unit that was reported. cutspan list quantities prints every quantity with its units.";

const EXIT_CODES: &str = "\
Exit codes: 0 done; 1 done, but a check that the study states does not hold, a run made anew differs, a file is
damaged or a chart cannot be drawn; 2 could not run, and nothing was written: the message says where, what was found, what was expected and what to do.";

/// In the long help of every verb.
const SEE: &str = "Units and exit codes: cutspan --help";
/// A line longer than this is wrapped on a usual screen.
const USUAL_WIDTH: usize = 80;
/// Blanks that part a remark from the line it stands beside.
const GAP: &str = "   ";

/// The command line with its long help: `--help` says more than `-h`, and that of the program what holds for all verbs.
pub(super) fn command() -> Command {
    let program = without_empty_variables(super::Cli::command());
    let examples = shown(&program);
    let long = format!("{examples}\n\n{}\n\n{}", flowing(UNITS), flowing(EXIT_CODES));
    program.after_help(examples).after_long_help(long).mut_subcommands(|verb| {
        let examples = shown(&verb);
        let long = format!("{examples}\n\n{SEE}");
        verb.after_help(examples).after_long_help(long)
    })
}

/// The command, its options blind to a variable of the environment that is set to nothing: nobody gave them a value.
fn without_empty_variables(command: Command) -> Command {
    let is_empty =
        |option: &Arg| option.get_env().and_then(std::env::var_os).is_some_and(|value| value.is_empty());
    let seen = |option: Arg| if is_empty(&option) { option.env(Resettable::Reset) } else { option };
    command.mut_args(seen).mut_subcommands(without_empty_variables)
}

/// What stands after the options of a command.
fn shown(command: &Command) -> String {
    command.get_after_help().map(|text| flowing(&text.to_string())).unwrap_or_default()
}

/// A text whose paragraphs are one line each, to be wrapped where the screen ends, and whose remarks stand below an
/// example that has no room beside it. Indented lines are no paragraphs.
fn flowing(text: &str) -> String {
    let mut lines: Vec<String> = Vec::new();
    for line in text.lines() {
        let goes_on = !line.is_empty() && !line.starts_with(' ');
        match lines.last_mut() {
            Some(before)
                if goes_on && !before.is_empty() && !before.starts_with(' ') && !before.ends_with(':') =>
            {
                before.push(' ');
                before.push_str(line);
            }
            _ => lines.extend(beside(line)),
        }
    }
    lines.join("\n")
}

/// A line as it is, or its remark on a line of its own.
fn beside(line: &str) -> Vec<String> {
    let indent = line.len() - line.trim_start().len();
    match line.trim_start().split_once(GAP) {
        Some((example, remark))
            if line.chars().count() > USUAL_WIDTH && indent > 0 && !example.is_empty() =>
        {
            vec![
                format!("{}{example}", &line[..indent]),
                format!("{}    {}", &line[..indent], remark.trim_start()),
            ]
        }
        _ => vec![line.to_owned()],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paragraphs_flow_and_remarks_find_room() {
        let long = format!("  cutspan check {}{GAP}   what it does", "x".repeat(60));
        let text = format!("Examples:\n  cutspan run a{GAP}short\n{long}\n\nOutput: one\ntwo.");
        let expected = format!(
            "Examples:\n  cutspan run a{GAP}short\n  cutspan check {}\n      what it does\n\nOutput: one two.",
            "x".repeat(60)
        );
        assert_eq!(flowing(&text), expected);
    }

    #[test]
    fn no_help_breaks_off_in_the_middle_of_a_sentence() {
        let program = command();
        for verb in program.get_subcommands().chain([&program]) {
            let text = verb.get_after_long_help().map(ToString::to_string).unwrap_or_default();
            let mut before = "";
            for line in text.lines() {
                let plain = |line: &str| !line.is_empty() && !line.starts_with(' ');
                assert!(!(plain(before) && plain(line)), "{}: {before} / {line}", verb.get_name());
                before = line;
            }
            assert_eq!(text.contains("Exit codes: 0"), verb.get_name() == "cutspan", "{}", verb.get_name());
        }
    }
}

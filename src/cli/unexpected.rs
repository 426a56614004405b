//! What is said of an argument that no verb takes: what was meant, where that can be told.

use clap::builder::StyledStr;
use clap::error::{ContextKind, ContextValue, Error, ErrorKind};

use super::unasked::{NOT_ACCOUNTED_FOR, is_not_accounted_for};
use crate::definitions::answer::same_unit;
use crate::definitions::quantity::quantities;

/// How the tip begins by which an option is passed as a value, which no verb takes.
const AS_A_VALUE: &str = "to pass";

/// The error with a tip of its own, where the usual one is missing or leads astray.
pub(super) fn explained(mut error: Error) -> Error {
    if error.kind() != ErrorKind::UnknownArgument {
        return error;
    }
    let Some(ContextValue::String(argument)) = error.get(ContextKind::InvalidArg) else { return error };
    let tip = if is_unit(argument) {
        Some(format!("write a number and its unit in one word, or in quotes: 101mg/dL or \"101 {argument}\""))
    } else if is_not_accounted_for(argument) {
        Some(format!("{argument} {NOT_ACCOUNTED_FOR}"))
    } else if leads_astray(error.get(ContextKind::Suggested)) {
        Some("--help after the verb lists its options".to_owned())
    } else {
        None
    };
    if let Some(tip) = tip {
        error.insert(ContextKind::Suggested, ContextValue::StyledStrs(vec![StyledStr::from(tip)]));
    }
    error
}

/// Whether a word is a unit in which something is measured.
fn is_unit(word: &str) -> bool {
    quantities().iter().flat_map(|quantity| &quantity.units).any(|row| same_unit(&row.unit, word))
}

fn leads_astray(tips: Option<&ContextValue>) -> bool {
    match tips {
        Some(ContextValue::StyledStrs(tips)) => {
            tips.iter().any(|tip| tip.to_string().starts_with(AS_A_VALUE))
        }
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::help::command;

    fn said(more: &[&str]) -> String {
        let args = ["cutspan", "place", "out"].iter().chain(more);
        explained(command().try_get_matches_from(args).expect_err("refused")).to_string()
    }

    #[test]
    fn a_unit_that_stands_apart_is_told_to_be_joined() {
        let apart = said(&["--glucose", "101", "mg/dL"]);
        assert!(apart.contains("101mg/dL or \"101 mg/dL\""), "{apart}");
        assert!(said(&["--insulin", "9.8", "uIU/mL"]).contains("in one word, or in quotes"));
        assert!(!said(&["--glucose", "101mg/dL", "twice"]).contains("in quotes"));
        let unasked = said(&["--steroids", "yes"]);
        assert!(unasked.contains("--steroids cannot be accounted for: "), "{unasked}");
    }

    #[test]
    fn no_option_is_told_to_be_passed_as_a_value() {
        let unknown = said(&["--creatinine", "1"]);
        assert!(unknown.contains("'--creatinine'") && !unknown.contains("to pass"), "{unknown}");
    }

    #[test]
    fn names_that_people_try_first_are_options() {
        for name in ["--tg", "--trigs", "--hba1c", "--gender", "--race", "--ethnicity", "--bp"] {
            let read = command().try_get_matches_from(["cutspan", "place", "out", name, "1"]);
            assert!(read.is_ok(), "{name}");
        }
    }
}

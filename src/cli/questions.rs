//! Questions on a terminal, and what is understood of an answer.

use std::io::{BufRead, Write};

use anyhow::{Result, anyhow, bail};

use crate::definitions::nearest::hint;
use crate::definitions::{groups, indices, outcomes};
use crate::study::{OwnNames, crossed};

/// Who asks and who answers.
#[derive(Debug)]
pub(super) struct Questions<I, O> {
    pub input: I,
    pub output: O,
}

impl<I: BufRead, O: Write> Questions<I, O> {
    pub fn say(&mut self, text: &str) -> Result<()> {
        Ok(writeln!(self.output, "{text}")?)
    }

    /// Asks until the answer is understood; an empty one takes what is offered.
    pub fn ask<T>(&mut self, question: &str, offered: &str, read: impl Fn(&str) -> Result<T>) -> Result<T> {
        loop {
            write!(self.output, "{question} [{offered}]: ")?;
            self.output.flush()?;
            let mut answer = String::new();
            if self.input.read_line(&mut answer)? == 0 {
                bail!("no answer to: {question}; nothing was written");
            }
            let answer = answer.trim();
            match read(if answer.is_empty() { offered } else { answer }) {
                Ok(understood) => return Ok(understood),
                Err(error) => self.say(&format!("  {error}"))?,
            }
        }
    }
}

/// Names of built-in rows and of what the table's `own` columns make, with commas.
pub(super) fn names(written: &str, what: &str, own: &OwnNames) -> Result<Vec<String>> {
    let (built_in, made): (Vec<&str>, &[(String, String)]) = match what {
        "index" => (indices().iter().map(|row| row.name.as_str()).collect(), &[]),
        "outcome" => (outcomes().iter().map(|row| row.name.as_str()).collect(), &own.outcomes),
        _ => (groups().iter().map(|row| row.name.as_str()).collect(), &own.groups),
    };
    let known: Vec<&str> = built_in.into_iter().chain(made.iter().map(|(name, _)| name.as_str())).collect();
    // A column may be named as the table does.
    let named = |part: &str| {
        let own = made.iter().find(|(_, column)| column.eq_ignore_ascii_case(part));
        own.filter(|_| !known.contains(&part)).map(|(name, _)| name.clone())
    };
    let mut all: Vec<String> = Vec::new();
    for name in written.split(',').map(str::trim).filter(|name| !name.is_empty()) {
        // Only groups are crossed.
        let parts = if what == "group" { crossed(name) } else { vec![name] };
        let parts: Vec<String> =
            parts.into_iter().map(|part| named(part).unwrap_or_else(|| part.to_owned())).collect();
        if let Some(unknown) = parts.iter().find(|part| !known.contains(&part.as_str())) {
            if let Some(problem) = unlike(unknown, what, own) {
                bail!("{problem}");
            }
            let cross =
                if what == "group" { "; two are crossed with ×, * or x: \"sex x obesity\"" } else { "" };
            bail!("unknown {what} \"{unknown}\". {}{cross}", hint(unknown, known.iter().copied()));
        }
        let is_as_written = parts.iter().all(|part| name.contains(part.as_str()));
        let name = if is_as_written { name.to_owned() } else { parts.join(" × ") };
        if !all.contains(&name) {
            all.push(name);
        }
    }
    if all.is_empty() {
        bail!("no {what} is named: give names with commas, or the word none");
    }
    Ok(all)
}

/// Why nothing is made of a column of the table that has this name.
fn unlike(name: &str, what: &str, own: &OwnNames) -> Option<String> {
    own.columns.iter().find(|column| column.trim().eq_ignore_ascii_case(name))?;
    match what {
        "outcome" => Some(format!(
            "\"{name}\" is a column of the table, but holds no yes and no in words or as 1 and 0: write such a column, or \
             define the outcome by a formula in the file that is written without it ([[define.outcome]] at its end)"
        )),
        "group" => Some(format!(
            "\"{name}\" is a column of the table, but does not hold 2 to 8 texts: numbers are parted by cuts in the file that \
             is written without it ([[define.group]] at its end)"
        )),
        _ => None,
    }
}

/// `homa_ir=2.5`.
pub(super) fn threshold(written: &str) -> Result<(String, f64)> {
    let (index, value) = written
        .split_once('=')
        .ok_or_else(|| anyhow!("found \"{written}\", expected INDEX=VALUE, such as homa_ir=2.5"))?;
    let index = names(index, "index", &OwnNames::default())?.swap_remove(0);
    Ok((index, super::number(value.trim()).map_err(|problem| anyhow!(problem))?))
}

//! Questions on a terminal, and what is understood of an answer.

use std::io::{BufRead, Write};

use anyhow::{Result, anyhow, bail};

use crate::definitions::nearest::hint;
use crate::definitions::{groups, indices, outcomes};
use crate::study::crossed;

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

/// Names of built-in rows and of the table's `own` groups, with commas.
pub(super) fn names(written: &str, what: &str, own: &[String]) -> Result<Vec<String>> {
    let known: Vec<&str> = match what {
        "index" => indices().iter().map(|row| row.name.as_str()).collect(),
        "outcome" => outcomes().iter().map(|row| row.name.as_str()).collect(),
        _ => groups().iter().map(|row| &row.name).chain(own).map(String::as_str).collect(),
    };
    let mut all: Vec<String> = Vec::new();
    for name in written.split(',').map(str::trim).filter(|name| !name.is_empty()) {
        // Only groups are crossed.
        let parts = if what == "group" { crossed(name) } else { vec![name] };
        if let Some(unknown) = parts.into_iter().find(|part| !known.contains(part)) {
            let cross =
                if what == "group" { "; two are crossed with ×, * or x: \"sex x obesity\"" } else { "" };
            bail!("unknown {what} \"{unknown}\". {}{cross}", hint(unknown, known.iter().copied()));
        }
        if !all.iter().any(|other| other == name) {
            all.push(name.to_owned());
        }
    }
    if all.is_empty() {
        bail!("no {what} is named: give names with commas, or the word none");
    }
    Ok(all)
}

/// `homa_ir=2.5`.
pub(super) fn threshold(written: &str) -> Result<(String, f64)> {
    let (index, value) = written
        .split_once('=')
        .ok_or_else(|| anyhow!("found \"{written}\", expected INDEX=VALUE, such as homa_ir=2.5"))?;
    let index = names(index, "index", &[])?.swap_remove(0);
    Ok((index, super::number(value.trim()).map_err(|problem| anyhow!(problem))?))
}

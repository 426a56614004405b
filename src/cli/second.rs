//! A second measurement, as one text: `glucose=96mg/dL,insulin=7uU/mL,months=6`. Names are those of the options.

use anyhow::{Context, Result, anyhow, bail};

use super::person::{quantity_of, read};
use crate::definitions::Quantity;
use crate::definitions::answer::Answer;

const MONTHS: &str = "months";

/// The answers at the second date, and how many months later they were given.
pub(super) fn second(text: &str, quantities: &[Quantity], factor: Option<f64>) -> Result<(Vec<Answer>, f64)> {
    let mut written = Vec::new();
    let mut months = None;
    for part in text.split(',').map(str::trim).filter(|part| !part.is_empty()) {
        let (name, value) = part.split_once('=').ok_or_else(|| {
            anyhow!("--second: found \"{part}\", expected NAME=VALUE with a decimal point, parts separated by commas")
        })?;
        match name.trim() {
            MONTHS => months = Some(value.trim().parse::<f64>().ok().filter(|m| *m > 0.0).ok_or_else(|| {
                anyhow!("--second: months={value}: expected a number above 0, the months between the two dates")
            })?),
            name => written.push((quantity_of(name), value.to_owned())),
        }
    }
    let Some(months) = months else {
        bail!("--second: say how many months later it was: add months=6");
    };
    let answers = read(quantities, &written, factor).context("the second measurement cannot be read")?;
    if answers.is_empty() {
        bail!("--second: no value is given beside months");
    }
    Ok((answers, months))
}

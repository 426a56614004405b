//! A second measurement, as one text: `glucose=96mg/dL,insulin=7uU/mL,months=6`. Names are those of the options.

use anyhow::{Context, Result, anyhow, bail};

use super::person::{quantity_of, read, stated};
use crate::analysis::{Again, AssayThen};
use crate::definitions::Quantity;

const MONTHS: &str = "months";
const ASSAY: &str = "assay";

/// What was measured at the second date, and how many months later.
pub(super) fn second(text: &str, quantities: &[Quantity], factor: Option<f64>) -> Result<Again> {
    let mut written = Vec::new();
    let (mut months, mut assay) = (None, AssayThen::AsFirst);
    for part in parts(text) {
        let (name, value) = part.split_once('=').ok_or_else(|| {
            anyhow!("--second: found \"{part}\", expected NAME=VALUE with a decimal point, parts separated by commas")
        })?;
        match quantity_of(name).as_str() {
            MONTHS => months = Some(months_of(value)?),
            ASSAY => assay = stated(value).map_or(AssayThen::Unknown, AssayThen::Named),
            name => written.push((name.to_owned(), value.to_owned())),
        }
    }
    let Some(months) = months else {
        bail!("--second: say how many months later it was: add months=6");
    };
    let answers = read(quantities, &written, factor).context("the second measurement cannot be read")?;
    if answers.is_empty() {
        bail!("--second: no value is given beside months");
    }
    Ok(Again { answers, months, assay })
}

fn months_of(value: &str) -> Result<f64> {
    let months = value.trim().parse::<f64>().ok().filter(|months| months.is_finite() && *months > 0.0);
    months.ok_or_else(|| {
        anyhow!("--second: months={value}: expected a number above 0, the months between the two dates")
    })
}

/// The parts between commas; what follows a decimal comma, or a comma in an assay's name, belongs to the part before.
fn parts(text: &str) -> Vec<String> {
    let mut parts: Vec<String> = Vec::new();
    for part in text.split(',').map(str::trim).filter(|part| !part.is_empty()) {
        let goes_on = |before: &String| {
            part.starts_with(|c: char| c.is_ascii_digit()) || quantity_of(before).starts_with(ASSAY)
        };
        match parts.last_mut() {
            Some(before) if !part.contains('=') && goes_on(before) => {
                before.push(',');
                before.push_str(part);
            }
            _ => parts.push(part.to_owned()),
        }
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_decimal_comma_and_a_comma_in_a_name_part_nothing() {
        assert_eq!(
            parts("glucose=5,6mmol/L, months=6,assay=Tosoh AIA-900, Missouri"),
            ["glucose=5,6mmol/L", "months=6", "assay=Tosoh AIA-900,Missouri"]
        );
        assert_eq!(parts("glucose=96mg/dL,insulin"), ["glucose=96mg/dL", "insulin"]);
        assert!(months_of("inf").is_err() && months_of("0").is_err() && months_of("6").is_ok());
    }
}

//! What must be acted on first, said although something typed cannot be read.

use anyhow::Result;

use super::person::{sex, stated};
use super::second::pairs;
use crate::analysis::{self, Alone, Bound};
use crate::definitions::answer::{Answer, AnswerError};
use crate::definitions::{Quantity, bound};
use crate::report::place_urgent;
use crate::study::Study;

/// Lines about the measurements that can be read, each by itself, of the first date and of a second one.
pub(super) fn urgent_lines(
    study: &Study,
    first: &[(String, String)],
    (second, factor): (Option<&str>, Option<f64>),
) -> Result<Vec<String>> {
    let first = of_date(study, first, factor)?;
    let second = second.map(|text| of_date(study, &pairs(text), factor)).transpose()?;
    Ok(place_urgent(&first, second.as_deref()))
}

fn of_date(study: &Study, written: &[(String, String)], factor: Option<f64>) -> Result<Vec<Alone>> {
    let (mut answers, mut bounds): (Vec<Answer>, Vec<Bound>) = (Vec::new(), Vec::new());
    let mut without_unit: Vec<(&Quantity, String)> = Vec::new();
    for (name, value) in written {
        let quantity = study.quantities.iter().find(|quantity| quantity.name == *name);
        let Some((quantity, value)) = quantity.zip(stated(value)) else { continue };
        let value = if name == "sex" { sex(&value) } else { &value };
        match Answer::read(quantity, value, factor) {
            Ok(answer) => answers.push(answer),
            Err(AnswerError::NoUnit { .. }) => without_unit.push((quantity, value.to_owned())),
            Err(_) => bounds.extend(beyond(quantity, value, factor)),
        }
    }
    let mut found = analysis::urgent(study, &answers, &bounds)?;
    for (quantity, value) in without_unit {
        found.extend(in_each_unit(study, &answers, (quantity, &value), factor)?);
    }
    Ok(found)
}

/// A measurement of which only a bound is known.
fn beyond(quantity: &Quantity, written: &str, factor: Option<f64>) -> Option<Bound> {
    let (at, above) = bound(written)?;
    Some(Bound { at: Answer::read(quantity, at, factor).ok()?, above })
}

/// What would have to be acted on if a number that has no unit is meant in one of its quantity's.
fn in_each_unit(
    study: &Study,
    others: &[Answer],
    (quantity, written): (&Quantity, &str),
    factor: Option<f64>,
) -> Result<Vec<Alone>> {
    let mut found = Vec::new();
    for row in &quantity.units {
        let meant = format!("{written}{}", row.unit);
        let answer = Answer::read(quantity, &meant, factor).ok();
        let bounds: Vec<Bound> = beyond(quantity, &meant, factor).into_iter().collect();
        let answers: Vec<Answer> = others.iter().cloned().chain(answer).collect();
        let of_it = analysis::urgent(study, &answers, &bounds)?.into_iter();
        found.extend(of_it.filter(|alone| alone.quantity == quantity.name).map(|alone| Alone {
            words: format!("if {written} is meant in {}: {}", row.unit, alone.words),
            ..alone
        }));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::study;

    #[test]
    fn what_is_to_be_acted_on_is_said_whatever_else_cannot_be_read() {
        let pipelines = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let study = study::load(&pipelines.join("nhanes-2017-2020-adults.toml")).expect("a study");
        let said = |glucose: &str, insulin: &str, second| {
            let written = [("glucose", glucose), ("insulin", insulin)];
            let written = written.map(|(name, value)| (name.to_owned(), value.to_owned()));
            urgent_lines(&study, &written, (second, None)).expect("computed")
        };
        let low = said("48mg/dL", "9000uU/mL", None);
        assert!(low[0].starts_with("ACT ON THIS FIRST: plasma glucose 48 mg/dL is below 54"), "{low:?}");
        assert!(said("101mg/dL", "lots", None).is_empty());
        let high = said(">300mg/dL", ">300uU/mL", None);
        assert!(high[0].contains("plasma glucose above 300 mg/dL, as written, is very high"), "{high:?}");
        // A number without a unit is read in each.
        let bare = said(">300", "9.8uU/mL", None);
        assert_eq!(bare.len(), 1, "{bare:?}");
        let meant = "ACT ON THIS FIRST: if >300 is meant in mg/dL: plasma glucose above 300 mg/dL, as written, is very";
        assert!(bare[0].starts_with(meant), "{bare:?}");
        assert!(
            said("45", "9.8uU/mL", None)[0]
                .contains("if 45 is meant in mg/dL: plasma glucose 45 mg/dL is below")
        );
        assert!(said("101", "9.8uU/mL", None).is_empty() && said("5.6", "9.8uU/mL", None).is_empty());
        let second = said("101mg/dL", "9.8uU/mL", Some("glucose=400mg/dL,insulin=much,months=6"));
        assert!(
            second[0].starts_with("ACT ON THIS FIRST: second date: plasma glucose 400 mg/dL"),
            "{second:?}"
        );
    }
}

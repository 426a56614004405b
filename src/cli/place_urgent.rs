//! What must be acted on first, said although something typed cannot be read.

use anyhow::Result;

use super::person::{sex, stated};
use super::second::pairs;
use crate::analysis::{self, Alone, Bound};
use crate::definitions::answer::Answer;
use crate::definitions::bound;
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
    for (name, value) in written {
        let quantity = study.quantities.iter().find(|quantity| quantity.name == *name);
        let Some((quantity, value)) = quantity.zip(stated(value)) else { continue };
        let value = if name == "sex" { sex(&value) } else { &value };
        let read = |value: &str| Answer::read(quantity, value, factor).ok();
        match read(value) {
            Some(answer) => answers.push(answer),
            None => bounds.extend(bound(value).and_then(|(at, above)| Some(Bound { at: read(at)?, above }))),
        }
    }
    Ok(analysis::urgent(study, &answers, &bounds)?)
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
        let second = said("101mg/dL", "9.8uU/mL", Some("glucose=400mg/dL,insulin=much,months=6"));
        assert!(
            second[0].starts_with("ACT ON THIS FIRST: second date: plasma glucose 400 mg/dL"),
            "{second:?}"
        );
    }
}

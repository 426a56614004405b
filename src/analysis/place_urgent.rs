//! What must be acted on before anything else, of whatever could be read of a person: it is said although nothing else can be.

use super::place::PlaceError;
use super::place_alone::{Alone, alone};
use crate::definitions::Quantity;
use crate::definitions::answer::{Answer, Given};
use crate::definitions::plausible::plausible;
use crate::source;
use crate::study::Study;

/// By how much a value beyond a bound is beyond it at least.
const BEYOND: f64 = 1e-9;
/// Values at which a bound is tried, from itself to the end of what is possible, in equal ratios.
const STEPS: i32 = 12;

/// A measurement of which only a bound is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Bound {
    /// The bound, read as if it were the value.
    pub at: Answer,
    /// Whether the measurement lies above it.
    pub above: bool,
}

/// The ranges to act on in which the measurements lie, and those in which every value beyond a bound does.
pub fn urgent(study: &Study, answers: &[Answer], bounds: &[Bound]) -> Result<Vec<Alone>, PlaceError> {
    let mut found = of_values(study, answers)?;
    for bound in bounds {
        found.extend(beyond(study, answers, bound)?);
    }
    Ok(found)
}

fn of_values(study: &Study, answers: &[Answer]) -> Result<Vec<Alone>, PlaceError> {
    let row = source::person(&study.quantities, answers)?;
    let mut found = alone(study, answers, &row)?;
    found.retain(|alone| alone.urgent);
    Ok(found)
}

/// The range to act on in which a measurement beyond a bound is, wherever it lies.
fn beyond(study: &Study, answers: &[Answer], bound: &Bound) -> Result<Option<Alone>, PlaceError> {
    let quantity = study.quantities.iter().find(|q| q.name == bound.at.quantity);
    let Some((quantity, values)) = quantity.and_then(|q| Some((q, tried(q, bound)?))) else {
        return Ok(None);
    };
    let mut nearest = None;
    for value in values {
        let at = with_value(&bound.at, value);
        let measured = at.in_words(quantity);
        let mut all = answers.to_vec();
        all.retain(|answer| answer.quantity != quantity.name);
        all.push(at);
        let of_it = of_values(study, &all)?.into_iter().find(|alone| alone.quantity == quantity.name);
        let Some(of_it) = of_it else { return Ok(None) };
        nearest = nearest.or(Some((of_it, measured)));
    }
    let side = if bound.above { "above" } else { "below" };
    let words = format!("{side} {}, as written,", bound.at.in_words(quantity));
    Ok(nearest.map(|(of_it, measured)| Alone { words: of_it.words.replacen(&measured, &words, 1), ..of_it }))
}

/// Values beyond a bound in its own unit, the nearest first, up to the end of what is possible.
fn tried(quantity: &Quantity, bound: &Bound) -> Option<Vec<f64>> {
    let Given::Number { value, unit, factor } = bound.at.given else { return None };
    let possible = plausible(&quantity.name)?.possible;
    let end = quantity.units[unit].from_first(if bound.above { possible.1 } else { possible.0 }, factor);
    let first = if bound.above { value * (1.0 + BEYOND) } else { value * (1.0 - BEYOND) };
    let step = (end / first).powf(1.0 / f64::from(STEPS));
    Some((0..=STEPS).map(|at| first * step.powi(at)).collect())
}

fn with_value(answer: &Answer, at: f64) -> Answer {
    let mut moved = answer.clone();
    if let Given::Number { value, .. } = &mut moved.given {
        *value = at;
    }
    moved
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::definitions::quantity::quantity;
    use crate::study;

    fn said(written: &str, above: bool) -> Option<String> {
        let pipelines = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let study = study::load(&pipelines.join("nhanes-2017-2020-adults.toml")).expect("a study");
        let at = Answer::read(quantity("glucose").expect("built in"), written, None).expect("readable");
        let found = urgent(&study, &[], &[Bound { at, above }]).expect("computed");
        found.first().map(|alone| alone.words.clone())
    }

    #[test]
    fn a_bound_beyond_which_every_value_is_to_be_acted_on_says_so() {
        let high = said("300mg/dL", true).expect("very high");
        assert!(high.starts_with("plasma glucose above 300 mg/dL, as written, is very high"), "{high}");
        let low = said("40mg/dL", false).expect("low");
        assert!(low.starts_with("plasma glucose below 40 mg/dL, as written, is below 54"), "{low}");
        assert!(said("3.9mmol/L", false).is_some());
        // Beyond these lie values with nothing to act on.
        for (written, above) in
            [("60mg/dL", true), ("200mg/dL", true), ("300mg/dL", false), ("80mg/dL", false)]
        {
            assert_eq!(said(written, above), None, "{written} {above}");
        }
    }
}

//! Whether a number of one person can be right: by its bounds, and by what another unit would make of it.

use super::answer::{Answer, AnswerError, Given};
use super::plausible::{Likelihood, Plausible, plausible};
use super::written::may_be_below;
use super::{Quantity, UnitRow};
use crate::table::number::{reading, significant};

/// From how many times off the plausible one a refused value is said to be so.
const FAR_OFF: f64 = 8.0;
/// A value this many times off is remarked, if another unit explains it.
const REMARKED: f64 = 2.0;
/// By how much closer (on the log) the other unit must come to explain the value.
const CLOSER: f64 = 4.0;
/// Digits of what stands in for a value below a limit.
const FILLED: usize = 3;
/// Digits of a bound in a message.
const DIGITS: usize = 4;

impl Answer {
    /// Refuses a number that no living person has, or that few have and another unit explains, with all beyond it.
    pub(super) fn refuse_impossible(&self, quantity: &Quantity) -> Result<(), AnswerError> {
        self.refuse_zero(quantity)?;
        let (name, found) = (quantity.name.clone(), self.in_words(quantity));
        let bounds = self.bounds(quantity);
        if let (Some((times, likely)), Given::Number { value, .. }) =
            (self.likelier_unit(quantity).filter(|_| self.is_slip(quantity)), &self.given)
        {
            if times > FAR_OFF {
                let (times, likely) = (times.round() as u64, likely.unit.clone());
                return Err(AnswerError::WrongUnit { quantity: name, found, times, likely });
            }
            let likely = format!("{value}{}", likely.unit);
            return Err(AnswerError::OtherUnit { quantity: name, found, likely });
        }
        match bounds {
            Some((row, Likelihood::Impossible)) => Err(AnswerError::Impossible {
                quantity: name,
                found,
                expected: self.range(quantity, row.possible),
            }),
            _ => Ok(()),
        }
    }

    /// Whether a number that another unit explains can be nothing else: it is impossible, or few people have it and
    /// another unit explains the end of what is possible too. Otherwise refusing it would leave a gap among the numbers
    /// that are taken.
    fn is_slip(&self, quantity: &Quantity) -> bool {
        let Some((row, judged)) = self.bounds(quantity) else {
            return self.likelier_unit(quantity).is_some_and(|(times, _)| times > FAR_OFF);
        };
        let Given::Number { value, unit, factor } = &self.given else { return false };
        let of = &quantity.units[*unit];
        let low = of.to_first(*value, *factor) < row.usual.0;
        let end = of.from_first(if low { row.possible.0 } else { row.possible.1 }, *factor);
        match judged {
            Likelihood::Impossible => true,
            Likelihood::Unusual => end <= 0.0 || self.likelier(quantity, (end, *unit)).is_some(),
            Likelihood::Usual => false,
        }
    }

    /// Refuses a 0 of what nobody has none of.
    fn refuse_zero(&self, quantity: &Quantity) -> Result<(), AnswerError> {
        let Given::Number { value, .. } = self.given else { return Ok(()) };
        if value > 0.0 || plausible(&quantity.name).is_none_or(|row| row.possible.0 <= 0.0) {
            return Ok(());
        }
        let instead = if may_be_below(quantity) {
            "below the limit of detection, write the limit: <2uU/mL"
        } else {
            "leave it out if it was not measured"
        };
        Err(AnswerError::Zero { quantity: quantity.name.clone(), instead: instead.to_owned() })
    }

    /// A remark on a number that is below a limit, that another unit would explain better, or that few people have.
    #[must_use]
    pub fn doubt(&self, quantity: &Quantity) -> Option<String> {
        let (label, found) = (&quantity.label, self.in_words(quantity));
        if let (Some(limit), Given::Number { value, unit, .. }) = (self.below, &self.given) {
            let rare = self.rare_below(quantity, limit).map(|range| {
                format!("; so little is rarely seen (usual: {range}), check the number and the unit")
            });
            return Some(format!(
                "{label} is below {limit} {}: indices are computed with {} ({limit} / √2), a guess; the true value may lie \
                 anywhere below {limit}{}",
                quantity.units[*unit].unit,
                reading(*value, FILLED),
                rare.unwrap_or_default()
            ));
        }
        if let Some((_, likely)) = self.likelier_unit(quantity) {
            let likely = &likely.unit;
            return Some(format!(
                "{label} {found} is unusual and would be usual in {likely}; check the unit"
            ));
        }
        match self.bounds(quantity) {
            Some((row, Likelihood::Unusual)) => {
                let range = self.range(quantity, row.usual);
                Some(format!(
                    "{label} {found} is rarely seen (usual: {range}); check the number and the unit"
                ))
            }
            _ => None,
        }
    }

    /// The usual range, where everything below a limit of detection lies below it.
    fn rare_below(&self, quantity: &Quantity, limit: f64) -> Option<String> {
        let Given::Number { unit, factor, .. } = &self.given else { return None };
        let (row, _) = self.bounds(quantity)?;
        let first = quantity.units[*unit].to_first(limit, *factor);
        (first <= row.usual.0).then(|| self.range(quantity, row.usual))
    }

    /// A remark on a number that few adults have, where everybody's bounds let it pass.
    #[must_use]
    pub fn doubt_in_adult(&self, quantity: &Quantity) -> Option<String> {
        let Given::Number { value, unit, factor } = &self.given else { return None };
        let adult = self.bounds(quantity).filter(|(_, judged)| *judged == Likelihood::Usual)?.0.adult?;
        let first = quantity.units[*unit].to_first(*value, *factor);
        let (label, found) = (&quantity.label, self.in_words(quantity));
        let rare = !(adult.0..=adult.1).contains(&first);
        rare.then(|| {
            let range = self.range(quantity, adult);
            format!("{label} {found}: unusual in an adult (usual: {range}), check the value")
        })
    }

    /// The bounds of the quantity, and how the number lies to them.
    fn bounds(&self, quantity: &Quantity) -> Option<(&'static Plausible, Likelihood)> {
        let Given::Number { value, unit, factor } = &self.given else { return None };
        let row = plausible(&quantity.name)?;
        Some((row, row.judge(quantity.units[*unit].to_first(*value, *factor))))
    }

    /// Bounds in the unit of the answer.
    fn range(&self, quantity: &Quantity, (low, high): (f64, f64)) -> String {
        let Given::Number { unit, factor, .. } = &self.given else { return String::new() };
        let row = &quantity.units[*unit];
        let shown = |first: f64| significant(row.from_first(first, *factor), DIGITS);
        format!("{} to {} {}", shown(low), shown(high), row.unit)
    }

    /// How many times the value is off the plausible one, and the unit in which it would not be.
    fn likelier_unit<'a>(&self, quantity: &'a Quantity) -> Option<(f64, &'a UnitRow)> {
        let Given::Number { value, unit, .. } = self.given else { return None };
        self.likelier(quantity, (value, unit))
    }

    /// The same of another value in a unit, by the factor of the answer.
    fn likelier<'a>(
        &self,
        quantity: &'a Quantity,
        (value, unit): (f64, usize),
    ) -> Option<(f64, &'a UnitRow)> {
        let (Given::Number { factor, .. }, Some(plausible)) = (&self.given, quantity.plausible) else {
            return None;
        };
        let distance = |position: usize| {
            let first = quantity.units[position].to_first(value, *factor);
            if first > 0.0 { (first / plausible).ln().abs() } else { f64::INFINITY }
        };
        let declared = distance(unit);
        let others = (0..quantity.units.len()).filter(|other| *other != unit);
        let likely = others.min_by(|a, b| distance(*a).total_cmp(&distance(*b)))?;
        let explained = declared > REMARKED.ln() && distance(likely) * CLOSER <= declared;
        explained.then(|| (declared.exp(), &quantity.units[likely]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::quantity::quantity;

    fn read(name: &str, written: &str) -> Result<Answer, AnswerError> {
        Answer::read(quantity(name).expect("a built-in quantity"), written, None)
    }

    #[test]
    fn a_value_that_another_unit_explains_is_doubted_or_refused() {
        // 5.6 mg/dL is 17 times below the usual 95 mg/dL; 5.6 mmol/L is 100.9 mg/dL.
        assert!(matches!(read("glucose", "5.6mg/dL"), Err(AnswerError::WrongUnit { .. })));
        let answer = read("insulin", "59uU/mL").expect("high, not impossible");
        let doubt = answer.doubt(quantity("insulin").expect("known")).expect("a doubt");
        assert!(doubt.contains("pmol/L"), "{doubt}");
        // Nothing in the middle of what is taken is refused: 88 to 109 are usual in pmol/L, 110 and more in neither.
        for insulin in ["80uU/mL", "90uU/mL", "98uU/mL", "105uU/mL", "110uU/mL", "600uU/mL"] {
            let answer = read("insulin", insulin).expect(insulin);
            let doubt = answer.doubt(quantity("insulin").expect("known")).expect("a doubt");
            assert!(doubt.contains("check the"), "{doubt}");
        }
        for refused in ["60mmol/L", "120mmol/L", "200mmol/L"] {
            assert!(read("glucose", refused).is_err(), "{refused}");
        }
        let answer = read("glucose", "101mg/dL").expect("usual");
        assert_eq!(answer.doubt(quantity("glucose").expect("known")), None);
    }

    #[test]
    fn a_value_out_of_bounds_is_refused_and_a_rare_one_remarked() {
        let cases = ["bmi 310", "bmi 3.1", "age 470", "insulin 980uIU/mL", "waist 900", "systolic 1350"];
        for (name, written) in cases.iter().filter_map(|case| case.split_once(' ')) {
            let refused = read(name, written).expect_err("impossible").to_string();
            assert!(refused.contains("expected") && refused.contains("check"), "{refused}");
        }
        let bmi = quantity("bmi").expect("known");
        for (written, remarked) in [("13", true), ("62", true), ("17", false), ("60", false)] {
            let answer = read("bmi", written).expect("possible");
            assert_eq!(answer.doubt_in_adult(bmi).is_some(), remarked, "{written}");
            assert_eq!(answer.doubt(bmi), None, "{written}: possible in a child");
        }
        let low = read("insulin", "0.3uIU/mL").expect("possible");
        let doubt = low.doubt(quantity("insulin").expect("known")).expect("rare");
        assert!(doubt.contains("usual: 1 to 100 uU/mL"), "{doubt}");
        // Whatever lies below a limit of 1 is as rare; below one of 2 it need not be.
        for (written, rare) in [("<1uU/mL", true), ("<0.5uU/mL", true), ("<2uU/mL", false)] {
            let below = read("insulin", written).expect("possible");
            let doubt = below.doubt(quantity("insulin").expect("known")).expect("a guess");
            assert_eq!(doubt.contains("so little is rarely seen (usual: 1 to 100 uU/mL)"), rare, "{doubt}");
        }
    }
}

//! A threshold as it is typed: a number, and the unit that some write behind it.

use anyhow::{Result, bail};

use crate::analysis::claim::Stated;
use crate::definitions::answer::unit_in_print;
use crate::definitions::other_form::{readings, says_itself};
use crate::definitions::quantity::quantities;
use crate::definitions::{Index, Quantity, columns_read};
use crate::table::number::significant;

/// Digits of a threshold that is turned into another unit.
const CONVERTED_DIGITS: usize = 4;

/// A number with the unit behind it, empty when there is none.
#[derive(Debug, Clone, PartialEq)]
pub struct Typed {
    pub value: f64,
    unit: String,
}

impl Typed {
    /// Whether nothing stands behind the number.
    pub fn is_bare(&self) -> bool {
        self.unit.is_empty()
    }
}

/// Reads `2`, `2.5`, `10uU/mL` or `10 uU/mL`; whether the unit is the index's is seen later.
pub fn typed(text: &str) -> Result<Typed, String> {
    let text = text.trim();
    let end = text.find(|c: char| !(c.is_ascii_digit() || "+-.,".contains(c))).unwrap_or(text.len());
    let (digits, unit) = (&text[..end], text[end..].trim());
    // `1e3`, `inf` and `NaN` are read as a whole.
    let (digits, unit) = if super::number(text).is_ok() { (text, "") } else { (digits, unit) };
    if let Some(several) = several(digits) {
        return Err(several);
    }
    let value = super::number(if digits.is_empty() { text } else { digits })?;
    Ok(Typed { value, unit: unit.to_owned() })
}

/// Says of a list of numbers how it is given; `2,5` is a number with a comma in it.
fn several(digits: &str) -> Option<String> {
    let numbers: Vec<&str> = digits.split(',').map(str::trim).collect();
    let are_numbers = numbers.iter().all(|number| number.parse::<f64>().is_ok_and(f64::is_finite));
    let is_list = numbers.len() > 2 || (numbers.len() == 2 && digits.contains('.'));
    (is_list && are_numbers).then(|| {
        format!(
            "several thresholds are given by repeating the option, once for each number: {}",
            numbers.join("; ")
        )
    })
}

/// Whether a threshold is said to be in the index's own form and unit; refuses one in another.
pub fn in_unit_of(index: &Index, threshold: &Stated, typed: &Typed) -> Result<bool> {
    if typed.is_bare() {
        return Ok(false);
    }
    if says_itself(index, &typed.unit) {
        return Ok(true);
    }
    let (option, number) = (threshold.side.option(), typed.value);
    let has_unit = index.unit != "1" && !index.unit.is_empty();
    let own = if has_unit { unit_in_print(&index.unit) } else { "its own form".to_owned() };
    if let Some(converted) = converted(index, option, typed) {
        bail!("{option} {number} {}: {} is in {own} here. {converted}", typed.unit, index.label);
    }
    if has_unit {
        bail!(
            "{option} {number} {}: {} is in {} here. Convert the threshold and write {option} NUMBER or {option} \"NUMBER {}\"",
            typed.unit,
            index.label,
            index.unit,
            index.unit
        );
    }
    match of_parts(index) {
        Some(parts) => bail!(
            "{option} {number} {}: {} has no unit of its own; here it is made from {parts}. If the threshold was made from these \
             units, write {option} {number}; from others it may be another number",
            typed.unit,
            index.label
        ),
        None => bail!(
            "{option} {number} {}: {} is a pure number, without a unit. Write {option} {number}",
            typed.unit,
            index.label
        ),
    }
}

/// The parts of an index that have units, each with that in which the index is made from it.
fn of_parts(index: &Index) -> Option<String> {
    let columns = columns_read(&index.name, &index.formula).ok()?;
    let of = |quantity: &Quantity| {
        let unit = quantity.units.iter().find(|unit| columns.contains(&quantity.column(unit)))?;
        Some(format!("{} in {}", quantity.label, unit_in_print(&unit.unit)))
    };
    let parts: Vec<String> = quantities().iter().filter_map(of).collect();
    (!parts.is_empty()).then(|| parts.join(" and "))
}

/// What a threshold in another form or unit in print is in the index's own, by every factor in print.
fn converted(index: &Index, option: &str, typed: &Typed) -> Option<String> {
    let mut found = readings(index, typed.value);
    found.retain(|reading| reading.is_typed(&typed.unit));
    let shown = if index.unit == "1" { String::new() } else { format!(" {}", unit_in_print(&index.unit)) };
    let own = |value: f64| significant(value, CONVERTED_DIGITS);
    match found.as_slice() {
        [] => None,
        [one] => Some(format!("That is {0}{shown}: write {option} {0}", own(one.own))),
        several => {
            let each: Vec<String> = several
                .iter()
                .map(|reading| format!("{} gives {option} {}", reading.words, own(reading.own)))
                .collect();
            Some(format!(
                "{} factors are in print: {}. Ask whose threshold it is which factor it was made with, and write that",
                several.len(),
                each.join("; ")
            ))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::claim::Side;
    use crate::definitions::indices;

    #[test]
    fn a_unit_may_stand_behind_a_number_when_it_is_the_indexs() {
        let check = |index: &str, text: &str| {
            let row = indices().iter().find(|row| row.name == index).expect("an index");
            let typed = typed(text).map_err(anyhow::Error::msg)?;
            let stated = Stated { side: Side::AtLeast, value: typed.value };
            in_unit_of(row, &stated, &typed).map(|_| typed.value)
        };
        for text in ["10", "10uU/mL", "10 µIU/ml", "10mU/L"] {
            assert_eq!(check("insulin", text).expect(text), 10.0);
        }
        assert_eq!(check("homa_ir", "1e1").expect("a number"), 10.0);
        assert_eq!(check("homa_ir", "-.5").expect("a number"), -0.5);
        let wrong = |index: &str, text: &str| check(index, text).expect_err(text).to_string();
        assert!(
            wrong("insulin", "60pmol/L").contains(
                "fasting insulin is in µU/mL here. 2 factors are in print: pmol/L (1 µU/mL taken as 6 pmol/L) gives --at-least 10; \
                 pmol/L (1 µU/mL taken as 6.945 pmol/L) gives --at-least 8.639."
            ),
            "{}",
            wrong("insulin", "60pmol/L")
        );
        // 5.5 · 18.0156.
        let glucose = wrong("glucose", "5.5mmol/L");
        assert!(glucose.contains("That is 99.09 mg/dL: write --at-least 99.09"), "{glucose}");
        let half = wrong("tyg", "4.68 tyg_half_log");
        assert!(
            half.contains("TyG is in its own form here. That is 8.667: write --at-least 8.667"),
            "{half}"
        );
        assert!(wrong("insulin", "10 g").contains("Convert the threshold"));
        assert_eq!(check("tyg", "4.68 TyG").expect("its own name"), 4.68);
        for list in ["2,2.5,3", "2,3,4", "2.5,3", "2,2.5"] {
            assert!(
                wrong("homa_ir", list).contains("by repeating the option, once for each number: 2"),
                "{list}"
            );
        }
        let parts = wrong("homa_ir", "2mg");
        assert!(
            parts.contains("HOMA-IR has no unit of its own; here it is made from")
                && parts.contains("in mg/dL and ")
                && parts.ends_with("write --at-least 2; from others it may be another number"),
            "{parts}"
        );
        // A ratio whose value depends on the unit of its parts: 1.3 · 88.57 / 38.67.
        let ratio = wrong("tg_hdl", "1.3 mmol/L");
        assert!(ratio.contains("That is 2.978: write --at-least 2.978"), "{ratio}");
        assert!(wrong("tg_hdl_mmol", "3 mg/dL").contains("That is 1.31: write"));
        assert_eq!(check("tg_hdl", "3 mg/dL").expect("its own unit"), 3.0);
        assert!(wrong("insulin", "2,5uU/mL").contains("after a point: 2.5"));
        for text in ["two", "NaN", "", "uU/mL", "2.5.1"] {
            assert!(wrong("insulin", text).contains("a threshold is a number"), "{text}");
        }
    }
}

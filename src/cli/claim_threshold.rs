//! A threshold as it is typed: a number, and the unit that some write behind it.

use anyhow::{Result, bail};

use crate::analysis::claim::{Side, Stated};
use crate::definitions::Index;
use crate::definitions::answer::same_unit;

/// A number with the unit behind it, empty when there is none.
#[derive(Debug, Clone, PartialEq)]
pub struct Typed {
    pub value: f64,
    unit: String,
}

/// Reads `2`, `2.5`, `10uU/mL` or `10 uU/mL`; whether the unit is the index's is seen later.
pub fn typed(text: &str) -> Result<Typed, String> {
    let text = text.trim();
    let end = text.find(|c: char| !(c.is_ascii_digit() || "+-.,".contains(c))).unwrap_or(text.len());
    let (digits, unit) = (&text[..end], text[end..].trim());
    // `1e3`, `inf` and `NaN` are read as a whole.
    let (digits, unit) = if super::number(text).is_ok() { (text, "") } else { (digits, unit) };
    let value = super::number(if digits.is_empty() { text } else { digits })?;
    Ok(Typed { value, unit: unit.to_owned() })
}

/// Refuses a threshold in another unit than the index has.
pub fn in_unit_of(index: &Index, threshold: &Stated, typed: &Typed) -> Result<()> {
    let has_unit = index.unit != "1" && !index.unit.is_empty();
    if typed.unit.is_empty() || (has_unit && same_unit(&typed.unit, &index.unit)) {
        return Ok(());
    }
    let (option, number) = (option(threshold.side), typed.value);
    if has_unit {
        bail!(
            "{option} {number} {}: {} is in {} here. Convert the threshold and write {option} NUMBER or {option} \"NUMBER {}\"",
            typed.unit,
            index.label,
            index.unit,
            index.unit
        );
    }
    bail!(
        "{option} {number} {}: {} is a pure number, without a unit. Write {option} {number}",
        typed.unit,
        index.label
    )
}

/// The option that states a side.
fn option(side: Side) -> &'static str {
    match side {
        Side::Below => "--below",
        Side::AtMost => "--at-most",
        Side::AtLeast => "--at-least",
        Side::Above => "--above",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::indices;

    #[test]
    fn a_unit_may_stand_behind_a_number_when_it_is_the_indexs() {
        let check = |index: &str, text: &str| {
            let row = indices().iter().find(|row| row.name == index).expect("an index");
            let typed = typed(text).map_err(anyhow::Error::msg)?;
            let stated = Stated { side: Side::AtLeast, value: typed.value };
            in_unit_of(row, &stated, &typed).map(|()| typed.value)
        };
        for text in ["10", "10uU/mL", "10 µIU/ml", "10mU/L"] {
            assert_eq!(check("insulin", text).expect(text), 10.0);
        }
        assert_eq!(check("homa_ir", "1e1").expect("a number"), 10.0);
        assert_eq!(check("homa_ir", "-.5").expect("a number"), -0.5);
        let wrong = |index: &str, text: &str| check(index, text).expect_err(text).to_string();
        assert!(
            wrong("insulin", "60pmol/L").contains("fasting insulin is in uU/mL here"),
            "{}",
            wrong("insulin", "60pmol/L")
        );
        assert!(
            wrong("homa_ir", "2mg").ends_with("HOMA-IR is a pure number, without a unit. Write --at-least 2")
        );
        assert!(wrong("insulin", "2,5uU/mL").contains("after a point: 2.5"));
        for text in ["two", "NaN", "", "uU/mL", "2.5.1"] {
            assert!(wrong("insulin", text).contains("a threshold is a number"), "{text}");
        }
    }
}

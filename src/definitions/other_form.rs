//! Other forms and units in which an index stands in print, and values that only these explain.

use std::sync::LazyLock;

use serde::Deserialize;

use super::Index;
use super::aliases::plain;
use super::answer::{same_unit, unit_in_print};
use super::quantity::quantity;
use crate::table::number::significant;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    form: Vec<OtherForm>,
}

/// A form of an index under whose name it stands in print; see the head of `other_forms.toml`.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct OtherForm {
    index: String,
    form: String,
    words: String,
    #[serde(default)]
    unit: Option<String>,
    factor: f64,
    #[serde(default)]
    offset: f64,
    #[serde(default)]
    reciprocal: bool,
}

static FORMS: LazyLock<Vec<OtherForm>> = LazyLock::new(|| {
    toml::from_str::<File>(include_str!("other_forms.toml"))
        .expect("the embedded other forms are read by a test")
        .form
});

/// A number read as one of another form or unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// What stands behind a number of this form: pmol/L, or the name of the form.
    pub typed: String,
    /// The unit of the parts of a ratio, which may be typed as well.
    pub unit: Option<String>,
    /// `pmol/L (1 µU/mL taken as 6 pmol/L)`, or what the form is.
    pub words: String,
    /// The number in the index's own form and unit.
    pub own: f64,
}

impl Reading {
    /// Whether this is what stands behind a number that is meant so.
    #[must_use]
    pub fn is_typed(&self, typed: &str) -> bool {
        same_unit(&self.typed, typed) || self.unit.as_deref().is_some_and(|unit| same_unit(unit, typed))
    }
}

/// How far a value may be from a usual one before another form is thought of: half as much again, or two thirds.
const USUAL: f64 = 1.5;
/// So many times nearer to a usual value, in ratio, another form must bring it to explain it.
const NEARER: f64 = 2.0;

impl OtherForm {
    fn own(&self, value: f64) -> f64 {
        if self.reciprocal { self.factor / value } else { self.factor * value + self.offset }
    }
}

/// A number read in every other form and unit of an index.
#[must_use]
pub fn readings(index: &Index, value: f64) -> Vec<Reading> {
    let forms = FORMS.iter().filter(|form| form.index == index.name);
    let of_form = |form: &OtherForm| Reading {
        typed: form.form.clone(),
        unit: form.unit.clone(),
        words: form.words.clone(),
        own: form.own(value),
    };
    forms.map(of_form).chain(in_units(index, value)).filter(|reading| reading.own.is_finite()).collect()
}

/// The units of an index that is a measured quantity, by every factor in print.
fn in_units(index: &Index, value: f64) -> Vec<Reading> {
    let units = quantity(&index.name).map(|quantity| &quantity.units[..]).unwrap_or_default();
    let Some((first, others)) = units.split_first().filter(|(first, _)| same_unit(&first.unit, &index.unit))
    else {
        return Vec::new();
    };
    let own = unit_in_print(&first.unit);
    let mut found = Vec::new();
    for unit in others {
        let reading = |words: String, factor: Option<f64>| Reading {
            typed: unit.unit.clone(),
            unit: None,
            words,
            own: unit.to_first(value, factor),
        };
        if unit.choices.is_empty() {
            found.push(reading(unit.unit.clone(), None));
        }
        found.extend(unit.choices.iter().map(|&factor| {
            reading(
                format!("{} (1 {own} taken as {} {})", unit.unit, significant(factor, 6), unit.unit),
                Some(factor),
            )
        }));
    }
    found
}

/// The readings that bring a value near to a usual one of the index which it is far from as it stands.
#[must_use]
pub fn explaining(index: &Index, value: f64) -> Vec<Reading> {
    let Some(usual) = usual(index) else { return Vec::new() };
    let far = |value: f64| if value > 0.0 { (value / usual).ln().abs() } else { f64::INFINITY };
    if far(value) <= USUAL.ln() {
        return Vec::new();
    }
    readings(index, value).into_iter().filter(|reading| NEARER * far(reading.own) < far(value)).collect()
}

/// A value as a person may well have it: that of the worked example, or of the quantity.
fn usual(index: &Index) -> Option<f64> {
    let worked = index.worked.first().map(|worked| worked.value);
    worked.or_else(|| quantity(&index.name)?.plausible).filter(|usual| *usual > 0.0)
}

/// Whether what is typed behind a number says that it is one of the index itself: its unit or that of its parts, its name or
/// its label.
#[must_use]
pub fn says_itself(index: &Index, typed: &str) -> bool {
    let has_unit = index.unit != "1" && !index.unit.is_empty();
    let squeezed = |name: &str| plain(name).replace('_', "");
    let names = [&index.name, &index.label].map(|name| squeezed(name));
    let of_parts = |form: &OtherForm| {
        form.form == index.name && form.unit.as_deref().is_some_and(|unit| same_unit(unit, typed))
    };
    (has_unit && same_unit(typed, &index.unit))
        || names.contains(&squeezed(typed))
        || FORMS.iter().any(of_parts)
}

/// What may be typed behind a number to say so.
#[must_use]
pub fn itself(index: &Index) -> &str {
    if index.unit == "1" || index.unit.is_empty() { &index.name } else { &index.unit }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::indices;

    fn index(name: &str) -> &'static Index {
        indices().iter().find(|row| row.name == name).expect(name)
    }

    #[test]
    fn every_form_turns_the_worked_example_of_one_index_into_that_of_the_other() {
        // Worked examples are printed to six digits or more.
        const PRINTED: f64 = 1e-5;
        let worked = |name: &str| {
            let row = indices().iter().find(|row| row.name == name)?;
            row.worked.first().map(|worked| worked.value)
        };
        let mut compared = 0;
        for form in FORMS.iter() {
            assert!(indices().iter().any(|row| row.name == form.index), "{form:?}");
            let Some((own, other)) = worked(&form.index).zip(worked(&form.form)) else { continue };
            let turned = form.own(other);
            assert!((turned / own - 1.0).abs() < PRINTED, "{form:?}: {turned} {own}");
            compared += 1;
        }
        assert_eq!(compared, 6);
        // 1 / ln 950 is 0.145847; 1 / log10 950 is 0.335827.
        let natural = readings(index("quicki"), 0.145_847);
        assert!((natural[0].own - 0.335_827).abs() < 2e-6, "{natural:?}");
    }

    #[test]
    fn a_value_is_explained_by_another_form_only_where_it_is_unusual_as_it_stands() {
        let of = |name: &str, value: f64| -> Vec<String> {
            explaining(index(name), value).iter().map(|found| significant(found.own, 4)).collect()
        };
        // 2 · 4.68 − ln 2; (8.5 + ln 2) / 2; 60 / 6 and 60 / 6.945; 5.6 · 18.0156; 0.145 · ln 10.
        assert_eq!(of("tyg", 4.68), ["8.667"]);
        assert_eq!(of("tyg_half_log", 8.5), ["4.597"]);
        assert_eq!(of("insulin", 60.0), ["10", "8.639"]);
        assert_eq!(of("glucose", 5.6), ["100.9"]);
        assert_eq!(of("quicki", 0.145), ["0.3339"]);
        for (name, value) in
            [("tyg", 8.5), ("insulin", 12.0), ("insulin", 25.0), ("homa_ir", 5.0), ("glucose", 126.0)]
        {
            assert_eq!(of(name, value), Vec::<String>::new(), "{name} {value}");
        }
    }

    #[test]
    fn the_index_itself_is_named_by_its_unit_or_its_name() {
        for (name, typed) in [
            ("tg_hdl", "mg/dL"),
            ("tg_hdl_mmol", "mmol/l"),
            ("insulin", "µIU/ml"),
            ("tyg", "TyG"),
            ("homa_ir", "HOMA-IR"),
            ("bmi", "kg/m2"),
        ] {
            assert!(says_itself(index(name), typed), "{typed}");
        }
        for (name, typed) in [
            ("tg_hdl", "mmol/L"),
            ("insulin", "pmol/L"),
            ("tyg", "tyg_half_log"),
            ("tyg", ""),
            ("homa_ir", "1"),
        ] {
            assert!(!says_itself(index(name), typed), "{typed}");
        }
        assert_eq!([itself(index("insulin")), itself(index("tyg"))], ["uU/mL", "tyg"]);
    }
}

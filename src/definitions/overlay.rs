//! Whether a cutoff in print can be laid over an index, and whether its people are of the same kind.

use super::published::{Published, published};
use super::quantity::quantity;

/// One index written as another, exactly.
struct Conversion {
    from: &'static str,
    to: &'static str,
    words: &'static str,
    convert: fn(f64) -> f64,
}

/// Exact algebra only: forms and units of one index, never an equation fitted to people.
const CONVERSIONS: &[Conversion] = &[
    Conversion {
        from: "tyg_half_log",
        to: "tyg",
        words: "ln(TG × G / 2) = 2 × ln(TG × G) / 2 − ln 2",
        convert: |half| 2.0 * half - std::f64::consts::LN_2,
    },
    Conversion {
        from: "tyg",
        to: "tyg_half_log",
        words: "ln(TG × G) / 2 = (ln(TG × G / 2) + ln 2) / 2",
        convert: |whole| f64::midpoint(whole, std::f64::consts::LN_2),
    },
    Conversion {
        from: "tg_hdl_mmol",
        to: "tg_hdl",
        words: "ratio in mg/dL = ratio in mmol/L × 88.57 / 38.67",
        convert: |mmol| mmol * mg_per_mmol("triglycerides") / mg_per_mmol("hdl"),
    },
    Conversion {
        from: "tg_hdl",
        to: "tg_hdl_mmol",
        words: "ratio in mmol/L = ratio in mg/dL × 38.67 / 88.57",
        convert: |mg| mg * mg_per_mmol("hdl") / mg_per_mmol("triglycerides"),
    },
    Conversion {
        from: "spise",
        to: "spise_ir",
        words: "SPISE-IR = 10 / SPISE",
        convert: |spise| 10.0 / spise,
    },
    Conversion { from: "spise_ir", to: "spise", words: "SPISE = 10 / SPISE-IR", convert: |ir| 10.0 / ir },
];

/// mg/dL in 1 mmol/L, as the quantity's own row says.
fn mg_per_mmol(name: &str) -> f64 {
    let units = quantity(name).map_or(&[][..], |row| &row.units);
    units.iter().find(|unit| unit.unit == "mmol/L").and_then(|unit| unit.factor).unwrap_or(f64::NAN)
}

/// How a cutoff in print stands to an index.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Form {
    Same,
    /// Written in the index's form by exact algebra.
    Converted {
        value: f64,
        words: &'static str,
    },
    /// No number can be had.
    Differs(&'static str),
}

/// A cutoff in print laid over an index.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Laid {
    pub row: &'static Published,
    pub form: Form,
}

impl Laid {
    /// The cutoff on the index's scale, unless its form differs.
    #[must_use]
    pub fn value(&self) -> Option<f64> {
        match self.form {
            Form::Same => Some(self.row.value),
            Form::Converted { value, .. } => Some(value),
            Form::Differs(_) => None,
        }
    }

    /// How the number was written in the index's form; empty where it is as printed.
    #[must_use]
    pub fn conversion(&self) -> &'static str {
        match self.form {
            Form::Converted { words, .. } => words,
            Form::Same | Form::Differs(_) => "",
        }
    }
}

/// The cutoffs in print that speak of an index, in the order of their file.
#[must_use]
pub fn laid_over(index: &str) -> Vec<Laid> {
    published().iter().filter_map(|row| Some(Laid { row, form: form(row, index)? })).collect()
}

/// How a cutoff stands to an index; `None` when it speaks of another one.
fn form(row: &'static Published, index: &str) -> Option<Form> {
    if row.index == index {
        return Some(if row.form.is_empty() { Form::Same } else { Form::Differs(&row.form) });
    }
    let conversion = CONVERSIONS.iter().find(|c| c.from == row.index && c.to == index)?;
    let converted = Form::Converted { value: (conversion.convert)(row.value), words: conversion.words };
    row.form.is_empty().then_some(converted)
}

/// The sex of a person or a group, as far as it is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sex<'a> {
    /// Not asked: any cutoff may apply.
    Unknown,
    /// A group of both: a cutoff of one sex is not theirs.
    Both,
    One(&'a str),
}

/// The people a cutoff is laid over: sex, and ranges from the first number to below the second. A person's age or BMI is a
/// range of one number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct People<'a> {
    pub sex: Sex<'a>,
    pub age: (f64, f64),
    /// Absent where it is not asked: any cutoff may apply.
    pub bmi: Option<(f64, f64)>,
}

/// From anything to anything.
pub const ANY: (f64, f64) = (f64::NEG_INFINITY, f64::INFINITY);

impl Published {
    /// Whether the cutoff is of both sexes or of these people's.
    #[must_use]
    pub fn of_sex(&self, sex: Sex) -> bool {
        match sex {
            _ if self.sex == "both" => true,
            Sex::Unknown => true,
            Sex::Both => false,
            Sex::One(sex) => sex == self.sex,
        }
    }

    /// Whether these people are of the kind the cutoff was found in: all of its sex and of its BMI, with ages that overlap. A
    /// cutoff of people without obesity is not that of a group of any BMI, as one of men is not that of both sexes.
    /// Country, ancestry and a stage of life are not judged.
    #[must_use]
    pub fn matches(&self, people: &People) -> bool {
        let age = (self.age_from.unwrap_or(ANY.0), self.age_below.unwrap_or(ANY.1));
        let bmi = (self.bmi_from.unwrap_or(ANY.0), self.bmi_below.unwrap_or(ANY.1));
        self.of_sex(people.sex) && overlap(age, people.age) && people.bmi.is_none_or(|of| within(of, bmi))
    }
}

/// Whether two ranges, each without its end, share a number. A range of one number stands for it.
fn overlap((from, below): (f64, f64), (other_from, other_below): (f64, f64)) -> bool {
    if other_from == other_below {
        from <= other_from && other_from < below
    } else {
        from < other_below && other_from < below
    }
}

/// Whether the second range holds the whole of the first, each without its end. A range of one number stands for it.
fn within((from, below): (f64, f64), (other_from, other_below): (f64, f64)) -> bool {
    other_from <= from && if from == below { from < other_below } else { below <= other_below }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::indices;

    /// Sums of a few rounded doubles.
    const ROUNDING: f64 = 1e-12;

    fn convert(from: &str, to: &str, value: f64) -> f64 {
        (CONVERSIONS.iter().find(|c| c.from == from && c.to == to).expect("a row").convert)(value)
    }

    #[test]
    fn conversions_agree_with_the_worked_person() {
        // Glucose 95, triglycerides 120, HDL 50 mg/dL: ln(120 × 95) / 2 = 4.670684 and ln(120 × 95 / 2) = 8.648221.
        let (half, whole) = ((120.0_f64 * 95.0).ln() / 2.0, (120.0_f64 * 95.0 / 2.0).ln());
        assert!((convert("tyg_half_log", "tyg", half) - whole).abs() < ROUNDING);
        // 120 / 50 = 2.4 and (120 / 88.57) / (50 / 38.67) = 1.047849.
        let mmol = (120.0 / 88.57) / (50.0 / 38.67);
        assert!((convert("tg_hdl_mmol", "tg_hdl", mmol) - 2.4).abs() < ROUNDING);
        assert!((convert("spise", "spise_ir", 4.0) - 2.5).abs() < ROUNDING);
    }

    #[test]
    fn every_conversion_has_its_way_back_between_known_indices() {
        for conversion in CONVERSIONS {
            for name in [conversion.from, conversion.to] {
                assert!(indices().iter().any(|index| index.name == name), "{name}");
            }
            let there = (conversion.convert)(3.21);
            assert!(
                (convert(conversion.to, conversion.from, there) - 3.21).abs() < ROUNDING,
                "{}",
                conversion.words
            );
        }
    }

    #[test]
    fn a_cutoff_is_laid_as_printed_converted_or_not_at_all() {
        let find = |index: &str, name: &str| laid_over(index).into_iter().find(|laid| laid.row.name == name);
        let half = find("tyg_half_log", "hungary_2020_tyg_mets").expect("its own form");
        assert_eq!((half.form, half.value()), (Form::Same, Some(4.694)));
        // 2 × 4.694 − 0.693147 = 8.694853.
        let whole = find("tyg", "hungary_2020_tyg_mets").expect("converted");
        assert!((whole.value().expect("a number") - 8.694_853).abs() < 1e-6);
        assert!(whole.conversion().contains("ln 2"));
        let natural = find("quicki", "kangbuk_samsung_natural_log_quicki").expect("a warning");
        assert_eq!(natural.value(), None);
        assert!(matches!(natural.form, Form::Differs(why) if why.contains("natural")));
        assert!(find("homa_ir", "hungary_2020_tyg_mets").is_none());
    }

    #[test]
    fn people_match_by_sex_by_bmi_and_by_overlapping_ages() {
        let row = |name: &str| published().iter().find(|row| row.name == name).expect("a row");
        let people = |sex, age, bmi| People { sex, age, bmi: Some(bmi) };
        let (men, women) = (Sex::One("male"), Sex::One("female"));
        let korean_men = row("yun_2016_mets_atp_iii_male");
        assert!(
            korean_men.matches(&people(men, ANY, ANY)) && korean_men.matches(&people(Sex::Unknown, ANY, ANY))
        );
        assert!(
            !korean_men.matches(&people(women, ANY, ANY))
                && !korean_men.matches(&people(Sex::Both, ANY, ANY))
        );
        // 40 to 79 completed years.
        let bruneck = row("bonora_1998_p80");
        for (age, expected) in [
            ((20.0, 40.0), false),
            ((20.0, 40.5), true),
            ((79.0, 90.0), true),
            ((80.0, 90.0), false),
            ((40.0, 40.0), true),
        ] {
            assert_eq!(bruneck.matches(&people(Sex::Both, age, (25.0, 30.0))), expected, "{age:?}");
        }
        // Found in people without obesity: not a cutoff of people of any BMI, but perhaps of one whose BMI is not known.
        let of_bmi = |bmi| bruneck.matches(&People { sex: Sex::Both, age: ANY, bmi });
        assert!(!of_bmi(Some(ANY)) && !of_bmi(Some((25.0, 35.0))) && of_bmi(None));
        // BMI below 25.
        let slim = row("yamada_2011_limit");
        assert!(
            slim.matches(&people(women, ANY, (18.5, 25.0)))
                && !slim.matches(&people(women, ANY, (25.0, 30.0)))
        );
        // Without obesity, overweight, and with obesity.
        for (name, of) in [
            ("bonora_1998_p80", [true, true, false]),
            ("mclaughlin_2003_sspg", [false, true, true]),
            ("kurtoglu_2010_pubertal_male", [false, false, true]),
        ] {
            let age = if name.starts_with("kurtoglu") { (12.0, 12.0) } else { (45.0, 45.0) };
            let found = [24.9, 29.9, 30.0].map(|bmi| row(name).matches(&people(men, age, (bmi, bmi))));
            assert_eq!(found, of, "{name}");
        }
    }
}

//! A second measurement, as one text: `glucose=96mg/dL,insulin=7uU/mL,months=6`. Names are those of the options; the time
//! between the dates may be in weeks, days or years, too.

use anyhow::{Context, Result, anyhow, bail};

use super::person::{is_option, quantity_of, read, stated};
use super::place_number::insulin_factor;
use crate::analysis::{Again, AssayThen, DAYS_PER_MONTH, DAYS_PER_WEEK};
use crate::definitions::Quantity;

/// What an error in any part of it is said to be in.
const SECOND: &str = "the second measurement cannot be read";
/// Names of a time between two dates, with the months that one of it is.
const TIMES: [(&str, f64); 8] = [
    ("months", 1.0),
    ("month", 1.0),
    ("weeks", DAYS_PER_WEEK / DAYS_PER_MONTH),
    ("week", DAYS_PER_WEEK / DAYS_PER_MONTH),
    ("days", 1.0 / DAYS_PER_MONTH),
    ("day", 1.0 / DAYS_PER_MONTH),
    ("years", 12.0),
    ("year", 12.0),
];
/// Words after a number, and the time that they name: `6 months`, `6 mo`. An age may be in years.
const AFTER: [(&str, &str); 10] = [
    ("months", "months"),
    ("month", "months"),
    ("mo", "months"),
    ("mths", "months"),
    ("weeks", "weeks"),
    ("week", "weeks"),
    ("wk", "weeks"),
    ("wks", "weeks"),
    ("days", "days"),
    ("day", "days"),
];
/// What people write of the time between two dates that is no length of time.
const NO_TIME: [&str; 3] = ["date", "when", "time"];
const ASSAY: &str = "assay";
/// `--insulin-factor` as the name of a quantity is spelt.
const FACTOR: &str = "insulin_factor";
/// More than a life.
const MOST_MONTHS: f64 = 1200.0;

/// What was measured at the second date, and how many months later; the factor of insulin is that of the first date, and
/// whether nobody knows it, unless another is given.
pub(super) fn second(text: &str, quantities: &[Quantity], first: (Option<f64>, bool)) -> Result<Again> {
    let (mut written, mut unknown) = (Vec::new(), Vec::new());
    let (mut factor, mut factor_unknown) = first;
    let (mut months, mut assay) = (None, AssayThen::AsFirst);
    if let Some(fixed) = with_commas(text) {
        bail!("--second: its parts are separated by commas, not by semicolons: write \"{fixed}\"");
    }
    for part in parts(text) {
        let (name, value) = pair(&part).ok_or_else(|| {
            anyhow!("--second: found \"{part}\", expected NAME=VALUE with a decimal point, parts separated by commas")
        })?;
        match name.as_str() {
            time if per(time).is_some() && months.is_some() => {
                bail!(
                    "--second: {part}: the time between the two dates is given twice; leave one of them out"
                )
            }
            time if per(time).is_some() => months = Some(months_of(time, &value)?),
            ASSAY => assay = stated(&value).map_or(AssayThen::Unknown, AssayThen::Named),
            FACTOR => (factor, factor_unknown) = insulin_factor(Some(&value)).context(SECOND)?,
            other if NO_TIME.contains(&other) => {
                bail!("--second: {part}: write how many months later it was in its place: months=6")
            }
            _ => {
                unknown.extend(stated(&value).is_none().then(|| name.clone()));
                written.push((name, value));
            }
        }
    }
    let Some(months) = months else {
        bail!("--second: say how much later it was: add months=6, weeks=8 or days=10");
    };
    let answers = read(quantities, &written, factor).context(SECOND)?;
    if answers.is_empty() {
        bail!("--second: no value is given beside the time");
    }
    Ok(Again { answers, unknown, months, assay, factor_unknown })
}

/// Names and values that can be told apart, whatever else is amiss.
pub(super) fn pairs(text: &str) -> Vec<(String, String)> {
    parts(text).iter().filter_map(|part| pair(part)).collect()
}

/// The factor of insulin in pmol/L, where one is written for the second date.
pub(super) fn factor_in(text: &str) -> Option<String> {
    pairs(text).into_iter().find(|(name, _)| name == FACTOR).map(|(_, value)| value)
}

/// A name with its value: `bmi=28`, and without the sign `bmi 28` and `6 months`.
fn pair(part: &str) -> Option<(String, String)> {
    if let Some((name, value)) = part.split_once('=') {
        return Some((quantity_of(name), value.to_owned()));
    }
    if let Some((time, number)) = time_after(part) {
        return Some((time.to_owned(), number.to_owned()));
    }
    let (name, value) = part.split_once(' ')?;
    let spelt = quantity_of(name);
    let known = is_option(name) || per(&spelt).is_some() || [ASSAY, FACTOR].contains(&spelt.as_str());
    known.then(|| (quantity_of(name), value.trim().to_owned()))
}

/// The number before a word for a time, and that time.
fn time_after(part: &str) -> Option<(&'static str, &str)> {
    let end = part.find(|c: char| !(c.is_ascii_digit() || c == '.')).filter(|end| *end > 0)?;
    let word = part[end..].split_whitespace().next()?.to_lowercase();
    let (_, time) = AFTER.iter().find(|(known, _)| *known == word)?;
    Some((time, &part[..end]))
}

/// The months that one of a time is.
fn per(time: &str) -> Option<f64> {
    TIMES.iter().find(|(name, _)| *name == time).map(|(_, months)| *months)
}

/// A time between two dates in months.
fn months_of(time: &str, value: &str) -> Result<f64> {
    let months = value.trim().parse::<f64>().ok().zip(per(time)).map(|(number, months)| number * months);
    months.filter(|months| *months > 0.0 && *months <= MOST_MONTHS).ok_or_else(|| {
        anyhow!(
            "--second: {time}={value}: expected the {time} between the two dates, above 0 and at most {MOST_MONTHS} months"
        )
    })
}

/// The text with commas, where semicolons stand between its parts.
fn with_commas(text: &str) -> Option<String> {
    let pieces: Vec<&str> = text.split(';').map(str::trim).filter(|piece| !piece.is_empty()).collect();
    let begins_a_part = |piece: &&str| piece.split(',').next().is_some_and(|part| part.contains('='));
    let parted = pieces.len() > 1 && pieces.iter().all(begins_a_part);
    parted.then(|| pieces.join(","))
}

/// The parts between commas; what follows a decimal comma, or a comma in an assay's name, belongs to the part before.
fn parts(text: &str) -> Vec<String> {
    let mut parts: Vec<String> = Vec::new();
    for part in text.split(',').map(str::trim).filter(|part| !part.is_empty()) {
        let goes_on = |before: &String| {
            part.starts_with(|c: char| c.is_ascii_digit()) || quantity_of(before).starts_with(ASSAY)
        };
        match parts.last_mut() {
            Some(before) if pair(part).is_none() && goes_on(before) => {
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
    use crate::definitions::answer::Given;
    use crate::definitions::quantity::quantities;

    #[test]
    fn a_decimal_comma_and_a_comma_in_a_name_part_nothing() {
        assert_eq!(
            parts("glucose=5,6mmol/L, months=6,assay=Tosoh AIA-900, Missouri"),
            ["glucose=5,6mmol/L", "months=6", "assay=Tosoh AIA-900,Missouri"]
        );
        assert_eq!(parts("glucose=96mg/dL,insulin"), ["glucose=96mg/dL", "insulin"]);
        assert_eq!(with_commas("glucose=96mg/dL; months=6").as_deref(), Some("glucose=96mg/dL,months=6"));
        assert_eq!(with_commas("insulin=7uU/mL,assay=Tosoh; II,months=6"), None);
        assert_eq!(pairs("fasting-hours=9,months")[0], ("fasting".to_owned(), "9".to_owned()));
        for refused in ["inf", "0", "-6", "1201", "soon"] {
            assert!(months_of("months", refused).is_err(), "{refused}");
        }
        assert!(months_of("months", "6").is_ok() && months_of("months", "1200").is_ok());
        assert!(months_of("years", "101").is_err());
    }

    #[test]
    fn a_part_may_lack_its_sign_and_a_date_is_asked_for_in_months() {
        let again = second("glucose=96mg/dL,insulin 7uU/mL, 6 months, bmi 28", quantities(), (None, false));
        let again = again.expect("readable");
        let names: Vec<&str> = again.answers.iter().map(|answer| answer.quantity.as_str()).collect();
        assert_eq!((again.months, names), (6.0, vec!["glucose", "insulin", "bmi"]));
        let named = "glucose=96mg/dL,insulin=7uU/mL,assay=Tosoh AIA-900, Missouri,6mo";
        let named = second(named, quantities(), (None, false)).expect("readable");
        assert_eq!(named.assay, AssayThen::Named("Tosoh AIA-900,Missouri".to_owned()));
        for dated in ["glucose=96mg/dL,date=2024-07-01", "glucose=96mg/dL,when=2024"] {
            let refused = second(dated, quantities(), (None, false)).expect_err("no months").to_string();
            assert!(refused.ends_with("in its place: months=6"), "{refused}");
        }
        assert_eq!(factor_in("insulin=42pmol/L,insulin-factor=6.95").as_deref(), Some("6.95"));
    }

    #[test]
    fn a_time_may_be_in_weeks_days_or_years() {
        let of = |time: &str| second(&format!("glucose=96mg/dL,{time}"), quantities(), (None, false));
        let days = |time: &str| of(time).map(|again| again.months * DAYS_PER_MONTH).unwrap_or_default();
        for (time, expected) in
            [("weeks=8", 56.0), ("8 weeks", 56.0), ("week 1", 7.0), ("days=10", 10.0), ("10 days", 10.0)]
        {
            assert!((days(time) - expected).abs() < 1e-9, "{time}: {}", days(time));
        }
        assert_eq!(of("years=1").expect("readable").months, 12.0);
        let twice = of("weeks=8,months=2").expect_err("one of them").to_string();
        assert!(twice.contains("months=2: the time between the two dates is given twice"), "{twice}");
        // A decimal comma of an age is no time.
        assert_eq!(parts("age=47,5 years, months=6"), ["age=47,5 years", "months=6"]);
    }

    #[test]
    fn the_second_date_may_have_a_factor_of_its_own_and_unknown_answers() {
        let read = |text: &str, first| second(text, quantities(), first).expect("readable");
        let factor = |again: &Again| match again.answers[0].given {
            Given::Number { factor, .. } => (factor, again.factor_unknown),
            _ => (None, false),
        };
        let own = read("insulin=42pmol/L,insulin-factor=6,945,months=6", (Some(6.0), true));
        assert_eq!(factor(&own), (Some(6.945), false));
        let as_first = read("insulin=42pmol/L,months=6", (Some(6.0), true));
        assert_eq!(factor(&as_first), (Some(6.0), true));
        assert!(second("insulin=42pmol/L,months=6", quantities(), (None, false)).is_err());
        let unknown = read("insulin=7uU/mL,months=6,fasting-hours=unknown", (None, false));
        assert_eq!((unknown.answers.len(), unknown.unknown), (1, vec!["fasting".to_owned()]));
    }
}

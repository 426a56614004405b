//! Numbers of a claim as people write them: per cent, one in so many, give or take.

use super::claim_parse::Slip;
use crate::table::number::significant;

/// Percentage points by which "about" and "percentile" may miss, when the claim does not say.
const POINTS_WITHIN: f64 = 5.0;
/// Digits of per cent that a fraction is taken with: 1 in 3 is 33.3 %.
const FRACTION_DIGITS: usize = 3;
/// Whom a number counts, where that is said behind it, and the words between.
const COUNTED: [&str; 7] = ["people", "adults", "persons", "everybody", "everyone", "them", "those"];
const BETWEEN: [&str; 3] = ["the", "all", "of"];

/// A number of per cent; a proportion is refused unless its `%` says that it is none.
pub(super) fn percent(text: &str) -> Result<f64, Slip> {
    let number = points(text)?;
    if number > 0.0 && number <= 1.0 && !text.contains('%') && fraction(text).is_none() {
        let meant = significant(100.0 * number, 6);
        return Err(Slip::Number(format!(
            "\"{number}\" would be {number} %; did you mean {meant} %? Write \"{meant} %\", or \"{number} %\" if you mean so little"
        )));
    }
    Ok(number)
}

/// A number from 0 to 100, with or without `%`, or a fraction.
fn points(text: &str) -> Result<f64, Slip> {
    let text = bare(text);
    match fraction(text).or_else(|| text.parse().ok()) {
        Some(number) if (0.0..=100.0).contains(&number) => Ok(number),
        Some(_) => Err(Slip::Number(format!("a share is from 0 to 100 %, found {text}"))),
        None => Err(Slip::Words(format!("\"{text}\" is not a number of per cent"))),
    }
}

/// `75 within 5` as the number and how far it may be missed.
pub(super) fn near(text: &str) -> Result<(f64, f64), Slip> {
    let (number, within) = text.split_once("within").unwrap_or((text, ""));
    let within = if within.is_empty() { POINTS_WITHIN } else { points(within)? };
    Ok((percent(number)?, within))
}

/// What stands before a fraction or a percentage at the end of a text, and that; nothing where the text does not end so.
pub(super) fn before_share(text: &str) -> Option<(&str, &str)> {
    let (subject, number) = text.split_at(text.find(|c: char| c.is_ascii_digit())?);
    let (whole, _) = number.split_once("within").unwrap_or((number, ""));
    let is_percent = || whole.contains('%') && bare(whole).parse::<f64>().is_ok();
    (fraction(whole).is_some() || is_percent()).then_some((subject, number))
}

/// `between 40 and 45 %` as the middle and how far its ends are from it.
pub(super) fn middle(low: &str, high: &str) -> Result<(f64, f64), Slip> {
    // The sign of per cent stands behind the second number for both.
    let sign = if high.contains('%') && !low.contains('%') { " %" } else { "" };
    let (low, high) = (percent(&format!("{}{sign}", low.trim()))?, percent(high)?);
    if low >= high {
        return Err(Slip::Number(format!("{low} to {high} % is no range: write the smaller number first")));
    }
    Ok((f64::midpoint(low, high), (high - low) / 2.0))
}

/// Whether a text says no more than whom a number counts (people, of the adults), or nothing.
pub(super) fn is_whom(text: &str) -> bool {
    let text = text.trim();
    let ends_so = COUNTED.iter().any(|people| without_word(text, people).is_some());
    text.is_empty() || (ends_so && bare(text).is_empty())
}

/// `1 in 3`, `1 of 3` and `1/3` in per cent.
fn fraction(text: &str) -> Option<f64> {
    let text = bare(text);
    let (some, all) = [" in ", " of ", "/"].iter().find_map(|between| text.split_once(between))?;
    let (some, all): (f64, f64) = (some.trim().parse().ok()?, all.trim().parse().ok()?);
    let share = Some(100.0 * some / all).filter(|share| share.is_finite())?;
    significant(share, FRACTION_DIGITS).parse().ok()
}

/// A number without `%` and whom it counts.
fn bare(text: &str) -> &str {
    let text = text.trim();
    let text = COUNTED.iter().find_map(|people| without_word(text, people)).unwrap_or(text);
    let text = BETWEEN.iter().fold(text, |text, word| without_word(text, word).unwrap_or(text));
    text.trim_end_matches('%').trim_end()
}

/// A text without its last word, where it is this one.
fn without_word<'t>(text: &'t str, word: &str) -> Option<&'t str> {
    let rest = text.strip_suffix(word)?;
    (rest.is_empty() || rest.ends_with(' ')).then(|| rest.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_in_so_many_is_read_in_per_cent() {
        // 100/3 and 200/3 to three digits.
        for (text, want) in [
            ("1 in 3", 33.3),
            ("1/3", 33.3),
            (" 2 in 3 people", 66.7),
            ("1 / 4 of people", 25.0),
            ("1/2 of all the adults", 50.0),
        ] {
            assert_eq!(percent(text), Ok(want), "{text}");
        }
        // One of a hundred is one per cent, and no proportion by mistake.
        assert_eq!(percent("1 in 100"), Ok(1.0));
        assert_eq!(percent("1 in 3000"), Ok(0.0333));
        for text in ["1 in 0", "4 in 3", "0/0", "1 in", "in 3", "1/3/5"] {
            assert!(percent(text).is_err(), "{text}");
        }
        assert_eq!(near("1 in 3 within 2"), Ok((33.3, 2.0)));
        assert_eq!(near("33 %"), Ok((33.0, 5.0)));
        assert_eq!(before_share("share 1 in 3"), Some(("share ", "1 in 3")));
        assert_eq!(before_share("share 25 % of adults"), Some(("share ", "25 % of adults")));
        assert_eq!(before_share("share 25"), None);
        assert_eq!(middle("40", "45 %"), Ok((42.5, 2.5)));
        assert!(middle("45", "40 %").is_err() && middle("0.2", "0.4").is_err());
    }
}

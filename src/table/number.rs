//! Numbers as text: twelve significant digits for files, fewer for people.

/// Digits written to files: enough to repeat any comparison, few enough that the last bit of a sum
/// cannot show.
pub const FILE_DIGITS: usize = 12;

/// The shortest decimal form with at most twelve significant digits.
#[must_use]
pub fn full(value: f64) -> String {
    significant(value, FILE_DIGITS)
}

/// The shortest decimal form with at most `digits` significant digits, without trailing zeros.
/// Very large and very small numbers keep an exponent (`1.5e-9`).
#[must_use]
pub fn significant(value: f64, digits: usize) -> String {
    let (negative, figures, exponent) = decompose(value, digits);
    let figures = figures.trim_end_matches('0');
    if figures.is_empty() {
        return "0".to_owned();
    }
    let body = match exponent {
        0..=14 => whole_and_part(figures, exponent as usize),
        -5..=-1 => format!("0.{}{figures}", "0".repeat((-exponent - 1) as usize)),
        _ => with_exponent(figures, exponent),
    };
    if negative { format!("-{body}") } else { body }
}

/// A number for reading: `digits` significant digits with their trailing zeros (`2.00`), a true
/// minus sign, and a narrow space between thousands from 10,000 on.
#[must_use]
pub fn reading(value: f64, digits: usize) -> String {
    if value == 0.0 { "0".to_owned() } else { fixed(value, decimals(&[value], digits)) }
}

/// A number for reading with a fixed number of decimals, so that a column of numbers lines up.
#[must_use]
pub fn fixed(value: f64, decimals: usize) -> String {
    let plain = format!("{:.decimals$}", value.abs());
    let negative = value < 0.0 && plain.contains(|figure: char| ('1'..='9').contains(&figure));
    format!("{}{}", if negative { "\u{2212}" } else { "" }, group_thousands(&plain))
}

/// As [`fixed`], but a number too small for the decimals keeps two significant digits: no interval
/// of a positive quantity starts at a rounded 0.
#[must_use]
pub fn aligned(value: f64, decimals: usize) -> String {
    let step = 10f64.powi(-(decimals as i32));
    if value.abs() < 0.5 * step && value.abs() > 1e-4 * step {
        return reading(value, 2);
    }
    fixed(value, decimals)
}

/// Decimals that [`apart`] may add.
const MORE_PLACES: usize = 4;

/// Decimals, `places` or a few more, with which no number looks like a limit that it is not: 49.96 beside 50 needs two.
#[must_use]
pub fn apart(numbers: &[f64], limits: &[f64], places: usize) -> usize {
    let blurred = |places: usize| {
        let same =
            |number: f64, limit: f64| number != limit && aligned(number, places) == aligned(limit, places);
        numbers.iter().any(|number| limits.iter().any(|limit| same(*number, *limit)))
    };
    (places..places + MORE_PLACES).find(|places| !blurred(*places)).unwrap_or(places)
}

/// Decimals with which the middle one of some values shows `digits` significant digits.
#[must_use]
pub fn decimals(values: &[f64], digits: usize) -> usize {
    let mut sizes: Vec<f64> = values.iter().map(|value| value.abs()).filter(|size| *size > 0.0).collect();
    sizes.sort_by(f64::total_cmp);
    let Some(middle) = sizes.get(sizes.len() / 2) else { return digits.saturating_sub(1) };
    let (_, _, exponent) = decompose(*middle, digits);
    (digits as i32 - 1 - exponent).clamp(0, 9) as usize
}

/// A whole number for reading.
#[must_use]
pub fn whole(value: i64) -> String {
    let sign = if value < 0 { "\u{2212}" } else { "" };
    format!("{sign}{}", group_thousands(&value.unsigned_abs().to_string()))
}

/// Below this a p value is given as below it.
const SMALLEST_P: f64 = 0.001;

/// A p value for reading, in a cell: `< 0.001`, `0.012`, `0.40`.
#[must_use]
pub fn p_value(p: f64) -> String {
    // Where rounding gives a tenth, two decimals are as many digits.
    if p < SMALLEST_P { format!("< {SMALLEST_P}") } else { fixed(p, if p < 0.0995 { 3 } else { 2 }) }
}

/// The same after the letter p in a sentence: `< 0.001`, `= 0.012`.
#[must_use]
pub fn p_is(p: f64) -> String {
    if p < SMALLEST_P { p_value(p) } else { format!("= {}", p_value(p)) }
}

/// Sign, exactly `digits` figures, and the decimal exponent of the first figure.
fn decompose(value: f64, digits: usize) -> (bool, String, i32) {
    let text = format!("{:.*e}", digits.saturating_sub(1), value.abs());
    let (mantissa, exponent) = text.split_once('e').unwrap_or((&text, "0"));
    (value < 0.0, mantissa.replace('.', ""), exponent.parse().unwrap_or(0))
}

fn whole_and_part(figures: &str, exponent: usize) -> String {
    if figures.len() <= exponent + 1 {
        return format!("{figures}{}", "0".repeat(exponent + 1 - figures.len()));
    }
    let (whole, part) = figures.split_at(exponent + 1);
    format!("{whole}.{part}")
}

fn with_exponent(figures: &str, exponent: i32) -> String {
    let (first, rest) = figures.split_at(1);
    if rest.is_empty() { format!("{first}e{exponent}") } else { format!("{first}.{rest}e{exponent}") }
}

fn group_thousands(plain: &str) -> String {
    let (whole, part) = plain.split_once('.').map_or((plain, None), |(w, p)| (w, Some(p)));
    let mut out = String::new();
    for (position, figure) in whole.chars().enumerate() {
        if position > 0 && (whole.len() - position) % 3 == 0 && whole.len() > 4 {
            out.push('\u{202f}');
        }
        out.push(figure);
    }
    if let Some(part) = part {
        out.push('.');
        out.push_str(part);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_get_at_most_twelve_digits_and_no_noise() {
        let cases = [
            (0.1 + 0.2, "0.3"),
            (2.0, "2"),
            (-0.0, "0"),
            (1.0 / 3.0, "0.333333333333"),
            (-1234.5678, "-1234.5678"),
            (123_456_789_012_345.0, "123456789012000"),
            (1.5e-9, "1.5e-9"),
            (1e15, "1e15"),
            (0.000_012_5, "0.0000125"),
            (9.999_999_999_999_9, "10"),
        ];
        for (value, text) in cases {
            assert_eq!(full(value), text);
        }
    }

    #[test]
    fn people_get_few_digits_with_their_zeros() {
        let cases =
            [(2.0, "2.00"), (-0.3456, "\u{2212}0.346"), (13.457, "13.5"), (45_678.4, "45\u{202f}678")];
        for (value, text) in cases {
            assert_eq!(reading(value, 3), text);
        }
        assert_eq!(whole(4_019), "4019");
        let column = [0.06, -0.12, 0.241, 0.0];
        let places = decimals(&column, 3);
        assert_eq!(column.map(|value| fixed(value, places)), ["0.060", "\u{2212}0.120", "0.241", "0.000"]);
        assert_eq!((apart(&[49.96], &[50.0], 0), apart(&[50.0, 49.0], &[50.0], 0)), (2, 0));
        assert_eq!((fixed(-0.000_1, 2), aligned(0.004, 1)), ("0.00".to_owned(), "0.0040".to_owned()));
    }

    #[test]
    fn a_p_value_is_written_in_one_way() {
        let cases = [
            (3.9e-70, "< 0.001", "< 0.001"),
            (0.000_999, "< 0.001", "< 0.001"),
            (0.001, "0.001", "= 0.001"),
            (0.0123, "0.012", "= 0.012"),
            (0.0996, "0.10", "= 0.10"),
            (0.4, "0.40", "= 0.40"),
            (1.0, "1.00", "= 1.00"),
        ];
        for (p, cell, sentence) in cases {
            assert_eq!((p_value(p).as_str(), p_is(p).as_str()), (cell, sentence));
        }
    }
}

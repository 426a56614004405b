//! What the TOML reader says, in the words of somebody who writes a study file.

use crate::definitions::nearest;

/// How the reader calls what it found, and what a writer calls it.
const FOUND: [(&str, &str); 5] = [
    ("invalid type: string ", "found the text "),
    ("invalid type: integer ", "found the number "),
    ("invalid type: floating point ", "found the number "),
    ("invalid type: boolean ", "found "),
    ("invalid type: sequence", "found a list"),
];

/// What the reader expects by its own names; the first that fits the whole is taken.
const EXPECTED: [(&str, &str); 10] = [
    ("f64", "a number without quotation marks, its decimals after a point"),
    ("u64", "a whole number without quotation marks"),
    ("u32", "a whole number without quotation marks"),
    ("usize", "a whole number without quotation marks"),
    ("a string", "a text in quotation marks"),
    ("a boolean", "true or false, without quotation marks"),
    ("a sequence", "a list in square brackets, such as [\"homa_ir\", \"tyg\"]"),
    ("a map", "keys with values in braces, such as { column = \"…\" }"),
    ("struct AgeFile", "an age range in years, such as { from = 20 } or { from = 20, below = 80 }"),
    ("struct ColumnFile", "a column in braces, such as { column = \"FPG\", unit = \"mmol/L\" }"),
];

/// The key that holds lists in a list.
const LISTS: &str = "to";

/// The message of the reader, about `line` of the file, with what to do.
pub(super) fn in_words(message: &str, line: &str) -> String {
    let message = message.trim_end();
    if let Some(key) = message.strip_prefix("missing field ") {
        return format!(
            "the key {key} is missing here: add it (cutspan schema says what it holds; cutspan new writes a whole first file)"
        );
    }
    if message.starts_with("unknown field") || message.starts_with("unknown variant") {
        return with_nearest(&message.replace("unknown field", "unknown key").replace("variant", "word"));
    }
    if let Some((found, expected)) = message.split_once(", expected ")
        && found.starts_with("invalid type: ")
    {
        let found = FOUND.iter().fold(found.to_owned(), |text, (from, to)| text.replacen(from, to, 1));
        let found = found.replace("invalid type: map", "found keys with values").replace('`', "");
        return format!("{found}, expected {}{}", kind(expected, line), decimals(line));
    }
    format!("{message}{}", decimals(line))
}

fn kind(expected: &str, line: &str) -> String {
    if expected == "a sequence" && key(line) == LISTS {
        return "a list of lists, such as [[\"age_20_40_60\"]]".to_owned();
    }
    let named = EXPECTED.iter().find(|(name, _)| *name == expected);
    match named {
        Some((_, words)) => (*words).to_owned(),
        None if expected.starts_with("struct ") => {
            "a section: its own [heading], or keys with values in braces".to_owned()
        }
        None => expected.to_owned(),
    }
}

/// What stands before the equals sign.
fn key(line: &str) -> &str {
    line.split('=').next().unwrap_or_default().trim()
}

/// A decimal comma on the line is the likely slip: after an equals sign, digits, a comma and digits.
fn decimals(line: &str) -> String {
    let is_digits = |part: &str| !part.is_empty() && part.chars().all(|c| c.is_ascii_digit());
    let bare = line.split('#').next().unwrap_or_default();
    for value in bare.split('=').skip(1) {
        let value = value.trim_start_matches([' ', '"']);
        let number =
            value.split(|c: char| !(c.is_ascii_digit() || c == ',' || c == '-')).next().unwrap_or_default();
        if let Some((whole, part)) = number.split_once(',')
            && is_digits(whole.trim_start_matches('-'))
            && is_digits(part)
        {
            return format!("; write decimals after a point: {whole}.{part}");
        }
    }
    String::new()
}

/// Adds the nearest known name to "unknown key `x`, expected one of `a`, `b`".
fn with_nearest(message: &str) -> String {
    let quoted: Vec<&str> = message.split('`').skip(1).step_by(2).collect();
    let Some((found, known)) = quoted.split_first() else { return message.to_owned() };
    match nearest::nearest(found, known.iter().copied()) {
        Some(name) => format!("{message}. Did you mean `{name}`?"),
        None => message.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_readers_words_become_the_writers() {
        let said = in_words("invalid type: string \"2,5\", expected f64", "value = \"2,5\"");
        assert_eq!(
            said,
            "found the text \"2,5\", expected a number without quotation marks, its decimals after a point; \
             write decimals after a point: 2.5"
        );
        let inner = "invalid type: string \"age_20_40_60\", expected a sequence";
        assert!(in_words(inner, "to = [\"age_20_40_60\"]").ends_with("such as [[\"age_20_40_60\"]]"));
        assert!(in_words(inner, "groups = \"sex\"").ends_with("[\"homa_ir\", \"tyg\"]"));
        let braces = "insulin = { column = \"INS\", unit = \"pmol/L\", factor = 6,00 }";
        assert!(in_words("invalid inline table", braces).ends_with("decimals after a point: 6.00"));
        assert!(in_words("missing field `analysis`", "").contains("`analysis` is missing"));
        assert!(
            in_words("unknown variant `bootstrp`, expected `bootstrap` or `fay`", "")
                .ends_with("`bootstrap`?")
        );
        assert_eq!(in_words("expected newline", "percentiles = [50, 75]"), "expected newline");
    }
}

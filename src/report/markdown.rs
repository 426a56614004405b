//! Words within a file of Markdown: labels and titles are free text, and must not be read as its signs.

/// The text on one line, with a backslash before each sign that Markdown would read as its own where it stands.
pub(super) fn escaped(text: &str) -> String {
    let letters: Vec<char> = text.chars().map(|c| if matches!(c, '\n' | '\r') { ' ' } else { c }).collect();
    let mut out = String::with_capacity(text.len());
    for (at, &sign) in letters.iter().enumerate() {
        let before = at.checked_sub(1).and_then(|before| letters.get(before));
        if is_read(sign, before.copied(), letters.get(at + 1).copied()) {
            out.push('\\');
        }
        out.push(sign);
    }
    out
}

/// Whether Markdown reads a sign between two others: `_` within a word, `<` before a number and a bracket that begins no
/// link are what they are.
fn is_read(sign: char, before: Option<char>, after: Option<char>) -> bool {
    let begins = |signs: &str| after.is_some_and(|c| c.is_ascii_alphabetic() || signs.contains(c));
    match sign {
        '\\' | '|' | '*' | '`' => true,
        '_' => ![before, after].into_iter().all(|side| side.is_some_and(char::is_alphanumeric)),
        '<' => begins("/!?"),
        '&' => begins("#"),
        ']' => after.is_some_and(|c| "([:".contains(c)),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_of_markdown_are_escaped_where_it_would_read_them() {
        assert_eq!(escaped("a|b*c"), "a\\|b\\*c");
        assert_eq!(
            escaped("_low_ <b>x</b> [see](there) &lt;"),
            "\\_low\\_ \\<b>x\\</b> [see\\](there) \\&lt;"
        );
    }

    #[test]
    fn what_it_would_not_read_stays_as_it_is() {
        let plain = "cutoff_pairs.csv, p < 0.001, BMI <30, glucose [mg/dL] × 2, R&D [to be checked]";
        assert_eq!(escaped(plain), plain.replace("R&D", "R\\&D"));
    }

    #[test]
    fn a_text_of_several_lines_stays_in_its_row() {
        assert_eq!(escaped("low\nand high\r\n"), "low and high  ");
    }
}

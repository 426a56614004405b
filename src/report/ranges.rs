//! Ranges of numbers in a page's text: a line may end before or after one, never within.

use std::fmt::Write;

use minijinja::{HtmlEscape, Value};

/// The text as HTML, each range with its brackets in a part that is not broken over lines.
pub(super) fn kept_whole(text: &str) -> Value {
    let mut html = String::with_capacity(text.len());
    let mut rest = text;
    while let Some((start, end)) = next(rest) {
        let (before, range) = (&rest[..start], &rest[start..end]);
        // Writing to a string does not fail.
        let _ = write!(html, "{}<span class=\"range\">{}</span>", HtmlEscape(before), HtmlEscape(range));
        rest = &rest[end..];
    }
    let _ = write!(html, "{}", HtmlEscape(rest));
    Value::from_safe_string(html)
}

/// Where the first dash between two figures stands, with the numbers and brackets on either side.
fn next(text: &str) -> Option<(usize, usize)> {
    let figure = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
    let between = |at: &usize| figure(text[..*at].chars().next_back()) && figure(text[*at..].chars().nth(1));
    let dash = text.match_indices('–').map(|(at, _)| at).find(between)?;
    let part = |c: char| c.is_ascii_digit() || ".,()–\u{202f}\u{2212}".contains(c);
    let start = text[..dash].trim_end_matches(part).len();
    let end = text.len() - text[dash..].trim_start_matches(part).len();
    Some((start, end))
}

#[cfg(test)]
mod tests {
    use super::kept_whole;

    #[test]
    fn a_range_stays_on_one_line_with_its_brackets_and_nothing_else_does() {
        let html = |text: &str| kept_whole(text).to_string();
        assert_eq!(
            html("81.2\u{a0}% (77.9–84.2) in “a <b” to 96.1\u{a0}%"),
            "81.2\u{a0}% <span class=\"range\">(77.9–84.2)</span> in “a &lt;b” to 96.1\u{a0}%"
        );
        assert_eq!(
            html("from 1–2, then (3.5–4)."),
            "from <span class=\"range\">1–2,</span> then <span class=\"range\">(3.5–4).</span>"
        );
        for plain in ["Korn–Graubard", "from – to", "no range", "Woodruff 5 – 6"] {
            assert_eq!(html(plain), plain);
        }
    }
}

//! Signs that no text of a study may hold: a terminal obeys them, and a drawing with them is none.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::error::{StudyError, Text};

/// Whether a letter is a control character other than those that part words and lines.
#[must_use]
pub fn is_control(letter: char) -> bool {
    letter.is_control() && !matches!(letter, '\t' | '\n' | '\r')
}

/// Refuses a study file with such a sign in one of its texts.
pub(super) fn refuse(text: Text<'_>) -> Result<(), StudyError> {
    // What is no TOML has been refused with other words.
    let Ok(file) = DeTable::parse(text.text) else { return Ok(()) };
    let Some((span, letter)) = in_table(file.get_ref()) else { return Ok(()) };
    let problem = format!(
        "this text holds the control character U+{:04X}, which no table, page or drawing can show: take it out",
        u32::from(letter)
    );
    Err(text.problem(span, problem))
}

/// The first of a table's texts with a control character, and that.
fn in_table(table: &DeTable<'_>) -> Option<(Range<usize>, char)> {
    table.iter().find_map(|(key, value)| {
        let in_key = key.get_ref().chars().find(|letter| is_control(*letter));
        in_key.map(|letter| (key.span(), letter)).or_else(|| in_value(value))
    })
}

fn in_value(value: &Spanned<DeValue<'_>>) -> Option<(Range<usize>, char)> {
    match value.get_ref() {
        DeValue::String(text) => {
            text.chars().find(|letter| is_control(*letter)).map(|letter| (value.span(), letter))
        }
        DeValue::Array(values) => values.iter().find_map(in_value),
        DeValue::Table(table) => in_table(table),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_control_character_in_a_label_is_refused_at_its_line() {
        let study =
            "title = \"two\\nlines\"\n[[analysis.reference]]\nname = \"lean\"\nlabel = \"le\\u001Ban\"\n";
        let refused = refuse(Text { name: "s.toml", text: study }).expect_err("refused").to_string();
        assert!(refused.starts_with("s.toml:4:9: ") && refused.contains("U+001B"), "{refused}");
        let plain = study.replace("\\u001B", "");
        refuse(Text { name: "s.toml", text: &plain }).expect("a line break in a title is none");
        let listed = "[[define.group]]\nlabels = [\"low\", \"hi\\u000Bgh\"]\n";
        let refused = refuse(Text { name: "s.toml", text: listed }).expect_err("refused").to_string();
        assert!(refused.starts_with("s.toml:2:"), "{refused}");
    }
}

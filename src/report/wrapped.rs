//! Text in lines that are easily read.

use textwrap::{Options, WordSeparator, WordSplitter, WrapAlgorithm};

/// A text in lines of at most `width` letters, broken at blanks alone. The first line begins with `lead`, the others with
/// `rest`.
#[must_use]
pub fn wrapped(text: &str, (lead, rest): (&str, &str), width: usize) -> String {
    let options = Options::new(width)
        .initial_indent(lead)
        .subsequent_indent(rest)
        .break_words(false)
        .word_separator(WordSeparator::AsciiSpace)
        .word_splitter(WordSplitter::NoHyphenation)
        .wrap_algorithm(WrapAlgorithm::FirstFit);
    textwrap::fill(text, options)
}

#[cfg(test)]
mod tests {
    use super::wrapped;

    #[test]
    fn lines_end_at_blanks_and_never_within_a_command_or_before_a_unit() {
        let text = "for a verdict: cutspan --at-least 20-39 of 12\u{a0}%";
        let lines = "- for a verdict:\n  cutspan\n  --at-least\n  20-39 of 12\u{a0}%";
        assert_eq!(wrapped(text, ("- ", "  "), 16), lines);
        assert_eq!(wrapped("metabolic_syndrome_harmonized", ("", ""), 8), "metabolic_syndrome_harmonized");
    }
}

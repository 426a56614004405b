//! Words for yes and for no, as tables hold them.

/// In lower case: English, German, French, Spanish and Italian.
const YES: [&str; 10] = ["yes", "y", "true", "ja", "j", "wahr", "oui", "sí", "sì", "si"];
const NO: [&str; 6] = ["no", "n", "false", "nein", "falsch", "non"];

/// What a word answers, in whatever case; `None` where it is neither.
#[must_use]
pub fn plain_answer(word: &str) -> Option<bool> {
    let word = word.to_lowercase();
    if YES.contains(&word.as_str()) {
        return Some(true);
    }
    NO.contains(&word.as_str()).then_some(false)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn yes_and_no_are_known_in_five_languages() {
        for (yes, no) in [("Yes", "no"), ("ja", "NEIN"), ("J", "n"), ("wahr", "falsch"), ("oui", "non")] {
            assert_eq!((plain_answer(yes), plain_answer(no)), (Some(true), Some(false)), "{yes}, {no}");
        }
        assert_eq!([plain_answer("SÍ"), plain_answer("sì"), plain_answer("si")], [Some(true); 3]);
        // Codes are for the study to say: 2 may be no, and may be unknown.
        assert_eq!([plain_answer("1"), plain_answer("0"), plain_answer("k.A.")], [None; 3]);
    }
}

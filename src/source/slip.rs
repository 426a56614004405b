//! Texts where a number is expected, and what should stand in their place.

use crate::study::age_by_hand;

/// How a text fails to be a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Slip {
    /// Decimals follow a comma.
    Comma,
    /// Decimals follow no comma although the study says so.
    Point,
    /// A limit and a mark that the value lies below it.
    Below,
    /// A day in place of a number.
    Date,
    Word,
}

/// As many texts are quoted.
const QUOTED: usize = 5;

/// What to write where the texts of cells stand for no value, as the end of a sentence.
pub(super) fn no_value(found: &[(usize, String)]) -> String {
    let mut texts: Vec<String> = Vec::new();
    for (_, text) in found {
        let quoted = toml::Value::String(text.clone()).to_string();
        if !texts.contains(&quoted) {
            texts.push(quoted);
        }
    }
    if texts.len() > QUOTED {
        texts.truncate(QUOTED);
        texts.push("…".to_owned());
    }
    format!(
        "; for texts that stand for no value, write missing = [{}] in the braces of the column (in the [[source]] it holds for \
         every column)",
        texts.join(", ")
    )
}

impl Slip {
    /// What should stand in place of the texts of cells.
    pub fn expected(self, found: &[(usize, String)]) -> String {
        match self {
            Self::Comma => format!(
                "decimals after a point: {} (or decimal = \",\" in the [[source]])",
                found[0].1.replacen(',', ".", 1)
            ),
            Self::Point => "a number whose decimals follow a comma, as decimal = \",\" says".to_owned(),
            Self::Below => "a number; for values below a limit of detection add below_detection = \"<\" to the column, \
                            which keeps these people (listed under `missing`, the least resistant would drop out)"
                .to_owned(),
            Self::Date => format!(
                "a number, and no date; a spreadsheet may have made one of a number. Where it is a date of birth: {}",
                age_by_hand(None)
            ),
            Self::Word => format!("a number, or an empty cell{}", no_value(found)),
        }
    }
}

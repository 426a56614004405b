//! Texts where a number is expected, and what should stand in their place.

/// How a text fails to be a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Slip {
    /// Decimals follow a comma.
    Comma,
    /// Decimals follow no comma although the study says so.
    Point,
    /// A limit and a mark that the value lies below it.
    Below,
    Word,
}

impl Slip {
    /// What should stand in place of a text.
    pub fn expected(self, text: &str) -> String {
        match self {
            Self::Comma => format!(
                "decimals after a point: {} (or decimal = \",\" in the [[source]])",
                text.replacen(',', ".", 1)
            ),
            Self::Point => "a number whose decimals follow a comma, as decimal = \",\" says; texts that mean missing are \
                            listed under `missing`"
                .to_owned(),
            Self::Below => "a number; for values below a limit of detection add below_detection = \"<\" to the column, \
                            which keeps these people (listed under `missing`, the least resistant would drop out)"
                .to_owned(),
            Self::Word => "a number with a decimal point, or an empty cell; texts that mean missing are listed under \
                           `missing`"
                .to_owned(),
        }
    }
}

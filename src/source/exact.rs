//! Numbers that tell people, units and groups apart: all their digits count.

use polars::prelude::StringChunked;

use super::SourceError;
use super::raw::{Cells, RawTable};

/// 2⁵³: from here on, neighbouring whole numbers may be the same as a number of 64 bits with a fraction.
pub(super) const FIRST_INEXACT: f64 = 9_007_199_254_740_992.0;

impl RawTable {
    /// The column as texts that tell people, units or groups apart: a number that is no longer exact is an error.
    pub fn exact_texts(&self, column: &str, missing: &[String]) -> Result<StringChunked, SourceError> {
        let texts = self.texts(column, missing)?;
        let Cells::Numbers(numbers) = self.cells(column)? else { return Ok(texts) };
        let numbers = numbers.iter().zip(texts.iter()).enumerate();
        let long = numbers.filter_map(|(row, (x, text))| {
            x.filter(|x| x.abs() >= FIRST_INEXACT)?;
            Some((row, text?.to_owned()))
        });
        let long: Vec<(usize, String)> = long.collect();
        if long.is_empty() {
            return Ok(texts);
        }
        let expected = "a number that a decimal column holds exactly (below 9007199254740992); where digits matter, save the \
                        column as text or as whole numbers";
        Err(self.cells_error(column, &long, expected))
    }
}

#[cfg(test)]
mod tests {
    use polars::prelude::NewChunkedArray;

    use super::*;

    fn table(cells: Cells) -> RawTable {
        let name = "x".to_owned();
        RawTable::of_rows("t.parquet".to_owned(), 2, vec![name.clone()], vec![(name, cells)])
    }

    #[test]
    fn a_number_that_tells_people_apart_has_to_be_exact() {
        let ids = table(Cells::Numbers([FIRST_INEXACT - 1.0, FIRST_INEXACT].into_iter().map(Some).collect()));
        let error = ids.exact_texts("x", &[]).unwrap_err().to_string();
        assert!(error.contains("row 2") && error.contains("`9007199254740992`"), "{error}");
        assert_eq!(ids.texts("x", &[]).unwrap().get(0), Some("9007199254740991"));
        assert!(ids.exact_texts("x", &["9007199254740992".to_owned()]).is_ok(), "a code for a missing value");
        let text = StringChunked::from_iter_values("x".into(), ["9007199254740993"].into_iter());
        let text = table(Cells::Texts(text)).exact_texts("x", &[]).unwrap();
        assert_eq!(text.get(0), Some("9007199254740993"), "text holds every digit");
    }
}

//! A remark on an estimate, which may not count people where these may not be shown in small counts.

use crate::study::Study;

/// A remark, and what is said in its place where its number would tell how few people there are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Remark {
    said: String,
    without_number: Option<String>,
}

impl<T: Into<String>> From<T> for Remark {
    fn from(said: T) -> Self {
        Self { said: said.into(), without_number: None }
    }
}

impl Remark {
    pub fn numbered(said: impl Into<String>, without_number: impl Into<String>) -> Self {
        Self { said: said.into(), without_number: Some(without_number.into()) }
    }

    /// What a study may say of it.
    #[must_use]
    pub fn text(&self, study: &Study) -> &str {
        let silent = self.without_number.as_ref().filter(|_| study.fewest_shown().is_some());
        silent.unwrap_or(&self.said)
    }
}

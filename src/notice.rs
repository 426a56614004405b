//! Things a reader must know that stop nothing: collected as data, shown on stderr and in the report.

use std::fmt;

use serde::Deserialize;

/// How much a notice matters to someone reading a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Weight {
    /// Read it once.
    Note,
    /// Read it before quoting a number.
    Caution,
}

/// One remark about the data or a result.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Notice {
    pub weight: Weight,
    /// Short machine name of the kind, for example `shared_ingredient`.
    pub kind: &'static str,
    /// What it is about: a file, an index, an outcome, a group.
    pub about: String,
    pub message: String,
}

impl Notice {
    #[must_use]
    pub fn note(kind: &'static str, about: impl Into<String>, message: impl Into<String>) -> Self {
        Self { weight: Weight::Note, kind, about: about.into(), message: message.into() }
    }

    #[must_use]
    pub fn caution(kind: &'static str, about: impl Into<String>, message: impl Into<String>) -> Self {
        Self { weight: Weight::Caution, kind, about: about.into(), message: message.into() }
    }
}

/// Kinds that say who the people are and what is not known of them.
const LEADING: [&str; 5] =
    ["not_a_sample", "weights_without_design", "not_asked", "assay_unstated", "exclusion_unknown"];

impl Notice {
    /// Whether it stands before the others: it is about the people, not about one number.
    #[must_use]
    pub fn leads(&self) -> bool {
        LEADING.contains(&self.kind)
    }
}

impl fmt::Display for Notice {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.about, self.message)
    }
}

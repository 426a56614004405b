//! What is known of how people were drawn, and what may be said of them then.

use super::{Source, Split, Study, TableSource};
use crate::definitions::ORIGIN_COLUMNS;

/// How much of a sample's design is stated.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Design {
    /// Weights and sampling units, or replicate weights.
    #[default]
    Survey,
    /// Weights alone.
    Weights,
    /// Nothing: people as they came.
    Convenience,
}

impl Study {
    /// What is stated of the design; the most that one of the sources states.
    #[must_use]
    pub fn design(&self) -> Design {
        of(&self.sources)
    }

    /// The fewest people that may be shown; `None` where any number may.
    #[must_use]
    pub fn fewest_shown(&self) -> Option<i64> {
        (!self.public).then_some(i64::from(self.minimum_cell))
    }

    /// Whether weights stand for people: those of a survey whose files the program knows do, others may be scaled to anything.
    #[must_use]
    pub fn weights_are_people(&self) -> bool {
        self.sources.iter().all(|source| matches!(source, Source::Survey { .. }))
    }

    /// Whether one of these variables parts people by the source that they come from, of which there are several. The weights
    /// of such a group add up to its part of the average over the sources, and not to the people of its time.
    #[must_use]
    pub fn parts_sources(&self, variables: &[usize]) -> bool {
        let by_origin = |variable: &usize| match &self.variables[*variable].split {
            Split::Levels { sql, .. } => {
                let mut words = sql.split(|c: char| !c.is_alphanumeric() && c != '_');
                words.any(|word| ORIGIN_COLUMNS.contains(&word))
            }
            Split::Bands { .. } => false,
        };
        self.sources.len() > 1 && variables.iter().any(by_origin)
    }
}

pub(super) fn of(sources: &[Source]) -> Design {
    let designs: Vec<Design> = sources.iter().map(of_source).collect();
    [Design::Survey, Design::Weights]
        .into_iter()
        .find(|design| designs.contains(design))
        .unwrap_or(Design::Convenience)
}

pub(super) fn of_source(source: &Source) -> Design {
    match source {
        Source::Survey { .. } => Design::Survey,
        Source::Table(TableSource { psu, replicate_weights, weight, .. }) => {
            match (psu.is_some() || replicate_weights.is_some(), weight) {
                (true, _) => Design::Survey,
                (false, Some(_)) => Design::Weights,
                (false, None) => Design::Convenience,
            }
        }
    }
}

impl Design {
    /// Whom shares and percentiles speak of, after "shares and medians are".
    #[must_use]
    pub const fn weighted(self) -> &'static str {
        match self {
            Self::Survey | Self::Weights => "weighted to the survey’s target population",
            Self::Convenience => "those of the people in the table, each counted once",
        }
    }

    /// What intervals know, after "lines and brackets are".
    #[must_use]
    pub const fn intervals(self) -> &'static str {
        match self {
            Self::Survey => "intervals that know the survey’s design",
            Self::Weights => "intervals that know the weights and take people as drawn one by one",
            Self::Convenience => "intervals that take people as drawn one by one",
        }
    }

    /// What replicates follow, after "replicates of".
    #[must_use]
    pub const fn drawn(self) -> &'static str {
        match self {
            Self::Survey => "the survey's design",
            Self::Weights | Self::Convenience => "people, taken as drawn one by one",
        }
    }

    /// What an interval would be drawn from again, after "in 95 of 100 such".
    #[must_use]
    pub const fn many(self) -> &'static str {
        match self {
            Self::Survey => "surveys",
            Self::Weights | Self::Convenience => "samples",
        }
    }

    /// How many people a binomial interval counts, after "as many people as".
    #[must_use]
    pub const fn worth(self) -> &'static str {
        match self {
            Self::Survey => "the survey's design is worth",
            Self::Weights => "the weights leave",
            Self::Convenience => "there are",
        }
    }

    /// What replicates draw anew.
    #[must_use]
    pub const fn units(self) -> &'static str {
        match self {
            Self::Survey => "PSUs",
            Self::Weights | Self::Convenience => "people",
        }
    }

    /// Who is in a cohort before anybody is left out.
    #[must_use]
    pub const fn everybody(self) -> &'static str {
        match self {
            Self::Survey | Self::Weights => "everybody with a positive weight",
            Self::Convenience => "everybody",
        }
    }
}

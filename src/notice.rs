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
const LEADING: [&str; 8] = [
    "not_a_sample",
    "weights_without_design",
    "not_asked",
    "assay_unstated",
    "exclusion_unknown",
    "index_not_known",
    "outcome_in_part",
    "undecided_outcome",
];

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

/// Notices that say the same of several things, each in one: the names joined, and what differs behind each.
#[must_use]
pub fn grouped(notices: &[Notice]) -> Vec<Notice> {
    let mut kinds: Vec<Vec<&Notice>> = Vec::new();
    for notice in notices {
        match kinds.iter_mut().find(|kind| (kind[0].weight, kind[0].kind) == (notice.weight, notice.kind)) {
            Some(kind) => kind.push(notice),
            None => kinds.push(vec![notice]),
        }
    }
    kinds.iter().flat_map(|kind| joined(kind)).collect()
}

/// One notice for several of a kind, where their messages begin and end alike; else the notices themselves.
fn joined(kind: &[&Notice]) -> Vec<Notice> {
    let words: Vec<Vec<&str>> = kind.iter().map(|notice| notice.message.split(' ').collect()).collect();
    let shortest = words.iter().map(Vec::len).min().unwrap_or(0);
    let alike =
        |at: &dyn Fn(&Vec<&str>) -> usize| words.iter().all(|one| one[at(one)] == words[0][at(&words[0])]);
    let start = (0..shortest).take_while(|&from| alike(&|_| from)).count();
    let end = (0..shortest - start).take_while(|&from| alike(&|one| one.len() - 1 - from)).count();
    let differs = words.iter().any(|one| one.len() > start + end);
    if kind.len() < 2 || (differs && start + end < SHARED_WORDS) {
        return kind.iter().map(|notice| (*notice).clone()).collect();
    }
    let middle = |one: &Vec<&str>| one[start..one.len() - end].join(" ");
    let about = kind.iter().zip(&words).map(|(notice, one)| match middle(one) {
        between if between.is_empty() => notice.about.clone(),
        between => format!("{} ({})", notice.about, between.trim_end_matches([':', ','])),
    });
    let (head, tail) = (&words[0][..start], &words[0][words[0].len() - end..]);
    let gap: &[&str] = if differs && !tail.is_empty() { &["…"] } else { &[] };
    let message = [head, gap, tail].concat().join(" ").trim_end_matches(':').to_owned();
    vec![Notice { about: about.collect::<Vec<_>>().join(", "), message, ..kind[0].clone() }]
}

/// Messages that share fewer words than this do not say the same.
const SHARED_WORDS: usize = 5;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_said_of_several_is_said_once() {
        let of = |about: &str, what: &str| {
            Notice::caution("shared", about, format!("part of their agreement is built in: {what}"))
        };
        let other = Notice::note("few", "men", "few people");
        let got = grouped(&[of("homa_ir", "glucose"), other.clone(), of("tyg", "glucose, triglycerides")]);
        assert_eq!(got.len(), 2);
        assert_eq!(got[0].about, "homa_ir (glucose), tyg (glucose, triglycerides)");
        assert_eq!(got[0].message, "part of their agreement is built in");
        assert_eq!(got[1], other);
    }

    #[test]
    fn equal_messages_are_joined_and_different_ones_are_not() {
        let [a, b] = ["one", "two"].map(|about| Notice::note("kind", about, "it is so"));
        assert_eq!(grouped(&[a.clone(), b])[0].about, "one, two");
        let c = Notice::note("kind", "three", "quite another thing");
        assert_eq!(grouped(&[a.clone(), c.clone()]), [a, c]);
    }
}

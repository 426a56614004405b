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

/// Notices that say the same of several things, each in one: the names joined, and what differs behind each; or, of one
/// thing, what differs one after the other and what is alike once at the end.
#[must_use]
pub fn grouped(notices: &[Notice]) -> Vec<Notice> {
    let kinds = gathered(notices.iter().map(|notice| ((notice.weight, notice.kind), notice)));
    let joined =
        |(_, kind): &(_, Vec<&Notice>)| named(kind).map_or_else(|| by_subject(kind), |one| vec![one]);
    kinds.iter().flat_map(joined).collect()
}

/// What has the same key together, in the order in which the keys come.
fn gathered<K: PartialEq, T>(pairs: impl Iterator<Item = (K, T)>) -> Vec<(K, Vec<T>)> {
    let mut all: Vec<(K, Vec<T>)> = Vec::new();
    for (key, item) in pairs {
        match all.iter_mut().find(|(known, _)| *known == key) {
            Some((_, items)) => items.push(item),
            None => all.push((key, vec![item])),
        }
    }
    all
}

/// Messages that share fewer words than this do not say the same.
const SHARED_WORDS: usize = 5;
/// A name in the middle is cut out only where at least so many words follow it in all messages.
const WORDS_BEHIND: usize = 3;

/// One notice for all of a kind, where their messages differ in nothing but a name.
fn named(kind: &[&Notice]) -> Option<Notice> {
    let words: Vec<Vec<&str>> = kind.iter().map(|notice| words(&notice.message)).collect();
    let (start, end) = shared(&words);
    let (head, tail) = (&words[0][..start], &words[0][words[0].len() - end..]);
    let differs = words.iter().any(|one| one.len() > start + end);
    let names: Vec<String> = words
        .iter()
        .map(|one| one[start..one.len() - end].join(" ").trim_end_matches([':', ',', ';']).to_owned())
        .collect();
    // A name may stand at the end of what is said only where something announces it.
    let behind = if start > 0 { WORDS_BEHIND } else { 1 };
    let announced = end >= behind || head.last().is_some_and(|word| word.ends_with(':'));
    if differs && (start + end < SHARED_WORDS || !announced || !names.iter().all(|name| is_name(name))) {
        return None;
    }
    let gap: &[&str] = if differs && start > 0 && end > 0 { &["…"] } else { &[] };
    let message = [head, gap, tail].concat().join(" ").trim_end_matches(':').to_owned();
    let pairs = kind.iter().zip(&names).map(|(notice, name)| (notice.about.as_str(), name.as_str()));
    Some(Notice { about: with_names(pairs), message, ..kind[0].clone() })
}

/// Whether words can stand in parentheses behind what they are about: no clause, no sentence, no parentheses of its own.
fn is_name(words: &str) -> bool {
    !words.contains(['(', ')', ';', ':']) && !words.contains(". ") && !words.ends_with('.')
}

/// Everything that notices are about, each once, with its names in parentheses.
fn with_names<'a>(pairs: impl Iterator<Item = (&'a str, &'a str)>) -> String {
    let one = |(about, names): (&str, Vec<&str>)| {
        let names: Vec<&str> = names.into_iter().filter(|name| !name.is_empty()).collect();
        if names.is_empty() { about.to_owned() } else { format!("{about} ({})", names.join(", ")) }
    };
    gathered(pairs).into_iter().map(one).collect::<Vec<_>>().join(", ")
}

/// Equal messages once, and what is said of one thing in one notice where all of it ends alike.
fn by_subject(kind: &[&Notice]) -> Vec<Notice> {
    let said = gathered(kind.iter().map(|notice| (notice.message.as_str(), *notice)));
    let about = |same: &[&Notice]| with_names(same.iter().map(|notice| (notice.about.as_str(), "")));
    let subjects = gathered(said.iter().map(|(_, same)| (about(same), same[0])));
    subjects.iter().flat_map(|(about, said)| in_clauses(about, said)).collect()
}

/// One notice for several about the same, where they end in the same clause; else the notices themselves.
fn in_clauses(about: &str, said: &[&Notice]) -> Vec<Notice> {
    let words: Vec<Vec<&str>> = said.iter().map(|notice| words(&notice.message)).collect();
    let (_, mut end) = shared(&words);
    let before_is_whole = |end: usize| {
        words.iter().all(|one| one[..one.len() - end].last().is_none_or(|w| w.ends_with([';', '.'])))
    };
    while end > 0 && !before_is_whole(end) {
        end -= 1;
    }
    let of = |message: String| Notice { about: about.to_owned(), message, ..said[0].clone() };
    if said.len() < 2 || end < SHARED_WORDS {
        return said.iter().map(|notice| of(notice.message.clone())).collect();
    }
    let clauses = words.iter().flat_map(|one| &one[..one.len() - end]);
    let tail = &words[0][words[0].len() - end..];
    vec![of(clauses.chain(tail).copied().collect::<Vec<_>>().join(" "))]
}

fn words(message: &str) -> Vec<&str> {
    message.split(' ').collect()
}

/// With how many words all messages begin, and with how many of the others they end.
fn shared(words: &[Vec<&str>]) -> (usize, usize) {
    let shortest = words.iter().map(Vec::len).min().unwrap_or(0);
    let alike =
        |at: &dyn Fn(&Vec<&str>) -> usize| words.iter().all(|one| one[at(one)] == words[0][at(&words[0])]);
    let start = (0..shortest).take_while(|&from| alike(&|_| from)).count();
    let end = (0..shortest - start).take_while(|&from| alike(&|one| one.len() - 1 - from)).count();
    (start, end)
}

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

    /// A caution on one column of a table.
    fn unusual(about: &str, found: &str) -> Notice {
        Notice::caution("unusual", about, format!("{found}; another unit, or a slip?"))
    }

    #[test]
    fn sentences_about_one_thing_follow_each_other_and_end_once() {
        let insulin =
            "insulin from column `i`: 2 values lie outside the usual 1 to 100 (140, line 3; 160, line 9)";
        let pressure = "pressure from column `s`: 1 value lies outside the usual 70 to 250 (69, line 2)";
        let waist = "waist in cm from column `w`: some values lie outside the usual 40 to 200";
        let one = unusual("clinic (2019)", insulin);
        assert_eq!(grouped(std::slice::from_ref(&one)), std::slice::from_ref(&one));
        let got = grouped(&[one.clone(), unusual("clinic (2019)", pressure), unusual("other", waist)]);
        let said: Vec<String> = got.iter().map(ToString::to_string).collect();
        assert_eq!(
            said,
            [
                format!("clinic (2019): {insulin}; {pressure}; another unit, or a slip?"),
                format!("other: {waist}; another unit, or a slip?"),
            ]
        );
    }

    #[test]
    fn what_is_no_name_is_not_cut_out_of_its_sentence() {
        let of = |about: &str, message: &str| Notice::note("kind", about, message);
        // The words that both share end in the middle of a clause.
        let below = "values are given as below 2 uU/mL; percentiles up to";
        let [a, b] = [("insulin", 30), ("glucose", 7)].map(|(name, percent)| {
            of(
                "clinic",
                &format!(
                    "{name} from column `x`: {percent} {below} P{percent} rest on that, and higher ones too"
                ),
            )
        });
        assert_eq!(grouped(&[a.clone(), b.clone()]), [a, b]);
        let ages = [("A", 85), ("B", 85), ("C", 80)].map(|(about, age)| {
            of(about, &format!("Age is top-coded: everybody of {age} or more reads {age}."))
        });
        let said: Vec<String> = grouped(&ages).iter().map(ToString::to_string).collect();
        assert_eq!(
            said,
            [
                "A, B: Age is top-coded: everybody of 85 or more reads 85.",
                "C: Age is top-coded: everybody of 80 or more reads 80.",
            ]
        );
        let pooled = [("insulin", "one (2001); two (2003)"), ("glucose", "one (2001); three (2003)")]
            .map(|(about, assays)| of(about, &format!("pooled over methods that differ: {assays}")));
        assert_eq!(grouped(&pooled), pooled);
    }

    #[test]
    fn several_names_of_one_thing_stand_behind_it_together() {
        let of =
            |name: &str| Notice::note("empty", "clinic", format!("{name}: nobody has a value, it is empty"));
        let got = grouped(&[of("hdl"), of("waist")]);
        assert_eq!(got.len(), 1);
        assert_eq!(got[0].to_string(), "clinic (hdl, waist): nobody has a value, it is empty");
        let [a, b] = [("1999", "2001"), ("2001", "1999")].map(|(about, other)| {
            Notice::note("pooled", about, format!("weights made for it and {other} together are used"))
        });
        assert_eq!(
            grouped(&[a, b])[0].to_string(),
            "1999 (2001), 2001 (1999): weights made for it and … together are used"
        );
    }
}

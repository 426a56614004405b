//! Texts of a column that hardly anybody has: likely slips of the pen, and classes too small to be shown.

use std::collections::BTreeMap;

use polars::prelude::StringChunked;

use super::columns::Values;
use super::join::Joined;
use crate::definitions::Quantity;
use crate::definitions::nearest::edits;
use crate::notice::Notice;
use crate::study::{MappedColumn, Split, Study, TableSource};
use crate::table::small;

/// Of a hundred people as few are hardly any, however many they are.
const PERCENT: usize = 1;
/// What a slip is taken for is so many times as common.
const TIMES: usize = 4;
/// A word of fewer letters is another word when one of them is another.
const FEWEST_LETTERS: usize = 4;
/// In a word of so many letters, two may be wrong.
const LONG: usize = 8;
/// Of the people of a text, the places of so many are named.
const NAMED: usize = 5;
/// Codes are written out for so many texts.
const MOST_CODES: usize = 10;

/// A text and the people who have it.
type Level<'v> = (&'v str, Vec<usize>);

/// What is to be said of the texts of a column; they are named where they may be `shown`.
pub(super) fn notices(
    (study, source): (&Study, &TableSource),
    joined: &Joined,
    (quantity, mapped, values): (&Quantity, &MappedColumn, &Values),
    shown: bool,
) -> Vec<Notice> {
    let Values::Category(values) = values else { return Vec::new() };
    let levels = levels(values);
    let minimum = study.minimum_cell as usize;
    let slips = slips(&levels, minimum);
    let head = format!("{} from column `{}`", quantity.label, mapped.column);
    let slip = (!slips.is_empty()).then(|| {
        let words = if shown {
            let place = |people: &[usize]| places(joined, mapped, people);
            let advice = if mapped.codes.is_empty() {
                codes(&levels, &slips)
            } else {
                "a slip of the pen? Correct the label in the codes of the column".to_owned()
            };
            format!("{}: {advice}", named(&slips, &place))
        } else {
            "a text that few people have is nearly one that many have: a slip of the pen? cutspan check names it".to_owned()
        };
        Notice::caution("text_slip", source.name.as_str(), format!("{head}: {words}"))
    });
    let small = small(&levels, &slips, minimum).filter(|_| shown && !study.public && splits(study, quantity));
    let small =
        small.map(|words| Notice::note("small_class", source.name.as_str(), format!("{head}: {words}")));
    slip.into_iter().chain(small).collect()
}

fn levels(values: &StringChunked) -> Vec<Level<'_>> {
    let mut levels: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (person, text) in values.iter().enumerate().filter_map(|(person, text)| Some((person, text?))) {
        levels.entry(text).or_default().push(person);
    }
    levels.into_iter().collect()
}

/// Pairs of a text that is likely a slip, and the one that is meant.
fn slips<'l, 'v>(levels: &'l [Level<'v>], minimum: usize) -> Vec<(&'l Level<'v>, &'l Level<'v>)> {
    let all: usize = levels.iter().map(|(_, people)| people.len()).sum();
    let meant = |rare: &'l Level<'v>| {
        let few = rare.1.len() < minimum || 100 * rare.1.len() < PERCENT * all;
        let is_meant = |common: &&Level<'v>| {
            let (fewer, more) = (rare.1.len(), common.1.len());
            // Of two that are written alike the rarer one is the slip, of two as common the later one.
            let alike = same_words(rare.0, common.0) && (fewer, common.0) < (more, rare.0);
            alike || (few && more >= minimum && more >= TIMES * fewer && nearly(rare.0, common.0))
        };
        levels
            .iter()
            .filter(|common| common.0 != rare.0 && is_meant(common))
            .max_by_key(|common| common.1.len())
    };
    levels.iter().filter_map(|rare| Some((rare, meant(rare)?))).collect()
}

/// Words of a text in lower case.
fn words(text: &str) -> Vec<String> {
    let words = text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    words.map(str::to_lowercase).collect()
}

/// Whether two texts differ in nothing but upper case, blanks and marks; beside figures a mark may say something.
fn same_words(one: &str, other: &str) -> bool {
    let (one, other) = (words(one), words(other));
    let figures = one.iter().chain(&other).any(|word| word.contains(|c: char| c.is_ascii_digit()));
    !one.is_empty() && (one == other || (!figures && one.concat() == other.concat()))
}

/// Whether two texts have the same words but for a letter or two in long ones.
fn nearly(one: &str, other: &str) -> bool {
    let (one, other) = (words(one), words(other));
    let near = |(a, b): (&String, &String)| {
        let letters = a.chars().count().min(b.chars().count());
        let most = if letters >= LONG { 2 } else { 1 };
        let plain = a.chars().chain(b.chars()).all(char::is_alphabetic);
        a == b || (plain && letters >= FEWEST_LETTERS && edits(a, b) <= most)
    };
    one.len() == other.len() && one.iter().zip(&other).all(near)
}

/// The slips, each with its places and what is meant.
fn named(slips: &[(&Level<'_>, &Level<'_>)], places: &dyn Fn(&[usize]) -> String) -> String {
    let each = slips.iter().map(|((rare, few), (common, many))| {
        format!(
            "\"{rare}\" ({}, {}) beside \"{common}\" ({})",
            small::told(few.len() as i64, None),
            places(few),
            small::told(many.len() as i64, None)
        )
    });
    each.collect::<Vec<_>>().join(", ")
}

fn places(joined: &Joined, mapped: &MappedColumn, people: &[usize]) -> String {
    let first = people.iter().take(NAMED).map(|person| joined.place(*person, &mapped.column));
    let more = if people.len() > NAMED { " …" } else { "" };
    first.collect::<Vec<_>>().join(", ") + more
}

/// What to write so that a slip is read as what is meant. Codes name every text of a column.
fn codes(levels: &[Level<'_>], slips: &[(&Level<'_>, &Level<'_>)]) -> String {
    let label = |text: &str| {
        slips.iter().find(|(rare, _)| rare.0 == text).map_or(text.to_owned(), |(_, c)| c.0.to_owned())
    };
    let quoted = |text: &str| toml::Value::String(text.to_owned()).to_string();
    let pairs: Vec<String> = if levels.len() <= MOST_CODES {
        levels.iter().map(|(text, _)| format!("{} = {}", quoted(text), quoted(&label(text)))).collect()
    } else {
        let slips = slips.iter().map(|(rare, common)| format!("{} = {}", quoted(rare.0), quoted(common.0)));
        slips.chain(["… and every other text".to_owned()]).collect()
    };
    format!(
        "a slip of the pen? Correct the table, or write codes = {{ {} }} in the braces of the column; as it stands it is a class \
         of its own",
        pairs.join(", ")
    )
}

/// Words for texts of fewer people than may be shown.
fn small(levels: &[Level<'_>], slips: &[(&Level<'_>, &Level<'_>)], minimum: usize) -> Option<String> {
    let is_slip = |text: &str| slips.iter().any(|(rare, _)| rare.0 == text);
    let few = levels.iter().filter(|(text, people)| people.len() < minimum && !is_slip(text));
    let few: Vec<String> = few
        .map(|(text, people)| format!("\"{text}\" ({})", small::told(people.len() as i64, None)))
        .collect();
    (!few.is_empty()).then(|| {
        format!(
            "{} {} fewer than {minimum} people: with public = false the count of such a class is left out, and with a single one \
             that of the next smallest too; codes join it with another class",
            few.join(", "),
            if few.len() == 1 { "has" } else { "have" }
        )
    })
}

/// Whether people are split by a quantity.
fn splits(study: &Study, quantity: &Quantity) -> bool {
    study.variables.iter().any(|variable| match &variable.split {
        Split::Levels { sql, .. } => {
            sql.split(|c: char| !(c.is_ascii_alphanumeric() || c == '_')).any(|word| word == quantity.name)
        }
        Split::Bands { .. } => false,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(counts: &[(&'static str, usize)]) -> Vec<(&'static str, &'static str)> {
        let mut next = 0;
        let levels: Vec<Level<'static>> = counts
            .iter()
            .map(|(text, count)| {
                next += count;
                (*text, (next - count..next).collect())
            })
            .collect();
        slips(&levels, 10).into_iter().map(|(rare, common)| (rare.0, common.0)).collect()
    }

    #[test]
    fn a_rare_text_is_a_slip_only_beside_a_common_one_that_it_nearly_is() {
        assert_eq!(found(&[("current", 140), ("never", 300), ("nevr", 1)]), [("nevr", "never")]);
        assert_eq!(found(&[("Never", 90), ("never", 300)]), [("Never", "never")], "however common");
        assert_eq!(found(&[("never", 12), ("Never", 12)]), [("never", "Never")], "of two the later one");
        assert_eq!(found(&[("ex smoker", 3), ("ex-smoker", 40)]), [("ex smoker", "ex-smoker")]);
        assert_eq!(found(&[("never smoked", 40), ("nevre smoked", 2)]), [("nevre smoked", "never smoked")]);
        assert_eq!(found(&[("Schwarzald", 2), ("Schwarzwald", 50)]), [("Schwarzald", "Schwarzwald")]);
        for apart in [
            &[("never", 300), ("nevr", 80)][..],
            &[("ward 1", 300), ("ward 2", 2)],
            &[("stage i", 300), ("stage ii", 2)],
            &[("east", 300), ("west", 2)],
            &[("male", 300), ("female", 2)],
            &[("smoker", 300), ("non smoker", 2)],
            &[("1-2", 300), ("12", 2)],
            &[("never", 8), ("nevr", 1)],
            &[("A", 300), ("B", 1)],
        ] {
            assert_eq!(found(apart), [], "{apart:?}");
        }
    }
}

//! Help for a misspelt name.

/// How a hint begins that knows which name is meant.
pub const MEANT: &str = "Did you mean";

/// Names further apart than this many edits (or a third of the name) are not worth suggesting.
const MOST_EDITS: usize = 4;

/// A longer list of known names hides the one that is meant.
const MOST_LISTED: usize = 16;
/// Of a longer one, so many of the nearest are listed.
const NEAREST_LISTED: usize = 5;
/// One letter of so many may be wrong in a word of a label.
const WRONG_LETTERS: usize = 3;
/// What is shorter begins too many names of a long list.
const FEWEST_LETTERS: usize = 3;

/// The known name that begins with `found`, or the nearest, if any is near enough to be meant.
#[must_use]
pub fn nearest<'a>(found: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let known: Vec<&str> = known.into_iter().collect();
    let most = MOST_EDITS.min(found.chars().count().div_ceil(3));
    let near = by_distance(found, &known).into_iter().find(|(distance, _)| *distance <= most);
    // A quarter of a name's letters wrong is a slip; beyond that, its beginning says more.
    let slip = near.filter(|(distance, name)| distance * 4 <= name.chars().count());
    let begins = || known.iter().copied().find(|name| is_beginning(found, name, known.len()));
    slip.map(|(_, name)| name).or_else(begins).or(near.map(|(_, name)| name))
}

/// "Did you mean …? Known: …", the hint that ends a message about an unknown name.
#[must_use]
pub fn hint<'a>(found: &str, known: impl IntoIterator<Item = &'a str>) -> String {
    let known: Vec<&str> = known.into_iter().collect();
    suggested(nearest(found, known.iter().copied()), found, &known)
}

/// As [`hint`], but of labels: one is meant only if it has as many words and every word of `found` is nearly one of
/// them. A word that tells people apart is no slip of the pen.
#[must_use]
pub fn hint_of_labels<'a>(found: &str, known: impl IntoIterator<Item = &'a str>) -> String {
    let known: Vec<&str> = known.into_iter().collect();
    suggested(nearest_label(found, &known), found, &known)
}

/// The label that is meant but for a slip of the pen in its words.
#[must_use]
pub fn nearest_label<'a>(found: &str, known: &[&'a str]) -> Option<&'a str> {
    let as_many = |label: &&str| words(label).count() == words(found).count();
    let meant = known.iter().copied().filter(as_many);
    nearest(found, meant.filter(|label| has_each_nearly(label, found)))
}

/// Whether every word of `found` is nearly one of a label's, each of which is taken once: those that are the same first, so
/// that a word which many labels share speaks for none of them.
fn has_each_nearly(label: &str, found: &str) -> bool {
    let same = |one: &str, other: &str| one.to_lowercase() == other.to_lowercase();
    let mut own: Vec<&str> = words(label).collect();
    let mut others: Vec<&str> = Vec::new();
    for word in words(found) {
        match own.iter().position(|own| same(own, word)) {
            Some(at) => drop(own.swap_remove(at)),
            None => others.push(word),
        }
    }
    others.iter().all(|word| {
        let most = MOST_EDITS.min(word.chars().count() / WRONG_LETTERS);
        let near = own.iter().position(|own| edits(word, own) <= most);
        near.map(|at| own.swap_remove(at)).is_some()
    })
}

fn words(label: &str) -> impl Iterator<Item = &str> {
    label.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty())
}

/// The name that is meant, if one is, and what there is to choose from.
fn suggested(meant: Option<&str>, found: &str, known: &[&str]) -> String {
    let list = if known.len() <= MOST_LISTED {
        format!("Known: {}", known.join(", "))
    } else {
        let begins = known.iter().copied().filter(|name| is_beginning(found, name, known.len()));
        let mut listed: Vec<&str> = begins.collect();
        for (_, name) in by_distance(found, known) {
            if !listed.contains(&name) {
                listed.push(name);
            }
        }
        listed.truncate(NEAREST_LISTED);
        format!("Of {} known, the nearest: {}", known.len(), listed.join(", "))
    };
    match meant {
        Some(name) => format!("{MEANT} \"{name}\"? {list}"),
        None => list,
    }
}

fn is_beginning(found: &str, name: &str, known: usize) -> bool {
    let fewest = if known <= MOST_LISTED { 1 } else { FEWEST_LETTERS };
    found.chars().count() >= fewest && name.starts_with(&found.to_lowercase())
}

/// Known names with their distance, nearest first; equally near ones in their own order.
fn by_distance<'a>(found: &str, known: &[&'a str]) -> Vec<(usize, &'a str)> {
    let mut names: Vec<(usize, &str)> = known.iter().map(|name| (edits(found, name), *name)).collect();
    names.sort_by_key(|(distance, _)| *distance);
    names
}

/// Insertions, deletions, replacements and swaps of neighbours that turn one name into the other;
/// letters of both cases count as equal.
#[must_use]
pub fn edits(a: &str, b: &str) -> usize {
    strsim::osa_distance(&a.to_lowercase(), &b.to_lowercase())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::indices;

    #[test]
    fn no_label_is_suggested_for_one_of_other_people() {
        let known = ["Mexican American", "Non-Hispanic White", "Non-Hispanic Black", "Other or multiracial"];
        for found in ["Non-Hispanic Asian", "Asian", "Hispanic", "Non-Hispanic", "African American"] {
            let said = hint_of_labels(found, known);
            assert!(said.starts_with("Known: "), "{said}");
        }
        assert!(
            hint_of_labels("Non-Hispanc Whte", known).starts_with("Did you mean \"Non-Hispanic White\"?")
        );
    }

    #[test]
    fn a_near_name_is_suggested_and_a_far_one_is_not() {
        let known = ["homa_ir", "homa_beta", "quicki"];
        assert_eq!(nearest("homair", known), Some("homa_ir"));
        assert_eq!(nearest("QUICKY", known), Some("quicki"));
        assert_eq!(nearest("homa", known), Some("homa_ir"), "the first that begins so");
        assert_eq!(nearest("f", ["male", "female"]), Some("female"));
        assert_eq!(nearest("glucose", known), None);
        let hinted = |found: &str| hint(found, indices().iter().map(|row| row.name.as_str()));
        assert!(hinted("homa").starts_with("Did you mean \"homa_ir\"? Of "), "{}", hinted("homa"));
        assert_eq!(
            hinted("nothing_like_it").matches(", ").count(),
            NEAREST_LISTED,
            "{}",
            hinted("nothing_like_it")
        );
    }
}

//! A claim in the words by which it is read: one spelling for signs, numbers and what people call a thing.

/// Signs, and the words that they stand for.
const SIGNS: [(&str, &str); 16] = [
    ("-third", " third"),
    ("-quarter", " quarter"),
    ("-half", " half"),
    ("\u{2265}", " >= "),
    ("\u{2264}", " <= "),
    ("per cent", "%"),
    ("%", " % "),
    ("±", " within "),
    ("≈", " about "),
    ("~", " about "),
    (" out of ", " in "),
    ("the majority", "most"),
    ("a majority", "most"),
    ("those who have it", "them"),
    ("people who have it", "people"),
    ("people with it", "people"),
];

/// Words by which others are understood.
const WORDS: [(&str, &str); 20] = [
    ("percent", "%"),
    ("around", "about"),
    ("roughly", "about"),
    ("nearly", "about"),
    ("almost", "about"),
    ("approximately", "about"),
    ("detects", "finds"),
    ("catches", "finds"),
    ("identifies", "finds"),
    ("overlooks", "misses"),
    ("one", "1"),
    ("two", "2"),
    ("three", "3"),
    ("four", "4"),
    ("five", "5"),
    ("six", "6"),
    ("seven", "7"),
    ("eight", "8"),
    ("nine", "9"),
    ("ten", "10"),
];

/// Endings that say no more than that all people are meant.
const EVERYBODY: [&str; 4] = [" for everybody", " for everyone", " for all people", " for all"];

/// Parts of a whole, and how many make it up.
const PARTS: [(&str, u8); 10] = [
    ("half", 2),
    ("halves", 2),
    ("third", 3),
    ("thirds", 3),
    ("quarter", 4),
    ("quarters", 4),
    ("fifth", 5),
    ("fifths", 5),
    ("tenth", 10),
    ("tenths", 10),
];

/// `a third` as `1/3`, `2 thirds` as `2/3`, `half` as `1/2`.
fn fractions<'w>(words: impl Iterator<Item = &'w str>) -> Vec<String> {
    let mut written: Vec<String> = Vec::new();
    for word in words {
        let Some((_, whole)) = PARTS.iter().find(|(part, _)| *part == word) else {
            written.push(word.to_owned());
            continue;
        };
        let some = written.last().filter(|last| *last == "a" || last.parse::<u8>().is_ok()).cloned();
        if some.is_some() {
            written.pop();
        }
        let some = some.filter(|some| some != "a").unwrap_or_else(|| "1".to_owned());
        written.push(format!("{some}/{whole}"));
    }
    written
}

/// Lower case, one blank between words, signs as words, per cent as `%` behind its number.
pub(super) fn plain(written: &str) -> String {
    let text = SIGNS.iter().fold(written.to_lowercase(), |text, (sign, words)| text.replace(sign, words));
    let meant =
        |word| WORDS.iter().find(|(other, _)| *other == word).map_or(word, |(_, understood)| *understood);
    let words = text.split_whitespace().filter(|word| *word != "is").map(meant);
    let text = fractions(words).join(" ");
    let of_all = EVERYBODY.iter().find_map(|ending| text.strip_suffix(ending));
    of_all.map_or_else(|| text.clone(), str::to_owned)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_spelling_is_left_of_signs_numbers_and_everyday_words() {
        for (written, want) in [
            ("Two-thirds", "2/3"),
            ("share ≤25%", "share <= 25 %"),
            ("nearly a half of the adults", "about 1/2 of the adults"),
            ("Detects eight out of ten", "finds 8 in 10"),
            ("the majority of people who have it", "most of people"),
            ("is fine for everybody", "fine"),
        ] {
            assert_eq!(plain(written), want, "{written}");
        }
    }
}

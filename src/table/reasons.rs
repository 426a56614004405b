//! Reasons to withhold, in the words of people who read no statistics.

/// Reasons of the tables that need a word more, and that word.
const EXPLAINED: [(&str, &str); 7] = [
    (
        "effective number of people below 30",
        "too few people for this survey's sampling: they tell as much as fewer than 30 drawn singly",
    ),
    (
        "interval wider than 130 % of the share",
        "too uncertain: the interval is wider than 130 % of the share",
    ),
    (
        "interval wider than 130 % of the share on the other side",
        "too uncertain: the interval is wider than 130 % of the share on the other side",
    ),
    (
        "interval 30 percentage points wide or wider",
        "too uncertain: the interval is 30 percentage points wide or wider",
    ),
    ("the AUC has no interval", "how well the index separates there cannot be told"),
    ("the interval of the AUC includes 0.5", "the index may separate there no better than chance"),
    (
        "the interval of the AUC lies below 0.5 (the index separates the wrong way round)",
        "the index runs the wrong way there: people with the outcome are the less resistant by it",
    ),
];

/// The text of a `withheld` column, each of its reasons in plain words.
#[must_use]
pub fn explained(reasons: &str) -> String {
    let plain = |part: &str| {
        EXPLAINED
            .iter()
            .find(|(known, _)| *known == part)
            .map_or_else(|| part.to_owned(), |(_, plain)| (*plain).to_owned())
    };
    reasons.split("; ").map(plain).collect::<Vec<_>>().join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_reason_is_explained_by_itself() {
        let said = explained("fewer than 30 people; the AUC has no interval");
        assert_eq!(said, "fewer than 30 people; how well the index separates there cannot be told");
        assert!(
            explained("effective number of people below 30")
                .starts_with("too few people for this survey's sampling")
        );
    }
}

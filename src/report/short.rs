//! Short labels for running text: what stands in brackets or after a comma is said once, in the methods.

use std::collections::BTreeMap;

use crate::chart::Labels;

/// The labels with outcomes less their brackets and groupings up to their first comma, where no two of
/// them become the same.
pub(super) fn labels(labels: &Labels) -> Labels {
    Labels {
        outcomes: shortened(&labels.outcomes, without_brackets),
        groupings: shortened(&labels.groupings, before_comma),
        ..labels.clone()
    }
}

fn shortened(long: &BTreeMap<String, String>, cut: fn(&str) -> String) -> BTreeMap<String, String> {
    let alone = |label: &String| {
        let short = cut(label);
        let mut others = long.values().filter(|other| *other != label);
        if others.any(|other| cut(other) == short) { label.clone() } else { short }
    };
    long.iter().map(|(name, label)| (name.clone(), alone(label))).collect()
}

/// `A1c 5.7 % or more` of `A1c 5.7 % (39 mmol/mol) or more`.
pub(super) fn without_brackets(label: &str) -> String {
    let mut depth = 0_usize;
    let outside = |letter: &char| {
        depth += usize::from(*letter == '(');
        let keep = depth == 0;
        depth -= usize::from(*letter == ')' && depth > 0);
        keep
    };
    let kept: String = label.chars().filter(outside).collect();
    kept.split_whitespace().collect::<Vec<_>>().join(" ").replace(" ,", ",")
}

/// Each of crossed variables up to its comma.
fn before_comma(label: &str) -> String {
    label.split(" × ").filter_map(|one| one.split(',').next()).collect::<Vec<_>>().join(" × ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cut(labels: &[&str], by: fn(&str) -> String) -> Vec<String> {
        let long = labels.iter().map(|label| ((*label).to_owned(), (*label).to_owned())).collect();
        shortened(&long, by).into_values().collect()
    }

    #[test]
    fn labels_are_cut_only_as_long_as_they_stay_apart() {
        let outcomes = [
            "A1c 5.7 % (39 mmol/mol) or more",
            "syndrome (2005)",
            "syndrome (2009)",
            "syndrome (2009), less",
        ];
        let short = ["A1c 5.7 % or more", "syndrome (2005)", "syndrome (2009)", "syndrome, less"];
        assert_eq!(cut(&outcomes, without_brackets), short);
        let groupings = [
            "age, three bands",
            "body mass index, three classes",
            "body mass index, two classes",
            "sex × age, three bands",
        ];
        assert_eq!(cut(&groupings, before_comma), ["age", groupings[1], groupings[2], "sex × age"]);
    }
}

//! Words for the numbers of one person: a value, a percentile, a cutoff, a group.

use crate::analysis::{PlacedCutoff, PlacedIndex, Rank};
use crate::chart::Labels;
use crate::table::number::{fixed, reading};

pub(super) const EVERYBODY: &str = "everybody";
pub(super) const COHORT: &str = "cohort";
/// A cell about nobody.
pub(super) const NOBODY: &str = "–";

/// The first rule's cutoffs, outcome by outcome.
pub(super) fn leading(cutoffs: &[PlacedCutoff]) -> Vec<&PlacedCutoff> {
    let rule = cutoffs.first().map(|c| c.rule.as_str());
    cutoffs.iter().filter(|c| Some(c.rule.as_str()) == rule).collect()
}

/// The first rule's cutoffs for the first outcome in the person's smallest groups, or in everybody where no smaller
/// group has one.
pub(super) fn first_screen(cutoffs: &[PlacedCutoff]) -> Vec<&PlacedCutoff> {
    let leading = leading(cutoffs);
    let outcome = leading.first().map(|c| c.outcome.as_str());
    of_outcome(&leading, outcome.unwrap_or_default())
}

/// Cutoffs of one outcome in the person's smallest groups, or in everybody where no smaller group has one.
pub(super) fn of_outcome<'a>(cutoffs: &[&'a PlacedCutoff], outcome: &str) -> Vec<&'a PlacedCutoff> {
    // Where the index runs the other way no cutoff fits, whatever is printed.
    let printed = |c: &&&PlacedCutoff| c.outcome == outcome && c.cutoff.is_some();
    let of = |is: &dyn Fn(&PlacedCutoff) -> bool| -> Vec<&'a PlacedCutoff> {
        cutoffs.iter().filter(printed).filter(|c| is(c)).copied().collect()
    };
    let own = of(&|c| c.own);
    let smallest = if own.is_empty() { of(&|c| c.grouping == EVERYBODY) } else { own };
    smallest.into_iter().filter(|c| !c.runs_the_other_way()).collect()
}

/// A cutoff with its interval: `3.44 (2.70–4.61)`.
pub(super) fn limit(index: &PlacedIndex, cutoff: &PlacedCutoff) -> String {
    let Some(limit) = cutoff.cutoff else { return format!("withheld: {}", cutoff.withheld) };
    format!(
        "{} ({}){}",
        reading(limit, 3),
        range(index, cutoff.lower, cutoff.upper),
        unreliable(&cutoff.notices)
    )
}

pub(super) fn percentile(rank: &Rank) -> String {
    match (rank.percentile, rank.at_least) {
        (Some(p), _) => {
            let (lower, upper) = (rank.lower.unwrap_or(p), rank.upper.unwrap_or(p));
            format!("{} ({}–{}){}", share(p), share(lower), share(upper), unreliable(&rank.notices))
        }
        (None, Some(least)) => format!("at least {}", fixed(least, 0)),
        (None, None) if rank.n == 0 => NOBODY.to_owned(),
        (None, None) => format!("withheld: {}", rank.withheld),
    }
}

/// Why a percentile is said to be at least so high and no more.
pub(super) fn why_at_least<'a>(ranks: impl Iterator<Item = &'a Rank>) -> Option<String> {
    let mut reasons: Vec<String> = Vec::new();
    for rank in ranks.filter(|rank| rank.percentile.is_none() && rank.at_least.is_some()) {
        if !reasons.contains(&rank.withheld) {
            reasons.push(rank.withheld.clone());
        }
    }
    (!reasons.is_empty()).then(|| {
        format!(
            "“At least”: the percentile itself is withheld, as so few people of the group lie above the value that their share is \
             not sure enough to print ({}).",
            reasons.join("; ")
        )
    })
}

/// The mark of a number that a study shows although the rules would withhold it.
pub(super) fn unreliable(notices: &str) -> &'static str {
    if notices.contains("unreliable: ") { " unreliable" } else { "" }
}

/// A percentage: whole in the middle, one decimal where a whole one would read 0 or 100, never 0.0 or 100.0.
pub(super) fn share(p: f64) -> String {
    match p {
        _ if p <= 0.0 || p >= 100.0 => fixed(p, 0),
        _ if p < 0.05 => "<0.1".to_owned(),
        _ if p > 99.95 => ">99.9".to_owned(),
        _ => fixed(p, usize::from(!(1.0..=99.0).contains(&p))),
    }
}

/// A factor of insulin as it is printed: `6.00`, `6.945`.
pub(super) fn factor(factor: f64) -> String {
    let hundredths = 100.0 * factor;
    fixed(factor, if (hundredths - hundredths.round()).abs() < 1e-6 { 2 } else { 3 })
}

/// An index with its value, or where the factor of insulin is not known with both: `HOMA-IR 3.52 by the factor 6.00, 3.04
/// by 6.945`.
pub(super) fn by_factors(index: &PlacedIndex) -> String {
    let name = named(index, index.value);
    match index.other_factor.as_ref().filter(|other| other.unknown) {
        None => name,
        Some(other) => format!(
            "{name} by the factor {}, {} by {}",
            factor(other.taken),
            value(index, other.value),
            factor(other.factor)
        ),
    }
}

/// The factor by which a value is taken, where neither is known: `by the factor 6.00`.
pub(super) fn by_taken(index: &PlacedIndex) -> Option<String> {
    let unknown = index.other_factor.as_ref().filter(|other| other.unknown);
    unknown.map(|other| format!("by the factor {}", factor(other.taken)))
}

/// An index with its value, and the factor by which that is taken where neither is known.
pub(super) fn named_by_taken(index: &PlacedIndex) -> String {
    let by = by_taken(index).map(|by| format!(" {by}")).unwrap_or_default();
    format!("{}{by}", named(index, index.value))
}

/// An index that is compared with nobody, with what its value hangs on: `HOMA-IR 27.9, only if taken fasting`.
pub(super) fn bare(index: &PlacedIndex) -> String {
    let condition = if index.if_fasting { ", only if taken fasting" } else { "" };
    format!("{}{condition}.", by_factors(index))
}

/// An index with a value of it: `HOMA-IR 2.44`.
pub(super) fn named(index: &PlacedIndex, at: f64) -> String {
    format!("{} {}", index.label, value(index, at))
}

pub(super) fn value(index: &PlacedIndex, value: f64) -> String {
    let unit = if index.unit == "1" { String::new() } else { format!(" {}", index.unit) };
    format!("{}{unit}", reading(value, 3))
}

pub(super) fn range(index: &PlacedIndex, lower: Option<f64>, upper: Option<f64>) -> String {
    let plain = |v: f64| reading(v, 3);
    match (lower, upper) {
        (Some(lower), Some(upper)) if index.lower_is_resistant && lower > upper => {
            format!("{}–{}", plain(upper), plain(lower))
        }
        (Some(lower), Some(upper)) => format!("{}–{}", plain(lower), plain(upper)),
        _ => "no interval".to_owned(),
    }
}

/// A group in words of its own: `female × BMI 30 and over`, `age 40-59`. A level that says nothing of its variable
/// carries the variable's label.
pub(super) fn group(grouping: &str, group: &str, labels: &Labels) -> String {
    if grouping == EVERYBODY || grouping == "sex" {
        return group.to_owned();
    }
    let whole = labels.grouping(grouping);
    let names: Vec<&str> = whole.split(" × ").collect();
    let levels: Vec<&str> = group.split(" × ").collect();
    let word = |(name, level): (&&str, &&str)| {
        let prefix = prefix_of(name);
        if prefix.is_empty() || level.to_lowercase().starts_with(&prefix.to_lowercase()) {
            (*level).to_owned()
        } else {
            format!("{prefix} {level}")
        }
    };
    if names.len() != levels.len() {
        return format!("{group} ({whole})");
    }
    let words: Vec<String> = names.iter().zip(&levels).map(word).collect();
    let known = words.len() > 1 || !prefix_of(whole).is_empty();
    if known { words.join(" × ") } else { format!("{group} ({})", splits_by(grouping, labels)) }
}

/// The short name that goes before a level.
fn prefix_of(label: &str) -> &'static str {
    if label.starts_with("body mass index") {
        "BMI"
    } else if label.starts_with("age") {
        "age"
    } else {
        ""
    }
}

/// What a grouping splits by, in short: `BMI` for `body mass index, WHO classes`.
pub(super) fn splits_by(grouping: &str, labels: &Labels) -> String {
    let label = labels.grouping(grouping);
    match prefix_of(label) {
        "" => label.split(',').next().unwrap_or(label).to_owned(),
        prefix => prefix.to_owned(),
    }
}

pub(super) fn header(names: &[&str]) -> Vec<String> {
    names.iter().map(|name| (*name).to_owned()).collect()
}

/// Words joined with commas and a last `and`.
pub(super) fn listed(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::place_fixture::{by_the_older_factor, rank};

    #[test]
    fn both_factors_give_a_value_where_none_is_known() {
        let other = by_the_older_factor(3.04);
        let mut index = PlacedIndex {
            label: "HOMA-IR".to_owned(),
            unit: "1".to_owned(),
            value: 3.52,
            other_factor: Some(other),
            ..PlacedIndex::default()
        };
        assert_eq!(by_factors(&index), "HOMA-IR 3.52 by the factor 6.00, 3.04 by 6.945");
        assert_eq!(named_by_taken(&index), "HOMA-IR 3.52 by the factor 6.00");
        if let Some(other) = &mut index.other_factor {
            other.unknown = false;
        }
        assert_eq!(named_by_taken(&index), "HOMA-IR 3.52");
        assert_eq!(by_factors(&index), "HOMA-IR 3.52");
        assert_eq!(bare(&index), "HOMA-IR 3.52.");
        index.if_fasting = true;
        assert_eq!(bare(&index), "HOMA-IR 3.52, only if taken fasting.");
    }

    #[test]
    fn no_share_between_none_and_all_reads_as_none_or_all() {
        let cases =
            [(0.0, "0"), (0.01, "<0.1"), (0.4, "0.4"), (32.4, "32"), (99.5, "99.5"), (99.98, ">99.9")];
        for (p, words) in cases {
            assert_eq!(share(p), words);
        }
        assert_eq!(share(100.0), "100");
    }

    #[test]
    fn a_percentile_that_is_only_a_least_is_explained() {
        let of = |percentile, at_least| Rank {
            percentile,
            at_least,
            withheld: "interval wider than 130 % of the share".to_owned(),
            ..rank(EVERYBODY, EVERYBODY, 57.0)
        };
        assert_eq!(why_at_least([of(Some(57.0), None), of(None, None)].iter()), None);
        let said = why_at_least([of(None, Some(90.0)), of(None, Some(95.0))].iter()).unwrap_or_default();
        assert_eq!(said.matches("interval wider than 130 % of the share").count(), 1, "{said}");
        assert!(said.starts_with("“At least”: the percentile itself is withheld"), "{said}");
    }

    #[test]
    fn a_level_says_what_it_is_a_level_of() {
        let mut labels = Labels::default();
        for (name, label) in [
            ("bmi_class", "body mass index, WHO classes"),
            ("sex × bmi_class", "sex × body mass index, WHO classes"),
            ("obesity", "body mass index, three classes"),
            ("age_20_40_60", "age, three bands"),
            ("ancestry", "ancestry, as the survey asks"),
        ] {
            labels.groupings.insert(name.to_owned(), label.to_owned());
        }
        assert_eq!(group("bmi_class", "30 and over", &labels), "BMI 30 and over");
        assert_eq!(group("sex × bmi_class", "female × 30 and over", &labels), "female × BMI 30 and over");
        assert_eq!(group("obesity", "BMI 30 and over", &labels), "BMI 30 and over");
        assert_eq!(group("age_20_40_60", "40-59", &labels), "age 40-59");
        assert_eq!(group("ancestry", "Mexican American", &labels), "Mexican American (ancestry)");
    }
}

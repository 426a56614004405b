//! Words for the numbers of one person: a value, a percentile, a cutoff, a group.

use crate::analysis::{PlacedCutoff, PlacedIndex, Rank};
use crate::chart::Labels;
use crate::table::number::{fixed, reading};

/// The verdict where nobody knows which factor of insulin holds, and the two say otherwise.
const DEPENDS: &str = "depends on the factor";

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
    let same = |c: &&&PlacedCutoff| c.outcome == outcome && c.cutoff.is_some();
    let own: Vec<&PlacedCutoff> = cutoffs.iter().filter(same).filter(|c| c.own).copied().collect();
    if own.is_empty() {
        return cutoffs.iter().filter(same).filter(|c| c.grouping == EVERYBODY).copied().collect();
    }
    own
}

/// On which side of a cutoff the usual value likely is.
pub(super) fn verdict(cutoff: &PlacedCutoff) -> &'static str {
    if cutoff.by_other.is_some() { DEPENDS } else { side_of(cutoff.likely, cutoff.passed) }
}

fn side_of(likely: &str, passed: Option<bool>) -> &'static str {
    match (likely, passed) {
        ("beyond", _) => "likely beyond",
        ("short", _) => "likely short",
        ("cannot_tell", _) => "cannot tell",
        (_, Some(true)) => "beyond, variation not known",
        (_, Some(false)) => "short, variation not known",
        (_, None) => "",
    }
}

/// On which side of a cutoff, in a sentence: `likely short of 3.44 (2.70–4.61)`.
pub(super) fn sided(index: &PlacedIndex, cutoff: &PlacedCutoff) -> String {
    let limit = limit(index, cutoff);
    if let Some(other) = &cutoff.by_other {
        return format!(
            "cannot tell: it {DEPENDS} ({}: {}; {}: {}); the cutoff is {limit}",
            factor(other.taken),
            side_of(cutoff.likely, cutoff.passed),
            factor(other.factor),
            side_of(other.likely, other.passed)
        );
    }
    let side = if cutoff.passed == Some(true) { "past" } else { "short of" };
    match cutoff.likely {
        "beyond" => format!("likely beyond {limit}"),
        "short" => format!("likely short of {limit}"),
        "cannot_tell" => format!("cannot tell; this value is {side} {limit}"),
        _ => format!("{side} {limit}, day-to-day variation not known"),
    }
}

/// A verdict with the chance behind it: `likely short of 3.44 (2.70–4.61), chance that the usual value is beyond 7 %,
/// 39 % if the true cutoff is 2.70`.
pub(super) fn sided_with_chance(index: &PlacedIndex, cutoff: &PlacedCutoff) -> String {
    let sided = sided(index, cutoff);
    let Some(chance) = cutoff.chance.filter(|_| cutoff.by_other.is_none()) else { return sided };
    let ends = [(cutoff.chance_at_lower, cutoff.lower), (cutoff.chance_at_upper, cutoff.upper)];
    let known: Vec<(f64, f64)> = ends.into_iter().filter_map(|(chance, end)| Some((chance?, end?))).collect();
    // The end of the interval at which the answer would most likely be the other one.
    let sign = if chance < 50.0 { 1.0 } else { -1.0 };
    let other = known.into_iter().max_by(|a, b| (sign * a.0).total_cmp(&(sign * b.0)));
    let other =
        other.map(|(chance, end)| format!(", {} % if the true cutoff is {}", share(chance), reading(end, 3)));
    format!("{sided}, chance that the usual value is beyond {} %{}", share(chance), other.unwrap_or_default())
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

/// The chance of being beyond a cutoff, and at the ends of the cutoff's interval: `7 (1–35)`.
pub(super) fn chance(cutoff: &PlacedCutoff) -> String {
    let Some(at) = cutoff.chance else { return "not known".to_owned() };
    match (cutoff.chance_at_lower, cutoff.chance_at_upper) {
        (Some(one), Some(other)) => {
            format!("{} ({}–{})", share(at), share(one.min(other)), share(one.max(other)))
        }
        _ => share(at),
    }
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
    use crate::analysis::{ByOther, OtherFactor};

    #[test]
    fn an_unknown_factor_that_turns_the_answer_is_said_in_its_place() {
        let by_other = ByOther { taken: 6.0, factor: 6.945, likely: "cannot_tell", passed: Some(true) };
        let torn = PlacedCutoff {
            cutoff: Some(2.2),
            lower: Some(1.8),
            upper: Some(2.6),
            passed: Some(true),
            chance: Some(91.0),
            likely: "beyond",
            by_other: Some(by_other),
            ..PlacedCutoff::default()
        };
        let index = PlacedIndex { unit: "1".to_owned(), ..PlacedIndex::default() };
        assert_eq!(verdict(&torn), "depends on the factor");
        let said = sided_with_chance(&index, &torn);
        assert_eq!(
            said,
            "cannot tell: it depends on the factor (6.00: likely beyond; 6.945: cannot tell); the cutoff is 2.20 (1.80–2.60)"
        );
        assert_eq!(verdict(&PlacedCutoff { by_other: None, ..torn }), "likely beyond");
    }

    #[test]
    fn both_factors_give_a_value_where_none_is_known() {
        let other = OtherFactor {
            factor: 6.945,
            taken: 6.0,
            unknown: true,
            value: 3.04,
            percentile: None,
            cutoffs: Vec::new(),
        };
        let mut index = PlacedIndex {
            label: "HOMA-IR".to_owned(),
            unit: "1".to_owned(),
            value: 3.52,
            other_factor: Some(other),
            ..PlacedIndex::default()
        };
        assert_eq!(by_factors(&index), "HOMA-IR 3.52 by the factor 6.00, 3.04 by 6.945");
        if let Some(other) = &mut index.other_factor {
            other.unknown = false;
        }
        assert_eq!(by_factors(&index), "HOMA-IR 3.52");
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

//! What the header of a table says beside the name of a quantity: a unit, the short words of a clinic, numbered columns.

use std::collections::BTreeMap;

use crate::definitions::answer::same_unit;
use crate::definitions::{Quantity, UnitRow};

/// Short words of clinical tables in letters and digits alone, and what has to be known of such a column.
const CLINICAL: [(&str, &[&str], &str); 3] = [
    ("systolic", &["rrsystolisch", "rrsyst", "rrsys"], ""),
    ("diastolic", &["rrdiastolisch", "rrdiast", "rrdia"], ""),
    ("glucose_drug", &["metformin"], "one drug, and others that lower blood sugar are not in it"),
];
/// Of these words one stands in the names of replicate weights.
const REPLICATES: [&str; 8] = ["rw", "rep", "wt", "wgt", "brr", "bsw", "jk", "fay"];
/// Fewer numbered columns are measurements taken again.
const FEWEST_REPLICATES: usize = 10;

/// Clinical short words for a quantity.
pub(super) fn clinical(quantity: &str) -> &'static [&'static str] {
    CLINICAL.iter().find(|(name, _, _)| *name == quantity).map_or(&[], |(_, words, _)| *words)
}

/// What has to be known of a column that is called so.
pub(super) fn doubt(quantity: &str, squeezed: &str) -> &'static str {
    let of = |(name, words, _): &&(&str, &[&str], &str)| *name == quantity && words.contains(&squeezed);
    CLINICAL.iter().find(of).map_or("", |(_, _, doubt)| *doubt)
}

/// The name before a unit of the quantity, and that unit: `Insulin (µU/mL)`, `Insulin [µU/mL]`, `Insulin µU/mL`.
pub(super) fn with_unit<'a, 'q>(name: &'a str, quantity: &'q Quantity) -> Option<(&'a str, &'q UnitRow)> {
    let name = name.trim();
    let at = name.find(['(', '[']).or_else(|| name.rfind(char::is_whitespace))?;
    let (head, rest) = name.split_at(at);
    let written = rest.trim_matches(|c: char| c.is_whitespace() || "()[]".contains(c));
    let unit = quantity.units.iter().find(|unit| same_unit(&unit.unit, written))?;
    Some((head.trim_end(), unit))
}

/// How the names of replicate weights begin, and how many there are: `rw_` for `rw_1` to `rw_30`. Nothing else begins so.
pub(super) fn replicate_weights(names: &[&str]) -> Option<(String, usize)> {
    let mut beginnings: BTreeMap<&str, usize> = BTreeMap::new();
    for name in names {
        let beginning = name.trim_end_matches(|c: char| c.is_ascii_digit());
        if beginning.len() < name.len() {
            *beginnings.entry(beginning).or_default() += 1;
        }
    }
    let is_weight = |beginning: &str| {
        let mut words = beginning.split(|c: char| !c.is_alphanumeric()).map(str::to_lowercase);
        words.any(|word| REPLICATES.iter().any(|known| word.starts_with(known) || word.ends_with(known)))
    };
    let (beginning, count) = beginnings
        .into_iter()
        .filter(|(beginning, count)| *count >= FEWEST_REPLICATES && is_weight(beginning))
        .max_by_key(|(_, count)| *count)?;
    let all = names.iter().filter(|name| name.starts_with(beginning)).count();
    (all == count).then(|| (beginning.to_owned(), count))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::quantity::quantity;

    #[test]
    fn a_unit_behind_the_name_is_taken_off_and_known_however_it_is_spelt() {
        let parted = |name: &str, of: &str| {
            let (head, unit) = with_unit(name, quantity(of)?)?;
            Some(format!("{head}|{}", unit.unit))
        };
        for (name, of, expected) in [
            ("Insulin [pmol/L]", "insulin", Some("Insulin|pmol/L")),
            ("Insulin (µU/ml)", "insulin", Some("Insulin|uU/mL")),
            ("Triglyzeride mmol/l", "triglycerides", Some("Triglyzeride|mmol/L")),
            ("RR systolisch (mmHg)", "systolic", Some("RR systolisch|mm Hg")),
            ("Glucose (2h)", "glucose", None),
            ("glucose", "glucose", None),
        ] {
            assert_eq!(parted(name, of).as_deref(), expected, "{name}");
        }
    }

    #[test]
    fn many_numbered_weights_are_replicates_and_numbered_answers_are_not() {
        let numbered = |beginning: &str, most: usize| -> Vec<String> {
            (1..=most).map(|at| format!("{beginning}{at}")).collect()
        };
        let found = |names: &[String], more: &str| {
            let names: Vec<&str> = names.iter().map(String::as_str).chain([more]).collect();
            replicate_weights(&names)
        };
        assert_eq!(found(&numbered("rw_", 30), "id"), Some(("rw_".to_owned(), 30)));
        assert_eq!(found(&numbered("REPWT", 12), "id"), Some(("REPWT".to_owned(), 12)));
        assert_eq!(found(&numbered("question_", 30), "id"), None);
        assert_eq!(found(&numbered("rw_", 3), "id"), None, "too few");
        assert_eq!(found(&numbered("wt", 30), "wtmec"), None, "the star would take in another column");
    }
}

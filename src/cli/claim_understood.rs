//! What a name of `--group` was taken to mean, wherever it is not written as the run writes it: it stands in the answer.

use super::claim_groups::name_of;
use super::claim_names::{is_taken_for, squeezed};
use super::claim_one_group::{Found, full};
use crate::definitions::aliases::{plain, singular};
use crate::finished::Opened;

/// Words for everybody that need no remark.
const EVERYBODY: [&str; 2] = ["everybody", "everyone"];

/// What is said of a name that was found, or that means everybody.
pub(super) fn understood(
    opened: &Opened,
    known: &[(String, String)],
    (name, found): (&str, Option<&Found>),
) -> Option<String> {
    let Some(found) = found else {
        let is_plain = EVERYBODY.contains(&&*plain(name));
        return (!is_plain).then(|| is_taken_for(name, "everybody in the study"));
    };
    if found.groups.is_empty() {
        let (of_run, label) = &known[found.grouping];
        return (!says(of_run, label, name)).then(|| is_taken_for(name, of_run));
    }
    let grouping = name_of(&opened.study, found.grouping);
    let as_written = |group: &String| {
        let same = |written: &str| singular(&plain(written)) == singular(&plain(name));
        same(group) || same(&format!("{grouping}={group}"))
    };
    if found.groups.len() == 1 && found.same.is_empty() && found.groups.iter().all(as_written) {
        return None;
    }
    let mut said = is_taken_for(name, &full(opened, found).join(", "));
    if is_ancestry(&grouping) {
        said.push_str(" (categories of the survey, by what people answered)");
    }
    if !found.same.is_empty() {
        said.push_str("; the same people as ");
        said.push_str(&found.same.join(", "));
    }
    if found.groups.len() > 1 {
        said.push_str("; each of these groups is asked by itself");
    }
    Some(said)
}

/// Whether a grouping's name or label is written, or a part of its name.
fn says(of_run: &str, label: &str, name: &str) -> bool {
    let written = squeezed(name).replace('×', "");
    let is_part = |known: &str| squeezed(known).replace('×', "").contains(&written);
    is_part(of_run) || squeezed(label) == squeezed(name)
}

fn is_ancestry(grouping: &str) -> bool {
    grouping.split(" × ").any(|variable| variable.starts_with("ancestry"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::claim_groupings::groupings;
    use crate::finished;

    fn said(opened: &Opened, name: &str) -> Vec<String> {
        groupings(opened, &[name.to_owned()]).expect(name).understood
    }

    #[test]
    fn what_is_not_written_as_the_run_writes_it_is_said() {
        let opened = finished::open(None, &[]).expect("the demo");
        for plain in ["sex", "bmi", "female", "Females", "sex=female", "everybody", "Female × 30 and over"] {
            assert_eq!(said(&opened, plain), Vec::<String>::new(), "{plain}");
        }
        for (name, meant) in [
            ("gender", "“gender” is taken to mean sex"),
            ("all people", "“all people” is taken to mean everybody in the study"),
            ("women", "“women” is taken to mean sex=female"),
            ("bmi=obese", "“bmi=obese” is taken to mean bmi_class=30 and over"),
            (
                "over 40",
                "“over 40” is taken to mean age_20_40_60=40-59, age_20_40_60=60 and over; each of these groups is asked by itself",
            ),
        ] {
            assert_eq!(said(&opened, name), [meant], "{name}");
        }
    }
}

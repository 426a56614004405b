//! Why people give no interval, in words.

use super::withhold::{PERCENTILE_PEOPLE, too_few};
use crate::study::Study;
use crate::table::small;

/// Said of people from no more sampling units than strata, who leave no degree of freedom.
const TOO_FEW_UNITS: &str = "from too few sampling units to judge it by";

/// Why a share of so many people has no interval: its degrees of freedom are those of the sampling units among them.
#[must_use]
pub fn no_interval(study: &Study, people: u64) -> String {
    no_interval_of(study, people, "")
}

/// The same of the people of a class, `" with the outcome"`.
#[must_use]
pub fn no_interval_of(study: &Study, people: u64, class: &str) -> String {
    if let Some(limit) = too_few(study, people) {
        format!("{}{class}", small::reason(limit))
    } else if people == 0 {
        format!("nobody{class} to judge it by")
    } else if people == 1 && study.public {
        format!("only 1 person{class} to judge it by")
    } else if people >= PERCENTILE_PEOPLE {
        format!("its people{class} come {TOO_FEW_UNITS}")
    } else if study.public {
        format!("only {people} people{class}, {TOO_FEW_UNITS}")
    } else {
        format!("fewer than {PERCENTILE_PEOPLE} people{class}, {TOO_FEW_UNITS}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study;

    #[test]
    fn the_units_are_named_and_people_counted_where_they_may_be() {
        let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines/demo.toml");
        let of = |public| Study { public, ..study::load(&file).expect("a study") };
        let people = |public| [9, 20].map(|people| no_interval(&of(public), people));
        let units = "from too few sampling units to judge it by";
        assert_eq!(people(true), [format!("only 9 people, {units}"), format!("only 20 people, {units}")]);
        assert_eq!(
            people(false),
            ["fewer than 10 people".to_owned(), format!("fewer than 30 people, {units}")]
        );
        for public in [true, false] {
            assert_eq!(no_interval(&of(public), 500), format!("its people come {units}"));
        }
        assert_eq!(no_interval(&of(true), 1), "only 1 person to judge it by");
        let class = " with the outcome";
        assert_eq!(no_interval_of(&of(false), 9, class), "fewer than 10 people with the outcome");
        assert_eq!(no_interval_of(&of(true), 9, class), format!("only 9 people with the outcome, {units}"));
    }
}

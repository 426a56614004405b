//! Who the people of a group are, as far as a cutoff in print can be held against them.

use super::context::Context;
use super::groups::Group;
use crate::definitions::overlay::{ANY, People, Sex};
use crate::study::Split;

/// Sex, ages and BMI of a group of the cohort; `None` when it is split by anything else, of which a cutoff in
/// print does not say whether it applies.
pub fn people_of<'a>(context: &'a Context, group: &Group) -> Option<People<'a>> {
    let (mut sex, mut age, mut bmi) = (Sex::Both, context.study.published.age, ANY);
    for &(variable, level) in group.levels() {
        match &context.study.variables[variable].split {
            Split::Bands { column, cuts, .. } if column == "age_years" => {
                age = shared(age, band(cuts, level));
            }
            Split::Bands { column, cuts, .. } if column == "bmi_kg_m2" => {
                bmi = shared(bmi, band(cuts, level));
            }
            Split::Levels { sql, .. } if sql == "sex" => {
                let labels = &context.tallies.plan.variables[variable].labels;
                sex = Sex::One(&labels[usize::from(level)]);
            }
            Split::Bands { .. } | Split::Levels { .. } => return None,
        }
    }
    Some(People { sex, age, bmi: Some(bmi) })
}

/// A band begins at its cut and ends below the next.
fn band(cuts: &[f64], level: u8) -> (f64, f64) {
    let level = usize::from(level);
    let from = level.checked_sub(1).and_then(|before| cuts.get(before));
    (from.copied().unwrap_or(ANY.0), cuts.get(level).copied().unwrap_or(ANY.1))
}

fn shared(one: (f64, f64), other: (f64, f64)) -> (f64, f64) {
    (one.0.max(other.0), one.1.min(other.1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bands_begin_at_a_cut_and_stay_within_the_cohort() {
        let cuts = [40.0, 60.0];
        assert_eq!(band(&cuts, 0), (f64::NEG_INFINITY, 40.0));
        assert_eq!(band(&cuts, 1), (40.0, 60.0));
        assert_eq!(shared((20.0, 65.0), band(&cuts, 2)), (60.0, 65.0));
    }
}

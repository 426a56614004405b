//! Thresholds to be judged in every group.

use super::error::{StudyError, Text};
use super::file::{At, ThresholdFile};
use super::{StudyIndex, Threshold};
use crate::definitions::indices as built_in;

/// Built-in indices made of a difference, which may come out below 0.
const MAY_BE_NEGATIVE: [&str; 3] = ["insulinogenic", "disposition", "oral_disposition"];

pub(super) fn thresholds(
    written: &[At<ThresholdFile>],
    indices: &[StudyIndex],
    text: Text<'_>,
) -> Result<Vec<Threshold>, StudyError> {
    let one = |threshold: &At<ThresholdFile>| {
        let ThresholdFile { index, value, strict, source } = threshold.get_ref();
        let position = indices.iter().position(|known| known.row.name == *index.get_ref());
        let position = position.ok_or_else(|| {
            text.unknown("index of this study", index, indices.iter().map(|known| known.row.name.as_str()))
        })?;
        if !value.is_finite() {
            let problem = format!("the value of a threshold must be a number, found {value}");
            return Err(text.problem(threshold.span(), problem));
        }
        let row = &indices[position].row;
        if *value < 0.0 && is_never_negative(&row.name) {
            let problem = format!("the threshold {value} lies below 0, where {} never is", row.label);
            return Err(text.problem(threshold.span(), problem));
        }
        Ok(Threshold { index: position, value: *value, strict: *strict, source: source.clone() })
    };
    written.iter().map(one).collect()
}

/// Of a study's own index the program does not know it.
fn is_never_negative(index: &str) -> bool {
    built_in().iter().any(|row| row.name == index) && !MAY_BE_NEGATIVE.contains(&index)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_differences_of_what_was_measured_may_be_negative() {
        for row in built_in() {
            let is_a_difference = row.formula.contains("- insulin_uu_ml)");
            assert_eq!(is_never_negative(&row.name), !is_a_difference, "{}", row.name);
        }
        assert!(!is_never_negative("an_index_of_the_study"));
    }
}

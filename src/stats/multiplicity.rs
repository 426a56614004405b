//! Several tests at once.

use super::StatError;

/// p values adjusted so that the chance of any false rejection in the family stays at the level tested.
///
/// # Formula
///
/// ```text
/// p₍₁₎ ≤ … ≤ p₍ₘ₎      adjusted p₍ᵢ₎ = min(1, max over j ≤ i of (m − j + 1) p₍ⱼ₎)
/// ```
///
/// The answers keep the order of the input.
///
/// # Missing data and ties
///
/// The family is what is passed: leave out tests that were not computed before the call. Equal p values get equal answers.
///
/// # Errors
///
/// [`StatError::Value`] for a p value outside [0, 1], with its position.
///
/// # Source
///
/// Holm 1979, Scand J Stat 6:65–70.
///
/// # Checked against
///
/// R, `p.adjust(method = "holm")`: `tests/reference/holm/`.
///
/// # Examples
///
/// ```
/// # use cutspan::stats::multiplicity::holm;
/// assert_eq!(holm(&[0.5, 0.25, 0.125]), Ok(vec![0.5, 0.5, 0.375]));
/// ```
pub fn holm(p_values: &[f64]) -> Result<Vec<f64>, StatError> {
    if let Some(row) = p_values.iter().position(|p| !(0.0..=1.0).contains(p)) {
        return Err(StatError::Value { row, what: "p value", value: p_values[row] });
    }
    let mut order: Vec<usize> = (0..p_values.len()).collect();
    order.sort_by(|&a, &b| p_values[a].total_cmp(&p_values[b]));
    let mut adjusted = vec![0.0; p_values.len()];
    let mut largest = 0.0_f64;
    for (rank, &test) in order.iter().enumerate() {
        largest = largest.max((p_values.len() - rank) as f64 * p_values[test]).min(1.0);
        adjusted[test] = largest;
    }
    Ok(adjusted)
}

/// [`holm`] over the tests that were made; where there was none, there is no answer.
///
/// # Errors
///
/// As for [`holm`], with the position among the tests that were made.
pub fn holm_of_tested(p_values: &[Option<f64>]) -> Result<Vec<Option<f64>>, StatError> {
    let tested: Vec<f64> = p_values.iter().copied().flatten().collect();
    let mut adjusted = holm(&tested)?.into_iter();
    Ok(p_values.iter().map(|p| p.and_then(|_| adjusted.next())).collect())
}

/// The same where several tests ask one question: each question counts once.
///
/// # Formula
///
/// `question[i]` is the position of the first test of the question of test `i`, which stands for it. A first test is adjusted among
/// the first tests; any other as if it stood in the place of its first.
///
/// # Missing data and ties
///
/// As for [`holm`].
///
/// # Errors
///
/// As for [`holm`]; [`StatError::Length`] if the lists differ in length.
///
/// # Source
///
/// Holm 1979, Scand J Stat 6:65–70, over hypotheses: tests of one hypothesis make one member of the family.
///
/// # Examples
///
/// ```
/// # use cutspan::stats::multiplicity::holm_of_questions;
/// // The second test asks what the first asks: two questions, not three.
/// assert_eq!(holm_of_questions(&[0.125, 0.25, 0.5], &[0, 0, 2]), Ok(vec![0.25, 0.5, 0.5]));
/// ```
pub fn holm_of_questions(p_values: &[f64], question: &[usize]) -> Result<Vec<f64>, StatError> {
    if p_values.len() != question.len() {
        return Err(StatError::Length(p_values.len(), question.len()));
    }
    let firsts: Vec<usize> = (0..question.len()).filter(|&test| question[test] == test).collect();
    let adjusted = |test: usize| {
        let family: Vec<f64> = firsts
            .iter()
            .map(|&first| p_values[if first == question[test] { test } else { first }])
            .collect();
        let place = firsts.iter().position(|&first| first == question[test]);
        let all = holm(&family)?;
        place.map(|place| all[place]).ok_or(StatError::Length(question.len(), question[test]))
    };
    (0..p_values.len()).map(adjusted).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_question_asked_twice_counts_once() {
        let plain = holm(&[0.01, 0.04]).expect("p values");
        let got = holm_of_questions(&[0.01, 0.04, 0.01, 0.03], &[0, 1, 0, 1]).expect("p values");
        assert_eq!(got[..2], plain[..], "twins change nothing for the first of each question");
        // The twins of the second question: 0.03 in its place beside 0.01 is 0.03.
        assert_eq!(got[2..], [0.02, 0.03]);
        assert!(matches!(holm_of_questions(&[0.1], &[0, 1]), Err(StatError::Length(1, 2))));
    }

    #[test]
    fn four_tests_by_hand() {
        // Sorted 0.01, 0.02, 0.03, 0.04: 4 × 0.01, 3 × 0.02, max(0.06, 2 × 0.03), max(0.06, 0.04).
        let got = holm(&[0.04, 0.01, 0.03, 0.02]).expect("p values");
        for (got, want) in got.iter().zip([0.06, 0.04, 0.06, 0.06]) {
            assert!((got - want).abs() < 1e-15, "{got} {want}");
        }
        assert_eq!(holm(&[]), Ok(vec![]));
    }

    #[test]
    fn what_was_not_tested_is_no_part_of_the_family() {
        // 2 × 0.02 and 0.03 raised to it.
        let got = holm_of_tested(&[Some(0.03), None, Some(0.02)]);
        assert_eq!(got, Ok(vec![Some(0.04), None, Some(0.04)]));
    }

    #[test]
    fn what_is_no_p_value_is_refused() {
        assert!(matches!(holm(&[0.1, 1.5]), Err(StatError::Value { row: 1, .. })));
        assert!(matches!(holm(&[f64::NAN]), Err(StatError::Value { row: 0, .. })));
        assert!(matches!(holm_of_tested(&[None, Some(1.5)]), Err(StatError::Value { row: 0, .. })));
    }
}

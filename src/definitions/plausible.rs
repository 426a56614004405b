//! Between which values a number of one person can lie, and between which it usually does.

use std::sync::LazyLock;

use serde::Deserialize;

use super::Standing;

/// Bounds of one quantity, in its first unit; both ends belong to the range.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plausible {
    pub quantity: String,
    /// Outside, the number is a slip: of the pen, of the unit, or a code for a missing value.
    pub possible: (f64, f64),
    /// Outside, the number is remarked upon.
    pub usual: (f64, f64),
    /// Outside, the number of an adult is remarked upon; absent where it is as for everybody.
    #[serde(default)]
    pub adult: Option<(f64, f64)>,
    pub source: String,
    pub standing: Standing,
}

/// How a number lies to the bounds of its quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Likelihood {
    Usual,
    Unusual,
    Impossible,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PlausibleFile {
    plausible: Vec<Plausible>,
}

static PLAUSIBLE: LazyLock<Vec<Plausible>> = LazyLock::new(|| {
    toml::from_str::<PlausibleFile>(include_str!("plausible.toml"))
        .expect("the embedded rows are read by a test")
        .plausible
});

/// The bounds of a built-in quantity; `None` for one without numbers, or of a study's own.
#[must_use]
pub fn plausible(quantity: &str) -> Option<&'static Plausible> {
    PLAUSIBLE.iter().find(|row| row.quantity == quantity)
}

impl Plausible {
    /// How a number in the quantity's first unit lies to the bounds; what is not a number is impossible.
    #[must_use]
    pub fn judge(&self, first: f64) -> Likelihood {
        let within = |(low, high): (f64, f64)| (low..=high).contains(&first);
        if !within(self.possible) {
            Likelihood::Impossible
        } else if within(self.usual) {
            Likelihood::Usual
        } else {
            Likelihood::Unusual
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::ColumnKind;
    use crate::definitions::quantity::quantities;

    #[test]
    fn every_number_has_bounds_and_its_plausible_value_is_usual() {
        for q in quantities() {
            let row = plausible(&q.name);
            assert_eq!(row.is_some(), q.kind == ColumnKind::Number, "{}", q.name);
            let (Some(row), Some(middle)) = (row, q.plausible) else { continue };
            assert_eq!(row.judge(middle), Likelihood::Usual, "{}", q.name);
            assert!(row.possible.0 <= row.usual.0 && row.usual.1 <= row.possible.1, "{}", q.name);
            assert!(row.usual.0 < row.usual.1 && !row.source.is_empty());
        }
        assert!(PLAUSIBLE.iter().all(|row| quantities().iter().any(|q| q.name == row.quantity)));
    }

    #[test]
    fn the_impossible_is_not_merely_unusual() {
        let judge = |name: &str, value: f64| plausible(name).expect("a number").judge(value);
        for (name, value) in
            [("bmi", 310.0), ("bmi", 3.1), ("age", 470.0), ("insulin", 980.0), ("waist", 900.0)]
        {
            assert_eq!(judge(name, value), Likelihood::Impossible, "{name} {value}");
        }
        assert_eq!(judge("systolic", 1350.0), Likelihood::Impossible);
        assert_eq!(judge("glucose", f64::NAN), Likelihood::Impossible);
        assert_eq!(judge("insulin", 0.3), Likelihood::Unusual);
        assert_eq!(judge("bmi", 31.0), Likelihood::Usual);
    }
}

//! The scale on which a skewed index is smoothed, modelled and averaged.

use super::Sample;

/// A rising transform of values in resistance order, and its way back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    /// `ln x`: every value is positive.
    Log,
    /// `−ln(−x)`: every value is negative, as for an index of which less is more resistant.
    NegativeLog,
    /// `x` itself: values of both signs, or zero.
    Raw,
}

impl Scale {
    /// Logarithmic where all values have one sign.
    #[must_use]
    pub fn of(values: &[f64]) -> Self {
        if values.iter().all(|x| *x > 0.0) {
            Self::Log
        } else if values.iter().all(|x| *x < 0.0) {
            Self::NegativeLog
        } else {
            Self::Raw
        }
    }

    #[must_use]
    pub fn forward(self, x: f64) -> f64 {
        match self {
            Self::Log => x.ln(),
            Self::NegativeLog => -(-x).ln(),
            Self::Raw => x,
        }
    }

    #[must_use]
    pub fn back(self, y: f64) -> f64 {
        match self {
            Self::Log => y.exp(),
            Self::NegativeLog => -(-y).exp(),
            Self::Raw => y,
        }
    }

    /// The sample on this scale; rows keep their order because the transform rises.
    #[must_use]
    pub fn apply(self, sample: &Sample) -> Sample {
        let value = sample.value.iter().map(|&x| self.forward(x)).collect();
        Sample { value, ..sample.clone() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn order_is_kept_and_the_way_back_is_exact_enough() {
        for (value, scale) in [
            ([0.5, 1.0, 20.0], Scale::Log),
            ([-20.0, -1.0, -0.5], Scale::NegativeLog),
            ([-1.0, 0.0, 2.0], Scale::Raw),
        ] {
            let sample = Sample::from_people(&value, &[1.0; 3], &[0; 3]).expect("usable rows");
            assert_eq!(Scale::of(&value), scale);
            let moved = scale.apply(&sample);
            assert!(moved.check().is_ok(), "{scale:?} keeps the order");
            for (back, x) in moved.value.iter().map(|&y| scale.back(y)).zip(value) {
                assert!((back - x).abs() <= 1e-14 * x.abs(), "{back} {x}");
            }
        }
    }
}

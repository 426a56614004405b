//! The scale on which smooth models are fitted.

use super::Interval;

/// From an index to the number a model is fitted to, and back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FitScale {
    /// The logarithm of the index, so that errors are shares of it and no fitted value is negative.
    pub logarithm: bool,
    /// Turned over, because a lower index means more resistance: fitted numbers run in the order of
    /// resistance.
    pub reversed: bool,
}

impl FitScale {
    /// The logarithm where every value is positive, else the value itself.
    #[must_use]
    pub fn of(values: &[f64], reversed: bool) -> Self {
        Self { logarithm: values.iter().all(|value| *value > 0.0), reversed }
    }

    #[must_use]
    pub fn forward(self, value: f64) -> f64 {
        let scaled = if self.logarithm { value.ln() } else { value };
        if self.reversed { -scaled } else { scaled }
    }

    #[must_use]
    pub fn back(self, fitted: f64) -> f64 {
        let scaled = if self.reversed { -fitted } else { fitted };
        if self.logarithm { scaled.exp() } else { scaled }
    }

    /// An interval on the scale of the fit as one of the index.
    #[must_use]
    pub fn interval_back(self, fitted: Interval) -> Interval {
        let (a, b) = (self.back(fitted.lower), self.back(fitted.upper));
        Interval { lower: a.min(b), upper: a.max(b) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_and_back() {
        let homa = FitScale::of(&[0.5, 3.0], false);
        assert!(homa.logarithm && (homa.forward(3.0) - 3.0_f64.ln()).abs() < 1e-15);
        let quicki = FitScale::of(&[0.3, 0.4], true);
        assert!(quicki.forward(0.3) > quicki.forward(0.4), "lower is more resistant");
        assert!((quicki.back(quicki.forward(0.3)) - 0.3).abs() < 1e-15);
        let score = FitScale::of(&[-1.0, 0.0], true);
        assert_eq!((score.forward(-1.0), score.back(1.0)), (1.0, -1.0));
        let interval = score.interval_back(Interval { lower: 1.0, upper: 3.0 });
        assert_eq!(interval, Interval { lower: -3.0, upper: -1.0 });
    }
}

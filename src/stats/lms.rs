//! The LMS method: centiles and z-scores of a skewed quantity from its skewness, median and spread at an age.

use super::StatError;

/// Skewness, median and spread of a positive quantity at one age.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lms {
    /// Power that makes the quantity normal; 0 is the logarithm.
    l: f64,
    /// Median, in the unit of the quantity.
    m: f64,
    /// Coefficient of variation, roughly.
    s: f64,
}

impl Lms {
    /// # Errors
    ///
    /// [`StatError::Parameter`] for a power that is not finite or a median or spread that is not positive.
    pub fn new(l: f64, m: f64, s: f64) -> Result<Self, StatError> {
        if !l.is_finite() {
            return Err(StatError::Parameter { what: "L", range: "the finite numbers", value: l });
        }
        for (what, value) in [("M", m), ("S", s)] {
            if !(value > 0.0 && value.is_finite()) {
                return Err(StatError::Parameter { what, range: "the positive numbers", value });
            }
        }
        Ok(Self { l, m, s })
    }

    /// Power that makes the quantity normal.
    #[must_use]
    pub fn l(self) -> f64 {
        self.l
    }

    /// Median.
    #[must_use]
    pub fn m(self) -> f64 {
        self.m
    }

    /// Spread.
    #[must_use]
    pub fn s(self) -> f64 {
        self.s
    }

    /// z-score of a value.
    ///
    /// # Formula
    ///
    /// ```text
    /// z = ((y / M)^L − 1) / (L S)     L ≠ 0
    /// z = ln(y / M) / S               L = 0
    /// ```
    ///
    /// # Errors
    ///
    /// [`StatError::Parameter`] for a value that is not positive.
    ///
    /// # Source
    ///
    /// Cole and Green 1992, Stat Med 11:1305–1319; the formula is quoted from memory.
    pub fn z(self, value: f64) -> Result<f64, StatError> {
        if !(value > 0.0 && value.is_finite()) {
            return Err(StatError::Parameter { what: "value", range: "the positive numbers", value });
        }
        let log = (value / self.m).ln();
        // The power minus one without cancellation, so that small L passes smoothly into 0.
        let power = if self.l == 0.0 { log } else { (self.l * log).exp_m1() / self.l };
        Ok(power / self.s)
    }

    /// Value at a z-score: the inverse of [`Lms::z`].
    ///
    /// # Formula
    ///
    /// ```text
    /// y = M (1 + L S z)^(1/L)         L ≠ 0
    /// y = M exp(S z)                  L = 0
    /// ```
    ///
    /// # Errors
    ///
    /// [`StatError::Undefined`] where `1 + L S z` is not positive: the transformed quantity has an end, and
    /// the z-score lies beyond it.
    ///
    /// # Source
    ///
    /// As for [`Lms::z`]; from memory.
    pub fn centile(self, z: f64) -> Result<f64, StatError> {
        let step = self.l * self.s * z;
        if step.is_nan() || step <= -1.0 {
            return Err(StatError::Undefined("the z-score lies beyond the end of the LMS distribution"));
        }
        let log = if self.l == 0.0 { self.s * z } else { step.ln_1p() / self.l };
        Ok(self.m * log.exp())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Twelve digits of the worked values are written down.
    const PRINTED: f64 = 1e-10;

    #[test]
    fn worked_values() {
        let skewed = Lms::new(-0.3, 2.0, 0.55).expect("valid");
        for (z, want) in [
            (-1.645, 0.898_243_686_446),
            (0.0, 2.0),
            (1.282, 4.416_512_016_35),
            (1.645, 5.747_104_743_6),
            (1.96, 7.355_124_314_95),
        ] {
            let got = skewed.centile(z).expect("inside");
            assert!((got - want).abs() < PRINTED, "{z}: {got} {want}");
        }
        assert!((skewed.z(4.0).expect("positive") - 1.137_864_264_51).abs() < PRINTED);
        let log_normal = Lms::new(0.0, 2.0, 0.55).expect("valid");
        assert!((log_normal.z(4.0).expect("positive") - 1.260_267_601_02).abs() < PRINTED);
        assert!((log_normal.centile(1.644_854).expect("inside") - 4.942_231_157_54).abs() < PRINTED);
    }

    #[test]
    fn impossible_values_are_refused() {
        assert!(matches!(Lms::new(f64::NAN, 2.0, 0.5), Err(StatError::Parameter { what: "L", .. })));
        assert!(matches!(Lms::new(1.0, 0.0, 0.5), Err(StatError::Parameter { what: "M", .. })));
        assert!(matches!(Lms::new(1.0, 2.0, -0.5), Err(StatError::Parameter { what: "S", .. })));
        let lms = Lms::new(1.0, 2.0, 0.5).expect("valid");
        assert!(matches!(lms.z(0.0), Err(StatError::Parameter { .. })));
        assert!(matches!(lms.centile(-2.0), Err(StatError::Undefined(_))), "1 + L S z is 0");
        assert!(matches!(lms.centile(f64::NAN), Err(StatError::Undefined(_))));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn there_and_back(l in -1.5_f64..1.5, m in 0.5_f64..20.0, s in 0.05_f64..0.6, y in 0.2_f64..60.0) {
            let lms = Lms::new(l, m, s).expect("valid");
            let back = lms.centile(lms.z(y).expect("positive")).expect("it came from there");
            prop_assert!((back - y).abs() < 1e-9 * y, "{back} {y}");
            let almost_log = Lms::new(1e-9, m, s).expect("valid").z(y).expect("positive");
            let log = Lms::new(0.0, m, s).expect("valid").z(y).expect("positive");
            prop_assert!((almost_log - log).abs() < 1e-6, "smooth at L = 0");
        }
    }
}

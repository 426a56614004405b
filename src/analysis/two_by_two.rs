//! The two-by-two table of outcome and cutoff, and what is read from it.

/// A measure of a two-by-two table, with its name.
pub type NamedMeasure = (&'static str, fn(&Table2) -> f64);

/// Weights of the two-by-two table of outcome and cutoff.
pub struct Table2 {
    pub with: f64,
    pub without: f64,
    pub beyond_with: f64,
    pub beyond_without: f64,
}

impl Table2 {
    pub fn sensitivity(&self) -> f64 {
        self.beyond_with / self.with
    }

    pub fn specificity(&self) -> f64 {
        1.0 - self.beyond_without / self.without
    }

    pub fn ppv(&self) -> f64 {
        self.beyond_with / (self.beyond_with + self.beyond_without)
    }

    pub fn npv(&self) -> f64 {
        let short = (self.with - self.beyond_with, self.without - self.beyond_without);
        short.1 / (short.0 + short.1)
    }

    pub fn lr_positive(&self) -> f64 {
        self.sensitivity() / (1.0 - self.specificity())
    }

    pub fn lr_negative(&self) -> f64 {
        (1.0 - self.sensitivity()) / self.specificity()
    }

    /// Why a likelihood ratio is 0, infinite or neither.
    pub fn undefined(&self, name: &str) -> &'static str {
        let all_beyond = name == "lr_negative";
        match (all_beyond, self.beyond_with == self.with, self.beyond_without == 0.0) {
            _ if self.with == 0.0 => "nobody has the outcome",
            _ if self.without == 0.0 => "everybody has the outcome",
            (true, true, _) => "everybody with the outcome is beyond it",
            (true, false, _) => "everybody without the outcome is beyond it",
            (false, _, true) => "nobody without the outcome is beyond it",
            (false, _, false) => "nobody with the outcome is beyond it",
        }
    }
}

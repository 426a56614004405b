//! Axes: from a value to a pixel, and where the ticks stand.

use crate::table::number;

/// Values that span at least this ratio, all positive, get a log axis.
const LOG_FROM: f64 = 3.0;

/// The smallest and the largest of some values; 0 and 1 without any.
pub(super) fn ends(values: &[f64]) -> (f64, f64) {
    let low = values.iter().copied().fold(f64::INFINITY, f64::min);
    let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if low.is_finite() { (low, high) } else { (0.0, 1.0) }
}

/// A mapping from values to pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scale {
    log: bool,
    from: f64,
    to: f64,
    start: f64,
    end: f64,
}

impl Scale {
    /// An axis that holds all values with a little room, log where they are positive and skewed.
    pub(super) fn fit(values: &[f64], start: f64, end: f64) -> Self {
        Self::fit_from(values, (start, end), LOG_FROM)
    }

    /// An axis for ratios: log wherever all values are positive, so that a half and a double lie equally far from 1.
    pub(super) fn fit_ratios(values: &[f64], start: f64, end: f64) -> Self {
        Self::fit_from(values, (start, end), 1.0)
    }

    /// Log from a given ratio of the largest to the smallest value on.
    fn fit_from(values: &[f64], (start, end): (f64, f64), log_from: f64) -> Self {
        let (low, high) = ends(values);
        let log = low > 0.0 && high / low >= log_from;
        let bare = Self { log, from: low, to: high, start, end };
        let (first, last) = (bare.inner(low), bare.inner(high));
        let room = if last > first { (last - first) * 0.04 } else { (low.abs() * 0.1).max(0.5) };
        Self { from: bare.outer(first - room), to: bare.outer(last + room), ..bare }
    }

    pub(super) fn linear(from: f64, to: f64, start: f64, end: f64) -> Self {
        Self { log: false, from, to, start, end }
    }

    pub(super) fn is_log(&self) -> bool {
        self.log
    }

    /// The pixel of a value, unbounded.
    pub(super) fn at(&self, value: f64) -> f64 {
        let share =
            (self.inner(value) - self.inner(self.from)) / (self.inner(self.to) - self.inner(self.from));
        self.start + share * (self.end - self.start)
    }

    /// The pixel of a value, kept on the axis, and whether it had to be moved.
    pub(super) fn within(&self, value: f64) -> (f64, bool) {
        if self.log && value <= 0.0 {
            return (self.start, true);
        }
        let pixel = self.at(value);
        let (low, high) = (self.start.min(self.end), self.start.max(self.end));
        (pixel.clamp(low, high), pixel < low - 0.5 || pixel > high + 0.5)
    }

    /// The place of a value on the axis's own scale: its logarithm on a log axis.
    pub(super) fn inner(&self, value: f64) -> f64 {
        if self.log { value.ln() } else { value }
    }

    fn outer(&self, inner: f64) -> f64 {
        if self.log { inner.exp() } else { inner }
    }

    /// Round values along the axis, at most about `most`.
    pub(super) fn ticks(&self, most: usize) -> Vec<f64> {
        if self.log {
            for mantissas in [&[1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.0][..], &[1.0, 2.0, 5.0], &[1.0, 3.0], &[1.0]]
            {
                let ticks = self.log_ticks(mantissas);
                if ticks.len() <= most && ticks.len() >= 3 {
                    return ticks;
                }
            }
        }
        self.linear_ticks(most)
    }

    fn log_ticks(&self, mantissas: &[f64]) -> Vec<f64> {
        let decades = self.from.log10().floor() as i32..=self.to.log10().ceil() as i32;
        decades
            .flat_map(|decade| mantissas.iter().map(move |mantissa| mantissa * 10f64.powi(decade)))
            .filter(|tick| *tick >= self.from && *tick <= self.to)
            .collect()
    }

    fn linear_ticks(&self, most: usize) -> Vec<f64> {
        let span = self.to - self.from;
        let rough = span / most.max(2) as f64;
        let decade = 10f64.powf(rough.log10().floor());
        let step = [1.0, 2.0, 2.5, 5.0, 10.0]
            .iter()
            .map(|m| m * decade)
            .find(|step| *step >= rough * 0.999)
            .unwrap_or(span);
        let first = (self.from / step - 1e-9).ceil() as i64;
        let last = (self.to / step + 1e-9).floor() as i64;
        (first..=last).map(|position| position as f64 * step).collect()
    }
}

/// The text at a tick.
pub(super) fn tick_text(value: f64) -> String {
    number::significant(value, 6).replace('-', "\u{2212}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn skewed_positive_values_get_a_log_axis_with_at_least_three_ticks() {
        let scale = Scale::fit(&[1.2, 4.9], 0.0, 100.0);
        assert!(scale.is_log() && scale.ticks(8).len() >= 3, "{:?}", scale.ticks(8));
        assert!(!Scale::fit(&[-1.0, 4.9], 0.0, 100.0).is_log());
        assert!(!Scale::fit(&[0.30, 0.39], 0.0, 100.0).is_log());
    }

    #[test]
    fn ticks_are_round_and_inside() {
        let scale = Scale::linear(0.30, 0.39, 0.0, 100.0);
        let texts: Vec<String> = scale.ticks(6).into_iter().map(tick_text).collect();
        assert_eq!(texts, ["0.3", "0.32", "0.34", "0.36", "0.38"]);
        assert!((scale.at(0.345) - 50.0).abs() < 1e-9);
    }

    #[test]
    fn one_value_alone_still_makes_an_axis() {
        let scale = Scale::fit(&[2.0], 0.0, 100.0);
        assert!((scale.at(2.0) - 50.0).abs() < 1e-9);
        assert_eq!(scale.within(1e9), (100.0, true));
    }
}

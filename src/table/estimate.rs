//! An estimate and its interval for reading: the same number of decimals in all, and no number between nothing and all that
//! looks like either.

use super::number::{aligned, decimals, fixed};

/// How far from 0 or 100 per cent a share still counts as it: rounding of sums.
const SLACK: f64 = 1e-9;

/// A share in per cent and its interval: `7.1` and ` (2.0–12.4)`, or nothing without an interval. One decimal more than
/// `places` where a number would look like 0 or 100 that is not.
#[must_use]
pub fn of_share(value: f64, interval: Option<(f64, f64)>, places: usize) -> (String, String) {
    let ends = interval.iter().flat_map(|(lower, upper)| [*lower, *upper]);
    let numbers: Vec<f64> = ends.chain([value]).collect();
    let places = share_places(&numbers, places);
    let ends = interval.map(|(lower, upper)| format!(" ({}–{})", share(lower, places), share(upper, places)));
    (share(value, places), ends.unwrap_or_default())
}

/// The same of a value of an index or of a ratio.
#[must_use]
pub fn of_value(value: f64, interval: Option<(f64, f64)>, places: usize) -> (String, String) {
    let ends = interval.map(|(lower, upper)| {
        let between = if lower < 0.0 || upper < 0.0 { " to " } else { "–" };
        format!(" ({}{between}{})", end(lower, places), end(upper, places))
    });
    (aligned(value, places), ends.unwrap_or_default())
}

/// How many people a share stands for: `90.7 million` and ` (84.1–97.5)`.
#[must_use]
pub fn of_people(people: f64, interval: Option<(f64, f64)>) -> (String, String) {
    let (scale, unit) = if people < 1e6 { (1e3, "thousand") } else { (1e6, "million") };
    let places = decimals(&[people / scale], 3);
    let of = |people: f64| fixed(people / scale, places);
    let ends = interval.map(|(lower, upper)| format!(" ({}–{})", of(lower), of(upper)));
    (format!("{}\u{a0}{unit}", of(people)), ends.unwrap_or_default())
}

/// Both in one cell of a table, where `<0.1` stands for `under 0.1`.
#[must_use]
pub fn in_a_cell((value, interval): (String, String)) -> String {
    (value + &interval).replace("under ", "<").replace("over ", ">")
}

/// A share in per cent by itself.
#[must_use]
pub fn share_alone(value: f64, places: usize) -> String {
    of_share(value, None, places).0
}

/// Decimals, `places` or one more, with which none of some shares looks like 0 or 100 that is not. Where none of the two is
/// enough, at least one, and such a share is said to be under or over what can be told apart.
fn share_places(shares: &[f64], places: usize) -> usize {
    let clear = |places: usize| shares.iter().all(|share| !is_blurred(*share, places));
    [places, places + 1].into_iter().find(|places| clear(*places)).unwrap_or(places.max(1))
}

fn is_blurred(share: f64, places: usize) -> bool {
    let between = share > SLACK && share < 100.0 - SLACK;
    between && [0.0, 100.0].iter().any(|end| fixed(share, places) == fixed(*end, places))
}

fn share(share: f64, places: usize) -> String {
    match (is_blurred(share, places), share < 50.0) {
        (true, true) => format!("under {}", fixed(step(places), places)),
        (true, false) => format!("over {}", fixed(100.0 - step(places), places)),
        (false, _) => fixed(share, places),
    }
}

/// An end of an interval; of a positive quantity it never starts at a rounded 0.
fn end(value: f64, places: usize) -> String {
    if value > 0.0 && fixed(value, places) == fixed(0.0, places) {
        format!("under {}", fixed(step(places), places))
    } else {
        fixed(value, places)
    }
}

fn step(places: usize) -> f64 {
    10f64.powi(-(places as i32))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(value: f64, lower: f64, upper: f64, places: usize) -> String {
        let (value, interval) = of_share(value, Some((lower, upper)), places);
        value + &interval
    }

    #[test]
    fn only_nothing_and_all_look_like_it() {
        assert_eq!(share_alone(99.8, 0), "99.8");
        assert_eq!(share_alone(0.2, 0), "0.2");
        assert_eq!(share_alone(99.96, 1), "99.96");
        assert_eq!([0.0, 100.0, 50.4].map(|share| share_alone(share, 0)), ["0", "100", "50"]);
        assert_eq!(said(97.0, 80.8, 99.976, 0), "97.0 (80.8–over 99.9)");
        assert_eq!(said(99.0, 96.2, 99.8, 0), "99.0 (96.2–99.8)");
        assert_eq!(said(0.05, 0.0012, 0.2, 1), "0.1 (under 0.1–0.2)");
        assert_eq!(said(4.0, 0.0, 49.0, 1), "4.0 (0.0–49.0)");
        assert_eq!(in_a_cell(of_share(0.05, Some((0.0012, 0.2)), 1)), "0.1 (<0.1–0.2)");
        assert_eq!(in_a_cell(of_share(97.0, Some((80.8, 99.976)), 0)), "97.0 (80.8–>99.9)");
    }

    #[test]
    fn an_interval_has_the_decimals_of_its_value() {
        let said = |value, interval, places| {
            let (value, interval) = of_value(value, Some(interval), places);
            value + &interval
        };
        assert_eq!(said(44.0, (39.1, 49.0), 1), "44.0 (39.1–49.0)");
        assert_eq!(said(0.099, (0.000_12, 0.2), 3), "0.099 (under 0.001–0.200)");
        assert_eq!(said(-0.2, (-0.5, 0.1), 1), "\u{2212}0.2 (\u{2212}0.5 to 0.1)");
        assert_eq!(of_value(2.0, None, 2), ("2.00".to_owned(), String::new()));
    }
}

//! How many people, in the words of a remark.

use super::rounded;

/// `12 people`; of people who may not be shown in small counts rounded, or `some people` below the limit.
#[must_use]
pub fn told(people: i64, fewest: Option<i64>) -> String {
    match fewest {
        Some(limit) if people < limit => "some people".to_owned(),
        Some(limit) => format!("about {} people", rounded(people, limit)),
        None if people == 1 => "1 person".to_owned(),
        None => format!("{people} people"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// hand: the step of a limit of 10 is 5.
    #[test]
    fn people_are_told_in_full_rounded_or_not_at_all() {
        let said = |people| [told(people, None), told(people, Some(10))];
        assert_eq!(said(1), ["1 person", "some people"]);
        assert_eq!(said(9), ["9 people", "some people"]);
        assert_eq!(said(10), ["10 people", "about 10 people"]);
        assert_eq!(said(23), ["23 people", "about 25 people"]);
    }
}

//! Days, as tables hold them.

/// Whether a text is a day: `1970-05-03`, `3.5.1970`, `05/03/70`, with or without a time behind it.
pub(super) fn is_date(text: &str) -> bool {
    let day = text.trim().split([' ', 'T']).next().unwrap_or_default();
    ['-', '.', '/'].iter().any(|mark| {
        let parts: Vec<&str> = day.split(*mark).collect();
        let is_number = |part: &&str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
        let lengths: Vec<usize> = parts.iter().map(|part| part.len()).collect();
        parts.iter().all(is_number) && matches!(lengths[..], [4, 1..=2, 1..=2] | [1..=2, 1..=2, 2 | 4])
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_known_in_their_usual_forms_and_numbers_are_none() {
        for day in ["1970-05-03", "3.5.1970", "05/03/70", "1970-05-03T00:00:00", " 03.05.1970 08:15"] {
            assert!(is_date(day), "{day}");
        }
        for other in ["19700503", "5.6", "1.234.567", "1970", "120/80", "1-2", "05/1970", "", "-5", "a.b.cd"]
        {
            assert!(!is_date(other), "{other}");
        }
    }
}

//! A date of birth in place of an age: how such a column is called, and what is to be made of it.

use super::column_names::squeezed;
use super::guess::Seen;

/// What the name of a column of dates or years of birth holds, in letters and digits alone.
const BIRTH: [&str; 11] = [
    "dateofbirth",
    "birthdate",
    "birthday",
    "birthyear",
    "yearofbirth",
    "geburtsdatum",
    "geburtstag",
    "geburtsjahr",
    "gebdat",
    "datedenaissance",
    "fechadenacimiento",
];
/// Short for it, as words of their own.
const SHORT: [&str; 2] = ["dob", "yob"];
/// What the name of a day on which people were seen holds.
const VISIT: [&str; 9] =
    ["visit", "exam", "interview", "draw", "sampl", "untersuch", "erheb", "abnahme", "baseline"];

/// The column that tells when people were born, and the one that tells when they were seen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Birth {
    pub column: String,
    pub visit: Option<String>,
}

/// Whether a column is called as one of dates or years of birth is.
#[must_use]
pub fn is_birth(name: &str) -> bool {
    let written = squeezed(name);
    let mut words = name.split(|c: char| !c.is_alphanumeric()).map(str::to_lowercase);
    BIRTH.iter().any(|known| written.contains(known)) || words.any(|word| SHORT.contains(&word.as_str()))
}

/// What stands in a table in place of an age.
pub(super) fn birth(seen: &[Seen]) -> Option<Birth> {
    let born = seen.iter().find(|column| !column.empty && is_birth(&column.name))?;
    let others = || seen.iter().filter(|column| column.day.is_some() && !is_birth(&column.name));
    let is_visit = |column: &&Seen| VISIT.iter().any(|part| squeezed(&column.name).contains(part));
    let visit = others().find(is_visit).or_else(|| others().next());
    Some(Birth { column: born.name.clone(), visit: visit.map(|column| column.name.clone()) })
}

/// How an age comes from a day of birth; the program computes none.
#[must_use]
pub fn age_by_hand(birth: Option<&Birth>) -> String {
    let (born, seen) = match birth {
        Some(Birth { column, visit: Some(visit) }) => (column.as_str(), visit.as_str()),
        Some(Birth { column, visit: None }) => (column.as_str(), "the day of the visit"),
        None => ("the day of birth", "the day of the visit"),
    };
    format!(
        "an age is read in years: add a column of ages to the table, the whole years from {born} to {seen}, and map it, as in \
         age = {{ column = \"age\", unit = \"years\" }}"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_date_of_birth_is_known_by_its_name_and_paired_with_a_visit() {
        for name in
            ["DOB", "patient_dob", "Date of birth", "Geburtsdatum", "birth_date", "YOB", "Geburtsjahr"]
        {
            assert!(is_birth(name), "{name}");
        }
        for name in ["birth weight", "Geburtsgewicht", "dobutamine", "date", "age"] {
            assert!(!is_birth(name), "{name}");
        }
        let day = |name: &str| Seen {
            name: name.to_owned(),
            day: Some("1970-05-03".to_owned()),
            ..Seen::default()
        };
        let found = birth(&[day("diagnosis"), day("Geburtsdatum"), day("Untersuchung")]);
        let said = age_by_hand(found.as_ref());
        assert!(said.contains("whole years from Geburtsdatum to Untersuchung, and"), "{said}");
        assert_eq!(birth(&[day("diagnosis")]), None);
        let alone = birth(&[day("dob")]);
        assert!(age_by_hand(alone.as_ref()).contains("from dob to the day of the visit"));
    }
}

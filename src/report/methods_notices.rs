//! What the survey's own notices say about how something was measured or asked, as sentences.

use crate::table::Table;

use super::methods::{filled, listed};

/// Who counts in a fasting analysis.
pub(super) const FASTING: &str = "fasting_weight_zero";
/// How readings of the blood pressure became one value.
pub(super) const PRESSURE: &str = "blood_pressure_protocol";
/// At which ages pregnancy is known.
pub(super) const PREGNANCY: &str = "pregnancy_ages";

/// The messages of a kind of notice, each once; where several differ, with the releases that each is about.
pub(super) fn said(tables: &[Table], kind: &str) -> Vec<String> {
    let mut found: Vec<(&str, Vec<&str>)> = Vec::new();
    let notices = filled(tables, "notices").into_iter().flat_map(Table::iter);
    for notice in notices.filter(|row| row.text("kind") == kind) {
        let (message, about) = (notice.text("message"), notice.text("about"));
        match found.iter_mut().find(|(known, _)| *known == message) {
            Some((_, all)) => all.push(about),
            None => found.push((message, vec![about])),
        }
    }
    let several = found.len() > 1;
    let one = |(message, about): &(&str, Vec<&str>)| {
        if several { format!("{}: {message}", listed(about)) } else { (*message).to_owned() }
    };
    found.iter().map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    #[test]
    fn a_message_is_said_once_and_names_its_releases_where_they_differ() {
        let notices = |rows: &[(&str, &str)]| {
            let mut table = Table::new(schema::shape("notices").expect("a table"));
            for (about, message) in rows {
                let row = table.row().text("kind", PRESSURE).text("about", *about);
                row.text("message", *message).done().expect("a row");
            }
            said(&[table], PRESSURE)
        };
        assert_eq!(notices(&[("A", "By mercury."), ("B", "By mercury.")]), ["By mercury."]);
        let differ = notices(&[("A", "By mercury."), ("B", "By mercury."), ("C", "By cuff.")]);
        assert_eq!(differ, ["A and B: By mercury.", "C: By cuff."]);
    }
}

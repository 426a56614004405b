//! Keys of a study file that nobody knows, and those that are missing, over the whole file: the reader stops at the first.

use toml::de::{DeTable, DeValue};

use super::error::Text;
use super::schema::{self, Section};
use super::schema_keys::{Kind, RULE, STUDY};
use super::schema_source_keys::COLUMN;
use crate::definitions::nearest;

/// How the reader begins what it says of a key.
const UNKNOWN: &str = "unknown field";
const MISSING: &str = "missing field";

/// A key that is unknown, or missing.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Slip {
    /// Byte of the file.
    at: usize,
    /// The section as it is written, with the name of its row; empty for the top of the file.
    section: String,
    key: String,
    is_unknown: bool,
    /// The known key that is nearest.
    meant: Option<String>,
}

/// What the reader says of one key, with the section it stands in, and the other such slips of the file below it.
pub(super) fn with_others(text: &Text<'_>, error: &toml::de::Error, said: String) -> String {
    let message = error.message();
    let is_unknown = message.starts_with(UNKNOWN);
    if !is_unknown && !message.starts_with(MISSING) {
        return said;
    }
    let key = message.split('`').nth(1).unwrap_or_default();
    let line = |at: usize| text.place(at..at).line;
    let here = line(error.span().unwrap_or(0..0).start);
    let mut slips = slips(text.text);
    let is_it = |slip: &Slip| slip.key == key && slip.is_unknown == is_unknown && line(slip.at) == here;
    let it = slips.iter().position(is_it).map(|place| slips.remove(place));
    let section = it.map(|slip| slip.section).unwrap_or_default();
    let first = if section.is_empty() { said } else { format!("in {section}: {said}") };
    slips.sort_by_key(|slip| slip.at);
    let others = slips.iter().map(|slip| format!("\n{}: {}", text.place(slip.at..slip.at), slip.in_words()));
    first + &others.collect::<String>()
}

impl Slip {
    fn in_words(&self) -> String {
        let place = if self.section.is_empty() { String::new() } else { format!("in {}: ", self.section) };
        match (&self.meant, self.is_unknown) {
            (Some(meant), true) => format!("{place}unknown key `{}`. Did you mean `{meant}`?", self.key),
            (None, true) => format!("{place}unknown key `{}`", self.key),
            (_, false) => format!("{place}the key `{}` is missing here too", self.key),
        }
    }
}

/// All of a file; none when it is no TOML.
fn slips(text: &str) -> Vec<Slip> {
    let mut found = Vec::new();
    if let Ok(table) = DeTable::parse(text) {
        walk(
            &STUDY,
            &Here { path: "", is_one_of_many: false },
            (table.span().start, table.get_ref()),
            &mut found,
        );
    }
    found
}

/// Where a section stands.
struct Here<'a> {
    /// Its keys joined by points.
    path: &'a str,
    is_one_of_many: bool,
}

impl Here<'_> {
    /// As it is written: `[[define.index]] "homa_2"`.
    fn heading(&self, table: &DeTable<'_>) -> String {
        let name = table.get("name").and_then(|name| name.get_ref().as_str());
        match (self.path, name) {
            ("", _) => String::new(),
            (path, Some(name)) if self.is_one_of_many => format!("[[{path}]] \"{name}\""),
            (path, None) if self.is_one_of_many => format!("[[{path}]]"),
            (path, _) => format!("[{path}]"),
        }
    }
}

/// The slips of one section and of those inside it.
fn walk(section: &Section, here: &Here<'_>, (at, table): (usize, &DeTable<'_>), found: &mut Vec<Slip>) {
    let heading = here.heading(table);
    let known = || section.keys.iter().map(|key| key.name);
    let mut meant = Vec::new();
    for (key, value) in table {
        let name = key.get_ref().as_ref();
        if let Some(known) = section.keys.iter().find(|known| known.name == name) {
            let path = if here.path.is_empty() { name.to_owned() } else { format!("{}.{name}", here.path) };
            inside(known.kind, &path, (value.span().start, value.get_ref()), found);
            continue;
        }
        let nearest = nearest::nearest(name, known());
        meant.extend(nearest);
        found.push(Slip {
            at: key.span().start,
            section: heading.clone(),
            key: name.to_owned(),
            is_unknown: true,
            meant: nearest.map(str::to_owned),
        });
    }
    let absent = section.keys.iter().filter(|key| key.required && !table.contains_key(key.name));
    // A key that is misspelt is not missing besides.
    found.extend(absent.filter(|key| !meant.contains(&key.name)).map(|key| Slip {
        at,
        section: heading.clone(),
        key: key.name.to_owned(),
        is_unknown: false,
        meant: None,
    }));
}

/// The slips of the sections that a key holds.
fn inside(kind: Kind, path: &str, (at, value): (usize, &DeValue<'_>), found: &mut Vec<Slip>) {
    let (section, is_one_of_many) = match kind {
        Kind::Table(name) => (schema::section(name), false),
        Kind::Tables(name) => (schema::section(name), true),
        Kind::Rules => (Some(&RULE), true),
        Kind::Columns => {
            for (quantity, column) in value.as_table().into_iter().flatten() {
                let path = format!("{path}.{}", quantity.get_ref());
                inside(Kind::Table(COLUMN.name), &path, (column.span().start, column.get_ref()), found);
            }
            return;
        }
        _ => return,
    };
    let Some(section) = section else { return };
    let here = Here { path, is_one_of_many };
    if let Some(table) = value.as_table() {
        walk(section, &here, (at, table), found);
    }
    for item in value.as_array().into_iter().flatten() {
        if let Some(table) = item.get_ref().as_table() {
            walk(section, &here, (item.span().start, table), found);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SLIPS: &str = "title = \"t\"\nquestio = \"?\"\n\n[[source]]\nsurvey = \"table\"\n[source.columns]\n\
        glucose = { colum = \"g\" }\n\n[analysis]\nindices = [\"a\"]\nrules = [{ rul = \"youden\" }, \"x\"]\n\n\
        [[define.index]]\nname = \"a\"\nformla = \"1\"\nunit = \"1\"\n\n[[define.group]]\ncuts = [1]\n";

    #[test]
    fn every_slip_of_a_file_is_found_with_its_section() {
        let found: Vec<String> = slips(SLIPS).iter().map(Slip::in_words).collect();
        let expected = [
            "unknown key `questio`. Did you mean `question`?",
            "in [source.columns.glucose]: unknown key `colum`. Did you mean `column`?",
            "in [[analysis.rules]]: unknown key `rul`. Did you mean `rule`?",
            "in [[define.index]] \"a\": unknown key `formla`. Did you mean `formula`?",
            "in [[define.index]] \"a\": the key `label` is missing here too",
            "in [[define.index]] \"a\": the key `direction` is missing here too",
            "in [[define.index]] \"a\": the key `source` is missing here too",
            "in [[define.group]]: the key `name` is missing here too",
            "in [[define.group]]: the key `label` is missing here too",
            "in [[define.group]]: the key `source` is missing here too",
        ];
        for slip in expected {
            assert!(found.iter().any(|said| said == slip), "{slip}: {found:#?}");
        }
        assert_eq!(found.len(), expected.len(), "{found:#?}");
    }

    #[test]
    fn the_readers_slip_leads_and_the_others_follow_in_their_order() {
        let text = Text { name: "s.toml", text: SLIPS };
        let said = crate::study::parse(SLIPS, "s.toml", std::path::Path::new(".")).unwrap_err().to_string();
        let lines: Vec<&str> = said.lines().collect();
        assert!(lines[0].starts_with("s.toml:2:1: unknown key `questio`, expected one of"), "{said}");
        assert_eq!(lines.len(), 10, "{said}");
        assert!(
            lines[1].starts_with("s.toml:7:13: in [source.columns.glucose]: unknown key `colum`"),
            "{said}"
        );
        let index = SLIPS.find("[[define.index]]").expect("a section");
        let place = text.place(index..index);
        let missing = format!("{place}: in [[define.index]] \"a\": the key `label` is missing here too");
        assert!(lines.contains(&missing.as_str()), "{said}");
    }
}

//! Which people of a study are invented. It is decided here alone, so that whatever is made of them says so.

use serde::Serialize;

use super::error::{StudyError, Text};
use super::file::{At, SourceFile};
use super::{Source, Study};

/// The word by which a name says it.
const WORD: &str = "invented";

/// Which of a study's people are invented.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Invented {
    Nobody,
    /// Those of the sources of these names.
    Some(Vec<String>),
    Everybody,
}

impl Study {
    /// Which of the people are invented.
    #[must_use]
    pub fn invented(&self) -> Invented {
        let name = |source: &Source| match source {
            Source::Table(table) if table.invented => Some(table.name.clone()),
            Source::Table(_) | Source::Survey { .. } => None,
        };
        let names: Vec<String> = self.sources.iter().filter_map(name).collect();
        match names.len() {
            0 => Invented::Nobody,
            all if all == self.sources.len() => Invented::Everybody,
            _ => Invented::Some(names),
        }
    }

    /// Whether some of the people are invented.
    #[must_use]
    pub fn has_invented(&self) -> bool {
        self.invented() != Invented::Nobody
    }
}

/// Whether the people of a table are invented: by its key, and without one where its name says so, as in studies that
/// were saved before there was the key.
#[must_use]
pub fn is_invented(key: Option<bool>, name: &str) -> bool {
    key.unwrap_or_else(|| says_invented(name))
}

/// Whether a text has the word, and not only its letters.
pub(super) fn says_invented(text: &str) -> bool {
    text.split(|c: char| !c.is_alphanumeric()).any(|word| word.eq_ignore_ascii_case(WORD))
}

/// A name that says it.
#[must_use]
pub fn named_invented(name: &str) -> String {
    if says_invented(name) { name.to_owned() } else { format!("{name} ({WORD})") }
}

/// Whether the people of a source are invented. Tables and charts name a source, or the label of its sample, and are read
/// alone: both must say so.
pub(super) fn invented(written: &At<SourceFile>, text: Text<'_>) -> Result<bool, StudyError> {
    let source = written.get_ref();
    let shown = [("name", &source.name), ("label", &source.label)];
    for (key, shown) in shown.into_iter().filter_map(|(key, shown)| Some((key, shown.as_ref()?.get_ref()))) {
        if source.invented == Some(true) && !says_invented(shown) {
            let problem = format!(
                "its people are stated to be invented, and tables and charts are read alone: write {key} = \"{}\", or leave \
                 out `invented` where they exist",
                named_invented(shown)
            );
            return Err(text.problem(written.span(), problem));
        }
    }
    Ok(source.name.as_ref().is_some_and(|name| is_invented(source.invented, name.get_ref())))
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::study::parse;

    fn source(keys: &str) -> String {
        format!(
            "[[source]]\nsurvey = \"table\"\n{keys}\nfiles = [\"c.csv\"]\nid = \"id\"\n[source.columns]\n\
             glucose = {{ column = \"g\", unit = \"mg/dL\" }}\ninsulin = {{ column = \"i\", unit = \"uU/mL\" }}\n"
        )
    }

    fn study(sources: &[String]) -> Result<Study, StudyError> {
        let text = format!("title = \"t\"\n{}[analysis]\nindices = [\"homa_ir\"]\n", sources.concat());
        parse(&text, "s.toml", Path::new("."))
    }

    fn of(keys: &str) -> Invented {
        study(&[source(keys)]).expect("a study").invented()
    }

    #[test]
    fn the_key_decides_and_without_it_a_word_of_the_name() {
        assert_eq!(of("name = \"reinvented clinic\""), Invented::Nobody);
        assert_eq!(of("name = \"clinic_invented\""), Invented::Everybody);
        assert_eq!(of("name = \"the clinic that invented it\"\ninvented = false"), Invented::Nobody);
        assert_eq!(of("name = \"v (invented)\"\ninvented = true"), Invented::Everybody);
        let both = [
            source("name = \"v (invented)\"\nsample = \"v (invented)\""),
            source("name = \"w\"\nsample = \"w\""),
        ];
        let both = study(&both).expect("two samples");
        assert_eq!(both.invented(), Invented::Some(vec!["v (invented)".to_owned()]));
    }

    #[test]
    fn a_name_that_does_not_say_it_is_refused_and_a_saved_study_says_it_again() {
        for (keys, wanted) in [
            ("name = \"v\"\ninvented = true", "name = \"v (invented)\""),
            ("name = \"v (invented)\"\nsample = \"s\"\ninvented = true", "label = \"s (invented)\""),
        ] {
            let said = study(&[source(keys)]).expect_err("it would not be said").to_string();
            assert!(said.contains(wanted), "{said}");
        }
        let study = study(&[source("name = \"v (invented)\"\ninvented = true")]).expect("a study");
        assert!(study.resolved_toml.contains("invented = true"), "{}", study.resolved_toml);
        let known = "[[source]]\nsurvey = \"nhanes\"\ncycle = \"2017-2018\"\ninvented = true\n".to_owned();
        let said = self::study(&[known]).expect_err("real people").to_string();
        assert!(said.contains("`invented` belongs to a table"), "{said}");
    }
}

//! A cutoff rule as written in a study file: a name, or a table with its parameters.

use std::fmt;

use serde::de::value::MapAccessDeserializer;
use serde::de::{MapAccess, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// A rule and whatever parameters were given; which ones it needs is checked with its name.
///
/// `remote = "Self"` keeps the derived table form as plain functions, so that the traits below can
/// take the short form too.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, remote = "Self")]
pub struct RuleFile {
    pub rule: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub prevalence: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub miss_to_false_alarm: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub threshold_probability: Option<f64>,
}

impl RuleFile {
    /// A rule without parameters.
    #[must_use]
    pub fn named(rule: &str) -> Self {
        Self { rule: rule.to_owned(), ..Self::default() }
    }

    /// The parameters that were given, by name.
    #[must_use]
    pub fn parameters(&self) -> Vec<(&'static str, f64)> {
        [
            ("value", self.value),
            ("prevalence", self.prevalence),
            ("miss_to_false_alarm", self.miss_to_false_alarm),
            ("threshold_probability", self.threshold_probability),
        ]
        .into_iter()
        .filter_map(|(name, value)| Some((name, value?)))
        .collect()
    }
}

struct NameOrTable;

impl<'de> Visitor<'de> for NameOrTable {
    type Value = RuleFile;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("the name of a rule, or a table such as { rule = \"sensitivity_at_least\", value = 0.8 }")
    }

    fn visit_str<E>(self, name: &str) -> Result<RuleFile, E> {
        Ok(RuleFile::named(name))
    }

    fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<RuleFile, A::Error> {
        RuleFile::deserialize(MapAccessDeserializer::new(map))
    }
}

impl<'de> Deserialize<'de> for RuleFile {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(NameOrTable)
    }
}

impl Serialize for RuleFile {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        if self.parameters().is_empty() {
            serializer.serialize_str(&self.rule)
        } else {
            Self::serialize(self, serializer)
        }
    }
}

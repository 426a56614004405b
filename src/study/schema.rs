//! The JSON Schema (draft 2020-12) of a study file, for editors that complete and check TOML.
//!
//! Its keys stand beside the structs that read them; a test asks the reader for its keys, section by
//! section, and compares. Names of a closed list are enums; where a study may define rows of its own,
//! the built-in names are offered and any other text is accepted.

use serde_json::{Map, Value, json};

use super::schema_define_keys::{
    DEFINE, DEFINE_EXCLUSION, DEFINE_GROUP, DEFINE_INDEX, DEFINE_OUTCOME, DEFINE_QUANTITY, UNIT, WORKED,
};
use super::schema_keys::{
    AGE, ANALYSIS, CHECK, COHORT, CURVES, Key, Kind, MIXTURE, Names, OTHER_ROW, OUTPUT, REFERENCE,
    RESAMPLING, ROUTE, RULE, SENSITIVITY, SENSITIVITY_EXCLUSIONS, STANDARDIZE, STUDY, THRESHOLD,
};
use super::schema_source_keys::{COLUMN, SOURCE};
use crate::definitions::quantity::quantities;
use crate::definitions::{
    ColumnKind, exclusions, groups, indices, outcomes, standards, survey, waist_tables,
};
use crate::stats::rule::RULES;
use crate::table::schema as tables;

/// One section: its name in the schema and its keys.
#[derive(Debug, Clone, Copy)]
pub(super) struct Section {
    pub name: &'static str,
    pub what: &'static str,
    pub keys: &'static [Key],
}

static SECTIONS: [Section; 26] = [
    SOURCE,
    COLUMN,
    COHORT,
    AGE,
    ANALYSIS,
    REFERENCE,
    THRESHOLD,
    CURVES,
    OUTPUT,
    MIXTURE,
    STANDARDIZE,
    SENSITIVITY,
    SENSITIVITY_EXCLUSIONS,
    ROUTE,
    RULE,
    RESAMPLING,
    CHECK,
    OTHER_ROW,
    DEFINE,
    DEFINE_QUANTITY,
    UNIT,
    DEFINE_INDEX,
    DEFINE_OUTCOME,
    DEFINE_EXCLUSION,
    DEFINE_GROUP,
    WORKED,
];

/// In a section, a key that asks for another.
const TOGETHER: [(&str, &str, &str); 3] = [
    ("define_group", "cuts", "labels"),
    ("define_outcome", "index", "value"),
    ("define_outcome", "value", "index"),
];

/// The section of this name.
pub(super) fn section(name: &str) -> Option<&'static Section> {
    SECTIONS.iter().find(|section| section.name == name)
}

/// The schema of a study file.
#[must_use]
pub fn schema() -> Value {
    let definitions: Map<String, Value> =
        SECTIONS.iter().chain([&WORKED]).map(|section| (section.name.to_owned(), object(section))).collect();
    let mut whole = object(&STUDY);
    whole["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    whole["title"] = json!("cutspan study file");
    whole["$defs"] = Value::Object(definitions);
    whole
}

/// A table with these keys and no others.
fn object(section: &Section) -> Value {
    let properties: Map<String, Value> =
        section.keys.iter().map(|key| (key.name.to_owned(), property(key))).collect();
    let required: Vec<&str> = section.keys.iter().filter(|key| key.required).map(|key| key.name).collect();
    let mut object = json!({
        "description": section.what,
        "type": "object",
        "properties": properties,
        "additionalProperties": false,
    });
    if !required.is_empty() {
        object["required"] = json!(required);
    }
    for (_, key, other) in TOGETHER.iter().filter(|(name, ..)| *name == section.name) {
        object["dependentRequired"][key] = json!([other]);
    }
    object
}

fn property(key: &Key) -> Value {
    let mut schema = kind(key.kind);
    schema["description"] = json!(key.what);
    schema
}

fn kind(kind: Kind) -> Value {
    match kind {
        Kind::Text => json!({ "type": "string" }),
        Kind::Number => json!({ "type": "number" }),
        Kind::Whole => json!({ "type": "integer", "minimum": 0 }),
        Kind::YesNo => json!({ "type": "boolean" }),
        Kind::One(list) => one_of(list),
        Kind::Many(list) => json!({ "type": "array", "items": one_of(list) }),
        Kind::OneOrMany(list) => {
            json!({ "anyOf": [one_of(list), { "type": "array", "items": one_of(list) }] })
        }
        Kind::ManyMany(list) => {
            json!({ "type": "array", "items": { "type": "array", "items": one_of(list) } })
        }
        Kind::Choice => {
            json!({ "anyOf": [{ "type": "boolean" }, { "type": "array", "items": { "type": "string" } }] })
        }
        Kind::Texts => json!({ "type": "array", "items": { "type": "string" } }),
        Kind::Numbers => json!({ "type": "array", "items": { "type": "number" } }),
        Kind::TextOrTexts => {
            json!({ "anyOf": [{ "type": "string" }, { "type": "array", "items": { "type": "string" } }] })
        }
        Kind::Labels => json!({ "type": "object", "additionalProperties": { "type": "string" } }),
        Kind::Picks => {
            json!({ "type": "object", "additionalProperties": { "type": ["string", "number"] } })
        }
        Kind::Table(section) => reference(section),
        Kind::Tables(section) => json!({ "type": "array", "items": reference(section) }),
        Kind::Columns => columns(),
        Kind::Rules => json!({
            "type": "array",
            "items": { "anyOf": [one_of(Names::Rules), reference(RULE.name)] },
        }),
    }
}

/// A key of `[source.columns]` is a quantity: a built-in one is described, one of the study's own is accepted.
fn columns() -> Value {
    let own = |quantity: &crate::definitions::Quantity| {
        let units: Vec<&str> = quantity.units.iter().map(|unit| unit.unit.as_str()).collect();
        let asks = match quantity.kind {
            ColumnKind::Number => format!("unit: {}", units.join(", ")),
            ColumnKind::YesNo => "codes lead to yes and no".to_owned(),
            ColumnKind::Category if quantity.levels.is_empty() => "text, or codes with labels".to_owned(),
            ColumnKind::Category => format!("codes lead to {}", quantity.levels.join(", ")),
        };
        let mut schema = reference(COLUMN.name);
        schema["description"] = json!(format!("{}; {asks}", quantity.label));
        (quantity.name.clone(), schema)
    };
    let properties: Map<String, Value> = quantities().iter().map(own).collect();
    json!({ "type": "object", "properties": properties, "additionalProperties": reference(COLUMN.name) })
}

fn reference(section: &str) -> Value {
    json!({ "$ref": format!("#/$defs/{section}") })
}

/// A text of a list: a closed one as an enum, an open one as an offer.
fn one_of(list: Names) -> Value {
    let (names, open) = names(list);
    if open {
        json!({ "anyOf": [{ "enum": names }, { "type": "string" }] })
    } else {
        json!({ "enum": names })
    }
}

/// The names of a list, and whether a study may have others.
fn names(list: Names) -> (Vec<String>, bool) {
    fn owned<'a>(names: impl Iterator<Item = &'a str>) -> Vec<String> {
        names.map(str::to_owned).collect()
    }
    let conditions = || {
        let rows = exclusions().iter().map(|row| row.name.as_str());
        owned(rows.chain(outcomes().iter().map(|row| row.name.as_str())))
    };
    match list {
        Names::Indices => (owned(indices().iter().map(|row| row.name.as_str())), true),
        Names::Outcomes => (owned(outcomes().iter().map(|row| row.name.as_str())), true),
        Names::Conditions => (conditions(), true),
        Names::Requirements => {
            let opposite = exclusions().iter().filter_map(|row| row.name.strip_prefix("not_"));
            (owned(opposite).into_iter().chain(conditions()).collect(), true)
        }
        Names::Groups => (owned(groups().iter().map(|row| row.name.as_str())), true),
        Names::Rules => (owned(RULES.iter().map(|row| row.name)), false),
        Names::WaistTables => (owned(waist_tables().iter().map(|row| row.name.as_str())), false),
        Names::Surveys => (owned(survey::SURVEYS.iter().copied().chain(["table"])), false),
        Names::Cycles => {
            let cycles = survey::SURVEYS.iter().filter_map(|name| survey::cycles(name));
            (cycles.flatten().collect(), false)
        }
        Names::Units => {
            let units = quantities().iter().flat_map(|row| &row.units).map(|unit| unit.unit.as_str());
            (distinct(units), true)
        }
        Names::Standards => {
            (owned(["cohort"].into_iter().chain(standards().iter().map(|row| row.name.as_str()))), true)
        }
        Names::Tables => (owned(tables::tables().map(|shape| shape.name)), false),
        Names::These(names) => (owned(names.iter().copied()), false),
    }
}

/// In the order of their first occurrence.
fn distinct<'a>(names: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for name in names {
        if !all.iter().any(|known| known == name) {
            all.push(name.to_owned());
        }
    }
    all
}

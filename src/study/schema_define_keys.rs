//! The keys of rows that a study defines itself, with what an editor says about them.

use super::schema::Section;
use super::schema_keys::Kind::{Many, Number, Numbers, One, Tables, Text, Texts, Whole, YesNo};
use super::schema_keys::{Names, key, must};

const STANDINGS: Names = Names::These(&["published", "common_practice", "from_memory", "study"]);
const SUBSAMPLES: Names = Names::These(&["interview", "examination", "fasting", "glucose_tolerance"]);

pub(super) const DEFINE: Section = Section {
    name: "define",
    what: "Rows of the study's own.",
    keys: &[
        key("quantity", Tables("define_quantity"), "Something measured or asked"),
        key("index", Tables("define_index"), "A formula over cohort columns"),
        key(
            "outcome",
            Tables("define_outcome"),
            "A condition, a count of outcomes, or an index at or beyond a value",
        ),
        key("exclusion", Tables("define_exclusion"), "A reason to leave people out"),
        key("group", Tables("define_group"), "A variable that splits people"),
    ],
};

pub(super) const DEFINE_QUANTITY: Section = Section {
    name: "define_quantity",
    what: "Something measured or asked, and the columns it fills.",
    keys: &[
        must("name", Text, "snake_case"),
        must("label", Text, "In words"),
        must("kind", One(Names::These(&["number", "yes_no", "category"])), "What its column holds"),
        must("subsample", One(SUBSAMPLES), "The part of a survey in which it was measured"),
        key("unit", Tables("unit"), "Units of a number, the first one first"),
        key("levels", Texts, "Labels a category may hold; any when empty"),
        key("plausible", Number, "A plausible value in the first unit"),
        key("note", Text, "What else should be known"),
    ],
};

pub(super) const UNIT: Section = Section {
    name: "unit",
    what: "A unit in which a quantity can be reported.",
    keys: &[
        must("unit", Text, "As people write it: mg/dL"),
        must("suffix", Text, "As it stands in a column name: mg_dl"),
        key("factor", Number, "How many of the first unit make one of this"),
        key("choices", Numbers, "Factors in print that disagree; a column map must name one"),
        key("offset", Number, "Added after the factor; 0 for nearly every unit"),
        must("source", Text, "Where the factor is printed"),
    ],
};

pub(super) const DEFINE_INDEX: Section = Section {
    name: "define_index",
    what: "An index of the study's own.",
    keys: &[
        must("name", Text, "snake_case"),
        must("label", Text, "In words"),
        must("formula", Text, "SQL expression over cohort columns (cutspan list quantities --format csv)"),
        must("unit", Text, "Unit of the result; 1 for a pure number"),
        must("direction", One(Names::These(&["higher", "lower"])), "Which side is more resistant"),
        key("valid_if", Text, "SQL condition under which the formula holds"),
        key("resolution", Number, "Step to which values are rounded before they are compared"),
        key("family", Text, "Indices of one family are monotone functions of each other"),
        key("worked", Tables("worked"), "A worked example"),
        must("source", Text, "Where the formula is printed"),
        key("standing", One(STANDINGS), "Default study"),
        key("note", Text, "What else should be known"),
    ],
};

pub(super) const WORKED: Section = Section {
    name: "worked",
    what: "A worked example of an index.",
    keys: &[
        must("value", Number, "The printed result"),
        must("tolerance", Number, "How exactly it is printed"),
        must("source", Text, "Where"),
        key("person", Text, "Which worked person, when not the usual one"),
    ],
};

pub(super) const DEFINE_OUTCOME: Section = Section {
    name: "define_outcome",
    what: "An outcome: a formula; items with at_least; or an index with a value.",
    keys: &[
        must("name", Text, "snake_case"),
        must("label", Text, "In words"),
        key("formula", Text, "SQL condition over cohort columns"),
        key("items", Many(Names::Outcomes), "Outcomes that are counted"),
        key("at_least", Whole, "How many of the items make a yes"),
        key("required", Many(Names::Outcomes), "Outcomes that must be yes as well"),
        key("index", One(Names::Indices), "An index at or beyond value"),
        key("value", Number, "In the unit of the index"),
        key("strict", YesNo, "true: beyond the value, not at it"),
        must("source", Text, "Who defines it so"),
        key("standing", One(STANDINGS), "Default study"),
        key("note", Text, "What else should be known"),
    ],
};

pub(super) const DEFINE_EXCLUSION: Section = Section {
    name: "define_exclusion",
    what: "A reason to leave people out.",
    keys: &[
        must("name", Text, "snake_case"),
        must("label", Text, "In words"),
        must("formula", Text, "SQL condition: true leaves the person out"),
        key("unknown_excludes", YesNo, "Whether an unknown answer leaves out too; default false"),
        must("source", Text, "Who defines it so"),
        key("standing", One(STANDINGS), "Default study"),
        key("note", Text, "What else should be known"),
    ],
};

pub(super) const DEFINE_GROUP: Section = Section {
    name: "define_group",
    what: "A variable that splits people: bands of a number, or levels of a category.",
    keys: &[
        must("name", Text, "snake_case"),
        must("label", Text, "In words"),
        key("column", Text, "Cohort column that is cut, or whose levels are the groups"),
        key("formula", Text, "SQL expression whose text value is the level, in place of column"),
        key("cuts", Numbers, "Lower limits of all bands but the first"),
        key("labels", Texts, "Labels of the bands (one more than the cuts), or levels in their order"),
        must("source", Text, "Who splits so"),
        key("standing", One(STANDINGS), "Default study"),
        key("note", Text, "What else should be known"),
    ],
};

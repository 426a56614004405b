//! The keys of a source and of its columns, with what an editor says about them.

use super::schema::Section;
use super::schema_keys::Kind::{Columns, Labels, Number, One, Text, TextOrTexts, Texts, YesNo};
use super::schema_keys::{Names, key, must};

pub(super) const SOURCE: Section = Section {
    name: "source",
    what: "Where data come from: a known survey's cycle, or a table with a column map.",
    keys: &[
        must("survey", One(Names::Surveys), "A survey the program knows, or table"),
        key("sample", Text, "Sources of one sample are pooled; samples are compared, never pooled"),
        key("label", Text, "What the sample is called in tables and titles"),
        key("cycle", One(Names::Cycles), "Cycle of a known survey"),
        key("share", Number, "Factor on the weights when sources are pooled; shares sum to 1"),
        key("name", Text, "Of a table: what it is called"),
        key(
            "invented",
            YesNo,
            "Of a table: true where its people are made up; name and label then say so; default: by the name",
        ),
        key(
            "files",
            Texts,
            "Of a table: CSV, TSV, Parquet or SAS transport files, relative to this file, joined by id",
        ),
        key("id", Text, "Of a table: the column that tells people apart"),
        key("weight", Text, "Of a table: the column of the survey weight; without it everybody counts once"),
        key("stratum", Text, "Of a table: the column of the strata of the design; needs psu"),
        key("psu", Text, "Of a table: the column of the primary sampling units"),
        key(
            "replicate_weights",
            TextOrTexts,
            "Of a table: columns of replicate weights (rw_* or a list), in place of stratum and psu",
        ),
        key(
            "separator",
            One(Names::These(&[",", ";", "\t", "|"])),
            "Of a text file: what parts its columns; default: comma, or tab where the header line has tabs",
        ),
        key(
            "decimal",
            One(Names::These(&[".", ","])),
            "Of a text file: what decimals follow; default a point",
        ),
        key(
            "encoding",
            One(Names::These(&["utf-8", "windows-1252"])),
            "Of a text file: how its letters are written; default utf-8",
        ),
        key("missing", Texts, "Of a table: texts that mean missing in every column, besides an empty cell"),
        key(
            "allow_unmatched",
            YesNo,
            "Of several files: true drops and counts people without a row in each; default false, an error",
        ),
        key("columns", Columns, "Of a table: quantity = column, with unit or codes"),
    ],
};

pub(super) const COLUMN: Section = Section {
    name: "column",
    what: "A column of a table and what it means.",
    keys: &[
        must("column", Text, "Name of the column in the file"),
        key("unit", One(Names::Units), "Unit of a number; cutspan list quantities prints those of each"),
        key("factor", Number, "pmol/L of insulin in 1 uU/mL: 6.00 or 6.945; only for insulin in pmol/L"),
        key("codes", Labels, "Code in the file = label; yes and no for a question"),
        key("missing", Texts, "Texts that mean missing in this column"),
        key(
            "below_detection",
            Text,
            "What cells begin with that give a limit in place of a value: \"<\" reads <2 as below 2, filled with 2 / √2",
        ),
        key("assay", Text, "The laboratory's method, in its own words; stands in the report"),
        key(
            "unit_checked",
            YesNo,
            "true: the unit was looked up, and a median that speaks against it is only remarked",
        ),
    ],
};

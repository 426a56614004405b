//! The keys of every section of a study file, with what an editor says about them.

use super::schema::Section;

/// One key of a section.
#[derive(Debug, Clone, Copy)]
pub(super) struct Key {
    pub name: &'static str,
    pub kind: Kind,
    pub what: &'static str,
    pub required: bool,
}

/// What a key holds.
#[derive(Debug, Clone, Copy)]
pub(super) enum Kind {
    Text,
    Number,
    Whole,
    YesNo,
    One(Names),
    Many(Names),
    OneOrMany(Names),
    ManyMany(Names),
    /// All, none, or names of some.
    Choice,
    Texts,
    Numbers,
    TextOrTexts,
    /// Codes and what they mean.
    Labels,
    /// Columns of a table of results and what they must hold.
    Picks,
    Table(&'static str),
    Tables(&'static str),
    /// The column map of a table.
    Columns,
    Rules,
}

/// A list of known names.
#[derive(Debug, Clone, Copy)]
pub(super) enum Names {
    Indices,
    Outcomes,
    /// Exclusions and outcomes.
    Conditions,
    Requirements,
    Groups,
    Rules,
    WaistTables,
    Surveys,
    Cycles,
    Units,
    Standards,
    Tables,
    These(&'static [&'static str]),
}

use Kind::{
    Choice, Many, ManyMany, Number, Numbers, One, OneOrMany, Picks, Rules, Table, Tables, Text, Texts, Whole,
    YesNo,
};

pub(super) const fn key(name: &'static str, kind: Kind, what: &'static str) -> Key {
    Key { name, kind, what, required: false }
}

pub(super) const fn must(name: &'static str, kind: Kind, what: &'static str) -> Key {
    Key { name, kind, what, required: true }
}

pub(super) const STUDY: Section = Section {
    name: "study",
    what: "A study: where the data come from, who is studied, what is computed, how sure it is.",
    keys: &[
        must("title", Text, "Stands on the report and in its citation"),
        key("question", Text, "The question in one sentence; stands below the title"),
        key("data", Texts, "Folders that may hold a known survey's files, relative to this file"),
        key(
            "public",
            YesNo,
            "false: small cells are withheld and sums go beside the output, not into it; default true",
        ),
        key(
            "minimum_cell",
            Whole,
            "With public = false: fewer people than this are withheld; 5 or more, default 10",
        ),
        key("confidence", Number, "Share of intervals that should cover the truth; default 0.95"),
        key(
            "lonely_psu",
            One(Names::These(&["fail", "adjust", "certainty"])),
            "What a stratum with one PSU does; default fail",
        ),
        key(
            "unreliable",
            One(Names::These(&["withhold", "flag"])),
            "What happens to an unreliable estimate; default withhold",
        ),
        key(
            "source",
            Tables("source"),
            "A survey by name and cycle, or a table of one's own; several are pooled, or compared as samples",
        ),
        key("cohort", Table("cohort"), "Who is studied"),
        must("analysis", Table("analysis"), "What is computed"),
        key("sensitivity", Table("sensitivity"), "The same cutoff under other choices"),
        key("output", Table("output"), "Size and files of the charts"),
        key("resampling", Table("resampling"), "How replicates are made; default: bootstrap of 500, seed 1"),
        key("define", Table("define"), "Rows of the study's own, in the form of the built-in ones"),
        key("check", Tables("check"), "Numbers printed elsewhere that a run must meet"),
    ],
};

pub(super) const COHORT: Section = Section {
    name: "cohort",
    what: "Who is studied. Each line is a step of the participant flow.",
    keys: &[
        key("age", Table("age"), "Age range in years, such as { from = 20, below = 80 }"),
        key("require", Many(Names::Requirements), "People must be known to meet these"),
        key(
            "exclude",
            Many(Names::Conditions),
            "People with these are left out, in this order; an unknown answer stays in",
        ),
    ],
};

pub(super) const AGE: Section = Section {
    name: "age",
    what: "Ages in years: from the first, and below the second.",
    keys: &[
        key("from", Number, "Youngest age"),
        key("below", Number, "People of this age and over are left out"),
    ],
};

pub(super) const ANALYSIS: Section = Section {
    name: "analysis",
    what: "What is computed, in which groups.",
    keys: &[
        must("indices", Many(Names::Indices), "Indices of insulin resistance (cutspan list indices)"),
        key("outcomes", Many(Names::Outcomes), "What cutoffs should tell apart (cutspan list outcomes)"),
        key(
            "waist_table",
            One(Names::WaistTables),
            "Waist limits of which population; default united_states",
        ),
        key("groups", Many(Names::Groups), "Variables that split people; sex × bmi_class crosses two"),
        key("percentiles", Numbers, "Increasing, between 0 and 100; default 50, 75, 80, 90, 95"),
        key("rules", Rules, "Rules that pick a cutoff (cutspan list rules)"),
        key("reference", Tables("reference"), "Groups of healthy people, for percentiles and limits"),
        key("threshold", Tables("threshold"), "Thresholds judged in every group"),
        key("curves", Table("curves"), "Percentiles and cutoffs as functions of age and BMI"),
        key(
            "published",
            Choice,
            "Cutoffs in print laid over the run: true, false, or names of some (cutspan list published)",
        ),
        key("mixture", Table("mixture"), "Where two distributions part, without an outcome"),
        key(
            "standardize",
            Table("standardize"),
            "Groups compared as if they had the same ages and body sizes",
        ),
    ],
};

pub(super) const REFERENCE: Section = Section {
    name: "reference",
    what: "People of the cohort known to have none of these.",
    keys: &[
        must("name", Text, "Name in the tables"),
        key("label", Text, "In words, on the page"),
        must("without", Many(Names::Conditions), "Exclusions or outcomes that its people are without"),
    ],
};

pub(super) const THRESHOLD: Section = Section {
    name: "threshold",
    what: "One threshold, judged in every group.",
    keys: &[
        must("index", One(Names::Indices), "An index of the study"),
        must("value", Number, "In the unit of the index"),
        key("strict", YesNo, "true: exactly at the threshold does not count as beyond; default false"),
        key("source", Text, "Who says so"),
    ],
};

pub(super) const CURVES: Section = Section {
    name: "curves",
    what: "Smooth curves over age and BMI.",
    keys: &[
        key("over", Many(Names::These(&["age", "bmi"])), "What the curves run over; default both"),
        key(
            "by",
            One(Names::Groups),
            "A variable among the study's groups: one curve for each of its groups",
        ),
        key("percentiles", Numbers, "Default 50, 75, 90"),
        key("knots", Whole, "Interior knots, 1 to 7; default 3"),
        key("indices", Many(Names::Indices), "Default: the first of the study"),
        key("outcomes", Many(Names::Outcomes), "Default: the first of the study"),
        key("replicates", Whole, "The first so many of the study's; default 100"),
        key("lms", YesNo, "Percentiles by the LMS method too, beside quantile regression; default true"),
        key(
            "lms_power",
            One(Names::These(&["constant", "spline"])),
            "The LMS method's power: the same everywhere (default), or on the spline of median and spread",
        ),
    ],
};

pub(super) const OUTPUT: Section = Section {
    name: "output",
    what: "How large charts are printed, and as which kinds of files.",
    keys: &[
        key("width_mm", Number, "Width on paper in mm; default 174, two columns of a journal"),
        key("formats", Many(Names::These(&["svg", "png", "pdf"])), "Kinds of files; default svg and png"),
        key("dpi", Number, "Pixels an inch of a PNG; default 150, journals ask for 300"),
    ],
};

pub(super) const MIXTURE: Section = Section {
    name: "mixture",
    what: "Where two distributions of an index part; slow, so only when asked for.",
    keys: &[key("resamples", Whole, "Resamples of people behind the interval, 100 to 2000; default 200")],
};

pub(super) const STANDARDIZE: Section = Section {
    name: "standardize",
    what: "Groups compared as if they had the same ages and body sizes.",
    keys: &[
        must("of", Many(Names::Groups), "Groupings of the study that are compared; an empty list: none"),
        key(
            "to",
            ManyMany(Names::Groups),
            "Adjustments: each a list of variables made equal, such as [[\"age_20_40_60\"]]",
        ),
        key("standard", One(Names::Standards), "Whose distribution; default cohort (cutspan list standards)"),
        key("stated", One(Names::These(&["study", "tool"])), "Who asked for it; default study"),
    ],
};

pub(super) const SENSITIVITY: Section = Section {
    name: "sensitivity",
    what: "The same cutoff under every combination of choices. The first of each list is the base.",
    keys: &[
        key(
            "index",
            OneOrMany(Names::Indices),
            "Index or indices of the study; default that of the first threshold",
        ),
        key("outcomes", Many(Names::Outcomes), "Any outcomes, not the study's alone; default: the study's"),
        key("rules", Rules, "Default: the study's"),
        key("percentiles", Numbers, "Default: the study's from 75 on"),
        key("groups", Many(Names::Groups), "Single variables among the study's groups, besides everybody"),
        key("exclusions", Tables("sensitivity_exclusions"), "Other lists in place of the cohort's exclude"),
        key("route", Tables("route"), "The same blood as other assays would have measured it"),
    ],
};

pub(super) const SENSITIVITY_EXCLUSIONS: Section = Section {
    name: "sensitivity_exclusions",
    what: "Another list in place of the cohort's exclude; age range and requirements stay.",
    keys: &[
        must("name", Text, "Name in the tables"),
        key("label", Text, "In words"),
        must("exclude", Many(Names::Conditions), "Who is left out"),
    ],
};

pub(super) const ROUTE: Section = Section {
    name: "route",
    what: "Values converted to another laboratory method by official equations, or by another unit factor.",
    keys: &[
        must("name", Text, "Name in the tables"),
        key("label", Text, "In words"),
        key("insulin", Text, "Laboratory method that insulin is converted to (cutspan list assays)"),
        key("glucose", Text, "Laboratory method that glucose is converted to (cutspan list assays)"),
        key("by", Text, "A method the chain of equations must pass"),
        key("insulin_factor", Number, "pmol/L of insulin in 1 uU/mL: 6.00 or 6.945"),
        key("steps", Texts, "Written out by the program in the resolved study"),
    ],
};

pub(super) const RULE: Section = Section {
    name: "rule",
    what: "A rule with its parameters.",
    keys: &[
        must("rule", One(Names::Rules), "Name of the rule"),
        key("value", Number, "The least sensitivity or specificity, between 0 and 1"),
        key("prevalence", Number, "Share of people with the outcome, between 0 and 1 (lowest_cost)"),
        key("miss_to_false_alarm", Number, "How much worse a miss is than a false alarm (lowest_cost)"),
        key("threshold_probability", Number, "Between 0 and 1 (net_benefit)"),
    ],
};

pub(super) const RESAMPLING: Section = Section {
    name: "resampling",
    what: "How replicates are made. The same seed gives the same numbers.",
    keys: &[
        key(
            "kind",
            One(Names::These(&["bootstrap", "jackknife", "brr", "fay", "supplied"])),
            "Default bootstrap",
        ),
        key("replicates", Whole, "Of a bootstrap: 10 to 100000; default 500"),
        key("seed", Whole, "Of the random numbers; default 1"),
        key("fay", Number, "Fay's factor, of kind fay or of supplied weights of that type"),
        key(
            "type",
            One(Names::These(&["brr", "fay", "jk1", "jk2", "jkn", "bootstrap", "successive_difference"])),
            "How supplied replicate weights were made",
        ),
        key("scale", Number, "Factor on the sum of squared distances, of supplied weights without a type"),
        key("scales", Numbers, "One for each supplied replicate"),
        key("degrees_of_freedom", Number, "As the maker of the weights states them"),
    ],
};

pub(super) const CHECK: Section = Section {
    name: "check",
    what: "A number printed elsewhere that a cell of the results must meet; else the run ends with exit code 1.",
    keys: &[
        must("table", One(Names::Tables), "Table of results"),
        must("column", Text, "Column of that table"),
        key("where", Picks, "Which row: column = what it holds"),
        key("expected", Number, "The printed number"),
        key("within", Number, "Absolute tolerance"),
        key("relative", Number, "Tolerance as a share of the number"),
        key("between", Numbers, "Two ends, in place of expected and a tolerance"),
        key("greater_than", Table("other_row"), "Another row whose number must be smaller"),
        must("source", Text, "Where the number is printed"),
        key("note", Text, "What else should be known"),
    ],
};

pub(super) const OTHER_ROW: Section = Section {
    name: "other_row",
    what: "The row that is compared with, where it differs.",
    keys: &[must("where", Picks, "Column = what it holds")],
};

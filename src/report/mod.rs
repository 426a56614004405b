//! The report: one HTML page that needs no network, made from tables and charts. Its script moves the
//! threshold and sorts tables; everything else reads without it.

mod adjusted_shares;
mod answer;
mod best_cutoff;
mod beyond;
mod built_in;
mod captions;
mod checklists;
mod checks;
mod claim;
mod claim_adjusted;
mod claim_cite;
mod claim_doubt;
mod claim_findings;
mod claim_grids;
mod claim_people;
mod claim_predicts;
mod claim_sentences;
mod claim_share_grid;
mod claim_tests;
mod claim_verdict_grid;
mod claim_verdicts;
mod claim_write;
mod common;
mod curves;
mod definition;
mod ends;
mod explorer;
mod figure;
mod finding;
mod formula;
mod glance;
mod indices;
mod interval_words;
mod left_out;
mod made_up;
mod markdown;
mod methods;
mod methods_certainty;
mod methods_choices;
mod methods_design;
mod methods_estimates;
mod methods_limits;
mod methods_measures;
mod methods_notices;
mod methods_people;
mod methods_results;
mod moves;
mod of_study;
mod pairs;
mod people;
mod percentiles;
mod place;
mod place_change;
mod place_chart;
mod place_condition;
mod place_explained;
mod place_factor;
mod place_first;
mod place_fit;
#[cfg(test)]
mod place_fixture;
mod place_format;
mod place_groups;
mod place_index;
mod place_lead;
mod place_limits;
mod place_nothing;
mod place_open;
mod place_outcomes;
mod place_printed;
mod place_rule;
mod place_second;
mod place_sentence;
mod place_short;
mod place_sides;
mod place_verdict;
mod place_words;
mod published;
mod ranges;
mod samples;
mod sensitivity;
mod sentence;
mod short;
mod spared;
mod standardized;
mod strip;
mod transfer;
mod trend;
mod unknowns;
mod view;
mod wrapped;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use minijinja::syntax::SyntaxConfig;
use minijinja::value::Serde;
use minijinja::{Environment, UndefinedBehavior};
use serde::Serialize;
use sha2::{Digest, Sha256};

use crate::chart::{Chart, DARK, FAMILY, Labels, REGULAR, SEMIBOLD};
use crate::notice::{Notice, Weight, grouped};
use crate::study::Invented;
use crate::table::Table;
use crate::table::digest::sha256;

use view::View;

pub use captions::{CaptionInput, captions};
pub use checks::{StatedChecks, stated_checks};
pub use claim::{ClaimInput, ClaimPage, claim_page};
pub use claim_grids::{Grid, GridRow};
pub use claim_write::{claim_json, claim_markdown, claim_text};
pub use definition::DefinitionRow;
pub use made_up::invented_data;
pub use methods::{DesignFacts, Drawn, MethodsInput, PaperText, methods, paper_text};
pub use of_study::definitions;
pub use place::{
    NOT_TO_BE_SHARED, PlaceCitation, PlaceInput, place_json, place_lines, place_markdown, place_text,
};
pub use place_chart::place_picture;
pub use place_first::place_urgent;
pub use wrapped::wrapped;

/// A file that was read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct InputFile {
    /// As written in the study, or the file's own name; never a path of this machine.
    pub path: String,
    pub sha256: String,
    pub rows: u64,
}

/// Everything the page is made from.
#[derive(Debug, Clone, Copy)]
pub struct PageInput<'a> {
    pub title: &'a str,
    pub question: &'a str,
    /// Which people are made up; the page then says so at its top.
    pub invented: &'a Invented,
    pub tables: &'a [Table],
    pub charts: &'a [Chart],
    pub definitions: &'a [DefinitionRow],
    pub notices: &'a [Notice],
    pub inputs: &'a [InputFile],
    pub version: &'a str,
    pub seed: u64,
    /// The command that was given, without paths of this machine.
    pub command: &'a str,
    /// The study as resolved.
    pub study_toml: &'a str,
    pub labels: &'a Labels,
    /// Endings of the files that each chart is written as; the first is linked where one is enough.
    pub formats: &'a [&'static str],
    /// The line with which to cite the run; empty where no study is at hand.
    pub citation: &'a str,
    /// Paragraphs for a paper, as in `methods.md`.
    pub paper: &'a PaperText,
}

/// Why the page could not be written.
#[derive(Debug, thiserror::Error)]
pub enum ReportError {
    #[error("cannot fill in the report's page")]
    Template(#[from] minijinja::Error),
}

const TEMPLATE: &str = include_str!("page.html");
const EXPLORER: &str = include_str!("explorer.html");
const STYLE: &str = concat!(include_str!("style.css"), include_str!("explorer.css"));
/// The page's script, in the order in which its parts use each other.
const SCRIPT: &str = concat!(
    "(() => {\n\"use strict\";\n",
    include_str!("tables.js"),
    include_str!("paper.js"),
    include_str!("explorer_numbers.js"),
    include_str!("explorer_charts.js"),
    include_str!("explorer.js"),
    "})();\n"
);

/// Where groups are by ancestry.
const ANCESTRY: &str = "Ancestry is what people answered in a survey. It is a survey category and not biology, and it does not explain a difference.";

/// What a reader must keep in mind whatever the numbers say.
const CAUTIONS: &[&str] = &[
    "Nothing on this page is a diagnosis. A value beyond a threshold is a reason to talk to a licensed clinician, not a finding.",
    "Insulin assays are not interchangeable: the same blood gives different numbers on different instruments, and so do the indices made from it. A cutoff belongs to its assay.",
    ANCESTRY,
    "One measurement varies from day to day. A single value near a threshold can fall on either side of it tomorrow.",
    "Local guidance and the judgement of a licensed clinician come before any number here.",
    "A cutoff holds for its rule, reference group, outcome, assay, survey and number of people; quote them together.",
];

/// The page as HTML text.
pub fn page(input: &PageInput<'_>) -> Result<String, ReportError> {
    let mut environment = Environment::new();
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    environment.set_syntax(SyntaxConfig::builder().trim_blocks(true).lstrip_blocks(true).build()?);
    environment.add_filter("ranges", ranges::kept_whole);
    environment.add_template("explorer.html", EXPLORER)?;
    environment.add_template("page.html", TEMPLATE)?;
    Ok(environment.get_template("page.html")?.render(Serde(contents(input)))?)
}

/// What the answer says under a heading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    pub heading: &'static str,
    pub text: String,
}

/// The answer in a few sentences, as the page gives it first.
#[must_use]
pub fn answer(tables: &[Table], labels: &Labels) -> Vec<Said> {
    let answer::Answer { lead, more, .. } = answer::answer(tables, labels);
    let more = more.into_iter().map(|text| Said { heading: "More of the same threshold and cutoff", text });
    let lead = lead.into_iter().map(|finding| Said { heading: finding.heading, text: finding.into_text() });
    lead.chain(more).collect()
}

/// What the template fills in.
#[derive(Serialize)]
struct Contents<'a> {
    title: &'a str,
    question: &'a str,
    /// Who is made up, in sentences; empty where nobody is.
    invented: String,
    survey: String,
    style: String,
    script: &'static str,
    /// What the browser compares the script with before it runs it.
    script_hash: String,
    answer: answer::Answer,
    glance: Option<glance::Glance>,
    checks: Option<checks::Section>,
    explorer: Option<explorer::Explorer>,
    flow: Vec<figure::Figure>,
    figures: Vec<figure::IndexFigures>,
    sample: Option<View>,
    flow_table: Option<View>,
    /// Sentences on people whose outcome is unknown.
    unknown: Vec<String>,
    tables: Vec<View>,
    methods: Vec<definition::Method>,
    comparisons: definition::Comparisons,
    definitions: Vec<definition::Kind>,
    sources: Vec<&'a str>,
    citation: &'a str,
    cautions: Vec<String>,
    /// Whom shares and medians speak of.
    weighting: &'static str,
    notices: Vec<NoticeLine>,
    inputs: &'a [InputFile],
    version: &'a str,
    seed: String,
    command: &'a str,
    study_toml: &'a str,
    study_hash: String,
    formats: &'a [&'static str],
    paper: &'a PaperText,
}

fn contents<'a>(input: &PageInput<'a>) -> Contents<'a> {
    let views = view::views(input.tables, input.labels);
    let (placed, tables): (Vec<View>, Vec<View>) = views
        .into_iter()
        .partition(|view| ["checks", "sample", "participant_flow", "notices"].contains(&view.name));
    let take = |name: &str| placed.iter().find(|view| view.name == name).cloned();
    Contents {
        title: input.title,
        question: input.question,
        invented: made_up::on_page(input.invented),
        survey: survey(input),
        style: style(),
        script: SCRIPT,
        script_hash: script_hash(),
        explorer: explorer::explorer(input.tables, input.labels),
        answer: answer::answer(input.tables, input.labels),
        glance: glance::glance(input.tables, input.charts, input.labels),
        checks: checks::section(input.tables, take("checks")),
        flow: figure::of_study(input.charts),
        figures: figure::by_index(input.charts, asked(input.tables), input.labels),
        sample: take("sample"),
        flow_table: take("participant_flow"),
        unknown: unknowns::sentences(input.tables, input.labels),
        tables,
        methods: definition::methods(input.tables),
        comparisons: definition::comparisons(input.tables),
        definitions: definition::by_kind(input.definitions),
        sources: definition::sources(input.definitions),
        citation: input.citation,
        cautions: cautions(input.tables, input.labels),
        weighting: input.labels.design.weighted,
        notices: notices(input.notices),
        inputs: input.inputs,
        version: input.version,
        seed: input.seed.to_string(),
        command: input.command,
        study_toml: input.study_toml,
        study_hash: sha256(input.study_toml.as_bytes()),
        formats: input.formats,
        paper: input.paper,
    }
}

/// The cautions that concern this study.
fn cautions(tables: &[Table], labels: &Labels) -> Vec<String> {
    let ancestry = labels.groupings.keys().any(|name| name.contains("ancestry"));
    let always = CAUTIONS.iter().filter(|caution| ancestry || **caution != ANCESTRY);
    always.map(|caution| (*caution).to_owned()).chain(built_in::cautions(tables, labels)).collect()
}

/// The index that the study's first threshold is about.
fn asked(tables: &[Table]) -> Option<&str> {
    let shares = tables.iter().find(|table| table.name == "threshold_shares")?;
    shares.iter().next().map(|row| row.text("index"))
}

/// The survey's label, or its name in the tables.
fn survey(input: &PageInput<'_>) -> String {
    match &samples::surveys(input.tables)[..] {
        several @ [_, _, ..] => several.join(" · "),
        one => input.labels.survey(one.first().unwrap_or(&"")).to_owned(),
    }
}

#[derive(Serialize)]
struct NoticeLine {
    caution: bool,
    about: String,
    message: String,
}

/// Cautions before notes, each group in its given order.
fn notices(notices: &[Notice]) -> Vec<NoticeLine> {
    let mut sorted: Vec<Notice> = grouped(notices);
    sorted.sort_by_key(|notice| notice.weight != Weight::Caution);
    let line = |notice: Notice| NoticeLine {
        caution: notice.weight == Weight::Caution,
        about: notice.about,
        message: notice.message,
    };
    sorted.into_iter().map(line).collect()
}

/// The script's SHA-256 as the page's policy wants it: no other script runs.
fn script_hash() -> String {
    format!("sha256-{}", STANDARD.encode(Sha256::digest(SCRIPT.as_bytes())))
}

/// The style sheet with the fonts inside it and the charts' colours on a dark page.
fn style() -> String {
    let fonts = [(REGULAR, "400"), (SEMIBOLD, "700")].map(|(bytes, weight)| {
        let data = STANDARD.encode(bytes);
        format!(
            "@font-face{{font-family:\"{FAMILY}\";font-weight:{weight};src:url(data:font/ttf;base64,{data}) format(\"truetype\")}}\n"
        )
    });
    let swaps: Vec<String> = DARK
        .iter()
        .flat_map(|swap| {
            ["fill", "stroke"].map(|what| {
                format!("svg[{what}=\"{0}\"],svg [{what}=\"{0}\"]{{{what}:{1}}}\n", swap.light, swap.dark)
            })
        })
        .collect();
    format!(
        "{}{STYLE}{}@media screen and (prefers-color-scheme:dark){{\n{}}}\n",
        fonts.concat(),
        view::alignment(),
        swaps.concat()
    )
}

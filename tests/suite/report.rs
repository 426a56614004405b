//! The page: what it says, that it stands alone, that its links and headings hold, that it can be read.

use cutspan::chart::{Chart, Labels, Print, design_words, draw_all};
use cutspan::definitions::Standing;
use cutspan::notice::Notice;
use cutspan::report::{DefinitionRow, InputFile, PageInput, PaperText, page};
use cutspan::study::{Design, Invented};
use cutspan::table::Table;

use crate::chart::invented_charts;
use crate::small_results;

/// Least contrast of body text, WCAG 2.1 level AA.
const LEAST_CONTRAST: f64 = 4.5;
/// The page of a run with 24 forests stays under this many bytes.
const MOST_BYTES: usize = 2_000_000;

fn definitions() -> Vec<DefinitionRow> {
    let row = |kind, name: &str, formula: &str, source: &str, standing| DefinitionRow {
        kind,
        name: name.to_owned(),
        label: name.to_uppercase(),
        formula: formula.to_owned(),
        unit: "1".to_owned(),
        source: source.to_owned(),
        standing,
    };
    vec![
        row(
            "Indices",
            "homa_ir",
            "glucose_mg_dl * insulin_uu_ml / 405",
            "Matthews et al. 1985, Diabetologia 28:412–419",
            Standing::Published,
        ),
        row(
            "Outcomes",
            "metabolic_syndrome",
            "waist_cm >= 102 AND triglycerides_mg_dl >= 150",
            "this study",
            Standing::Study,
        ),
    ]
}

/// The page of made-up results.
pub fn page_of(tables: &[Table]) -> String {
    page_with(tables, invented_charts())
}

fn page_with(tables: &[Table], charts: &[Chart]) -> String {
    page_labelled(tables, charts, &small_results::labels())
}

fn page_labelled(tables: &[Table], charts: &[Chart], labels: &Labels) -> String {
    let notices = [
        Notice::note("few", "men × Corvane", "few people"),
        Notice::caution("shared", "HOMA-IR", "glucose is in <both>"),
    ];
    page(&PageInput {
        title: "Cutoffs in Veldmark",
        question: "For whom does HOMA-IR below 2 hold?",
        invented: &Invented::Everybody,
        tables,
        charts,
        definitions: &definitions(),
        notices: &notices,
        inputs: &[InputFile { path: "veldmark.csv".to_owned(), sha256: "ab".repeat(32), rows: 5120 }],
        version: "0",
        seed: 7,
        command: "cutspan run veldmark.toml",
        study_toml: "title = \"Cutoffs in Veldmark\"\n",
        labels,
        formats: &["svg", "png"],
        citation: "",
        paper: &PaperText {
            methods: vec!["Computed as stated.".to_owned()],
            results: vec!["Half are beyond.".to_owned()],
            limits: vec!["Everybody was measured once.".to_owned()],
        },
    })
    .unwrap()
}

/// The page without its style sheet, drawings and marks of ranges, which other tests hold.
pub fn words(html: &str) -> String {
    let mut words = html.to_owned();
    for (open, close) in [("<style>", "</style>"), ("<svg", "</svg>"), ("<script>", "</script>")] {
        while let Some(start) = words.find(open) {
            let end = words[start..].find(close).unwrap() + start + close.len();
            words.replace_range(start..end, "");
        }
    }
    // Ranges of numbers stand in a part of their own, so that no line ends within one.
    let (open, close) = ("<span class=\"range\">", "</span>");
    while let Some(start) = words.find(open) {
        let end = start + words[start..].find(close).unwrap();
        words.replace_range(end..end + close.len(), "");
        words.replace_range(start..start + open.len(), "");
    }
    // The policy's hash is the script's; it is compared by the browser.
    let start = words.find("'sha256-").unwrap() + 1;
    let end = start + words[start..].find('\'').unwrap();
    words.replace_range(start..end, "hash of the script");
    words
}

#[test]
fn what_is_said_of_people_follows_from_what_is_known_of_them() {
    let tables = small_results::tables();
    let sampled = page_of(&tables);
    assert!(sampled.contains("weighted to the survey’s target population"));
    let mut labels = small_results::labels();
    labels.design = design_words(Design::Convenience);
    assert!(sampled.contains("Ancestry is what people answered"), "the made-up study groups by it");
    labels.groupings.retain(|name, _| !name.contains("ancestry"));
    let charts = draw_all(&tables, &labels, &Print::default()).unwrap();
    let page = page_labelled(&tables, &charts, &labels);
    for part in ["target population", "Ancestry is what people answered"] {
        assert!(!page.contains(part), "{part}");
    }
    assert!(page.contains("each person counted once"));
}

#[test]
fn the_page_says_what_it_said() {
    let text = words(&page_of(&small_results::tables()));
    let text: Vec<&str> =
        text.lines().filter(|line| !line.trim().is_empty() && !line.starts_with("<tr>")).collect();
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../golden");
    settings.set_prepend_module_to_snapshot(false);
    settings.bind(|| insta::assert_snapshot!("index.html", text.join("\n")));
}

#[test]
fn the_page_stands_alone() {
    let html = page_of(&small_results::tables());
    for outside in ["http:", "https:", "<iframe", "<img", " src=", "@import", "<link", "javascript:", "eval("]
    {
        assert!(!html.contains(outside), "the page contains {outside}");
    }
    let links: Vec<&str> =
        html.split("href=\"").skip(1).map(|rest| rest.split_once('"').unwrap().0).collect();
    assert!(links.len() > 20, "{links:?}");
    for link in links {
        let known = ["#", "tables/", "charts/", "datapackage.json", "methods.md", "study.toml"]
            .iter()
            .any(|start| link.starts_with(start));
        assert!(known, "{link}");
    }
}

#[test]
fn a_page_with_24_forests_does_not_balloon() {
    let mut charts = Vec::new();
    for copy in 0..8 {
        for chart in invented_charts() {
            charts.push(Chart { name: format!("{}_{copy}", chart.name), ..chart.clone() });
        }
    }
    assert_eq!(charts.iter().filter(|chart| chart.kind == "cutoffs").count(), 24);
    let html = page_with(&small_results::tables(), &charts);
    assert!(html.len() < MOST_BYTES, "{} bytes", html.len());
}

#[test]
fn every_anchor_leads_to_one_place_and_headings_step_by_one() {
    let html = page_of(&small_results::tables());
    let mut ids: Vec<&str> =
        html.split(" id=\"").skip(1).map(|rest| rest.split_once('"').unwrap().0).collect();
    for anchor in html.split("href=\"#").skip(1).map(|rest| rest.split_once('"').unwrap().0) {
        assert!(ids.contains(&anchor), "#{anchor}");
    }
    let count = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), count, "an id stands twice");
    let levels: Vec<u32> =
        html.match_indices("<h").filter_map(|(at, _)| html[at + 2..].chars().next()?.to_digit(10)).collect();
    assert_eq!(levels.iter().filter(|level| **level == 1).count(), 1);
    assert!(levels.windows(2).all(|pair| pair[1] <= pair[0] + 1), "{levels:?}");
}

#[test]
fn no_number_of_a_withheld_row_reaches_the_page() {
    assert_eq!(page_of(&small_results::tables()), page_of(&small_results::tables_hiding(-31_415.9)));
}

#[test]
fn text_from_outside_is_escaped() {
    let html = page_of(&small_results::tables());
    assert!(html.contains("glucose is in &lt;both&gt;") && !html.contains("<both>"));
}

#[test]
fn withheld_answers_say_so() {
    let mut tables = small_results::tables();
    for table in &mut tables {
        if let Some(position) = table.position("withheld") {
            for row in &mut table.rows {
                row[position] = cutspan::table::Cell::text("too few people");
            }
        }
    }
    let html = words(&page_of(&tables));
    let lead: Vec<&str> = html.lines().filter(|line| line.starts_with("<p class=\"lead\">")).collect();
    assert_eq!(lead.len(), 2);
    assert!(
        lead[0].contains("at or above HOMA-IR 2.14 is withheld: too few people. Of the cohort"),
        "{lead:?}"
    );
    assert!(lead[0].ends_with("is withheld (too few people).</p>"), "{lead:?}");
    assert!(lead[1].ends_with("is withheld: too few people.</p>"), "{lead:?}");
}

#[test]
fn a_percentile_leads_where_no_threshold_and_no_cutoff_does() {
    let mut tables = small_results::tables();
    tables.retain(|table| table.name == "percentiles");
    let lead = |tables: &[Table]| {
        let html = words(&page_of(tables));
        html.lines().find(|line| line.starts_with("<p class=\"lead\">")).unwrap().to_owned()
    };
    let said = lead(&tables);
    assert!(said.contains("the 90th percentile of HOMA-IR among "), "{said}");
    tables[0].rows.clear();
    assert!(lead(&tables).contains("judges no threshold and derives no cutoff"));
}

/// Relative luminance of a colour, WCAG 2.1.
fn luminance(hex: &str) -> f64 {
    let full: String =
        if hex.len() == 4 { hex[1..].chars().flat_map(|c| [c, c]).collect() } else { hex[1..].to_owned() };
    let part = |at: usize| {
        let share = f64::from(u8::from_str_radix(&full[at..at + 2], 16).unwrap()) / 255.0;
        if share <= 0.040_45 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * part(0) + 0.7152 * part(2) + 0.0722 * part(4)
}

fn contrast(one: &str, other: &str) -> f64 {
    let (a, b) = (luminance(one), luminance(other));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[test]
fn text_stands_out_in_light_and_dark() {
    let html = page_of(&small_results::tables());
    let palettes: Vec<&str> =
        html.split(":root{").skip(1).map(|rest| rest.split_once('}').unwrap().0).collect();
    assert_eq!(palettes.len(), 2);
    for palette in palettes {
        let colour =
            |name: &str| palette.split_once(&format!("--{name}:")).unwrap().1.split(';').next().unwrap();
        for (text, ground) in [
            ("ink", "paper"),
            ("soft", "paper"),
            ("link", "paper"),
            ("accent", "paper"),
            ("group", "paper"),
            ("mark", "paper"),
            ("link", "band"),
            ("warn", "paper"),
            ("warn", "warn-band"),
            ("ink", "band"),
            ("soft", "band"),
        ] {
            let found = contrast(colour(text), colour(ground));
            assert!(found >= LEAST_CONTRAST, "{text} on {ground}: {found:.2}");
        }
    }
}

//! Charts: same tables, same bytes; nothing withheld drawn, no text cut off or overlapping.

use std::sync::OnceLock;

use ab_glyph::{Font, FontRef, PxScale, ScaleFont};
use cutspan::chart::{Chart, Print, REGULAR, SEMIBOLD, draw_all, small_print};

use crate::{crowded_results, small_results};

pub fn invented_charts() -> &'static [Chart] {
    static CHARTS: OnceLock<Vec<Chart>> = OnceLock::new();
    CHARTS.get_or_init(|| {
        draw_all(&small_results::tables(), &small_results::labels(), &Print::default()).unwrap()
    })
}

fn crowded_charts() -> &'static [Chart] {
    static CHARTS: OnceLock<Vec<Chart>> = OnceLock::new();
    CHARTS.get_or_init(|| {
        draw_all(&crowded_results::tables(), &crowded_results::labels(), &Print::default()).unwrap()
    })
}

#[test]
fn one_chart_of_each_kind_is_as_it_was() {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../golden");
    settings.set_prepend_module_to_snapshot(false);
    settings.bind(|| {
        for chart in invented_charts().iter().filter(|chart| ["", "homa_ir"].contains(&chart.index.as_str()))
        {
            insta::assert_snapshot!(format!("{}.svg", chart.name), chart.svg);
        }
        let list: Vec<String> = invented_charts()
            .iter()
            .map(|chart| format!("{}\n{}\n{}\n", chart.name, chart.title, chart.caption))
            .collect();
        insta::assert_snapshot!("captions", list.join("\n"));
    });
}

#[test]
fn every_kind_of_chart_is_drawn_and_named_once() {
    let mut kinds: Vec<&str> = invented_charts().iter().map(|chart| chart.kind).collect();
    kinds.dedup();
    assert_eq!(kinds, ["flow", "cutoffs", "heat", "distribution", "percentiles", "roc", "roc_groups"]);
    let mut names: Vec<&str> =
        invented_charts().iter().chain(crowded_charts()).map(|chart| chart.name.as_str()).collect();
    let count = names.len();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), count);
}

#[test]
fn a_cutoff_judged_elsewhere_is_drawn_with_what_is_withheld_said() {
    let drawn: Vec<&Chart> = crowded_charts().iter().filter(|chart| chart.kind == "transfer").collect();
    // 1 + 63 × 2 rows, at most 45 on a chart.
    assert_eq!(drawn.len(), 3);
    let all: String = drawn.iter().map(|chart| chart.svg.as_str()).collect();
    assert_eq!(all.matches("everybody’s cutoff").count(), 64);
    assert_eq!(all.matches(">withheld<").count(), 2, "of one group, by either cutoff, only one share");
    assert!(all.contains("withheld: fewer than 30 people"));
}

#[test]
fn the_same_tables_give_the_same_bytes() {
    let again = draw_all(&small_results::tables(), &small_results::labels(), &Print::default()).unwrap();
    assert_eq!(again, invented_charts());
}

#[test]
fn no_chart_depends_on_a_withheld_estimate() {
    let other =
        draw_all(&small_results::tables_hiding(-31_415.9), &small_results::labels(), &Print::default())
            .unwrap();
    assert!(small_results::tables() != small_results::tables_hiding(-31_415.9), "something is withheld");
    assert_eq!(invented_charts().len(), other.len());
    for (one, other) in invented_charts().iter().zip(&other) {
        assert_eq!(one.svg, other.svg, "{}", one.name);
        assert_eq!(one.caption, other.caption, "{}", one.name);
    }
}

#[test]
fn a_curve_whose_area_is_withheld_is_not_drawn() {
    let roc = crowded_charts().iter().find(|chart| chart.kind == "roc").unwrap();
    assert!(roc.svg.contains("Curve withheld: fewer than 30 people"));
    // The estimate's colour stands on the curve and on its band only.
    assert!(!roc.svg.contains("#155A86"));
    assert!(invented_charts().iter().any(|chart| chart.kind == "roc" && chart.svg.contains("#155A86")));
}

#[test]
fn a_chart_names_no_resource_outside_itself() {
    for chart in invented_charts().iter().chain(crowded_charts()) {
        let svg = chart.svg.replacen("xmlns=\"http://www.w3.org/2000/svg\"", "", 1);
        for outside in ["http", "href", "url(", "<image", "<script", "@import"] {
            assert!(!svg.contains(outside), "{} contains {outside}", chart.name);
        }
        assert!(chart.png(&Print::default()).unwrap().starts_with(b"\x89PNG\r\n"));
    }
}

/// A text on the canvas: its words, its box (left, top, right, bottom) and the width that it states.
struct Words {
    text: String,
    edges: [f64; 4],
    stated: Option<f64>,
}

fn attribute<'a>(tag: &'a str, name: &str) -> Option<&'a str> {
    tag.split_once(&format!(" {name}=\""))?.1.split_once('"').map(|(value, _)| value)
}

fn number(tag: &str, name: &str) -> f64 {
    attribute(tag, name).unwrap().parse().unwrap()
}

/// All texts of an SVG, measured with the bundled font.
fn words(svg: &str) -> Vec<Words> {
    svg.split("<text")
        .skip(1)
        .map(|rest| {
            let (tag, rest) = rest.split_once('>').unwrap();
            let text = rest
                .split_once("</text>")
                .unwrap()
                .0
                .replace("&apos;", "'")
                .replace("&quot;", "\"")
                .replace("&lt;", "<")
                .replace("&gt;", ">")
                .replace("&amp;", "&");
            let size =
                if tag.contains("font-size") { number(tag, "font-size") } else { number(svg, "font-size") };
            let bytes = if tag.contains("font-weight") { SEMIBOLD } else { REGULAR };
            let font = FontRef::try_from_slice(bytes).unwrap();
            let scaled = font.as_scaled(PxScale::from((size * 1.24) as f32));
            let width: f64 =
                text.chars().map(|letter| f64::from(scaled.h_advance(scaled.glyph_id(letter)))).sum();
            let left = number(tag, "x")
                - match attribute(tag, "text-anchor").unwrap_or("start") {
                    "middle" => width / 2.0,
                    "end" => width,
                    _ => 0.0,
                };
            // Capitals and figures are about 0.66 em tall, descenders 0.2 em deep.
            let base = number(tag, "y");
            let stated = attribute(tag, "textLength").map(|width| {
                assert_eq!(attribute(tag, "lengthAdjust"), Some("spacingAndGlyphs"), "{text}");
                width.parse().unwrap()
            });
            Words { text, edges: [left, base - 0.66 * size, left + width, base + 0.2 * size], stated }
        })
        .collect()
}

/// What an SVG file shows: left, top, width and height.
fn view(svg: &str) -> Vec<f64> {
    attribute(svg, "viewBox").unwrap().split(' ').map(|part| part.parse().unwrap()).collect()
}

/// Holds an SVG file to fit its texts where they were laid out in whatever font a reader has.
pub fn texts_state_their_widths(name: &str, svg: &str) {
    let (view, words) = (view(svg), words(svg));
    assert!(words.len() > 5, "{name}");
    for Words { text, edges: [left, _, right, _], stated } in &words {
        let stated = stated.unwrap_or_else(|| panic!("{name}: {text:?} states no width"));
        assert!((stated - (right - left)).abs() < 0.06, "{name}: {text:?} is not {stated} wide");
        assert!(*left >= 0.0 && *right <= view[2], "{name}: {text:?} is cut off");
    }
}

fn texts_stand_apart(name: &str, svg: &str) {
    let (size, words) = (view(svg), words(svg));
    assert!(words.len() > 5, "{name}");
    for (position, one) in words.iter().enumerate() {
        let [left, top, right, bottom] = one.edges;
        assert!(
            left >= 0.0 && top >= 0.0 && right <= size[2] && bottom <= size[3],
            "{name}: {:?} is cut off",
            one.text
        );
        for other in &words[position + 1..] {
            let apart = right <= other.edges[0]
                || other.edges[2] <= left
                || bottom <= other.edges[1]
                || other.edges[3] <= top;
            assert!(apart, "{name}: {:?} and {:?} overlap", one.text, other.text);
        }
    }
}

#[test]
fn no_text_is_cut_off_or_covers_another() {
    for chart in invented_charts().iter().chain(crowded_charts()) {
        texts_stand_apart(&chart.name, &chart.svg);
    }
}

#[test]
fn texts_of_files_state_their_widths_and_those_of_the_page_need_not() {
    for chart in invented_charts().iter().chain(crowded_charts()) {
        texts_state_their_widths(&chart.name, &chart.svg_file(&Print::default()).unwrap());
        assert!(words(&chart.svg).iter().all(|one| one.stated.is_none()), "{}", chart.name);
    }
}

/// One column of a journal's page.
const COLUMN: Print = Print { width_mm: 85.0, pixels_per_inch: 300.0 };
/// Kinds of charts that are not laid out anew for narrow paper, and so print small.
const SCALED: [&str; 2] = ["flow", "distribution"];

#[test]
fn charts_for_one_column_are_laid_out_anew_with_texts_that_can_be_read() {
    let small = draw_all(&small_results::tables(), &small_results::labels(), &COLUMN).unwrap();
    let crowded = draw_all(&crowded_results::tables(), &crowded_results::labels(), &COLUMN).unwrap();
    assert_eq!((small.len(), crowded.len()), (invented_charts().len(), crowded_charts().len()));
    for (chart, wide) in small.iter().chain(&crowded).zip(invented_charts().iter().chain(crowded_charts())) {
        assert_eq!((&chart.name, &chart.svg), (&wide.name, &wide.svg), "the page keeps its charts");
        let printed = chart.svg_file(&COLUMN).unwrap();
        assert!(printed.contains(" width=\"85mm\" "), "{}", chart.name);
        texts_stand_apart(&chart.name, &printed);
        texts_state_their_widths(&chart.name, &printed);
        let tiny = small_print(std::slice::from_ref(chart), &COLUMN);
        assert_eq!(tiny.is_some(), SCALED.contains(&chart.kind), "{}: {tiny:?}", chart.name);
    }
}

#[test]
fn tables_without_rows_give_no_chart() {
    let empty: Vec<_> = small_results::tables()
        .into_iter()
        .map(|table| cutspan::table::Table { rows: Vec::new(), ..table })
        .collect();
    assert!(draw_all(&empty, &small_results::labels(), &Print::default()).unwrap().is_empty());
    assert!(draw_all(&[], &small_results::labels(), &Print::default()).unwrap().is_empty());
}

//! Charts as they are printed, and the text for a paper: sizes, embedded fonts, the same bytes twice.

use std::fs;
use std::path::Path;
use std::sync::OnceLock;

use cutspan::chart::{Chart, Print, draw_all};
use cutspan::{pipeline, study};

use crate::chart::invented_charts;
use crate::small_results;

const COLUMN: Print = Print { width_mm: 85.0, pixels_per_inch: 300.0 };

fn first() -> &'static Chart {
    &invented_charts()[0]
}

/// The whole number of four bytes at a place of a PNG.
fn whole(bytes: &[u8], at: usize) -> u32 {
    u32::from_be_bytes(bytes[at..at + 4].try_into().unwrap())
}

fn place(bytes: &[u8], wanted: &[u8]) -> usize {
    bytes.windows(wanted.len()).position(|window| window == wanted).unwrap()
}

fn holds(bytes: &[u8], wanted: &str) -> bool {
    bytes.windows(wanted.len()).any(|window| window == wanted.as_bytes())
}

#[test]
fn an_svg_has_its_width_in_millimetres_and_keeps_its_view() {
    let svg = first().svg_file(&COLUMN).unwrap();
    let head = svg.split_once('>').unwrap().0;
    assert!(head.contains(" width=\"85mm\" height=\""), "{head}");
    assert!(head.contains("mm\" viewBox=\"0 0 1600 "), "{head}");
    assert!(first().svg.starts_with("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"800\""));
}

#[test]
fn a_png_has_the_pixels_of_its_print_and_says_how_many_stand_in_a_metre() {
    let png = first().png(&COLUMN).unwrap();
    // 85 mm / 25.4 × 300 = 1003.9; 300 / 0.0254 = 11,811.02.
    assert_eq!(whole(&png, 16), 1004);
    let at = place(&png, b"pHYs") + 4;
    assert_eq!((whole(&png, at), whole(&png, at + 4), png[at + 8]), (11_811, 11_811, 1));
}

#[test]
fn a_pdf_carries_its_fonts_and_finds_its_objects() {
    let pdf = first().pdf(&COLUMN).unwrap();
    assert!(pdf.starts_with(b"%PDF-1.7\n") && pdf.ends_with(b"%%EOF\n"));
    // 85 mm are 240.9449 points.
    for part in
        ["/MediaBox[0 0 240.9449 ", "/FontFile2", "/CIDFontType2", "/ToUnicode", "CutspanSans-SemiBold"]
    {
        assert!(holds(&pdf, part), "{part}");
    }
    for varying in ["/CreationDate", "/ModDate", "/ID"] {
        assert!(!holds(&pdf, varying), "{varying}");
    }
    let text = String::from_utf8_lossy(&pdf[pdf.len() - 40..]).into_owned();
    let table: usize = text.split("startxref\n").nth(1).unwrap().lines().next().unwrap().parse().unwrap();
    let table = String::from_utf8(pdf[table..].to_vec()).unwrap();
    let starts = table.lines().filter(|line| line.ends_with(" 00000 n "));
    let mut count = 0;
    for (position, line) in starts.enumerate() {
        let start: usize = line[..10].parse().unwrap();
        assert!(pdf[start..].starts_with(format!("{} 0 obj\n", position + 1).as_bytes()));
        count += 1;
    }
    assert_eq!(count, 15);
}

#[test]
fn the_same_chart_prints_the_same_bytes() {
    let again = draw_all(&small_results::tables(), &small_results::labels(), &Print::default()).unwrap();
    assert_eq!(invented_charts().len(), again.len());
    for (one, other) in invented_charts().iter().zip(&again) {
        assert_eq!(one.svg_file(&COLUMN).unwrap(), other.svg_file(&COLUMN).unwrap());
        assert!(one.pdf(&COLUMN).unwrap() == other.pdf(&COLUMN).unwrap(), "{}", one.name);
    }
}

#[test]
fn text_below_six_points_is_told_with_the_width_that_mends_it() {
    use cutspan::chart::small_print;
    assert!(small_print(invented_charts(), &Print::default()).is_none());
    let small = small_print(invented_charts(), &COLUMN).unwrap();
    // The smallest text is 13 of 800 page pixels: 13 × 240.94 / 800 = 3.92 points; 6 points need 130.3 mm.
    assert!((small.points - 3.915).abs() < 0.001, "{}", small.points);
    assert_eq!(small.width_mm, 131.0);
}

/// A run of a study that comes with the program, and the texts that it leaves: for a paper, and beside the charts.
fn texts_of(study_file: &str, change: impl Fn(&str) -> String) -> [String; 2] {
    let folder = tempfile::tempdir().unwrap();
    let pipelines = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
    let text = change(&fs::read_to_string(pipelines.join(study_file)).unwrap());
    let study = study::parse(&text, study_file, &pipelines).unwrap();
    let out = folder.path().join("out");
    let options = pipeline::Options { out: &out, data: Vec::new(), progress: &|_| {} };
    pipeline::run(&study, &options).unwrap();
    ["methods.md", "charts/captions.md"].map(|file| fs::read_to_string(out.join(file)).unwrap())
}

/// Those of a study without weights, as it comes; made once.
fn unweighted() -> &'static [String; 2] {
    static TEXTS: OnceLock<[String; 2]> = OnceLock::new();
    TEXTS.get_or_init(|| texts_of("reaven-miller-1979.toml", str::to_owned))
}

#[test]
fn the_text_of_a_study_without_weights_speaks_of_none() {
    let [text, _] = unweighted();
    assert!(text.contains("counts once, without weights"), "{text}");
    assert!(!text.contains("carry the weights"), "{text}");
    assert!(!text.contains("PSUs within"), "{text}");
}

#[test]
fn a_jackknife_run_speaks_of_the_intervals_that_it_has() {
    let jackknife = |text: &str| text.replace("replicates = 500\n", "kind = \"jackknife\"\n");
    let [text, captions] = texts_of("reaven-miller-1979.toml", jackknife);
    let why = "the jackknife misjudges cutoffs, which move in jumps";
    assert!(text.contains(&format!("Cutoffs as counted have no interval: {why}.")), "{text}");
    assert!(text.contains("net benefit: t intervals with the standard error of the replicates"), "{text}");
    assert!(!text.contains("mooth curves: t intervals"), "there are none: {text}");
    assert!(text.contains("For cutoffs the bootstrap is preferred"), "{text}");
    assert!(!captions.contains("and its band are everybody’s cutoff"), "{captions}");
    assert!(
        captions.contains(&format!(
            "The solid line is everybody’s cutoff; cutoffs have no interval here: {why}."
        ))
    );
    let [text, captions] = unweighted();
    assert!(!text.contains("the bootstrap is preferred") && captions.contains("and its band are"), "{text}");
    assert!(text.contains("An unknown answer to an exclusion leaves out too."), "{text}");
}

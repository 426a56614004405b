//! A scene as a PDF file: one page, every mark as lines and fills, every text as text in the bundled
//! fonts, which the file carries. It holds no date and no identity, so that the same scene gives the
//! same bytes.
//!
//! Source: ISO 32000-1 (2008), sections 7.5 (file structure), 8 (graphics) and 9 (text).

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::io::{self, Write as _};

use flate2::Compression;
use flate2::write::ZlibEncoder;

use super::font;
use super::paint;
use super::palette::{Colour, PAPER};
use super::pdf_font::{self, Font};
use super::print::Print;
use super::scene::{Align, Face, Mark, Point, Scene, Shape, Stroke};

/// Handle of a cubic curve that follows a quarter of a circle of radius 1.
const QUARTER: f64 = 0.552_284_75;
/// Objects before those of the fonts: catalogue, pages, page, content, information.
const FIRST_FREE: usize = 6;

/// The file's bytes.
pub(super) fn file(scene: &Scene, title: &str, print: &Print) -> io::Result<Vec<u8>> {
    let mut page = Page { scale: print.points_per_page_pixel(scene), ..Page::default() };
    page.paint(scene);
    let mut objects = Objects::default();
    let (width, height) = (number(scene.width * page.scale), number(scene.height * page.scale));
    objects.plain("<</Type/Catalog/Pages 2 0 R/ViewerPreferences<</DisplayDocTitle true>>>>");
    objects.plain("<</Type/Pages/Kids[3 0 R]/Count 1>>");
    objects.plain(&format!(
        "<</Type/Page/Parent 2 0 R/MediaBox[0 0 {width} {height}]/Contents 4 0 R/Resources<<{}>>>>",
        page.resources()
    ));
    objects.stream("", page.content.as_bytes())?;
    objects.plain(&format!("<</Title {}/Producer(cutspan)>>", text_string(title)));
    for (bold, used) in [(false, &page.regular), (true, &page.semibold)] {
        if !used.is_empty() {
            pdf_font::write(&Font::new(bold), used, &mut objects)?;
        }
    }
    Ok(objects.finish())
}

/// Numbered objects of a file, in order, and where each begins.
#[derive(Debug)]
pub(super) struct Objects {
    bytes: Vec<u8>,
    starts: Vec<usize>,
}

impl Default for Objects {
    fn default() -> Self {
        // The second line tells programs that the file is not text.
        Self { bytes: b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n".to_vec(), starts: Vec::new() }
    }
}

impl Objects {
    /// The number that the next object gets.
    pub(super) fn next(&self) -> usize {
        self.starts.len() + 1
    }

    pub(super) fn plain(&mut self, body: &str) {
        self.open();
        self.bytes.extend_from_slice(body.as_bytes());
        self.bytes.extend_from_slice(b"\nendobj\n");
    }

    /// A compressed stream with further `entries` in its dictionary.
    pub(super) fn stream(&mut self, entries: &str, content: &[u8]) -> io::Result<()> {
        let mut packed = ZlibEncoder::new(Vec::new(), Compression::default());
        packed.write_all(content)?;
        let packed = packed.finish()?;
        self.open();
        let dictionary = format!("<</Length {}/Filter/FlateDecode{entries}>>\nstream\n", packed.len());
        self.bytes.extend_from_slice(dictionary.as_bytes());
        self.bytes.extend_from_slice(&packed);
        self.bytes.extend_from_slice(b"\nendstream\nendobj\n");
        Ok(())
    }

    fn open(&mut self) {
        self.starts.push(self.bytes.len());
        let head = format!("{} 0 obj\n", self.starts.len());
        self.bytes.extend_from_slice(head.as_bytes());
    }

    /// Ends the file with the table of where its objects begin.
    fn finish(mut self) -> Vec<u8> {
        let (table, size) = (self.bytes.len(), self.starts.len() + 1);
        let entries: Vec<String> =
            self.starts.iter().map(|start| format!("{start:010} 00000 n \n")).collect();
        let end = format!(
            "xref\n0 {size}\n0000000000 65535 f \n{}trailer\n<</Size {size}/Root 1 0 R/Info 5 0 R>>\nstartxref\n{table}\n\
             %%EOF\n",
            entries.concat()
        );
        self.bytes.extend_from_slice(end.as_bytes());
        self.bytes
    }
}

/// The marks of one page as drawing operators, and what they need.
#[derive(Debug, Default)]
struct Page {
    /// Points per page pixel.
    scale: f64,
    content: String,
    /// Letters of each weight.
    regular: BTreeSet<char>,
    semibold: BTreeSet<char>,
    /// Opacities other than 1, in thousandths.
    opacities: BTreeSet<u32>,
}

impl Page {
    fn resources(&self) -> String {
        let states: Vec<String> = self
            .opacities
            .iter()
            .map(|thousandths| format!("/A{thousandths}<</ca {}>>", number(f64::from(*thousandths) / 1000.0)))
            .collect();
        let mut fonts = String::new();
        let mut next = FIRST_FREE;
        for (name, used) in [("R", &self.regular), ("B", &self.semibold)] {
            if !used.is_empty() {
                let _ = write!(fonts, "/{name} {next} 0 R");
                next += pdf_font::OBJECTS;
            }
        }
        format!("/Font<<{fonts}>>/ExtGState<<{}>>", states.concat())
    }

    /// One step of the page's description; writing to a text cannot fail.
    fn say(&mut self, words: &str) {
        self.content.push_str(words);
        self.content.push('\n');
    }

    fn paint(&mut self, scene: &Scene) {
        // From here on page pixels, downwards from the top.
        let (scale, top) = (number(self.scale), number(scene.height * self.scale));
        self.say(&format!("{scale} 0 0 -{scale} 0 {top} cm 1 j"));
        self.say(&format!("{}0 0 {} {} re f", fill(PAPER), number(scene.width), number(scene.height)));
        for mark in &scene.marks {
            match mark {
                Mark::Line { points, stroke } => self.line(points, *stroke),
                Mark::Area { points, colour, opacity } => self.area(points, *colour, *opacity),
                Mark::Dot { at, shape, radius, colour, hollow } => {
                    self.dot(*at, *shape, *radius, *colour);
                    if *hollow {
                        self.dot(*at, *shape, *radius - paint::inset(*shape), PAPER);
                    }
                }
                Mark::Text { at, text, face } => self.text(*at, text, *face),
            }
        }
    }

    fn line(&mut self, points: &[Point], stroke: Stroke) {
        let dash = match stroke.dash.lengths() {
            Some((on, off)) => format!("[{} {}] 0 d", number(on), number(off)),
            None => "[] 0 d".to_owned(),
        };
        let Colour(r, g, b) = stroke.colour;
        let colour = format!("{} {} {} RG", share(r), share(g), share(b));
        self.say(&format!("{colour} {} w {dash} {} S", number(stroke.width), path(points)));
    }

    fn area(&mut self, points: &[Point], colour: Colour, opacity: f64) {
        let body = format!("{}{} h f", fill(colour), path(points));
        let thousandths = (opacity.clamp(0.0, 1.0) * 1000.0).round() as u32;
        if thousandths == 1000 {
            return self.say(&body);
        }
        self.opacities.insert(thousandths);
        self.say(&format!("q /A{thousandths} gs {body} Q"));
    }

    fn dot(&mut self, at: Point, shape: Shape, radius: f64, colour: Colour) {
        let outline = match paint::corners(at, shape, radius) {
            Some(corners) => format!("{} h", path(&corners)),
            None => circle(at, radius),
        };
        self.say(&format!("{}{outline} f", fill(colour)));
    }

    fn text(&mut self, (x, y): Point, text: &str, face: Face) {
        let back = match face.align {
            Align::Start => 0.0,
            Align::Middle => font::width(text, face.size, face.bold) / 2.0,
            Align::End => font::width(text, face.size, face.bold),
        };
        let letters = if face.bold { &mut self.semibold } else { &mut self.regular };
        letters.extend(text.chars());
        let codes = digits(text.chars().map(|letter| font::glyph(letter, face.bold)));
        let name = if face.bold { "B" } else { "R" };
        let (size, x, y) = (number(face.size), number(x - back), number(y));
        self.say(&format!("{}BT /{name} {size} Tf 1 0 0 -1 {x} {y} Tm <{codes}> Tj ET", fill(face.colour)));
    }
}

fn path(points: &[Point]) -> String {
    let step = |(position, (x, y)): (usize, &Point)| {
        format!("{} {} {}", number(*x), number(*y), if position == 0 { "m" } else { "l" })
    };
    points.iter().enumerate().map(step).collect::<Vec<_>>().join(" ")
}

fn circle((x, y): Point, r: f64) -> String {
    let k = QUARTER * r;
    let curve = |points: [Point; 3]| {
        let ends: Vec<String> =
            points.iter().map(|(x, y)| format!("{} {}", number(*x), number(*y))).collect();
        format!("{} c", ends.join(" "))
    };
    [
        format!("{} {} m", number(x + r), number(y)),
        curve([(x + r, y + k), (x + k, y + r), (x, y + r)]),
        curve([(x - k, y + r), (x - r, y + k), (x - r, y)]),
        curve([(x - r, y - k), (x - k, y - r), (x, y - r)]),
        curve([(x + k, y - r), (x + r, y - k), (x + r, y)]),
    ]
    .join(" ")
}

/// The operator that sets a fill colour, with the space after it.
fn fill(Colour(r, g, b): Colour) -> String {
    format!("{} {} {} rg ", share(r), share(g), share(b))
}

fn share(level: u8) -> String {
    number(f64::from(level) / 255.0)
}

/// At most four decimals and no exponent, as PDF has none.
fn number(value: f64) -> String {
    let text = format!("{value:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// A text outside the page's content: UTF-16 in hexadecimal digits.
fn text_string(text: &str) -> String {
    format!("<FEFF{}>", digits(text.encode_utf16()))
}

/// Four hexadecimal digits for each number.
pub(super) fn digits(units: impl Iterator<Item = u16>) -> String {
    units.fold(String::new(), |text, unit| text + &format!("{unit:04X}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_no_exponent_and_no_needless_zeros() {
        assert_eq!([1.5, -0.000_01, 1e-9, 800.0, 0.123_456].map(number), ["1.5", "0", "0", "800", "0.1235"]);
    }

    #[test]
    fn texts_outside_the_page_are_utf_16() {
        assert_eq!(text_string("≥ 2"), "<FEFF226500200032>");
    }
}

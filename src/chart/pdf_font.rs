//! The bundled fonts inside a PDF: outlines, widths, and what each glyph means as text, so that words
//! can be searched for and copied.

use std::collections::BTreeSet;
use std::io;

use ab_glyph::Font as _;

use super::font::{self, FAMILY, REGULAR, SEMIBOLD};
use super::pdf::Objects;

/// Objects of one font: itself, its descendant, its description, its file, its text map.
pub(super) const OBJECTS: usize = 5;
/// Entries of one block of a text map, as the format limits them.
const BLOCK: usize = 100;
/// A font with glyphs of its own numbering.
const SYMBOLIC: u32 = 4;
/// Thickness of upright strokes, in thousandths of an em; nothing depends on it while the font is inside.
const STEM_REGULAR: u32 = 84;
const STEM_SEMIBOLD: u32 = 122;

/// One weight of the typeface.
#[derive(Debug)]
pub(super) struct Font {
    bold: bool,
    name: String,
    bytes: &'static [u8],
}

impl Font {
    pub(super) fn new(bold: bool) -> Self {
        let family = FAMILY.replace(' ', "");
        let (weight, bytes) = if bold { ("SemiBold", SEMIBOLD) } else { ("Regular", REGULAR) };
        Self { bold, name: format!("{family}-{weight}"), bytes }
    }

    /// Thousandths of an em.
    fn thousandths(&self, units: f32) -> i64 {
        let em = font::face(self.bold).units_per_em().unwrap_or(1000.0);
        f64::from(units / em * 1000.0).round() as i64
    }

    fn width(&self, letter: char) -> i64 {
        let face = font::face(self.bold);
        self.thousandths(face.h_advance_unscaled(face.glyph_id(letter)))
    }
}

/// Writes the objects of a font, of which these letters are used.
pub(super) fn write(font: &Font, used: &BTreeSet<char>, objects: &mut Objects) -> io::Result<()> {
    let first = objects.next();
    let name = &font.name;
    objects.plain(&format!(
        "<</Type/Font/Subtype/Type0/BaseFont/{name}/Encoding/Identity-H/DescendantFonts[{} 0 R]/ToUnicode {} 0 R>>",
        first + 1,
        first + 4
    ));
    objects.plain(&format!(
        "<</Type/Font/Subtype/CIDFontType2/BaseFont/{name}/CIDSystemInfo<</Registry(Adobe)/Ordering(Identity)\
         /Supplement 0>>/CIDToGIDMap/Identity/FontDescriptor {} 0 R/W[{}]>>",
        first + 2,
        widths(font, used)
    ));
    objects.plain(&description(font, first + 3));
    objects.stream(&format!("/Length1 {}", font.bytes.len()), font.bytes)?;
    objects.stream("", text_map(font, used).as_bytes())
}

fn description(font: &Font, file: usize) -> String {
    let face = font::face(font.bold);
    let (ascent, descent) =
        (font.thousandths(face.ascent_unscaled()), font.thousandths(face.descent_unscaled()));
    let stem = if font.bold { STEM_SEMIBOLD } else { STEM_REGULAR };
    format!(
        "<</Type/FontDescriptor/FontName/{}/Flags {SYMBOLIC}/FontBBox[-500 {descent} 1500 {ascent}]/ItalicAngle 0\
         /Ascent {ascent}/Descent {descent}/CapHeight 660/StemV {stem}/FontFile2 {file} 0 R>>",
        font.name
    )
}

/// Glyph numbers with their widths.
fn widths(font: &Font, used: &BTreeSet<char>) -> String {
    let one = |letter: &char| format!("{}[{}]", font::glyph(*letter, font.bold), font.width(*letter));
    used.iter().map(one).collect()
}

/// Which letter each glyph stands for.
fn text_map(font: &Font, used: &BTreeSet<char>) -> String {
    let entry = |letter: &char| {
        let mut units = [0; 2];
        let text = super::pdf::digits(letter.encode_utf16(&mut units).iter().copied());
        format!("<{:04X}> <{text}>\n", font::glyph(*letter, font.bold))
    };
    let entries: Vec<String> = used.iter().map(entry).collect();
    let blocks = entries
        .chunks(BLOCK)
        .map(|block| format!("{} beginbfchar\n{}endbfchar\n", block.len(), block.concat()));
    format!(
        "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n/CIDSystemInfo <</Registry (Adobe) /Ordering \
         (UCS) /Supplement 0>> def\n/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n1 begincodespacerange\n<0000> \
         <FFFF>\nendcodespacerange\n{}endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n",
        blocks.collect::<String>()
    )
}

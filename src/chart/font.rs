//! The typeface of charts and report, bundled so that they look the same everywhere, and how wide
//! its texts are.
//!
//! Adapted from Source Sans 3 by Paul D. Hunt (Adobe, SIL Open Font License 1.1, `font/OFL.txt`): cut
//! down to Latin, Greek, punctuation and mathematics, line height set to 1.24 em, no kerning, and
//! renamed, as the licence asks of a modified font.

use std::sync::OnceLock;

use ab_glyph::{Font, FontRef, Glyph, PxScale, ScaleFont, point};

use super::ChartError;

pub const FAMILY: &str = "Cutspan Sans";
pub const REGULAR: &[u8] = include_bytes!("font/CutspanSans-Regular.ttf");
pub const SEMIBOLD: &[u8] = include_bytes!("font/CutspanSans-SemiBold.ttf");

/// Height of a line of the font over its em. The drawing library calls this height a font's size.
pub(super) const LINE: f64 = 1.24;

type Pair = Option<(FontRef<'static>, FontRef<'static>)>;

fn pair() -> &'static Pair {
    static FONTS: OnceLock<Pair> = OnceLock::new();
    FONTS.get_or_init(|| {
        Some((FontRef::try_from_slice(REGULAR).ok()?, FontRef::try_from_slice(SEMIBOLD).ok()?))
    })
}

/// Checks, before any chart is drawn, that the bundled fonts can be read.
pub(super) fn check() -> Result<(), ChartError> {
    if pair().is_some() { Ok(()) } else { Err(ChartError::Font) }
}

pub(super) fn face(bold: bool) -> &'static FontRef<'static> {
    let (regular, semibold) =
        pair().as_ref().expect("the fonts are part of the program and checked by a test");
    if bold { semibold } else { regular }
}

fn at_size(em: f64, bold: bool) -> ab_glyph::PxScaleFont<&'static FontRef<'static>> {
    face(bold).as_scaled(PxScale::from((em * LINE) as f32))
}

/// Width of a text in pixels at `em` pixels per em.
pub(super) fn width(text: &str, em: f64, bold: bool) -> f64 {
    let font = at_size(em, bold);
    text.chars().map(|letter| f64::from(font.h_advance(font.glyph_id(letter)))).sum()
}

/// The number of a letter's glyph in the font.
pub(super) fn glyph(letter: char, bold: bool) -> u16 {
    face(bold).glyph_id(letter).0
}

/// The glyphs of a text whose baseline starts at a point.
pub(super) fn glyphs(text: &str, em: f64, bold: bool, (x, y): (f64, f64)) -> Vec<Glyph> {
    let font = at_size(em, bold);
    let mut right = x as f32;
    text.chars()
        .map(|letter| {
            let mut glyph = font.scaled_glyph(letter);
            glyph.position = point(right, y as f32);
            right += font.h_advance(glyph.id);
            glyph
        })
        .collect()
}

/// Calls `dot` with every pixel a glyph covers and the share that is covered.
pub(super) fn cover(glyph: Glyph, bold: bool, mut dot: impl FnMut(i32, i32, f64)) {
    if let Some(outline) = face(bold).outline_glyph(glyph) {
        let corner = outline.px_bounds().min;
        outline.draw(|x, y, share| {
            dot(corner.x as i32 + x as i32, corner.y as i32 + y as i32, f64::from(share.min(1.0)));
        });
    }
}

/// Breaks a text at its plain spaces into lines no wider than `limit`; a word that is too wide alone is broken too.
pub(super) fn wrap(text: &str, limit: f64, em: f64, bold: bool) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        for piece in pieces(word, limit, em, bold) {
            let last = lines.len() - 1;
            let longer =
                if lines[last].is_empty() { piece.clone() } else { format!("{} {piece}", lines[last]) };
            if width(&longer, em, bold) <= limit || lines[last].is_empty() {
                lines[last] = longer;
            } else {
                lines.push(piece);
            }
        }
    }
    lines
}

fn pieces(word: &str, limit: f64, em: f64, bold: bool) -> Vec<String> {
    let mut pieces = vec![String::new()];
    for letter in word.chars() {
        let last = pieces.len() - 1;
        let longer = format!("{}{letter}", pieces[last]);
        if width(&longer, em, bold) <= limit || pieces[last].is_empty() {
            pieces[last] = longer;
        } else {
            pieces.push(letter.to_string());
        }
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wrapped_lines_keep_every_letter_and_stay_within_the_limit() {
        let text = "Highest specificity among points with at least eighty per cent sensitivity ≥ Donaudampfschifffahrtsgesellschaft";
        let lines = wrap(text, 120.0, 14.0, false);
        assert!(lines.len() > 3);
        assert!(lines.iter().all(|line| width(line, 14.0, false) <= 120.0), "{lines:?}");
        let squeezed = |s: &str| s.chars().filter(|c| !c.is_whitespace()).collect::<String>();
        assert_eq!(squeezed(&lines.concat()), squeezed(text));
    }

    #[test]
    fn both_weights_hold_every_sign_the_program_prints() {
        for sign in "×≥≤−–—±·μµχτκ√Σ²₀α…“”‘’→%".chars() {
            assert!(face(false).glyph_id(sign).0 > 0 && face(true).glyph_id(sign).0 > 0, "{sign}");
        }
    }
}

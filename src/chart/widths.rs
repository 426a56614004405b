//! How wide the texts of a drawing are, said in the file: a program that lacks the charts' font sets each text just as
//! wide in another one, so that none runs past the edge or into its neighbour. The page carries the font and needs none
//! of this.

use super::font;
use super::paint::ZOOM;
use super::scene::{Face, Mark, Scene};

/// What a text begins with.
const TEXT: &str = "<text ";

/// A painted scene with the width of each of its texts.
pub(super) fn state(svg: &str, scene: &Scene) -> String {
    // Texts stand in the file in the scene's order, and the painter writes the sign `<` within one as an entity.
    let mut pieces = svg.split(TEXT);
    let head = pieces.next().unwrap_or_default().to_owned();
    pieces.zip(texts(scene)).fold(head, |said, (piece, (text, face))| {
        let width = font::width(text, face.size * ZOOM, face.bold);
        said + &format!("{TEXT}textLength=\"{width:.1}\" lengthAdjust=\"spacingAndGlyphs\" {piece}")
    })
}

fn texts(scene: &Scene) -> impl Iterator<Item = (&str, Face)> {
    scene.marks.iter().filter_map(|mark| match mark {
        Mark::Text { text, face, .. } => Some((text.as_str(), *face)),
        _ => None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::paint;
    use crate::chart::palette::INK;
    use crate::chart::scene::{Align, Stroke};

    #[test]
    fn every_text_states_its_width_wherever_it_is_anchored() {
        let mut scene = Scene { width: 100.0, height: 50.0, marks: Vec::new() };
        let face = Face::new(10.0, INK);
        scene.text((10.0, 20.0), "5 <text & é", face);
        scene.line((0.0, 0.0), (9.0, 9.0), Stroke::solid(INK, 1.0));
        scene.text((50.0, 20.0), "55", face.align(Align::Middle));
        scene.text((90.0, 20.0), "5A", face.align(Align::End).bold());
        let painted = paint::svg(&scene, "name", "title").expect("a painted scene");
        let file = state(&painted, &scene);
        let said: Vec<&str> =
            file.split(" textLength=\"").skip(1).filter_map(|rest| Some(rest.split_once('"')?.0)).collect();
        // Thousandths of an em: 497 a figure, 513 a bold one, 558 a bold A; the canvas has 20 pixels an em.
        assert_eq!(said[1..], ["19.9", "21.4"]);
        assert_eq!(said.len(), 3, "{file}");
        assert_eq!(file.matches(" lengthAdjust=\"spacingAndGlyphs\" ").count(), 3);
        let widths =
            said.iter().map(|width| format!("textLength=\"{width}\" lengthAdjust=\"spacingAndGlyphs\" "));
        assert_eq!(widths.fold(file.clone(), |file, width| file.replacen(&width, "", 1)), painted);
    }
}

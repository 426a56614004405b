//! Puts a scene on the SVG canvas, at twice the page's pixels, or on the bitmap canvas, at those of its print.

use plotters::backend::{BitMapBackend, DrawingBackend, SVGBackend};
use plotters::coord::Shift;
use plotters::drawing::{DrawingArea, DrawingAreaErrorKind, IntoDrawingArea};
use plotters::element::{Circle, PathElement, Polygon, Text};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, FontDesc, FontFamily, FontStyle, RGBColor, ShapeStyle, TextStyle};

use super::ChartError;
use super::font::{self, FAMILY};
use super::palette::{Colour, INK, PAPER};
use super::print::Print;
use super::scene::{Align, Face, Mark, Point, Scene, Shape, Stroke};
use super::sheet::BODY;

/// Pixels of the SVG canvas per page pixel: its points are whole numbers.
pub(super) const ZOOM: f64 = 2.0;
/// Size and colour of most texts on the SVG canvas, said once for all of them.
const USUAL_SIZE: f64 = BODY * ZOOM;
const USUAL_COLOUR: Colour = INK;

type Area<'a, B> = DrawingArea<B, Shift>;
type Words<'a, B> = fn(&Area<'a, B>, f64, (Point, &str), Face) -> Painted<B>;
type Painted<B> = Result<(), DrawingAreaErrorKind<<B as DrawingBackend>::ErrorType>>;

/// The scene as an SVG file that names its font and nothing outside itself.
pub(super) fn svg(scene: &Scene, name: &str, title: &str) -> Result<String, ChartError> {
    let mut text = String::new();
    let area = SVGBackend::with_string(&mut text, canvas(scene, ZOOM)).into_drawing_area();
    area.fill(&rgb(PAPER))
        .and_then(|()| paint(scene, &area, ZOOM, name_font))
        .map_err(|error| ChartError::Draw { chart: name.to_owned(), reason: error.to_string() })?;
    drop(area);
    Ok(tidy(&text, scene, title))
}

/// The scene as a PNG file with the pixels of its print, which says how many stand in a metre.
pub(super) fn png(scene: &Scene, name: &str, print: &Print) -> Result<Vec<u8>, ChartError> {
    let zoom = print.pixels_per_inch / print.page_pixels_per_inch(scene);
    let (width, height) = canvas(scene, zoom);
    let mut pixels = vec![255; width as usize * height as usize * 3];
    let area = BitMapBackend::with_buffer(&mut pixels, (width, height)).into_drawing_area();
    paint(scene, &area, zoom, set_type)
        .map_err(|error| ChartError::Draw { chart: name.to_owned(), reason: error.to_string() })?;
    drop(area);
    encode(&pixels, (width, height), print.pixels_per_metre())
        .map_err(|source| ChartError::Png { chart: name.to_owned(), source })
}

fn encode(pixels: &[u8], (width, height): (u32, u32), per_metre: u32) -> Result<Vec<u8>, png::EncodingError> {
    let mut file = Vec::new();
    let mut encoder = png::Encoder::new(&mut file, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    let unit = png::Unit::Meter;
    encoder.set_pixel_dims(Some(png::PixelDimensions { xppu: per_metre, yppu: per_metre, unit }));
    encoder.set_compression(png::Compression::Default);
    encoder.set_filter(png::FilterType::NoFilter);
    let mut writer = encoder.write_header()?;
    writer.write_image_data(pixels)?;
    writer.finish()?;
    Ok(file)
}

fn canvas(scene: &Scene, zoom: f64) -> (u32, u32) {
    ((scene.width * zoom).round() as u32, (scene.height * zoom).round() as u32)
}

/// Replaces the canvas's opening tag by one with the page's size, a label for screen readers, the font
/// and what most marks share, and drops what marks repeat and the noise of the canvas's division by the
/// font's line. The canvas would lower texts by `dy`; here `y` is their baseline.
fn tidy(text: &str, scene: &Scene, title: &str) -> String {
    let (width, height) = canvas(scene, ZOOM);
    let Colour(red, green, blue) = USUAL_COLOUR;
    let usual_colour = format!("#{red:02X}{green:02X}{blue:02X}");
    let body = text.split_once(">\n").map_or(text, |(_, body)| body);
    let body = body
        .replace(" opacity=\"1\"", "")
        .replace(" stroke=\"none\"", "")
        .replace(" stroke-width=\"1\"", "")
        .replace(" text-anchor=\"start\"", "")
        .replace(" dy=\"0.76em\"", "")
        .replace(&format!(" font-family=\"{FAMILY}\""), "")
        .replace(".000000000000004\"", "\"")
        .replace(&format!(" font-size=\"{USUAL_SIZE}\""), "")
        .replace(&format!(" fill=\"{usual_colour}\""), "")
        .replace(" \"/>", "\"/>")
        .replace("\n</text>", "</text>")
        .replace(">\n", ">")
        .replace("><", ">\n<");
    let body = join_lines(&body);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{}\" height=\"{}\" viewBox=\"0 0 {width} {height}\" \
         role=\"img\" aria-label=\"{}\" font-family=\"'{FAMILY}', sans-serif\" font-size=\"{USUAL_SIZE}\" fill=\"{usual_colour}\">\n{body}\n",
        scene.width,
        scene.height,
        escape(title),
    )
}

/// Joins neighbouring lines of one style (dashes, grid lines) into one path.
fn join_lines(body: &str) -> String {
    let mut joined: Vec<String> = Vec::new();
    let mut open: Option<(String, String)> = None;
    for mark in body.lines() {
        let line = mark
            .strip_prefix("<polyline ")
            .and_then(|rest| rest.strip_suffix("\"/>"))
            .and_then(|rest| rest.split_once(" points=\""));
        match (line, &mut open) {
            (Some((style, points)), Some((known, path))) if style == known && !style.contains("opacity") => {
                path.push_str(&["M", points].concat());
            }
            (line, _) => {
                joined.extend(open.take().map(|(style, points)| path_of(&style, &points)));
                match line {
                    Some((style, points)) => open = Some((style.to_owned(), format!("M{points}"))),
                    None => joined.push(mark.to_owned()),
                }
            }
        }
    }
    joined.join("\n")
}

/// A path of lines; straight ones have no area that could be filled.
fn path_of(style: &str, points: &str) -> String {
    let straight = points.split('M').all(|line| line.split(' ').count() <= 2);
    let style = if straight { style.trim_start_matches("fill=\"none\" ") } else { style };
    format!("<path {style} d=\"{points}\"/>")
}

fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

fn paint<'a, B: DrawingBackend>(
    scene: &Scene,
    area: &Area<'a, B>,
    zoom: f64,
    words: Words<'a, B>,
) -> Painted<B> {
    for mark in &scene.marks {
        match mark {
            Mark::Line { points, stroke } => line(area, zoom, points, *stroke)?,
            Mark::Area { points, colour, opacity } => {
                area.draw(&Polygon::new(pixels(points, zoom), rgb(*colour).mix(*opacity).filled()))?;
            }
            Mark::Dot { at, shape, radius, colour, hollow } => {
                dot(area, zoom, (*at, *shape), (*radius, *colour))?;
                if *hollow {
                    dot(area, zoom, (*at, *shape), (*radius - inset(*shape), PAPER))?;
                }
            }
            Mark::Text { at, text, face } => words(area, zoom, (*at, text), *face)?,
        }
    }
    area.present()
}

fn line<B: DrawingBackend>(area: &Area<'_, B>, zoom: f64, points: &[Point], stroke: Stroke) -> Painted<B> {
    let width = (stroke.width * zoom).round().max(1.0) as u32;
    let style = ShapeStyle { color: rgb(stroke.colour).to_rgba(), filled: false, stroke_width: width };
    for piece in dashes(points, stroke) {
        area.draw(&PathElement::new(pixels(&piece, zoom), style))?;
    }
    Ok(())
}

/// Cuts a line into its dashes; dashes run on across corners.
fn dashes(points: &[Point], stroke: Stroke) -> Vec<Vec<Point>> {
    let Some((on, off)) = stroke.dash.lengths() else { return vec![points.to_vec()] };
    let (mut pieces, mut left, mut drawing) = (vec![vec![points[0]]], on, true);
    for pair in points.windows(2) {
        let (mut from, to) = (pair[0], pair[1]);
        loop {
            let (dx, dy) = (to.0 - from.0, to.1 - from.1);
            let length = dx.hypot(dy);
            let reached = length <= left;
            let next = if reached { to } else { (from.0 + dx * left / length, from.1 + dy * left / length) };
            if let (true, Some(piece)) = (drawing, pieces.last_mut()) {
                piece.push(next);
            }
            if reached {
                left -= length;
                break;
            }
            drawing = !drawing;
            left = if drawing { on } else { off };
            if drawing {
                pieces.push(vec![next]);
            }
            from = next;
        }
    }
    pieces.retain(|piece| piece.len() > 1);
    pieces
}

fn dot<B: DrawingBackend>(
    area: &Area<'_, B>,
    zoom: f64,
    (at, shape): (Point, Shape),
    (radius, colour): (f64, Colour),
) -> Painted<B> {
    let style = rgb(colour).filled();
    match corners(at, shape, radius) {
        Some(corners) => area.draw(&Polygon::new(pixels(&corners, zoom), style)),
        None => area.draw(&Circle::new(pixel(at, zoom), (radius * zoom).round() as u32, style)),
    }
}

/// The corners of a mark; `None` for a circle.
pub(super) fn corners((x, y): Point, shape: Shape, r: f64) -> Option<Vec<Point>> {
    Some(match shape {
        Shape::Circle => return None,
        Shape::Diamond => vec![(x, y - 1.25 * r), (x + 1.25 * r, y), (x, y + 1.25 * r), (x - 1.25 * r, y)],
        Shape::Square => vec![(x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r)],
        Shape::Triangle => vec![(x, y - 1.2 * r), (x + 1.15 * r, y + 0.9 * r), (x - 1.15 * r, y + 0.9 * r)],
    })
}

/// How much smaller the hole of a hollow mark is.
pub(super) fn inset(shape: Shape) -> f64 {
    match shape {
        Shape::Circle | Shape::Square => 1.5,
        Shape::Diamond => 1.7,
        Shape::Triangle => 2.0,
    }
}

/// Text on the SVG canvas: the reader's program sets it.
fn name_font<B: DrawingBackend>(
    area: &Area<'_, B>,
    zoom: f64,
    ((x, y), text): (Point, &str),
    face: Face,
) -> Painted<B> {
    let anchor = match face.align {
        Align::Start => HPos::Left,
        Align::Middle => HPos::Center,
        Align::End => HPos::Right,
    };
    let weight = if face.bold { FontStyle::Bold } else { FontStyle::Normal };
    let colour = rgb(face.colour);
    let style =
        TextStyle::from(FontDesc::new(FontFamily::Name(FAMILY), face.size * zoom * font::LINE, weight))
            .color(&colour)
            .pos(Pos::new(anchor, VPos::Top));
    area.draw(&Text::new(text.to_owned(), pixel((x, y), zoom), style))
}

/// Text on the bitmap canvas, set here from the font's outlines at fractions of a pixel.
fn set_type<B: DrawingBackend>(
    area: &Area<'_, B>,
    zoom: f64,
    ((x, y), text): (Point, &str),
    face: Face,
) -> Painted<B> {
    let em = face.size * zoom;
    let back = match face.align {
        Align::Start => 0.0,
        Align::Middle => font::width(text, em, face.bold) / 2.0,
        Align::End => font::width(text, em, face.bold),
    };
    let mut dots = Vec::new();
    for glyph in font::glyphs(text, em, face.bold, (x * zoom - back, y * zoom)) {
        font::cover(glyph, face.bold, |x, y, share| dots.push((x, y, share)));
    }
    let colour = rgb(face.colour);
    dots.into_iter().try_for_each(|(x, y, share)| area.draw_pixel((x, y), &colour.mix(share)))
}

fn rgb(Colour(r, g, b): Colour) -> RGBColor {
    RGBColor(r, g, b)
}

fn pixel((x, y): Point, zoom: f64) -> (i32, i32) {
    ((x * zoom).round() as i32, (y * zoom).round() as i32)
}

fn pixels(points: &[Point], zoom: f64) -> Vec<(i32, i32)> {
    points.iter().map(|point| pixel(*point, zoom)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::scene::Dash;

    #[test]
    fn dashes_run_on_across_corners_and_cover_their_share() {
        let stroke = Stroke::dashed(PAPER, 1.0, Dash::Long);
        // 9 on, 5 off over 28 px: two full dashes, the second across the corner at 20.
        let pieces = dashes(&[(0.0, 0.0), (20.0, 0.0), (20.0, 8.0)], stroke);
        assert_eq!(pieces, [vec![(0.0, 0.0), (9.0, 0.0)], vec![(14.0, 0.0), (20.0, 0.0), (20.0, 3.0)]]);
    }

    #[test]
    fn a_line_of_no_points_spoils_no_line_after_it() {
        let mut scene = Scene { width: 20.0, height: 20.0, marks: Vec::new() };
        let stroke = Stroke::solid(PAPER, 1.2);
        scene.path(Vec::new(), stroke);
        scene.path(vec![(1.0, 1.0)], Stroke::dashed(PAPER, 1.2, Dash::Long));
        scene.line((5.0, 5.0), (5.0, 10.0), stroke);
        let svg = svg(&scene, "bars", "Bars").expect("a drawing");
        assert!(svg.contains("d=\"M10,10 10,20\""), "{svg}");
        assert_eq!(svg.matches('M').count(), 1, "{svg}");
    }
}

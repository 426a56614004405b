//! A drawing as plain marks in page pixels: what charts make and what the painter paints.

use super::palette::Colour;

pub(super) type Point = (f64, f64);

/// A drawing of a given size.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Scene {
    pub width: f64,
    pub height: f64,
    pub marks: Vec<Mark>,
}

#[derive(Debug, Clone, PartialEq)]
pub(super) enum Mark {
    Line {
        points: Vec<Point>,
        stroke: Stroke,
    },
    Area {
        points: Vec<Point>,
        colour: Colour,
        opacity: f64,
    },
    Dot {
        at: Point,
        shape: Shape,
        radius: f64,
        colour: Colour,
        hollow: bool,
    },
    /// `at` is on the baseline.
    Text {
        at: Point,
        text: String,
        face: Face,
    },
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stroke {
    pub colour: Colour,
    pub width: f64,
    pub dash: Dash,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Dash {
    Solid,
    Long,
    Dot,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shape {
    Circle,
    Diamond,
    Square,
    Triangle,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Face {
    /// Pixels per em.
    pub size: f64,
    pub bold: bool,
    pub colour: Colour,
    pub align: Align,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Align {
    Start,
    Middle,
    End,
}

impl Face {
    pub(super) const fn new(size: f64, colour: Colour) -> Self {
        Self { size, bold: false, colour, align: Align::Start }
    }

    pub(super) const fn bold(mut self) -> Self {
        self.bold = true;
        self
    }

    pub(super) const fn align(mut self, align: Align) -> Self {
        self.align = align;
        self
    }
}

impl Stroke {
    pub(super) const fn solid(colour: Colour, width: f64) -> Self {
        Self { colour, width, dash: Dash::Solid }
    }

    pub(super) const fn dashed(colour: Colour, width: f64, dash: Dash) -> Self {
        Self { colour, width, dash }
    }
}

impl Dash {
    /// Lengths of stroke and gap in pixels; `None` for an unbroken line.
    pub(super) fn lengths(self) -> Option<(f64, f64)> {
        match self {
            Self::Solid => None,
            Self::Long => Some((9.0, 5.0)),
            Self::Dot => Some((2.5, 4.0)),
        }
    }
}

impl Scene {
    pub(super) fn line(&mut self, from: Point, to: Point, stroke: Stroke) {
        self.marks.push(Mark::Line { points: vec![from, to], stroke });
    }

    /// A line through points; nothing where fewer than two are known.
    pub(super) fn path(&mut self, points: Vec<Point>, stroke: Stroke) {
        if points.len() > 1 {
            self.marks.push(Mark::Line { points, stroke });
        }
    }

    pub(super) fn area(&mut self, points: Vec<Point>, colour: Colour, opacity: f64) {
        self.marks.push(Mark::Area { points, colour, opacity });
    }

    pub(super) fn block(&mut self, (left, top): Point, (right, bottom): Point, colour: Colour) {
        self.area(vec![(left, top), (right, top), (right, bottom), (left, bottom)], colour, 1.0);
    }

    pub(super) fn outline(&mut self, (left, top): Point, (right, bottom): Point, stroke: Stroke) {
        self.path(vec![(left, top), (right, top), (right, bottom), (left, bottom), (left, top)], stroke);
    }

    pub(super) fn dot(&mut self, at: Point, shape: Shape, radius: f64, colour: Colour) {
        self.marks.push(Mark::Dot { at, shape, radius, colour, hollow: false });
    }

    pub(super) fn ring(&mut self, at: Point, shape: Shape, radius: f64, colour: Colour) {
        self.marks.push(Mark::Dot { at, shape, radius, colour, hollow: true });
    }

    /// Sets a text; nothing where it is empty.
    pub(super) fn text(&mut self, at: Point, text: impl Into<String>, face: Face) {
        let text = text.into();
        if !text.is_empty() {
            self.marks.push(Mark::Text { at, text, face });
        }
    }
}

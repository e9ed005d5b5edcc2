//! The plain shapes a picture is made of.

use super::Hit;
use super::sight::turn_over;

/// A point in picture units: x to the right, y down.
pub type Point = (f32, f32);

/// What a shape stands for; a [`super::Palette`] turns it into a colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Ink {
    /// The background.
    Paper,
    /// A wire that neither carries the signal nor is at ground: that of a battery.
    Wire,
    /// A wire that carries the signal.
    HotWire,
    /// A wire at ground.
    GroundWire,
    /// The sleeve of a braided lead.
    Braid,
    /// The weave drawn across a braid's sleeve.
    Weave,
    /// The outline of a part.
    Part,
    /// The inside of a part.
    PartFill,
    /// The inside of the strip that carries a part's lugs and their names.
    StripFill,
    /// The hatching of a shield or another metal surface.
    Hatch,
    /// A solder lug.
    Lug,
    /// Text.
    Label,
    /// The red probe.
    RedProbe,
    /// The black probe.
    BlackProbe,
    /// Text on a probe.
    ProbeLabel,
    /// The ring around a suspect.
    Suspect,
    /// Lines of things behind a closed cover.
    Dimmed,
    /// The inside of things behind a closed cover.
    DimmedFill,
    /// Text of things behind a closed cover.
    DimmedLabel,
    /// A band of the ruler.
    Band,
    /// The needle of the ruler.
    Needle,
}

impl Ink {
    /// Every ink, in a fixed order.
    pub const ALL: [Self; 21] = [
        Self::Paper,
        Self::Wire,
        Self::HotWire,
        Self::GroundWire,
        Self::Braid,
        Self::Weave,
        Self::Part,
        Self::PartFill,
        Self::StripFill,
        Self::Hatch,
        Self::Lug,
        Self::Label,
        Self::RedProbe,
        Self::BlackProbe,
        Self::ProbeLabel,
        Self::Suspect,
        Self::Dimmed,
        Self::DimmedFill,
        Self::DimmedLabel,
        Self::Band,
        Self::Needle,
    ];

    /// Returns the ink to use instead when the thing lies behind a closed cover.
    pub fn dimmed(self) -> Self {
        match self {
            Self::Label => Self::DimmedLabel,
            Self::PartFill | Self::StripFill | Self::Braid => Self::DimmedFill,
            Self::Wire | Self::HotWire | Self::GroundWire | Self::Weave => Self::Dimmed,
            Self::Part | Self::Hatch | Self::Lug => Self::Dimmed,
            other => other,
        }
    }
}

/// How a line is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    /// What it stands for.
    pub ink: Ink,
    /// Its width in picture units.
    pub width: f32,
    /// Length of dash and gap in picture units; `None` for an unbroken line.
    pub dash: Option<(f32, f32)>,
}

impl Stroke {
    /// Makes an unbroken stroke.
    pub fn solid(ink: Ink, width: f32) -> Self {
        Self { ink, width, dash: None }
    }

    /// Makes a dashed stroke.
    pub fn dashed(ink: Ink, width: f32, dash: f32, gap: f32) -> Self {
        Self { ink, width, dash: Some((dash, gap)) }
    }

    fn dimmed(self) -> Self {
        Self { ink: self.ink.dimmed(), ..self }
    }
}

/// Which point of a text sits at its position; vertically it is always the middle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Its left end.
    Start,
    /// Its middle.
    Middle,
    /// Its right end.
    End,
}

impl Anchor {
    fn opposite(self) -> Self {
        match self {
            Self::Start => Self::End,
            Self::Middle => Self::Middle,
            Self::End => Self::Start,
        }
    }
}

/// One shape.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A straight line.
    Line {
        /// Where it starts.
        from: Point,
        /// Where it ends.
        to: Point,
        /// How it is drawn.
        stroke: Stroke,
    },
    /// A line through several points; bends are already rounded.
    Polyline {
        /// The points in order.
        points: Vec<Point>,
        /// How it is drawn.
        stroke: Stroke,
    },
    /// A circle.
    Circle {
        /// Its centre.
        at: Point,
        /// Its radius.
        radius: f32,
        /// Its outline.
        stroke: Option<Stroke>,
        /// Its inside.
        fill: Option<Ink>,
    },
    /// An upright rectangle.
    Rect {
        /// Its upper left corner.
        min: Point,
        /// Its width and height.
        size: (f32, f32),
        /// The radius of its corners.
        corner: f32,
        /// Its outline.
        stroke: Option<Stroke>,
        /// Its inside.
        fill: Option<Ink>,
    },
    /// One line of text.
    Text {
        /// Where it is; see [`Anchor`].
        at: Point,
        /// The text, as it was written: nothing is escaped.
        text: String,
        /// The height of its letters' body in picture units.
        size: f32,
        /// Which point of it sits at `at`.
        anchor: Anchor,
        /// What it stands for.
        ink: Ink,
        /// Whether it is set in bold.
        bold: bool,
    },
}

impl Shape {
    /// Returns the shape moved by `by`.
    pub fn moved(mut self, by: Point) -> Self {
        let shift = |p: &mut Point| *p = (p.0 + by.0, p.1 + by.1);
        match &mut self {
            Self::Line { from, to, .. } => {
                shift(from);
                shift(to);
            }
            Self::Polyline { points, .. } => points.iter_mut().for_each(shift),
            Self::Circle { at, .. } | Self::Text { at, .. } => shift(at),
            Self::Rect { min, .. } => shift(min),
        }
        self
    }

    /// Returns the shape turned over about the upright middle line of a picture of this width; letters stay upright.
    pub fn turned_over(mut self, wide: f32) -> Self {
        match &mut self {
            Self::Line { from, to, .. } => {
                turn_over(from, wide);
                turn_over(to, wide);
            }
            Self::Polyline { points, .. } => points.iter_mut().for_each(|point| turn_over(point, wide)),
            Self::Circle { at, .. } => turn_over(at, wide),
            Self::Rect { min, size, .. } => min.0 = wide - min.0 - size.0,
            Self::Text { at, anchor, .. } => {
                turn_over(at, wide);
                *anchor = anchor.opposite();
            }
        }
        self
    }

    /// Returns the shape as it looks behind a closed cover.
    pub fn dimmed(mut self) -> Self {
        match &mut self {
            Self::Line { stroke, .. } | Self::Polyline { stroke, .. } => *stroke = stroke.dimmed(),
            Self::Circle { stroke, fill, .. } | Self::Rect { stroke, fill, .. } => {
                *stroke = stroke.map(Stroke::dimmed);
                *fill = fill.map(Ink::dimmed);
            }
            Self::Text { ink, .. } => *ink = ink.dimmed(),
        }
        self
    }
}

/// A picture: shapes in drawing order and the spots that can be pointed at.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// What the picture shows, in a few words.
    pub title: String,
    /// What can be seen, in a sentence, for those who cannot see it.
    pub about: String,
    /// Width and height; every shape lies within.
    pub size: (f32, f32),
    /// The shapes, the lowest first.
    pub shapes: Vec<Shape>,
    /// The spots: terminals, then links, then parts.
    pub hits: Vec<Hit>,
}

/// Returns the distance between two points.
pub(super) fn distance(a: Point, b: Point) -> f32 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

/// Returns the estimated width of a text; the true width depends on the font.
pub(super) fn text_width(text: &str, size: f32) -> f32 {
    text.chars().count() as f32 * size * 0.61
}

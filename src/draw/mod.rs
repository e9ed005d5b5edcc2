//! The wiring picture, the ohm ruler, the plot of levels and trees as plain shapes, for the screen, for SVG, for PDF
//! and for the ticket.
//!
//! [`Plan`] places the parts and routes the wires of a harness once; [`Plan::picture`] adds the marks of the
//! moment. [`picture()`] does both. [`Plan::seen`] turns a plan over, to be looked at another way. Shapes carry an [`Ink`], never a colour; a [`Palette`] turns inks into colours.

mod bars;
mod bodies;
mod course;
mod frame;
mod hit;
mod layout;
mod letters;
mod marks;
mod palette;
mod part;
pub mod pdf;
mod picture;
mod plot;
mod quality;
mod route;
mod ruler;
#[cfg(test)]
mod sample;
mod shape;
mod sight;
#[cfg(test)]
mod sight_tests;
mod svg;
#[cfg(test)]
mod tests;
pub mod tree;
mod wire;

pub use bars::{Bar, bars, bars_to, rows_of_bars};
pub use course::{CourseLine, course};
pub use frame::Area as Rect;
pub use hit::Hit;
pub use layout::{Plan, terminal_point};
pub use marks::{Marks, Spot};
pub use palette::{Palette, Rgb, contrast};
pub use pdf::{Paper, PdfError};
pub use picture::{picture, small_picture};
pub use plot::{PlotLine, PlotStyle, hertz_in_words, plot};
pub use quality::{Quality, quality};
pub use ruler::{RulerBand, RulerNeedle, ruler};
pub use shape::{Anchor, Ink, Picture, Point, Shape, Stroke};
pub use sight::Sight;
pub use svg::{svg, svg_themed, theme_css};
pub use tree::{
    Detail, Diagram, Piece, TreeMarks, as_text, marked_text, tree_svg, wall_chart, wall_chart_lacks,
};

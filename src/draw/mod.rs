//! The wiring picture, the ohm ruler and the plot of levels as plain shapes, for the screen, for SVG and for the ticket.
//!
//! [`Plan`] places the parts and routes the wires of a harness once; [`Plan::picture`] adds the marks of the
//! moment. [`picture()`] does both. Shapes carry an [`Ink`], never a colour; a [`Palette`] turns inks into colours.

mod bodies;
mod frame;
mod layout;
mod marks;
mod palette;
mod part;
mod picture;
mod plot;
mod quality;
mod route;
mod ruler;
#[cfg(test)]
mod sample;
mod shape;
mod svg;
#[cfg(test)]
mod tests;
mod wire;

pub use layout::{Plan, terminal_point};
pub use marks::{Marks, Spot};
pub use palette::{Palette, Rgb, contrast};
pub use picture::picture;
pub use plot::{PlotLine, PlotStyle, hertz_in_words, plot};
pub use quality::{Quality, quality};
pub use ruler::{RulerBand, RulerNeedle, ruler};
pub use shape::{Anchor, Hit, Ink, Picture, Point, Shape, Stroke};
pub use svg::{svg, svg_themed, theme_css};

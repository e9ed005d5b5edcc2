//! How a tree is seen: as a diagram, as plain text, as a chart for the wall.
//!
//! A [`Diagram`] runs from left to right. Each step is a box that says what is done and how; each way out of it is a
//! row of that box, from which a line leads to the next step or to an end. Ends differ in outline and are named in
//! words. Steps stand in columns by the longest way to them. On paper the box also says why, and a row what it means.

mod card;
mod diagram;
mod end;
mod graph;
mod grid;
mod marks;
mod order;
mod piece;
mod place;
#[cfg(test)]
mod tests;
mod text;
mod way;
mod words;

pub use diagram::Diagram;
pub use marks::TreeMarks;
pub use piece::{Detail, Piece};
pub use text::{as_text, marked_text};

use std::collections::BTreeSet;

use super::pdf::{self, Paper, PdfError};
use super::{Palette, Picture, svg};
use crate::trees::Tree;

/// Returns the diagram of a tree as a self-contained SVG document in light colours, with the reason of every step and
/// what each way out of it means.
pub fn tree_svg(tree: &Tree, marks: &TreeMarks) -> String {
    svg(&Diagram::printed(tree, marks).picture(), &Palette::Light)
}

/// Returns the diagram of a tree as a PDF file to print, with the reason of every step and what each way out of it means:
/// on one sheet while its letters stay large enough, else on several that are put together. The whole tree in words is
/// told to programs that read aloud.
///
/// # Errors
///
/// When it would take more sheets than anyone puts together, or when the file cannot be written.
pub fn wall_chart(tree: &Tree, marks: &TreeMarks, paper: Paper) -> Result<Vec<u8>, PdfError> {
    pdf::page(&chart(tree, marks), paper, &tree.title)
}

/// Returns the letters of a tree that are in no font that comes with the program: [`wall_chart`] prints a question mark for
/// each of them.
///
/// # Errors
///
/// When the letters that come with the program cannot be read.
pub fn wall_chart_lacks(tree: &Tree, marks: &TreeMarks) -> Result<BTreeSet<char>, PdfError> {
    pdf::letters_not_drawn(&Diagram::printed(tree, marks).picture(), &tree.title)
}

/// Returns what is printed for the wall, with the whole tree in words.
fn chart(tree: &Tree, marks: &TreeMarks) -> Picture {
    let about = marked_text(tree, marks).split_whitespace().collect::<Vec<_>>().join(" ");
    Picture { about, ..Diagram::printed(tree, marks).picture() }
}

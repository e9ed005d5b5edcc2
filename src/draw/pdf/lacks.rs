//! Which letters of a document are in no font that comes with the program.

use std::collections::BTreeSet;

use super::super::{Picture, Shape};
use super::PdfError;
use super::block::{Block, Document};
use super::face::Faces;

/// Returns the letters of a document that no font has; each of them is printed as a question mark.
///
/// # Errors
///
/// When the letters that come with the program cannot be read.
pub fn missing_letters(document: &Document) -> Result<BTreeSet<char>, PdfError> {
    let faces = Faces::load().ok_or(PdfError::Letters)?;
    let blocks = document.blocks.iter().flat_map(texts);
    let all = std::iter::once(document.foot.as_str()).chain(blocks);
    Ok(all.flat_map(str::chars).filter(|letter| faces.lacks(*letter)).collect())
}

/// Returns the texts that are printed of a block.
fn texts(block: &Block) -> Vec<&str> {
    match block {
        Block::Heading { text, .. } | Block::Words { text, .. } => vec![text.as_str()],
        Block::Table(table) => {
            table.head.iter().chain(table.rows.iter().flatten()).map(String::as_str).collect()
        }
        Block::Figure { heading, picture, caption } => {
            labels(picture).chain([heading.as_str(), caption.as_str()]).collect()
        }
        Block::Photo { caption, .. } => vec![caption.as_str()],
        Block::Sign(names) => names.iter().map(String::as_str).collect(),
    }
}

fn labels(picture: &Picture) -> impl Iterator<Item = &str> {
    picture.shapes.iter().filter_map(|shape| match shape {
        Shape::Text { text, .. } => Some(text.as_str()),
        _ => None,
    })
}

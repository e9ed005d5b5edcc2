//! Which letters of a document are in no font that comes with the program.

use std::collections::BTreeSet;

use super::super::{Picture, Shape};
use super::PdfError;
use super::block::{Block, Document};
use super::face::Faces;

/// So many letters that cannot be printed are named.
const NAMED: usize = 20;

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

/// Returns the letters of a picture and its title that no font has; [`page`](super::page) prints a question mark for each
/// of them.
///
/// # Errors
///
/// When the letters that come with the program cannot be read.
pub fn letters_not_drawn(picture: &Picture, title: &str) -> Result<BTreeSet<char>, PdfError> {
    let faces = Faces::load().ok_or(PdfError::Letters)?;
    let all = labels(picture).chain([title]);
    Ok(all.flat_map(str::chars).filter(|letter| faces.lacks(*letter)).collect())
}

/// Says which letters could not be printed, and where they can be read; `None` when there are none.
pub fn missing_said(letters: &BTreeSet<char>, whole: &str) -> Option<String> {
    let named = |letter: &char| match letter.is_alphanumeric() {
        true => format!("{letter} (U+{:04X})", u32::from(*letter)),
        false => format!("U+{:04X}", u32::from(*letter)),
    };
    let some: Vec<String> = letters.iter().take(NAMED).map(named).collect();
    let more = letters.len() - some.len();
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    let which = format!("{}{more}", some.join(", "));
    (!letters.is_empty()).then(|| {
        format!(
            "These letters are not in the program's font and were printed as ?: {which}; {whole} has them"
        )
    })
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

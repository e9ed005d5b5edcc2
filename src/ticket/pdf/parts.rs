//! The blocks that both copies are made of: every text is cleaned and limited here.

use super::super::clean::{beginning, plain};
use super::super::markdown::not_cured;
use super::super::papers::{Section, TicketPhoto};
use super::super::rows::{Outcome, Round};
use super::super::{Shop, Ticket};
use crate::draw::PdfError;
use crate::draw::pdf::{Block, Image, Table};

/// The most letters of a title, of a title at the foot of a page, of a cell, and of a text over the whole width.
pub(super) const TITLE: usize = 120;
const FOOT: usize = 52;
const CELL: usize = 600;
const TEXT: usize = 6000;

/// The most that a logo and a photo are wide and high, in points.
const LOGO: (f32, f32) = (180.0, 56.0);
const PHOTO: (f32, f32) = (420.0, 300.0);

pub(super) fn heading(level: u8, text: &str) -> Block {
    Block::Heading { level, text: plain(text, TITLE + 80) }
}

pub(super) fn words(text: &str) -> Block {
    Block::Words { text: plain(text, TEXT), bold: false }
}

pub(super) fn bold(text: &str) -> Block {
    Block::Words { text: plain(text, TEXT), bold: true }
}

/// Returns what stands at the foot of each page: the title, cut where it is long, and whose copy it is.
pub(super) fn foot(title: &str, copy: &str) -> String {
    format!("{} ({copy} copy)", beginning(title, FOOT))
}

/// Returns a heading with words below it; nothing when there are none.
pub(super) fn told(title: &str, text: &str) -> Vec<Block> {
    if text.trim().is_empty() { Vec::new() } else { vec![heading(2, title), words(text)] }
}

/// Returns a heading with a table below it; nothing when there are no rows. An empty cell shows as a dash.
pub(super) fn table<const N: usize>(
    title: &str,
    head: [&str; N],
    shares: [f32; N],
    rows: Vec<[String; N]>,
) -> Vec<Block> {
    if rows.is_empty() {
        return Vec::new();
    }
    let cell = |text: &String| match plain(text, CELL).as_str() {
        "" => "–".to_owned(),
        text => text.to_owned(),
    };
    let rows = rows.iter().map(|row| row.iter().map(cell).collect()).collect();
    let head = head.map(str::to_owned).to_vec();
    vec![heading(2, title), Block::Table(Table { head, shares: shares.to_vec(), rows })]
}

/// Returns a table of what was settled on paper, with the sum and what was said below it.
pub(super) fn section(section: Section) -> Vec<Block> {
    let shares = match section.heading {
        "Photos" => [2.0, 3.0, 3.0, 2.0],
        "Comeback" => [2.0, 2.0, 3.0, 2.0],
        "Agreed" => [3.0, 2.0, 2.0, 2.0],
        _ => [5.0, 1.0, 1.0, 1.0],
    };
    let mut blocks = table(section.heading, section.head, shares, section.rows);
    if blocks.is_empty() && !section.below.is_empty() {
        blocks.push(heading(2, section.heading));
    }
    let mut below = section.below.into_iter();
    blocks.extend(below.next().map(|sum| bold(&sum)));
    let said: Vec<String> = below.collect();
    if !said.is_empty() {
        blocks.push(words(&said.join("\n")));
    }
    blocks
}

/// Returns the shop's sign, name and address; nothing when the shop is not known.
pub(super) fn letterhead(shop: &Shop) -> Result<Vec<Block>, PdfError> {
    let mut blocks = Vec::new();
    if let Some(bytes) = &shop.logo {
        let (image, about) = (Image::read(bytes.clone())?, format!("Logo of {}", plain(&shop.name, TITLE)));
        blocks.push(Block::Photo { image, about, caption: String::new(), most: LOGO });
    }
    if !shop.name.trim().is_empty() {
        blocks.push(bold(&shop.name));
    }
    let lines: Vec<String> = shop.lines.iter().map(|line| plain(line, TITLE)).collect();
    if !lines.is_empty() {
        blocks.push(words(&lines.join("\n")));
    }
    Ok(blocks)
}

/// Returns the photos that are to be printed.
pub(super) fn photos(photos: &[TicketPhoto]) -> Result<Vec<Block>, PdfError> {
    let mut blocks = Vec::new();
    for photo in photos.iter().filter(|photo| photo.print) {
        let Some(bytes) = &photo.image else { continue };
        let image = Image::read(bytes.clone())?;
        let caption = plain(&photo.caption, CELL);
        let about = if caption.is_empty() { unsaid(photo) } else { caption.clone() };
        blocks.push(Block::Photo { image, about, caption, most: PHOTO });
    }
    let head = if blocks.is_empty() { None } else { Some(heading(2, "Printed photos")) };
    Ok(head.into_iter().chain(blocks).collect())
}

/// Says what is known of a photo that nobody described.
fn unsaid(photo: &TicketPhoto) -> String {
    format!("A photo taken for this job, {}; nobody wrote down what it shows.", plain(&photo.file, TITLE))
}

/// Says how the job was closed.
pub(super) fn outcome(outcome: Option<&Outcome>) -> Block {
    match outcome {
        None => bold("Still open."),
        Some(end) if end.cured => bold(&format!("Cured and proved, closed {}.", end.at)),
        Some(end) => bold(&format!("NOT PROVED. Closed {} without full proof: {}", end.at, end.reason)),
    }
}

/// Tells the repairs that were not all that was wrong.
pub(super) fn rounds(rounds: &[Round]) -> Vec<Block> {
    let row = |round: &Round| {
        [round.fault.sentence.clone(), round.repair.what.clone(), not_cured(round), round.at.clone()]
    };
    let head = ["fault named", "repair", "why it was not all", "when"];
    table("Repairs before", head, [3.0, 3.0, 3.0, 2.0], rounds.iter().map(row).collect())
}

/// Returns a fact of the job; nothing when it is not known.
pub(super) fn fact<'a>(ticket: &'a Ticket, name: &str) -> Option<&'a str> {
    ticket.facts.iter().find(|(known, _)| *known == name).map(|(_, words)| words.as_str())
}

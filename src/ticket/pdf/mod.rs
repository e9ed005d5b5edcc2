//! The ticket as a PDF file to print and sign: one copy for the customer, one for the bench.

mod bench;
mod customer;
mod parts;

use std::collections::BTreeSet;

use super::clean::plain;
use super::{Shop, Ticket};
use crate::draw::pdf::{self as draw, Block, PrintedDocument, document};
use crate::draw::{Paper, PdfError};

/// Whom a printed ticket is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TicketCopy {
    /// The customer: plain words, the price, the proof, the warranty, a line to sign.
    Customer,
    /// The bench: every reading, how the suspects narrowed, the picture and the plot.
    Bench,
}

impl TicketCopy {
    /// Both, in the order in which they are listed anywhere.
    pub const ALL: [Self; 2] = [Self::Customer, Self::Bench];

    /// Returns the name used on the command line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Customer => "customer",
            Self::Bench => "bench",
        }
    }

    /// Returns the copy with this name, whatever its case.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|copy| copy.name().eq_ignore_ascii_case(name.trim()))
    }
}

/// Returns a ticket as a PDF file that keeps PDF/UA-1 and PDF/A-2a; the same ticket, copy, paper and shop give the same
/// bytes. With a photo in printing inks it keeps PDF/UA-1 alone.
///
/// # Errors
///
/// When the letters that come with the program cannot be read, or when the logo or a photo is no image.
pub fn pdf(ticket: &Ticket, copy: TicketCopy, paper: Paper, shop: &Shop) -> Result<Vec<u8>, PdfError> {
    document(&printed(ticket, copy, shop)?, paper)
}

/// Returns the letters of a ticket that are in no font that comes with the program: [`pdf`] prints a question mark for
/// each of them.
///
/// # Errors
///
/// As [`pdf`].
pub fn missing_letters(ticket: &Ticket, copy: TicketCopy, shop: &Shop) -> Result<BTreeSet<char>, PdfError> {
    draw::missing_letters(&printed(ticket, copy, shop)?)
}

/// Says which letters could not be printed; `None` when there are none.
pub fn missing_said(letters: &BTreeSet<char>) -> Option<String> {
    draw::missing_said(letters, "the .html ticket")
}

/// Returns a copy of a ticket as it is to be printed.
fn printed(ticket: &Ticket, copy: TicketCopy, shop: &Shop) -> Result<PrintedDocument, PdfError> {
    let title = format!("Repair ticket: {}", plain(&ticket.instrument, parts::TITLE));
    let blocks: Vec<Block> = match copy {
        TicketCopy::Customer => customer::blocks(ticket, shop, &title)?,
        TicketCopy::Bench => bench::blocks(ticket, shop, &title)?,
    };
    Ok(PrintedDocument {
        about: format!("The {} copy of a repair ticket.", copy.name()),
        foot: parts::foot(&title, copy.name()),
        made: ticket.last.strip_suffix('Z').and_then(|last| last.parse().ok()),
        title,
        blocks,
    })
}

//! Documents made from a job: a neutral [`Ticket`] first, then [`markdown()`], [`html()`] and [`pdf()`].
//!
//! A ticket knows the job alone: what the suspects were is taken from the events, never computed again.

mod along;
mod build;
mod checklist;
mod clean;
mod error;
mod html;
mod markdown;
mod papers;
mod pdf;
mod plain_fault;
mod plain_words;
mod report;
mod rows;
mod shop;
mod style;

pub use crate::draw::Sight;
pub use checklist::{CheckRow, Checklist, checklist_html, checklist_markdown};
pub use error::TicketError;
pub use html::html;
pub use markdown::markdown;
pub use papers::{Agreed, Comeback, Papers, Prices, TicketPhoto};
pub use pdf::{TicketCopy, missing_letters, missing_said, pdf};
pub use report::{Report, ReportRow, ReportSection, report_html};
pub use rows::{
    Asked, Caution, Fault, Finding, Narrowing, NotDone, Outcome, Proof, Repair, Round, Sound, Suspect, Ticket,
};
pub use shop::{Shop, ShopFile};

pub use crate::draw::pdf::Image;
pub use crate::draw::{Paper, PdfError};

//! Documents made from a job: a neutral [`Ticket`] first, then [`markdown()`] and [`html()`].
//!
//! A ticket knows the job alone: what the suspects were is taken from the events, never computed again.

mod build;
mod checklist;
mod clean;
mod error;
mod html;
mod markdown;
mod report;
mod rows;
mod style;

pub use checklist::{CheckRow, Checklist, checklist_html, checklist_markdown};
pub use error::TicketError;
pub use html::html;
pub use markdown::markdown;
pub use report::{Report, ReportRow, ReportSection, report_html};
pub use rows::{
    Asked, Caution, Fault, Finding, Narrowing, NotDone, Outcome, Proof, Repair, Round, Sound, Suspect, Ticket,
};

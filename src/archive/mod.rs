//! Jobs on disk: job files that are only ever added to, and the archive of past jobs.
//!
//! The archive is one SQLite database. A job's events are the record, line by line as in its file; all else in it
//! follows from them and can be made again ([`Archive::rebuild`]). [`audit`] counts what a shop's owner asks.

pub mod audit;
mod check;
mod columns;
mod compare;
mod copies;
mod error;
mod exchange;
mod failure;
mod fault_words;
mod filled;
mod job_file;
mod kept;
mod lessons;
mod letters;
mod list;
mod log;
mod measured;
mod merge;
mod place;
mod remains;
mod removal;
mod schema;
mod search;
mod store;
mod summary;

pub use check::{Counts, Looked};
pub use compare::{Compared, Differs};
pub use copies::Restored;
pub use error::ArchiveError;
pub use exchange::{LeftOut, Merged, WrittenOut};
pub use job_file::JobFile;
pub use lessons::Lesson;
pub use list::{Filter, Order, Page};
pub use log::uid_of;
pub use merge::Imported;
pub use removal::Removed;
pub use search::Hit;
pub use store::Archive;
pub use summary::{Ending, Named, Summary};

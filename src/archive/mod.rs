//! Jobs on disk: job files that are only ever added to.

mod error;
mod job_file;

pub use error::ArchiveError;
pub use job_file::JobFile;

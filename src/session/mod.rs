//! One job on disk and on the bench: what is decided is written before it is absorbed. The clock is read here.
//!
//! Command line and window both work through a [`Session`], so they cannot differ in what they do to a job file.

mod audit;
mod figures;
mod known;
mod learning;
mod own;
mod own_priors;
mod own_trees;
mod past;
mod report;

pub use figures::{Cell, Chart, Figure, FigureRow, csv};
pub use known::{Foreknown, KnownBefore, known_values};
pub use learning::Taught;
pub use own::{CopyError, FOLDER_VARIABLE, OwnFolder, OwnWiring, Stamps, taken_names};
pub use own_priors::{OwnPriors, PRIORS_FILE, PRIORS_VARIABLE};
pub use own_trees::{OwnTree, OwnTrees, TREES_VARIABLE, TreeStamps, trees_with_own};
pub use past::{ARCHIVE_VARIABLE, PastError, PastJobs};
pub use report::{report, words as figure_in_words};

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use thiserror::Error;

pub use audit::{before, checklist, covers, write_checklist};

use self::past::Keeper;
pub use crate::job::{Replay, ReplayStep, StepKind};

use crate::archive::{Archive, ArchiveError, JobFile};
use crate::circuit::{self, Harness};
use crate::job::{Event, Intake, JobError};
use crate::source::{Located, Source};
use crate::ticket::{self, Ticket, TicketError};
use crate::trees::{self, Tree};
use crate::workbench::{Command, Engine, View, Workbench, WorkbenchError};

/// Why something could not be done to a job. Nothing is lost.
#[derive(Debug, Error)]
pub enum SessionError {
    /// The file could not be made, read or written.
    #[error(transparent)]
    Archive(#[from] ArchiveError),
    /// The command cannot be carried out.
    #[error(transparent)]
    Workbench(#[from] WorkbenchError),
    /// The records are no job.
    #[error(transparent)]
    Job(#[from] JobError),
    /// The ticket cannot be made.
    #[error(transparent)]
    Ticket(#[from] TicketError),
    /// A file of the program itself is wrong.
    #[error("{0}")]
    Tree(#[from] Located),
    /// The job file holds nothing.
    #[error("opening {}: the file holds no job\n  hint: a job file begins with an intake; start one with `lugwise start`", .0.display())]
    Empty(PathBuf),
    /// The ticket's file name has an ending that is not known.
    #[error("writing {}: the ending says what is written\n  hint: name it .html or .md", .0.display())]
    Ending(PathBuf),
    /// A file could not be written.
    #[error("writing {}: {why}", path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// What the system said.
        why: std::io::Error,
    },
}

/// What a ticket is written as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// Markdown.
    Markdown,
    /// One self-contained web page.
    Html,
}

impl Form {
    /// Returns the form that a file name's ending asks for.
    pub fn of(path: &Path) -> Option<Self> {
        let ending = path.extension()?.to_str()?.to_lowercase();
        match ending.as_str() {
            "md" | "markdown" => Some(Self::Markdown),
            "html" | "htm" => Some(Self::Html),
            _ => None,
        }
    }
}

/// One job on disk and on the bench.
pub struct Session {
    file: JobFile,
    bench: Workbench,
    past: Keeper,
    /// The view with what is to be told of the archive, while there is something.
    noticed: Option<Box<View>>,
}

impl Session {
    /// Makes a job file and puts the job on the bench.
    ///
    /// # Errors
    ///
    /// Returns [`SessionError`] when the intake is wrong or the file exists already; no file is made then.
    pub fn start(path: &Path, intake: Intake) -> Result<Self, SessionError> {
        let engine = engine_for(&intake)?;
        let first = Workbench::first_record(&engine, intake, &now())?;
        let file = JobFile::create(path, &first)?;
        Ok(Self::new(file, Workbench::resume(engine, vec![first])?))
    }

    /// Opens a job file; also returns what the person must know about the file.
    ///
    /// # Errors
    ///
    /// Returns [`SessionError`] when the file cannot be read or is no job.
    pub fn open(path: &Path) -> Result<(Self, Vec<String>), SessionError> {
        let (file, records, cut) = JobFile::open(path)?;
        let intake = match records.first().map(|record| &record.event) {
            Some(Event::Started { intake, .. }) => intake.as_ref().clone(),
            _ => return Err(SessionError::Empty(path.to_owned())),
        };
        let bench = Workbench::resume(engine_for(&intake)?, records)?;
        Ok((Self::new(file, bench), cut.into_iter().collect()))
    }

    fn new(file: JobFile, bench: Workbench) -> Self {
        Self { file, bench, past: Keeper::new(PastJobs::off()), noticed: None }
    }

    /// Keeps this job among past jobs too, from now on: the job file stays what is worked on. When the archive cannot be
    /// used the job goes on, the view says so, and the archive gets what it lacks at the next chance.
    #[must_use]
    pub fn kept_in(mut self, place: &PastJobs) -> Self {
        self.past = Keeper::new(place.clone());
        self.past.catch_up(self.file.path());
        self.notice();
        self
    }

    fn notice(&mut self) {
        self.noticed = self.past.trouble().map(|trouble| {
            let mut view = self.bench.view().clone();
            view.notices.push(trouble.to_owned());
            Box::new(view)
        });
    }

    /// Carries a command out: decides, writes, and only then shows.
    ///
    /// # Errors
    ///
    /// Returns [`SessionError`] when it cannot be carried out or written; nothing has changed then.
    pub fn apply(&mut self, command: &Command) -> Result<(), SessionError> {
        let records = self.bench.decide(command, &now())?;
        self.file.append(&records)?;
        self.past.keep(self.file.path(), self.bench.job().records().len(), &records);
        self.bench.absorb(records)?;
        self.notice();
        Ok(())
    }

    /// Returns what to show.
    pub fn view(&self) -> &View {
        self.noticed.as_deref().unwrap_or_else(|| self.bench.view())
    }

    /// Returns the archive of past jobs, when this job is kept in one that could be opened.
    pub fn archive(&self) -> Option<&Archive> {
        self.past.archive()
    }

    /// Returns the job's name in the archive, when it is in it.
    pub fn uid(&self) -> Option<&str> {
        self.past.uid()
    }

    /// Returns the wiring.
    pub fn harness(&self) -> &Harness {
        self.bench.engine().harness()
    }

    /// Returns the job on the bench.
    pub fn bench(&self) -> &Workbench {
        &self.bench
    }

    /// Returns the job file's path.
    pub fn path(&self) -> &Path {
        self.file.path()
    }

    /// Returns the ticket.
    ///
    /// # Errors
    ///
    /// Returns [`SessionError::Ticket`] when the job's wiring cannot be drawn.
    pub fn ticket(&self, form: Form) -> Result<String, SessionError> {
        let ticket = Ticket::from_job(self.bench.job())?;
        Ok(match form {
            Form::Markdown => ticket::markdown(&ticket),
            Form::Html => ticket::html(&ticket),
        })
    }

    /// Writes the ticket in the form that the file name's ending asks for.
    ///
    /// # Errors
    ///
    /// Returns [`SessionError`] when the ending is unknown or the file cannot be written.
    pub fn write_ticket(&self, path: &Path) -> Result<(), SessionError> {
        let form = Form::of(path).ok_or_else(|| SessionError::Ending(path.to_owned()))?;
        let text = self.ticket(form)?;
        fs::write(path, text).map_err(|why| SessionError::Write { path: path.to_owned(), why })
    }
}

/// Returns the trees that come with the program.
///
/// # Errors
///
/// Returns where a tree file is wrong.
pub fn built_in_trees() -> Result<Vec<Tree>, Located> {
    trees::built_in()
        .iter()
        .map(|(name, text)| trees::load(&Source::new(format!("trees/{name}"), *text)))
        .collect()
}

/// Returns the harnesses of the wirings that come with the program, with their texts.
///
/// # Errors
///
/// Returns where a wiring file is wrong.
pub fn built_in_wirings() -> Result<Vec<(Harness, &'static str)>, Vec<Located>> {
    let load = |(name, text): &(&str, &'static str)| {
        let source = Source::new(format!("assets/wirings/{name}"), *text);
        circuit::load(&source).map(|harness| (harness, *text))
    };
    circuit::built_in().iter().map(load).collect()
}

fn engine_for(intake: &Intake) -> Result<Arc<Engine>, SessionError> {
    Ok(Workbench::engine_for(intake, &built_in_trees()?)?)
}

/// Returns the moment now, as it stands in jobs.
pub fn moment() -> String {
    now()
}

fn now() -> String {
    jiff::Timestamp::now().strftime("%Y-%m-%dT%H:%M:%SZ").to_string()
}

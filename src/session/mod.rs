//! One job on disk and on the bench: what is decided is written before it is absorbed. The clock is read here.
//!
//! Command line and window both work through a [`Session`], so they cannot differ in what they do to a job file.

mod audit;
mod figures;
mod known;
mod learning;
mod log;
mod memory;
mod own;
mod own_priors;
mod own_shop;
mod own_trees;
mod paper;
mod past;
mod past_files;
mod past_limits;
mod past_ways;
mod places;
mod practice;
mod prices;
mod report;
mod whole;

pub use figures::{Cell, Chart, Figure, FigureRow, csv};
pub use known::{Foreknown, KnownBefore, known_values};
pub use learning::{Taught, TaughtNow};
pub use log::{DayLog, LOG_VARIABLE, LogLine, MOST_BYTES, MOST_FILES};
pub use memory::{Bounds, LastJob, MEMORY_VARIABLE, Memory, MemoryFile, StartTexts, ThemeChoice, Unsent};
pub use own::{CopyError, FOLDER_VARIABLE, OwnFolder, OwnWiring, Stamps, taken_names};
pub use own_priors::{OwnPriors, PRIORS_FILE, PRIORS_VARIABLE};
pub use own_shop::{OwnShop, SHOP_FILE, SHOP_VARIABLE, ShopPlace};
pub use own_trees::{OwnTree, OwnTrees, TREES_VARIABLE, TreeStamps, trees_with_own};
pub use paper::{Earlier, PaperWish, PrintedTicket, can_be_printed};
pub use past::{ARCHIVE_VARIABLE, PastError, PastJobs};
pub use past_files::{AllJobs, TakenIn, make_new, write_new};
pub use past_limits::{Span, day_in_words, limits_in_name, past_date, past_until, week_from};
pub use past_ways::{PastStep, PastWay, PastWays};
pub use practice::{PRACTICE_FILE, PracticeFile};
pub use prices::{
    PaperFacts, PriceError, Rate, advised_work, agreed_beside, done_lines, named_work, part_line,
    whole_minutes,
};
pub use report::{report, words as figure_in_words};
pub use whole::{may_be_written, write_whole};

use std::path::{Path, PathBuf};
use std::sync::Arc;

use thiserror::Error;

pub use audit::{before, checklist, covers, write_checklist};

use self::past::Keeper;
pub use crate::job::{Replay, ReplayStep, StepKind};

use crate::archive::{Archive, ArchiveError, JobFile};
use crate::circuit::{self, Harness};
use crate::job::{Event, Intake, JobError, Record};
use crate::source::{Located, Source};
use crate::ticket::{self, PdfError, Shop, Sight, Ticket, TicketCopy, TicketError};
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
    #[error("writing {}: the ending says what is written\n  hint: name it .html, .md or .pdf", .0.display())]
    Ending(PathBuf),
    /// The ticket cannot be printed.
    #[error(transparent)]
    Pdf(#[from] PdfError),
    /// A photo cannot be used.
    #[error("using the photo {}: {why}", path.display())]
    Photo {
        /// The file.
        path: PathBuf,
        /// Why not.
        why: String,
    },
    /// A job cannot be a comeback of itself.
    #[error("naming the earlier job: it is this job\n  hint: give the file of the job that came before")]
    OwnComeback,
    /// The shop's own file is wrong.
    #[error("{}", list(.0))]
    Shop(Vec<Located>),
    /// A file could not be written.
    #[error("writing {}: {why}", path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// What the system said.
        why: std::io::Error,
    },
    /// The person gave it up; no file was made.
    #[error("it was given up")]
    GivenUp,
}

impl SessionError {
    /// Returns what sort of mistake it is, without anything that a person typed and without any path.
    pub const fn sort(&self) -> &'static str {
        match self {
            Self::Archive(_) => "the job file",
            Self::Workbench(_) => "refused by the workbench",
            Self::Job(_) => "the records are no job",
            Self::Ticket(_) => "the ticket cannot be made",
            Self::Tree(_) => "a tree of the program is wrong",
            Self::Empty(_) => "the file holds no job",
            Self::Ending(_) => "the ending of the file name",
            Self::Pdf(_) => "the ticket cannot be printed",
            Self::Photo { .. } => "a photo cannot be used",
            Self::OwnComeback => "a comeback of itself",
            Self::Shop(_) => "the shop's file is wrong",
            Self::Write { .. } => "a file cannot be written",
            Self::GivenUp => "given up",
        }
    }
}

/// A part of opening or starting a job, in the order in which they come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// The job file is read.
    Reading,
    /// What every fault would read is made ready.
    Wiring,
    /// The complaint and the readings are weighed.
    Weighing,
    /// The job file is made.
    Writing,
}

impl Phase {
    /// Returns it in words.
    pub const fn says(self) -> &'static str {
        match self {
            Self::Reading => "reading the job file",
            Self::Wiring => "working out what every fault would read",
            Self::Weighing => "weighing the complaint and the readings",
            Self::Writing => "making the job file",
        }
    }
}

/// Is told which part of a long task begins, and returns whether to go on.
pub type Watch<'a> = &'a dyn Fn(Phase) -> bool;

fn go_on(watch: Watch<'_>, phase: Phase) -> Result<(), SessionError> {
    if watch(phase) { Ok(()) } else { Err(SessionError::GivenUp) }
}

/// Events that are on disk and not yet taken in.
#[derive(Debug)]
#[must_use = "what is on disk must be taken in"]
pub struct Kept(Vec<Record>);

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
        Self::start_watched(path, intake, &|_| true)
    }

    /// Does the same, and tells how far it is; no file is made when it is given up.
    ///
    /// # Errors
    ///
    /// Returns [`SessionError`] as [`Session::start`] does, [`SessionError::GivenUp`] when it is given up.
    pub fn start_watched(path: &Path, intake: Intake, watch: Watch<'_>) -> Result<Self, SessionError> {
        go_on(watch, Phase::Wiring)?;
        let engine = engine_for(&intake)?;
        go_on(watch, Phase::Weighing)?;
        let first = Workbench::first_record(&engine, intake, &now())?;
        let bench = Workbench::resume(engine, vec![first.clone()])?;
        go_on(watch, Phase::Writing)?;
        Ok(Self::new(JobFile::create(path, &first)?, bench))
    }

    /// Opens a job file; also returns what the person must know about the file.
    ///
    /// # Errors
    ///
    /// Returns [`SessionError`] when the file cannot be read or is no job.
    pub fn open(path: &Path) -> Result<(Self, Vec<String>), SessionError> {
        Self::open_watched(path, &|_| true)
    }

    /// Does the same, and tells how far it is.
    ///
    /// # Errors
    ///
    /// Returns [`SessionError`] as [`Session::open`] does, [`SessionError::GivenUp`] when it is given up.
    pub fn open_watched(path: &Path, watch: Watch<'_>) -> Result<(Self, Vec<String>), SessionError> {
        go_on(watch, Phase::Reading)?;
        let (file, records, cut) = JobFile::open(path)?;
        let intake = match records.first().map(|record| &record.event) {
            Some(Event::Started { intake, .. }) => intake.as_ref().clone(),
            _ => return Err(SessionError::Empty(path.to_owned())),
        };
        go_on(watch, Phase::Wiring)?;
        let engine = engine_for(&intake)?;
        go_on(watch, Phase::Weighing)?;
        let bench = Workbench::resume(engine, records)?;
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
        let kept = self.keep(command)?;
        self.take_in(kept)
    }

    /// Decides a command and writes what it leads to: that is on disk when this returns, and not yet in the view.
    ///
    /// # Errors
    ///
    /// Returns [`SessionError`] when it cannot be carried out or written; nothing has changed then.
    pub fn keep(&mut self, command: &Command) -> Result<Kept, SessionError> {
        let records = self.bench.decide(command, &now())?;
        self.file.append(&records)?;
        self.past.keep(self.file.path(), self.bench.job().records().len(), &records);
        Ok(Kept(records))
    }

    /// Takes in what is on disk, and works everything out anew.
    ///
    /// # Errors
    ///
    /// Returns [`SessionError`] when it cannot be worked out; what is on disk stays there, and the job must be
    /// opened anew.
    pub fn take_in(&mut self, kept: Kept) -> Result<(), SessionError> {
        self.bench.absorb(kept.0)?;
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
        self.ticket_seen(form, Sight::default())
    }

    /// Returns the ticket with its wiring drawn as it is looked at.
    ///
    /// # Errors
    ///
    /// Returns [`SessionError::Ticket`] when the job's wiring cannot be drawn.
    pub fn ticket_seen(&self, form: Form, sight: Sight) -> Result<String, SessionError> {
        let ticket = Ticket::seen(self.bench.job(), sight)?;
        Ok(match form {
            Form::Markdown => ticket::markdown(&ticket),
            Form::Html => ticket::html(&ticket),
        })
    }

    /// Writes the ticket in the form that the file name's ending asks for; a PDF file is the customer's
    /// copy. Returns what is to be said of letters that could not be printed.
    ///
    /// # Errors
    ///
    /// Returns [`SessionError`] when the ending is unknown or the file cannot be written.
    pub fn write_ticket(&self, path: &Path) -> Result<Option<String>, SessionError> {
        self.write_ticket_seen(path, Sight::default())
    }

    /// Writes the ticket with its wiring drawn as it is looked at. Returns what is to be said of letters that could not be
    /// printed.
    ///
    /// # Errors
    ///
    /// Returns [`SessionError`] when the ending is unknown or the file cannot be written.
    pub fn write_ticket_seen(&self, path: &Path, sight: Sight) -> Result<Option<String>, SessionError> {
        if is_pdf(path) {
            return self.write_ticket_pdf(path, TicketCopy::Customer, None, &shop()?, sight);
        }
        let form = Form::of(path).ok_or_else(|| SessionError::Ending(path.to_owned()))?;
        let text = self.ticket_seen(form, sight)?;
        let written = write_whole(path, text.as_bytes());
        written.map_err(|why| SessionError::Write { path: path.to_owned(), why })?;
        Ok(None)
    }
}

/// Returns whether a file's name asks for PDF.
pub fn is_pdf(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("pdf"))
}

/// Returns the shop that the usual file tells; one without a name when there is none.
///
/// # Errors
///
/// Returns everything that is wrong with the file.
pub fn shop() -> Result<Shop, SessionError> {
    ShopPlace::usual().shop()
}

fn list(all: &[Located]) -> String {
    all.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

/// Returns whether there is a file with a job, without working anything out.
///
/// # Errors
///
/// Returns [`SessionError`] when the file cannot be read or holds no job.
pub fn check_job_file(path: &Path) -> Result<(), SessionError> {
    let (_, records, _) = JobFile::open(path)?;
    if records.is_empty() { Err(SessionError::Empty(path.to_owned())) } else { Ok(()) }
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
